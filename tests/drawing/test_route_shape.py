"""The drawing of legs and bends: to scale, both faces told apart, every step numbered. Expected values by hand."""

import math
import xml.etree.ElementTree as ET

import pytest

from server.domain.model.route import RouteStep
from server.drawing.route_shape import NUMBERS_MOST, WIDE, RibbonSize, route_shape_svg
from server.drawing.route_walk import stations
from tests.drawing.reading import SVG, parse, words

TWELVE_COLUMNS = RibbonSize(tuple((i - 5.5) * 4.2 for i in range(12)), (-2.1, 2.1), 2.4)
CORNER = (RouteStep("leg", 220), RouteStep("left", angle_deg=90, radius_mm=60), RouteStep("leg", 310))


def drawn(*steps: RouteStep, tight: frozenset[int] = frozenset()) -> ET.Element:
    return parse(route_shape_svg(steps, TWELVE_COLUMNS, "r1", length=lambda mm: f"{mm:g} mm", tight=tight))


def lines(root: ET.Element) -> list[str]:
    """What each text on the drawing says, in order, without the marks that keep names of other scripts apart."""
    return words(root).translate(dict.fromkeys(map(ord, "\u2068\u2069"))).split("\n")


def level_lines(root: ET.Element) -> list[float]:
    """Lengths of the level straight lines, the rules between the views left out. [px]"""
    found = []
    for line in root.iter(f"{SVG}line"):
        x1, y1, x2, y2 = (float(line.get(key, "")) for key in ("x1", "y1", "x2", "y2"))
        if y1 == y2 and "hairline" not in (line.get("class") or ""):
            found.append(abs(x2 - x1))
    return found


def test_a_leg_is_as_long_on_the_drawing_as_the_scale_bar_says() -> None:
    root = drawn(RouteStep("leg", 400))
    # The bar of two halves stands last on the sheet, with its measure behind it.
    halves = [float(r.get("width", "")) for r in root.iter(f"{SVG}rect") if r.get("height") == "5"]
    bar_mm = float(lines(root)[-2].removesuffix(" mm"))
    assert max(level_lines(root)) / 400 == pytest.approx(sum(halves) / bar_mm, rel=0.002)


def test_every_wire_of_a_bend_lies_on_a_circle_round_its_centre() -> None:
    # A left bend of radius 60 turns round a point 60 mm to the left of where it begins.
    (arc,) = stations([RouteStep("left", angle_deg=90, radius_mm=60)])
    for offset in (-23.1, 0.0, 23.1):
        reaches = [math.dist(station.at(offset, 0.0), (0.0, 60.0, 0.0)) for station in arc]
        assert reaches == pytest.approx([60 + offset] * len(arc))


def test_a_plug_is_moved_along_the_way_that_the_ribbon_goes() -> None:
    last = stations(CORNER)[-1][-1]
    # 220 and the radius ahead, the radius and 310 to the left, and 14 mm more to the left.
    assert last.moved(14).point == pytest.approx((280.0, 384.0, 0.0))


def test_every_step_is_numbered_once() -> None:
    said = lines(drawn(*CORNER))
    assert [said.count(number) for number in ("1", "2", "3", "4")] == [1, 1, 1, 0]


def test_each_leg_and_bend_says_its_measure() -> None:
    said = lines(drawn(*CORNER))
    assert {"220 mm", "90° R 60 mm", "310 mm"} <= set(said)


def test_both_views_are_named_and_say_which_end_is_which() -> None:
    said = lines(drawn(*CORNER))
    assert {"top view", "side view, from the right"} <= set(said)
    assert (said.count("supply"), said.count("part")) == (2, 2)


def test_a_rise_that_the_side_view_hides_is_shown_from_behind() -> None:
    rise = RouteStep("up", angle_deg=90, radius_mm=25)
    assert "from behind, looking ahead" not in lines(drawn(RouteStep("leg", 50), rise, RouteStep("leg", 80)))
    assert "from behind, looking ahead" in lines(drawn(*CORNER, rise, RouteStep("leg", 80)))


def test_a_half_twist_shows_the_back_of_the_ribbon_from_above() -> None:
    def backs(*steps: RouteStep) -> int:
        return sum("-path-back" in (p.get("fill") or "") for p in drawn(*steps).iter(f"{SVG}path"))

    assert backs(RouteStep("leg", 200)) == 0
    assert backs(RouteStep("leg", 100), RouteStep("twist", 80, 180), RouteStep("leg", 100)) > 0


def test_a_tight_bend_is_told_by_a_word_and_a_mark() -> None:
    assert "▲ tight, 90° R 60 mm" in lines(drawn(*CORNER, tight=frozenset({1})))


def test_wires_of_a_ribbon_are_told_apart_by_a_line_between_each_two() -> None:
    root = drawn(RouteStep("leg", 200))
    between = next(p for p in root.iter(f"{SVG}path") if "wire-line" in (p.get("class") or ""))
    assert (between.get("d") or "").count("M") == 11


def test_a_thousand_bends_stay_on_the_sheet_with_few_enough_numbers_to_read() -> None:
    kinds = ("left", "up", "right", "down")
    steps = [s for i in range(1000) for s in (RouteStep("leg", 3), RouteStep(kinds[i % 4], angle_deg=90, radius_mm=30))]
    root = drawn(*steps)
    balloons = [c for c in root.iter(f"{SVG}circle") if (c.get("class") or "").startswith("balloon")]
    assert len(balloons) <= NUMBERS_MOST
    assert "of every 50 steps one is numbered" in words(root)
    assert all(0 <= float(c.get("cx", "")) <= WIDE for c in balloons)


@pytest.mark.parametrize("steps", [CORNER, (RouteStep("leg", 5000),), (RouteStep("leg", 0.1),)])
def test_nothing_is_written_beside_the_sheet(steps: tuple[RouteStep, ...]) -> None:
    root = drawn(*steps)
    tall = float(root.get("height", ""))
    for text in root.iter(f"{SVG}text"):
        assert 0 <= float(text.get("x", "")) <= WIDE
        assert 0 <= float(text.get("y", "")) <= tall


def test_a_route_without_steps_has_no_drawing() -> None:
    assert route_shape_svg([], TWELVE_COLUMNS, "r1", length=str) == ""
