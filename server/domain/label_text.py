"""Text on a label: how large it can be set, where it breaks, and where it stands on plain, wrapped and flag labels.

The face is monospaced, so that the width of a line follows from its characters. Measures are in millimetres from the
upper left corner of the label, sizes in points (1 pt = 25.4 / 72 mm).
"""

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from server.domain.errors import Problem

Form = Literal["plain", "wrap", "flag"]
"""Once; again and again, so that it reads from every side of the wire; on both halves of a label folded round it."""

POINT_MM = 25.4 / 72
ADVANCE = 1233 / 2048
"""Width of a character, in parts of the size; from the metrics of DejaVu Sans Mono, regular and bold."""
CAP = 1493 / 2048
"""Height of a capital, in parts of the size; from the same metrics."""
STRANGE = 1.35
"""Width reckoned for a character that this face lacks, in parts of the size; the widest of common faces are square."""
LEADING = 1.2
"""From line to line, in parts of the size; common practice."""
EDGE_MM = 0.8
"""Kept free at the label's edges, since a printer feeds a sheet a little askew; common practice. [mm]"""
LEAST_PT, GREATEST_PT = 5.0, 12.0
"""Smaller text can hardly be read on a wire; larger gains nothing. Common practice. [pt]"""
REPEATS_LEAST, REPEATS_MOST = 2, 8
TEXT_OF_PITCH = 0.9
"""Share of its room that a repeated text may fill, so that one is told from the next; common practice."""
FOLD_MARK_MM = 1.5
"""Length of the marks at both ends of a flag's fold. [mm]"""
HALF_LEAST_MM = 4.0
"""Narrower halves of a flag hold no text. [mm]"""
BETWEEN = "|"
"""Stands between what shares a line."""
_Words = list[tuple[str, float]]
_OWN = ((0x20, 0x52F), (0x2010, 0x2027), (0x2190, 0x21FF), (0x2200, 0x22FF))
"""Characters that the face holds: Latin, Greek, Cyrillic, points and dashes, arrows, signs."""


@dataclass(frozen=True, slots=True)
class LabelForm:
    """How a label goes round its wire."""

    form: Form = "plain"
    repeats: int = 3
    """How often the text stands below itself on a label that is wrapped round."""
    fold_mm: float = 8.0
    """Width in the middle of a flag that lies round the wire: its girth, a little over 3 times its diameter. [mm]"""


@dataclass(frozen=True, slots=True)
class SetLine:
    """One line of text on a label."""

    words: str
    middle_mm: float
    """From the label's left edge to the middle of the line. [mm]"""
    base_mm: float
    """From the label's upper edge to the line that the letters stand on. [mm]"""
    strong: bool


@dataclass(frozen=True, slots=True)
class SetLabel:
    """The text of one label, all of one size."""

    lines: tuple[SetLine, ...]
    size_pt: float

    @property
    def small(self) -> bool:
        """Whether the text had to be set smaller than can well be read."""
        return bool(self.lines) and self.size_pt < LEAST_PT


def form_problems(form: LabelForm, width_mm: float) -> tuple[Problem, ...]:
    """What keeps a label from being made in this form.

    Args:
        form: How the label goes round its wire.
        width_mm: Width of the label. [mm]

    Returns:
        Problems whose field is the name of the value.
    """
    if form.form == "wrap" and not REPEATS_LEAST <= form.repeats <= REPEATS_MOST:
        return (Problem("repeats", f"Write a whole number from {REPEATS_LEAST} to {REPEATS_MOST}."),)
    if form.form == "flag" and not 0 < form.fold_mm <= width_mm - 2 * (HALF_LEAST_MM + EDGE_MM):
        most = max(width_mm - 2 * (HALF_LEAST_MM + EDGE_MM), 0)
        return (
            Problem(
                "fold_mm", f"The fold of a flag {width_mm:g} mm wide may take {most:g} mm, or its halves hold no text."
            ),
        )
    return ()


@lru_cache(maxsize=8192)
def set_label(lines: tuple[str, ...], width_mm: float, height_mm: float, form: LabelForm) -> SetLabel:
    """Set the lines of a label as large as they fit, nothing cut off; the first one is strong.

    Where it makes the text larger, a line breaks between words (not at a no-break space), or neighbours share one line.

    Args:
        lines: What stands on it, line by line.
        width_mm: Width of the label. [mm]
        height_mm: Its height. [mm]
        form: How it goes round its wire, without problems.

    Example:
        ``4-05`` alone on a label of 36 x 20 mm is set in 12 pt, since 4 characters take 10.2 mm.
    """
    blocks = _blocks(width_mm, height_mm, form)
    _, _, room_mm, high_mm = blocks[0]
    size_pt, broken = _largest([line for line in lines if line], room_mm, high_mm)
    lead_mm = LEADING * size_pt * POINT_MM
    placed = tuple(
        SetLine(
            words,
            left + room / 2,
            top + (high - len(broken) * lead_mm) / 2 + (row + 0.5) * lead_mm + CAP * size_pt * POINT_MM / 2,
            strong,
        )
        for left, top, room, high in blocks
        for row, (words, strong) in enumerate(broken)
    )
    return SetLabel(placed, size_pt)


def _blocks(width_mm: float, height_mm: float, form: LabelForm) -> tuple[tuple[float, float, float, float], ...]:
    """Left, top, width and height of every place that holds the text, all alike. [mm]"""
    inside_mm, high_mm = width_mm - 2 * EDGE_MM, height_mm - 2 * EDGE_MM
    if form.form == "wrap":
        pitch, each = high_mm / form.repeats, high_mm / form.repeats * TEXT_OF_PITCH
        top = EDGE_MM + (pitch - each) / 2
        return tuple((EDGE_MM, top + pitch * number, inside_mm, each) for number in range(form.repeats))
    if form.form == "flag":
        half = (width_mm - form.fold_mm) / 2
        return ((EDGE_MM, EDGE_MM, half - EDGE_MM, high_mm), (half + form.fold_mm, EDGE_MM, half - EDGE_MM, high_mm))
    return ((EDGE_MM, EDGE_MM, inside_mm, high_mm),)


def _largest(lines: Sequence[str], room_mm: float, high_mm: float) -> tuple[float, list[tuple[str, bool]]]:
    """The largest size at which all lines fit, and the lines as they stand at it; as few as can share one. [pt]"""
    tenths, chosen = 0, _worded(lines)
    for rows in _shared(lines):
        words = _worded(rows)
        found = _largest_tenths(words, room_mm, high_mm, above=tenths)
        if found > tenths:
            tenths, chosen = found, words
    size_pt = max(tenths, 1) / 10
    return size_pt, _broken(chosen, room_mm / (size_pt * POINT_MM)) or [
        (line, not row) for row, line in enumerate(lines)
    ]


def _shared(lines: Sequence[str]) -> list[list[str]]:
    """Every way in which neighbouring lines can share one: those with the most lines first, then the most even."""
    ways: list[list[str]] = [[]]
    for line in lines:
        apart = [[*way, line] for way in ways]
        shared = [[*way[:-1], f"{way[-1]} {BETWEEN} {line}"] for way in ways if way]
        ways = apart + shared
    return sorted(ways, key=lambda way: (-len(way), max(map(len, way), default=0)))


def _worded(rows: Sequence[str]) -> list[_Words]:
    """The words of each line with their widths, in parts of the size."""
    return [[(word, sum(map(_advance, word))) for word in _apart(row)] for row in rows]


def _apart(row: str) -> list[str]:
    """What a line may be broken into; what shares a line stays on it, since it would read as something else."""
    return [row] if f" {BETWEEN} " in row else [word for word in row.split(" ") if word]


def _largest_tenths(rows: Sequence[_Words], room_mm: float, high_mm: float, *, above: int) -> int:
    """The largest size above another at which lines fit, in tenths of a point; that other when there is none."""
    low, high = above, round(GREATEST_PT * 10)
    while low < high:
        tried = (low + high + 1) // 2
        em_mm = tried / 10 * POINT_MM
        broken = _broken(rows, room_mm / em_mm)
        fits = broken is not None and len(broken) * LEADING * em_mm <= high_mm
        low, high = (tried, high) if fits else (low, tried - 1)
    return low


def _broken(rows: Sequence[_Words], room: float) -> list[tuple[str, bool]] | None:
    """Lines broken between words where they must be; nothing when a single word is too long.

    Args:
        rows: Words with their widths.
        room: Width of the block, in parts of the size.
    """
    made: list[tuple[str, bool]] = []
    for words in rows:
        begun, long = "", 0.0
        for word, wide in words:
            if wide > room:
                return None
            if begun and long + ADVANCE + wide > room:
                made.append((begun, not made))
                begun, long = word, wide
            else:
                begun, long = (f"{begun} {word}", long + ADVANCE + wide) if begun else (word, wide)
        made.append((begun, not made))
    return made


@lru_cache(maxsize=4096)
def _advance(character: str) -> float:
    """Width of a character, in parts of the size."""
    if unicodedata.category(character) in {"Mn", "Me", "Cf"}:
        return 0.0
    return ADVANCE if any(first <= ord(character) <= last for first, last in _OWN) else STRANGE
