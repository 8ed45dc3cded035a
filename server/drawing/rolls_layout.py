"""Where the pieces of a roll lie on its picture: one scale a sheet, rows that break between pieces, room for labels."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from server.domain.model.plan import RollLayout, RollPiece, RollSheet
from server.drawing import svg

LEFT, SPAN, WIDE = 14.0, 932.0, 960.0
"""Left end and greatest length of a bar, and width of the drawing. [px]"""
READ = 32.0
"""Half of the pieces are drawn at least this long where there is room, and long enough for their labels. [px]"""
INSIDE = 3.0
"""Room beside a label on its piece, both sides together. [px]"""
ROWS_MOST = 14
"""Rows of one bar, so that it fits a printed page."""
ROWS_OF_SHEET = 60
LONG_LEFT = 190.0
"""A leftover beyond this is broken off where a bar takes several rows. [px]"""
PAD = 6.0


@dataclass(frozen=True, slots=True)
class Stretch:
    """A piece on its row."""

    piece: RollPiece
    number: int
    """Its place in the cutting order, from 1."""
    x: float
    wide: float
    """Length of it on the drawing. [px]"""
    loss: float
    """What is lost at the cut behind it. [px]"""

    @property
    def middle(self) -> float:
        """Middle of the piece. [px]"""
        return self.x + self.wide / 2


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a bar."""

    stretches: tuple[Stretch, ...]
    end: float
    """Where the pieces of the row and their cutting losses end. [px]"""
    left: tuple[float, float] | None = None
    """From where to where the leftover is drawn, on the row that shows it. [px]"""
    broken: bool = False
    """Whether the leftover is longer than it is drawn."""


@dataclass(frozen=True, slots=True)
class Note:
    """A label outside the bar, for one piece or several side by side that are too short to be labelled inside."""

    x: float
    """Where it starts. [px]"""
    words: str
    of: tuple[Stretch, ...]

    @property
    def end(self) -> float:
        """Where it ends. [px]"""
        return self.x + svg.width(self.words, svg.SMALL)


def losses_mm(layout: RollLayout, loss_mm: int) -> list[int]:
    """What is lost at the cut behind each piece; the last cut takes what is there. [mm]

    Args:
        layout: The roll.
        loss_mm: Lost at a cut.
    """
    rest = layout.stock_mm - sum(piece.length_mm for piece in layout.pieces) - layout.left_mm
    lost = []
    for _ in layout.pieces:
        lost.append(max(0, min(loss_mm, rest)))
        rest -= lost[-1]
    return lost


def scale_of(sheet: RollSheet) -> float:
    """Pixels to the millimetre, one for the whole sheet.

    It is chosen so that half of the pieces can show their labels, as long as the bars stay within the rows that they
    may take; every whole bar lies on one row where that is enough.

    Args:
        sheet: The rolls of one material.
    """
    longest = max((layout.stock_mm for layout in sheet.layouts), default=1)
    lengths = sorted(piece.length_mm for layout in sheet.layouts for piece in layout.pieces)
    whole = SPAN / longest
    if not lengths:
        return whole
    labels = [piece.label for layout in sheet.layouts for piece in layout.pieces]
    wanted = max(READ, *(svg.width(label, svg.SMALL) + INSIDE for label in labels)) / lengths[len(lengths) // 2]
    used = [layout.stock_mm - layout.left_mm for layout in sheet.layouts]
    # A row may end early, by less than the longest piece.
    fair = SPAN / max(lengths)
    folded = min(wanted, fair, (ROWS_MOST - 1) * SPAN / 1.15 / max(used), ROWS_OF_SHEET * SPAN / sum(used))
    return max(whole, folded)


def rows_of(layout: RollLayout, scale: float, loss_mm: int) -> tuple[Row, ...]:
    """The rows of one bar; a row breaks between two pieces.

    Args:
        layout: The roll.
        scale: Pixels to the millimetre.
        loss_mm: Lost at each cut.
    """
    rows: list[Row] = []
    held: list[Stretch] = []
    x = LEFT
    for number, (piece, lost) in enumerate(zip(layout.pieces, losses_mm(layout, loss_mm), strict=True), start=1):
        wide = piece.length_mm * scale
        if held and x + wide > LEFT + SPAN + 0.01:
            rows.append(Row(tuple(held), x))
            held, x = [], LEFT
        held.append(Stretch(piece, number, x, wide, lost * scale))
        x += wide + lost * scale
    last = Row(tuple(held), min(x, LEFT + SPAN))
    return (*rows, *_with_left(last, layout, scale))


def _with_left(last: Row, layout: RollLayout, scale: float) -> tuple[Row, ...]:
    """The last row with the leftover behind its pieces, or on a row of its own where there is no room."""
    long = layout.left_mm * scale
    if not long:
        return (last,)
    room = LEFT + SPAN - last.end
    if long <= room + 0.01:
        return (replace(last, left=(last.end, min(last.end + long, LEFT + SPAN))),)
    if room >= LONG_LEFT or not last.stretches:
        return (replace(last, left=(last.end, LEFT + SPAN), broken=True),)
    return last, Row((), LEFT, (LEFT, LEFT + min(long, SPAN)), broken=long > SPAN)


def fits_inside(stretch: Stretch) -> bool:
    """Whether a piece can show its label on itself."""
    return stretch.wide >= svg.width(stretch.piece.label, svg.SMALL) + INSIDE - 0.01


def notes_of(row: Row) -> tuple[Note, ...]:
    """Labels outside the bar for the short pieces of a row; neighbours whose labels would meet share one.

    Args:
        row: The row.
    """
    notes: list[Note] = []
    for stretch in row.stretches:
        if fits_inside(stretch):
            continue
        note = _note((stretch,))
        while notes and note.x < notes[-1].end + PAD:
            note = _note((*notes.pop().of, *note.of))
        notes.append(note)
    return tuple(notes)


def _note(of: Sequence[Stretch]) -> Note:
    """One label below the middle of its pieces, kept on the drawing."""
    words = labels_words([stretch.piece.label for stretch in of])
    middle = (of[0].x + of[-1].x + of[-1].wide) / 2
    long = svg.width(words, svg.SMALL)
    return Note(max(LEFT, min(middle - long / 2, LEFT + SPAN - long)), words, tuple(of))


def labels_words(labels: Iterable[str]) -> str:
    """Labels side by side in cutting order: all of a few, otherwise the first and the last with their number."""
    held = list(labels)
    return ", ".join(held) if len(held) < 3 else f"{held[0]} … {held[-1]} ({len(held)})"
