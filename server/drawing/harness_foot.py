"""What stands below the harness: what the lines mean, and the title block."""

from dataclasses import dataclass

from server.drawing import svg

TITLE_HIGH, TITLE_WIDE = 68.0, 430.0
LEGEND_HIGH = 24.0


@dataclass(frozen=True, slots=True)
class TitleBlock:
    """Fields of the sheet's title block.

    Source:
        Choice of fields in the manner of ISO 7200 (title, revision, date, sheet), with two counts of our own.
    """

    title: str
    revision: str
    date: str
    """Date of issue, ISO 8601."""
    sheet: str
    """What this sheet shows, such as ``harness``."""
    runs: int
    wires: int


def title_block_svg(block: TitleBlock, right: float, top: float) -> str:
    """Two rows of fields with their names, at the bottom right."""
    left = right - TITLE_WIDE
    columns = (left, left + 250, left + 330, right)
    fields = (
        (("title", block.title), ("revision", block.revision), ("date", block.date)),
        (("sheet", block.sheet), ("runs", str(block.runs)), ("wires", str(block.wires))),
    )
    half = TITLE_HIGH / 2
    parts = [svg.rect(left, top, TITLE_WIDE, TITLE_HIGH, cls="paper edge heavy")]
    parts.append(svg.line(left, top + half, right, top + half, "line thin hairline"))
    parts += [svg.line(x, top, x, top + TITLE_HIGH, "line thin hairline") for x in columns[1:3]]
    for row, held in enumerate(fields):
        for i, (label, words) in enumerate(held):
            y = top + row * half
            room = columns[i + 1] - columns[i] - 14
            parts.append(svg.text(columns[i] + 7, y + 12, label, "muted", size=svg.SMALL))
            parts.append(svg.text(columns[i] + 7, y + 27, svg.fitted(words, room), "ink", full=words))
    return f'<g class="title-block">{"".join(parts)}</g>'


def legend_svg(x: float, y: float, *, cards: bool) -> str:
    """What the lines of the drawing mean.

    Args:
        x: Left edge. [px]
        y: Baseline of the first line. [px]
        cards: Whether the lengths lead to the cards.
    """
    parts = [
        svg.line(x, y - 4, x + 34, y - 4, "line heavy"),
        svg.text(x + 42, y, "measured", "muted"),
        svg.line(x + 118, y - 4, x + 152, y - 4, "line heavy", stroke_dasharray="8 5"),
        svg.text(x + 160, y, "not measured: its range, if one is known", "muted"),
    ]
    if cards:
        told = "balloon, ribbon and plugs lead to the run, its length to its card"
        parts.append(f'<g class="screen-only">{svg.text(x, y + 18, told, "muted")}</g>')
    return f'<g class="legend">{"".join(parts)}</g>'
