"""What frames the face of a plug: from which side it is seen, with a sketch of it, and the pitch it is moulded to."""

import re

from server.domain.model.catalogue import Housing
from server.drawing import svg
from server.drawing.plugs import View

SKETCH = 62.0
"""Width of the sketch. [px]"""
TITLES: dict[View, str] = {"wire": "WIRE SIDE", "mating": "MATING SIDE"}
TOLD: dict[View, str] = {"wire": "seen from where the wires go in", "mating": "mirrored: seen from what it plugs into"}
_BLANK = re.compile(r"\bposition (\w+) is blank\b")


def view_sketch(x: float, y: float, view: View) -> str:
    """A plug from its side, its wires to the left, and the eye with its arrow on the side that one looks from.

    Args:
        x: Left edge. [px]
        y: Middle of its height. [px]
        view: Side from which the face beside it is seen.
    """
    left = x + 26 if view == "wire" else x
    wires = "".join(f"M{svg.num(left)} {svg.num(y + dy)}h14" for dy in (-3, 0, 3))
    shell = svg.rect(left + 14, y - 5.5, 18, 11, cls="paper edge heavy")
    latch = svg.rect(left + 17, y - 8, 9, 2.5, cls="solid")
    if view == "wire":
        seen, arrow = svg.eye(x, y), f"M{svg.num(x + 24)} {svg.num(y)}h-6.5M{svg.num(x + 24)} {svg.num(y)}l-3 -2.6v5.2z"
    else:
        tip = left + 34
        seen = svg.eye(x + SKETCH - 16, y)
        arrow = f"M{svg.num(tip)} {svg.num(y)}h8M{svg.num(tip)} {svg.num(y)}l3 -2.6v5.2z"
    drawn = svg.path(wires, "line thin") + shell + latch + seen + svg.path(arrow, "line thin")
    return f'<g data-eye="{view}" aria-hidden="true">{drawn}</g>'


def view_title(x: float, y: float, view: View, *, size: float = svg.HEADING, told: bool = True) -> str:
    """The sketch with the words that no picture of a face goes without: WIRE SIDE or MATING SIDE.

    Args:
        x: Left edge. [px]
        y: Baseline of the words. [px]
        view: Side from which the face is seen.
        size: Size of the words. [px]
        told: Whether a few more words say what that side is.
    """
    title = TITLES[view]
    after = x + SKETCH + 8 + svg.width(title, size) + 8
    drawn = view_sketch(x, y - size * 0.35, view) + svg.text(x + SKETCH + 8, y, title, "heading", size=size)
    return drawn + (svg.text(after, y, TOLD[view], "muted") if told else "")


def title_width(size: float = svg.HEADING, *, told: bool = True) -> float:
    """Width of the sketch with the longer of its words, so that both sides of a plug are drawn equally large. [px]"""
    return max(
        SKETCH + 8 + svg.width(TITLES[view], size) + (8 + svg.width(TOLD[view]) if told else 0) for view in TITLES
    )


def hood(left: float, top: float, broad: float, high: float) -> str:
    """The line within the shell that tells the mating side from the wire side at a glance: the rim of its mouth."""
    return svg.rect(left + 2.5, top + 2.5, broad - 5, high - 5, cls="line thin", fill="none", data_body="mouth")


def blanks(housing: Housing) -> frozenset[str]:
    """Names of the positions that have no hole, as the housing's key tells them."""
    return frozenset(_BLANK.findall(housing.key))


def pitch_dimensions(
    *, x: float, y: float, pitch: tuple[float, float], words: tuple[str, str], upright: tuple[float, float] | None
) -> str:
    """Pitch along the rows below the face, and between two rows beside it.

    Args:
        x: Middle of the first of two neighbouring columns. [px]
        y: Height of the level dimension. [px]
        pitch: Pitch on the drawing, along and between rows. [px]
        words: The two measures; the first is empty for a single column.
        upright: Where the upright dimension stands and begins; ``None`` for a single row. [px]
    """
    parts = []
    if words[0]:
        ends = (x, x + pitch[0])
        ticks = "".join(f"M{svg.num(at - 3)} {svg.num(y + 3)}l6 -6M{svg.num(at)} {svg.num(y - 7)}v11" for at in ends)
        parts += [svg.line(ends[0], y, ends[1], y), svg.path(ticks, "line thin")]
        parts.append(svg.text(ends[1] + 8, y + 4, f"pitch {words[0]}", "ink"))
    if upright:
        at, first = upright
        ends = (first, first + pitch[1])
        ticks = "".join(f"M{svg.num(at - 3)} {svg.num(y2 + 3)}l6 -6M{svg.num(at - 7)} {svg.num(y2)}h11" for y2 in ends)
        parts += [svg.line(at, ends[0], at, ends[1]), svg.path(ticks, "line thin")]
        middle = (ends[0] + ends[1]) / 2 + svg.width(words[1], svg.SMALL) / 2
        parts.append(svg.text(at - 5, middle, words[1], "ink", size=svg.SMALL, upward=True))
    return f'<g data-pitch="yes">{"".join(parts)}</g>' if parts else ""
