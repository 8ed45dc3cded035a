"""A run as a ribbon, laid out flat between its plugs."""

from collections.abc import Sequence

from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import PlannedWire, Plug, RunPlan
from server.drawing import svg
from server.drawing.plugs import length_words, run_name, sleeve_colours, tail_mm, visible_colour, wire_words
from server.drawing.ribbon_combs import comb_words, combs_svg
from server.drawing.ribbon_dimensions import dimensions, tails_to_scale, tap_words
from server.drawing.ribbon_end import ribbon_end_svg
from server.drawing.ribbon_layout import END_TABLE, LEFT, START, TABLE, WIDE, Flat, lay_out, way

__all__ = ["ribbon_end_svg", "ribbon_svg"]

THICK = 8.0
JACKET = 14.0
"""Thickness of a moulded cable. [px]"""
DASHES = "9 5"


def ribbon_svg(run: RunPlan, catalogue: Catalogue) -> str:
    """The run laid out flat, wire by wire, from its source plugs to its part plugs, seen from above.

    Along the ribbon the drawing is to scale unless it says otherwise; a run that is not measured is dashed.

    Args:
        run: The planned run.
        catalogue: Reference data with housings and colours.

    Returns:
        An ``svg`` element.
    """
    flat = lay_out(run, catalogue)
    codes = [visible_colour(wire) for wire in run.wires]
    bare = [w.colour for w in run.wires if not w.sleeve_colour]
    foot, bottom = dimensions(flat)
    body = [
        flat.paints.definitions(bare, sleeve_colours(run, run.wires)),
        _jacket(flat) if run.kind == "sleeved" else "",
        *(_wire(flat, wire) for wire in run.wires),
        combs_svg(flat),
        *(_source_plug(flat, i) for i in range(len(run.sources))),
        *(_end_plug(flat, i) for i in range(len(run.ends))),
        foot,
    ]
    title = f"Run {run.number}, {svg.name(run_name(run))}, laid out flat"
    told = f"{length_words(run)}, {wire_words(run)}" + (f" in ribbon order: {', '.join(codes)}." if codes else ".")
    if run.combs:
        told += f" Combs: {'; '.join(comb_words(run, catalogue))}."
    if run.tap_marks:
        told += f" Tap marks from the crimped end: {'; '.join(tap_words(run))}."
    return svg.document(f"r{run.number}-ribbon", "ribbon", (WIDE, bottom), (title, told), body)


def _wire(flat: Flat, wire: PlannedWire) -> str:
    """One wire: its outline in ink, and its real colour inside."""
    d = way(flat, wire)
    dashes = None if flat.run.state == "measured" else DASHES
    paint = flat.paints.braided(wire.sleeve_colour) if wire.sleeve_colour else flat.paints.hatched(wire.colour)
    outline = svg.path(d, "outline", stroke_width=THICK + 1.6, stroke_dasharray=dashes)
    return outline + svg.path(d, stroke=paint, stroke_width=THICK, stroke_dasharray=dashes, data_wire=wire.label)


def _jacket(flat: Flat) -> str:
    """A moulded cable, which is sleeved as a whole, from its other plug to the part."""
    codes = sleeve_colours(flat.run, ())
    parts = []
    dashes = None if flat.run.state == "measured" else DASHES
    for (top, high), x in zip(flat.end_boxes, flat.faces, strict=True):
        y = top + high / 2
        d = f"M{svg.num(START)} {svg.num(y)}H{svg.num(x)}"
        parts.append(svg.path(d, "outline", stroke_width=JACKET + 1.6, stroke_dasharray=dashes))
        paint = flat.paints.braided(codes[0]) if codes else flat.paints.plain("")
        parts.append(svg.path(d, stroke=paint, stroke_width=JACKET, stroke_dasharray=dashes))
        told = f"{codes[0]} sleeve, moulded cable" if codes else "moulded cable, bare"
        parts.append(svg.text(START + 8, y - JACKET / 2 - 5, told, "ink"))
        if not flat.run.sources:
            parts.append(svg.text(START - 6, y + 4, "its other plug", "muted", anchor="end"))
    return "".join(parts)


def _names(x: float, top: float, plug: Plug, room: float, more: str, *, below_its_like: bool = False) -> str:
    """Two lines above a plug: its place, and its socket with what is particular to it.

    The second line is kept for what is particular to it where that would not fit behind the socket, or where a plug of
    the same place stands above, so that the place need not be told again.
    """
    upper, lower = plug.place, ", ".join(filter(None, (plug.socket, more)))
    if more and (below_its_like or svg.width(lower) > room):
        upper, lower = (plug.socket if below_its_like else f"{plug.place}, {plug.socket}"), more
    return svg.text(x, top - 19, svg.fitted(upper, room), "ink", full=upper) + svg.text(
        x, top - 6, svg.fitted(lower, room), "muted", full=lower
    )


def _below_its_like(plugs: Sequence[Plug], boxes: Sequence[tuple[float, float]], index: int) -> bool:
    place, top = plugs[index].place, boxes[index][0]
    return any(plug.place == place and box[0] < top for plug, box in zip(plugs, boxes, strict=True))


def _beyond(flat: Flat, index: int, *, at_source: bool) -> str:
    """Latch, reach beyond the route and tail, as written behind the plug's name."""
    run = flat.run
    plugs = run.sources if at_source else run.ends
    words = ["latch down"] if plugs[index].latch_down else []
    if plugs[index].ref.extra_mm:
        words.append(f"+{svg.num(plugs[index].ref.extra_mm)} mm")
    tails = [tail_mm(run, i, at_source=at_source) for i in range(len(plugs))]
    # A tail that all plugs share is read from its dimension below the ribbon.
    if tails[index] and (len(set(tails)) > 1 or not tails_to_scale(flat)):
        words.append(f"tail {svg.num(tails[index])} mm")
    return ", ".join(words)


def _source_plug(flat: Flat, index: int) -> str:
    """A source plug with a row for each of its wires."""
    plug, (top, high) = flat.run.sources[index], flat.source_boxes[index]
    more = _beyond(flat, index, at_source=True)
    like = _below_its_like(flat.run.sources, flat.source_boxes, index)
    parts = [svg.rect(LEFT, top, TABLE, high, cls="paper edge heavy")]
    parts.append(_names(LEFT, top, plug, TABLE + 100, more, below_its_like=like))
    for wire in flat.run.wires:
        if not wire.source_at_end and wire.source.plug == index:
            y = flat.source_y[wire.id] + 4
            parts.append(svg.text(START - 6, y, f"{wire.net} {wire.source.cavity:>3}", "ink", anchor="end"))
    return "".join(parts)


def _end_plug(flat: Flat, index: int) -> str:
    """A part plug: the last one as a table of its wires, those before it in a chain as a bar across the ribbon."""
    plug, (top, high), x = flat.run.ends[index], flat.end_boxes[index], flat.faces[index]
    more = _beyond(flat, index, at_source=False)
    if flat.chained and index < len(flat.run.ends) - 1:
        room = flat.faces[index + 1] - x - 6
        bar = svg.rect(x, top, 14, high, cls="paper edge heavy")
        return bar + _names(x, top, plug, room, more)
    like = not flat.chained and _below_its_like(flat.run.ends, flat.end_boxes, index)
    parts = [svg.rect(x, top, END_TABLE, high, cls="paper edge heavy")]
    parts.append(_names(x, top, plug, END_TABLE, more, below_its_like=like))
    for wire in flat.run.wires:
        if wire.target.plug == index:
            words = f"{wire.target.cavity:<3} {visible_colour(wire)} {wire.net}"
            words = svg.fitted(words, END_TABLE - 10)
            parts.append(svg.text(x + 6, flat.end_y[wire.id] + 4, words.replace("  ", " \u00a0"), "ink"))
    return "".join(parts)
