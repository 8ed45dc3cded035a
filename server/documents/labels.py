"""Sheets of labels as one PDF: pages of exactly the builder's measures, without a margin of their own.

Every block of text is placed by itself. Where its lines stand follows from the face's own metrics, so that nothing of
the page depends on what lies beside it.
"""

from collections.abc import Iterator, Sequence
from html import escape
from itertools import groupby
from pathlib import Path

from server.documents.pdf import joined, typeset
from server.domain.label_sheet import LabelSheet, Spot
from server.domain.label_text import FOLD_MARK_MM, LEADING, POINT_MM, LabelForm, SetLabel, SetLine

MIDDLE = (1901 - 483) / 2048 / 2
"""How far the letters stand below the middle of a line, in parts of the size: half of ascent less descent, as the
metrics of DejaVu Sans Mono have them."""
_STYLE = (
    "@page {{ size: {width:.4f}mm {height:.4f}mm; margin: 0 }} html, body {{ margin: 0 }} "
    "section {{ position: relative; width: {width:.4f}mm; height: {height:.4f}mm; overflow: hidden }} "
    "section + section {{ break-before: page }} "
    "svg {{ position: absolute; left: 0; top: 0; width: 100%; height: 100% }} "
    "pre {{ position: absolute; margin: 0; width: {width:.4f}mm; text-align: center; "
    "font-family: 'DejaVu Sans Mono', monospace; line-height: {leading} }} b {{ font-weight: 700 }}"
)

Placed = tuple[Spot, SetLabel]


def labels_pdf(placed: Sequence[Placed], sheet: LabelSheet, form: LabelForm, title: str, base: Path) -> bytes:
    """One file with every sheet of labels.

    Args:
        placed: Labels with their text, sheet by sheet; at least one.
        sheet: The measures of the sheet.
        form: How labels go round their wires; flags get a mark at either end of their fold.
        title: What a viewer shows as the file's name.
        base: The folder of static files; nothing is read from anywhere else.

    Raises:
        PapersError: the library that sets PDFs is missing.
    """
    pages = (tuple(held) for _, held in groupby(placed, key=lambda one: one[0].sheet))
    body = "".join(f"<section>{''.join(_page(page, sheet, form))}</section>" for page in pages)
    style = _STYLE.format(width=sheet.page_width_mm, height=sheet.page_height_mm, leading=LEADING)
    html = f'<!doctype html><html lang="en"><body>{body}</body></html>'
    return joined([typeset(html, [style], base)], title)


def _page(page: Sequence[Placed], sheet: LabelSheet, form: LabelForm) -> Iterator[str]:
    if form.form == "flag":
        yield _folds(page, sheet)
    for spot, label in page:
        for lines in _blocks(label):
            # A block is as wide as the page, whatever its label, so that its middle alone says where it stands.
            left_mm = spot.left_mm + lines[0].middle_mm - sheet.page_width_mm / 2
            size_mm = label.size_pt * POINT_MM
            top_mm = spot.top_mm + lines[0].base_mm - (LEADING / 2 + MIDDLE) * size_mm
            words = "\n".join(f"<b>{escape(x.words)}</b>" if x.strong else escape(x.words) for x in lines)
            yield f'<pre style="left:{left_mm:.3f}mm;top:{top_mm:.3f}mm;font-size:{label.size_pt}pt">{words}</pre>'


def _blocks(label: SetLabel) -> list[list[SetLine]]:
    """Lines that follow each other at the usual distance."""
    blocks: list[list[SetLine]] = []
    lead_mm = LEADING * label.size_pt * POINT_MM
    for line in label.lines:
        last = blocks[-1][-1] if blocks else None
        if last and last.middle_mm == line.middle_mm and abs(line.base_mm - last.base_mm - lead_mm) < 0.001:
            blocks[-1].append(line)
        else:
            blocks.append([line])
    return blocks


def _folds(page: Sequence[Placed], sheet: LabelSheet) -> str:
    """Two short marks on every flag, in the middle of its upper and lower edge."""
    marks = "".join(
        f"M{spot.left_mm + sheet.label_width_mm / 2:.3f} {spot.top_mm:.3f}v{FOLD_MARK_MM}"
        f"m0 {sheet.label_height_mm - 2 * FOLD_MARK_MM:.3f}v{FOLD_MARK_MM}"
        for spot, _ in page
    )
    size = f"{sheet.page_width_mm:.4f} {sheet.page_height_mm:.4f}"
    return f'<svg viewBox="0 0 {size}"><path d="{marks}" fill="none" stroke="#000" stroke-width="0.2"/></svg>'
