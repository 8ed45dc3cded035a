"""Places along a route, step by step: where the ribbon's middle is, and how the ribbon is turned there."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from server.domain.model.route import RouteStep
from server.domain.route_shape import curve

Vector = tuple[float, float, float]
"""Ahead at the start, to the left, and up. [mm]"""


def add(a: Vector, b: Vector) -> Vector:
    """Sum of two vectors."""
    return a[0] + b[0], a[1] + b[1], a[2] + b[2]


def minus(a: Vector, b: Vector) -> Vector:
    """Way from ``b`` to ``a``."""
    return a[0] - b[0], a[1] - b[1], a[2] - b[2]


def times(a: Vector, by: float) -> Vector:
    """A vector, longer by a factor."""
    return a[0] * by, a[1] * by, a[2] * by


def dot(a: Vector, b: Vector) -> float:
    """Scalar product."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def cross(a: Vector, b: Vector) -> Vector:
    """Vector product."""
    return a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]


@dataclass(frozen=True, slots=True)
class Station:
    """One place along the route."""

    point: Vector
    right: Vector
    """Across the ribbon to its right edge, of length 1; a twist turns it."""
    up: Vector
    """Out of the ribbon's upper face, of length 1."""

    def across(self, offset: float, height: float) -> Vector:
        """From the middle to a place in the ribbon. [mm]"""
        return add(times(self.right, offset), times(self.up, height))

    def at(self, offset: float, height: float) -> Vector:
        """A place in the ribbon. [mm]"""
        return add(self.point, self.across(offset, height))

    @property
    def ahead(self) -> Vector:
        """Along the route, of length 1."""
        return cross(self.up, self.right)

    def moved(self, by: float) -> "Station":
        """The place so far ahead on a straight line. [mm]"""
        return replace(self, point=add(self.point, times(self.ahead, by)))


def stations(steps: Sequence[RouteStep], chord_deg: float = 5.0) -> list[tuple[Station, ...]]:
    """Places along a route: for every step its two ends, and between them as many as its turn needs.

    Args:
        steps: Legs, bends and twists from the start on.
        chord_deg: Greatest turn between two places. [deg]
    """
    lines = (
        curve(steps, offset_mm=offset, height_mm=height, chord_deg=chord_deg)
        for offset, height in ((0.0, 0.0), (1.0, 0.0), (0.0, 1.0))
    )
    places = [Station(point, minus(right, point), minus(up, point)) for point, right, up in zip(*lines, strict=True)]
    found, start = [], 0
    for step in steps:
        end = start + len(curve([step], chord_deg=chord_deg)) - 1
        found.append(tuple(places[start : end + 1]))
        start = end
    return found


def half_way(held: Sequence[Station]) -> Vector:
    """The place half way along the stations of one step."""
    middle = len(held) // 2
    if len(held) % 2:
        return held[middle].point
    return times(add(held[middle - 1].point, held[middle].point), 0.5)
