"""Where everything lies on the flat drawing of a run: plugs, wires, and where wires leave the common ribbon."""

from dataclasses import dataclass

from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import PlannedWire, RunPlan
from server.drawing import svg
from server.drawing.paint import Paints
from server.drawing.plugs import in_chain, is_bridge, source_order, stops, tail_mm

LANE = 13.0
"""From one wire to the next on the flat drawing. [px]"""
TABLE = 148.0
END_TABLE = 200.0
LEFT, SPAN, WIDE = 16.0, 620.0, 1000.0
START = LEFT + TABLE
"""Wire-side face of the source plugs. [px]"""
HEAD = 34.0
"""Room above a plug for its two lines of names. [px]"""
TOP = 16.0
FAN = 120.0
LEAST_TAIL, MOST_TAIL = 50.0, 0.45
"""A tail takes no less than this, for its wires must spread, [px], and no more than this share of the ribbon."""
LEAST_SPACING = 64.0
STUB = 10.0
"""Straight bit of each wire at a plug. [px]"""


@dataclass(frozen=True, slots=True)
class Flat:
    """Where everything lies on the flat drawing."""

    run: RunPlan
    catalogue: Catalogue
    paints: Paints
    chained: bool
    faces: tuple[float, ...]
    """Wire-side face of each part plug along the drawing. [px]"""
    px_per_mm: float
    """Zero when the drawing is not to scale."""
    joins: tuple[float, ...]
    """Where the wires of each source plug have come together in the ribbon. [px]"""
    leaves: tuple[float, ...]
    """Where the wires of each part plug leave the ribbon; its face along a chain. [px]"""
    source_y: dict[str, float]
    lane_y: dict[str, float]
    end_y: dict[str, float]
    source_boxes: tuple[tuple[float, float], ...]
    """Upper edge and height of each source plug. [px]"""
    end_boxes: tuple[tuple[float, float], ...]
    bottom: float

    @property
    def lowest(self) -> float:
        """Lower edge of the ribbon. [px]"""
        return max(self.lane_y.values(), default=self.bottom - LANE / 2) + LANE / 2 + 3


def lay_out(run: RunPlan, catalogue: Catalogue) -> Flat:
    """Lay a run out flat.

    Args:
        run: The planned run.
        catalogue: Reference data with housings and colours.
    """
    chained = in_chain(run)
    faces, px_per_mm = _faces(run, chained)
    joins, leaves = _tails(run, chained, faces, px_per_mm)
    orders = [source_order(run, i, catalogue) for i in range(len(run.sources))]
    source_tall = sum(HEAD + box_height(len(order)) + 10 for order in orders)
    lanes = _lanes(run, chained)
    trunk = (max(lanes.values()) + 1) * LANE if lanes else LANE
    groups = [() if chained else tuple(w for w in run.wires if w.target.plug == i) for i in range(len(run.ends))]
    end_tall = trunk + HEAD + 10 if chained else sum(HEAD + box_height(len(group)) + 10 for group in groups)
    tall = max(source_tall, end_tall, trunk + HEAD + 10)
    trunk_top = TOP + HEAD + (tall - HEAD - 10 - trunk) / 2
    lane_y = {wire_id: trunk_top + (lane + 0.5) * LANE for wire_id, lane in lanes.items()}
    source_y, source_boxes = _stack(orders, TOP + (tall - source_tall) / 2)
    if chained:
        end_y = lane_y
        end_boxes = [_chain_box(run, i, lane_y, trunk_top) for i in range(len(run.ends))]
    else:
        end_y, end_boxes = _stacked_as_they_lie(groups, lanes, TOP + (tall - end_tall) / 2)
    return Flat(
        run, catalogue, Paints(f"r{run.number}-ribbon", catalogue), chained, faces, px_per_mm, joins, leaves,
        source_y, lane_y, end_y, tuple(source_boxes), tuple(end_boxes), TOP + tall,
    )  # fmt: skip


def way(flat: Flat, wire: PlannedWire) -> str:
    """Path of one wire, from where it starts to where it ends."""
    num, last = svg.num, flat.faces[wire.target.plug]
    if is_bridge(wire):
        return _bridge(flat, wire, last)
    lane = flat.lane_y[wire.id]
    if wire.source_at_end:
        return f"M{num(flat.faces[wire.source.plug])} {num(lane)}H{num(last)}"
    start, y, end_y = START + STUB, flat.source_y[wire.id], flat.end_y[wire.id]
    d = f"M{num(START)} {num(y)}H{num(start)}{_fan(start, y, flat.joins[wire.source.plug], lane)}"
    leave = flat.leaves[wire.target.plug]
    if abs(end_y - lane) < 0.01:
        return d + f"H{num(last)}"
    return d + f"H{num(leave)}{_fan(leave, lane, last - STUB, end_y)}H{num(last)}"


def height_at(flat: Flat, wire: PlannedWire, x: float) -> float:
    """Height at which a wire lies between the ribbon and its part plug. [px]"""
    lane, end_y = flat.lane_y[wire.id], flat.end_y[wire.id]
    leave, last = flat.leaves[wire.target.plug], flat.faces[wire.target.plug] - STUB
    if x <= leave or last <= leave:
        return lane
    if x >= last:
        return end_y
    # The handles of the curve lie a half, less a stub's half, from either end: x grows with t, which is halved in on.
    room = (last - leave + STUB) / 2
    low, high = 0.0, 1.0
    for _ in range(30):
        t = (low + high) / 2
        u = 1 - t
        at = u**3 * leave + 3 * u * u * t * (leave + room) + 3 * u * t * t * (last - room) + t**3 * last
        low, high = (t, high) if at < x else (low, t)
    return lane + (end_y - lane) * (3 * low * low - 2 * low**3)


def _fan(x: float, y: float, other_x: float, other_y: float) -> str:
    """A curve from one level to another, starting and ending along the ribbon."""
    num, room = svg.num, (other_x - x + STUB) / 2
    return f"C{num(x + room)} {num(y)} {num(other_x - room)} {num(other_y)} {num(other_x)} {num(other_y)}"


def _bridge(flat: Flat, wire: PlannedWire, last: float) -> str:
    """A short loop between two rows of the part plug."""
    num, y = svg.num, flat.end_y.get(wire.id, flat.bottom)
    fed = (w for w in flat.run.wires if w.target.plug == wire.target.plug and w.target.cavity == wire.source.cavity)
    start = next((flat.end_y[w.id] for w in fed if w.id in flat.end_y), y)
    out = num(last - 26)
    return f"M{num(last)} {num(start)}h-4C{out} {num(start)} {out} {num(y)} {num(last - 4)} {num(y)}h4"


def _faces(run: RunPlan, chained: bool) -> tuple[tuple[float, ...], float]:
    """Part plugs along the drawing and the scale, or zero when plugs would come too close to one another."""
    known = run.length_mm or run.high_mm
    if not chained:
        if not known or len(run.ends) < 2:
            return (START + SPAN,) * len(run.ends), SPAN / known if known else 0.0
        # The plugs of a fork are drawn at their own reach.
        reach = [known + plug.ref.extra_mm for plug in run.ends]
        scale = SPAN / max(reach)
        return tuple(START + scale * mm for mm in reach), scale
    hops = len(run.ends) - 1
    if known and len(run.spacing_mm) >= hops:
        scale = SPAN / (known + sum(run.spacing_mm[:hops]))
        if min(run.spacing_mm[:hops]) * scale >= LEAST_SPACING and known * scale >= FAN + 20:
            return tuple(START + scale * (known + sum(run.spacing_mm[:i])) for i in range(hops + 1)), scale
    step = max(LEAST_SPACING, (SPAN - 240.0) / hops)
    # A long chain would leave no room for its first stretch; its plugs then move closer together.
    step = min(step, (SPAN - FAN - 20) / hops)
    return tuple(START + SPAN - step * (hops - i) for i in range(hops + 1)), 0.0


def _tails(
    run: RunPlan, chained: bool, faces: tuple[float, ...], px_per_mm: float
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Where wires come together behind the source plugs, and where they part before the part plugs."""
    nearest = min(faces, default=START + SPAN)
    usual = min(FAN, (nearest - START) / 3)
    sources = [tail_mm(run, i, at_source=True) * px_per_mm or usual for i in range(len(run.sources))]
    joins = tuple(START + _between(px, (nearest - START) * MOST_TAIL) for px in sources)
    if chained:
        return joins, faces
    ends = [tail_mm(run, i, at_source=False) * px_per_mm or usual for i in range(len(run.ends))]
    return joins, tuple(x - _between(px, (x - START) * MOST_TAIL) for x, px in zip(faces, ends, strict=True))


def _between(px: float, most: float) -> float:
    return min(max(px, LEAST_TAIL), most)


def _lanes(run: RunPlan, chained: bool) -> dict[str, int]:
    """Lane of each wire; segments of a chain that follow one another share lanes, those that overlap do not."""
    laid = [wire for wire in run.wires if not is_bridge(wire)]
    if not chained:
        return {wire.id: lane for lane, wire in enumerate(laid)}
    groups: dict[tuple[int, int], list[PlannedWire]] = {}
    for wire in laid:
        groups.setdefault((wire.source.plug if wire.source_at_end else -1, stops(wire)[-1]), []).append(wire)
    lanes: dict[str, int] = {}
    taken: list[tuple[int, int, int, int]] = []
    for (start, end), wires in sorted(groups.items()):
        base = 0
        for other_start, other_end, first, count in sorted(taken, key=lambda t: t[2]):
            if start < other_end and other_start < end and base < first + count and first < base + len(wires):
                base = first + count
        taken.append((start, end, base, len(wires)))
        lanes.update({wire.id: base + i for i, wire in enumerate(wires)})
    return lanes


def box_height(wires: int) -> float:
    """Height of a plug with a row for each of its wires. [px]"""
    return max(wires, 1) * LANE + 6


def _stack(groups: list[tuple[PlannedWire, ...]], top: float) -> tuple[dict[str, float], list[tuple[float, float]]]:
    """Heights of the wires in plugs stacked below one another, and the plugs' boxes."""
    heights: dict[str, float] = {}
    boxes = []
    for wires in groups:
        top += HEAD
        boxes.append((top, box_height(len(wires))))
        heights.update({wire.id: top + 3 + (i + 0.5) * LANE for i, wire in enumerate(wires)})
        top += box_height(len(wires)) + 10
    return heights, boxes


def _stacked_as_they_lie(
    groups: list[tuple[PlannedWire, ...]], lanes: dict[str, int], top: float
) -> tuple[dict[str, float], list[tuple[float, float]]]:
    """Part plugs below one another in the order of their wires in the ribbon, so that no branch crosses another."""

    def middle(index: int) -> float:
        held = [lanes[wire.id] for wire in groups[index] if wire.id in lanes]
        return sum(held) / len(held) if held else float("inf")

    order = sorted(range(len(groups)), key=middle)
    heights, boxes = _stack([groups[i] for i in order], top)
    by_plug = dict(zip(order, boxes, strict=True))
    return heights, [by_plug[i] for i in range(len(groups))]


def _chain_box(run: RunPlan, plug: int, lane_y: dict[str, float], top: float) -> tuple[float, float]:
    touched = [lane_y[wire.id] for wire in run.wires if plug in stops(wire) and wire.id in lane_y] or [top + LANE / 2]
    return min(touched) - LANE / 2 - 3, max(touched) - min(touched) + LANE + 6
