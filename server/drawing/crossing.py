"""The crossing diagram of a run: every wire from its source cavity to its part cavity, and where wires cross."""

from collections.abc import Iterable

from server.domain.model.build import Run
from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import RunPlan
from server.drawing import svg
from server.drawing.crossing_layout import (
    CELL,
    GAP,
    LANE,
    PLATE_TEXT,
    SIDE,
    Bridge,
    Meeting,
    PlugPlace,
    Sheet,
    Spot,
    Way,
    lay_out,
)
from server.drawing.paint import Paints, words_on
from server.drawing.plugs import in_chain, run_name

THICK = 5.0
"""Thickness of a wire. [px]"""
DOT = 3.4
DASHES = {
    "COM": "",
    "+12V": "10 4",
    "+5V": "4 4",
    "+3.3V": "1.5 3",
    "-12V": "10 3 2 3",
    "+5VSB": "10 3 2 3 2 3",
    "PS_ON#": "6 2 1 2",
    "PWR_OK": "1.5 6",
    "TACH": "4 4 1.5 4",
    "PWM": "2 8",
}
"""Line down the middle of a wire by its net, so that nets are told apart without colour. Own convention."""
OTHER_DASHES = ("16 3", "8 8", "3 2", "12 3 4 3", "2 2 2 6", "6 6 1 6", "14 8", "1.5 1.5")
MOST_KEY_WIDE = 620.0


def crossing_words(crossings: int, doubles: int) -> str:
    """Counts of crossings and doubles in words.

    Args:
        crossings: Pairs of wires that cross in the flat ribbon.
        doubles: Contacts that hold a second wire.
    """
    crossed = "no crossings" if not crossings else "1 crossing" if crossings == 1 else f"{crossings} crossings"
    doubled = "no doubles" if not doubles else "1 double" if doubles == 1 else f"{doubles} doubles"
    return f"{crossed}, {doubled}"


def crossing_svg(run: RunPlan, catalogue: Catalogue, *, plain: bool = False, entered: Run | None = None) -> str:
    """The first stretch of a run seen from above, wire by wire, its plugs unfolded to both sides of the ribbon.

    All part plugs of a fork lie side by side at the end of that one stretch.

    The common frame looks along the ribbon towards the part, whose latch is up: what lies left of it is above on the
    drawing. Every wire can be reached by keyboard and pointer; the page's style then dims the others.

    Args:
        run: The planned run.
        catalogue: Reference data with housings, families and colours.
        plain: True for the cavity-by-cavity wiring that the planned one is shown against.
        entered: The run as the builder entered it, whose pins and forbidden cavities are marked.

    Returns:
        An ``svg`` element. Its role is ``group``, because ``img`` would hide the wires from assistive tools.

    Raises:
        ValueError: the plain wiring is asked for and the run has none.
        KeyError: the catalogue lacks a housing of the run.
    """
    if plain and run.plain is None:
        raise ValueError(f"run {run.number} has no plain wiring")
    prefix = f"r{run.number}-{'plain' if plain else 'crossing'}"
    name = "Cavity by cavity" if plain else "As planned"
    title = f"Run {run.number}, {svg.name(run_name(run))}, {name[:1].lower()}{name[1:]}"
    if not run.sources or not run.ends or not (run.plain.links if plain and run.plain else run.wires):
        words = "no wires to draw"
        return svg.document(prefix, "crossing", (300.0, 40.0), (title, words), [svg.text(16, 24, words, "muted")])
    sheet = lay_out(run, catalogue, plain=plain, entered=entered)
    counts = (run.plain.crossings, run.plain.doubles) if plain and run.plain else (run.crossings, run.doubles)
    dashes = _dashes(way.net for way in sheet.ways)
    paints = Paints(prefix, catalogue)
    crossed = _crossed(sheet)
    key, tall = _key(sheet, dashes, paints, sheet.bottom + 22)
    body = [
        *_heads(run, sheet, f"{name}: {crossing_words(*counts)}", plain=plain),
        *(_plug(place, _name(place, sheet)) for place in sheet.plugs),
        f'<g class="ways">{"".join(_way(sheet, way, dashes, paints, crossed) for way in sheet.ways)}'
        f"{''.join(_bridge(sheet, bridge, paints) for bridge in sheet.bridges)}</g>",
        f'<g class="meetings" aria-hidden="true">{"".join(_meeting(m) for m in sheet.meetings)}</g>',
        f'<g class="numbers" aria-hidden="true">{"".join(map(_numbers, sheet.plugs))}</g>',
        key,
    ]
    told = f"{crossing_words(*counts)}. Seen from above, part's latch up, source on the left."
    return svg.document(prefix, "crossing", (sheet.wide, tall), (title, told), body, role="group")


def _dashes(nets: Iterable[str]) -> dict[str, str]:
    """A line pattern for each net of the drawing, no two alike while there are enough."""
    found, others = {}, iter(OTHER_DASHES)
    for net in dict.fromkeys(nets):
        found[net] = DASHES[net] if net in DASHES else next(others, OTHER_DASHES[-1])
    return found


def _crossed(sheet: Sheet) -> dict[str, list[str]]:
    """By wire, the wires that it crosses."""
    found: dict[str, list[str]] = {}
    for meeting in sheet.meetings:
        found.setdefault(meeting.first, []).append(meeting.second)
        found.setdefault(meeting.second, []).append(meeting.first)
    return found


def _heads(run: RunPlan, sheet: Sheet, counted: str, *, plain: bool) -> list[str]:
    """What the drawing shows, and on each side where the plug goes and how its latch lies."""
    parts = [svg.text(SIDE, 17, counted, "heading", size=svg.HEADING)]
    room = (sheet.wide - 2 * SIDE - 20) / 2
    sources = " + ".join(place.plug.socket for place in sheet.plugs if place.at_source)
    ends = [place for place in sheet.plugs if not place.at_source]
    last = " + ".join(f"{place.plug.place}: {place.plug.socket}" for place in ends)
    last += ", plug A" if in_chain(run) else ""
    latched = next((place for place in ends if place.latch != "none"), ends[-1])
    parts.append(svg.text(SIDE, 35, svg.fitted(sources, room), "ink", full=sources))
    parts.append(svg.text(sheet.wide - SIDE, 35, svg.fitted(last, room), "ink", anchor="end", full=last))
    for place, x, anchor in ((sheet.plugs[0], SIDE, None), (latched, sheet.wide - SIDE, "end")):
        lies = {"up": "latch up", "down": "latch down", "none": "no latch"}[place.latch]
        if place.latch == "none" and place.at_source and run.sources[0].latch_down and not plain:
            lies = "turned over"
        parts.append(svg.text(x, 50, lies, "muted", anchor=anchor))
    return parts


def _name(place: PlugPlace, sheet: Sheet) -> str:
    """What tells a plug from the others on its side of the ribbon; empty where it is alone."""
    if sum(other.at_source == place.at_source for other in sheet.plugs) < 2:
        return ""
    return place.plug.socket if place.at_source else f"{_letter(place.index)}: {place.plug.place}, {place.plug.socket}"


def _letter(index: int) -> str:
    return chr(ord("A") + index)


def _plug(place: PlugPlace, name: str) -> str:
    """A plug's cavities, unfolded beside the ribbon, with the latch on its side."""
    parts = [svg.rect(place.x, place.y, place.broad, place.high, cls="paper edge heavy", data_body="shell")]
    leftmost = (place.latch == "up") == place.at_source
    if place.latch != "none":
        x = place.x - 5 if leftmost else place.x + place.broad
        long = min(34.0, place.high - 8)
        y = place.y + (place.high - long) / 2
        parts.append(svg.rect(x, y, 5, long, cls="paper edge heavy", data_latch=place.latch))
    if name:
        x = place.x - 9 if place.at_source else place.x + place.broad + 15
        words = svg.fitted(name, place.high - 4, svg.SMALL)
        middle = place.y + (place.high + svg.width(words, svg.SMALL)) / 2
        parts.append(svg.text(x, middle, words, "muted", size=svg.SMALL, upward=True, full=name))
    parts += [_spot(spot, at_source=place.at_source) for spot in place.spots]
    return "".join(parts)


def _spot(spot: Spot, *, at_source: bool) -> str:
    """One cavity with its number; struck out, open, or not connected where no wire is in it."""
    x, y = spot.x + 1.5, spot.y - spot.high / 2 + 1.5
    wide, high = CELL - 3, spot.high - 3
    mark = spot.x + (CELL - 9 if at_source else 9)
    state = "double" if spot.wires > 1 else "wire" if spot.wires else "open" if spot.net else "not-connected"
    parts = [svg.rect(x, y, wide, high, cls="paper edge" + (" heavy" if spot.wires > 1 else ""))]
    if spot.forbidden:
        state = "forbidden"
        strike = f"M{svg.num(x)} {svg.num(y)}l{svg.num(wide)} {svg.num(high)}"
        parts.append(svg.path(f"{strike}m0 {svg.num(-high)}l{svg.num(-wide)} {svg.num(high)}", "line heavy stop"))
    elif state == "open":
        parts.append(svg.circle(mark, spot.y, 3.6, "line thin open none"))
    elif state == "not-connected":
        cross = f"M{svg.num(mark - 3.5)} {svg.num(spot.y - 3.5)}l7 7m0 -7l-7 7"
        parts.append(svg.path(cross, "line thin muted"))
    net = f" {spot.net}" if spot.net else ""
    told = {"open": "left open", "not-connected": "not connected", "forbidden": "forbidden", "double": "two wires"}
    tip = f"<title>{svg.esc(f'{spot.cavity}:{net} {told.get(state, state)}')}</title>"
    return f"<g{svg.attributes(data_cavity=spot.cavity, data_state=state)}>{tip}{''.join(parts)}</g>"


def _numbers(place: PlugPlace) -> str:
    """Numbers of a plug's cavities, over the lines that lead past them to the outer row."""
    anchor = None if place.at_source else "end"
    inset = 5 if place.at_source else CELL - 5
    return "".join(
        svg.text(spot.x + inset, spot.y + 3.5, spot.cavity, "ink haloed", size=svg.SMALL, anchor=anchor)
        for spot in place.spots
    )


def _way(sheet: Sheet, way: Way, dashes: dict[str, str], paints: Paints, crossed: dict[str, list[str]]) -> str:
    """One wire with its two labels, as one thing to point at and to tab to."""
    others = crossed.get(way.label, [])
    begins = f"from {_socket(sheet, way)}cavity {way.source_cavity}"
    if way.joined_to:
        begins = f"joined to wire {way.joined_to} behind {_socket(sheet, way)}cavity {way.source_cavity}"
    spoken = (
        f"Wire {way.label}, {way.net}, {begins} to {_part(sheet, way)}cavity {way.cavity}, {_crossing_list(others)}"
        + (", put by hand" if way.pinned else "")
    )
    (x1, x2), (start, end) = sheet.fan, _ends(sheet, way)
    num = svg.num
    d = f"M{num(sheet.left)} {num(way.source_y)}H{num(x1)}L{num(x2)} {num(way.end_y)}H{num(sheet.right)}"
    colour = paints.plain(way.colour)
    inner = dashes[way.net]
    parts = [
        f"<title>{svg.esc(spoken)}</title>",
        _start(sheet, way, start, colour),
        svg.line(sheet.right, way.end_y, end, way.end_y, "line lead"),
        svg.path(d, "outline", stroke_width=THICK + 1.8),
        svg.path(d, stroke=colour, stroke_width=THICK, data_wire=way.label),
        svg.path(d, stroke=words_on(colour), stroke_width=1.7, stroke_dasharray=inner) if inner else "",
        _dot(end, way.end_y, colour),
        _plate(sheet, way, sheet.left + GAP, way.source_y),
        _plate(sheet, way, sheet.right - GAP - sheet.plate, way.end_y),
    ]
    if way.pinned:
        parts.append(_pin(x2 - 6, way.end_y))
    link = svg.attributes(
        cls="way", tabindex="0", role="img", aria_label=spoken, data_label=way.label, data_net=way.net,
        data_source=f"{way.plug}/{way.source_cavity}", data_end=_end_word(sheet, way),
        data_joined=way.joined_to or None,
    )  # fmt: skip
    return f"<g{link}>{''.join(parts)}</g>"


def _start(sheet: Sheet, way: Way, x: float, colour: str) -> str:
    """How a wire begins: in its contact, or joined to the wire beside it that is in the contact."""
    kept = next((other for other in sheet.ways if way.joined_to and other.label == way.joined_to), None)
    if kept is None:
        return svg.line(x, way.source_y, sheet.left, way.source_y, "line lead") + _dot(x, way.source_y, colour)
    joint = sheet.left + GAP / 2
    lead = svg.line(joint, kept.source_y, joint, way.source_y, "line lead")
    middle = (kept.source_y + way.source_y) / 2
    return lead + svg.rect(joint - 3, middle - 3, 6, 6, cls="edge", fill=colour, data_mark="joint")


def _bridge(sheet: Sheet, bridge: Bridge, paints: Paints) -> str:
    """A wire between two cavities of the part plug, over its face."""
    spots = {spot.cavity: spot for spot in _end(sheet, bridge.plug).spots}
    first, second = spots[bridge.first], spots[bridge.second]
    d = f"M{svg.num(first.x + 9)} {svg.num(first.y)}L{svg.num(second.x + 9)} {svg.num(second.y)}"
    if first.y == second.y:
        d = f"M{svg.num(first.x + 9)} {svg.num(first.y)}v8H{svg.num(second.x + 9)}v-8"
    spoken = f"Wire {bridge.label}, {bridge.net}, bridge from cavity {bridge.first} to cavity {bridge.second}"
    colour = paints.plain(bridge.colour)
    parts = [
        f"<title>{svg.esc(spoken)}</title>",
        svg.path(d, "outline", stroke_width=THICK),
        svg.path(d, stroke=colour, stroke_width=THICK - 1.8, data_wire=bridge.label),
        _dot(first.x + 9, first.y, colour),
        _dot(second.x + 9, second.y, colour),
    ]
    group = svg.attributes(
        cls="way", tabindex="0", role="img", aria_label=spoken, data_label=bridge.label, data_net=bridge.net
    )
    return f"<g{group}>{''.join(parts)}</g>"


def _socket(sheet: Sheet, way: Way) -> str:
    """Name of the socket that a wire starts from, where there are several."""
    sources = [place for place in sheet.plugs if place.at_source]
    if len(sources) < 2:
        return ""
    return next(f"{svg.name(place.plug.socket)}, " for place in sources if place.index == way.plug)


def _part(sheet: Sheet, way: Way) -> str:
    """Letter of the plug that a wire goes to, where there are several."""
    return f"plug {_letter(way.end_plug)}, " if _several_ends(sheet) else ""


def _end_word(sheet: Sheet, way: Way) -> str:
    """Where a wire goes to, as the page's script reads it."""
    return f"{way.end_plug}/{way.cavity}" if _several_ends(sheet) else way.cavity


def _several_ends(sheet: Sheet) -> bool:
    return sum(not place.at_source for place in sheet.plugs) > 1


def _end(sheet: Sheet, index: int) -> PlugPlace:
    """The part plug of an index."""
    return next(place for place in sheet.plugs if not place.at_source and place.index == index)


def _crossing_list(others: list[str]) -> str:
    return f"crosses {', '.join(others)}" if others else "crosses no other"


def _ends(sheet: Sheet, way: Way) -> tuple[float, float]:
    """Where the wire sits in its cavities, along the drawing. [px]"""
    place = next(place for place in sheet.plugs if place.at_source and place.index == way.plug)
    source = next(spot for spot in place.spots if spot.cavity == way.source_cavity)
    end = next(spot for spot in _end(sheet, way.end_plug).spots if spot.cavity == way.cavity)
    return source.x + CELL - 9, end.x + 9


def _plate(sheet: Sheet, way: Way, x: float, y: float) -> str:
    """The label on a wire, as it is written at the bench, with the net behind it."""
    high = LANE - 2
    plate = svg.rect(x, y - high / 2, sheet.plate, high, cls="paper edge")
    tail = f' <tspan class="muted">{svg.esc(way.net)}</tspan>'
    place = svg.attributes(x=x + 4, y=y + 3.7, cls="ink", font_size=PLATE_TEXT)
    return f"{plate}<text{place}>{svg.esc(way.label)}{tail}</text>"


def _dot(x: float, y: float, colour: str) -> str:
    """The contact in its cavity."""
    return f"<circle{svg.attributes(cx=x, cy=y, r=DOT, cls='edge', fill=colour)}/>"


def _pin(x: float, y: float) -> str:
    """A drawing pin: the mark of a wire put by hand."""
    needle = svg.line(x, y, x, y - 9, "line heavy accent")
    head = f"M{svg.num(x - 5)} {svg.num(y - 9)}h10l-2 -3v-4h2v-2h-10v2h2v4z"
    return f'<g data-mark="pin">{needle}{svg.shape(head, "solid accent")}</g>'


def _meeting(meeting: Meeting) -> str:
    circle = svg.circle(meeting.x, meeting.y, 2.6, "meeting")
    return f"<g{svg.attributes(data_crossing=f'{meeting.first} {meeting.second}')}>{circle}</g>"


def _key(sheet: Sheet, dashes: dict[str, str], paints: Paints, y: float) -> tuple[str, float]:
    """Line pattern of each net, and what the marks mean; with the height of the whole drawing."""
    parts, x, right = [], SIDE, min(sheet.wide - SIDE, SIDE + MOST_KEY_WIDE)
    colours = {way.net: way.colour for way in reversed(sheet.ways)}
    for net, dash in dashes.items():
        wide = 34 + svg.width(net, svg.SMALL) + 14
        if x > SIDE and x + wide > right:
            x, y = SIDE, y + 15
        colour = paints.plain(colours[net])
        parts.append(svg.line(x, y - 3, x + 28, y - 3, "outline", stroke_width=THICK + 1.8))
        parts.append(svg.path(f"M{svg.num(x)} {svg.num(y - 3)}h28", stroke=colour, stroke_width=THICK))
        if dash:
            parts.append(
                svg.path(f"M{svg.num(x)} {svg.num(y - 3)}h28", stroke=words_on(colour), stroke_width=1.7,
                         stroke_dasharray=dash)
            )  # fmt: skip
        parts.append(svg.text(x + 34, y, net, "ink", size=svg.SMALL))
        x += wide
    marks = _marks(sheet)
    for line in svg.wrapped("; ".join(marks), sheet.wide - 2 * SIDE, svg.SMALL):
        y += 15
        parts.append(svg.text(SIDE, y, line, "muted", size=svg.SMALL))
    return f'<g class="key">{"".join(parts)}</g>', y + 12


def _marks(sheet: Sheet) -> list[str]:
    """Explanations of the marks that occur on this drawing."""
    spots = [spot for place in sheet.plugs for spot in place.spots]
    marks = ["seen from above, part's latch up; upper row outermost"]
    if sheet.meetings:
        marks.append("small circle: two wires cross")
    if any(spot.wires > 1 for spot in spots):
        marks.append("heavy frame: two wires in one contact")
    if sheet.bridges:
        marks.append("line over the part plug: bridge between two cavities")
    if any(way.joined_to for way in sheet.ways):
        marks.append("square before the labels: joined to the wire beside it, not in the contact")
    if any(way.pinned for way in sheet.ways):
        marks.append("pin: put by hand")
    if any(spot.forbidden for spot in spots):
        marks.append("struck out: forbidden")
    if any(spot.net and not spot.wires and not spot.forbidden for spot in spots):
        marks.append("open circle: live, left open")
    return marks
