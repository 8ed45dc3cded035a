"""A drawing that is too large for one sheet of paper, as strips that follow each other downwards."""

import math
import re
from dataclasses import dataclass

_VIEW = re.compile(r'viewBox="(-?[\d.]+) (-?[\d.]+) ([\d.]+) ([\d.]+)"')
OVERLAP = 0.04
"""Share of a strip that the one before shows too, so that what a cut goes through stands whole on one of them."""


@dataclass(frozen=True, slots=True)
class Strip:
    """One strip: the drawing's ``svg`` element with a part of it in view."""

    svg: str
    wide: float
    high: float
    """Size of what is in view. [px of the drawing]"""


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


def strips(svg: str, ratio: float) -> tuple[Strip, ...]:
    """A drawing cut across into strips of equal height, each no higher than the sheet.

    Args:
        svg: An ``svg`` element with a view box.
        ratio: Height of the sheet for each unit of its width; the drawing is as wide as the sheet.

    Raises:
        ValueError: it has no view box.
    """
    wide, high = size_of(svg)
    most = wide * ratio
    if high <= most:
        return (Strip(svg, wide, high),)
    shared = most * OVERLAP
    count = math.ceil((high - shared) / (most - shared))
    each = (high + shared * (count - 1)) / count
    found = _VIEW.search(svg)
    left, top = (found[1], float(found[2])) if found else ("0", 0.0)
    return tuple(
        Strip(_VIEW.sub(f'viewBox="{left} {top + n * (each - shared):.2f} {wide:g} {each:.2f}"', svg, 1), wide, each)
        for n in range(count)
    )
