"""Ways of the wires on the harness drawing: level, upright in their lanes, round corners."""

from dataclasses import dataclass

from server.domain.model.plan import PlannedWire, RunPlan
from server.drawing import svg
from server.drawing.harness_layout import Layout
from server.drawing.harness_pieces import BUS, WIRE, Branch, Hop, turn_radius


def branch_ways(
    branch: Branch, layout: Layout, lane: float | None, run: RunPlan, place: dict[str, int]
) -> list[tuple[PlannedWire, str]]:
    """Way of each wire: level from the source, upright in its lane, level to the part, with round corners."""
    source, end = layout.slots[(True, branch.source)], layout.slots[(False, branch.end)]
    count = len(branch.wires)
    shared = [b for b in layout.branches if b.run == run.number and b.end == branch.end]
    at_end = sorted((wire for b in shared for wire in b.wires), key=lambda wire: place[wire.id])
    rank = {wire.id: i for i, wire in enumerate(at_end)}
    # Where a ribbon forks, what goes to the upper plug lies uppermost at the source.
    forked = [b for b in layout.branches if b.run == run.number and b.source == branch.source]
    forked.sort(key=lambda b: layout.slots[(False, b.end)].y)
    lies = {wire.id: i for i, wire in enumerate(wire for b in forked for wire in b.wires)}
    course = _Course(source.x + source.broad, end.x, lane, end.y - source.y, count)
    ways = []
    for i, wire in enumerate(branch.wires):
        offset = (i - (count - 1) / 2) * WIRE
        final = end.y + (rank[wire.id] - (len(at_end) - 1) / 2) * WIRE
        start = source.y + (lies[wire.id] - (len(lies) - 1) / 2) * WIRE
        ways.append((wire, _way(course, start, final, offset)))
    return ways


@dataclass(frozen=True, slots=True)
class _Course:
    """What the wires of one branch have in common."""

    x1: float
    x2: float
    lane: float | None
    """Middle of the upright stretch; ``None`` for a branch that runs level. [px]"""
    fall: float
    """How far the middle of the ribbon sinks. [px]"""
    wires: int


def _way(course: _Course, y1: float, y2: float, offset: float) -> str:
    """One wire of a branch; ``offset`` is its distance below the ribbon's middle at the source."""
    x1, x2, lane, fall, count = course.x1, course.x2, course.lane, course.fall, course.wires
    num = svg.num
    radius = turn_radius(count)
    start = f"M{num(x1)} {num(y1)}"
    if lane is None or abs(fall) < 2 * radius + abs(y2 - y1 - fall) + 2:
        if abs(y2 - y1) < 0.01:
            return f"{start}H{num(x2)}"
        middle = lane if lane is not None else x2 - 3 * radius
        reach = max(radius, 10.0)
        return (
            f"{start}H{num(middle - reach)}C{num(middle)} {num(y1)} {num(middle)} {num(y2)} "
            f"{num(middle + reach)} {num(y2)}H{num(x2)}"
        )
    down = 1.0 if fall > 0 else -1.0
    x = lane - down * offset
    first, second = radius - down * offset, radius + down * offset
    sweep = 1 if down > 0 else 0
    return (
        f"{start}H{num(x - first)}A{num(first)} {num(first)} 0 0 {sweep} {num(x)} {num(y1 + down * first)}"
        f"V{num(y2 - down * second)}A{num(second)} {num(second)} 0 0 {1 - sweep} {num(x + second)} {num(y2)}H{num(x2)}"
    )


def hop_ways(hop: Hop, layout: Layout) -> list[tuple[PlannedWire, str]]:
    """Way of each wire from one plug of a chain down (or up) to the next, beside the faces."""
    start, end = layout.slots[(False, hop.start)], layout.slots[(False, hop.end)]
    box_x = min(box.x for box in layout.right)
    count = len(hop.wires)
    down = 1.0 if end.y > start.y else -1.0
    radius = turn_radius(count)
    # A later hop begins where the ribbon before it still hangs straight, so that the bus shows no gap.
    later = any(h.run == hop.run and h.end == hop.start for h in layout.hops)
    back = down * (radius + count * WIRE / 2) if later else 0.0
    ways = []
    for i, wire in enumerate(hop.wires):
        offset = (i - (count - 1) / 2) * WIRE
        x, y = box_x + BUS - down * offset, end.y + offset
        turn = max(radius + down * offset, 1.0)
        d = f"M{svg.num(x)} {svg.num(start.y - back if later else start.y + offset)}V{svg.num(y - down * turn)}"
        sweep = 0 if down > 0 else 1
        d += f"A{svg.num(turn)} {svg.num(turn)} 0 0 {sweep} {svg.num(x + turn)} {svg.num(y)}H{svg.num(end.x)}"
        ways.append((wire, d))
    return ways
