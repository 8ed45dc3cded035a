"""The outline of a stroked path as a shape to fill, for viewers that cannot stroke with a hatch."""

import math
import re
from collections.abc import Iterator, Sequence
from itertools import pairwise

Point = tuple[float, float]

_STEP = re.compile(r"([A-Za-z])([^A-Za-z]*)")
_NUMBER = re.compile(r"-?\d*\.?\d+(?:e-?\d+)?")
_TAKES = {"m": 2, "l": 2, "h": 1, "v": 1, "c": 6, "q": 4, "z": 0}
CHORDS = 14
"""Straight pieces that stand for one curve."""


def outline(d: str, width: float, dashes: Sequence[float] = ()) -> str:
    """The shape that a stroke covers, with flat ends; corners are mitred.

    Args:
        d: The path's steps: moves, lines and Bézier curves.
        width: Width of the stroke. [px]
        dashes: Lengths drawn and left out in turn; empty for an unbroken line. [px]

    Returns:
        Steps of a path to fill; empty where the path has no length.

    Raises:
        ValueError: the path holds a step that is not known here, such as an arc.
    """
    pieces = [piece for line in flattened(d) for piece in (_dashed(line, dashes) if dashes else [line])]
    return "".join(_ring(piece, width / 2) for piece in pieces if len(piece) > 1)


def flattened(d: str) -> list[list[Point]]:
    """A path as chains of straight lines, one for every move.

    Raises:
        ValueError: the path holds a step that is not known here.
    """
    lines: list[list[Point]] = []
    at: Point = (0.0, 0.0)
    for letter, rest in _STEP.findall(d):
        kind, values = letter.lower(), [float(value) for value in _NUMBER.findall(rest)]
        if kind not in _TAKES:
            raise ValueError(f"a path with the step {letter!r} has no outline here")
        if kind == "z":
            lines[-1].append(lines[-1][0])
            at = lines[-1][0]
        for step in _parted(values, _TAKES[kind]):
            passed = _points(kind, step, at, at if letter.islower() else (0.0, 0.0))
            if kind == "m":
                lines.append([])
                kind = "l"
            lines[-1] += passed
            at = passed[-1]
    return [_without_repeats(line) for line in lines]


def _parted(values: Sequence[float], size: int) -> Iterator[Sequence[float]]:
    return (values[i : i + size] for i in range(0, len(values), size)) if size else iter(())


def _points(kind: str, step: Sequence[float], at: Point, base: Point) -> list[Point]:
    """The points that one step passes."""
    if kind == "h":
        return [(base[0] + step[0], at[1])]
    if kind == "v":
        return [(at[0], base[1] + step[0])]
    pairs = [(base[0] + x, base[1] + y) for x, y in zip(step[0::2], step[1::2], strict=True)]
    if kind in "ml":
        return pairs
    held = [at, *pairs]
    return [_on_curve(held, i / CHORDS) for i in range(1, CHORDS + 1)]


def _on_curve(held: Sequence[Point], t: float) -> Point:
    """A place on a Bézier curve, by repeated halving in the ratio ``t`` (de Casteljau)."""
    points = list(held)
    while len(points) > 1:
        points = [(a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t) for a, b in pairwise(points)]
    return points[0]


def _without_repeats(line: Sequence[Point]) -> list[Point]:
    found: list[Point] = []
    for point in line:
        if not found or math.dist(point, found[-1]) > 1e-6:
            found.append(point)
    return found


def _dashed(line: Sequence[Point], dashes: Sequence[float]) -> list[list[Point]]:
    """A chain of lines cut into what is drawn of it."""
    pattern = list(dashes) * (2 if len(dashes) % 2 else 1)
    pieces: list[list[Point]] = []
    index, left, drawn = 0, pattern[0], True
    current: list[Point] = [line[0]] if line else []
    for start, end in pairwise(line):
        long, done = math.dist(start, end), 0.0
        while long - done > left:
            done += left
            point = (start[0] + (end[0] - start[0]) * done / long, start[1] + (end[1] - start[1]) * done / long)
            if drawn:
                pieces.append([*current, point])
            index, drawn = (index + 1) % len(pattern), not drawn
            current, left = [point], pattern[index]
        left -= long - done
        current.append(end)
    if drawn:
        pieces.append(current)
    return [_without_repeats(piece) for piece in pieces]


def _ring(line: Sequence[Point], half: float) -> str:
    """Both sides of a chain of lines as one closed shape."""
    ahead = [_side(line, i, half) for i in range(len(line))]
    back = [_side(line, i, -half) for i in reversed(range(len(line)))]
    return "M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in [*ahead, *back]) + "z"


def _side(line: Sequence[Point], i: int, by: float) -> Point:
    """The point beside a point of the chain; at a corner on the mitre of its two lines, kept to twice the width."""
    normals = [_normal(line[j], line[j + 1]) for j in (i - 1, i) if 0 <= j < len(line) - 1]
    x, y = sum(n[0] for n in normals), sum(n[1] for n in normals)
    long = math.hypot(x, y)
    if long < 1e-6:
        x, y, long = *normals[0], 1.0
    cosine = max(0.5, (x * normals[0][0] + y * normals[0][1]) / long)
    return line[i][0] + x / long * by / cosine, line[i][1] + y / long * by / cosine


def _normal(a: Point, b: Point) -> Point:
    long = math.dist(a, b)
    return (a[1] - b[1]) / long, (b[0] - a[0]) / long
