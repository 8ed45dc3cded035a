"""Runs that wait for their length, and what waiting costs.

Expected values: by hand, with the shipped sample prices: the cheapest 16 AWG wire is 22.60 for 25 000 mm, the cheapest
small sleeve 11.00 for 25 000 mm, the cheapest comb of 8 ways 2.82 for four.
"""

from dataclasses import replace
from decimal import Decimal

from server.domain.model.build import Route
from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import Waiting
from tests.domain.length_scenes import Case, chain, cpu, graphics_8, planned, with_finish

WIRE = Decimal("22.60") / 25_000
SLEEVE = Decimal("11.00") / 25_000
COMB = Decimal("2.82") / 4
RANGE = Route(low_mm=400, likely_mm=430, high_mm=500)


def bare(catalogue: Catalogue, route: Route) -> Case:
    """A CPU run of eight bare wires without combs."""
    return with_finish(cpu(catalogue, route), sleeve="", combs=False)


def waiting(case: Case) -> Waiting:
    (found,) = planned(case).waiting
    return found


def test_a_measured_run_waits_for_nothing(catalogue: Catalogue) -> None:
    assert planned(cpu(catalogue)).waiting == ()


def test_a_range_is_bought_at_its_high_end_and_never_cut(catalogue: Catalogue) -> None:
    # By hand: 500 + 26 = 526, up to 530.
    found = planned(bare(catalogue, RANGE))
    assert {(wire.buy_mm, wire.cut_mm) for wire in found.runs[0].wires} == {(530, None)}
    assert (found.cuts, found.summary.waiting) == ((), 1)


def test_waiting_shows_what_is_bought_and_what_will_most_likely_be_used(catalogue: Catalogue) -> None:
    # By hand: eight times 530; 430 + 26 = 456, up to 460, eight times.
    found = waiting(bare(catalogue, RANGE))
    assert (found.wires, found.buy_mm, found.likely_buy_mm) == (8, 4240, 3680)


def test_waiting_costs_what_is_bought_too_much_by_the_millimetre(catalogue: Catalogue) -> None:
    # By hand: 4240 - 3680 = 560 mm of wire.
    assert waiting(bare(catalogue, RANGE)).wait_price == 560 * WIRE


def test_sleeve_counts_among_what_is_bought_too_much(catalogue: Catalogue) -> None:
    # By hand: 500 x 1.32037 + 10 = 670.2, up to 671; 430 x 1.32037 + 10 = 577.8, up to 578; eight times 93 mm more.
    case = with_finish(cpu(catalogue, RANGE), combs=False)
    assert waiting(case).wait_price == 560 * WIRE + 8 * 93 * SLEEVE


def test_a_comb_more_counts_among_what_is_bought_too_much(catalogue: Catalogue) -> None:
    # By hand: 700 mm have four combs on their visible half, 590 mm have three. Wire: 726, up to 730; 616, up to 620.
    case = with_finish(cpu(catalogue, Route(low_mm=500, likely_mm=590, high_mm=700)), sleeve="")
    assert waiting(case).wait_price == 8 * 110 * WIRE + COMB


def test_the_middle_of_a_range_is_taken_where_no_likely_value_is_entered(catalogue: Catalogue) -> None:
    # By hand: 450 + 26 = 476, up to 480, eight times.
    found = waiting(bare(catalogue, Route(low_mm=400, high_mm=500)))
    assert (found.likely_mm, found.likely_buy_mm) == (450, 3840)


def test_a_range_whose_likely_length_is_cut_like_its_high_end_costs_nothing_to_wait_for(catalogue: Catalogue) -> None:
    # By hand: 500 + 26 = 526 and 499.5 + 26 = 525.5, both up to 530.
    found = waiting(bare(catalogue, Route(low_mm=400, likely_mm=499.5, high_mm=500)))
    assert (found.likely_buy_mm, found.wait_price) == (4240, Decimal(0))


def test_a_price_of_ones_own_changes_what_waiting_costs(catalogue: Catalogue) -> None:
    build, known = bare(catalogue, RANGE)
    dear = {pack.id: Decimal(pack.quantity) for pack in known.packs if pack.item == "awg16-plain"}
    assert waiting((replace(build, prices=dear), known)).wait_price == 560


def test_an_unmeasured_run_buys_nothing_and_costs_nothing_to_wait_for(catalogue: Catalogue) -> None:
    found = waiting(cpu(catalogue, Route()))
    assert (found.wires, found.buy_mm, found.likely_buy_mm, found.wait_price) == (8, 0, 0, Decimal(0))


def test_a_range_whose_chain_lacks_a_spacing_is_shown_and_not_bought(catalogue: Catalogue) -> None:
    case = chain(catalogue, ["sata-15"] * 3, route=Route(low_mm=350, high_mm=400, spacing_mm=(100.0,)))
    found = waiting(case)
    assert (found.low_mm, found.high_mm, found.buy_mm, found.wait_price) == (350, 400, 0, Decimal(0))


def test_the_spacing_of_a_chain_is_not_waited_for(catalogue: Catalogue) -> None:
    # By hand: 400 + 100 + 8 + 0 + 10 = 518, up to 520; 375 + 118 = 493, up to 495; four wires.
    case = chain(catalogue, ["sata-15"] * 2, route=Route(low_mm=350, high_mm=400, spacing_mm=(100.0,)))
    assert (waiting(case).buy_mm, waiting(case).likely_buy_mm) == (2080, 1980)


def test_a_reworked_run_waits_for_what_is_soldered_on_alone(catalogue: Catalogue) -> None:
    # By hand: 500 + 21 = 521, up to 525: 525 - 450 + 10 = 85; 430 + 21 = 451, up to 455: 455 - 450 + 10 = 15.
    case = graphics_8(catalogue, route=RANGE, method="rework", own_cable_mm=450.0)
    assert (waiting(case).buy_mm, waiting(case).likely_buy_mm) == (8 * 85, 8 * 15)
