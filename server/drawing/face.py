"""The face of a plug, cavity by cavity, as the builder holds it at the bench."""

from collections.abc import Collection, Sequence

from server.domain.model.catalogue import Catalogue, Family
from server.domain.model.plan import RunPlan
from server.drawing import svg
from server.drawing.face_cells import BARE_NUMBER, CELL, CELL_HEIGHT, NUMBER, RIM, Face, cavity, look_here
from server.drawing.face_frame import hood, pitch_dimensions, title_width, view_title
from server.drawing.face_labels import LINE, PITCH, Label, label_words, labels_of, room_of, upright
from server.drawing.face_words import CAPTION_SIZES, FaceWords, face_words
from server.drawing.paint import Paints
from server.drawing.plugs import View, cells, joined, latch_side, plug_of, wires_by_cavity

BARE_TEXT = 12.0
"""Size of the words beside the cavities, without captions. [px]"""
LATCH_HEIGHT, LATCH_WIDTH = 15.0, 84.0
MARGIN, BARE_MARGIN = 16.0, 3.0
SIDE, BARE_SIDE = 34.0, 27.0


def plug_face_svg(
    run: RunPlan,
    plug_index: int,
    at_source: bool,
    catalogue: Catalogue,
    *,
    view: View = "wire",
    captions: bool = True,
    nets: bool = True,
    look_at: Collection[str] = (),
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
        look_at: Names of cavities that are framed, for somebody to look at.

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
        *(cavity(face, cell) for cell in face.cells),
        *(look_here(face, cell) for cell in face.cells if cell.name in look_at),
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
    return svg.document(
        prefix, "face", (face.wide, tall), (f"{words.title}, {words.view}", _spoken(face, look_at)), body
    )


def _lay_out(
    run: RunPlan, plug_index: int, at_source: bool, catalogue: Catalogue, prefix: str, view: View, words: FaceWords, *,
    bare: bool, nets: bool,
) -> Face:  # fmt: skip
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
    return Face(
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


def _leaders(face: Face, labels: Sequence[Label], side: int, turned: bool, latch: str) -> str:
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


def _shell(face: Face) -> str:
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


def _latch(face: Face, latch: str) -> str:
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


def _first_mark(face: Face) -> str:
    """Triangle and number outside the shell, beside cavity 1."""
    first = face.cells[0]
    y = face.y(first)
    right_half = first.column >= (face.housing.columns - 1) / 2
    tip, out = (face.left + face.broad + 6, 9) if right_half else (face.left - 6, -9)
    mark = svg.shape(f"M{svg.num(tip)} {svg.num(y)}l{out} -5v10z", "solid")
    return mark + svg.text(tip + out * 1.4, y + 4, first.name, "ink", anchor=None if right_half else "end")


def _pitch(face: Face, family: Family, y: float) -> str:
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


def _spoken(face: Face, look_at: Collection[str] = ()) -> str:
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
        if cell.name in look_at:
            told += ", look here"
        parts.append(f"{cell.name}: {told}")
    latch = latch_side(face.housing, turned=face.plug.latch_down)
    lies = {"top": "Latch up. ", "bottom": "Latch down. ", "none": ""}[latch]
    return f"{lies}Cavities {'; '.join(parts)}."
