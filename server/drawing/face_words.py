"""What is written beside the face of a plug: its names, the side it is seen from, and what its marks mean."""

from dataclasses import dataclass

from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import Plug, RunPlan
from server.drawing import svg
from server.drawing.face_frame import blanks
from server.drawing.plugs import View, cells, joined, plug_of, wires_by_cavity

CAPTION_SIZES = (svg.HEADING, svg.TEXT, svg.TEXT, svg.SMALL)
LEAST_ROOM = 380.0


@dataclass(frozen=True, slots=True)
class FaceWords:
    """Words of one face, for the drawing or for the page around a drawing without captions."""

    title: str
    """Where the plug goes: place and socket."""
    housing: str
    """Housing, and which end of the cable it is."""
    view: str
    """From which side it is seen."""
    more: str
    """Cap or key of the housing; empty for none."""
    marks: tuple[str, ...]
    """Explanations of the marks that occur on this face."""
    lines: tuple[str, ...]
    """The first four, cut to the width of the drawing; the third leaves room for the eye before it."""


def face_words(
    run: RunPlan, plug_index: int, at_source: bool, catalogue: Catalogue, *, view: View = "wire"
) -> FaceWords:
    """The words of one face.

    Args:
        run: The planned run.
        plug_index: Index into the run's ``sources`` or ``ends``.
        at_source: True for a plug of ``sources``.
        catalogue: Reference data with the housing.
        view: Side from which the face is seen.

    Raises:
        IndexError: the run has no such plug.
        KeyError: the catalogue has no such housing.
    """
    plug = plug_of(run, plug_index, at_source)
    housing = catalogue.housings[plug.housing]
    title = f"{svg.name(plug.place)}: {svg.name(plug.socket)}"
    named = f"{housing.name}, {'source end' if at_source else 'part end'}"
    seen = "seen from the wire side" if view == "wire" else "seen from the mating side"
    cap = catalogue.caps.get(plug.cap)
    more = f"cap: {cap.name if cap else plug.cap}" if plug.cap else f"key: {housing.key}" if housing.key else ""
    room = max(housing.columns * 44.0 + 68.0, LEAST_ROOM)
    lines = [svg.fitted(title, room, svg.HEADING), svg.fitted(named, room), f"   {seen}"]
    if more:
        # Which cavity has which shape is in no published table that the catalogue could cite.
        plain = ", drawn plain" if "cavities" in housing.key and not plug.cap else ""
        lines.append(more if plug.cap else svg.fitted(more + plain, room, svg.SMALL))
    return FaceWords(title, named, seen, more, _marks(run, plug, plug_index, at_source, catalogue), tuple(lines))


def _marks(run: RunPlan, plug: Plug, plug_index: int, at_source: bool, catalogue: Catalogue) -> tuple[str, ...]:
    """Explanations of the marks that occur on a face."""
    if run.kind == "sleeved":
        return ("moulded plug, never rewired",)
    wires = wires_by_cavity(run, plug_index, at_source)
    shown = [cell.name for cell in cells(catalogue.housings[plug.housing], turned=False, mirrored=False)]
    marks = []
    if any(len(held) > 1 for held in wires.values()):
        marks.append("two bands: two wires in one contact")
    if at_source and any(wire.source.plug == plug_index for wire in run.wires if wire.label in joined(run)):
        marks.append("+ label: joined to it behind the plug")
    if any(w.sleeve_colour and w.sleeve_colour != w.colour for held in wires.values() for w in held):
        marks.append("two codes: wire colour / sleeve colour (frame)")
    if any(name not in wires and plug.nets.get(name) for name in shown):
        marks.append("circle with a dot: live, left open" if at_source else "empty circle: no wire")
    blank = blanks(catalogue.housings[plug.housing])
    if blank:
        marks.append("black: blank position, no hole")
    if any(name not in wires and not plug.nets.get(name) and name not in blank for name in shown):
        marks.append("cross: not connected")
    return tuple(marks)
