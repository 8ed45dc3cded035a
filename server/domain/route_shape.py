"""The way that a ribbon takes through the room, as points to draw."""

import math
from collections.abc import Iterator, Sequence

from server.domain.model.route import RouteStep

Vector = tuple[float, float, float]
Point = Vector
"""Ahead, to the left and upwards, as seen at the start of the route. [mm]"""

MOST_CHORDS = 720
"""A twist of very many turns is drawn with no more pieces than this: a picture shows no more."""


def curve(
    steps: Sequence[RouteStep], offset_mm: float = 0.0, height_mm: float = 0.0, *, chord_deg: float = 5.0
) -> tuple[Point, ...]:
    """Points along one wire, or one edge, of a ribbon.

    Curves drawn from the same steps and ``chord_deg`` have equally many points, whatever their place in the ribbon, so
    that two edges can be joined into a band point by point.

    Args:
        steps: Legs, bends and twists, from the source plug on.
        offset_mm: To the right of the ribbon's middle, before any twist. [mm]
        height_mm: Above the ribbon's middle, before any twist. [mm]
        chord_deg: Greatest turning between one point and the next. [deg], more than 0

    Returns:
        Points (x ahead, y to the left, z up) from the start of the route to its end. The ribbon's middle starts at
        the origin. [mm]

    Raises:
        ValueError: ``chord_deg`` is not more than 0, a length, a radius or a bend's angle is negative, or a value is
            not a finite number.

    Source:
        A bend turns the walker's own frame of ahead, right and up; a twist turns the ribbon in it.

    Example:
        >>> path = curve([RouteStep("leg", 100), RouteStep("left", angle_deg=90, radius_mm=50)])
        >>> tuple(round(value, 6) for value in path[-1])
        (150.0, 50.0, 0.0)
    """
    _refuse_unless_finite(offset_mm, height_mm, chord_deg)
    if chord_deg <= 0:
        raise ValueError(f"the turning between two points must be more than 0, not {chord_deg}")
    points: list[Point] = []
    for middle, right, up, roll_deg in _walk(steps, chord_deg):
        cos, sin = math.cos(math.radians(roll_deg)), math.sin(math.radians(roll_deg))
        x, z = offset_mm * cos + height_mm * sin, height_mm * cos - offset_mm * sin
        points.append(_sum(_sum(middle, right, x), up, z))
    return tuple(points)


def _walk(steps: Sequence[RouteStep], chord_deg: float) -> Iterator[tuple[Point, Vector, Vector, float]]:
    """The ribbon's middle, the walker's right and up, and the ribbon's roll in degrees, point by point."""
    middle: Point = (0.0, 0.0, 0.0)
    ahead: Vector = (1.0, 0.0, 0.0)
    right: Vector = (0.0, -1.0, 0.0)
    up: Vector = (0.0, 0.0, 1.0)
    roll = 0.0
    yield middle, right, up, roll
    for step in steps:
        _refuse_step(step)
        chords = min(MOST_CHORDS, max(1, math.ceil(abs(step.angle_deg) / chord_deg)))
        start, old_roll = middle, roll
        if step.kind in ("leg", "twist"):
            for i in range(1, chords + 1):
                middle = _sum(start, ahead, step.length_mm * i / chords)
                roll = old_roll + step.angle_deg * i / chords
                yield middle, right, up, roll
            continue
        old_ahead, inside = ahead, _inside(step, right, up)
        for i in range(1, chords + 1):
            turn = math.radians(step.angle_deg * i / chords)
            cos, sin = math.cos(turn), math.sin(turn)
            middle = _sum(_sum(start, old_ahead, step.radius_mm * sin), inside, step.radius_mm * (1 - cos))
            ahead = _sum(_scaled(old_ahead, cos), inside, sin)
            outside = _sum(_scaled(old_ahead, sin), inside, -cos)
            if step.kind in ("left", "right"):
                right = outside if step.kind == "left" else _scaled(outside, -1.0)
            else:
                up = outside if step.kind == "down" else _scaled(outside, -1.0)
            yield middle, right, up, roll


def _inside(step: RouteStep, right: Vector, up: Vector) -> Vector:
    side = right if step.kind in ("left", "right") else up
    return _scaled(side, 1.0 if step.kind in ("right", "up") else -1.0)


def _scaled(vector: Vector, by: float) -> Vector:
    return vector[0] * by, vector[1] * by, vector[2] * by


def _sum(vector: Vector, other: Vector, times: float) -> Vector:
    return vector[0] + other[0] * times, vector[1] + other[1] * times, vector[2] + other[2] * times


def _refuse_step(step: RouteStep) -> None:
    _refuse_unless_finite(step.length_mm, step.angle_deg, step.radius_mm)
    if step.length_mm < 0 or step.radius_mm < 0 or (step.kind != "twist" and step.angle_deg < 0):
        raise ValueError("only a twist may turn by a negative angle; nothing has a negative length or radius")


def _refuse_unless_finite(*values: float) -> None:
    if not all(map(math.isfinite, values)):
        raise ValueError("lengths and angles must be finite numbers")
