"""Which rolls to buy and how to cut them: cases by hand, and input that is refused."""

from decimal import Decimal
from math import inf, nan

import pytest

from server.domain.rolls import NotEnoughError, PieceTooLongError, RollPlan, plan_rolls


def left_over(plan: RollPlan) -> list[object]:
    return sorted(layout.left_mm for layout in plan.layouts)


# ---- money, by hand -------------------------------------------------------------------------------------------------


def test_the_last_cut_is_spared_where_a_roll_is_used_up() -> None:
    # By hand: 3 x 332 and two cuts of 2 are 1000; a third cut would not fit.
    assert plan_rolls([(332, 3)], [(1000, 1)], [], cut_loss_mm=2).cost == 1


def test_a_cut_too_many_takes_another_roll() -> None:
    # By hand: 3 x 333 and two cuts of 2 are 1003.
    assert plan_rolls([(333, 3)], [(1000, 1)], [], cut_loss_mm=2).cost == 2


def test_remnants_are_used_before_anything_is_bought() -> None:
    plan = plan_rolls([(400, 2)], [(1000, 5)], [500, 450])
    assert (plan.cost, [layout.price for layout in plan.layouts]) == (0, [None, None])


def test_of_two_equal_lengths_the_cheaper_roll_is_bought() -> None:
    plan = plan_rolls([(900, 2)], [(1000, 5), (1000, 4), (1000, 6)], [])
    assert [layout.price for layout in plan.layouts] == [4, 4]


def test_a_longer_roll_at_a_lower_price_is_bought() -> None:
    plan = plan_rolls([(900, 1)], [(1000, 5), (2000, 4)], [])
    assert [layout.stock_mm for layout in plan.layouts] == [2000]


def test_a_piece_that_fits_only_a_remnant_is_cut_from_it() -> None:
    # By hand: 1500 fits the remnant alone, so that the two of 700 need the roll.
    plan = plan_rolls([(1500, 1), (700, 2)], [(1400, 3)], [1600])
    assert [(layout.stock_mm, layout.pieces_mm) for layout in plan.layouts] == [(1600, (1500,)), (1400, (700, 700))]


def test_a_roll_that_costs_nothing_is_taken_as_often_as_needed() -> None:
    # By hand: three of 600 take three free metres; 1500 must be bought.
    plan = plan_rolls([(600, 3), (1500, 1)], [(1000, 0), (2000, 8)], [])
    assert plan.cost == 8
    assert plan.proved


def test_decimals_stay_exact() -> None:
    plan = plan_rolls([(900, 3)], [(1000, Decimal("0.10"))], [])
    assert str(plan.cost) == "0.30"


def test_floats_are_read_as_they_are_written() -> None:
    # By hand: 3 x 0.1 is 0.3, though not in the computer's binary fractions.
    assert plan_rolls([(0.1, 3)], [(0.3, 1)], []).cost == 1


def test_prices_with_many_decimals_are_still_proved() -> None:
    # By hand: three of 400 take two metres; of the two prices the pair of equal ones is the cheaper.
    plan = plan_rolls([(400, 3)], [(1000, Decimal("1.23456789")), (1200, Decimal("2.46913579"))], [])
    assert (plan.cost, plan.proved) == (Decimal("2.46913578"), True)


def test_nothing_to_cut_costs_nothing() -> None:
    assert plan_rolls([], [(1000, 5)], [300]) == RollPlan(0, 0, True, ())


def test_a_count_of_zero_asks_for_nothing() -> None:
    assert plan_rolls([(5000, 0)], [(1000, 5)], []).layouts == ()


def test_layouts_are_told_remnants_first_then_rolls_from_the_shortest_on() -> None:
    # By hand: nothing else holds the pieces.
    plan = plan_rolls([(900, 1), (1900, 1), (2900, 1)], [(2000, 3), (3000, 4)], [900])
    assert [layout.stock_mm for layout in plan.layouts] == [900, 2000, 3000]


def test_pieces_are_cut_longest_first() -> None:
    plan = plan_rolls([(200, 1), (500, 1), (300, 1)], [(1000, 1)], [])
    assert plan.layouts[0].pieces_mm == (500, 300, 200)


# ---- what is left over, by hand -------------------------------------------------------------------------------------


def test_what_is_left_over_is_left_in_one_length() -> None:
    # By hand: 600 + 400 leave nothing; any other pairing of these five leaves two lengths.
    plan = plan_rolls([(600, 1), (500, 1), (400, 1), (300, 1)], [(1000, 1)], [])
    assert left_over(plan) == [0, 200]


def test_the_remnant_that_fits_is_used_up_and_the_long_one_stays_whole() -> None:
    plan = plan_rolls([(500, 1)], [], [1000, 600])
    assert [layout.stock_mm for layout in plan.layouts] == [600]


def test_one_remnant_is_used_up_rather_than_two_begun() -> None:
    # By hand: both from 1200 leaves the 1000 only; one from each leaves 600 and 400.
    plan = plan_rolls([(600, 2)], [], [1000, 1200])
    assert [(layout.stock_mm, layout.left_mm) for layout in plan.layouts] == [(1200, 0)]


def test_of_one_length_left_over_the_longest_is_left() -> None:
    # By hand: from a new 1000 the pieces leave 300; the remnant of 700 is used up, and the roll is not needed.
    plan = plan_rolls([(400, 1), (300, 1)], [(1000, 2)], [700, 900])
    assert [(layout.stock_mm, layout.left_mm) for layout in plan.layouts] == [(700, 0)]


# ---- bad input ------------------------------------------------------------------------------------------------------


def test_a_piece_longer_than_any_roll_is_named() -> None:
    with pytest.raises(
        PieceTooLongError, match="1200 mm is longer than the longest roll or remnant, 1000 mm"
    ) as raised:
        plan_rolls([(800, 1), (1200, 2)], [(1000, 5)], [700])
    assert (raised.value.piece_mm, raised.value.longest_mm) == (1200, 1000)


def test_a_piece_without_anything_to_cut_it_from_is_named() -> None:
    with pytest.raises(PieceTooLongError, match="100 mm"):
        plan_rolls([(100, 1)], [], [])


def test_long_pieces_that_the_remnants_do_not_hold_together_are_refused() -> None:
    # By hand: each of 1500 fits the remnant, both do not, and no roll is so long.
    with pytest.raises(NotEnoughError):
        plan_rolls([(1500, 2)], [(1000, 5)], [1600])


@pytest.mark.parametrize("length", [0, -5, nan, inf, Decimal("NaN"), Decimal("Infinity")], ids=str)
@pytest.mark.parametrize("place", ["piece", "roll", "remnant"])
def test_a_length_must_be_a_number_above_zero(length: float, place: str) -> None:
    pieces, rolls, remnants = [(100, 1)], [(1000, 5)], [300]
    asked = {
        "piece": ([(length, 1)], rolls, remnants),
        "roll": (pieces, [(length, 5)], remnants),
        "remnant": (pieces, rolls, [length]),
    }[place]
    with pytest.raises(ValueError, match="every length"):
        plan_rolls(*asked)  # type: ignore[arg-type]


@pytest.mark.parametrize("count", [-1, 1.5, nan], ids=str)
def test_a_count_must_be_a_whole_number(count: int) -> None:
    with pytest.raises(ValueError, match="counts"):
        plan_rolls([(100, count)], [(1000, 5)], [])


@pytest.mark.parametrize("price", [-1, nan, inf, Decimal("NaN")], ids=str)
def test_a_price_must_be_a_number_of_zero_or_more(price: float) -> None:
    with pytest.raises(ValueError, match="prices"):
        plan_rolls([(100, 1)], [(1000, price)], [])


def test_a_cutting_loss_must_not_be_negative() -> None:
    with pytest.raises(ValueError, match="cutting loss"):
        plan_rolls([(100, 1)], [(1000, 1)], [], cut_loss_mm=-1)


def test_lengths_told_too_finely_for_any_table_still_give_a_plan_and_a_bound() -> None:
    # By hand: two of a third of a metre and a bit more fit into a metre, three do not, and the length alone needs two.
    third = Decimal("333.4123456789")
    plan = plan_rolls([(third, 3), (Decimal("111.1234567891"), 1)], [(1000, 1)], [])
    assert (plan.cost, plan.bound) == (2, 2)
