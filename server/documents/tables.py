"""Lists as files: CSV and XLSX with typed cells, made so that no text of the builder's can act as a formula.

CSV follows RFC 4180: commas, lines that end in CR LF, quotes doubled, one heading line. It is UTF-8 and begins with a
byte order mark, which RFC 4180 does not speak of: without it common spreadsheet programs take the letters for those of
the computer's own code page. A text that begins like a formula gets an apostrophe in front, and so does one that a
spreadsheet program would turn into a date, such as the label 1-04; ``table_reading`` takes it off again. A workbook
needs none of that: its cells say themselves what they are, and the same lists give the same bytes.
"""

import csv
import io
import re
import zipfile
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any, Literal

from babel.numbers import get_currency_precision

Cell = str | int | float | Decimal | datetime | None
"""A text, a whole number, a measure, an amount, a moment in the workshop's own time, or nothing."""
Kind = Literal["text", "whole", "number", "amount", "moment"]
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
"""Beginnings that a spreadsheet program may take for a formula."""
XLSX_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
CSV_TYPE = "text/csv; charset=utf-8; header=present"

_LEAST_WIDTH, _GREATEST_WIDTH = 8, 48
_WIDTH_ROWS = 500
"""Rows that are looked at for the width of a column; a longer text further down is cut off on screen only."""
_NUMBER_FORMATS: dict[Kind, str] = {
    "text": "@",
    "whole": "0",
    "number": "0.0##",
    "amount": "0.00",
    "moment": "yyyy-mm-dd hh:mm",
}
# What a spreadsheet program makes a date or a time of as soon as it opens a CSV file: 1-04, 3/4, 2.5.26, 7:30.
_DATE = re.compile(r"\d{1,4}([-/.:]\d{1,4}){1,2}", re.ASCII)
_NET = re.compile(r"[+-]\d{1,3}(\.\d{1,2})?V[A-Z_]{0,12}", re.ASCII)
_OLDEST = (1980, 1, 1, 0, 0, 0)
"""The moment that every part of a workbook carries, the first that a packed file can hold."""
_MOMENTS = re.compile(rb"<dcterms:(created|modified)\b.*?</dcterms:\1>", re.DOTALL)
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
    currency: str = ""
    """Of an amount: its code, which a workbook shows beside the number."""
    as_is: bool = False
    """Whether CSV leaves a text alone that looks like a date, because no spreadsheet program is to open it."""


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
        writer.writerow([_csv_cell(cell, column) for cell, column in zip(row, sheet.columns, strict=True)])
    return text.getvalue().encode("utf-8-sig")


def write_xlsx(sheets: Sequence[Sheet]) -> bytes:
    """Lists as one workbook: numbers are numbers, texts are texts, the heading stays in sight.

    Args:
        sheets: At least one list, no two of the same title; every row has a cell for each column.

    Returns:
        The workbook; the same bytes for the same lists, so that it carries no moment of its making.
    """
    # Loaded here: the library takes a while, and most answers need none of it.
    from openpyxl import Workbook  # type: ignore[import-untyped]  # noqa: PLC0415

    book = Workbook()
    book.remove(book.active)
    for sheet in sheets:
        _fill(book.create_sheet(_SHEET_NAME.sub(" ", sheet.title)[:_SHEET_NAME_MOST]), sheet)
    data = io.BytesIO()
    book.save(data)
    return _without_moments(data)


def _without_moments(packed: io.BytesIO) -> bytes:
    """A workbook packed anew, so that nothing in it tells when it was made."""
    made = io.BytesIO()
    with zipfile.ZipFile(packed) as old, zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as new:
        for part in old.infolist():
            data = old.read(part)
            if part.filename == "docProps/core.xml":
                data = _MOMENTS.sub(b"", data)
            fresh = zipfile.ZipInfo(part.filename, _OLDEST)
            fresh.compress_type = zipfile.ZIP_DEFLATED
            new.writestr(fresh, data)
    return made.getvalue()


def guarded(text: str, *, dates: bool = True) -> str:
    """A text as CSV holds it, with an apostrophe in front where a spreadsheet program would make something else of it.

    Args:
        text: The text.
        dates: Whether what looks like a date is guarded too.
    """
    shown = shown_text(text)
    unsafe = shown.startswith((*FORMULA_STARTS, "'")) or (dates and _DATE.fullmatch(shown))
    return f"'{shown}" if unsafe else shown


def unguarded(text: str) -> str:
    """The text that ``guarded`` wrote."""
    return text[1:] if text.startswith("'") and guarded(text[1:]) == text else text


def shown_text(text: str) -> str:
    """A text without the characters that no workbook can hold."""
    return _CONTROL.sub(" ", text)[:_TEXT_MOST]


def _csv_cell(cell: Cell, column: Column) -> str:
    match cell:
        case None:
            return ""
        case str():
            # A net such as +12V has nothing that a formula could reach: a label printer gets it as it is.
            harmless = column.as_is and _NET.fullmatch(cell)
            return cell if harmless else guarded(cell, dates=not column.as_is)
        case Decimal():
            return format(cell, "f")
        case float():
            return f"{cell:.6f}".rstrip("0").rstrip(".")
        case datetime():
            return f"{cell:%Y-%m-%d %H:%M}"
    return str(cell)


def _fill(place: Any, sheet: Sheet) -> None:
    from openpyxl.styles import Alignment, Font, Protection  # type: ignore[import-untyped]  # noqa: PLC0415

    for index, column in enumerate(sheet.columns, start=1):
        head = place.cell(1, index)
        _put(head, column.heading, Column(""))
        head.font = Font(bold=True)
        head.alignment = Alignment(wrap_text=True, vertical="top")
        place.column_dimensions[head.column_letter].width = _width(sheet, index - 1)
    guarding = any(column.locked for column in sheet.columns)
    for number, row in enumerate(sheet.rows, start=2):
        for index, (cell, column) in enumerate(zip(row, sheet.columns, strict=True), start=1):
            if cell is not None:
                _put(place.cell(number, index), cell, column)
            if guarding and not column.locked:
                place.cell(number, index).protection = Protection(locked=False)
    if guarding:
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


def _width(sheet: Sheet, index: int) -> int:
    """Width of a column in characters: its longest text, or the longest word of its heading, which may wrap."""
    column = sheet.columns[index]
    longest = max(map(len, column.heading.split()), default=0)
    for row in sheet.rows[:_WIDTH_ROWS]:
        longest = max(longest, len(_csv_cell(row[index], column)))
    # The mark that sorts and filters stands in the heading too, and a currency beside an amount.
    room = 2 + (4 if column.currency else 0)
    return min(max(longest + room, _LEAST_WIDTH), _GREATEST_WIDTH)


def _format(column: Column) -> str:
    """How a workbook shows the numbers of a column."""
    if column.kind != "amount" or not column.currency:
        return _NUMBER_FORMATS[column.kind]
    digits = get_currency_precision(column.currency)
    return f"#,##0{'.' + '0' * digits if digits else ''} [${column.currency}]"


def _put(place: Any, cell: Cell, column: Column) -> None:
    if isinstance(cell, str):
        place.value = shown_text(cell)
        # The library would make a formula of a text that begins with "=", and an error of one such as "#N/A". With the
        # quote mark, a text stays one even after somebody has edited it.
        place.data_type = "s"
        place.quotePrefix = cell.startswith(FORMULA_STARTS)
        place.number_format = "@"
    else:
        place.value = cell
        place.number_format = _format(column)
