"""A sheet of labels to scale, as it will be printed, with its edges and used places drawn in."""

from collections.abc import Sequence

from server.domain.label_sheet import LabelSheet, Spot, spots
from server.domain.label_text import FOLD_MARK_MM, POINT_MM, LabelForm, SetLabel
from server.drawing import svg

SCALE = 4.0
"""Units of the drawing for each millimetre."""
HATCH_MM = 2.0

Placed = tuple[Spot, SetLabel]


def previewed_sheet(
    sheet: LabelSheet, placed: Sequence[Placed], form: LabelForm, prefix: str, *, first: int = 1
) -> str:
    """One page as it will lie in the printer: its edge, every label, those that are used up hatched, and the text.

    Args:
        sheet: Its measures.
        placed: Labels of this page with their text.
        form: How labels go round their wires.
        prefix: Start of every id, unique within the page.
        first: The first free label.
    """
    edge = svg.rect(0.5, 0.5, _units(sheet.page_width_mm) - 1, _units(sheet.page_height_mm) - 1, cls="sheet edge muted")
    body = [_hatching(prefix), edge]
    for spot in spots(sheet, sheet.per_sheet):
        used = spot.place < first - 1
        where = tuple(map(_units, (spot.left_mm, spot.top_mm, sheet.label_width_mm, sheet.label_height_mm)))
        body.append(svg.rect(*where, rx=4, cls="paper edge", data_label=str(spot.place + 1)))
        if used:
            body.append(svg.rect(*where, rx=4, fill=f"url(#{prefix}-used)", cls="edge muted", data_used="yes"))
    told = f"Page {sheet.page_width_mm:g} by {sheet.page_height_mm:g} mm, {sheet.columns} columns, {sheet.rows} rows; "
    told += f"{first - 1} labels used up, {len(placed)} printed."
    return _document(sheet, [*body, *_labels(sheet, placed, form)], ("The first sheet, to scale", told), prefix)


def _labels(sheet: LabelSheet, placed: Sequence[Placed], form: LabelForm) -> list[str]:
    drawn = []
    for spot, label in placed:
        size = _units(label.size_pt * POINT_MM)
        for line in label.lines:
            x, y = _units(spot.left_mm + line.middle_mm), _units(spot.top_mm + line.base_mm)
            cls = "ink heading" if line.strong else "ink"
            drawn.append(svg.text(x, y, line.words, cls, size=size, anchor="middle"))
        if form.form == "flag":
            drawn.append(_fold(sheet, spot))
    return drawn


def _fold(sheet: LabelSheet, spot: Spot) -> str:
    """Two short marks where a flag is folded."""
    x, top = _units(spot.left_mm + sheet.label_width_mm / 2), _units(spot.top_mm)
    bottom, long = _units(spot.top_mm + sheet.label_height_mm), _units(FOLD_MARK_MM)
    return svg.path(
        f"M{svg.num(x)} {svg.num(top)}v{svg.num(long)}M{svg.num(x)} {svg.num(bottom)}v{svg.num(-long)}", "line thin"
    )


def _hatching(prefix: str) -> str:
    step = _units(HATCH_MM)
    strokes = f"M-1 {svg.num(step - 1)}L{svg.num(step - 1)} -1M1 {svg.num(step + 1)}L{svg.num(step + 1)} 1"
    return (
        f'<defs><pattern id="{prefix}-used" width="{svg.num(step)}" height="{svg.num(step)}" '
        f'patternUnits="userSpaceOnUse">{svg.path(strokes, "line hairline thin")}</pattern></defs>'
    )


def _document(sheet: LabelSheet, body: list[str], words: tuple[str, str], prefix: str) -> str:
    size = (_units(sheet.page_width_mm), _units(sheet.page_height_mm))
    return svg.document(prefix, "label-sheet", size, words, body)


def _units(mm: float) -> float:
    return mm * SCALE
