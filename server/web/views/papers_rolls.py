"""The roll plan on paper: each roll to scale, and what is cut from it in cutting order."""

from dataclasses import dataclass, replace
from itertools import groupby

from server.drawing.standalone import standalone
from server.services.opened import Opened
from server.web.views import formats
from server.web.views.fields import Fields
from server.web.views.papers_head import PaperHead, paper_head
from server.web.views.papers_lists import with_commas
from server.web.views.pieces import Swatch
from server.web.views.rolls import PieceRow, RollView, rolls_panel

FOUR, TWO = 8, 26
"""Letters of the longest label up to which four pieces share a row on A4, and of a usual one up to which two do."""
SHARES = {"A4": 1.0, "Letter": 1.0, "A5": 0.6}
"""How much of that a paper has room for."""


@dataclass(frozen=True, slots=True)
class PieceCell:
    """One piece, or the blank behind the last."""

    row: PieceRow | None
    labels: tuple[str, ...]
    """Each with the comma behind it, so that no line is broken within one."""


@dataclass(frozen=True, slots=True)
class PaperRoll:
    """One roll, remnant or piece with its drawing and its pieces, row by row."""

    mark: str
    word: str
    name: str
    price: str
    left: str
    count: str
    svg: str
    columns: tuple[str, ...]
    """One for each piece of a row, for the heads of the table."""
    rows: tuple[tuple[PieceCell, ...], ...]


@dataclass(frozen=True, slots=True)
class RollSheet:
    """Everything of one material and colour."""

    name: str
    kind: str
    colour: Swatch | None
    sums: str
    proved: bool
    verdict: str
    rolls: tuple[PaperRoll, ...]


@dataclass(frozen=True, slots=True)
class RollsPaper:
    """The roll plan."""

    head: PaperHead
    proved: bool
    verdict: str
    sheets: tuple[RollSheet, ...]


def rolls_paper(opened: Opened, paper: str) -> RollsPaper:
    """The roll plan.

    Args:
        opened: The build at the revision that is set.
        paper: Which size, for how many pieces stand beside one another.
    """
    panel = rolls_panel(opened, opened.revision, Fields())
    head = paper_head(opened, "Roll plan", "roll plan", "ROLLS", panel.headline)
    sheets = tuple(
        RollSheet(
            sheet.name,
            sheet.kind,
            sheet.colour,
            sheet.sums,
            sheet.proved,
            sheet.verdict,
            tuple(_roll(roll, paper) for roll in sheet.rolls),
        )
        for sheet in panel.sheets
    )
    return RollsPaper(head, panel.proved, panel.verdict, sheets)


def _roll(roll: RollView, paper: str) -> PaperRoll:
    """A roll with its pieces in rows, read from the left to the right."""
    rows = [replace(row, label=_counted(row.label)) for row in roll.rows]
    letters, room = [len(row.label) for row in rows], SHARES[paper]
    wide = 4 if max(letters, default=0) <= FOUR * room else 2 if sum(letters) <= TWO * room * len(letters) else 1
    return PaperRoll(
        roll.mark,
        roll.word,
        roll.name,
        roll.price,
        roll.left,
        roll.count,
        standalone(roll.svg),
        ("no.",) * wide,
        tuple(_cells(rows[place : place + wide], wide) for place in range(0, len(rows), wide)),
    )


def _counted(labels: str) -> str:
    """Labels with those that repeat counted: ``3 × spare``."""
    groups = [(word, sum(1 for _ in held)) for word, held in groupby(labels.split(", "))]
    return formats.listed(word if times == 1 else f"{times} × {word}" for word, times in groups)


def _cells(rows: list[PieceRow], wide: int) -> tuple[PieceCell, ...]:
    return tuple(PieceCell(row, with_commas(row.label)) for row in rows) + (PieceCell(None, ()),) * (wide - len(rows))
