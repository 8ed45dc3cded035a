"""A roll, a remnant or a piece as a bar: what is cut from it in cutting order, to scale, and what is left."""

from collections.abc import Sequence

from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import RollLayout, RollSheet
from server.drawing import svg
from server.drawing.paint import Paints
from server.drawing.rolls_layout import (
    LEFT,
    PAD,
    SPAN,
    WIDE,
    Note,
    Row,
    Stretch,
    fits_inside,
    labels_words,
    notes_of,
    rows_of,
    scale_of,
)

BAR = 34.0
BAND = 6.0
"""Height of a bar, and of the strip at its top that shows the colour. [px]"""
TOP = 8.0
NOTE = 17.0
"""Room below a row for the labels of short pieces. [px]"""
GAP = 9.0
LEAST_CUT = 1.6
"""A cut is drawn no narrower than this where something is lost at it. [px]"""
SCALE_MARKS = (10, 20, 50, 100, 200, 500, 1_000, 2_000, 5_000, 10_000, 20_000, 50_000)
FOOT = 22.0


def roll_svgs(
    sheet: RollSheet, catalogue: Catalogue, prefix: str, *, loss_mm: int = 0, least_mm: int = 0
) -> tuple[str, ...]:
    """The pictures of every roll of a sheet, in its order and all to one scale.

    Each is a drawing of its own, so that paper can break between two rolls.

    Args:
        sheet: How everything of one material and colour is cut.
        catalogue: For the colour.
        prefix: Start of every id, unique within the page.
        loss_mm: Lost at each cut. [mm]
        least_mm: A shorter leftover is no remnant. [mm]

    Returns:
        An ``svg`` element for each layout.
    """
    scale = scale_of(sheet)
    return tuple(
        _Bar(sheet, layout, catalogue, f"{prefix}-{number}", (loss_mm, least_mm), scale).svg(
            measured=number == len(sheet.layouts)
        )
        for number, layout in enumerate(sheet.layouts, start=1)
    )


def leftover_words(left_mm: int, least_mm: int) -> str:
    """What becomes of what is left of a roll.

    Args:
        left_mm: Its length. [mm]
        least_mm: A shorter leftover is no remnant. [mm]
    """
    if not left_mm:
        return "used up"
    return f"{left_mm} mm left" if left_mm >= least_mm else f"{left_mm} mm scrap"


class _Bar:
    """One roll being drawn."""

    def __init__(
        self,
        sheet: RollSheet,
        layout: RollLayout,
        catalogue: Catalogue,
        prefix: str,
        loss_and_least_mm: tuple[int, int],
        scale: float,
    ) -> None:
        self._sheet, self._layout, self._prefix, self._scale = sheet, layout, prefix, scale
        self._loss_mm, self._least_mm = loss_and_least_mm
        self._paints = Paints(prefix, catalogue)

    def svg(self, *, measured: bool) -> str:
        """The drawing, with the scale of the sheet below it where it is the last one."""
        body, y = [self._definitions()], TOP
        rows = rows_of(self._layout, self._scale, self._loss_mm)
        for index, row in enumerate(rows):
            notes = notes_of(row)
            body += self._row(row, y, goes_on=index < len(rows) - 1, came_on=index > 0)
            body += [_note(note, y + BAR) for note in notes]
            y += BAR + (NOTE if notes else 0) + GAP
        if measured:
            body.append(self._scale_bar(y))
        return svg.document(self._prefix, "roll", (WIDE, y + (FOOT if measured else 0)), self._words(), body)

    def _words(self) -> tuple[str, str]:
        layout = self._layout
        what = {"roll": "roll to buy", "lot": f"lot {layout.lot}", "piece": f"piece {layout.lot}"}[layout.source]
        told = ", ".join(f"{piece.label} {piece.length_mm} mm" for piece in layout.pieces[:60])
        more = f" and {len(layout.pieces) - 60} more" if len(layout.pieces) > 60 else ""
        left = leftover_words(layout.left_mm, self._least_mm)
        return f"{svg.name(self._sheet.name)}: {what}, {layout.stock_mm} mm", f"In cutting order: {told}{more}; {left}."

    def _definitions(self) -> str:
        codes = [self._sheet.colour] if self._sheet.colour else []
        bare, sleeved = ([], codes) if self._sheet.kind == "sleeve" else (codes, [])
        hatch = '<path d="M-1 7l8 -8M-1 1l2 -2M5 7l2 -2" class="line hairline thin"/>'
        pattern = (
            f'<defs><pattern id="{self._prefix}-left" width="6" height="6" patternUnits="userSpaceOnUse">'
            f"{hatch}</pattern></defs>"
        )
        return self._paints.definitions(bare, sleeved) + pattern

    def _paint(self) -> str:
        code = self._sheet.colour
        if not code:
            return ""
        return self._paints.braided(code) if self._sheet.kind == "sleeve" else self._paints.hatched(code)

    def _row(self, row: Row, y: float, *, goes_on: bool, came_on: bool) -> list[str]:
        drawn = [self._left(row, y)]
        drawn += [self._piece(stretch, y) for stretch in row.stretches]
        drawn += [_cut(stretch, y) for stretch in row.stretches if stretch.loss]
        if came_on:
            drawn.append(_turn(LEFT, y, -1))
        if goes_on:
            drawn.append(_turn(row.left[1] if row.left else row.end, y, 1))
        return drawn

    def _piece(self, stretch: Stretch, y: float) -> str:
        """One piece: its colour on top, its label and length below; a dashed edge where it is only kept free."""
        piece = stretch.piece
        dashes = None if piece.ready else "4 3"
        words = f"{piece.label}, {piece.length_mm} mm" + ("" if piece.ready else ", kept free")
        box = svg.rect(
            stretch.x,
            y,
            stretch.wide,
            BAR,
            cls="paper edge" if piece.ready else "sheet edge",
            stroke_dasharray=dashes,
            data_piece=piece.label,
        )
        band = svg.rect(stretch.x, y, stretch.wide, BAND, fill=self._paint(), cls="edge") if self._paint() else ""
        return f"<g><title>{svg.esc(svg.name(words))}</title>{box}{band}{_inside(stretch, y)}</g>"

    def _left(self, row: Row, y: float) -> str:
        """What is left, hatched, with what becomes of it on top or beside it."""
        if row.left is None:
            return ""
        (start, end), left = row.left, self._layout.left_mm
        words = leftover_words(left, self._least_mm)
        kept = left >= self._least_mm
        box = svg.rect(
            start, y, end - start, BAR, fill=f"url(#{self._prefix}-left)", cls="edge muted", data_left=str(left)
        )
        torn = _torn(end, y) if row.broken else ""
        long = svg.width(words, svg.SMALL) + 2 * PAD
        middle = (start + end) / 2
        if end - start < long:
            beside = svg.text(end + PAD, y + 21, words, "ink" if kept else "muted", size=svg.SMALL)
            return box + torn + (beside if end + long <= WIDE else "")
        back = svg.rect(middle - long / 2, y + 9, long, 17, cls="sheet")
        return box + torn + back + svg.text(middle, y + 21, words, "ink", size=svg.SMALL, anchor="middle")

    def _scale_bar(self, y: float) -> str:
        """A measure to compare with."""
        mark = max((m for m in SCALE_MARKS if m * self._scale <= 180), default=SCALE_MARKS[0])
        long, base = mark * self._scale, y + 8
        parts = [svg.path(f"M{svg.num(LEFT)} {svg.num(base - 4)}v8m0 -4h{svg.num(long)}m0 -4v8", "line thin")]
        parts.append(svg.text(LEFT + long + PAD, base + 3.5, f"{mark} mm", "muted", size=svg.SMALL))
        if self._loss_mm and self._layout.pieces:
            words = f"solid: {self._loss_mm} mm lost at each cut"
            parts.append(svg.text(LEFT + SPAN, base + 3.5, words, "muted", size=svg.SMALL, anchor="end"))
        return "".join(parts)


def _inside(stretch: Stretch, y: float) -> str:
    """Label and length on the piece, as far as there is room."""
    if not fits_inside(stretch):
        return ""
    piece, room = stretch.piece, stretch.wide - 3
    first = svg.text(stretch.middle, y + 18, piece.label, "ink heading", size=svg.SMALL, anchor="middle")
    tries: Sequence[str] = (f"{piece.length_mm} mm", str(piece.length_mm))
    if not piece.ready:
        tries = (f"{piece.length_mm} mm, kept free", "kept free", "free")
    fitting = next((words for words in tries if svg.width(words, svg.SMALL) <= room), "")
    return first + (svg.text(stretch.middle, y + 30, fitting, "muted", size=svg.SMALL, anchor="middle"))


def _cut(stretch: Stretch, y: float) -> str:
    """The cut behind a piece, as wide as what is lost at it, though never too narrow to be seen."""
    wide = max(stretch.loss, LEAST_CUT)
    x = stretch.x + stretch.wide + (stretch.loss - wide) / 2
    return svg.rect(x, y - 2, wide, BAR + 4, cls="solid", data_loss=stretch.piece.label)


def _note(note: Note, y: float) -> str:
    """A label below the bar: a bracket under its pieces, and the words."""
    first, last = note.of[0].x, note.of[-1].x + note.of[-1].wide
    bracket = f"M{svg.num(first + 0.5)} {svg.num(y + 1)}v3H{svg.num(max(last - 0.5, first + 0.5))}v-3"
    labels = [stretch.piece.label for stretch in note.of]
    full = ", ".join(labels) if labels_words(labels) != ", ".join(labels) else ""
    return svg.path(bracket, "line thin") + svg.text(note.x, y + 14, note.words, "ink", size=svg.SMALL, full=full)


def _turn(x: float, y: float, way: int) -> str:
    """An arrow where a bar goes on in the next row, or comes from the one before."""
    tip, middle = x + way * 7, y + BAR / 2
    if way < 0:
        return svg.shape(f"M{svg.num(x - 8)} {svg.num(middle - 4)}l6 4l-6 4z", "solid")
    return svg.shape(f"M{svg.num(tip - 5)} {svg.num(middle - 4)}l6 4l-6 4z", "solid")


def _torn(x: float, y: float) -> str:
    """The break line of technical drawings, where a part is longer than it is drawn."""
    step = BAR / 4
    upper = f"M{svg.num(x)} {svg.num(y - 2)}v{svg.num(step)}l-5 {svg.num(step / 2)}"
    return svg.path(f"{upper}l10 {svg.num(step)}l-5 {svg.num(step / 2)}v{svg.num(step + 4)}", "line heavy")
