"""Lists as files: CSV and XLSX with typed cells, made so that no text of the builder's can act as a formula.

CSV follows RFC 4180: commas, lines that end in CR LF, quotes doubled, one heading line. It is UTF-8 and begins with a
byte order mark, which RFC 4180 does not speak of: without it common spreadsheet programs take the letters for those of
the computer's own code page. A text that begins like a formula gets an apostrophe in front; ``table_reading`` takes it
off again.
"""

import csv
import io
import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Literal

Cell = str | int | Decimal | None
"""A text, a whole number, an amount, or nothing."""
Kind = Literal["text", "whole", "amount"]
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
"""Beginnings that a spreadsheet program may take for a formula."""
XLSX_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
CSV_TYPE = "text/csv; charset=utf-8; header=present"

_WIDTHS: dict[Kind, int] = {"text": 24, "whole": 12, "amount": 12}
_NUMBER_FORMATS: dict[Kind, str] = {"text": "@", "whole": "0", "amount": "0.00"}
# Characters that no XML document can hold.
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ufffe\uffff]")
_SHEET_NAME = re.compile(r"[\[\]:*?/\\]")
_SHEET_NAME_MOST = 31
_TEXT_MOST = 32_000


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a list."""

    heading: str
    """What it holds, its unit behind a comma: ``left, mm``."""
    kind: Kind = "text"
    locked: bool = False
    """Whether a workbook guards its cells, and leaves all others open; a guard against slips, without a password."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """One list: its columns and rows."""

    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]


def write_csv(sheet: Sheet) -> bytes:
    """The list as CSV text (RFC 4180, UTF-8 with a byte order mark).

    Args:
        sheet: The list; every row has a cell for each column.
    """
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(column.heading for column in sheet.columns)
    for row in sheet.rows:
        writer.writerow([_csv_cell(cell) for cell in row])
    return text.getvalue().encode("utf-8-sig")


def write_xlsx(sheets: Sequence[Sheet]) -> bytes:
    """Lists as one workbook: numbers are numbers, texts are texts, the heading stays in sight.

    Args:
        sheets: At least one list; every row has a cell for each column.
    """
    # Loaded here: the library takes a while, and most answers need none of it.
    from openpyxl import Workbook  # type: ignore[import-untyped]  # noqa: PLC0415

    book = Workbook()
    book.remove(book.active)
    for sheet in sheets:
        _fill(book.create_sheet(_SHEET_NAME.sub(" ", sheet.title)[:_SHEET_NAME_MOST]), sheet)
    data = io.BytesIO()
    book.save(data)
    return data.getvalue()


def shown_text(text: str) -> str:
    """A text without the characters that no workbook can hold."""
    return _CONTROL.sub(" ", text)[:_TEXT_MOST]


def _csv_cell(cell: Cell) -> str:
    if cell is None:
        return ""
    if not isinstance(cell, str):
        return format(cell, "f") if isinstance(cell, Decimal) else str(cell)
    text = shown_text(cell)
    return f"'{text}" if text.startswith((*FORMULA_STARTS, "'")) else text


def _fill(place: Any, sheet: Sheet) -> None:
    from openpyxl.styles import Alignment, Font, Protection  # type: ignore[import-untyped]  # noqa: PLC0415

    for index, column in enumerate(sheet.columns, start=1):
        head = place.cell(1, index)
        _put(head, column.heading, "text")
        head.font = Font(bold=True)
        head.alignment = Alignment(wrap_text=True, vertical="top")
        place.column_dimensions[head.column_letter].width = _WIDTHS[column.kind]
    guarded = any(column.locked for column in sheet.columns)
    for number, row in enumerate(sheet.rows, start=2):
        for index, (cell, column) in enumerate(zip(row, sheet.columns, strict=True), start=1):
            if cell is not None:
                _put(place.cell(number, index), cell, column.kind)
            if guarded and not column.locked:
                place.cell(number, index).protection = Protection(locked=False)
    if guarded:
        place.protection.sheet = True
        # Each of these is a ban; what is lifted here stays allowed.
        for allowed in ("sort", "autoFilter", "formatCells", "formatColumns", "formatRows", "deleteRows"):
            setattr(place.protection, allowed, False)
    place.freeze_panes = "A2"
    place.auto_filter.ref = place.dimensions
    place.page_setup.orientation = "landscape"
    place.page_setup.fitToHeight = 0
    place.sheet_properties.pageSetUpPr.fitToPage = True
    place.print_title_rows = "1:1"


def _put(place: Any, cell: Cell, kind: Kind) -> None:
    if isinstance(cell, str):
        place.value = shown_text(cell)
        # The library would make a formula of a text that begins with "=", and an error of one such as "#N/A". With the
        # quote mark, a text stays one even after somebody has edited it.
        place.data_type = "s"
        place.quotePrefix = cell.startswith(FORMULA_STARTS)
        place.number_format = "@"
    else:
        place.value = cell
        place.number_format = _NUMBER_FORMATS[kind]
