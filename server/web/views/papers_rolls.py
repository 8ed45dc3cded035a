"""The roll plan on paper: each roll to scale, and what is cut from it in cutting order."""

from dataclasses import dataclass

from server.drawing.standalone import standalone
from server.services.opened import Opened
from server.web.views.fields import Fields
from server.web.views.papers_head import PaperHead, paper_head
from server.web.views.pieces import Swatch
from server.web.views.rolls import PieceRow, RollView, rolls_panel

BESIDE = {"A4": 4, "Letter": 4, "A5": 3}
"""Pieces beside one another where their labels are short."""
SHORT = 6
"""Letters of a label up to which pieces stand beside one another."""


@dataclass(frozen=True, slots=True)
class PieceCell:
    """One piece, or the blank behind the last."""

    row: PieceRow | None


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
            tuple(_roll(roll, BESIDE[paper]) for roll in sheet.rolls),
        )
        for sheet in panel.sheets
    )
    return RollsPaper(head, panel.proved, panel.verdict, sheets)


def _roll(roll: RollView, beside: int) -> PaperRoll:
    """A roll with its pieces in rows, read from the left to the right."""
    long = any(len(row.label) + len(row.state) > SHORT for row in roll.rows)
    wide = 1 if long else beside
    return PaperRoll(
        roll.mark,
        roll.word,
        roll.name,
        roll.price,
        roll.left,
        roll.count,
        standalone(roll.svg),
        ("no.",) * wide,
        tuple(_cells(roll.rows[place : place + wide], wide) for place in range(0, len(roll.rows), wide)),
    )


def _cells(rows: tuple[PieceRow, ...], wide: int) -> tuple[PieceCell, ...]:
    return tuple(PieceCell(row) for row in rows) + (PieceCell(None),) * (wide - len(rows))
