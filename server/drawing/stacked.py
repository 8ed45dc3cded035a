"""Several drawings below one another as one, under a heading."""

import re
from collections.abc import Sequence

from server.drawing import svg

_SIZE = re.compile(r'<svg[^>]*? width="([\d.]+)" height="([\d.]+)"')
HEAD, GAP = 30.0, 12.0


def stacked(prefix: str, heading: str, drawings: Sequence[str]) -> str:
    """Drawings below one another.

    Args:
        prefix: Start of every id, unlike those of the drawings.
        heading: Written above them.
        drawings: ``svg`` elements of this room.

    Returns:
        An ``svg`` element with the drawings inside.
    """
    parts, y, wide = [svg.text(8, 20, heading, "heading", size=svg.HEADING)], HEAD, svg.width(heading, svg.HEADING) + 16
    for drawing in drawings:
        size = _SIZE.search(drawing)
        if size is None:
            raise ValueError("a drawing without a size cannot be stacked")
        parts.append(drawing.replace("<svg", f'<svg y="{svg.num(y)}"', 1))
        wide, y = max(wide, float(size[1])), y + float(size[2]) + GAP
    told = f"{len(drawings)} drawings below one another."
    return svg.document(prefix, "stacked", (wide, y), (heading, told), parts)
