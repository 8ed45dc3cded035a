import re
from dataclasses import replace

import pytest

from server.domain.model.plan import SleevePiece
from server.domain.model.route import RouteStep
from server.drawing.ribbon import ribbon_end_svg, ribbon_svg
from tests.drawing import reading, scenes
from tests.drawing.scenes import catalogue

SLEEVE = SleevePiece("large", "TQ", 400, 380.0, 1)
RUNS = {
    "main": scenes.main_run(),
    "cpu": scenes.straight_cpu(combs=scenes.combs("comb-8", 8, 50, 300), shrink="small"),
    "graphics": scenes.graphics_run(),
    "chain": scenes.chain_run(),
    "long-chain": scenes.chain_run(plugs=9, spacing_mm=(40.0,) * 8),
    "chain-unmeasured": scenes.chain_run(state="unmeasured", length_mm=None, spacing_mm=()),
    "tapped": scenes.tapped_run(),
    "tapped-long": scenes.tapped_run(plugs=9, spacing_mm=(40.0,) * 8),
    "thinning": scenes.thinning_run(),
    "fork": scenes.fork_run(),
    "fork-short-tails": scenes.fork_run(tails=(0.0, 5.0)),
    "fork-long-tails": scenes.fork_run(tails=(2000.0, 5000.0)),
    "fork-unmeasured": scenes.fork_run(state="unmeasured", length_mm=None, combs=()),
    "open-combs": scenes.straight_cpu(combs=scenes.combs("open-8", 8, 50, 300)),
    "segments": scenes.segment_run(),
    "range": scenes.fan_run(place='<&"> ' * 20),
    "moulded": replace(scenes.fan_run(), sources=(), wires=(), kind="sleeved", sleeve_pieces=(SLEEVE,)),
    "no-wires": replace(scenes.straight_cpu(), wires=()),
    "no-source": replace(scenes.fan_run(), sources=(), wires=()),
}


def labels(root):
    return [e.get("data-wire", "") for e in root.iter() if e.get("data-wire")]


@pytest.mark.parametrize("run", RUNS.values(), ids=RUNS.keys())
def test_every_wire_lies_in_the_ribbon_once(run):
    assert labels(reading.parse(ribbon_svg(run, catalogue()))) == [w.label for w in run.wires]


@pytest.mark.parametrize("draw", [ribbon_svg, ribbon_end_svg])
@pytest.mark.parametrize("run", RUNS.values(), ids=RUNS.keys())
def test_nothing_lies_outside_the_ribbon_drawing(run, draw):
    assert reading.outside(reading.parse(draw(run, catalogue()))) == []


def test_combs_lie_to_scale_between_the_faces():
    run = scenes.main_run()
    root = reading.parse(ribbon_svg(run, catalogue()))
    combs = {int(r.get("data-comb", "")): float(r.get("x", "")) for r in root.iter() if r.get("data-comb")}
    # Property: equal distances on the bench (120 mm each) are equal on the drawing, and the last is the closest.
    gaps = [combs[40] - combs[160], combs[160] - combs[280], combs[280] - combs[400]]
    assert gaps == pytest.approx([gaps[0]] * 3, abs=0.02)
    assert gaps[0] > 0


def bars(run):
    """Combs on the drawing: place along the run, and height of the bar. [mm, px]"""
    root = reading.parse(ribbon_svg(run, catalogue()))
    return [(int(r.get("data-comb", "")), float(r.get("height", ""))) for r in root.iter() if r.get("data-comb")]


def test_a_comb_is_no_wider_than_the_wires_that_are_left_in_it():
    # By hand: four wires before the first plug, two behind it; a lane is 13 px, and a bar stands 3 px out.
    assert bars(scenes.thinning_run()) == [(100, 58), (200, 58), (60, 32)]


def test_a_comb_on_a_tail_holds_the_wires_of_its_plug_only():
    held = dict(bars(scenes.fork_run()))
    # By hand: the ribbon of eight lanes of 13 px takes 110 px with 3 px on either side; a tail of four takes 58.
    assert [held[150], held[250]] == [110, 110]
    assert [held[40], held[60]] == pytest.approx([58, 58])


def test_an_open_comb_has_a_tooth_on_either_side_of_each_wire():
    root = reading.parse(ribbon_svg(RUNS["open-combs"], catalogue()))
    backs = [e for e in root.iter() if e.get("data-open")]
    teeth = [
        e.get("d", "").count("h6") for e in root.iter() if e.get("class") == "line heavy" and "h6" in e.get("d", "")
    ]
    # By hand: eight wires have nine gaps and sides.
    assert len(backs) == 2
    assert teeth == [9, 9]


def test_the_combs_are_told_by_size_and_plug():
    said = ribbon_svg(scenes.thinning_run(), catalogue())
    assert "comb, 4 ways: 100, 200 mm from First; comb, 4 ways: 60 mm from Second" in said


def ways(run):
    """First and last point of each wire by its label."""
    root = reading.parse(ribbon_svg(run, catalogue()))
    paths = {e.get("data-wire"): reading.path_points(e.get("d", "")) for e in root.iter() if e.get("data-wire")}
    return {label: (points[0], points[-1]) for label, points in paths.items()}


def test_each_branch_of_a_fork_ends_at_its_own_reach():
    ends = {label: last[0] for label, (_, last) in ways(scenes.fork_run()).items()}
    # By hand: 560 mm and 560 + 60 mm behind the source plug, at 620 px for 620 mm.
    assert {x - 164 for label, x in ends.items() if "A-" in label} == {560}
    assert {x - 164 for label, x in ends.items() if "B-" in label} == {620}


def test_the_branches_of_a_fork_lie_in_the_order_of_the_ribbon():
    # Property: no two wires change places between the ribbon and the part plugs.
    root = reading.parse(ribbon_svg(scenes.fork_run(), catalogue()))
    heights = [reading.path_points(e.get("d", ""))[-1][1] for e in root.iter() if e.get("data-wire")]
    assert heights == sorted(heights)


def said_by(run):
    return [box[4] for box in reading.text_boxes(reading.parse(ribbon_svg(run, catalogue())))]


def test_a_fork_says_how_long_its_tails_are():
    said = said_by(scenes.fork_run())
    # 80 mm is the usual tail; 120 mm is set. Both stand at their plugs, for they differ, and as dimensions.
    assert (said.count("tail 80 mm"), said.count("tail 120 mm"), said.count("+60 mm, tail 120 mm")) == (2, 1, 1)


@pytest.mark.parametrize(("name", "told"), [("fork", False), ("fork-short-tails", True), ("fork-long-tails", True)])
def test_a_tail_that_is_too_short_or_too_long_for_the_drawing_is_said_not_to_be_to_scale(name, told):
    assert ("tails not to scale" in reading.words(reading.parse(ribbon_svg(RUNS[name], catalogue())))) is told


def test_two_source_plugs_have_tails_of_their_own():
    # Both have the usual one, so that it is told once, as a dimension.
    assert said_by(scenes.main_run()).count("tail 80 mm") == 1


def test_a_plug_below_another_of_its_place_has_room_for_what_is_particular_to_it():
    run = scenes.main_run()
    far = replace(run.sources[1], ref=replace(run.sources[1].ref, extra_mm=35.0), latch_down=True)
    said = said_by(replace(run, sources=(run.sources[0], far)))
    at = said.index("latch down, +35 mm")
    assert said[at - 1] == "M2 main 10"


def test_a_length_of_legs_and_bends_is_read_in_whole_millimetres():
    run = scenes.straight_cpu(length_mm=610.62, steps=(RouteStep("leg", 610.62),))
    assert "611 mm" in said_by(run)


def test_a_single_plug_has_no_tail():
    assert "tail" not in reading.words(reading.parse(ribbon_svg(scenes.straight_cpu(), catalogue())))


def test_tap_marks_are_read_from_the_crimped_end():
    said = reading.words(reading.parse(ribbon_svg(scenes.tapped_run(), catalogue()))).split("\n")
    # By hand: 8 + 380 = 388, and 95 mm more for each plug behind.
    assert [words for words in said if words in {"388", "483", "578", "673"}] == ["388", "483", "578", "673"]


def test_tap_marks_that_differ_by_wire_are_given_from_the_first_to_the_last():
    run = scenes.tapped_run(plugs=2)
    first, *rest = run.tap_marks
    shorter = replace(first, from_end_mm=380, labels=first.labels[:1])
    said = reading.words(reading.parse(ribbon_svg(replace(run, tap_marks=(shorter, first, *rest)), catalogue())))
    assert "380–388" in said


def test_the_close_up_shows_the_comb_that_is_nearest_to_its_plug():
    words = reading.words(reading.parse(ribbon_end_svg(scenes.fork_run(), catalogue())))
    assert "comb, 4 ways" in " ".join(words.split("\n"))


@pytest.mark.parametrize(
    ("end", "told", "bands"),
    [("shrink", "shrink at both ends", 8), ("melted", "ends melted on, no shrink", 0), ("loose", "loose ends", 0)],
)
def test_the_close_up_shows_how_the_sleeve_is_held(end, told, bands):
    shrink = "" if end == "loose" else "small"
    root = reading.parse(ribbon_end_svg(scenes.straight_cpu(shrink=shrink, sleeve_end=end), catalogue()))
    assert told in " ".join(reading.words(root).split("\n"))
    # One dark band on each of the eight wires, or none.
    assert sum(e.get("fill") == "#1b1b1d" and e.get("class") == "edge" for e in root.iter()) == bands


@pytest.mark.parametrize(("run", "dashed"), [(scenes.straight_cpu(), False), (scenes.fan_run(), True)])
def test_a_ribbon_is_dashed_exactly_when_its_run_is_not_measured(run, dashed):
    root = reading.parse(ribbon_svg(run, catalogue()))
    assert {e.get("stroke-dasharray") is not None for e in root.iter() if e.get("data-wire")} == {dashed}


def test_a_run_that_is_not_measured_says_its_range_in_words():
    assert "250–420 mm, not measured" in reading.words(reading.parse(ribbon_svg(scenes.fan_run(), catalogue())))


def test_a_supply_plug_turned_over_lets_the_wires_of_a_straight_cable_lie_without_crossing():
    def heights(down):
        root = reading.parse(ribbon_svg(scenes.straight_cpu(down=down), catalogue()))
        ways = [reading.path_points(e.get("d", "")) for e in root.iter() if e.get("data-wire")]
        return [way[0][1] for way in ways], [way[-1][1] for way in ways]

    # By hand: with equal cavities joined, the lying order is kept only when one plug is turned over.
    starts, ends = heights(True)
    assert sorted(starts) == starts
    assert sorted(ends) == ends


def test_the_close_up_shows_the_visible_colours_left_to_right_in_ribbon_order():
    run = scenes.chain_run()
    root = reading.parse(ribbon_end_svg(run, catalogue()))
    codes = [t for t in reading.words(root).split("\n") if t in scenes.HEX]
    # The five wires of the scene: +3.3V, COM, +5V, COM, +12V.
    assert codes == ["OG", "BK", "RD", "BK", "YE"]


def test_the_close_up_puts_the_wires_of_a_two_row_plug_into_the_rows_of_the_comb():
    run = RUNS["cpu"]
    root = reading.parse(ribbon_end_svg(run, catalogue()))
    rows: dict[float, list[str]] = {}
    for rect in root.iter(f"{reading.SVG}rect"):
        if rect.get("data-wire"):
            rows.setdefault(float(rect.get("y", "")), []).append(rect.get("data-wire", ""))
    # By hand: latch row 5 to 8 on top, numbered from the right, so that it reads 8 7 6 5 from the left.
    assert list(rows.values()) == [["3-8", "3-7", "3-6", "3-5"], ["3-4", "3-3", "3-2", "3-1"]]


def test_a_moulded_cable_is_shown_under_one_sleeve_with_its_colour_in_words():
    assert "TQ sleeve, moulded cable" in reading.words(reading.parse(ribbon_svg(RUNS["moulded"], catalogue())))


def test_ids_of_both_pictures_are_unique_on_one_page():
    found = [i for run in scenes.small_build() for draw in (ribbon_svg, ribbon_end_svg)
             for i in reading.ids(reading.parse(draw(run, catalogue())))]  # fmt: skip
    assert len(found) == len(set(found))


def clashes(root):
    """Pairs of words that lie on one another."""
    boxes = reading.text_boxes(root)
    return [
        (p[4], q[4]) for i, p in enumerate(boxes) for q in boxes[i + 1 :]
        if min(p[2], q[2]) - max(p[0], q[0]) > 1 and min(p[3], q[3]) - max(p[1], q[1]) > 1.5
    ]  # fmt: skip


SLEEVED = {
    "sleeved": scenes.sleeved_run(),
    "sleeved-chain": scenes.sleeved_chain(),
    "close-combs": scenes.straight_cpu(combs=scenes.combs("comb-8", 8, 20, 30, 40, 50)),
}


@pytest.mark.parametrize("small", [False, True], ids=["whole", "small"])
@pytest.mark.parametrize("run", (RUNS | SLEEVED).values(), ids=(RUNS | SLEEVED).keys())
def test_no_words_of_a_ribbon_lie_on_one_another(run, small):
    assert clashes(reading.parse(ribbon_svg(run, catalogue(), small=small))) == []


@pytest.mark.parametrize("run", (RUNS | SLEEVED).values(), ids=(RUNS | SLEEVED).keys())
def test_nothing_lies_outside_the_small_ribbon(run):
    assert reading.outside(reading.parse(ribbon_svg(run, catalogue(), small=True))) == []


@pytest.mark.parametrize("run", (RUNS | SLEEVED).values(), ids=(RUNS | SLEEVED).keys())
def test_the_words_of_a_small_ribbon_are_at_least_6_and_a_half_pt_on_a_card(run):
    # By hand: 128 mm are 362.8 pt.
    root = reading.parse(ribbon_svg(run, catalogue(), small=True))
    sizes = [float(t.get("font-size", "11")) for t in root.iter(f"{reading.SVG}text")]
    assert min(sizes) * 362.8 / float(root.get("width")) >= 6.5


def test_a_name_too_long_for_its_plug_loses_what_its_face_tells_before_it_is_cut():
    run = scenes.graphics_run()
    long = replace(run.ends[0], place="Graphics card 1", socket="graphics power, 8 positions (power1)")
    root = reading.parse(ribbon_svg(replace(run, ends=(long,)), catalogue(), small=True))
    shown = " ".join("".join(t.itertext()) for t in root.iter(f"{reading.SVG}text"))
    assert "card 1 graphics power" in " ".join(shown.split())
    assert "…" not in shown


def test_a_small_ribbon_of_24_wires_is_about_four_times_as_wide_as_high():
    root = reading.parse(ribbon_svg(scenes.main_run(), catalogue(), small=True))
    assert 3.5 <= float(root.get("width")) / float(root.get("height")) <= 5.5


def test_the_combs_are_dimensioned_from_the_face_of_the_part_plug():
    said = said_by(scenes.main_run())
    # The scene's combs, 40, 160, 280 and 400 mm from the part plug.
    assert {"40", "160", "280", "400", "4 combs, mm", "from the part plug"} <= set(said)


def test_every_comb_keeps_its_number_even_where_combs_are_close():
    assert {"20", "30", "40", "50"} <= set(said_by(SLEEVED["close-combs"]))


def test_the_whole_length_of_a_chain_is_the_sum_of_its_stretches():
    # By hand: 380 mm to the first of four plugs and three gaps of 95 mm.
    assert "665 mm in all" in said_by(scenes.tapped_run())


def test_a_branch_that_reaches_farther_than_the_route_has_a_dimension_of_its_own():
    # By hand: 560 mm and the 60 mm that the second plug lies farther away.
    assert {"560 mm", "620 mm to CPU 4, right"} <= set(said_by(scenes.fork_run()))


def test_the_sleeve_is_dimensioned_with_what_is_cut_and_what_it_covers():
    said = said_by(scenes.sleeved_run())
    assert "sleeve cut 700–720 mm, covers 540 mm" in said
    assert "16 × shrink cut 14 mm, shows 10 mm" in said


def test_each_stretch_of_a_chain_has_the_cut_length_of_its_own_sleeve():
    said = said_by(scenes.sleeved_chain())
    assert (said.count("470"), said.count("110")) == (1, 2)


def test_the_heat_shrink_is_drawn_to_scale_at_both_ends_of_each_piece():
    root = reading.parse(ribbon_svg(scenes.sleeved_run(), catalogue()))
    (bands,) = (e for e in root.iter() if e.get("data-bands"))
    longs = {float(n) for n in re.findall(r"h(\d[\d.]*)", bands.get("d"))}
    # By hand: 10 mm at 620 px for 540 mm are 11.48 px; eight wires have two ends each.
    assert (longs, bands.get("data-bands")) == ({11.48}, "16")


@pytest.mark.parametrize("end", ["melted", "loose"])
def test_no_heat_shrink_is_drawn_where_none_stays(end):
    root = reading.parse(ribbon_svg(replace(scenes.sleeved_run(), sleeve_end=end), catalogue()))
    assert [e for e in root.iter() if e.get("data-bands")] == []


def test_the_small_and_the_whole_ribbon_may_stand_on_one_page():
    run = scenes.main_run()
    both = [i for s in (False, True) for i in reading.ids(reading.parse(ribbon_svg(run, catalogue(), small=s)))]
    assert len(both) == len(set(both))
