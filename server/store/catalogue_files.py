"""Reads the catalogue's CSV files and holds every line, and the lines together, to their rules."""

import csv
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from pydantic import ValidationError

from server.domain.errors import CatalogueError
from server.store.catalogue_rules import Line, check_between_lines
from server.store.plain_rules import first_broken_rule
from server.store.records import RECORDS, CatalogueRecord, VersionRecord


@dataclass(frozen=True, slots=True)
class CatalogueFiles:
    """Every line of a folder of catalogue files, checked but not yet loaded."""

    version: str
    tables: Mapping[str, tuple[CatalogueRecord, ...]]
    """Records in file order, by the file's name without its ending."""


def _text(path: Path) -> str:
    try:
        raw = path.read_bytes()
    except FileNotFoundError:
        raise CatalogueError(path.name, 1, "", "the file is missing") from None
    try:
        # A spreadsheet may save a byte order mark; it says nothing about the contents.
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as failure:
        line = raw.count(b"\n", 0, failure.start) + 1
        raise CatalogueError(path.name, line, "", "wrong encoding: the file must be saved as UTF-8") from None


def _check_heading(file: str, heading: list[str], record: type[CatalogueRecord]) -> None:
    expected = tuple(record.model_fields)
    for column in expected:
        if column not in heading:
            raise CatalogueError(file, 1, column, "the column is missing from the heading")
    for column in heading:
        if column not in expected:
            raise CatalogueError(file, 1, column, "is an unknown column")
        if heading.count(column) > 1:
            raise CatalogueError(file, 1, column, "stands twice in the heading")


def _rows(file: str, text: str, record: type[CatalogueRecord]) -> Iterator[tuple[int, dict[str, str]]]:
    reader = csv.reader(text.splitlines(keepends=True), strict=True)
    heading: list[str] = []
    try:
        for cells in reader:
            if reader.line_num == 1:
                heading = [cell.strip() for cell in cells]
                _check_heading(file, heading, record)
                continue
            if len(cells) != len(heading):
                column = heading[min(len(cells), len(heading) - 1)]
                rule = f"the row has {len(cells)} values where the heading has {len(heading)} columns"
                raise CatalogueError(file, reader.line_num, column, rule)
            yield reader.line_num, {name: cell.strip() for name, cell in zip(heading, cells, strict=True)}
    except csv.Error as failure:
        raise CatalogueError(file, reader.line_num, "", f"is not well-formed CSV: {failure}") from None
    if not heading:
        _check_heading(file, heading, record)


def _lines(folder: Path, table: str) -> tuple[Line, ...]:
    record, file = RECORDS[table], f"{table}.csv"
    lines = []
    for number, values in _rows(file, _text(folder / file), record):
        try:
            lines.append(Line(number, record.model_validate(values)))
        except ValidationError as failure:
            column, rule = first_broken_rule(failure, tuple(values))
            raise CatalogueError(file, number, column, rule) from None
    return tuple(lines)


def read_catalogue_files(folder: Path) -> CatalogueFiles:
    """Read every catalogue file of a folder and hold it to its rules.

    Args:
        folder: Folder that holds one CSV file per catalogue table.

    Returns:
        The checked records.

    Raises:
        CatalogueError: a file is missing, is not UTF-8 or not well-formed; a column is missing or unknown; a value is
            no number, out of range or an unknown word; a reference leads nowhere; an id stands twice; a source is
            missing.
    """
    lines = {table: _lines(folder, table) for table in RECORDS}
    if len(lines["version"]) != 1:
        raise CatalogueError("version.csv", 2, "version", "the file must hold exactly one row")
    check_between_lines(lines)
    version = lines["version"][0].record
    assert isinstance(version, VersionRecord)
    tables = {table: tuple(line.record for line in rows) for table, rows in lines.items()}
    return CatalogueFiles(version=version.version, tables=tables)
