"""How tightly the wires of a ribbon are wound in its twists."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from server.domain.lengths import Place
from server.domain.model.plan import Severity
from server.domain.model.route import RouteStep
from server.domain.reference import BEND_LEAST, BEND_WANTED

_ALIKE = 6
"""Decimal places to which lengths are compared."""


@dataclass(frozen=True, slots=True)
class TightTwist:
    """A twist whose most tightly wound wire lies below the radius that is good for it."""

    step: int
    """Index into the route's steps."""
    radius_mm: float
    """Radius of curvature of that wire's middle. [mm]"""
    least_mm: float
    """Radius below which no wire is bent, even for a while. [mm]"""
    wanted_mm: float
    """Radius from which a wire may stay bent for good. [mm]"""
    length_mm: float
    """Smallest whole length of the twist with which every wire reaches ``wanted_mm``. [mm]"""
    length_least_mm: float
    """The same for ``least_mm``; 0 where any length reaches it. [mm]"""

    @property
    def severity(self) -> Severity:
        """How grave it is: a wire below the least radius, or one below the radius for good."""
        return "warn" if self.radius_mm < self.least_mm else "note"


def twist_radius_mm(distance_mm: float, turn_deg: float, length_mm: float) -> float:
    """Radius of curvature of a wire that winds round the middle of a twisted ribbon.

    Args:
        distance_mm: Distance from the ribbon's middle, 0 or more. [mm]
        turn_deg: Angle of the twist; its direction does not matter, and it is not 0. [deg]
        length_mm: Stretch that it is spread over, 0 or more. [mm]

    Returns:
        The radius; infinite for a wire in the middle, which stays straight. [mm]

    Raises:
        ValueError: a distance is negative, the angle is 0, or a value is not a finite number.

    Source:
        Curvature of a helix, rho / (rho^2 + c^2), where c is the advance per radian.

    Example:
        >>> round(twist_radius_mm(distance_mm=10, turn_deg=180, length_mm=15.70796), 2)
        12.5
    """
    if not all(map(math.isfinite, (distance_mm, turn_deg, length_mm))):
        raise ValueError("lengths and angles must be finite numbers")
    if distance_mm < 0 or length_mm < 0 or turn_deg == 0:
        raise ValueError("a twist has an angle, and no negative distance or length")
    if distance_mm == 0:
        return math.inf
    advance = length_mm / math.radians(abs(turn_deg))
    return (distance_mm**2 + advance**2) / distance_mm


def tight_twists(steps: Sequence[RouteStep], places: Sequence[Place], wire_mm: float) -> tuple[TightTwist, ...]:
    """Twists that wind some wire more tightly than it may stay for good.

    The outermost wire is wound most tightly in a long twist, one further in where the twist is short; every wire
    counts.

    Args:
        steps: Legs, bends and twists, from the source plug on.
        places: Offset and height of each wire; a route without wires has no tight twist. [mm]
        wire_mm: Diameter of the wires over their insulation, more than 0. [mm]

    Returns:
        One entry for each such twist, in the order of the route.

    Raises:
        ValueError: as for ``twist_radius_mm``, or the diameter is not more than 0.

    Source:
        NASA-STD-8739.4: at least 6 diameters, 10 for good; not for polyimide insulation.

    Example:
        >>> twist = RouteStep("twist", length_mm=10, angle_deg=180)
        >>> [(round(tight.radius_mm, 2), tight.length_mm) for tight in tight_twists([twist], [(10, 0)], wire_mm=2)]
        [(11.01, 32.0)]
    """
    if not (math.isfinite(wire_mm) and wire_mm > 0):
        raise ValueError(f"a wire's diameter must be more than 0, not {wire_mm}")
    distances = sorted({round(math.hypot(offset, height), _ALIKE) for offset, height in places} - {0.0})
    least, wanted = BEND_LEAST * wire_mm, BEND_WANTED * wire_mm
    found, known = [], dict[tuple[float, float], float]()
    for index, step in enumerate(steps):
        if step.kind != "twist" or not distances:
            continue
        key = abs(step.angle_deg), step.length_mm
        if key not in known:
            known[key] = round(min(twist_radius_mm(distance, *key) for distance in distances), _ALIKE)
        if known[key] < round(wanted, _ALIKE):
            lengths = [_length_mm(distances, step.angle_deg, radius) for radius in (wanted, least)]
            found.append(TightTwist(index, known[key], least, wanted, *lengths))
    return tuple(found)


def _length_mm(distances: Sequence[float], turn_deg: float, radius_mm: float) -> float:
    """Smallest whole length of a twist with which a wire at each of these distances reaches a radius. [mm]"""
    advance = math.sqrt(max(0.0, *(distance * (radius_mm - distance) for distance in distances)))
    return float(math.ceil(round(advance * math.radians(abs(turn_deg)), _ALIKE)))
