"""A drawing that is too large for one sheet of paper, as strips that follow each other downwards."""

import math
import re

_VIEW = re.compile(r'viewBox="(-?[\d.]+) (-?[\d.]+) ([\d.]+) ([\d.]+)"')
_SIZE = re.compile(r' (?:width|height)="[^"]*"')
OVERLAP = 0.04
"""Share of a strip that the one before shows too, so that what a cut goes through stands whole on one of them."""


def size_of(svg: str) -> tuple[float, float]:
    """Width and height of a drawing. [px of the drawing]

    Args:
        svg: An ``svg`` element with a view box.

    Raises:
        ValueError: it has none.
    """
    found = _VIEW.search(svg)
    if found is None:
        raise ValueError("a drawing without a view box")
    return float(found[3]), float(found[4])


def strips(svg: str, wide_mm: float, high_mm: float) -> tuple[str, ...]:
    """A drawing cut across into strips of equal height, each as wide as the sheet or lower where one holds it all.

    Args:
        svg: An ``svg`` element with a view box.
        wide_mm: Width of the sheet. [mm]
        high_mm: Height of the sheet. [mm]

    Returns:
        The drawing once for each strip, with a size in mm and only that part of it in view.

    Raises:
        ValueError: it has no view box.
    """
    wide, high = size_of(svg)
    most = wide * high_mm / wide_mm
    shared = most * OVERLAP
    count = 1 if high <= most else math.ceil((high - shared) / (most - shared))
    each = (high + shared * (count - 1)) / count
    return tuple(_view(svg, n * (each - shared), wide, each, wide_mm / wide) for n in range(count))


def _view(svg: str, down: float, wide: float, high: float, scale: float) -> str:
    """The drawing with a part of it in view, so many mm for each of its units."""

    def box(found: re.Match[str]) -> str:
        top = float(found[2]) + down
        size = f'width="{wide * scale:.2f}mm" height="{high * scale:.2f}mm"'
        return f'viewBox="{found[1]} {top:.2f} {wide:g} {high:.2f}" {size}'

    head, rest = svg[: svg.index(">")], svg[svg.index(">") :]
    return _VIEW.sub(box, _SIZE.sub("", head), count=1) + rest
