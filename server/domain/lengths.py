"""How long each wire is cut."""

import math
from dataclasses import dataclass

from server.domain.model.build import Route
from server.domain.model.plan import RunState

MM_PER_INCH = 25.4
"""Exact. Source: international yard and pound agreement, 1959."""


@dataclass(frozen=True, slots=True)
class Reach:
    """A route as known today: measured, between two limits, or unknown."""

    state: RunState
    low_mm: float
    high_mm: float


def reach(route: Route, *, segments: int) -> Reach:
    """What is known of a run's length, chain spacing included.

    Args:
        route: Route as entered. [mm]
        segments: Stretches between part plugs along a chain; 0 for a run with one part plug.

    Returns:
        ``measured`` when the length and every spacing are known, ``range`` when the length lies between two limits and
        every spacing is known, otherwise ``unmeasured`` with zero limits.
    """
    if len(route.spacing_mm) < segments:
        return Reach("unmeasured", 0.0, 0.0)
    if route.length_mm is not None:
        return Reach("measured", route.length_mm, route.length_mm)
    if route.low_mm is not None and route.high_mm is not None:
        return Reach("range", route.low_mm, route.high_mm)
    return Reach("unmeasured", 0.0, 0.0)


def cut_length_mm(route_mm: float, depth_mm: float, allowance_mm: float, step_mm: float) -> int:
    """Length at which one wire is cut.

    Args:
        route_mm: From wire-side face to wire-side face along the route, the plugs' extra reach included. [mm]
        depth_mm: Insertion depth of both ends together. [mm]
        allowance_mm: Reserve for one crimp made again and for slack. [mm]
        step_mm: Cutting step, greater than zero; the sum is rounded up to a multiple of it. [mm]

    Returns:
        Cut length. [mm]

    Raises:
        ValueError: the step is not greater than zero, or a length is negative.

    Source:
        Sum of the stretches; rounding up because a short wire is waste and a long one is slack (common practice).

    Example:
        >>> cut_length_mm(route_mm=540, depth_mm=18, allowance_mm=10, step_mm=5)
        570
    """
    if step_mm <= 0:
        raise ValueError(f"the cutting step must be greater than zero, not {step_mm}")
    if min(route_mm, depth_mm, allowance_mm) < 0:
        raise ValueError("lengths must not be negative")
    # Binary fractions: 0.1 + 0.2 must not cost another step, hence the rounding before the ceiling.
    steps = math.ceil(round((route_mm + depth_mm + allowance_mm) / step_mm, 6))
    return math.ceil(round(steps * step_mm, 6))


def chain_route_mm(route: float, spacing_mm: tuple[float, ...], first: int, last: int) -> float:
    """Length along a chain from the supply (``first`` = -1) or a part plug to a later part plug.

    Args:
        route: From the source plug to the first part plug. [mm]
        spacing_mm: From each part plug to the next. [mm]
        first: Index of the plug the wire starts at; -1 is the source plug.
        last: Index of the part plug it ends at, greater than ``first``.

    Returns:
        Length along the chain. [mm]

    Raises:
        ValueError: ``last`` does not lie behind ``first``.
    """
    if last <= first:
        raise ValueError("a chain wire runs away from the supply")
    start = route if first < 0 else 0.0
    return start + sum(spacing_mm[max(first, 0) : last])
