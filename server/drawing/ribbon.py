"""A run as a ribbon, laid out flat between its plugs."""

from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import PlannedWire, RunPlan
from server.drawing import svg
from server.drawing.plugs import length_words, run_name, sleeve_colours, visible_colour, wire_words
from server.drawing.ribbon_combs import comb_words, combs_svg
from server.drawing.ribbon_dimensions import dimensions, tap_words
from server.drawing.ribbon_end import ribbon_end_svg
from server.drawing.ribbon_layout import Flat, lay_out, sizes_for, way
from server.drawing.ribbon_names import end_plug, source_plug
from server.drawing.ribbon_sleeves import bands

__all__ = ["ribbon_end_svg", "ribbon_svg"]

THICK = 8.0
"""Thickness of a wire in the large drawing. [px]"""
JACKET = 14.0
"""Thickness of a moulded cable. [px]"""
DASHES = "9 5"


def ribbon_svg(run: RunPlan, catalogue: Catalogue, *, small: bool = False, measures: bool = True) -> str:
    """The run laid out flat, wire by wire, from its source plugs to its part plugs, seen from above.

    Along the ribbon the drawing is to scale unless it says otherwise; a run that is not measured is dashed.

    Args:
        run: The planned run.
        catalogue: Reference data with housings and colours.
        small: True for a card: wide and low, about 4 to 1, with the measures but without a line of words for each wire;
            its words are 6.8 pt high when it is 128 mm wide.
        measures: False leaves out the measures below it, where the page around says them and has little room.

    Returns:
        An ``svg`` element.
    """
    flat = lay_out(run, catalogue, sizes_for(run, small=small))
    codes = [visible_colour(wire) for wire in run.wires]
    bare = [w.colour for w in run.wires if not w.sleeve_colour]
    foot, bottom = dimensions(flat) if measures else ("", flat.bottom)
    body = [
        flat.paints.definitions(bare, sleeve_colours(run, run.wires)),
        _jacket(flat) if run.kind == "sleeved" else "",
        *(_wire(flat, wire) for wire in run.wires),
        bands(flat, _jacket_thick(flat) if run.kind == "sleeved" else _thick(flat)),
        combs_svg(flat),
        *(source_plug(flat, i) for i in range(len(run.sources))),
        *(end_plug(flat, i) for i in range(len(run.ends))),
        foot,
    ]
    title = f"Run {run.number}, {svg.name(run_name(run))}, laid out flat"
    told = f"{length_words(run)}, {wire_words(run)}" + (f" in ribbon order: {', '.join(codes)}." if codes else ".")
    if run.combs:
        told += f" Combs: {'; '.join(comb_words(run, catalogue))}."
    if run.tap_marks:
        told += f" Tap marks from the crimped end: {'; '.join(tap_words(run))}."
    prefix = f"r{run.number}-ribbon{'-small' if small else ''}"
    return svg.document(prefix, "ribbon-small" if small else "ribbon", (flat.sizes.wide, bottom), (title, told), body)


def _thick(flat: Flat) -> float:
    """Thickness of a wire, its outline left out. [px]"""
    return THICK if not flat.sizes.small else max(flat.sizes.lane * 0.62, 1.3)


def _wire(flat: Flat, wire: PlannedWire) -> str:
    """One wire: its outline in ink, and its real colour inside."""
    d = way(flat, wire)
    dashes = None if flat.run.state == "measured" else DASHES
    paint = flat.paints.braided(wire.sleeve_colour) if wire.sleeve_colour else flat.paints.hatched(wire.colour)
    thick = _thick(flat)
    if flat.sizes.small:
        # Too thin for a hatch.
        paint = flat.paints.plain(visible_colour(wire))
    outline = svg.path(d, "outline", stroke_width=thick + (0.5 if flat.sizes.small else 1.6), stroke_dasharray=dashes)
    return outline + svg.path(d, stroke=paint, stroke_width=thick, stroke_dasharray=dashes, data_wire=wire.label)


def _jacket(flat: Flat) -> str:
    """A moulded cable, which is sleeved as a whole, from its other plug to the part."""
    codes = sleeve_colours(flat.run, ())
    parts = []
    dashes = None if flat.run.state == "measured" else DASHES
    size, thick = flat.sizes.text, _jacket_thick(flat)
    for (top, high), x in zip(flat.end_boxes, flat.faces, strict=True):
        y = top + high / 2
        d = f"M{svg.num(flat.start)} {svg.num(y)}H{svg.num(x)}"
        parts.append(svg.path(d, "outline", stroke_width=thick + 1.6, stroke_dasharray=dashes))
        paint = flat.paints.braided(codes[0]) if codes else flat.paints.plain("")
        parts.append(svg.path(d, stroke=paint, stroke_width=thick, stroke_dasharray=dashes))
        told = f"{codes[0]} sleeve, moulded cable" if codes else "moulded cable, bare"
        if not flat.sizes.small:
            parts.append(svg.text(flat.start + 8, y - thick / 2 - 5, told, "ink"))
        if not flat.run.sources:
            parts.append(svg.text(flat.start - 6, y + 4, "its other plug" if not flat.sizes.small else "other plug",
                                  "muted", anchor="end", size=size))  # fmt: skip
    return "".join(parts)


def _jacket_thick(flat: Flat) -> float:
    """Thickness of a moulded cable. [px]"""
    return JACKET - 5 if flat.sizes.small else JACKET
