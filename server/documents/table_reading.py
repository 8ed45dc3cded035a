"""Lists that come back from a spreadsheet, read as text cell by cell: nothing in them is believed.

A workbook is a packed file whose contents can be very much larger than the file, so its size is looked at before it is
unpacked. Formulas are not calculated and merged cells are not guessed at: each is a problem with its row and column.
"""

import csv
import io
import re
import zipfile
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from server.documents.tables import unguarded
from server.domain.errors import InvalidInputError, Problem

UNPACKED_MOST = 40_000_000
"""Greatest size of an unpacked workbook. [byte]"""
ROWS_MOST = 20_000
"""Rows read that hold anything."""
COLUMNS_MOST = 200
CELL_MOST = 2_000
"""Characters read of one cell."""
HEAD_ROWS = 50
"""Rows among which the headings are looked for."""
PROBLEMS_MOST = 50
_OLD_WORKBOOK = b"\xd0\xcf\x11\xe0"
_MERGED = re.compile(rb"<(?:\w+:)?mergeCell[\s>/]")
_NO_FORMULA = "This is a formula: write the value itself."


@dataclass(frozen=True, slots=True)
class ReadRow:
    """One row: its number in the file, and its cells as text by heading."""

    number: int
    cells: Mapping[str, str]

    def cell(self, heading: str) -> str:
        """The text under a heading; empty where there is none."""
        return self.cells.get(heading, "")


@dataclass(frozen=True, slots=True)
class ReadTable:
    """A list as it was read."""

    letters: Mapping[str, str]
    """Letter of the column of each heading found."""
    rows: tuple[ReadRow, ...]
    problems: tuple[Problem, ...]

    def place(self, row: ReadRow, heading: str) -> str:
        """Where a cell stands, in words: ``row 5, column F``."""
        return f"row {row.number}, column {self.letters[heading]}"


_Raw = list[tuple[int, list[str | None]]]
"""Rows that hold anything, by number from 1; ``None`` marks a formula."""


def read_table(data: bytes, headings: Sequence[str], needed: Sequence[str]) -> ReadTable:
    """The first list of a CSV file or workbook that has the needed headings, whatever the order of sheets and columns.

    Args:
        data: The file.
        headings: Headings to look for; other columns are passed over. A unit behind a comma may be missing.
        needed: Those without which there is no list.

    Returns:
        Rows below the headings that hold anything, and what is wrong with single cells.

    Raises:
        InvalidInputError: the file cannot be read, or no sheet of it has the needed headings.
    """
    if not data.strip():
        raise _refused("The file is empty.")
    if data.startswith(_OLD_WORKBOOK):
        raise _refused("This is a workbook of an old or locked kind. Save it as .xlsx without a password, or as CSV.")
    if data.startswith(b"PK"):
        return _from_workbook(data, headings, needed)
    raw = _csv_rows(data)
    head = _head(raw, headings, needed)
    if head is None:
        raise _refused(_missing(raw, headings, needed, "The file"))
    return _table(raw, *head, merged=())


def _refused(message: str) -> InvalidInputError:
    return InvalidInputError((Problem("file", message),))


# ---- CSV -----------------------------------------------------------------------------------------------------------


def _csv_rows(data: bytes) -> _Raw:
    try:
        text = data.decode("utf-16" if data.startswith((b"\xff\xfe", b"\xfe\xff")) else "utf-8-sig")
    except UnicodeDecodeError:
        raise _refused("The letters of this file are not UTF-8. Save it as “CSV UTF-8” or as .xlsx.") from None
    first = text.partition("\n")[0]
    # A spreadsheet whose decimal point is a comma puts semicolons between cells.
    mark = max(",;\t", key=first.count)
    found: _Raw = []
    try:
        for number, cells in enumerate(csv.reader(io.StringIO(text, newline=""), delimiter=mark), start=1):
            if any(cell.strip() for cell in cells):
                _count(len(found), len(cells))
                found.append((number, [_csv_text(cell) for cell in cells]))
    except csv.Error as error:
        raise _refused(f"This is no CSV file: {error}.") from None
    return found


def _csv_text(cell: str) -> str | None:
    text = cell.strip()
    if text.startswith("="):
        return None
    return unguarded(text)[:CELL_MOST]


def _count(rows: int, cells: int) -> None:
    if rows >= ROWS_MOST:
        raise _refused(f"More than {ROWS_MOST} rows hold something.")
    if cells > COLUMNS_MOST:
        raise _refused(f"A row has more than {COLUMNS_MOST} cells.")


# ---- workbooks -----------------------------------------------------------------------------------------------------


def _from_workbook(data: bytes, headings: Sequence[str], needed: Sequence[str]) -> ReadTable:
    merged = _unpacked_safely(data)
    book = _opened(data, read_only=True)
    try:
        sheets = {place.title: _sheet_rows(place) for place in book.worksheets}
    except InvalidInputError:
        raise
    except Exception as error:  # The library raises whatever a broken file makes it stumble over.
        raise _refused("This workbook is damaged: save it anew and try again.") from error
    finally:
        book.close()
    for title, raw in sheets.items():
        head = _head(raw, headings, needed)
        if head is not None:
            return _table(raw, *head, merged=_merged_ranges(data, title) if merged else ())
    fullest = max(sheets, key=lambda title: len(sheets[title]), default="")
    if not sheets or not sheets[fullest]:
        raise _refused("The workbook has no sheet with anything in it.")
    raise _refused(_missing(sheets[fullest], headings, needed, f"The sheet “{fullest[:40]}”"))


def _unpacked_safely(data: bytes) -> bool:
    """Whether any sheet has merged cells; refuses what is no workbook or unpacks to too much."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            if sum(member.file_size for member in packed.infolist()) > UNPACKED_MOST:
                raise _refused("The workbook is far larger than a list of this planner: delete what does not belong.")
            names = [name for name in packed.namelist() if name.startswith("xl/worksheets/") and name.endswith(".xml")]
            return any(_MERGED.search(packed.read(name)) for name in names)
    except (zipfile.BadZipFile, OSError, EOFError, NotImplementedError, RuntimeError, ValueError):
        raise _refused("This workbook is damaged or locked: save it anew as .xlsx and try again.") from None


def _opened(data: bytes, *, read_only: bool) -> Any:
    from openpyxl import load_workbook  # type: ignore[import-untyped]  # noqa: PLC0415

    try:
        return load_workbook(io.BytesIO(data), read_only=read_only)
    except Exception as error:
        raise _refused("This is no workbook that can be read: save it anew as .xlsx, or as CSV.") from error


def _sheet_rows(place: Any) -> _Raw:
    # A sheet may claim a million columns; what it really holds is what counts.
    place.reset_dimensions()
    found: _Raw = []
    for number, cells in enumerate(place.iter_rows(), start=1):
        texts = [_cell_text(cell) for cell in cells]
        while texts and texts[-1] == "":
            texts.pop()
        if texts:
            _count(len(found), len(texts))
            found.append((number, texts))
    return found


def _cell_text(cell: Any) -> str | None:
    value = cell.value
    if value is None:
        return ""
    if cell.data_type == "f":
        return None
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        value = int(value)
    return " ".join(str(value).split())[:CELL_MOST]


def _merged_ranges(data: bytes, title: str) -> tuple[tuple[int, int, int, int], ...]:
    """Merged cells of a sheet as first row, last row, first column and last column."""
    book = _opened(data, read_only=False)
    ranges = book[title].merged_cells.ranges
    return tuple((merge.min_row, merge.max_row, merge.min_col, merge.max_col) for merge in ranges)


# ---- headings and cells --------------------------------------------------------------------------------------------


def _plain(text: str | None) -> str:
    return " ".join((text or "").split()).casefold()


def _heading_of(text: str | None, headings: Sequence[str]) -> str:
    """The heading that a cell holds, with or without its unit; empty for none."""
    written = _plain(text)
    whole = [heading for heading in headings if _plain(heading) == written]
    if whole or not written:
        return whole[0] if whole else ""
    bare = [heading for heading in headings if _plain(heading.partition(",")[0]) == written]
    return bare[0] if len(bare) == 1 else ""


def _head(
    raw: _Raw, headings: Sequence[str], needed: Sequence[str]
) -> tuple[int, dict[str, int], tuple[Problem, ...]] | None:
    """Number of the row of headings, the place of each, and headings that stand twice; ``None`` where there is none."""
    for number, cells in raw[:HEAD_ROWS]:
        places: dict[str, int] = {}
        twice = []
        for index, text in enumerate(cells):
            heading = _heading_of(text, headings)
            if heading and heading in places:
                where = f"row {number}, column {column_letters(index + 1)}"
                twice.append(Problem("file", f"{where}: a second column “{heading}”."))
            elif heading:
                places[heading] = index
        if all(heading in places for heading in needed):
            return number, places, tuple(twice)
    return None


def _missing(raw: _Raw, headings: Sequence[str], needed: Sequence[str], what: str) -> str:
    found = {heading for _, cells in raw[:HEAD_ROWS] for text in cells if (heading := _heading_of(text, headings))}
    lacking = [f"“{heading}”" for heading in needed if heading not in found]
    if not lacking:
        return f"{what} has its headings in different rows: put them into one row."
    return (
        f"{what} has no column {' and no column '.join(lacking)}. Start from the exported list and keep its headings."
    )


def _table(
    raw: _Raw,
    head: int,
    places: dict[str, int],
    twice: tuple[Problem, ...],
    *,
    merged: Iterable[tuple[int, int, int, int]],
) -> ReadTable:
    letters = {heading: column_letters(index + 1) for heading, index in places.items()}
    problems = list(twice)
    problems += _merged_problems(merged, head, places)
    rows = []
    for number, cells in raw:
        if number <= head:
            continue
        texts = {}
        for heading, index in places.items():
            text = cells[index] if index < len(cells) else ""
            if text is None:
                problems.append(Problem("file", f"row {number}, column {letters[heading]}: {_NO_FORMULA}"))
            texts[heading] = text or ""
        if any(texts.values()) or None in cells:
            rows.append(ReadRow(number, texts))
    return ReadTable(letters, tuple(rows), tuple(problems[:PROBLEMS_MOST]))


def _merged_problems(
    merged: Iterable[tuple[int, int, int, int]], head: int, places: Mapping[str, int]
) -> Iterator[Problem]:
    for first_row, last_row, first_column, last_column in sorted(merged):
        touched = [index for index in places.values() if first_column <= index + 1 <= last_column]
        if last_row >= head and touched:
            where = f"row {max(first_row, head)}, column {column_letters(min(touched) + 1)}"
            yield Problem("file", f"{where}: merged cells; split them and fill each.")


def column_letters(number: int) -> str:
    """Letters of a column as spreadsheets name it: 1 is A, 27 is AA.

    Args:
        number: The column, counted from 1.
    """
    letters = ""
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters
