"""Sheets of labels: where each label lies on a page of the builder's own measures, and what measures make no sheet.

All measures are in millimetres from the upper left corner of the page. Labels are used row by row, from left to right.
"""

from collections.abc import Iterator
from dataclasses import dataclass, fields

from server.domain.errors import Problem

PAGE_LEAST_MM, PAGE_MOST_MM = 20.0, 1200.0
LABEL_LEAST_MM = 5.0
"""Lower or narrower labels hold no line that can be read. [mm] (common practice)"""
COLUMNS_MOST, ROWS_MOST = 40, 80
HAIR_MM = 0.005
"""Measures that differ by less are the same: half the last digit that is written. [mm]"""


@dataclass(frozen=True, slots=True)
class LabelSheet:
    """The measures of a sheet; those it starts with divide an A4 page evenly and are nobody's product."""

    page_width_mm: float = 210.0
    page_height_mm: float = 297.0
    left_mm: float = 11.0
    """From the page's left edge to the first column. [mm]"""
    top_mm: float = 17.5
    """From the page's upper edge to the first row. [mm]"""
    columns: int = 5
    rows: int = 12
    label_width_mm: float = 36.0
    label_height_mm: float = 20.0
    gap_across_mm: float = 2.0
    """Between two columns. [mm]"""
    gap_down_mm: float = 2.0
    """Between two rows. [mm]"""

    @property
    def per_sheet(self) -> int:
        """Labels on one sheet."""
        return self.columns * self.rows

    @property
    def right_mm(self) -> float:
        """What is left beside the last column. [mm]"""
        return self.page_width_mm - self.left_mm - _span(self.columns, self.label_width_mm, self.gap_across_mm)

    @property
    def bottom_mm(self) -> float:
        """What is left below the last row. [mm]"""
        return self.page_height_mm - self.top_mm - _span(self.rows, self.label_height_mm, self.gap_down_mm)


@dataclass(frozen=True, slots=True)
class Spot:
    """Where one label lies."""

    sheet: int
    """From 0."""
    place: int
    """On its sheet, from 0."""
    left_mm: float
    top_mm: float


def sheet_problems(sheet: LabelSheet) -> tuple[Problem, ...]:
    """What keeps these measures from being a sheet: labels that overlap, are too small, or do not fit on the page.

    Args:
        sheet: The measures.

    Returns:
        A problem for each, its field the name of the measure; nothing for a sheet that can be printed.
    """
    alone = tuple(_each_alone(sheet))
    return alone or tuple(_together(sheet))


def spots(sheet: LabelSheet, count: int, first: int = 1) -> tuple[Spot, ...]:
    """Where labels lie, one behind the other; later sheets begin at their first label.

    Args:
        sheet: The measures, without problems.
        count: How many labels.
        first: The first free label of the first sheet, from 1 to as many as a sheet has.

    Example:
        On a sheet of 2 columns and 3 rows that begins at label 6, two labels lie at place 5 of sheet 0 and at place 0
        of sheet 1.
    """
    return tuple(_spot(sheet, number) for number in range(first - 1, first - 1 + count))


def _spot(sheet: LabelSheet, number: int) -> Spot:
    page, place = divmod(number, sheet.per_sheet)
    row, column = divmod(place, sheet.columns)
    return Spot(
        page,
        place,
        sheet.left_mm + column * (sheet.label_width_mm + sheet.gap_across_mm),
        sheet.top_mm + row * (sheet.label_height_mm + sheet.gap_down_mm),
    )


def _span(count: int, size_mm: float, gap_mm: float) -> float:
    return count * size_mm + (count - 1) * gap_mm


def _each_alone(sheet: LabelSheet) -> Iterator[Problem]:
    """Measures that no sheet has."""
    for name, most in (("columns", COLUMNS_MOST), ("rows", ROWS_MOST)):
        if not 1 <= getattr(sheet, name) <= most:
            yield Problem(name, f"Write a whole number from 1 to {most}.")
    for name in ("page_width_mm", "page_height_mm"):
        if not PAGE_LEAST_MM <= getattr(sheet, name) <= PAGE_MOST_MM:
            yield Problem(name, f"A page has {PAGE_LEAST_MM:g} to {PAGE_MOST_MM:g} mm.")
    for name in ("label_width_mm", "label_height_mm"):
        if getattr(sheet, name) < LABEL_LEAST_MM:
            yield Problem(name, f"A label has at least {LABEL_LEAST_MM:g} mm.")
    for name in (held.name for held in fields(sheet) if held.name.startswith("gap")):
        if getattr(sheet, name) < 0:
            yield Problem(name, "Labels would overlap: a gap is 0 or more.")
    for name in ("left_mm", "top_mm"):
        if getattr(sheet, name) < 0:
            yield Problem(name, "The first label would lie off the page: a margin is 0 or more.")


def _together(sheet: LabelSheet) -> Iterator[Problem]:
    """Measures that together go beyond the page."""
    ways = (
        ("columns", sheet.right_mm, sheet.columns, sheet.label_width_mm, "wider", "margin, columns and gaps"),
        ("rows", sheet.bottom_mm, sheet.rows, sheet.label_height_mm, "higher", "margin, rows and gaps"),
    )
    for name, left_mm, count, size_mm, word, what in ways:
        if left_mm < -HAIR_MM:
            told = f"{count} of {size_mm:g} mm do not fit: {what} together are {-left_mm:.2f}".rstrip("0").rstrip(".")
            yield Problem(name, f"{told} mm {word} than the page.")
