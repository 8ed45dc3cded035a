"""Labels on the drawing of a route: each where it covers neither ribbon nor other labels, if there is such a place."""

import math
from collections.abc import Sequence
from itertools import pairwise

from server.drawing import svg

Point = tuple[float, float]
Box = tuple[float, float, float, float]
"""Left, top, right, bottom. [px]"""
BALLOON = 8.5
REACHES = (20.0, 30.0, 44.0, 62.0, 86.0, 115.0)
"""Lengths of leader lines that are tried, the shortest first. [px]"""
CELL = 5.0
"""What is drawn is remembered by squares of this size. [px]"""
DIMENSION_GAP = 13.0


class Labels:
    """Finds room for the labels of one drawing."""

    def __init__(self, wide: float, tall: float) -> None:
        """Labels on an empty sheet. [px]"""
        self._sheet = (2.0, 2.0, wide - 2.0, tall - 2.0)
        self._cells: set[tuple[int, int]] = set()
        self._boxes: list[Box] = []

    def within(self, top: float, bottom: float) -> None:
        """Keep the labels that follow to this part of the sheet. [px]"""
        left, _, right, _ = self._sheet
        self._sheet = (left, top + 2, right, bottom - 2)

    def keep_clear(self, line: Sequence[Point]) -> None:
        """Keep labels off a line that is drawn."""
        for a, b in pairwise(line):
            count = max(1, min(120, math.ceil(math.dist(a, b) / CELL)))
            for i in range(count + 1):
                x, y = a[0] + (b[0] - a[0]) * i / count, a[1] + (b[1] - a[1]) * i / count
                self._cells.add((math.floor(x / CELL), math.floor(y / CELL)))

    def take(self, box: Box) -> None:
        """Keep labels off a box, such as a heading."""
        self._boxes.append(box)

    def below(self, across: tuple[float, float], reach: tuple[float, float]) -> float:
        """Baseline of a word below something, or above it where the place below is taken. [px]

        Args:
            across: Left and right end of the word. [px]
            reach: Upper and lower end of what it stands at. [px]
        """
        (left, right), (top, bottom) = across, reach
        under, over = (left, bottom + 3, right, bottom + 15), (left, top - 15, right, top - 3)
        box = under if self._crowd(under) <= self._crowd(over) or not self._inside(over) else over
        self._boxes.append(box)
        return box[3] - 2

    def number(self, at: Point, number: str) -> str:
        """A numbered balloon on the very thing that it names. [px]"""
        radius = BALLOON + (3 if len(number) > 2 else 0)
        box = (at[0] - radius, at[1] - radius, at[0] + radius, at[1] + radius)
        self._boxes.append(box)
        return _numbered(at, number, radius, "balloon")

    def dimension(self, start: Sequence[Point], end: Sequence[Point], words: str) -> str:
        """A dimension along a straight piece, beside it; nothing where there is no room for its words.

        Args:
            start: Corners of the piece at its start. [px]
            end: The same corners at its end. [px]
            words: The measure.
        """
        (x1, y1), (x2, y2) = _middle(start), _middle(end)
        long = math.dist((x1, y1), (x2, y2))
        wide = svg.width(words)
        if long < wide + 6:
            return ""
        ahead = ((x2 - x1) / long, (y2 - y1) / long)
        for side in (1.0, -1.0):
            normal = (ahead[1] * side, -ahead[0] * side)
            reach = max((x - x1) * normal[0] + (y - y1) * normal[1] for x, y in start) + DIMENSION_GAP
            ends = [(x + normal[0] * reach, y + normal[1] * reach) for x, y in ((x1, y1), (x2, y2))]
            box = _round_words(ends, normal, wide)
            if self._free(box, self._crowd(box)):
                self._boxes += [box, _around(ends)]
                return _dimension(ends, normal, words)
        return ""

    def balloon(self, at: Point, number: str, words: str, *, tight: bool = False) -> str:
        """A numbered balloon on a leader line, its words beside it.

        Args:
            at: What it points at. [px]
            number: The number in the balloon.
            words: What is said beside it; cut to nothing where there is no room.
            tight: Whether the bend is too tight.
        """
        said = f"{'▲ tight, ' if tight else ''}{words}" if words else ""
        radius = BALLOON + (3 if len(number) > 2 else 0)
        wide = svg.width(said) + 4 if said else 0.0
        spots = [
            (at[0] + reach * math.cos(turn), at[1] + reach * math.sin(turn))
            for reach in REACHES
            for turn in (math.radians(30 * i - 90) for i in range(12))
        ]
        best: tuple[int, Point, Box, bool] | None = None
        for x, y in spots:
            for left in (False, True):
                box = (x - radius - (wide if left else 0), y - radius, x + radius + (0 if left else wide), y + radius)
                crowd = self._crowd(box)
                if self._free(box, crowd):
                    return self._drawn(at, (x, y), box, number, said, radius, left=left, tight=tight)
                if self._inside(box) and (best is None or crowd < best[0]):
                    best = (crowd, (x, y), box, left)
        if said and not tight:
            return self.balloon(at, number, "")
        if best is None:
            return self._drawn(at, at, (at[0], at[1], at[0], at[1]), number, "", radius, left=False, tight=tight)
        return self._drawn(at, best[1], best[2], number, said, radius, left=best[3], tight=tight)

    def _drawn(
        self, at: Point, to: Point, box: Box, number: str, said: str, radius: float, *, left: bool, tight: bool
    ) -> str:
        self._boxes.append(box)
        (x, y), cls = to, "warn" if tight else "muted"
        parts = [
            svg.line(at[0], at[1], x, y, f"line thin {cls}"),
            svg.circle(at[0], at[1], 1.8, "dot"),
            _numbered(to, number, radius, "balloon" + (" tight" if tight else "")),
        ]
        if said:
            away = -radius - 4 if left else radius + 4
            parts.append(
                svg.text(x + away, y + 3.6, said, f"haloed{' warn' if tight else ''}", anchor="end" if left else None)
            )
        return "".join(parts)

    def _crowd(self, box: Box) -> int:
        """How much of what is drawn lies in a box."""
        left, top, right, bottom = box
        columns = range(math.floor(left / CELL), math.floor(right / CELL) + 1)
        rows = range(math.floor(top / CELL), math.floor(bottom / CELL) + 1)
        drawn = sum((column, row) in self._cells for column in columns for row in rows)
        return drawn + 8 * sum(_meet(box, other) for other in self._boxes)

    def _inside(self, box: Box) -> bool:
        left, top, right, bottom = self._sheet
        return box[0] >= left and box[1] >= top and box[2] <= right and box[3] <= bottom

    def _free(self, box: Box, crowd: int) -> bool:
        return crowd == 0 and self._inside(box)


def _numbered(at: Point, number: str, radius: float, cls: str) -> str:
    """A balloon with its number."""
    x, y = at
    return svg.circle(x, y, radius, cls) + svg.text(
        x, y + 3.6, number, "balloon-number", anchor="middle", size=svg.SMALL
    )


def _middle(points: Sequence[Point]) -> Point:
    return sum(x for x, _ in points) / len(points), sum(y for _, y in points) / len(points)


def _meet(one: Box, other: Box) -> bool:
    return one[0] < other[2] + 2 and other[0] < one[2] + 2 and one[1] < other[3] + 2 and other[1] < one[3] + 2


def _around(points: Sequence[Point], by: float = 3.0) -> Box:
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(xs) - by, min(ys) - by, max(xs) + by, max(ys) + by


def _round_words(ends: Sequence[Point], normal: Point, wide: float) -> Box:
    """Box of a dimension's words, on its line's far side."""
    (x1, y1), (x2, y2) = ends
    x, y = (x1 + x2) / 2 + normal[0] * 7, (y1 + y2) / 2 + normal[1] * 7
    turn = math.atan2(y2 - y1, x2 - x1)
    half_w = abs(math.cos(turn)) * wide / 2 + abs(math.sin(turn)) * 6
    half_h = abs(math.sin(turn)) * wide / 2 + abs(math.cos(turn)) * 6
    return x - half_w, y - half_h, x + half_w, y + half_h


def _dimension(ends: Sequence[Point], normal: Point, words: str) -> str:
    """The line between two oblique strokes, its extension lines and its words, readable from below or the right."""
    (x1, y1), (x2, y2) = ends
    turn = math.degrees(math.atan2(y2 - y1, x2 - x1))
    upright = turn if -90.0 < turn <= 90.0 else turn - math.copysign(180.0, turn)
    if upright == 90.0:
        upright = -90.0
    lines, num = [], svg.num
    cos, sin = math.cos(math.radians(upright)), math.sin(math.radians(upright))
    for x, y in ends:
        a, b = 3 * (cos + sin), 3 * (sin - cos)
        lines.append(f"M{num(x - a)} {num(y - b)}L{num(x + a)} {num(y + b)}")
        gap = DIMENSION_GAP - 3
        start = (x - normal[0] * gap, y - normal[1] * gap)
        lines.append(f"M{num(start[0])} {num(start[1])}L{num(x + normal[0] * 4)} {num(y + normal[1] * 4)}")
    # Words stand above the line as they are read; on the far side of the ribbon, so below the line where that is down.
    above = normal[0] * sin - normal[1] * cos > 0
    x, y = (x1 + x2) / 2, (y1 + y2) / 2
    shift = -4.0 if above else 12.0
    text = (
        f'<text x="{num(x)}" y="{num(y + shift)}" text-anchor="middle" class="haloed" '
        f'transform="rotate({num(upright)} {num(x)} {num(y)})">{svg.esc(words)}</text>'
    )
    return svg.line(x1, y1, x2, y2, "line thin muted") + svg.path("".join(lines), "line thin muted") + text
