"""Sleeve, heat-shrink, combs and tap marks of a run. Expected values: by hand, shown beside each.

The small braid is 0.8 mm wide at 13 degrees. Over 2.4 mm: sin a = 3 x 0.22495 = 0.67485, cos a = 0.73795, and
0.97437 / 0.73795 = 1.32037 mm of it cover one millimetre. Over 1.55 mm the factor is 1.08261, over 2.1 mm 1.20641.
"""

from collections import Counter
from dataclasses import replace

import pytest

from server.domain.model.build import SUPPLY, Build, Part, PlugRef, Route, Run, RunFinish, SharedChoice, Socket
from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import RunPlan
from server.domain.model.route import RouteStep
from tests.domain.length_scenes import (
    EIGHTS,
    Case,
    chain,
    cpu,
    fork,
    graphics_8,
    main_24,
    one_run,
    planned,
    run_of,
    two_plugs,
    with_allowances,
    with_finish,
)
from tests.domain.scenes import codes, port

RANGE = Route(low_mm=400, high_mm=500)
BENT = Route(steps=(RouteStep("leg", 300), RouteStep("left", angle_deg=90, radius_mm=50), RouteStep("leg", 200)))


def thinned(catalogue: Catalogue, **fields: object) -> Case:
    """A graphics inlet whose sense line shares a contact as 22 AWG, because the builder says so."""
    cavity = run_of(graphics_8(catalogue)).offers[0].cavity
    return graphics_8(catalogue, shared=(SharedChoice(SUPPLY, "G1", cavity, "thinner"),), **fields)


def sleeved(run: RunPlan) -> Counter[tuple[float, int]]:
    """Pieces of sleeve by the length that they cover and the length that they are cut at. [mm]"""
    found: Counter[tuple[float, int]] = Counter()
    for piece in run.sleeve_pieces:
        found[round(piece.covered_mm, 1), piece.cut_mm] += piece.count
    return found


def covered(run: RunPlan) -> dict[float, int]:
    """Pieces of sleeve by the length that they cover. [mm]"""
    found: Counter[float] = Counter()
    for piece in run.sleeve_pieces:
        found[round(piece.covered_mm, 1)] += piece.count
    return dict(found)


def combs(run: RunPlan) -> list[tuple[str, int, int, int]]:
    """(comb, plug, distance, wires) of each. [mm]"""
    return [(place.comb, place.plug, place.at_mm, place.wires) for place in run.combs]


def with_table(case: Case, table: str, **changed: object) -> Case:
    """The case with one entry of a table of the catalogue changed, or with a table of these entries alone."""
    build, known = case
    return build, replace(known, **{table: {**getattr(known, table), **changed}})  # type: ignore[arg-type]


def lead(
    catalogue: Catalogue, header: str, inlet: str, length_mm: float, extra_mm: float = 0.0, **finish: object
) -> Case:
    """A lead from a board's header to a part, without a supply."""
    board = (Part("p1", "board", "Board", (Socket("out", header),)),) if header else ()
    parts = (*board, Part("p2", "other", "Part", (Socket("in", inlet),)))
    sources = (PlugRef("p1", "out"),) if header else ()
    run = Run("r1", 1, sources, (PlugRef("p2", "in", extra_mm),), route=Route(length_mm=length_mm))
    run = replace(run, finish=RunFinish(**finish))  # type: ignore[arg-type]
    return Build("Test", parts=parts, runs=(run,), next_number=2, next_part=3), catalogue


# ---- sleeve on every wire -------------------------------------------------------------------------------------------


def test_a_piece_of_sleeve_is_what_it_covers_times_the_braid_and_what_frays_at_both_ends(catalogue: Catalogue) -> None:
    # By hand: 450 x 1.32037 = 594.17, and 5 mm at each end: 604.17, up to 605.
    assert sleeved(run_of(cpu(catalogue))) == {(450, 605): 8}


def test_what_frays_is_set_for_the_build(catalogue: Catalogue) -> None:
    # By hand: 594.17 + 2 x 12 = 618.17, up to 619.
    assert sleeved(run_of(with_allowances(cpu(catalogue), fray_mm=12.0))) == {(450, 619): 8}


def test_the_braid_is_reckoned_for_each_gauge_by_itself(catalogue: Catalogue) -> None:
    # By hand: seven wires of 16 AWG: 400 x 1.32037 + 10 = 538.15, up to 539. The sense line that shares a contact is of
    # 22 AWG: 400 x 1.08261 + 10 = 443.04, up to 444.
    assert sleeved(run_of(thinned(catalogue))) == {(400, 539): 7, (400, 444): 1}


def test_a_bend_lengthens_the_sleeve_of_the_outer_wires(catalogue: Catalogue) -> None:
    # By hand: 578.54 along the middle, 36.29 more outside, as much less inside: 614.83 and 542.25 are covered;
    # x 1.32037 + 10 = 821.8 and 726.0, up to 822 and 726.
    pieces = sleeved(run_of(main_24(catalogue, BENT)))
    assert (max(pieces), min(pieces)) == ((614.8, 822), (542.3, 726))


def test_wires_that_are_cut_alike_are_sleeved_alike(catalogue: Catalogue) -> None:
    # By hand: 478 and 481 mm are needed, both are cut at 485; the longer way, 455 mm, is covered on all.
    assert covered(run_of(two_plugs(catalogue, 452, 3))) == {455: 8}


def test_wires_that_are_cut_differently_are_sleeved_by_their_own_way(catalogue: Catalogue) -> None:
    assert covered(run_of(two_plugs(catalogue, 452, 5))) == {452: 4, 457: 4}


def test_a_wire_that_runs_through_is_sleeved_between_its_plugs(catalogue: Catalogue) -> None:
    # By hand: 400 to the first plug, then each spacing with the own reach of the plug that it leads to, 130 and 160,
    # less the 20 mm that lie in the plug before.
    run = run_of(chain(catalogue, ["sata-15"] * 3, 100, 150, end_mm=(0.0, 30.0, 10.0)))
    assert covered(run) == {400: 4, 110: 4, 140: 4}


def test_a_mixed_chain_is_sleeved_stretch_by_stretch(catalogue: Catalogue) -> None:
    # By hand: two crimped plugs, then two that are pressed: the wires from the second one on run through, and 20 mm of
    # them lie bare in the third.
    run = run_of(chain(catalogue, ["peripheral-4", "peripheral-4", "sata-15", "sata-15"], 90, 120, 180))
    assert covered(run) == {400: 4, 90: 4, 120: 4, 160: 4}


def test_wires_of_equal_length_that_part_at_other_places_are_not_sleeved_alike(catalogue: Catalogue) -> None:
    # By hand: 392 + 8 + 9 + 10 = 419 from the port; 150 + 250 + 9 + 10 = 419 from the first plug on: all cut at 420.
    # Of the 250 mm behind the pressed plug 20 lie in it.
    route = Route(length_mm=392, spacing_mm=(150, 250))
    run = run_of(chain(catalogue, ["peripheral-4", "sata-15", "sata-15"], route=route))
    assert ({w.cut_mm for w in run.wires}, covered(run)) == ({420}, {392: 4, 150: 4, 230: 4})


def test_service_slack_is_sleeved_and_the_re_crimp_reserve_is_not(catalogue: Catalogue) -> None:
    # By hand: 450 + 20 = 470, whatever is kept for a second crimp.
    assert covered(run_of(with_allowances(cpu(catalogue), slack_mm=20.0, recrimp_mm=9.0))) == {470: 8}


def test_service_slack_of_a_pressed_chain_is_sleeved_in_its_first_stretch(catalogue: Catalogue) -> None:
    # By hand: 400 + 30 = 430, and 100 - 20 = 80 behind the plug.
    case = with_allowances(chain(catalogue, ["sata-15"] * 2, 100), slack_mm=30.0)
    assert covered(run_of(case)) == {430: 4, 80: 4}


def test_plugs_that_stand_side_by_side_leave_no_room_for_a_sleeve(catalogue: Catalogue) -> None:
    # By hand: 20 mm from plug to plug are the width of a plug.
    assert covered(run_of(chain(catalogue, ["sata-15"] * 2, 20))) == {400: 4}


def test_every_wire_names_the_pieces_of_its_sleeve_from_the_supply_on(catalogue: Catalogue) -> None:
    # By hand: 400 x 1.20641 + 10 = 492.6, up to 493; 80 x 1.20641 + 10 = 106.5, up to 107.
    run = run_of(chain(catalogue, ["sata-15"] * 2, 100))
    assert {wire.sleeve_mm for wire in run.wires} == {(493, 107)}


def test_wires_that_are_bare_or_lie_in_one_sleeve_name_none_of_their_own(catalogue: Catalogue) -> None:
    runs = run_of(with_finish(cpu(catalogue), sleeve="")), run_of(lead(catalogue, "button-header", "button", 300))
    assert [{wire.sleeve_mm for wire in run.wires} for run in runs] == [{()}, {()}]


def test_the_pieces_that_the_wires_name_are_those_that_are_cut(catalogue: Catalogue) -> None:
    run = run_of(thinned(catalogue))
    named = Counter((wire.sleeve_colour, cut) for wire in run.wires for cut in wire.sleeve_mm)
    assert named == Counter({(p.colour, p.cut_mm): p.count for p in run.sleeve_pieces})


def test_a_bridge_has_no_sleeve(catalogue: Catalogue) -> None:
    choice = SharedChoice(SUPPLY, "G1", planned(graphics_8(catalogue)).runs[0].offers[0].cavity, "jumper")
    run = run_of(graphics_8(catalogue, shared=(choice,)))
    assert (len(run.wires), sum(piece.count for piece in run.sleeve_pieces)) == (8, 7)


def test_a_sleeve_that_does_not_open_far_enough_gives_no_pieces_and_no_heat_shrink(catalogue: Catalogue) -> None:
    # 16 AWG is 2.4 mm thick; a braid that opens to 2.3 mm does not go over.
    tight = replace(catalogue.sleeves["small"], greatest_mm=2.3)
    run = run_of(with_table(cpu(catalogue), "sleeves", small=tight))
    assert (run.sleeve_pieces, run.shrink_count) == ((), 0)


def test_a_run_without_sleeve_has_no_heat_shrink_either(catalogue: Catalogue) -> None:
    run = run_of(with_finish(cpu(catalogue), sleeve=""))
    assert (run.sleeve_pieces, run.shrink, run.shrink_count) == ((), "", 0)


def test_a_range_is_sleeved_for_its_high_end(catalogue: Catalogue) -> None:
    assert covered(run_of(cpu(catalogue, RANGE))) == {500: 8}


def test_a_run_of_unknown_length_is_not_sleeved_yet(catalogue: Catalogue) -> None:
    run = run_of(cpu(catalogue, Route()))
    assert (run.sleeve_pieces, run.shrink_count, run.combs) == ((), 0, ())


# ---- sleeve over a bundle or a moulded cable ------------------------------------------------------------------------


def test_one_sleeve_goes_over_the_leads_of_a_button_together(catalogue: Catalogue) -> None:
    # By hand: two wires of 1.55 mm are 3.1 mm; the middle braid is 1.6 mm wide: the factor is that of 1.55 over 0.8,
    # 1.08261. 300 x 1.08261 + 10 = 334.8, up to 335.
    assert sleeved(run_of(lead(catalogue, "button-header", "button", 300))) == {(300, 335): 1}


def test_a_bundles_sleeve_reaches_as_far_as_its_plugs(catalogue: Catalogue) -> None:
    assert covered(run_of(lead(catalogue, "button-header", "button", 300, 20))) == {320: 1}


def test_heat_shrink_round_two_wires_grips_less_than_the_circle_round_them(catalogue: Catalogue) -> None:
    # By hand: it slides over 3.1 + 2 x 0.5 = 4.1 mm, and grips a girth of (2 + pi) x 1.55 = 7.97 mm, that is 2.54 mm:
    # 3/16 in is 4.75 mm wide and shrinks to 2.36 mm; the middle braid's own 1/4 in shrinks to 3.18 mm only.
    run = run_of(lead(catalogue, "button-header", "button", 300))
    assert (run.shrink, run.shrink_count) == ("s3-16", 2)


def test_a_bundle_that_forks_is_sleeved_up_to_the_fork_and_along_its_tails(catalogue: Catalogue) -> None:
    # By hand: 300 mm to the nearer button, 40 mm of it tail; the other lies 30 mm further and leaves at the same place.
    build, known = lead(catalogue, "button-header", "button", 300)
    parts = (*build.parts, replace(build.parts[1], id="p3"))
    ends = (PlugRef("p2", "in", 0.0, 40.0), PlugRef("p3", "in", 30.0, 70.0))
    run = replace(build.runs[0], ends=ends, branching="fork")
    case = replace(build, parts=parts, runs=(run,), next_part=4), known
    assert covered(run_of(case)) == {260: 1, 40: 1, 70: 1}


def test_a_flat_data_cable_counts_by_its_girth(catalogue: Catalogue) -> None:
    # By hand: a girth of 18.3 mm is that of 5.825 mm; 5.825 / 4 x 0.22495 = 0.32759, its cosine 0.94482;
    # 500 x 0.97437 / 0.94482 = 515.64, and 10: 525.64, up to 526.
    assert sleeved(run_of(lead(catalogue, "", "sata-data", 500, sleeve="large"))) == {(500, 526): 1}


def test_heat_shrink_of_a_moulded_cable_slides_over_its_plug(catalogue: Catalogue) -> None:
    # By hand: the plug's girth of 40 mm is that of 12.73 mm, the cable 5.83 mm: 4:1 tube of 16 mm shrinks to 4 mm.
    run = run_of(lead(catalogue, "", "sata-data", 500, sleeve="large"))
    assert (run.shrink, run.shrink_count) == ("r4-16", 2)


def test_a_sleeve_that_does_not_pass_the_plug_gives_no_pieces(catalogue: Catalogue) -> None:
    # By hand: the plug's girth of 70 mm is that of 22.3 mm; the large braid opens to 16 mm.
    assert run_of(lead(catalogue, "", "usb3-data", 500, sleeve="large")).sleeve_pieces == ()


def test_a_sleeve_whose_strands_lie_across_before_it_passes_the_plug_gives_no_pieces(catalogue: Catalogue) -> None:
    # By hand: 4 mm at 20 degrees jams at 4 / 0.34202 = 11.7 mm, whatever its label says; the plug has 12.7 mm.
    jams = replace(catalogue.sleeves["large"], braid_angle_deg=20.0)
    case = with_table(lead(catalogue, "", "sata-data", 500, sleeve="large"), "sleeves", large=jams)
    assert run_of(case).sleeve_pieces == ()


def test_the_extra_large_sleeve_passes_a_wide_plug(catalogue: Catalogue) -> None:
    # By hand: a girth of 22 mm is that of 7.003 mm; 7.003 / 6 x 0.22495 = 0.26255, its cosine 0.96492; 500 x 0.97437 /
    # 0.96492 + 10 = 514.9, up to 515.
    assert sleeved(run_of(lead(catalogue, "", "usb3-data", 500, sleeve="extra"))) == {(500, 515): 1}


def test_a_moulded_cables_sleeve_reaches_as_far_as_its_plug(catalogue: Catalogue) -> None:
    assert covered(run_of(lead(catalogue, "", "sata-data", 500, 25, sleeve="large"))) == {525: 1}


# ---- heat-shrink ----------------------------------------------------------------------------------------------------


def test_the_size_that_goes_with_the_sleeve_is_taken_where_it_fits(catalogue: Catalogue) -> None:
    # By hand: 18 AWG of 2.1 mm in 0.4 mm of braid is 2.9 mm; 1/8 in is 3.18 mm wide and shrinks to 1.58 mm.
    assert run_of(with_finish(cpu(catalogue), awg=18)).shrink == "small"


def test_the_smallest_size_that_fits_is_taken_where_the_sleeves_own_does_not(catalogue: Catalogue) -> None:
    # By hand: 16 AWG of 2.4 mm in the braid is 3.2 mm, wider than 1/8 in; 3/16 in shrinks to 2.36 mm and grips 2.4 mm.
    assert run_of(cpu(catalogue)).shrink == "s3-16"


def test_a_thin_wire_among_thick_ones_wants_a_tube_that_grips_it_too(catalogue: Catalogue) -> None:
    # By hand: it slides over 3.2 mm and grips 1.55 mm: no 2:1 size does; 4:1 tube of 4 mm shrinks to 1 mm.
    assert run_of(thinned(catalogue)).shrink == "r4-4"


def test_a_size_chosen_by_hand_stays_though_it_does_not_fit(catalogue: Catalogue) -> None:
    case = with_finish(cpu(catalogue), shrink_size="large")
    assert (run_of(case).shrink, "shrink_fit" in [code for _, code in codes(planned(case))]) == ("large", True)


def test_the_sleeves_own_size_is_named_where_none_that_is_listed_fits(catalogue: Catalogue) -> None:
    build, known = cpu(catalogue)
    only = replace(known, shrinks={"small": known.shrinks["small"]})
    assert run_of((build, only)).shrink == "small"


def test_nothing_is_named_where_no_heat_shrink_is_listed(catalogue: Catalogue) -> None:
    build, known = cpu(catalogue)
    bare = replace(known, shrinks={}, packs=tuple(pack for pack in known.packs if pack.kind != "shrink"))
    run = run_of((build, bare))
    assert (run.shrink, run.shrink_count, run.shrink_cut_mm) == ("", 0, 0)


def test_both_ends_of_every_piece_take_one_tube_cut_longer_than_it_shows(catalogue: Catalogue) -> None:
    # By hand: eight pieces, sixteen tubes; 12 mm shown of a tube that loses a tenth: 13.3, up to 14.
    run = run_of(cpu(catalogue))
    assert (run.shrink_count, run.shrink_cut_mm) == (16, 14)


def test_a_pressed_chain_takes_tubes_on_both_sides_of_every_plug(catalogue: Catalogue) -> None:
    # By hand: four wires with three pieces each, two ends a piece: 24.
    assert run_of(chain(catalogue, ["sata-15"] * 3, 100, 150)).shrink_count == 24


@pytest.mark.parametrize(
    ("sleeve_end", "done", "tubes"), [("shrink", {"shrink": 16}, 16), ("melted", {"melt": 16}, 16), ("loose", {}, 0)]
)
def test_melted_ends_use_tubes_up_and_loose_ones_take_none(
    catalogue: Catalogue, sleeve_end: str, done: dict[str, int], tubes: int
) -> None:
    # By hand: two spare tubes, a tenth of sixteen up to two, each 14 mm long.
    found = planned(with_finish(cpu(catalogue), sleeve_end=sleeve_end))
    rows = {row.operation: row.count for row in found.estimate.labour if row.operation in ("shrink", "melt")}
    bought = sum(buy.needed for buy in found.buys if buy.kind == "shrink")
    assert (rows, bought) == (done, (tubes + 2) * 14 if tubes else 0)


# ---- combs ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("length", "at"),
    [(480, [40, 120, 200]), (400, [50, 150]), (404, [34, 101, 168]), (80, [20]), (79, [])],
)
def test_combs_stand_on_the_visible_half_one_for_each_started_100_mm(
    catalogue: Catalogue, length: float, at: list[int]
) -> None:
    # By hand: 240 mm visible are three stretches of 80; 200 are two of 100; 202 are three of 67.3; 40 are one; 39.5 are
    # too short for any.
    assert combs(run_of(cpu(catalogue, length))) == [("comb-8", 0, mm, 8) for mm in at]


def test_a_run_too_short_for_a_comb_is_not_said_to_lack_one(catalogue: Catalogue) -> None:
    assert "no_comb" not in [code for _, code in codes(planned(cpu(catalogue, 79)))]


def test_a_comb_that_nothing_listed_can_replace_is_told(catalogue: Catalogue) -> None:
    build, known = cpu(catalogue)
    few = replace(known, combs={"comb-2": known.combs["comb-2"]})
    assert "no_comb" in [code for _, code in codes(planned((build, few)))]


def test_a_comb_moves_out_of_a_bend_to_the_nearest_straight_place(catalogue: Catalogue) -> None:
    # By hand: 300 + 100 x pi / 2 + 100 = 557.1 mm, 278.5 visible: 46, 139 and 232. The bend lies 100 to 257.1 from the
    # part plug: 139 goes back to 100, 232 on to 258.
    steps = (RouteStep("leg", 300), RouteStep("up", angle_deg=90, radius_mm=100), RouteStep("leg", 100))
    assert [at for _, _, at, _ in combs(run_of(cpu(catalogue, Route(steps=steps))))] == [46, 100, 258]


def test_open_combs_are_taken_where_the_run_says_so(catalogue: Catalogue) -> None:
    found = planned(with_finish(cpu(catalogue, 400.0), comb_kind="open"))
    minutes = {row.operation: row.count for row in found.estimate.labour if row.operation.startswith("comb")}
    assert (combs(found.runs[0])[0][0], minutes) == ("comb-8-open", {"comb_open": 2})


def test_wires_in_one_row_take_a_comb_of_one_row(catalogue: Catalogue) -> None:
    run = run_of(with_finish(chain(catalogue, ["peripheral-4"]), combs=True))
    assert {place.comb for place in run.combs} == {"comb-4-row"}


def test_a_full_row_asks_for_as_many_columns(catalogue: Catalogue) -> None:
    # By hand: 23 wires, twelve in the lower row: 24 ways in two rows of twelve.
    assert {(place.comb, place.wires) for place in run_of(main_24(catalogue, BENT)).combs} == {("comb-24", 23)}


def test_drives_have_no_combs_unless_asked_for(catalogue: Catalogue) -> None:
    assert run_of(chain(catalogue, ["peripheral-4"])).combs == ()


def test_the_tails_of_a_fork_take_the_smaller_comb(catalogue: Catalogue) -> None:
    # By hand: 600 mm, 300 visible. The usual tail of 80 mm holds four wires: one comb in its middle. From 80 to 300 all
    # eight lie together: three stretches of 73.3 mm, in the middle of each: 116.7, 190, 263.3.
    run = run_of(fork(catalogue, 2, Route(length_mm=600)))
    common = [("comb-8", 0, mm, 8) for mm in (117, 190, 263)]
    assert combs(run) == [*common, ("comb-4", 0, 40, 4), ("comb-4", 1, 40, 4)]


def test_a_tail_too_short_for_a_comb_has_none(catalogue: Catalogue) -> None:
    run = run_of(fork(catalogue, 2, Route(length_mm=600), tail_mm=(None, 39.0)))
    assert [place.plug for place in run.combs if place.comb == "comb-4"] == [0]


def test_a_tail_longer_than_the_visible_half_is_combed_as_far_as_it_is_seen(catalogue: Catalogue) -> None:
    # By hand: 200 mm are visible, all of them tail: two combs on each, none on the common ribbon behind.
    run = run_of(fork(catalogue, 2, tail_mm=(300.0, 300.0)))
    assert combs(run) == [("comb-4", plug, mm, 4) for plug in (0, 1) for mm in (50, 150)]


def chained_cards(catalogue: Catalogue) -> Case:
    """An 8-position and a 6-position graphics inlet along one chain."""
    ports = [port("G1", "p42-8g-plug", ["graphics"], EIGHTS)]
    return one_run(catalogue, ["graphics-8", "graphics-6"], ports, route=Route(length_mm=400, spacing_mm=(120.0,)))


def test_behind_a_plug_where_wires_have_left_the_comb_is_smaller(catalogue: Catalogue) -> None:
    # By hand: 200 mm visible with eight wires: 50, 150; 120 mm from plug to plug with six: two of 60 mm: 30, 90.
    assert combs(run_of(chained_cards(catalogue))) == [
        ("comb-8", 0, 50, 8), ("comb-8", 0, 150, 8), ("comb-6", 1, 30, 6), ("comb-6", 1, 90, 6),
    ]  # fmt: skip


def test_two_combs_of_each_kind_are_bought_beyond_those_that_are_fitted(catalogue: Catalogue) -> None:
    bought = {buy.item: (buy.needed, buy.spare) for buy in planned(chained_cards(catalogue)).buys if buy.kind == "comb"}
    assert bought == {"comb-8": (4, 2), "comb-6": (4, 2)}


def test_a_bundled_lead_has_no_combs(catalogue: Catalogue) -> None:
    assert run_of(lead(catalogue, "usb2-header", "usb2", 600, combs=True)).combs == ()


# ---- tap marks ------------------------------------------------------------------------------------------------------


def marks(run: RunPlan) -> dict[tuple[int, int], tuple[str, ...]]:
    return {(mark.plug, mark.from_end_mm): mark.labels for mark in run.tap_marks}


def test_taps_are_marked_at_the_spacing_from_the_crimped_end(catalogue: Catalogue) -> None:
    # By hand: 8 mm lie in the port's housing: 408; + 100 + 30 own reach: 538; + 150 + 10: 698.
    case = chain(catalogue, ["sata-15"] * 3, 100, 150, end_mm=(0.0, 30.0, 10.0))
    assert {at: len(labels) for at, labels in marks(run_of(case)).items()} == {(0, 408): 4, (1, 538): 4, (2, 698): 4}


def test_service_slack_moves_every_mark_and_the_re_crimp_reserve_none(catalogue: Catalogue) -> None:
    # By hand: 408 + 30 = 438, and 100 more.
    case = with_allowances(chain(catalogue, ["sata-15"] * 2, 100), slack_mm=30.0, recrimp_mm=12.0)
    assert list(marks(run_of(case))) == [(0, 438), (1, 538)]


def test_half_a_millimetre_is_always_marked_upwards(catalogue: Catalogue) -> None:
    # By hand: 408.5, 509.5 and 610.5 are 101 mm apart, and stay so.
    run = run_of(chain(catalogue, ["sata-15"] * 3, route=Route(length_mm=400.5, spacing_mm=(101.0, 101.0))))
    assert list(marks(run)) == [(0, 409), (1, 510), (2, 611)]


def test_a_port_that_lies_further_off_moves_every_mark(catalogue: Catalogue) -> None:
    # By hand: 408 + 15 = 423, and 100 more.
    assert list(marks(run_of(chain(catalogue, ["sata-15"] * 2, 100, source_mm=(15.0,))))) == [(0, 423), (1, 523)]


def test_an_insertion_depth_set_by_hand_moves_every_mark(catalogue: Catalogue) -> None:
    case = with_allowances(chain(catalogue, ["sata-15"] * 2, 100), depth_mm={"p42": 10.0})
    assert list(marks(run_of(case))) == [(0, 410), (1, 510)]


def test_in_a_bend_every_wire_has_marks_of_its_own(catalogue: Catalogue) -> None:
    # By hand: 300 + 40 x pi / 2 = 362.83 and 8: 370.83 for cavity 3 in the middle. The others lie 3.81 and 7.62 mm
    # beside it: 5.98 and 11.97 mm more on the left, outside the bend, 5.98 less on the right.
    steps = (RouteStep("leg", 300), RouteStep("right", angle_deg=90, radius_mm=40))
    run = run_of(chain(catalogue, ["sata-15"] * 2, route=Route(steps=steps, spacing_mm=(100.0,))))
    assert marks(run) == {
        (0, 365): ("1-04",), (0, 371): ("1-03",), (0, 377): ("1-02",), (0, 383): ("1-01",),
        (1, 465): ("1-04",), (1, 471): ("1-03",), (1, 477): ("1-02",), (1, 483): ("1-01",),
    }  # fmt: skip


def test_a_mixed_chain_is_marked_from_the_crimped_plug_on(catalogue: Catalogue) -> None:
    # By hand: 9 mm lie in the crimped plug's housing: 120 + 9 = 129, and 180 more: 309.
    run = run_of(chain(catalogue, ["peripheral-4", "sata-15", "sata-15"], 120, 180))
    assert {at: len(labels) for at, labels in marks(run).items()} == {(1, 129): 4, (2, 309): 4}


def test_a_spliced_wire_is_marked_from_where_it_is_joined(catalogue: Catalogue) -> None:
    # By hand: one COM contact feeds two wires. The three crimped ones are marked at 408; the joined one starts 40 mm
    # before the housing with 10 mm of overlap: 370.
    choice = SharedChoice(SUPPLY, "P1", "2", "splice")
    ports = [port("P1", "p42-6-plug", ["drive"], ["+12V", "COM", "+5V", "", "", ""])]
    route = Route(length_mm=400, spacing_mm=(100.0,))
    run = run_of(one_run(catalogue, ["sata-15", "peripheral-4"], ports, route=route, shared=(choice,)))
    assert {at: len(labels) for at, labels in marks(run).items()} == {(0, 408): 3, (0, 370): 1}


def test_a_bridge_in_a_crimped_chain_has_no_mark(catalogue: Catalogue) -> None:
    cavity = run_of(chained_cards(catalogue)).offers[0].cavity
    build, known = chained_cards(catalogue)
    choice = SharedChoice(SUPPLY, "G1", cavity, "jumper")
    run = run_of((replace(build, runs=(replace(build.runs[0], shared=(choice,)),)), known))
    assert ([joint.kind for joint in run.joints], run.tap_marks) == (["jumper"], ())


@pytest.mark.parametrize(
    ("inlet", "route"),
    [
        ("peripheral-4", Route(length_mm=400, spacing_mm=(100.0,))),
        ("sata-15", Route(low_mm=350, high_mm=400, spacing_mm=(100.0,))),
        ("sata-15", Route(length_mm=400)),
    ],
)
def test_crimped_plugs_and_unmeasured_chains_have_no_marks(catalogue: Catalogue, inlet: str, route: Route) -> None:
    assert run_of(chain(catalogue, [inlet] * 2, route=route)).tap_marks == ()


def test_caps_are_never_taken_from_another_family(catalogue: Catalogue) -> None:
    # A straight SATA plug behind a pressed peripheral plug: through cap of the one, end cap of the other.
    build, known = chain(catalogue, ["peripheral-4", "sata-15"], 100)
    pressed = replace(known.pinouts["peripheral-4"], housing="p508d-4-right")
    run = run_of((build, replace(known, pinouts={**known.pinouts, "peripheral-4": pressed})))
    assert [plug.cap for plug in run.ends] == ["p508d-through", "satad-end"]
