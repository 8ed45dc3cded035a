"""A tall drawing in pieces of the height of a page, cut where no words are."""

import re
import xml.etree.ElementTree as ET
from itertools import pairwise

from server.drawing import svg

_NS = "{http://www.w3.org/2000/svg}"
_VIEW = re.compile(r'viewBox="0 0 ([\d.]+) ([\d.]+)"')
FOOT = 18.0
LEAST = 0.5
"""A piece is at least this share of a page high. """


def paged(drawing: str, ratio: float) -> tuple[str, ...]:
    """A drawing as sheets that fill the width of a page, so that its words keep their size.

    Args:
        drawing: An ``svg`` element of this room, or what ``standalone`` makes of it.
        ratio: Height of the page's room over its width.

    Returns:
        The drawing itself where it fits; else its pieces from the top, each with its place among them written below.

    Raises:
        ValueError: the drawing has no view box, or the ratio is not above nought.
    """
    box = _VIEW.search(drawing)
    if box is None or ratio <= 0:
        raise ValueError("a drawing with a view box and a ratio above nought are needed")
    wide, tall = float(box[1]), float(box[2])
    most = wide * ratio
    if tall <= most:
        return (drawing,)
    edges = _edges(_words(drawing), tall, most - FOOT)
    pairs = list(pairwise(edges))
    return tuple(_piece(drawing, wide, pair, i, len(pairs)) for i, pair in enumerate(pairs, start=1))


def _words(drawing: str) -> list[tuple[float, float]]:
    """Upper and lower edge of every level line of words and of every balloon. [px]"""
    found = []
    for element in ET.fromstring(drawing).iter():
        if element.tag.removeprefix(_NS) == "circle":
            y, radius = float(element.get("cy", "0")), float(element.get("r", "0"))
            found.append((y - radius - 1, y + radius + 1))
        if element.tag.removeprefix(_NS) == "text" and not element.get("transform"):
            y, size = float(element.get("y", "0")), float(element.get("font-size", str(svg.TEXT)))
            found.append((y - size, y + size * 0.3))
    return found


def _edges(words: list[tuple[float, float]], tall: float, most: float) -> list[float]:
    """Where the drawing is cut: as low as a page allows and between lines of words."""
    edges = [0.0]
    while tall - edges[-1] > most:
        wanted = edges[-1] + most
        cut = wanted
        while cut > edges[-1] + most * LEAST and any(top < cut < bottom for top, bottom in words):
            cut = min(top for top, bottom in words if top < cut < bottom)
        edges.append(cut if cut > edges[-1] + most * LEAST else wanted)
    return [*edges, tall]


def _piece(drawing: str, wide: float, edges: tuple[float, float], number: int, count: int) -> str:
    """One sheet: a window on the drawing, with its number below."""
    top, bottom = edges
    high = bottom - top
    head = _VIEW.sub(f'viewBox="0 {svg.num(top)} {svg.num(wide)} {svg.num(high)}"', drawing, count=1)
    head = re.sub(r'(<svg[^>]*? height=")[\d.]+"', rf'\g<1>{svg.num(high)}"', head, count=1)
    words = svg.text(wide - 8, high + FOOT - 5, f"sheet {number} of {count}", "muted", anchor="end", fill="#3a3a3a")
    size = svg.attributes(width=wide, height=high + FOOT)
    font = svg.attributes(font_family=svg.FONT, font_size=svg.TEXT)
    frame = (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="drawing" role="img"{size}{font} viewBox="0 0 {svg.num(wide)} '
    )
    return f'{frame}{svg.num(high + FOOT)}">{head}{words}</svg>'
