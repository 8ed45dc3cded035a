"""Measures below a flat ribbon, set into rows: each with its extension lines, none over another."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from server.drawing import svg
from server.drawing.ribbon_layout import Flat

APART = 8.0
"""Room behind words that stand outside their measure. [px]"""


@dataclass(frozen=True, slots=True)
class Measure:
    """One dimension, or a line of them, that is drawn at a height still to be found."""

    left: float
    right: float
    """Room that it takes along the drawing, its words included. [px]"""
    draw: Callable[[float], str]
    """The measure on its line, whose height it is given. [px]"""
    feet: tuple[tuple[float, float], ...] = ()
    """Extension lines: where they stand, and the height at which the thing that is measured ends. [px]"""
    label: tuple[str, ...] = ()
    """What stands left of the row."""
    below: float = 0.0
    """Room for words below its line. [px]"""


@dataclass(slots=True)
class _Row:
    held: list[Measure] = field(default_factory=list)

    def takes(self, measure: Measure) -> bool:
        """Whether a measure has room in the row, and the row has no other label."""
        apart = all(measure.left >= other.right - 0.01 or measure.right <= other.left + 0.01 for other in self.held)
        return apart and not (measure.label and any(other.label for other in self.held))


def foot(flat: Flat, plug: int) -> tuple[float, float]:
    """The extension line of a part plug's face, or with -1 of the source plugs': where it stands and begins. [px]"""
    if plug < 0:
        return flat.start, max((top + high for top, high in flat.source_boxes), default=flat.lowest)
    x, (top, high) = flat.faces[plug], flat.end_boxes[plug]
    # Of a fork, the line of one plug begins below another plug that lies in its way.
    lower = [
        other_top + other_high
        for other, (other_top, other_high) in zip(flat.faces, flat.end_boxes, strict=True)
        if not flat.chained and other_top > top and other < x < other + flat.sizes.end_table
    ]
    return x, max([top + high, *lower])


def in_rows(flat: Flat, measures: Sequence[Measure], top: float) -> tuple[str, float]:
    """Measures one below the other; one that has room beside the one before it stands in the same row.

    Args:
        flat: The run as laid out.
        measures: In the order from the ribbon outwards.
        top: Where the first row may begin. [px]

    Returns:
        Elements, and the lower edge of the last row. [px]
    """
    rows: list[_Row] = []
    for measure in measures:
        if not rows or not rows[-1].takes(measure):
            rows.append(_Row())
        rows[-1].held.append(measure)
    y, parts = top, []
    feet: dict[float, tuple[float, float]] = {}
    for row in rows:
        y += flat.sizes.row
        for measure in row.held:
            parts.append(measure.draw(y))
            parts.append(_label(flat, measure.label, y))
            for x, start in measure.feet:
                feet[round(x, 2)] = (min(start, feet.get(round(x, 2), (start, y))[0]), y)
        y += max(measure.below for measure in row.held)
    lines = (f"M{svg.num(x)} {svg.num(start + 2)}V{svg.num(end + 4)}" for x, (start, end) in sorted(feet.items()))
    return svg.path("".join(lines), "line thin muted") + "".join(parts) if parts else "", y


def _label(flat: Flat, words: Sequence[str], y: float) -> str:
    """Up to two lines left of a row."""
    sizes = flat.sizes
    room = sizes.table - 6
    first = y + 3 if len(words) == 1 else y - 3
    return "".join(
        svg.text(sizes.left, first + i * 11, svg.fitted(line, room, sizes.small_text), "muted", size=sizes.small_text)
        for i, line in enumerate(words)
    )


def dimension(
    flat: Flat, x1: float, x2: float, words: str, *, cls: str = "ink", dashed: bool = False, short: str = "",
    feet: Sequence[tuple[float, float]] = (), label: Sequence[str] = (),
) -> Measure:  # fmt: skip
    """A dimension between two places; words that do not fit between its strokes stand behind it.

    Args:
        flat: The run as laid out.
        x1: Left end. [px]
        x2: Right end. [px]
        words: The measure.
        cls: Class of the words.
        dashed: Whether the line is dashed, for what is not measured.
        short: The measure in fewer words, taken where the first would not fit.
        feet: Extension lines.
        label: What stands left of the row.
    """
    size = flat.sizes.text
    shown = words if svg.width(words, size) + 4 <= x2 - x1 or not short else short
    inside = svg.width(shown, size) + 2 <= x2 - x1

    def draw(y: float) -> str:
        ticks = "".join(f"M{svg.num(x - 3)} {svg.num(y + 3)}l6 -6" for x in (x1, x2))
        at = ((x1 + x2) / 2, "middle") if inside else (x2 + 6, None)
        return "".join(
            (
                svg.line(x1, y, x2, y, stroke_dasharray="6 4" if dashed else None),
                svg.path(ticks, "line heavy"),
                svg.text(at[0], y - 4 if inside else y + 3.5, shown, f"{cls} haloed", size=size, anchor=at[1]),
            )
        )

    right = x2 if inside else x2 + 6 + svg.width(shown, size) + APART
    return Measure(x1, right, draw, tuple(feet), tuple(label))


def running(
    flat: Flat, origin: float, places: Sequence[tuple[float, str, float]], *, foot: float, label: Sequence[str]
) -> Measure:
    """Running dimensions: one line from a common origin, with an arrow and the distance from there at each place.

    A number that has no room above the line stands below it.

    Args:
        flat: The run as laid out.
        origin: Where they count from. [px]
        places: Where each is, its words, and the height at which its thing ends. [px]
        foot: Height at which the thing at the origin ends. [px]
        label: What stands left of the row.

    Source:
        Superimposed running dimensioning as in ISO 129-1.
    """
    size = flat.sizes.text
    ahead = 1.0 if places and places[-1][0] > origin else -1.0
    held = sorted(places, key=lambda place: ahead * place[0])
    levels, before = [], [origin + ahead * 3, origin - ahead * 4, origin]
    for x, words, _ in held:
        wide = svg.width(words, size) + 5
        # A number stands between its place and the one before it; the third level is left for what has no room at all.
        level = next((i for i in (0, 1) if ahead * (x - before[i]) >= wide), 2)
        levels.append(level)
        before[level] = x

    def draw(y: float) -> str:
        parts = [svg.line(origin, y, held[-1][0] if held else origin, y), svg.circle(origin, y, 2.5, "dot")]
        for (x, words, _), level in zip(held, levels, strict=True):
            tip = f"M{svg.num(x)} {svg.num(y)}l{svg.num(-7 * ahead)} -2.4v4.8z"
            at = (x - 3 * ahead, (y - 4, y + size + 1, y + 2 * size + 2)[level])
            parts.append(svg.shape(tip, "solid"))
            parts.append(svg.text(*at, words, "ink haloed", size=size, anchor="end" if ahead > 0 else None))
        return "".join(parts)

    xs = [origin, *(x for x, _, _ in held)]
    feet = ((origin, foot), *((x, start) for x, _, start in held))
    below = (0.0, size + 2, 2 * size + 3)[max(levels, default=0)]
    return Measure(min(xs) - 4, max(xs) + 4, draw, feet, tuple(label), below)
