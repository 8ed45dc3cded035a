"""Plugs of the flat drawing of a run, with their names and, where there is room, a line for each wire."""

from collections.abc import Sequence

from server.domain.model.plan import Plug
from server.drawing import svg
from server.drawing.plugs import tail_mm, visible_colour
from server.drawing.ribbon_dimensions import tails_to_scale
from server.drawing.ribbon_layout import Flat


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


def _inside(x: float, box: tuple[float, float], room: float, names: Sequence[str], size: float) -> str:
    """The first name that a box holds whole, from the middle of its height outwards; the last one cut where none is."""
    top, high = box
    most = max(1, int((high - 2) / (size + 1.5)))
    words = next((name for name in names if _holds(name, room, size, most)), names[-1])
    lines = list(svg.wrapped(words, room, size))
    if len(lines) > most:
        lines = [
            *lines[: most - 1],
            svg.fitted(" ".join(words.split()[sum(len(x.split()) for x in lines[: most - 1]) :]), room, size),
        ]
    first = top + high / 2 + size * 0.35 - (len(lines) - 1) * (size + 1.5) / 2
    return "".join(
        svg.text(x, first + i * (size + 1.5), line, "ink", size=size, full=names[0] if i == 0 else "")
        for i, line in enumerate(lines)
    )


def _holds(name: str, room: float, size: float, most: int) -> bool:
    """Whether a name fits into so many lines without a cut."""
    lines = svg.wrapped(name, room, size)
    return len(lines) <= most and "".join(lines).replace(" ", "") == "".join(name.split())


def _small_plug(flat: Flat, index: int, *, at_source: bool) -> str:
    """A plug of the small drawing: its name stands in it, or above it where the ribbon goes on."""
    sizes, size = flat.sizes, flat.sizes.text
    plug = (flat.run.sources if at_source else flat.run.ends)[index]
    box = (flat.source_boxes if at_source else flat.end_boxes)[index]
    x, wide = (sizes.left, sizes.table) if at_source else (flat.faces[index], sizes.end_table)
    name = plug.socket if at_source else f"{plug.place} {plug.socket}"
    if flat.chained and not at_source:
        name = f"{chr(ord('A') + index)} {plug.place}"
    if flat.chained and not at_source and index < len(flat.run.ends) - 1:
        room = flat.faces[index + 1] - x - 4
        bar = svg.rect(x, box[0], sizes.plug, box[1], cls="paper edge heavy")
        # A letter alone is told better than half a name; the wires' table knows the plugs by their letters.
        shown = name if svg.width(name, size) <= room else name[0]
        return bar + svg.text(x, box[0] - 3, shown, "ink", size=size, full=name)
    drawn = svg.rect(x, box[0], wide, box[1], cls="paper edge heavy")
    # Its face tells the latch and the number of positions as well.
    short = name.partition(",")[0]
    names = (f"{name}, latch down" if plug.latch_down else name, name, short, plug.socket if at_source else plug.place)
    return drawn + _inside(x + 4, box, wide - 7, names, size)


def source_plug(flat: Flat, index: int) -> str:
    """A source plug with a row for each of its wires."""
    if flat.sizes.small:
        return _small_plug(flat, index, at_source=True)
    plug, (top, high) = flat.run.sources[index], flat.source_boxes[index]
    more = _beyond(flat, index, at_source=True)
    like = _below_its_like(flat.run.sources, flat.source_boxes, index)
    parts = [svg.rect(flat.sizes.left, top, flat.sizes.table, high, cls="paper edge heavy")]
    parts.append(_names(flat.sizes.left, top, plug, flat.sizes.table + 100, more, below_its_like=like))
    for wire in flat.run.wires:
        if not wire.source_at_end and wire.source.plug == index:
            y = flat.source_y[wire.id] + 4
            parts.append(svg.text(flat.start - 6, y, f"{wire.net} {wire.source.cavity:>3}", "ink", anchor="end"))
    return "".join(parts)


def end_plug(flat: Flat, index: int) -> str:
    """A part plug: the last one as a table of its wires, those before it in a chain as a bar across the ribbon."""
    if flat.sizes.small:
        return _small_plug(flat, index, at_source=False)
    plug, (top, high), x = flat.run.ends[index], flat.end_boxes[index], flat.faces[index]
    more = _beyond(flat, index, at_source=False)
    if flat.chained and index < len(flat.run.ends) - 1:
        room = flat.faces[index + 1] - x - 6
        bar = svg.rect(x, top, flat.sizes.plug, high, cls="paper edge heavy")
        return bar + _names(x, top, plug, room, more)
    like = not flat.chained and _below_its_like(flat.run.ends, flat.end_boxes, index)
    parts = [svg.rect(x, top, flat.sizes.end_table, high, cls="paper edge heavy")]
    parts.append(_names(x, top, plug, flat.sizes.end_table, more, below_its_like=like))
    for wire in flat.run.wires:
        if wire.target.plug == index:
            words = f"{wire.target.cavity:<3} {visible_colour(wire)} {wire.net}"
            words = svg.fitted(words, flat.sizes.end_table - 10)
            parts.append(svg.text(x + 6, flat.end_y[wire.id] + 4, words.replace("  ", " \u00a0"), "ink"))
    return "".join(parts)
