"""Where everything lies on the flat drawing of a run: plugs, wires, and where wires leave the common ribbon."""

from dataclasses import dataclass, replace

from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import PlannedWire, RunPlan
from server.drawing import svg
from server.drawing.paint import Paints
from server.drawing.plugs import in_chain, is_bridge, source_order, stops, tail_mm

MOST_TAIL = 0.45
"""A tail takes no more than this share of the ribbon."""


@dataclass(frozen=True, slots=True)
class Sizes:
    """How large everything is drawn, all in px."""

    lane: float
    """From one wire to the next."""
    table: float
    """Width of a source plug."""
    end_table: float
    left: float
    span: float
    """From the wire-side face of the source plugs to that of the last part plug."""
    wide: float
    """Width of the whole drawing."""
    top: float
    head: float
    """Room above a plug for its names."""
    fan: float
    """Length over which wires spread where no tail is given."""
    least_tail: float
    """A tail takes no less than this, for its wires must spread."""
    least_spacing: float
    stub: float
    """Straight bit of each wire at a plug."""
    bar: float
    """Thickness of a comb along the ribbon."""
    plug: float
    """Width of a plug in the middle of a chain."""
    text: float
    small_text: float
    row: float
    """From one row of measures to the next."""
    small: bool = False

    @property
    def start(self) -> float:
        """Wire-side face of the source plugs."""
        return self.left + self.table


WHOLE = Sizes(13, 148, 200, 16, 620, 1000, 16, 34, 120, 50, 64, 10, 5, 14, 11, 9.5, 22)
SMALL = Sizes(4, 76, 76, 3, 319, 476, 2, 2, 54, 30, 36, 8, 3, 9, 9, 9, 15.5, small=True)
"""For a card 128 mm wide: 476 px across, so that 9 px are 6.8 pt."""
SMALL_TRUNK = 46.0
"""Height of a small ribbon that its wires share. [px]"""


def sizes_for(run: RunPlan, *, small: bool) -> Sizes:
    """The sizes of a run's drawing; in a small one the wires lie the closer the more they are."""
    if not small:
        return WHOLE
    # The plugs within a chain are named above it, all others inside their boxes.
    lane = min(6.0, max(2.2, SMALL_TRUNK / max(len(run.wires), 1)))
    return replace(SMALL, lane=lane, head=13.0 if in_chain(run) else SMALL.head)


@dataclass(frozen=True, slots=True)
class Flat:
    """Where everything lies on the flat drawing."""

    run: RunPlan
    catalogue: Catalogue
    sizes: Sizes
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
        half = self.sizes.lane / 2
        return max(self.lane_y.values(), default=self.bottom - half) + half + 3

    @property
    def start(self) -> float:
        """Wire-side face of the source plugs along the drawing. [px]"""
        return self.sizes.start


def lay_out(run: RunPlan, catalogue: Catalogue, sizes: Sizes = WHOLE) -> Flat:
    """Lay a run out flat.

    Args:
        run: The planned run.
        catalogue: Reference data with housings and colours.
        sizes: How large everything is drawn.
    """
    chained = in_chain(run)
    faces, px_per_mm = _faces(run, chained, sizes)
    joins, leaves = _tails(run, chained, faces, px_per_mm, sizes)
    orders = [source_order(run, i, catalogue) for i in range(len(run.sources))]
    between = sizes.head + 10 if not sizes.small else sizes.head + 2
    source_tall = sum(between + box_height(len(order), sizes) for order in orders)
    lanes = _lanes(run, chained)
    trunk = (max(lanes.values()) + 1) * sizes.lane if lanes else sizes.lane
    groups = [() if chained else tuple(w for w in run.wires if w.target.plug == i) for i in range(len(run.ends))]
    end_tall = trunk + between if chained else sum(between + box_height(len(group), sizes) for group in groups)
    tall = max(source_tall, end_tall, trunk + between)
    trunk_top = sizes.top + sizes.head + (tall - between - trunk) / 2
    lane_y = {wire_id: trunk_top + (lane + 0.5) * sizes.lane for wire_id, lane in lanes.items()}
    source_y, source_boxes = _stack(orders, sizes.top + (tall - source_tall) / 2, sizes)
    if chained:
        end_y = lane_y
        end_boxes = [_chain_box(run, i, lane_y, trunk_top, sizes) for i in range(len(run.ends))]
    else:
        end_y, end_boxes = _stacked_as_they_lie(groups, lanes, sizes.top + (tall - end_tall) / 2, sizes)
    prefix = f"r{run.number}-ribbon{'-small' if sizes.small else ''}"
    return Flat(
        run, catalogue, sizes, Paints(prefix, catalogue), chained, faces, px_per_mm, joins, leaves,
        source_y, lane_y, end_y, tuple(source_boxes), tuple(end_boxes), sizes.top + tall,
    )  # fmt: skip


def way(flat: Flat, wire: PlannedWire) -> str:
    """Path of one wire, from where it starts to where it ends."""
    num, last = svg.num, flat.faces[wire.target.plug]
    if is_bridge(wire):
        return _bridge(flat, wire, last)
    lane = flat.lane_y[wire.id]
    if wire.source_at_end:
        return f"M{num(flat.faces[wire.source.plug])} {num(lane)}H{num(last)}"
    start, y, end_y = flat.start + flat.sizes.stub, flat.source_y[wire.id], flat.end_y[wire.id]
    stub = flat.sizes.stub
    d = f"M{num(flat.start)} {num(y)}H{num(start)}{_fan(start, y, flat.joins[wire.source.plug], lane, stub)}"
    leave = flat.leaves[wire.target.plug]
    if abs(end_y - lane) < 0.01:
        return d + f"H{num(last)}"
    return d + f"H{num(leave)}{_fan(leave, lane, last - stub, end_y, stub)}H{num(last)}"


def height_at(flat: Flat, wire: PlannedWire, x: float) -> float:
    """Height at which a wire lies between the ribbon and its part plug. [px]"""
    lane, end_y = flat.lane_y[wire.id], flat.end_y[wire.id]
    leave, last = flat.leaves[wire.target.plug], flat.faces[wire.target.plug] - flat.sizes.stub
    if x <= leave or last <= leave:
        return lane
    if x >= last:
        return end_y
    # The handles of the curve lie a half, less a stub's half, from either end: x grows with t, which is halved in on.
    room = (last - leave + flat.sizes.stub) / 2
    low, high = 0.0, 1.0
    for _ in range(30):
        t = (low + high) / 2
        u = 1 - t
        at = u**3 * leave + 3 * u * u * t * (leave + room) + 3 * u * t * t * (last - room) + t**3 * last
        low, high = (t, high) if at < x else (low, t)
    return lane + (end_y - lane) * (3 * low * low - 2 * low**3)


def _fan(x: float, y: float, other_x: float, other_y: float, stub: float) -> str:
    """A curve from one level to another, starting and ending along the ribbon."""
    num, room = svg.num, (other_x - x + stub) / 2
    return f"C{num(x + room)} {num(y)} {num(other_x - room)} {num(other_y)} {num(other_x)} {num(other_y)}"


def _bridge(flat: Flat, wire: PlannedWire, last: float) -> str:
    """A short loop between two rows of the part plug."""
    num, y = svg.num, flat.end_y.get(wire.id, flat.bottom)
    fed = (w for w in flat.run.wires if w.target.plug == wire.target.plug and w.target.cavity == wire.source.cavity)
    start = next((flat.end_y[w.id] for w in fed if w.id in flat.end_y), y)
    out = num(last - 2.6 * flat.sizes.stub)
    return f"M{num(last)} {num(start)}h-4C{out} {num(start)} {out} {num(y)} {num(last - 4)} {num(y)}h4"


def _faces(run: RunPlan, chained: bool, sizes: Sizes) -> tuple[tuple[float, ...], float]:
    """Part plugs along the drawing and the scale, or zero when plugs would come too close to one another."""
    known, start, span = run.length_mm or run.high_mm, sizes.start, sizes.span
    if not chained:
        if not known or len(run.ends) < 2:
            return (start + span,) * len(run.ends), span / known if known else 0.0
        # The plugs of a fork are drawn at their own reach.
        reach = [known + plug.ref.extra_mm for plug in run.ends]
        scale = span / max(reach)
        return tuple(start + scale * mm for mm in reach), scale
    hops = len(run.ends) - 1
    if known and len(run.spacing_mm) >= hops:
        scale = span / (known + sum(run.spacing_mm[:hops]))
        if min(run.spacing_mm[:hops]) * scale >= sizes.least_spacing and known * scale >= sizes.fan + 20:
            return tuple(start + scale * (known + sum(run.spacing_mm[:i])) for i in range(hops + 1)), scale
    step = max(sizes.least_spacing, (span * 0.6) / hops)
    # A long chain would leave no room for its first stretch; its plugs then move closer together.
    step = min(step, (span - sizes.fan - 20) / hops)
    return tuple(start + span - step * (hops - i) for i in range(hops + 1)), 0.0


def _tails(
    run: RunPlan, chained: bool, faces: tuple[float, ...], px_per_mm: float, sizes: Sizes
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Where wires come together behind the source plugs, and where they part before the part plugs."""
    start = sizes.start
    nearest = min(faces, default=start + sizes.span)
    usual = min(sizes.fan, (nearest - start) / 3)
    sources = [tail_mm(run, i, at_source=True) * px_per_mm or usual for i in range(len(run.sources))]
    joins = tuple(start + _between(px, sizes, nearest - start) for px in sources)
    if chained:
        return joins, faces
    ends = [tail_mm(run, i, at_source=False) * px_per_mm or usual for i in range(len(run.ends))]
    return joins, tuple(x - _between(px, sizes, x - start) for x, px in zip(faces, ends, strict=True))


def _between(px: float, sizes: Sizes, ribbon: float) -> float:
    return min(max(px, sizes.least_tail), ribbon * MOST_TAIL)


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


def box_height(wires: int, sizes: Sizes) -> float:
    """Height of a plug with a row for each of its wires; a small one has room for two lines of its name. [px]"""
    return max(max(wires, 1) * sizes.lane + 6, 25.0 if sizes.small else 0.0)


def _stack(
    groups: list[tuple[PlannedWire, ...]], top: float, sizes: Sizes
) -> tuple[dict[str, float], list[tuple[float, float]]]:
    """Heights of the wires in plugs stacked below one another, and the plugs' boxes."""
    heights: dict[str, float] = {}
    boxes = []
    for wires in groups:
        top += sizes.head
        high = box_height(len(wires), sizes)
        first = top + (high - len(wires) * sizes.lane) / 2
        boxes.append((top, high))
        heights.update({wire.id: first + (i + 0.5) * sizes.lane for i, wire in enumerate(wires)})
        top += high + (2 if sizes.small else 10)
    return heights, boxes


def _stacked_as_they_lie(
    groups: list[tuple[PlannedWire, ...]], lanes: dict[str, int], top: float, sizes: Sizes
) -> tuple[dict[str, float], list[tuple[float, float]]]:
    """Part plugs below one another in the order of their wires in the ribbon, so that no branch crosses another."""

    def middle(index: int) -> float:
        held = [lanes[wire.id] for wire in groups[index] if wire.id in lanes]
        return sum(held) / len(held) if held else float("inf")

    order = sorted(range(len(groups)), key=middle)
    heights, boxes = _stack([groups[i] for i in order], top, sizes)
    by_plug = dict(zip(order, boxes, strict=True))
    return heights, [by_plug[i] for i in range(len(groups))]


def _chain_box(run: RunPlan, plug: int, lane_y: dict[str, float], top: float, sizes: Sizes) -> tuple[float, float]:
    lane = sizes.lane
    touched = [lane_y[wire.id] for wire in run.wires if plug in stops(wire) and wire.id in lane_y] or [top + lane / 2]
    return min(touched) - lane / 2 - 3, max(touched) - min(touched) + lane + 6
