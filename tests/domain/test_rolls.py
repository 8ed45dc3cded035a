"""Which packs and rolls to buy. Expected values: exhaustive search over small cases, and cases by hand."""

from collections.abc import Iterator, Sequence
from decimal import Decimal
from itertools import product

import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from server.domain.rolls import Offer, Purchase, cheapest_packs, rolls_for_pieces
from tests.domain.scenes import ends_at_all, examples

SMALL, LARGE = Offer("small", 1000, Decimal("3.00")), Offer("large", 5000, Decimal("10.00"))


@st.composite
def offers(draw: st.DrawFn, unit: int = 1) -> list[Offer]:
    """One to three packs of different quantities, at prices that need not grow with the quantity."""
    quantities = draw(st.lists(st.integers(1, 9), min_size=1, max_size=3, unique=True))
    cents = st.integers(0, 400)
    return [Offer(f"pack-{q}", q * unit, Decimal(draw(cents)) / 100) for q in quantities]


def every_purchase(sold: Sequence[Offer], most: int) -> Iterator[tuple[Decimal, int, tuple[int, ...]]]:
    """(price, quantity, counts) of every basket whose packs are all needed to reach ``most``, plus the empty one."""
    ranges = [range(-(-most // offer.quantity) + 1) for offer in sold]
    for counts in product(*ranges):
        price = sum((offer.price * n for offer, n in zip(sold, counts, strict=True)), Decimal(0))
        yield price, sum(offer.quantity * n for offer, n in zip(sold, counts, strict=True)), counts


def packable(pieces: Sequence[int], lengths: Sequence[int]) -> bool:
    """Whether pieces can be cut from rolls, by trying every roll for every piece."""
    if not pieces:
        return True
    piece, rest = pieces[0], pieces[1:]
    for index, left in enumerate(lengths):
        cut = [*lengths[:index], left - piece, *lengths[index + 1 :]]
        if left >= piece and left not in lengths[:index] and packable(rest, cut):
            return True
    return False


def lengths_of(bought: Purchase, sold: Sequence[Offer]) -> list[int]:
    length = {offer.id: offer.quantity for offer in sold}
    return [length[pack] for pack, count in bought.packs for _ in range(count)]


# ---- packs ----------------------------------------------------------------------------------------------------------


@examples(150)
@given(st.integers(0, 40), offers())
def test_no_basket_of_packs_covers_the_need_for_less(needed: int, sold: list[Offer]) -> None:
    bought = cheapest_packs(needed, sold)
    least = min((price, quantity) for price, quantity, _ in every_purchase(sold, needed) if quantity >= needed)
    assert (bought.price, bought.quantity) == least


@examples(100)
@given(st.integers(0, 40), offers())
def test_the_packs_told_add_up_to_the_price_and_quantity_told(needed: int, sold: list[Offer]) -> None:
    bought = cheapest_packs(needed, sold)
    by_id = {offer.id: offer for offer in sold}
    price = sum((by_id[pack].price * n for pack, n in bought.packs), Decimal(0))
    assert (bought.price, bought.quantity) == (price, sum(by_id[pack].quantity * n for pack, n in bought.packs))


def test_nothing_needed_buys_nothing() -> None:
    assert cheapest_packs(0, [SMALL, LARGE]) == Purchase((), 0, Decimal(0))


def test_a_large_pack_is_bought_where_small_ones_would_cost_more() -> None:
    # By hand: four small ones are 12.00, one large one 10.00.
    assert cheapest_packs(3500, [SMALL, LARGE]).packs == (("large", 1),)


def test_of_equal_prices_the_one_that_leaves_least_over_is_taken() -> None:
    sold = [Offer("twelve", 12, Decimal(2)), Offer("ten", 10, Decimal(2))]
    assert cheapest_packs(9, sold).packs == (("ten", 1),)


def test_packs_are_told_largest_first() -> None:
    # By hand: 6000 mm is one large at 10.00 and one small at 3.00, against two large at 20.00.
    assert cheapest_packs(6000, [SMALL, LARGE]).packs == (("large", 1), ("small", 1))


def test_a_need_beyond_the_exact_search_is_still_covered() -> None:
    # By hand: 30 003 pieces in packs of 1 and 10; the bulk may only be bought in the largest pack, never fall short.
    bought = cheapest_packs(30_003, [Offer("one", 1, Decimal(1)), Offer("ten", 10, Decimal(5))])
    assert bought.quantity >= 30_003


@pytest.mark.parametrize("sold", [[], [Offer("empty", 0, Decimal(1))]], ids=["no pack", "an empty pack"])
def test_a_need_cannot_be_covered_from_nothing(sold: list[Offer]) -> None:
    with pytest.raises(ValueError, match="hold something"):
        cheapest_packs(5, sold)


# ---- rolls ----------------------------------------------------------------------------------------------------------

# A search that never ends is not worth shrinking: every smaller case would have to be waited for.
GENERATE_ONLY = (Phase.explicit, Phase.generate)
pieces_mm = st.lists(st.integers(1, 900), min_size=0, max_size=7)


@st.composite
def roll_cases(draw: st.DrawFn) -> tuple[list[int], list[Offer]]:
    """Pieces, and rolls of which the longer one costs more; by the metre either may be the cheaper."""
    lengths = draw(st.lists(st.integers(1, 9), min_size=1, max_size=3, unique=True))
    sold, price = [], Decimal(0)
    for length in sorted(lengths):
        price += Decimal(draw(st.integers(1, 200))) / 100
        sold.append(Offer(f"roll-{length}", length * 100, price))
    return draw(pieces_mm), sold


@settings(examples(200), phases=GENERATE_ONLY)
@given(roll_cases())
def test_every_piece_can_really_be_cut_from_the_rolls_that_are_bought(case: tuple[list[int], list[Offer]]) -> None:
    pieces, sold = case
    with ends_at_all(3):
        bought = rolls_for_pieces(pieces, sold)
    assert bought is None or packable(sorted(pieces, reverse=True), lengths_of(bought, sold))


@settings(examples(200), phases=GENERATE_ONLY)
@given(roll_cases())
def test_rolls_are_found_exactly_when_the_longest_piece_fits_the_longest_roll(
    case: tuple[list[int], list[Offer]],
) -> None:
    pieces, sold = case
    with ends_at_all(3):
        bought = rolls_for_pieces(pieces, sold)
    assert (bought is not None) == (max(pieces, default=0) <= max(offer.quantity for offer in sold))


def test_a_piece_longer_than_any_roll_cannot_be_cut() -> None:
    assert rolls_for_pieces([5001], [SMALL, LARGE]) is None


def test_pieces_without_a_roll_on_offer_cannot_be_cut() -> None:
    assert rolls_for_pieces([100], []) is None


def test_no_pieces_need_no_roll() -> None:
    assert rolls_for_pieces([], [SMALL]) == Purchase((), 0, Decimal(0))


def test_three_pieces_of_600_mm_take_three_rolls_of_a_metre() -> None:
    # By hand: the sum, 1800 mm, would go into two, but two pieces of 600 mm do not come out of one metre.
    bought = rolls_for_pieces([600, 600, 600], [SMALL])
    assert bought is not None
    assert bought.packs == (("small", 3),)


def test_a_long_piece_is_cut_from_a_long_roll_though_short_rolls_are_cheaper_by_the_metre() -> None:
    # By hand: 2000 mm comes out of no 1000 mm roll, so that the 5000 mm roll must be bought whatever it costs.
    with ends_at_all():
        bought = rolls_for_pieces([2000], [Offer("short", 1000, Decimal(1)), Offer("long", 5000, Decimal(10))])
    assert bought is not None
    assert bought.packs == (("long", 1),)


def test_a_short_roll_that_costs_nothing_does_not_keep_a_long_piece_from_being_bought() -> None:
    with ends_at_all():
        bought = rolls_for_pieces([1500], [Offer("left over", 1000, Decimal(0)), Offer("long", 5000, Decimal(10))])
    assert bought is not None
    assert "long" in dict(bought.packs)
