"""A run as a ribbon, laid out flat between its plugs."""

from dataclasses import dataclass

from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import PlannedWire, Plug, RunPlan
from server.drawing import svg
from server.drawing.paint import Paints
from server.drawing.plugs import (
    in_chain,
    is_bridge,
    length_words,
    run_name,
    sleeve_colours,
    source_order,
    stops,
    visible_colour,
    wire_words,
)
from server.drawing.ribbon_end import ribbon_end_svg

__all__ = ["ribbon_end_svg", "ribbon_svg"]

LANE = 13.0
"""From one wire to the next on the flat drawing. [px]"""
THICK = 8.0
JACKET = 14.0
"""Thickness of a moulded cable. [px]"""
TABLE = 148.0
END_TABLE = 200.0
LEFT, SPAN, WIDE = 16.0, 620.0, 1000.0
HEAD = 34.0
"""Room above a plug for its two lines of names. [px]"""
TOP = 16.0
FAN = 120.0
LEAST_SPACING = 64.0
DASHES = "9 5"


@dataclass(frozen=True, slots=True)
class _Flat:
    """Where everything lies on the flat drawing."""

    run: RunPlan
    catalogue: Catalogue
    paints: Paints
    chained: bool
    faces: tuple[float, ...]
    """Wire-side face of each part plug along the drawing. [px]"""
    px_per_mm: float
    """Zero when the drawing is not to scale."""
    source_y: dict[str, float]
    lane_y: dict[str, float]
    end_y: dict[str, float]
    source_boxes: tuple[tuple[float, float], ...]
    """Upper edge and height of each source plug. [px]"""
    end_boxes: tuple[tuple[float, float], ...]
    bottom: float


def ribbon_svg(run: RunPlan, catalogue: Catalogue) -> str:
    """The run laid out flat, wire by wire, from its source plugs to its part plugs, seen from above.

    Along the ribbon the drawing is to scale unless it says otherwise; a run that is not measured is dashed.

    Args:
        run: The planned run.
        catalogue: Reference data with housings and colours.

    Returns:
        An ``svg`` element.
    """
    flat = _lay_out(run, catalogue)
    codes = [visible_colour(wire) for wire in run.wires]
    bare = [w.colour for w in run.wires if not w.sleeve_colour]
    foot, bottom = _dimensions(flat)
    body = [
        flat.paints.definitions(bare, sleeve_colours(run, run.wires)),
        _jacket(flat) if run.kind == "sleeved" else "",
        *(_wire(flat, wire) for wire in run.wires),
        _combs(flat),
        *(_source_plug(flat, i) for i in range(len(run.sources))),
        *(_end_plug(flat, i) for i in range(len(run.ends))),
        foot,
    ]
    title = f"Run {run.number}, {svg.name(run_name(run))}, laid out flat"
    told = f"{length_words(run)}, {wire_words(run)}" + (f" in ribbon order: {', '.join(codes)}." if codes else ".")
    if run.comb_count:
        told += f" {run.comb_count} combs at {', '.join(map(str, run.comb_positions_mm))} mm from the part plug."
    return svg.document(f"r{run.number}-ribbon", "ribbon", (WIDE, bottom), (title, told), body)


def _lay_out(run: RunPlan, catalogue: Catalogue) -> _Flat:
    chained = in_chain(run)
    faces, px_per_mm = _faces(run, chained)
    orders = [source_order(run, i, catalogue) for i in range(len(run.sources))]
    source_tall = sum(HEAD + _box_height(len(order)) + 10 for order in orders)
    lanes = _lanes(run, chained)
    trunk = (max(lanes.values()) + 1) * LANE if lanes else LANE
    groups = [() if chained else tuple(w for w in run.wires if w.target.plug == i) for i in range(len(run.ends))]
    end_tall = trunk + HEAD + 10 if chained else sum(HEAD + _box_height(len(group)) + 10 for group in groups)
    tall = max(source_tall, end_tall, trunk + HEAD + 10)
    trunk_top = TOP + HEAD + (tall - HEAD - 10 - trunk) / 2
    lane_y = {wire_id: trunk_top + (lane + 0.5) * LANE for wire_id, lane in lanes.items()}
    source_y, source_boxes = _stack(orders, TOP + (tall - source_tall) / 2)
    if chained:
        end_y = lane_y
        end_boxes = [_chain_box(run, i, lane_y, trunk_top) for i in range(len(run.ends))]
    else:
        end_y, end_boxes = _stack(groups, TOP + (tall - end_tall) / 2)
    return _Flat(
        run, catalogue, Paints(f"r{run.number}-ribbon", catalogue), chained, faces, px_per_mm,
        source_y, lane_y, end_y, tuple(source_boxes), tuple(end_boxes), TOP + tall,
    )  # fmt: skip


def _faces(run: RunPlan, chained: bool) -> tuple[tuple[float, ...], float]:
    """Part plugs along the drawing and the scale, or zero when plugs would come too close to one another."""
    start, known = LEFT + TABLE, run.length_mm or run.high_mm
    if not chained:
        return (start + SPAN,) * len(run.ends), SPAN / known if known else 0.0
    hops = len(run.ends) - 1
    if known and len(run.spacing_mm) >= hops:
        scale = SPAN / (known + sum(run.spacing_mm[:hops]))
        if min(run.spacing_mm[:hops]) * scale >= LEAST_SPACING and known * scale >= FAN + 20:
            return tuple(start + scale * (known + sum(run.spacing_mm[:i])) for i in range(hops + 1)), scale
    step = max(LEAST_SPACING, (SPAN - 240.0) / hops)
    # A long chain would leave no room for its first stretch; its plugs then move closer together.
    step = min(step, (SPAN - FAN - 20) / hops)
    return tuple(start + SPAN - step * (hops - i) for i in range(hops + 1)), 0.0


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


def _box_height(wires: int) -> float:
    return max(wires, 1) * LANE + 6


def _stack(groups: list[tuple[PlannedWire, ...]], top: float) -> tuple[dict[str, float], list[tuple[float, float]]]:
    """Heights of the wires in plugs stacked below one another, and the plugs' boxes."""
    heights: dict[str, float] = {}
    boxes = []
    for wires in groups:
        top += HEAD
        boxes.append((top, _box_height(len(wires))))
        heights.update({wire.id: top + 3 + (i + 0.5) * LANE for i, wire in enumerate(wires)})
        top += _box_height(len(wires)) + 10
    return heights, boxes


def _chain_box(run: RunPlan, plug: int, lane_y: dict[str, float], top: float) -> tuple[float, float]:
    touched = [lane_y[wire.id] for wire in run.wires if plug in stops(wire) and wire.id in lane_y] or [top + LANE / 2]
    return min(touched) - LANE / 2 - 3, max(touched) - min(touched) + LANE + 6


def _wire(flat: _Flat, wire: PlannedWire) -> str:
    """One wire: its outline in ink, and its real colour inside."""
    d = _way(flat, wire)
    dashes = None if flat.run.state == "measured" else DASHES
    paint = flat.paints.braided(wire.sleeve_colour) if wire.sleeve_colour else flat.paints.hatched(wire.colour)
    outline = svg.path(d, "outline", stroke_width=THICK + 1.6, stroke_dasharray=dashes)
    return outline + svg.path(d, stroke=paint, stroke_width=THICK, stroke_dasharray=dashes, data_wire=wire.label)


def _jacket(flat: _Flat) -> str:
    """A moulded cable, which is sleeved as a whole, from its other plug to the part."""
    codes = sleeve_colours(flat.run, ())
    parts = []
    dashes = None if flat.run.state == "measured" else DASHES
    for (top, high), x in zip(flat.end_boxes, flat.faces, strict=True):
        y = top + high / 2
        d = f"M{svg.num(LEFT + TABLE)} {svg.num(y)}H{svg.num(x)}"
        parts.append(svg.path(d, "outline", stroke_width=JACKET + 1.6, stroke_dasharray=dashes))
        paint = flat.paints.braided(codes[0]) if codes else flat.paints.plain("")
        parts.append(svg.path(d, stroke=paint, stroke_width=JACKET, stroke_dasharray=dashes))
        told = f"{codes[0]} sleeve, moulded cable" if codes else "moulded cable, bare"
        parts.append(svg.text(LEFT + TABLE + 8, y - JACKET / 2 - 5, told, "ink"))
        if not flat.run.sources:
            parts.append(svg.text(LEFT + TABLE - 6, y + 4, "its other plug", "muted", anchor="end"))
    return "".join(parts)


def _way(flat: _Flat, wire: PlannedWire) -> str:
    num = svg.num
    last = flat.faces[wire.target.plug]
    if is_bridge(wire):
        return _bridge(flat, wire, last)
    lane = flat.lane_y[wire.id]
    if wire.source_at_end:
        return f"M{num(flat.faces[wire.source.plug])} {num(lane)}H{num(last)}"
    start, y = LEFT + TABLE, flat.source_y[wire.id]
    room = min(FAN, (flat.faces[0] - start) / 3)
    d = f"M{num(start)} {num(y)}h10C{num(start + 10 + room / 2)} {num(y)} {num(start + room / 2)} {num(lane)} "
    d += f"{num(start + room)} {num(lane)}"
    end_y = flat.end_y[wire.id]
    if len(flat.run.ends) < 2 or flat.chained or abs(end_y - lane) < 0.01:
        d += f"H{num(last)}" if abs(end_y - lane) < 0.01 else _curve(last, lane, end_y, room)
        return d
    return d + _curve(last, lane, end_y, room)


def _bridge(flat: _Flat, wire: PlannedWire, last: float) -> str:
    """A short loop between two rows of the part plug."""
    num, y = svg.num, flat.end_y.get(wire.id, flat.bottom)
    fed = (w for w in flat.run.wires if w.target.plug == wire.target.plug and w.target.cavity == wire.source.cavity)
    start = next((flat.end_y[w.id] for w in fed if w.id in flat.end_y), y)
    out = num(last - 26)
    return f"M{num(last)} {num(start)}h-4C{out} {num(start)} {out} {num(y)} {num(last - 4)} {num(y)}h4"


def _curve(last: float, lane: float, end_y: float, room: float) -> str:
    num = svg.num
    start = last - room
    return (
        f"H{num(start)}C{num(start + room / 2)} {num(lane)} {num(last - 10 - room / 2)} {num(end_y)} "
        f"{num(last - 10)} {num(end_y)}H{num(last)}"
    )


def _names(x: float, top: float, plug: Plug, room: float, down: str) -> str:
    place, socket = svg.fitted(plug.place, room), svg.fitted(f"{plug.socket}{down}", room)
    return svg.text(x, top - 19, place, "ink", full=plug.place) + svg.text(
        x, top - 6, socket, "muted", full=f"{plug.socket}{down}"
    )


def _extra(plug: Plug) -> str:
    """Reach beyond the route, as written behind the plug's name."""
    return f", +{svg.num(plug.ref.extra_mm)} mm" if plug.ref.extra_mm else ""


def _source_plug(flat: _Flat, index: int) -> str:
    """A source plug with a row for each of its wires."""
    plug, (top, high) = flat.run.sources[index], flat.source_boxes[index]
    down = (", latch down" if plug.latch_down else "") + _extra(plug)
    parts = [svg.rect(LEFT, top, TABLE, high, cls="paper edge heavy"), _names(LEFT, top, plug, TABLE + 100, down)]
    for wire in flat.run.wires:
        if not wire.source_at_end and wire.source.plug == index:
            y = flat.source_y[wire.id] + 4
            parts.append(svg.text(LEFT + TABLE - 6, y, f"{wire.net} {wire.source.cavity:>3}", "ink", anchor="end"))
    return "".join(parts)


def _end_plug(flat: _Flat, index: int) -> str:
    """A part plug: the last one as a table of its wires, those before it in a chain as a bar across the ribbon."""
    plug, (top, high), x = flat.run.ends[index], flat.end_boxes[index], flat.faces[index]
    extra = _extra(plug)
    if flat.chained and index < len(flat.run.ends) - 1:
        room = flat.faces[index + 1] - x - 6
        bar = svg.rect(x, top, 14, high, cls="paper edge heavy")
        return bar + _names(x, top, plug, room, extra)
    parts = [svg.rect(x, top, END_TABLE, high, cls="paper edge heavy"), _names(x, top, plug, END_TABLE, extra)]
    for wire in flat.run.wires:
        if wire.target.plug == index:
            words = f"{wire.target.cavity:<3} {visible_colour(wire)} {wire.net}"
            words = svg.fitted(words, END_TABLE - 10)
            parts.append(svg.text(x + 6, flat.end_y[wire.id] + 4, words.replace("  ", " \u00a0"), "ink"))
    return "".join(parts)


def _combs(flat: _Flat) -> str:
    """Combs as bars across the ribbon; only drawn where the drawing is to scale."""
    if not flat.px_per_mm or not flat.lane_y:
        return ""
    top, bottom = min(flat.lane_y.values()) - LANE / 2 - 3, max(flat.lane_y.values()) + LANE / 2 + 3
    return "".join(
        svg.rect(flat.faces[0] - at * flat.px_per_mm - 2.5, top, 5, bottom - top, cls="paper edge", data_comb=str(at))
        for at in flat.run.comb_positions_mm
    )


def _dimensions(flat: _Flat) -> tuple[str, float]:
    """Combs from the part plug, spacings of a chain and the length, below the ribbon; and the drawing's height."""
    run, start = flat.run, LEFT + TABLE
    y = flat.bottom + 8
    parts = []
    if run.comb_positions_mm and flat.px_per_mm:
        parts.append(_ordinates(flat, y))
        y += 40
    y += 16
    known = run.state == "measured"
    cls = "ink" if known else "warn"
    parts.append(
        svg.dimension(start, flat.faces[0] if run.ends else start + SPAN, y, length_words(run), cls, dashed=not known)
    )
    if flat.chained:
        for i in range(len(run.ends) - 1):
            words = f"{svg.num(run.spacing_mm[i])} mm" if i < len(run.spacing_mm) else "not measured"
            room = flat.faces[i + 1] - flat.faces[i]
            fitting = words if svg.width(words) < room else words.removesuffix(" mm")
            parts.append(svg.dimension(flat.faces[i], flat.faces[i + 1], y, svg.fitted(fitting, room)))
    scale = "seen from above, part's latch up" + ("" if flat.px_per_mm else "; not to scale")
    parts.append(svg.text(LEFT, y + 22, scale, "muted", size=svg.SMALL))
    if run.comb_count and not flat.px_per_mm:
        words = f"combs at {', '.join(map(str, run.comb_positions_mm))} mm from the part plug"
        parts.append(svg.text(LEFT + 330, y + 22, svg.fitted(words, WIDE - 360, svg.SMALL), "muted", size=svg.SMALL))
    return "".join(parts), y + 34


def _ordinates(flat: _Flat, y: float) -> str:
    """Distance of each comb from the part plug's face, read upward below it."""
    origin = flat.faces[0]
    lowest = max(flat.lane_y.values()) + LANE / 2 + 3
    parts = [svg.line(origin, lowest, origin, y + 8, "line thin muted"), svg.text(origin + 6, y + 10, "0", "ink")]
    last = origin + 100.0
    for at in sorted(flat.run.comb_positions_mm):
        x = origin - at * flat.px_per_mm
        parts.append(svg.line(x, lowest, x, y + 4, "line thin muted"))
        if last - x >= svg.TEXT + 1:
            parts.append(svg.text(x + 4, y + 8 + svg.width(str(at)), str(at), "ink", upward=True))
            last = x
    words = f"{flat.run.comb_count} combs, mm from the part plug"
    parts.append(svg.text(origin + 20, y + 10, "mm", "muted", size=svg.SMALL))
    parts.append(svg.text(LEFT, y + 10, svg.fitted(words, TABLE + 60, svg.SMALL), "muted", size=svg.SMALL))
    return "".join(parts)
