"""The face of a plug, cavity by cavity, as the builder holds it at the bench."""

from collections.abc import Sequence
from dataclasses import dataclass

from server.domain.model.catalogue import Catalogue, Housing
from server.domain.model.plan import PlannedWire, Plug, RunPlan
from server.drawing import svg
from server.drawing.face_words import CAPTION_SIZES, FaceWords, face_words
from server.drawing.paint import Paints, words_on
from server.drawing.plugs import Cell, View, cells, joined, latch_side, plug_of, wires_by_cavity

PITCH = 44.0
"""One pitch of the housing on the drawing. [px]"""
NUMBER, BARE_NUMBER, BARE_TEXT = 9.5, 12.0, 12.0
"""Sizes of the words in a cavity and, without captions, of those beside it too. [px]"""
CELL, SIGNAL_CELL, CELL_HEIGHT, STRIP = 37.0, 29.0, 36.0, 12.0
RIM = 7.0
LATCH_HEIGHT, LATCH_WIDTH = 15.0, 84.0
LINE = 13.0
MARGIN, BARE_MARGIN = 16.0, 3.0
SIDE, BARE_SIDE = 34.0, 27.0


@dataclass(frozen=True, slots=True)
class Label:
    """What stands beside one cavity: one entry per wire, as net and (muted) what else there is to say."""

    cell: Cell
    lines: tuple[tuple[str, str], ...]
    cls: str
    size: float
    """Size of the words. [px]"""

    def across(self) -> float:
        """Greatest width with the second words below the first. [px]"""
        return max(svg.width(word, self.size) for entry in self.lines for word in entry)

    def along(self) -> float:
        """Greatest width with the second words behind the first. [px]"""
        return max(svg.width(f"{first} {second}".strip(), self.size) for first, second in self.lines)

    def depth(self) -> int:
        """Lines of text with the second words below the first."""
        return sum(2 if second else 1 for _, second in self.lines)


@dataclass(frozen=True, slots=True)
class _Face:
    """Everything the pieces of the drawing need to know of one another."""

    run: RunPlan
    plug: Plug
    at_source: bool
    housing: Housing
    cells: tuple[Cell, ...]
    wires: dict[str, tuple[PlannedWire, ...]]
    joined_on: dict[str, tuple[str, ...]]
    """Labels of wires that are joined on behind the housing, by the cavity whose wire they are joined to."""
    paints: Paints
    row_pitch: float
    left: float
    top: float
    """Upper edge of the body. [px]"""
    high: float
    """Height of the body. [px]"""
    wide: float
    """Width of the drawing. [px]"""
    number: float
    """Size of the words in a cavity. [px]"""
    latch: str
    """Side of the latch: ``top``, ``bottom`` or ``none``."""
    labels: tuple[tuple[Label, ...], tuple[Label, ...]]
    """Above and below the body."""

    @property
    def broad(self) -> float:
        return self.housing.columns * PITCH + 2 * RIM

    def x(self, cell: Cell) -> float:
        return self.left + RIM + (cell.column + 0.5) * PITCH

    def y(self, cell: Cell) -> float:
        return self.top + RIM + (cell.row + 0.5) * self.row_pitch


def plug_face_svg(
    run: RunPlan,
    plug_index: int,
    at_source: bool,
    catalogue: Catalogue,
    *,
    view: View = "wire",
    captions: bool = True,
) -> str:
    """Picture of a plug's face with its wires, numbers, colours and nets.

    A plug whose latch points down is turned by half a turn, latch and positions both. The mating side is the mirror
    image of the wire side.

    Args:
        run: The planned run.
        plug_index: Index into the run's ``sources`` or ``ends``.
        at_source: True for a plug of ``sources``.
        catalogue: Reference data with the housing, its family and the colours.
        view: ``wire`` for the side the wires go in, ``mating`` for the side that meets the socket.
        captions: False leaves the lines above and the marks below to the page around, so that the face is larger; see
            ``face_words``.

    Returns:
        An ``svg`` element.

    Raises:
        IndexError: the run has no such plug.
        KeyError: the catalogue has no such housing or family.
    """
    prefix = f"r{run.number}-{'s' if at_source else 'e'}{plug_index}-{view}"
    words = face_words(run, plug_index, at_source, catalogue, view=view)
    face = _lay_out(run, plug_index, at_source, catalogue, prefix, view, words, bare=not captions)
    (above, below), latch, rows = face.labels, face.latch, max(cell.row for cell in face.cells) + 1
    foot = face.top + face.high + _room(below, _upright(below, rows)) + (LATCH_HEIGHT if latch == "bottom" else 0.0)
    body = [
        face.paints.definitions(w.colour for held in face.wires.values() for w in held),
        _heading(words, view) if captions else "",
        _shell(face),
        _leaders(face, above, -1, _upright(above, rows), latch),
        _leaders(face, below, 1, _upright(below, rows), latch),
        _latch(face, latch),
        _first_mark(face),
        *(_cavity(face, cell) for cell in face.cells),
    ]
    tall = foot + BARE_MARGIN
    if captions:
        foot += 24
        body.append(_pitch_dimension(face, catalogue.families[face.housing.family].pitch_mm, foot))
        marks = enumerate(words.marks)
        body += [svg.text(MARGIN, foot + 20 + i * LINE, mark, "muted", size=svg.SMALL) for i, mark in marks]
        tall = foot + 12 + (len(words.marks) * LINE + 6 if words.marks else 0)
    return svg.document(prefix, "face", (face.wide, tall), (f"{words.title}, {words.view}", _spoken(face)), body)


def _lay_out(
    run: RunPlan, plug_index: int, at_source: bool, catalogue: Catalogue, prefix: str, view: View, words: FaceWords, *,
    bare: bool,
) -> _Face:  # fmt: skip
    """The face with its place on the drawing and the labels above and below it."""
    plug = plug_of(run, plug_index, at_source)
    housing = catalogue.housings[plug.housing]
    family = catalogue.families[housing.family]
    shown = cells(housing, turned=plug.latch_down, mirrored=view == "mating")
    wires = dict(wires_by_cavity(run, plug_index, at_source))
    joined_on = _joined_on(run, plug_index) if at_source else {}
    above, below = _labels(shown, plug, wires, joined_on, BARE_TEXT if bare else svg.TEXT)
    broad = housing.columns * PITCH + 2 * RIM
    lines = words.lines
    if bare:
        first_right = shown[0].column >= (housing.columns - 1) / 2
        wide = broad + BARE_SIDE + 3 * BARE_MARGIN
        left = 2 * BARE_MARGIN if first_right else BARE_SIDE + BARE_MARGIN
    else:
        captions = (svg.width(line, size) for line, size in zip(lines, CAPTION_SIZES, strict=False))
        wide = max(broad + 2 * SIDE, *captions, 230.0) + 2 * MARGIN
        left = (wide - broad) / 2
    row_pitch = max(PITCH, family.row_pitch_mm / family.pitch_mm * PITCH)
    rows = max(cell.row for cell in shown) + 1
    head = BARE_MARGIN if bare else MARGIN + len(lines) * (LINE + 3) + 6
    latch = latch_side(housing, turned=plug.latch_down)
    top = head + _room(above, _upright(above, rows)) + (LATCH_HEIGHT if latch == "top" else 0.0)
    high, paints = rows * row_pitch + 2 * RIM, Paints(prefix, catalogue)
    labels = (tuple(above), tuple(below))
    number = BARE_NUMBER if bare else NUMBER
    return _Face(
        run, plug, at_source, housing, shown, wires, joined_on, paints, row_pitch, left, top, high, wide, number,
        latch, labels,
    )  # fmt: skip


def _joined_on(run: RunPlan, plug_index: int) -> dict[str, tuple[str, ...]]:
    """Labels of wires that are joined on behind a source plug, by cavity."""
    found: dict[str, tuple[str, ...]] = {}
    for wire in run.wires:
        if wire.label in joined(run) and wire.source.plug == plug_index:
            found[wire.source.cavity] = (*found.get(wire.source.cavity, ()), wire.label)
    return found


def _heading(words: FaceWords, view: View) -> str:
    parts = []
    y = MARGIN + svg.TEXT
    for i, (line, size) in enumerate(zip(words.lines, CAPTION_SIZES, strict=False)):
        if i == 2:
            parts.append(svg.eye(MARGIN, y - 4) + svg.text(MARGIN + 21, y, line.strip(), "ink"))
        else:
            parts.append(svg.text(MARGIN, y, line, ("heading", "ink", "", "muted")[i], size=size))
        y += LINE + 3
    return f'<g data-view="{view}">{"".join(parts)}</g>'


def _labels(
    shown: tuple[Cell, ...],
    plug: Plug,
    wires: dict[str, tuple[PlannedWire, ...]],
    joined_on: dict[str, tuple[str, ...]],
    size: float,
) -> tuple[list[Label], list[Label]]:
    """Labels above and below the face; the inner row of three shares the side of the outer row that is not full."""
    rows = max(cell.row for cell in shown) + 1
    signal_row = next((cell.row for cell in shown if cell.signal), None)
    above: list[Label] = []
    below: list[Label] = []
    for cell in shown:
        label = _label(cell, plug, wires.get(cell.name, ()), joined_on.get(cell.name, ()), size)
        if label is None:
            continue
        upper = (
            cell.row == 0 and rows > 1 if signal_row is None else (cell.row < 1 if signal_row == 2 else cell.row < 2)
        )
        (above if upper else below).append(label)
    return above, below


def _label(
    cell: Cell, plug: Plug, wires: tuple[PlannedWire, ...], joined_on: tuple[str, ...], size: float
) -> Label | None:
    function = plug.functions.get(cell.name, "")
    net = plug.nets.get(cell.name, "")
    if len(wires) > 1:
        return Label(cell, tuple((f"{w.label} {w.net}", "") for w in wires), "ink", size)
    if wires:
        shown = wires[0].net
        more = [function] if function != shown else []
        more += [f"+{label}" for label in joined_on]
        return Label(cell, ((shown, " ".join(filter(None, more))),), "ink", size)
    if net:
        return Label(cell, ((net, function if function != net else ""),), "muted", size)
    return None


def _upright(labels: Sequence[Label], rows: int) -> bool:
    """True when the names of a side must be turned to fit the pitch."""
    return bool(labels) and (rows > 2 or max(label.across() for label in labels) > PITCH - 0.5)


def _room(labels: Sequence[Label], upright: bool) -> float:
    """Height that the labels of one side take. [px]"""
    if not labels:
        return 10.0
    return 22.0 + (max(x.along() for x in labels) if upright else max(x.depth() for x in labels) * LINE)


def _leaders(face: _Face, labels: Sequence[Label], side: int, upright: bool, latch: str) -> str:
    """Net names of one side with the lines that lead to them; ``side`` is -1 above and 1 below."""
    if not labels:
        return ""
    edge = face.top if side < 0 else face.top + face.high
    start = edge + side * (12 + (LATCH_HEIGHT if latch == ("top" if side < 0 else "bottom") else 0))
    outer = min(x.cell.row for x in labels) if side < 0 else max(x.cell.row for x in labels)
    parts = []
    for label in labels:
        inner = label.cell.row != outer
        x = face.x(label.cell) + (PITCH / 2 if inner else 0.0)
        y = face.y(label.cell) + side * CELL_HEIGHT / 2
        bend = (
            f"M{svg.num(face.x(label.cell) + CELL / 2 - 6)} {svg.num(y)}v{svg.num(side * 3)}L{svg.num(x)} "
            if inner
            else ""
        )
        d = (
            f"{bend}{svg.num(y + side * 7)}V{svg.num(start)}"
            if inner
            else f"M{svg.num(x)} {svg.num(y)}V{svg.num(start)}"
        )
        parts.append(svg.path(d, "line thin muted"))
        parts.append(_words(label, x, start + side * 4, side, upright))
    return "".join(parts)


def _words(label: Label, x: float, y: float, side: int, upright: bool) -> str:
    attributes = svg.attributes(data_label=label.cell.name)
    parts = []
    if upright:
        first = x + 4 - (len(label.lines) - 1) * 6
        for i, (net, more) in enumerate(label.lines):
            at = first + i * 12
            turn = f"rotate(-90 {svg.num(at)} {svg.num(y)})"
            tail = f' <tspan class="muted">{svg.esc(more)}</tspan>' if more else ""
            place = svg.attributes(
                x=at, y=y, cls=label.cls, font_size=_own(label.size), text_anchor=None if side < 0 else "end",
                transform=turn,
            )  # fmt: skip
            parts.append(f"<text{place}>{svg.esc(net)}{tail}</text>")
    else:
        words = [(w, cls) for net, more in label.lines for w, cls in ((net, label.cls), (more, "muted")) if w]
        base = y - (len(words) - 1) * LINE if side < 0 else y + label.size - 2
        for i, (word, cls) in enumerate(words):
            parts.append(svg.text(x, base + i * LINE, word, cls, size=label.size, anchor="middle"))
    return f"<g{attributes}>{''.join(parts)}</g>"


def _own(size: float) -> float | None:
    """A size as an attribute; the drawing's own size needs none."""
    return None if size == svg.TEXT else size


def _shell(face: _Face) -> str:
    """The plastic shell, with the cap of an insulation-displacement housing dashed around it."""
    left, top, broad, high = face.left, face.top, face.broad, face.high
    shell = svg.rect(left, top, broad, high, cls="paper edge heavy", data_body="shell")
    if not face.plug.cap:
        return shell
    return shell + svg.rect(
        left - 4, top - 4, broad + 8, high + 8, cls="line thin", fill="none", stroke_dasharray="7 3"
    )


def _latch(face: _Face, latch: str) -> str:
    """The latch on its side, with the word that says how it lies."""
    left, top, broad = face.left, face.top, face.broad
    if latch == "none":
        if not face.plug.latch_down:
            return ""
        return svg.text(left + broad / 2, top - 4, "turned over", "muted", size=svg.SMALL, anchor="middle")
    wide = min(LATCH_WIDTH, broad - 4)
    y = top - LATCH_HEIGHT if latch == "top" else top + face.high
    words = "latch up" if latch == "top" else "latch down"
    size = svg.SMALL if svg.width(words, svg.SMALL) + 6 <= wide else svg.SMALL - 1
    middle = left + broad / 2
    box = svg.rect(middle - wide / 2, y, wide, LATCH_HEIGHT, cls="paper edge heavy", data_latch=latch)
    return box + svg.text(middle, y + 11, words, "ink", size=size, anchor="middle")


def _first_mark(face: _Face) -> str:
    """Triangle and number outside the shell, beside cavity 1."""
    first = face.cells[0]
    y = face.y(first)
    right_half = first.column >= (face.housing.columns - 1) / 2
    tip, out = (face.left + face.broad + 6, 9) if right_half else (face.left - 6, -9)
    mark = svg.shape(f"M{svg.num(tip)} {svg.num(y)}l{out} -5v10z", "solid")
    return mark + svg.text(tip + out * 1.4, y + 4, first.name, "ink", anchor=None if right_half else "end")


def _cavity(face: _Face, cell: Cell) -> str:
    """One cavity: its number, and its wires, a cross, or an open circle."""
    broad = SIGNAL_CELL if cell.signal else CELL
    x, y = face.x(cell) - broad / 2, face.y(cell) - CELL_HEIGHT / 2
    wires = face.wires.get(cell.name, ())
    well_y, well = y + STRIP, CELL_HEIGHT - STRIP
    parts = [svg.rect(x, y, broad, CELL_HEIGHT, cls="paper edge")]
    if wires:
        band = well / len(wires)
        parts += [_band(face, wire, x, well_y + i * band, broad=broad, high=band) for i, wire in enumerate(wires)]
        state = "double" if len(wires) > 1 else "wire"
    elif face.run.kind == "sleeved":
        state = "moulded"
    elif face.plug.nets.get(cell.name):
        state = "open"
        parts.append(svg.circle(x + broad / 2, well_y + well / 2, 6, "line thin open"))
        if face.at_source:
            # A live contact is another thing than a cavity without a wire: touching it matters.
            parts.append(svg.circle(x + broad / 2, well_y + well / 2, 2.5, "solid"))
    else:
        state = "not-connected"
        cross = f"M{svg.num(x + 3)} {svg.num(well_y + 2)}l{svg.num(broad - 6)} {svg.num(well - 4)}"
        parts.append(svg.path(f"{cross}m0 {svg.num(4 - well)}l{svg.num(6 - broad)} {svg.num(well - 4)}", "line thin"))
    parts.append(svg.text(x + broad / 2, y + STRIP - 2.3, cell.name, "ink", size=face.number, anchor="middle"))
    return f"<g{svg.attributes(data_cavity=cell.name, data_state=state)}>{''.join(parts)}</g>"


def _band(face: _Face, wire: PlannedWire, x: float, y: float, *, broad: float, high: float) -> str:
    """One wire in its cavity: hatched colour, and its code on a plain plate."""
    sleeved = wire.sleeve_colour and wire.sleeve_colour != wire.colour
    code = f"{wire.colour}/{wire.sleeve_colour}" if sleeved else wire.colour
    room = (broad - 4) / (len(code) * svg.CHARACTER)
    size = min(face.number, room, high - 0.5) if sleeved else min(max(svg.TEXT, face.number), high - 0.5)
    plate = min(svg.width(code, size) + 3, broad)
    colour = face.paints.plain(wire.colour)
    middle = y + high / 2
    return "".join(
        (
            svg.rect(x, y, broad, high, fill=face.paints.hatched(wire.colour), cls="edge", data_wire=wire.label),
            _ring(face, wire, (x, y), (broad, high)) if sleeved else "",
            svg.rect(x + (broad - plate) / 2, middle - size / 2, plate, size, fill=colour),
            svg.text(x + broad / 2, middle + size * 0.35, code, size=size, anchor="middle", fill=words_on(colour)),
        )
    )


def _ring(face: _Face, wire: PlannedWire, at: tuple[float, float], size: tuple[float, float]) -> str:
    """The sleeve around its wire, where the two have different colours."""
    thick = 3.0 if size[1] > 14 else 2.0
    colour = face.paints.plain(wire.sleeve_colour)
    inset = thick / 2 + 0.5
    return svg.rect(
        at[0] + inset,
        at[1] + inset,
        size[0] - 2 * inset,
        size[1] - 2 * inset,
        fill="none",
        stroke=colour,
        stroke_width=thick,
    )


def _pitch_dimension(face: _Face, pitch_mm: float, y: float) -> str:
    """Pitch of the housing, measured between the two leftmost cavities."""
    if face.housing.columns < 2:
        return ""
    x = face.left + RIM + PITCH / 2
    words = f"{svg.num(pitch_mm)} mm"
    ticks = "".join(
        f"M{svg.num(at - 3)} {svg.num(y + 3)}l6 -6M{svg.num(at)} {svg.num(y - 5)}v10" for at in (x, x + PITCH)
    )
    return svg.line(x, y, x + PITCH, y) + svg.path(ticks, "line thin") + svg.text(x + PITCH + 8, y + 4, words, "ink")


def _spoken(face: _Face) -> str:
    """The face in words, cavity by cavity."""
    if face.run.kind == "sleeved":
        return "A moulded plug, never rewired."
    parts = []
    for cell in face.cells:
        wires = face.wires.get(cell.name, ())
        net = face.plug.nets.get(cell.name, "")
        told = " and ".join(f"{w.net} {w.colour}" for w in wires) or (f"{net}, open" if net else "not connected")
        if others := face.joined_on.get(cell.name):
            told += f", {' and '.join(others)} joined on behind it"
        parts.append(f"{cell.name}: {told}")
    latch = latch_side(face.housing, turned=face.plug.latch_down)
    lies = {"top": "Latch up. ", "bottom": "Latch down. ", "none": ""}[latch]
    return f"{lies}Cavities {'; '.join(parts)}."
