"""How long each wire is, summand by summand. Expected values: sums by hand, shown beside each."""

from dataclasses import replace

import pytest

from server.documents.build_json import read_build
from server.domain import by_hand
from server.domain.model.build import Route, SharedChoice
from server.domain.model.catalogue import Catalogue
from server.domain.model.route import RouteStep
from server.domain.plan import plan
from server.domain.plan.methods import three_ways
from tests.domain.length_scenes import (
    Case,
    chain,
    cpu,
    fork,
    graphics_8,
    main_24,
    run_of,
    terms_of,
    two_plugs,
    wire_to,
    with_allowances,
)
from tests.domain.scenes import EXAMPLES

LEG, LAST = RouteStep("leg", 300), RouteStep("leg", 200)
LEFT, RIGHT, UP = (RouteStep(kind, angle_deg=90, radius_mm=50) for kind in ("left", "right", "up"))
HALF_TWIST = RouteStep("twist", 100, 180)


def bent(*steps: RouteStep) -> Route:
    return Route(steps=steps)


def bends_of(case: Case) -> dict[str, float]:
    """Bend term by part cavity; 0 where there is none. [mm]"""
    return {w.target.cavity: terms_of(w).get("bends", 0.0) for w in run_of(case).wires}


# ---- the sum --------------------------------------------------------------------------------------------------------


def test_a_wire_adds_up_term_by_term(catalogue: Catalogue) -> None:
    # By hand: 450 + 12 + 8 + 5 + 8 + 5 + 20 = 508, in steps of 5: 510 mm.
    wire = wire_to(with_allowances(cpu(catalogue, end_mm=(12.0,)), slack_mm=20.0), "1")
    assert terms_of(wire) == {
        "route": 450, "own reach of its plugs": 12, "into the housing, source end": 8, "one crimp again, source end": 5,
        "into the housing, part end": 8, "one crimp again, part end": 5, "service slack": 20,
    }  # fmt: skip
    assert wire.cut_mm == 510


@pytest.mark.parametrize("example", ["compact", "large"])
def test_every_wire_of_the_examples_is_as_long_as_its_terms_and_each_has_a_source(
    catalogue: Catalogue, example: str
) -> None:
    # Property: grouping and rounding add, and never take away; an overlap is beside the terms.
    build = read_build((EXAMPLES / f"{example}.json").read_text("utf-8"))
    wires = [wire for run in plan(build, catalogue).runs for wire in run.wires if wire.terms]
    assert wires
    for wire in wires:
        assert wire.own_mm + wire.buy_mm >= sum(term.mm for term in wire.terms) - 1e-6
        assert all(term.source for term in wire.terms)


@pytest.mark.parametrize(
    ("route", "source"),
    [
        (Route(length_mm=450), "measured by the builder"),
        (Route(low_mm=400, high_mm=500), "high end of the builder's range"),
        (bent(LEG, LEFT, LAST), "legs and bends measured by the builder"),
    ],
)
def test_the_route_says_where_it_comes_from(catalogue: Catalogue, route: Route, source: str) -> None:
    assert wire_to(cpu(catalogue, route), "1").terms[0].source == source


def test_each_family_has_its_own_insertion_depth(catalogue: Catalogue) -> None:
    # Shipped table: 8 mm for the 4.2 mm family at the port, 9 mm for the 5.08 mm family at the drive.
    terms = terms_of(wire_to(chain(catalogue, ["peripheral-4"]), "1"))
    assert (terms["into the housing, source end"], terms["into the housing, part end"]) == (8, 9)


def test_an_insertion_depth_set_by_hand_holds_for_its_family_alone(catalogue: Catalogue) -> None:
    # By hand: 400 + 8 + 5 + 11.5 + 5 = 429.5, in steps of 5: 430.
    wire = wire_to(with_allowances(chain(catalogue, ["peripheral-4"]), depth_mm={"p508": 11.5}), "1")
    sources = {term.name: term.source for term in wire.terms}
    assert (wire.cut_mm, sources["into the housing, part end"]) == (430, "set for this build")
    assert sources["into the housing, source end"] == catalogue.families["p42"].source


def test_a_reserve_for_one_crimp_again_may_differ_by_family(catalogue: Catalogue) -> None:
    # By hand: 400 + 8 + 5 + 9 + 12 = 434, in steps of 5: 435; without the 12 it would be 430.
    case = with_allowances(chain(catalogue, ["peripheral-4"]), recrimp_by_family={"p508": 12.0})
    assert wire_to(case, "1").cut_mm == 435


def test_a_family_without_a_reserve_has_no_such_term(catalogue: Catalogue) -> None:
    # By hand: 450 + 8 + 8 = 466, in steps of 5: 470.
    wire = wire_to(with_allowances(cpu(catalogue), recrimp_by_family={"p42": 0.0}), "1")
    assert (wire.cut_mm, [name for name in terms_of(wire) if "again" in name]) == (470, [])


def test_a_pressed_end_has_a_reserve_for_pressing_and_not_for_crimping(catalogue: Catalogue) -> None:
    # By hand: 400 + 8 + 5 at the port, 0 deep and 5 for one pressing again at the drive: 418.
    terms = terms_of(wire_to(chain(catalogue, ["sata-15"]), "1"))
    assert (terms["one pressing again, part end"], sum(terms.values())) == (5, 418)


@pytest.mark.parametrize(("step", "cut"), [(1, 476), (5, 480), (10, 480), (25, 500), (0.5, 476)])
def test_a_length_is_rounded_up_to_the_cutting_step(catalogue: Catalogue, step: float, cut: int) -> None:
    # By hand: 450 + 8 + 5 + 8 + 5 = 476.
    assert wire_to(with_allowances(cpu(catalogue), step_mm=step), "1").cut_mm == cut


# ---- lengths that hardly differ -------------------------------------------------------------------------------------


@pytest.mark.parametrize(("further", "cut"), [(3.0, {485}), (4.9, {485}), (5.0, {480, 485}), (9.0, {480, 490})])
def test_wires_that_differ_by_less_than_a_step_are_cut_alike_and_others_are_not(
    catalogue: Catalogue, further: float, cut: set[int]
) -> None:
    # By hand: 452 + 26 = 478, up to 480 by itself; 3 mm more are 481, up to 485, and both are cut at 485.
    # 5 mm more are 483, up to 485, a whole step away; 9 mm more are 487, up to 490.
    assert {wire.cut_mm for wire in run_of(two_plugs(catalogue, 452, further)).wires} == cut


def test_groups_do_not_creep_from_wire_to_wire(catalogue: Catalogue) -> None:
    # By hand: 400 + 26 = 426, with 4 mm more 430, with 8 mm more 434. The longest two differ by 4 and are cut at 435;
    # the shortest lies 8 below the longest and is cut at 430, although only 4 lie between it and the middle one.
    wires = run_of(fork(catalogue, 3, end_mm=(0.0, 4.0, 8.0))).wires
    assert {(wire.target.plug, wire.cut_mm) for wire in wires} == {(0, 430), (1, 435), (2, 435)}


# ---- bends ----------------------------------------------------------------------------------------------------------


def test_every_column_of_a_24_position_ribbon_has_its_own_share_of_an_edgewise_bend(catalogue: Catalogue) -> None:
    # By hand: cavity 1 lies 5.5 x 4.2 = 23.1 mm to the right, and every next one 4.2 mm further left; times pi / 2.
    terms = bends_of(main_24(catalogue, bent(LEG, LEFT, LAST)))
    right = [36.29, 29.69, 23.09, 16.49, 9.90, 3.30]
    assert [terms[str(n)] for n in range(1, 13)] == [*right, *(-mm for mm in reversed(right))]
    assert {n: terms[str(n + 12)] for n in range(1, 13) if n != 8} == {n: terms[str(n)] for n in range(1, 13) if n != 8}


def test_outer_and_inner_wire_of_a_24_position_ribbon_differ_by_its_width_times_the_turn(catalogue: Catalogue) -> None:
    # By hand: 11 x 4.2 = 46.2 mm between the outermost wires; 46.2 x pi / 2 = 72.57 mm.
    terms = bends_of(main_24(catalogue, bent(LEG, LEFT, LAST)))
    assert max(terms.values()) - min(terms.values()) == pytest.approx(72.57, abs=0.02)


def test_every_column_is_cut_at_its_own_length(catalogue: Catalogue) -> None:
    # By hand: 300 + 50 x pi / 2 + 200 = 578.54 along the middle, 26 more at the ends: 604.54. With the terms above
    # 640.8, 634.2, 627.6, 621.0, 614.4, 607.8, 601.2, 594.6, 588.0, 581.4, 574.9, 568.3, each up to 5.
    wires = run_of(main_24(catalogue, bent(LEG, LEFT, LAST))).wires
    cut = {int(wire.target.cavity): wire.cut_mm for wire in wires}
    assert [cut[n] for n in range(1, 13)] == [645, 635, 630, 625, 615, 610, 605, 595, 590, 585, 575, 570]


def test_a_bend_to_the_right_takes_back_what_a_bend_to_the_left_gave(catalogue: Catalogue) -> None:
    # Offset curves: equal turns the other way cancel. By hand: 657.08 along the middle and 26: 683.1, up to 685.
    run = run_of(main_24(catalogue, bent(LEG, LEFT, RIGHT, LAST)))
    assert {(wire.cut_mm, "bends" in terms_of(wire)) for wire in run.wires} == {(685, False)}


def test_half_a_twist_exchanges_the_sides(catalogue: Catalogue) -> None:
    # By hand: cavity 1 lies 23.1 to the right and 2.1 below: 23.195 mm from the middle. Half a turn over 100 mm makes
    # it sqrt(100^2 + (23.195 pi)^2) - 100 = 23.73 longer. Then it lies on the left, and the bend takes 36.29 off.
    terms = bends_of(main_24(catalogue, bent(LEG, HALF_TWIST, LEFT, LAST)))
    assert (terms["1"], terms["12"]) == pytest.approx((23.73 - 36.29, 23.73 + 36.29), abs=0.02)


def test_a_bend_over_the_face_parts_the_rows(catalogue: Catalogue) -> None:
    # By hand: the latch row, cavities 13 and up, lies 2.1 mm above the middle, inside a bend upwards: 2.1 x pi / 2.
    terms = bends_of(main_24(catalogue, bent(LEG, UP, LAST)))
    assert {(int(cavity) > 12, mm) for cavity, mm in terms.items()} == {(True, -3.30), (False, 3.30)}


def test_the_plugs_of_a_fork_lie_side_by_side_in_a_bend(catalogue: Catalogue) -> None:
    # By hand: four columns of 4.2 mm; 6.3 and 2.1 mm on either side, times pi / 2: 9.90 and 3.30.
    run = run_of(fork(catalogue, 2, bent(LEG, LEFT, LAST)))
    terms = {(w.target.plug, w.target.cavity): terms_of(w)["bends"] for w in run.wires if w.target.cavity in "12"}
    assert terms == {(0, "2"): -9.90, (0, "1"): -3.30, (1, "2"): 3.30, (1, "1"): 9.90}


def test_only_the_first_stretch_of_a_crimped_chain_is_bent(catalogue: Catalogue) -> None:
    route = replace(bent(LEG, LEFT, LAST), spacing_mm=(120.0,))
    wires = run_of(chain(catalogue, ["peripheral-4", "peripheral-4"], route=route)).wires
    assert {(w.source_at_end, "bends" in terms_of(w)) for w in wires} == {(False, True), (True, False)}


# ---- plugs at different reach ---------------------------------------------------------------------------------------


def test_two_supply_plugs_of_different_reach_feed_one_inlet(catalogue: Catalogue) -> None:
    # By hand: 450 + 26 = 476, up to 480; with 35 mm more 511, up to 515.
    run = run_of(two_plugs(catalogue, 450, 35))
    cut = {
        (run.sources[w.source.plug].ref.socket, w.cut_mm, terms_of(w).get("own reach of its plugs")) for w in run.wires
    }
    assert cut == {("A", 480, None), ("B", 515, 35)}


def test_a_fork_reaches_each_of_its_inlets_by_itself(catalogue: Catalogue) -> None:
    # By hand: 400 + 26 = 426, up to 430; with 30 mm more 456, up to 460. A fork needs no spacing to be measured.
    run = run_of(fork(catalogue, 2, end_mm=(0.0, 30.0)))
    assert (run.state, {(w.target.plug, w.cut_mm) for w in run.wires}) == ("measured", {(0, 430), (1, 460)})


def test_a_tail_is_part_of_the_way_and_makes_no_wire_longer(catalogue: Catalogue) -> None:
    run = run_of(fork(catalogue, 2, end_mm=(0.0, 30.0), tail_mm=(60.0, 140.0)))
    assert {(w.target.plug, w.cut_mm) for w in run.wires} == {(0, 430), (1, 460)}


def test_a_crimped_chain_of_unequal_spacing_is_cut_stretch_by_stretch(catalogue: Catalogue) -> None:
    # By hand: 400 + 8 + 9 + 10 = 427; 95 + 9 + 9 + 10 = 123; 160 + 20 own reach + 28 = 208; each up to 5.
    case = chain(catalogue, ["peripheral-4"] * 3, 95, 160, end_mm=(0.0, 0.0, 20.0))
    assert {(w.target.plug, w.cut_mm) for w in run_of(case).wires} == {(0, 430), (1, 125), (2, 210)}


def test_a_wire_that_runs_through_is_as_long_as_the_way_to_every_plug(catalogue: Catalogue) -> None:
    # By hand: 400 + 100 + 30 to the second plug + 150 + 10 to the last: 690; 8 + 5 + 5 more: 708, up to 710.
    case = chain(catalogue, ["sata-15"] * 3, 100, 150, end_mm=(0.0, 30.0, 10.0))
    assert {(w.route_mm, w.cut_mm) for w in run_of(case).wires} == {(690, 710)}


def test_a_mixed_chain_ends_its_first_wires_at_the_crimped_plug(catalogue: Catalogue) -> None:
    # By hand: 400 + 8 + 9 + 10 = 427; from there 120 + 180 + 9 + 0 + 10 = 319; both up to 5.
    case = chain(catalogue, ["peripheral-4", "sata-15", "sata-15"], 120, 180)
    assert {(w.source_at_end, w.cut_mm) for w in run_of(case).wires} == {(False, 430), (True, 320)}


# ---- splice, bridge, rework, extension ------------------------------------------------------------------------------


def with_choice(case: Case, remedy: str) -> Case:
    """The same run with the contact that would hold two wires dealt with in this way."""
    offer = run_of(case).offers[0]
    choice = SharedChoice(offer.part, offer.socket, offer.cavity, remedy)  # type: ignore[arg-type]
    return replace(case[0], runs=(replace(case[0].runs[0], shared=(choice,)),)), case[1]


def test_a_spliced_wire_starts_before_the_housing_with_an_overlap(catalogue: Catalogue) -> None:
    # By hand: 400 - 40 + 8 + 5 at the part, 10 overlap: 383, up to 385.
    case = with_choice(graphics_8(catalogue), "splice")
    wire = next(w for w in run_of(case).wires if not w.source.crimped)
    assert terms_of(wire) == {
        "route": 400, "less: joined before the housing": -40, "into the housing, part end": 8,
        "one crimp again, part end": 5, "overlap of the splice": 10,
    }  # fmt: skip
    assert wire.cut_mm == 385


def test_a_splice_on_a_route_shorter_than_its_distance_takes_no_more_than_there_is(catalogue: Catalogue) -> None:
    # By hand: a route of 30 mm less 30, 8 + 5 + 10 = 23, up to 25.
    case = with_choice(graphics_8(catalogue, route=Route(length_mm=30)), "splice")
    assert next(w for w in run_of(case).wires if not w.source.crimped).cut_mm == 25


def test_a_bridge_has_no_route_and_two_ends_in_the_same_housing(catalogue: Catalogue) -> None:
    # By hand: 30 + 2 x (8 + 5) = 56, up to 60.
    case = with_choice(graphics_8(catalogue), "jumper")
    wire = next(w for w in run_of(case).wires if w.source_at_end)
    assert (terms_of(wire)["bridge"], "route" in terms_of(wire), wire.cut_mm) == (30, False, 60)


def reworked(catalogue: Catalogue, own_mm: float | None) -> Case:
    build, known = graphics_8(catalogue)
    return by_hand.set_method(build, known, "r1", "rework", own_mm), known


def test_a_reworked_wire_keeps_the_makers_crimp_and_has_a_reserve_at_the_part_only(catalogue: Catalogue) -> None:
    wire = wire_to(reworked(catalogue, 600), "1")
    assert [name for name in terms_of(wire) if "again" in name] == ["one crimp again, part end"]


@pytest.mark.parametrize(
    ("own", "kept", "cut"),
    [
        (600, 425, None),  # 400 + 8 + 8 + 5 = 421, up to 425: shortened to that
        (425, 425, None),
        (422.7, 422, None),  # 421 are needed: what is missing of the step alone is not worth a joint
        (421, 421, None),
        (420, 420, 15),  # 425 - 420 + 10 overlap
        (300, 300, 135),  # 425 - 300 + 10 overlap
    ],
)
def test_a_rework_keeps_what_is_long_enough_and_solders_on_what_is_missing(
    catalogue: Catalogue, own: float, kept: int, cut: int | None
) -> None:
    run = run_of(reworked(catalogue, own))
    assert {(wire.own_mm, wire.cut_mm) for wire in run.wires} == {(kept, cut)}
    assert {joint.kind for joint in run.joints} == (set() if cut is None else {"solder_on"})


def test_a_rework_without_a_known_length_of_the_own_cable_buys_nothing_yet(catalogue: Catalogue) -> None:
    assert {(w.own_mm, w.buy_mm, w.cut_mm) for w in run_of(reworked(catalogue, None)).wires} == {(0, 0, None)}


@pytest.mark.parametrize(("own", "offcuts"), [(600, ("8 offcuts of about 175 mm",)), (425.6, ()), (300.9, ())])
def test_offcuts_are_left_over_only_where_a_wire_is_shortened(
    catalogue: Catalogue, own: float, offcuts: tuple[str, ...]
) -> None:
    # By hand: 600 - 425 = 175; half a millimetre is no offcut; of a wire that is too short nothing is cut off.
    figures = {f.method: f for f in three_ways(*reworked(catalogue, own), "r1")}
    assert figures["rework"].left_over[1:] == offcuts


def test_an_extension_is_cut_like_a_new_cable(catalogue: Catalogue) -> None:
    # By hand: the mating half is of the same family: 400 + 8 + 5 + 8 + 5 = 426, up to 430.
    build, known = graphics_8(catalogue)
    case = by_hand.set_method(build, known, "r1", "extension", 500), known
    assert {(w.own_mm, w.cut_mm) for w in run_of(case).wires} == {(0, 430)}


# ---- not measured ---------------------------------------------------------------------------------------------------


def test_a_wire_of_unknown_length_has_no_terms_and_is_not_bought(catalogue: Catalogue) -> None:
    assert {(w.terms, w.buy_mm, w.cut_mm) for w in run_of(cpu(catalogue, Route())).wires} == {((), 0, None)}


def test_a_chain_with_a_spacing_missing_is_not_measured(catalogue: Catalogue) -> None:
    case = chain(catalogue, ["sata-15"] * 3, 100)
    assert (run_of(case).state, {w.buy_mm for w in run_of(case).wires}) == ("unmeasured", {0})


def test_reserves_do_not_lie_in_the_currents_way(catalogue: Catalogue) -> None:
    # By hand: 16 AWG at 15.6 ohm/km: 416 mm of wire and two contact pairs of 10 mohm, out and back: 52.98 mohm. Neither
    # slack nor a larger reserve changes it.
    build, known = with_allowances(graphics_8(catalogue), slack_mm=50.0, recrimp_mm=20.0)
    figures = {f.method: f for f in three_ways(build, known, "r1")}
    assert figures["scratch"].added_mohm == pytest.approx(52.98, abs=0.01)
