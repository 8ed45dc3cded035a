"""The way of a ribbon through the room. Expected values: points by hand; lengths against the sums of ``lengths``."""

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.domain.lengths import bend_terms_mm, middle_mm
from server.domain.model.route import RouteStep
from server.domain.route_shape import MOST_CHORDS, curve
from tests.domain.scenes import examples
from tests.domain.test_lengths import bend, leg, places, steps, twist


def end(*way: RouteStep, offset: float = 0.0, height: float = 0.0) -> tuple[float, ...]:
    return tuple(round(value, 6) + 0.0 for value in curve(way, offset, height)[-1])


def length(points: tuple[tuple[float, float, float], ...]) -> float:
    return sum(math.dist(a, b) for a, b in pairwise(points))


@pytest.mark.parametrize(
    ("way", "expected"),
    [
        pytest.param([], (0, 0, 0), id="no steps"),
        pytest.param([leg(100)], (100, 0, 0), id="ahead"),
        pytest.param([leg(100), bend("left", 90, 50)], (150, 50, 0), id="left"),
        pytest.param([leg(100), bend("right", 90, 50)], (150, -50, 0), id="right"),
        pytest.param([leg(100), bend("up", 90, 50)], (150, 0, 50), id="up"),
        pytest.param([leg(100), bend("down", 90, 50)], (150, 0, -50), id="down"),
        pytest.param([bend("left", 180, 50), leg(30)], (-30, 100, 0), id="back beside itself"),
        pytest.param([bend("left", 90, 0), leg(30)], (0, 30, 0), id="a fold"),
        pytest.param([bend("up", 90, 50), bend("left", 90, 50), leg(10)], (50, 60, 100), id="up, then left"),
        pytest.param([bend("left", 90, 50), bend("up", 90, 50), leg(10)], (50, 100, 60), id="left, then up"),
        # Walking straight up, the walker's own up looks back; bending "down" leads ahead again.
        pytest.param([bend("up", 90, 50), bend("down", 90, 50), leg(10)], (110, 0, 100), id="a step up"),
        pytest.param([twist(90, 80), bend("left", 90, 50)], (130, 50, 0), id="a twist does not turn the walker"),
    ],
)
def test_the_middle_goes_where_the_walker_goes(way: list[RouteStep], expected: tuple[float, float, float]) -> None:
    assert end(*way) == expected


@pytest.mark.parametrize(
    ("way", "expected"),
    [
        pytest.param([leg(100)], (100, -10, 3), id="right of the middle is at negative y"),
        # Walking left after the bend, the walker's right is ahead of the start.
        pytest.param([bend("left", 90, 50)], (60, 50, 3), id="outside of a left bend"),
        # Walking up, the walker's up looks back to the start.
        pytest.param([bend("up", 90, 50)], (47, -10, 50), id="upper wire inside an upward bend"),
        # A quarter clockwise: right goes down, up goes right.
        pytest.param([twist(90, 80)], (80, -3, -10), id="quarter twist"),
        pytest.param([twist(180, 80)], (80, 10, -3), id="half a twist changes sides"),
    ],
)
def test_a_wire_keeps_its_place_beside_the_middle(way: list[RouteStep], expected: tuple[float, float, float]) -> None:
    assert end(*way, offset=10, height=3) == expected


@examples(60)
@given(steps, places)
def test_a_curve_is_as_long_as_its_sum(way: list[RouteStep], place: tuple[float, float]) -> None:
    # Property: a wire's length is the middle's and its term, as long as no bend folds the ribbon over itself.
    way = [s if s.kind in ("leg", "twist") else RouteStep(s.kind, 0, s.angle_deg, s.radius_mm + 40) for s in way]
    drawn = length(curve(way, *place, chord_deg=1.0))
    # Chords of 1 degree are shorter than their arcs by 1 - sin(0.5 deg)/(0.5 deg) = 0.0000127.
    assert drawn == pytest.approx(middle_mm(way) + bend_terms_mm(way, [place])[0], rel=3e-5, abs=1e-6)


@examples(40)
@given(steps, places, st.sampled_from((2.0, 5.0, 30.0)))
def test_both_edges_have_equally_many_points(way: list[RouteStep], place: tuple[float, float], chord: float) -> None:
    assert len(curve(way, *place, chord_deg=chord)) == len(curve(way, chord_deg=chord))


def test_a_quarter_bend_in_chords_of_five_degrees_has_eighteen_of_them() -> None:
    assert len(curve([bend("left", 90, 50)])) == 1 + 18


def test_a_twist_of_very_many_turns_is_still_drawn() -> None:
    assert len(curve([twist(1e9, 500)], 10)) == 1 + MOST_CHORDS


def test_after_a_thousand_bends_the_wire_still_lies_at_its_distance() -> None:
    way = [bend(kind, 90, 30) for kind in ("left", "up", "right", "down", "left")] * 200
    assert math.dist(curve(way)[-1], curve(way, 10.0, 0.0)[-1]) == pytest.approx(10, abs=1e-6)


@pytest.mark.parametrize("chord", [0, -5, math.nan])
def test_a_chord_that_turns_by_nothing_is_refused(chord: float) -> None:
    with pytest.raises(ValueError, match=r"more than 0|finite"):
        curve([leg(100)], chord_deg=chord)


@pytest.mark.parametrize("step", [leg(-1), leg(math.nan), bend("left", -5), bend("up", 90, -1), twist(math.inf)])
def test_a_step_without_meaning_is_refused(step: RouteStep) -> None:
    with pytest.raises(ValueError, match=r"negative|finite"):
        curve([step])
