"""The cavities of a plug's face: what lies in each, and which of them to look at."""

from dataclasses import dataclass

from server.domain.model.catalogue import Housing
from server.domain.model.plan import PlannedWire, Plug, RunPlan
from server.drawing import svg
from server.drawing.face_frame import blanks
from server.drawing.face_labels import PITCH, Label
from server.drawing.paint import Paints, words_on
from server.drawing.plugs import Cell, View

NUMBER, BARE_NUMBER = 9.5, 12.0
"""Sizes of the words in a cavity, with and without captions around. [px]"""
CELL, SIGNAL_CELL, CELL_HEIGHT, STRIP = 37.0, 29.0, 36.0, 12.0
BARE_SIGNAL_CELL = 34.5
"""Width of a signal cavity without captions: two codes in it are as large as the smallest words beside it. [px]"""
RIM = 7.0
LOOK = 2.0
"""How far outside its cavity the frame lies that says to look there. [px]"""


@dataclass(frozen=True, slots=True)
class Face:
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
        """Width of the body. [px]"""
        return self.housing.columns * PITCH + 2 * RIM

    def cell_broad(self, cell: Cell) -> float:
        """Width of a cavity. [px]"""
        if not cell.signal:
            return CELL
        return BARE_SIGNAL_CELL if self.number == BARE_NUMBER else SIGNAL_CELL

    def x(self, cell: Cell) -> float:
        """Middle of a cavity across. [px]"""
        return self.left + RIM + (cell.column + 0.5) * PITCH

    def y(self, cell: Cell) -> float:
        """Middle of a cavity down. [px]"""
        return self.top + RIM + (cell.row + 0.5) * self.row_pitch


def cavity(face: Face, cell: Cell) -> str:
    """One cavity: its number, and its wires, a cross, or an open circle.

    Args:
        face: The face that it lies in.
        cell: The cavity with its place.
    """
    broad = face.cell_broad(cell)
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


def _band(face: Face, wire: PlannedWire, x: float, y: float, *, broad: float, high: float) -> str:
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


def _ring(face: Face, wire: PlannedWire, at: tuple[float, float], size: tuple[float, float]) -> str:
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


def look_here(face: Face, cell: Cell) -> str:
    """A heavy frame with a pointer at its corner, around a cavity that is to be looked at.

    Args:
        face: The face that it lies in.
        cell: The cavity with its place.
    """
    broad = face.cell_broad(cell) + 2 * LOOK
    x, y = face.x(cell) - broad / 2, face.y(cell) - CELL_HEIGHT / 2 - LOOK
    frame = svg.rect(x, y, broad, CELL_HEIGHT + 2 * LOOK, cls="line look", fill="none")
    corner = svg.shape(f"M{svg.num(x)} {svg.num(y)}h11l-11 11z", "solid")
    return f"<g{svg.attributes(data_look=cell.name)}>{frame}{corner}</g>"
