"""Reading papers back: lines of text with their places on the page, by a library that did not write them."""

from dataclasses import dataclass

import pypdfium2
from pypdfium2 import raw

MM = 25.4 / 72


@dataclass(frozen=True)
class Line:
    """Words on one height of a page."""

    top_mm: float
    """From the upper edge."""
    text: str


def opened(data: bytes) -> pypdfium2.PdfDocument:
    return pypdfium2.PdfDocument(data)


def size_mm(page: pypdfium2.PdfPage) -> tuple[float, float]:
    return round(page.get_width() * MM, 1), round(page.get_height() * MM, 1)


def text(page: pypdfium2.PdfPage) -> str:
    """Everything a page says, blanks made even."""
    return " ".join(str(page.get_textpage().get_text_range()).split())


def lines(page: pypdfium2.PdfPage) -> list[Line]:
    """What a page says from top to bottom; words whose middles are less than 0.8 mm apart stand in one line."""
    held, high = page.get_textpage(), page.get_height()
    pieces = []
    for place in range(held.count_rects()):
        left, bottom, right, top = held.get_rect(place)
        pieces.append(((high - (top + bottom) / 2) * MM, left, held.get_text_bounded(left, bottom, right, top).strip()))
    rows: list[list[tuple[float, float, str]]] = []
    for piece in sorted(pieces):
        if rows and piece[0] - rows[-1][0][0] < 0.8:
            rows[-1].append(piece)
        else:
            rows.append([piece])
    return [Line(row[0][0], " ".join(word for _, _, word in sorted(row, key=lambda p: p[1]))) for row in rows]


def marks(document: pypdfium2.PdfDocument) -> list[tuple[int, str, int]]:
    """Bookmarks with their level and page, both from nought."""
    return [(mark.level, mark.get_title(), mark.get_dest().get_index()) for mark in document.get_toc()]


def fonts_embedded(document: pypdfium2.PdfDocument) -> set[int]:
    """1 for every font in the file, 0 where one is not."""
    found = set()
    for page in document:
        for held in page.get_objects(filter=(raw.FPDF_PAGEOBJ_TEXT,), max_depth=6):
            found.add(raw.FPDFFont_GetIsEmbedded(raw.FPDFTextObj_GetFont(held.raw)))
    return found
