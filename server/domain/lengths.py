"""How long each wire is cut, and how tightly it is bent: legs, bends and twists of a ribbon.

Somebody walks along the ribbon's middle, from the source plug on. A wire lies ``offset_mm`` to the right of the middle
and ``height_mm`` above it; every twist so far has turned that place by ``roll``, clockwise looking ahead:
x = offset cos(roll) + height sin(roll) to the walker's right, z = height cos(roll) - offset sin(roll) above.
"""

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from server.domain.model.build import Route
from server.domain.model.plan import RunState, Severity
from server.domain.model.route import RouteStep, StepKind
from server.domain.reference import BEND_LEAST, BEND_WANTED

MM_PER_INCH = 25.4
"""Exact. Source: international yard and pound agreement, 1959."""

Place = tuple[float, float]
"""A wire's place in the ribbon: offset to the right of its middle, height above it. [mm]"""

_ALIKE = 6
"""Decimal places to which lengths are compared: 0.1 + 0.2 must not cost a millimetre, or make a bend too tight."""


@dataclass(frozen=True, slots=True)
class Reach:
    """A route as known today: measured, between two limits, or unknown."""

    state: RunState
    low_mm: float
    likely_mm: float
    """As entered; the middle of the limits where nothing is entered. [mm]"""
    high_mm: float


@dataclass(frozen=True, slots=True)
class TightBend:
    """A bend whose innermost wire is bent more tightly than is good for it."""

    step: int
    """Index into the route's steps."""
    kind: StepKind
    inner_mm: float
    """Radius of the innermost wire's middle; negative where the ribbon would fold over itself. [mm]"""
    least_mm: float
    """Radius below which no wire is bent, even for a while. [mm]"""
    wanted_mm: float
    """Radius from which a wire may stay bent for good. [mm]"""
    radius_mm: float
    """Smallest whole radius of the ribbon's middle with which the innermost wire reaches ``wanted_mm``. [mm]"""
    radius_least_mm: float
    """The same for ``least_mm``; 0 where any radius reaches it. [mm]"""

    @property
    def severity(self) -> Severity:
        """How grave it is: a ribbon that folds, a wire below the least radius, or one below the radius for good."""
        if self.inner_mm <= 0:
            return "stop"
        return "warn" if self.inner_mm < self.least_mm else "note"


def half_up(length_mm: float) -> int:
    """Whole millimetres, a half always upwards, so that equal gaps stay equal.

    Example:
        >>> half_up(408.5), half_up(409.5)
        (409, 410)
    """
    return math.floor(round(length_mm, _ALIKE) + 0.5)


def edgewise_bend_term_mm(offset_mm: float, turn_deg: float) -> float:
    """Extra length of a wire that lies beside the middle of a ribbon in an edgewise bend.

    Args:
        offset_mm: Distance from the ribbon's middle, positive on the outside of the bend. [mm]
        turn_deg: Change of direction. [deg], 0 <= turn <= 360

    Returns:
        Extra length, negative on the inside; the bend's radius does not matter. [mm]

    Raises:
        ValueError: the turn lies outside its stated range, or a value is not a finite number.

    Source:
        Offset (parallel) curves: length grows by offset times total turning.

    Example:
        >>> round(edgewise_bend_term_mm(offset_mm=23.1, turn_deg=90), 2)
        36.29
    """
    _refuse_unless_finite(offset_mm, turn_deg)
    _refuse_turn(turn_deg)
    return offset_mm * math.radians(turn_deg)


def flat_bend_term_mm(height_mm: float, turn_deg: float) -> float:
    """Extra length of a wire that lies above or below the middle of a ribbon in a bend over its face.

    Args:
        height_mm: Distance from the ribbon's middle, positive on the outside of the bend. [mm]
        turn_deg: Change of direction. [deg], 0 <= turn <= 360

    Returns:
        Extra length, negative on the inside; the bend's radius does not matter. [mm]

    Raises:
        ValueError: the turn lies outside its stated range, or a value is not a finite number.

    Source:
        Offset (parallel) curves, as for the edgewise bend: only the side that counts is another.

    Example:
        >>> round(flat_bend_term_mm(height_mm=2.1, turn_deg=180), 2)
        6.6
    """
    return edgewise_bend_term_mm(height_mm, turn_deg)


def twist_term_mm(distance_mm: float, turn_deg: float, length_mm: float) -> float:
    """Extra length of a wire that winds round the middle of a twisted ribbon.

    Args:
        distance_mm: Distance from the ribbon's middle, 0 or more. [mm]
        turn_deg: Angle of the twist; its direction does not matter. [deg]
        length_mm: Stretch of the ribbon's middle that it is spread over, 0 or more. [mm]

    Returns:
        Extra length, never negative. [mm]

    Raises:
        ValueError: a distance is negative, or a value is not a finite number.

    Source:
        Length of a helix: the hypotenuse of its axis and its unrolled turning.

    Example:
        >>> round(twist_term_mm(distance_mm=23.1, turn_deg=180, length_mm=100), 2)
        23.56
    """
    _refuse_unless_finite(distance_mm, turn_deg, length_mm)
    if distance_mm < 0 or length_mm < 0:
        raise ValueError("a twist has no negative distance and no negative length")
    around = distance_mm * math.radians(abs(turn_deg))
    return math.hypot(length_mm, around) - length_mm


def middle_mm(steps: Sequence[RouteStep]) -> float:
    """Length of the ribbon's middle along a route.

    Args:
        steps: Legs, bends and twists; none has no length.

    Returns:
        Legs, arcs and the stretches of the twists together. [mm]

    Raises:
        ValueError: a length, a radius or a bend's angle is negative or not a finite number, a bend turns by more than
            360 degrees, or a step has a measure that its kind has not.

    Source:
        Sum of the stretches; an arc is its radius times its angle.

    Example:
        >>> round(middle_mm([RouteStep("leg", 200), RouteStep("left", angle_deg=90, radius_mm=60)]), 2)
        294.25
    """
    for step in steps:
        _refuse_step(step)
    # An exact sum: the length of a thousand steps does not depend on their order.
    return math.fsum(step.length_mm + step.radius_mm * math.radians(abs(step.angle_deg)) for step in steps)


def bend_terms_mm(steps: Sequence[RouteStep], places: Sequence[Place]) -> tuple[float, ...]:
    """How much longer than the ribbon's middle each wire is, all bends and twists of a route together.

    Args:
        steps: Legs, bends and twists, from the source plug on.
        places: Offset and height of each wire. [mm]

    Returns:
        Extra length of each wire, negative for a wire that lies on the inside on the whole. [mm]

    Raises:
        ValueError: as for ``middle_mm``, or a place is not a pair of finite numbers.

    Source:
        Offset (parallel) curves for bends, the length of a helix for twists. Every bend adds a share of the offset
        and a share of the height, so that the shares are added up once: the time taken grows with steps plus wires,
        and with unlike twists times unlike distances.

    Example:
        >>> bend = RouteStep("left", angle_deg=90, radius_mm=60)
        >>> [round(term, 2) for term in bend_terms_mm([bend], [(23.1, 2.1), (-23.1, 2.1)])]
        [36.29, -36.29]
    """
    per_offset, per_height = (math.radians(share) for share in _shares_deg(steps))
    twists = Counter((abs(step.angle_deg), step.length_mm) for step in steps if step.kind == "twist")
    by_distance: dict[float, float] = {}
    terms = []
    for offset, height in places:
        _refuse_unless_finite(offset, height)
        distance = math.hypot(offset, height)
        if distance not in by_distance:
            by_distance[distance] = math.fsum(n * twist_term_mm(distance, *twist) for twist, n in twists.items())
        terms.append(offset * per_offset + height * per_height + by_distance[distance])
    return tuple(terms)


def tight_bends(steps: Sequence[RouteStep], places: Sequence[Place], wire_mm: float) -> tuple[TightBend, ...]:
    """Bends whose innermost wire is bent more tightly than it may stay for good.

    Args:
        steps: Legs, bends and twists, from the source plug on.
        places: Offset and height of each wire; a route without wires has no tight bend. [mm]
        wire_mm: Diameter of the wires over their insulation, more than 0. [mm]

    Returns:
        One entry for each such bend, in the order of the route.

    Raises:
        ValueError: as for ``middle_mm``, a place is not a pair of finite numbers, or the diameter is not more than 0.

    Source:
        NASA-STD-8739.4: at least 6 diameters, 10 for good; not for polyimide insulation. In a bend of a ribbon the
        radius of each wire is that of the middle less the wire's distance towards the inside.

    Example:
        >>> bend = RouteStep("right", angle_deg=90, radius_mm=40)
        >>> [(tight.inner_mm, tight.radius_mm) for tight in tight_bends([bend], [(23.1, 2.1)], wire_mm=2.3)]
        [(16.9, 47.0)]
    """
    _refuse_unless_finite(wire_mm)
    if wire_mm <= 0:
        raise ValueError(f"a wire's diameter must be more than 0, not {wire_mm}")
    outer, roll, found = _outermost(places), 0.0, []
    least, wanted = BEND_LEAST * wire_mm, BEND_WANTED * wire_mm
    for index, step in enumerate(steps):
        _refuse_step(step)
        if step.kind == "twist":
            roll = math.fmod(roll + step.angle_deg, 360.0)
        elif step.kind != "leg" and outer:
            right, up = _towards_inside(step.kind, roll)
            inside = max(offset * right + height * up for offset, height in outer)
            inner = round(step.radius_mm - inside, _ALIKE)
            if inner < round(wanted, _ALIKE):
                will_do, just_will_do = _whole_mm(wanted + inside), _whole_mm(least + inside)
                found.append(TightBend(index, step.kind, inner, least, wanted, will_do, just_will_do))
    return tuple(found)


def cut_lengths_mm(needed: Sequence[float], step_mm: float) -> tuple[int, ...]:
    """Lengths at which the wires of one run are cut, those that hardly differ cut alike.

    From the longest wire down, wires that are less than one step shorter than it make a group and are cut at its
    length, rounded up to the step; the next wire starts another group.

    Args:
        needed: Length that each wire needs, everything added, 0 or more. [mm]
        step_mm: Cutting step, more than 0. [mm]

    Returns:
        Cut length of each wire, in the order given. [mm]

    Raises:
        ValueError: the step is not more than 0, a length is negative, or a value is not a finite number.

    Source:
        Common practice: a short wire is waste and a long one is slack, and the fewer lengths, the fewer mistakes.

    Example:
        >>> cut_lengths_mm([568.0, 564.5, 604.3], step_mm=5)
        (570, 570, 605)
    """
    _refuse_unless_finite(step_mm, *needed)
    if step_mm <= 0:
        raise ValueError(f"the cutting step must be more than 0, not {step_mm}")
    if any(length < 0 for length in needed):
        raise ValueError("lengths must not be negative")
    cuts = [0] * len(needed)
    longest, cut = math.inf, 0
    for index in sorted(range(len(needed)), key=lambda i: -needed[i]):
        if round(longest - needed[index], _ALIKE) >= round(step_mm, _ALIKE):
            longest = needed[index]
            cut = _round_up(longest, step_mm)
        cuts[index] = cut
    return tuple(cuts)


def reach(route: Route, *, segments: int) -> Reach:
    """What is known of a run's length, chain spacing included.

    Args:
        route: Route as entered; its legs and bends are a measured length. [mm]
        segments: Stretches between part plugs along a chain; 0 for a run with one part plug.

    Returns:
        ``measured`` when the length and every spacing are known, ``range`` when the length lies between two limits and
        every spacing is known, otherwise ``unmeasured`` with zero limits.

    Raises:
        ValueError: a leg, bend or twist is refused, as for ``middle_mm``.
    """
    unmeasured = Reach("unmeasured", 0.0, 0.0, 0.0)
    if len(route.spacing_mm) < segments:
        return unmeasured
    measured = middle_mm(route.steps) if route.steps else route.length_mm
    if measured is not None:
        return Reach("measured", measured, measured, measured)
    if route.low_mm is not None and route.high_mm is not None:
        likely = (route.low_mm + route.high_mm) / 2 if route.likely_mm is None else route.likely_mm
        return Reach("range", route.low_mm, likely, route.high_mm)
    return unmeasured


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


def _shares_deg(steps: Sequence[RouteStep]) -> tuple[float, float]:
    """Degrees by which a wire's offset and its height count in all bends together."""
    roll = 0.0
    by_offset: list[float] = []
    by_height: list[float] = []
    for step in steps:
        _refuse_step(step)
        if step.kind == "twist":
            roll = math.fmod(roll + step.angle_deg, 360.0)
        elif step.kind != "leg":
            right, up = _towards_inside(step.kind, roll)
            by_offset.append(-step.angle_deg * right)
            by_height.append(-step.angle_deg * up)
    # Exact sums: bends that cancel leave nothing behind, however many lie between them.
    return math.fsum(by_offset), math.fsum(by_height)


def _towards_inside(kind: StepKind, roll_deg: float) -> tuple[float, float]:
    """Direction of a bend's inside in the ribbon's own frame: its shares along the offset and along the height."""
    cos, sin = _cos_sin(roll_deg)
    shares = {"left": (-cos, -sin), "right": (cos, sin), "up": (-sin, cos), "down": (sin, -cos)}
    return shares[kind]


def _cos_sin(turn_deg: float) -> tuple[float, float]:
    """Exact at quarter turns, where the cosine of a rounded number of radians is not quite zero."""
    quarters, rest = divmod(turn_deg, 90.0)
    if rest:
        return math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    return ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarters) % 4]


def _outermost(places: Sequence[Place]) -> list[Place]:
    """First and last wire of each row: one of them is the innermost of any bend."""
    rows: dict[float, tuple[float, float]] = {}
    for offset, height in places:
        _refuse_unless_finite(offset, height)
        low, high = rows.get(height, (offset, offset))
        rows[height] = (min(low, offset), max(high, offset))
    return [(offset, height) for height, ends in rows.items() for offset in ends]


def _whole_mm(radius_mm: float) -> float:
    # A wire so far outside that any bend will do needs no radius at all.
    return float(max(0, math.ceil(round(radius_mm, _ALIKE))))


def _round_up(length_mm: float, step_mm: float) -> int:
    steps = math.ceil(round(length_mm / step_mm, _ALIKE))
    return math.ceil(round(steps * step_mm, _ALIKE))


def _refuse_step(step: RouteStep) -> None:
    _refuse_unless_finite(step.length_mm, step.angle_deg, step.radius_mm)
    if step.length_mm < 0 or step.radius_mm < 0:
        raise ValueError("a route has no negative length and no negative radius")
    if step.kind in ("leg", "twist"):
        if step.radius_mm or (step.kind == "leg" and step.angle_deg):
            raise ValueError(f"a {step.kind} has no radius, and a leg has no angle")
        return
    if step.length_mm:
        raise ValueError("a bend's length follows from its angle and radius")
    _refuse_turn(step.angle_deg)


def _refuse_turn(turn_deg: float) -> None:
    if not 0 <= turn_deg <= 360:
        raise ValueError(f"a bend turns by 0 to 360 degrees, not {turn_deg}")


def _refuse_unless_finite(*values: float) -> None:
    if not all(map(math.isfinite, values)):
        raise ValueError("lengths and angles must be finite numbers")
