"""What was lost at the bench, and the spares for it. Expected values: counted by hand on four wires, and properties."""

import math
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.domain.ledger import bench_of
from server.domain.losses import LEAST_SPARES, USED_LEAST, Loss, losses_of, measured_loss, thrown_away
from server.domain.model.bench import (
    Cut,
    Done,
    Entry,
    Material,
    Receive,
    Recount,
    ScrapPiece,
    ScrapStock,
    Shelve,
    Take,
    Trim,
    Undo,
)
from server.domain.model.build import Allowances, Spare, SpareOf
from server.domain.model.plan import CombPlace, CrimpUse, RunPlan
from tests.domain.hand_plans import four_wires
from tests.domain.scenes import examples, shipped_catalogue

WIRE, CONTACT = Material("wire", "awg18-plain", "BK"), Material("contact", "p42-socket-18")
TUBE, COMB = Material("shrink", "small"), Material("comb", "closed-4x2")
SHELF = (
    Receive(WIRE, 5000, Decimal(5), "a roll"),
    Receive(CONTACT, 100, Decimal(8), "a bag"),
    Receive(TUBE, 1000, Decimal(3), "a roll"),
    Receive(COMB, 10, Decimal(3), "a bag"),
)
"""Lots 1 to 4; the four wires that are cut first become pieces 5 to 8."""
FOUR = tuple(Cut(1, "a", f"r1/1-0{n}", f"1-0{n}", 1, 330) for n in (1, 2, 3, 4))
CRIMPED = tuple(Done(piece, "crimped") for piece in (5, 6, 7, 8))


def run(sleeve_end: str = "shrink") -> RunPlan:
    """One run: four wires with two contacts and, in sleeves of their own, two tubes each; two combs."""
    made = four_wires().run
    return replace(
        made,
        wires=tuple(replace(wire, sleeve_mm=(100,)) for wire in made.wires),
        crimps=(CrimpUse("p42-socket-18", (18,), 3.3, "", 8, ""),),
        shrink="small",
        shrink_count=8,
        shrink_cut_mm=14,
        sleeve_end=sleeve_end,  # type: ignore[arg-type]
        combs=(CombPlace(COMB.item, 50, 0, 4), CombPlace(COMB.item, 150, 0, 4)),
    )


def loss(of: SpareOf, *entries: Entry, planned: RunPlan | None = None, build: str = "a") -> Loss:
    bench = bench_of((*SHELF, *entries))
    return losses_of((planned or run(),), bench, build, shipped_catalogue())[of]


def taken(lot: int, *numbers: int) -> tuple[Take, ...]:
    return tuple(Take(lot, "a", 1, number) for number in numbers)


def tubes(number: int) -> tuple[Cut, ...]:
    return tuple(Cut(3, "a", f"r1/shrink/{n}", "tube", 1, 14) for n in range(number))


# ---- contacts -------------------------------------------------------------------------------------------------------


def test_nothing_is_lost_of_a_run_that_went_well() -> None:
    # Four wires with two contacts each, and as many taken.
    assert loss("contacts", *FOUR, *CRIMPED, *taken(2, 8)) == Loss(used=8, runs=1)


def test_a_run_that_is_not_begun_says_nothing() -> None:
    assert loss("contacts", *FOUR, *taken(2, 8)) == Loss()


def test_a_crimped_wire_that_is_thrown_away_takes_its_two_contacts_with_it() -> None:
    made = loss("contacts", *FOUR, *CRIMPED, ScrapPiece(5, "strands cut"))
    assert made == Loss(used=6, with_wires=2, worst=2, runs=1)


def test_a_wire_that_is_thrown_away_before_it_was_crimped_loses_no_contact() -> None:
    assert loss("contacts", *FOUR, *CRIMPED[1:], ScrapPiece(5, "nicked")).lost == 0


def test_a_contact_that_is_crimped_again_is_lost_with_the_end_that_is_cut_off() -> None:
    made = loss("contacts", *FOUR, *CRIMPED, Trim(5, 320), Done(5, "crimped"))
    assert made == Loss(used=8, with_wires=2, worst=2, runs=1)


def test_of_a_wire_with_one_end_crimped_one_contact_is_lost() -> None:
    made = loss("contacts", *FOUR, Done(5, "crimped", end="part", more=True), Trim(5, 320))
    assert made == Loss(used=0, with_wires=1, worst=1, runs=1)


def test_a_crimped_wire_that_is_put_back_on_the_shelf_has_lost_its_contacts() -> None:
    assert loss("contacts", *FOUR, *CRIMPED, Shelve(5)) == Loss(used=6, with_wires=2, worst=2, runs=1)


def test_what_replaces_a_lost_contact_is_not_lost_a_second_time() -> None:
    # Two contacts went with the wire, two were taken in their place: 10 taken, 8 planned, 2 lost.
    again = Cut(1, "a", "r1/1-01", "1-01", 1, 330)
    made = loss("contacts", *FOUR, *CRIMPED, ScrapPiece(5, "bent"), again, *taken(2, 8, 2), Done(14, "crimped"))
    assert made == Loss(used=8, with_wires=2, worst=2, runs=1)


def test_what_was_taken_beyond_the_plan_and_lost_with_no_wire_is_lost_too() -> None:
    # 13 taken, 8 planned: 5 beyond the plan, of which 2 went with the wire.
    made = loss("contacts", *FOUR, *CRIMPED, *taken(2, 8, 5), ScrapPiece(5, "bent"))
    assert made == Loss(used=6, with_wires=2, beyond=3, worst=5, runs=1)


def test_things_that_the_plan_has_no_more_were_changed_and_not_lost() -> None:
    other = Receive(Material("contact", "p42-socket-16"), 20, Decimal(2), "a bag")
    assert loss("contacts", *FOUR, *CRIMPED, other, Take(13, "a", 1, 8)).lost == 0


def test_what_another_build_lost_is_not_this_ones() -> None:
    assert loss("contacts", *FOUR, *CRIMPED, ScrapPiece(5, "bent"), build="b") == Loss()


def test_an_undone_loss_is_none() -> None:
    assert loss("contacts", *FOUR, *CRIMPED, ScrapPiece(5, "bent"), Undo(13)) == Loss(used=8, runs=1)


# ---- heat-shrink and combs ------------------------------------------------------------------------------------------


def test_a_sleeved_wire_that_is_thrown_away_takes_its_two_tubes_with_it() -> None:
    made = loss("shrink", *FOUR, *tubes(8), Done(5, "sleeved"), Done(6, "sleeved"), ScrapPiece(5, "short"))
    assert made == Loss(used=6, with_wires=2, worst=2, runs=1)


def test_tubes_that_only_melted_an_end_come_off_again() -> None:
    made = loss("shrink", *FOUR, *tubes(8), Done(5, "sleeved"), ScrapPiece(5, "short"), planned=run("melted"))
    assert made == Loss(used=8, runs=1)


def test_a_tube_that_is_thrown_away_is_lost() -> None:
    assert loss("shrink", *FOUR, *tubes(8), ScrapPiece(9, "scorched")) == Loss(used=7, with_wires=1, worst=1, runs=1)


def test_tubes_cut_in_place_of_lost_ones_are_not_lost_a_second_time() -> None:
    # Ten cut, eight planned, two went with the wire.
    made = loss("shrink", *FOUR, *tubes(10), Done(5, "sleeved"), ScrapPiece(5, "short"))
    assert made == Loss(used=8, with_wires=2, worst=2, runs=1)


def test_tubes_cut_beyond_the_plan_are_lost() -> None:
    assert loss("shrink", *FOUR, *tubes(11)) == Loss(used=8, beyond=3, worst=3, runs=1)


def test_combs_beyond_the_plan_are_lost() -> None:
    assert loss("combs", *taken(4, 2)) == Loss(used=2, runs=1)
    assert loss("combs", *taken(4, 2, 1)) == Loss(used=2, beyond=1, worst=1, runs=1)


def test_stock_thrown_away_counts_by_the_piece_and_what_is_missing_at_stock_taking_does_not() -> None:
    # Tube of 12 mm shown that loses 10 % is cut at 14 mm, so that 30 mm are two pieces.
    entries = (
        *SHELF,
        ScrapStock(2, 3, "bent"),
        ScrapStock(3, 30, "scorched"),
        Recount(2, 90, "counted"),
        ScrapStock(2, 5, "slip"),
        Undo(8),
        ScrapStock(1, 100, "kinked"),
    )
    catalogue = shipped_catalogue()
    tube = replace(catalogue.shrinks["small"], piece_mm=12, shortening_percent=10)
    catalogue = replace(catalogue, shrinks={**catalogue.shrinks, "small": tube})
    found = thrown_away(entries, bench_of(entries), catalogue)
    assert found == {"contacts": Loss(thrown=3), "shrink": Loss(thrown=2)}


# ---- suggestions ----------------------------------------------------------------------------------------------------

FIRST = Allowances(skill="first_cables")


def test_twice_the_share_that_was_lost_is_suggested_and_at_least_what_the_worst_run_lost() -> None:
    # By hand: 4 with wires and 2 from stock on 96 used, 6.25 %; twice that is 12.5 %, so 13 %.
    found = measured_loss("contacts", Loss(96, 4, 0, 2, 4, 2), FIRST)
    assert found is not None
    assert (found.percent, found.spare, found.now, found.state) == (6.25, Spare(13, 4), Spare(25, 6), "differs")


def test_nothing_less_than_the_trades_least_is_suggested_however_well_it_went() -> None:
    found = measured_loss("contacts", Loss(500, runs=20), FIRST)
    assert found is not None
    assert (found.spare, found.state) == (Spare(5, 2), "differs")


@pytest.mark.parametrize(("used", "state"), [(USED_LEAST - 1, "few"), (USED_LEAST, "differs")])
def test_nothing_is_suggested_before_fifty_are_used(used: int, state: str) -> None:
    found = measured_loss("contacts", Loss(used), FIRST)
    assert found is not None
    assert found.state == state


def test_nothing_is_said_of_what_was_never_used() -> None:
    assert measured_loss("combs", Loss(), FIRST) is None


@pytest.mark.parametrize(
    ("own", "state"),
    [
        (Spare(13, 4), "agrees"),
        (Spare(12.5, 4), "agrees"),
        (Spare(12, 4), "differs"),
        (Spare(13, 3), "differs"),
    ],
)
def test_spares_of_ones_own_that_are_as_measured_agree(own: Spare, state: str) -> None:
    found = measured_loss("contacts", Loss(96, 4, 0, 2, 4, 2), Allowances(spares={"contacts": own}))
    assert found is not None
    assert (found.now, found.state) == (own, state)


def test_twice_the_mean_covers_all_but_one_build_in_fifty_once_four_are_expected() -> None:
    # Published: a Poisson count of mean 4 is at most 8 with a probability of 0.9786.
    covered = sum(math.exp(-4) * 4**k / math.factorial(k) for k in range(9))
    assert covered == pytest.approx(0.9786, abs=5e-5)


LOSSES = st.builds(
    Loss, st.integers(0, 500), st.integers(0, 60), st.integers(0, 60), st.integers(0, 60), st.integers(0, 60)
)


@examples(200)
@given(LOSSES, st.sampled_from(["contacts", "shrink", "combs"]))
def test_a_suggestion_is_never_below_the_least_and_would_have_covered_twice_what_was_lost(
    made: Loss, of: SpareOf
) -> None:
    found = measured_loss(of, made, FIRST)
    if found is not None:
        assert found.spare.percent >= LEAST_SPARES[of].percent
        assert LEAST_SPARES[of].least <= found.spare.least
        assert found.spare.percent == 500 or found.spare.percent * max(1, made.used) >= 200 * made.lost
        assert found.spare.percent <= 500


@examples(100)
@given(LOSSES, LOSSES, LOSSES)
def test_losses_add_up_in_any_order(one: Loss, two: Loss, three: Loss) -> None:
    assert one.plus(two).plus(three) == three.plus(one).plus(two)
    assert one.plus(two).lost == one.lost + two.lost
