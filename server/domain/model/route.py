"""A route as legs and bends: the ribbon's middle from the source plug to the first part plug."""

from dataclasses import dataclass
from typing import Literal

StepKind = Literal["leg", "left", "right", "up", "down", "twist"]
"""A straight stretch; a bend of the flat ribbon to its side (edgewise left, right) or over its face (flat up, down), as
seen by somebody who walks along the route with the room's up above; or a turn of the ribbon about its own middle."""


@dataclass(frozen=True, slots=True)
class RouteStep:
    """One step of a route.

    A leg has a length. A bend has an angle and a radius. A twist has an angle and the length that it takes.
    """

    kind: StepKind
    length_mm: float = 0.0
    """Straight length of a leg, or the stretch over which a twist is spread; 0 for a bend. [mm]"""
    angle_deg: float = 0.0
    """Change of direction of a bend, more than 0; of a twist, clockwise looking along the route, negative the other
    way; 0 for a leg. [deg]"""
    radius_mm: float = 0.0
    """Radius of the ribbon's middle in a bend; 0 for everything else. [mm]"""


@dataclass(frozen=True, slots=True)
class RouteShape:
    """A path that comes up again and again, kept under a name to start a route from."""

    id: str
    name: str
    steps: tuple[RouteStep, ...]
    own: bool
    """True for a shape that the builder kept."""
    source: str
