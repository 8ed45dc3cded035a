"""The face of a plug, cavity by cavity, as the builder holds it at the bench."""

from collections.abc import Sequence
from dataclasses import dataclass

from server.domain.model.catalogue import Catalogue, Family, Housing
from server.domain.model.plan import PlannedWire, Plug, RunPlan
from server.drawing import svg
from server.drawing.face_frame import blanks, hood, pitch_dimensions, title_width, view_title
from server.drawing.face_labels import LINE, PITCH, Label, label_words, labels_of, room_of, upright
from server.drawing.face_words import CAPTION_SIZES, FaceWords, face_words
from server.drawing.paint import Paints, words_on
from server.drawing.plugs import Cell, View, cells, joined, latch_side, plug_of, wires_by_cavity

NUMBER, BARE_NUMBER, BARE_TEXT = 9.5, 12.0, 12.0
"""Sizes of the words in a cavity and, without captions, of those beside it too. [px]"""
CELL, SIGNAL_CELL, CELL_HEIGHT, STRIP = 37.0, 29.0, 36.0, 12.0
BARE_SIGNAL_CELL = 34.5
"""Width of a signal cavity without captions: two codes in it are as large as the smallest words beside it. [px]"""
RIM = 7.0
LATCH_HEIGHT, LATCH_WIDTH = 15.0, 84.0
MARGIN, BARE_MARGIN = 16.0, 3.0
SIDE, BARE_SIDE = 34.0, 27.0


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
    view: View

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
    nets: bool = True,
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
        nets: False leaves out the nets beside the cavities too, where a table beside the drawing holds them.

    Returns:
        An ``svg`` element.

    Raises:
        IndexError: the run has no such plug.
        KeyError: the catalogue has no such housing or family.
    """
    prefix = f"r{run.number}-{'s' if at_source else 'e'}{plug_index}-{view}"
    words = face_words(run, plug_index, at_source, catalogue, view=view)
    face = _lay_out(run, plug_index, at_source, catalogue, prefix, view, words, bare=not captions, nets=nets)
    (above, below), latch, rows = face.labels, face.latch, max(cell.row for cell in face.cells) + 1
    foot = face.top + face.high + room_of(below, upright(below, rows)) + (LATCH_HEIGHT if latch == "bottom" else 0.0)
    body = [
        face.paints.definitions(w.colour for held in face.wires.values() for w in held),
        _heading(words, view) if captions else "",
        _shell(face),
        _leaders(face, above, -1, upright(above, rows), latch),
        _leaders(face, below, 1, upright(below, rows), latch),
        _latch(face, latch),
        _first_mark(face),
        *(_cavity(face, cell) for cell in face.cells),
    ]
    tall = foot + BARE_MARGIN
    if not captions:
        # The words around may be left to the page, but no face goes without its side.
        body.append(view_title(BARE_MARGIN, foot + 14, view, size=face.number, told=False))
        tall = foot + 20
    else:
        foot += 24
        body.append(_pitch(face, catalogue.families[face.housing.family], foot))
        marks = enumerate(words.marks)
        body += [svg.text(MARGIN, foot + 20 + i * LINE, mark, "muted", size=svg.SMALL) for i, mark in marks]
        tall = foot + 12 + (len(words.marks) * LINE + 6 if words.marks else 0)
    return svg.document(prefix, "face", (face.wide, tall), (f"{words.title}, {words.view}", _spoken(face)), body)


def _lay_out(
    run: RunPlan, plug_index: int, at_source: bool, catalogue: Catalogue, prefix: str, view: View, words: FaceWords, *,
    bare: bool, nets: bool,
) -> _Face:  # fmt: skip
    """The face with its place on the drawing and the labels above and below it."""
    plug = plug_of(run, plug_index, at_source)
    housing = catalogue.housings[plug.housing]
    family = catalogue.families[housing.family]
    shown = cells(housing, turned=plug.latch_down, mirrored=view == "mating")
    wires = dict(wires_by_cavity(run, plug_index, at_source))
    joined_on = _joined_on(run, plug_index) if at_source else {}
    size = BARE_TEXT if bare else svg.TEXT
    above, below = labels_of(shown, plug, wires, joined_on, size) if nets else ([], [])
    broad = housing.columns * PITCH + 2 * RIM
    lines = words.lines
    if bare:
        first_right = shown[0].column >= (housing.columns - 1) / 2
        wide = max(broad + BARE_SIDE + 3 * BARE_MARGIN, title_width(BARE_NUMBER, told=False) + 2 * BARE_MARGIN)
        left = 2 * BARE_MARGIN if first_right else BARE_SIDE + BARE_MARGIN
    else:
        captions = (svg.width(line, size) for line, size in zip(lines, CAPTION_SIZES, strict=False))
        wide = max(broad + 2 * SIDE, *captions, title_width()) + 2 * MARGIN
        left = (wide - broad) / 2
    row_pitch = max(PITCH, family.row_pitch_mm / family.pitch_mm * PITCH)
    rows = max(cell.row for cell in shown) + 1
    head = BARE_MARGIN if bare else MARGIN + len(lines) * (LINE + 3) + 6
    latch = latch_side(housing, turned=plug.latch_down)
    top = head + room_of(above, upright(above, rows)) + (LATCH_HEIGHT if latch == "top" else 0.0)
    high, paints = rows * row_pitch + 2 * RIM, Paints(prefix, catalogue)
    labels = (tuple(above), tuple(below))
    number = BARE_NUMBER if bare else NUMBER
    return _Face(
        run, plug, at_source, housing, shown, wires, joined_on, paints, row_pitch, left, top, high, wide, number,
        latch, labels, view,
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
            parts.append(view_title(MARGIN, y, view))
        else:
            parts.append(svg.text(MARGIN, y, line, ("heading", "ink", "", "muted")[i], size=size))
        y += LINE + 3
    return f'<g data-view="{view}">{"".join(parts)}</g>'


def _leaders(face: _Face, labels: Sequence[Label], side: int, turned: bool, latch: str) -> str:
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
        parts.append(label_words(label, x, start + side * 4, side, turned=turned))
    return "".join(parts)


def _shell(face: _Face) -> str:
    """The plastic shell, with the cap of an insulation-displacement housing dashed around it."""
    left, top, broad, high = face.left, face.top, face.broad, face.high
    shell = svg.rect(left, top, broad, high, cls="paper edge heavy", data_body="shell")
    if face.view == "mating":
        shell += hood(left, top, broad, high)
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
    sizes = (size for size in (face.number, svg.SMALL) if svg.width(words, size) + 6 <= wide)
    size = next(sizes, svg.SMALL - 1)
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
    signal = BARE_SIGNAL_CELL if face.number == BARE_NUMBER else SIGNAL_CELL
    broad = signal if cell.signal else CELL
    x, y = face.x(cell) - broad / 2, face.y(cell) - CELL_HEIGHT / 2
    wires = face.wires.get(cell.name, ())
    well_y, well = y + STRIP, CELL_HEIGHT - STRIP
    parts = [svg.rect(x, y, broad, CELL_HEIGHT, cls="paper edge")]
    if wires:
        band = well / len(wires)
        parts += [_band(face, wire, x, well_y + i * band, broad=broad, high=band) for i, wire in enumerate(wires)]
        state = "double" if len(wires) > 1 else "wire"
    elif cell.name in blanks(face.housing):
        state = "blank"
        parts.append(svg.rect(x + 3, well_y, broad - 6, well - 3, cls="solid"))
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
    # Without captions a drawing is shown smaller, and its words take the room up to the cavity's edge.
    room = (broad - (1 if face.number == BARE_NUMBER else 4)) / (len(code) * svg.CHARACTER)
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


def _pitch(face: _Face, family: Family, y: float) -> str:
    """Pitch between the two leftmost cavities, and between the rows on the side away from cavity 1."""
    rows = max(cell.row for cell in face.cells if not cell.signal) + 1
    right_half = face.cells[0].column >= (face.housing.columns - 1) / 2
    at = face.left - 14 if right_half else face.left + face.broad + 22
    upper = min((cell for cell in face.cells if not cell.signal), key=lambda cell: cell.row)
    words = f"{svg.num(family.pitch_mm)} mm"
    return pitch_dimensions(
        x=face.left + RIM + PITCH / 2,
        y=y,
        pitch=(PITCH, face.row_pitch),
        words=(words if face.housing.columns > 1 else "", f"{svg.num(family.row_pitch_mm)} mm"),
        upright=(at, face.y(upper)) if rows > 1 and family.row_pitch_mm else None,
    )


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
