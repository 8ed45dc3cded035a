from dataclasses import replace

import pytest

from server.domain.model.plan import SleevePiece
from server.drawing.ribbon import ribbon_end_svg, ribbon_svg
from tests.drawing import reading, scenes
from tests.drawing.scenes import catalogue

SLEEVE = SleevePiece("large", "TQ", 400, 1)
RUNS = {
    "main": scenes.main_run(),
    "cpu": scenes.straight_cpu(comb="comb-8", comb_count=2, comb_positions_mm=(50, 300), shrink="small"),
    "graphics": scenes.graphics_run(),
    "chain": scenes.chain_run(),
    "long-chain": scenes.chain_run(plugs=9, spacing_mm=(40.0,) * 8),
    "chain-unmeasured": scenes.chain_run(state="unmeasured", length_mm=None, spacing_mm=()),
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
