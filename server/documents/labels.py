"""Sheets of labels as one PDF: pages of exactly the builder's measures, without a margin of their own."""

from collections.abc import Sequence
from pathlib import Path

from server.documents.pdf import joined, typeset

_STYLE = (
    "@page {{ size: {width:.4f}mm {height:.4f}mm; margin: 0 }} html, body {{ margin: 0 }} "
    "svg {{ display: block; width: {width:.4f}mm; height: {height:.4f}mm }} svg + svg {{ break-before: page }}"
)


def labels_pdf(drawings: Sequence[str], width_mm: float, height_mm: float, title: str, base: Path) -> bytes:
    """One file with a page for each drawing.

    Args:
        drawings: At least one drawing of a whole page, as SVG that needs no style sheet.
        width_mm: Width of the page. [mm]
        height_mm: Its height. [mm]
        title: What a viewer shows as the file's name.
        base: The folder of static files; nothing is read from anywhere else.

    Raises:
        PapersError: the library that sets PDFs is missing.
    """
    html = f"<!doctype html><html lang='en'><body>{''.join(drawings)}</body></html>"
    return joined([typeset(html, [_STYLE.format(width=width_mm, height=height_mm)], base)], title)
