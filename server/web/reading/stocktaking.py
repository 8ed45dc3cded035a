"""Stock-taking: counts from the form, from an exported list that came back, or confirmed after they were shown."""

import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from server.documents.table_reading import PROBLEMS_MOST, ReadRow, ReadTable, read_table
from server.domain.errors import InvalidInputError, Problem
from server.domain.model.bench import Bench, Lot, Material, Recount
from server.web.forms import Reader
from server.web.reading.shelf import WORDS_MOST, quantity_of

LOT, ITEM, COLOUR, LEFT_MM, LEFT_PIECES, REASON = "lot", "item", "colour", "left, mm", "left, pieces", "reason"
USUAL_REASON = "stock-taking"


@dataclass(frozen=True, slots=True)
class Counted:
    """What was counted of one lot, beside what it held when it was counted."""

    lot: int
    was: int
    now: int
    reason: str


@dataclass(frozen=True, slots=True)
class Counts:
    """What a stock-taking comes to."""

    changes: tuple[Counted, ...]
    same: int
    """Lots counted that hold what they should."""
    left_out: int
    """Lots on the shelf that were not counted."""


def typed_counts(read: Reader, bench: Bench) -> Counts:
    """Counts from the form: a field left empty was not counted.

    Args:
        read: The form's reader.
        bench: The shelf as it stands.

    Raises:
        InvalidInputError: a count cannot be read, or is less than what builds keep; every such field is named.
    """
    reason = read.word("reason") or USUAL_REASON
    if len(reason) > WORDS_MOST:
        read.problem("reason", f"{len(reason)} characters; at most {WORDS_MOST}.")
    found = []
    for name in read.typed.values:
        match = re.fullmatch(r"count\.([0-9]{1,9})", name)
        text = read.word(name)
        if match is None or not text:
            continue
        lot = bench.lots.get(int(match[1]))
        count = "The shelf has no such lot." if lot is None else _count(text, lot)
        if lot is None or isinstance(count, str):
            read.problem(name, str(count))
        else:
            found.append(Counted(lot.id, lot.left, count, reason))
    read.done()
    return _counts(found, bench)


def counts_in_file(data: bytes, bench: Bench, names: Mapping[Material, str], reason: str) -> Counts:
    """Counts from a list that was exported, changed and brought back.

    Args:
        data: The file, CSV or XLSX.
        bench: The shelf as it stands.
        names: Names of its materials, without their colours.
        reason: Taken where a row gives none.

    Raises:
        InvalidInputError: anything in the file is wrong; every problem names its row and column.
    """
    table = read_table(data, (LOT, ITEM, COLOUR, LEFT_MM, LEFT_PIECES, REASON), (LOT,))
    if LEFT_MM not in table.letters and LEFT_PIECES not in table.letters:
        raise InvalidInputError((Problem("file", f"The list has no column “{LEFT_MM}” and no “{LEFT_PIECES}”."),))
    problems, found = list(table.problems), []
    seen: dict[int, int] = {}
    for row in table.rows:
        read = _row(row, table, bench, names, reason or USUAL_REASON)
        if isinstance(read, Counted):
            if read.lot in seen:
                problems.append(_at(table, row, LOT, f"lot {read.lot} stands in row {seen[read.lot]} already."))
            seen.setdefault(read.lot, row.number)
            found.append(read)
        elif read:
            problems += read
    if not problems and not found:
        problems.append(Problem("file", "The list holds no count: nothing stands below its headings."))
    if problems:
        rest = len(problems) - PROBLEMS_MOST
        more = (Problem("file", f"And {rest} more problems."),) if rest > 0 else ()
        raise InvalidInputError((*problems[:PROBLEMS_MOST], *more))
    return _counts(found, bench)


def written_counts(counts: Counts) -> str:
    """The changes as text for a hidden field, until they are confirmed."""
    return json.dumps([[each.lot, each.was, each.now, each.reason] for each in counts.changes])


def confirmed_counts(read: Reader, bench: Bench) -> tuple[Recount, ...]:
    """The changes that were shown and are confirmed now.

    Args:
        read: The form's reader.
        bench: The shelf as it stands.

    Raises:
        InvalidInputError: a lot no longer holds what it held when it was counted, or the form is not the planner's.
    """
    try:
        held = json.loads(read.typed.first("counts"))
        changes = [Counted(int(lot), int(was), int(now), str(reason)) for lot, was, now, reason in held]
    except (ValueError, TypeError):
        raise InvalidInputError((Problem("", "This form is not complete: take stock once more."),)) from None
    for change in changes:
        lot = bench.lots.get(change.lot)
        if lot is None or lot.left != change.was:
            now = "is gone" if lot is None else f"holds {lot.left} now"
            read.problem("", f"Lot {change.lot} held {change.was} when it was counted and {now}: count it again.")
    read.done()
    return tuple(Recount(change.lot, change.now, change.reason) for change in changes)


def _counts(found: list[Counted], bench: Bench) -> Counts:
    changes = tuple(each for each in found if each.was != each.now)
    counted = {each.lot for each in found}
    left_out = sum(1 for lot in bench.lots.values() if lot.left and lot.id not in counted)
    return Counts(changes, len(found) - len(changes), left_out)


def _count(text: str, lot: Lot) -> int | str:
    """A count that a lot may have, or what is wrong with it."""
    found = quantity_of(text, by_length=lot.material.by_length)
    kept = sum(lot.reserved.values())
    if isinstance(found, int) and found < kept:
        unit = " mm" if lot.material.by_length else ""
        return f"{kept}{unit} of lot {lot.id} are kept for builds: release them first."
    return found


def _row(
    row: ReadRow, table: ReadTable, bench: Bench, names: Mapping[Material, str], usual: str
) -> Counted | tuple[Problem, ...]:
    """What one row counts; nothing where its cells are empty; otherwise what is wrong with it."""
    text = row.cell(LOT)
    if not text:
        return _nameless(row, table)
    number = int(text) if re.fullmatch(r"[0-9]{1,9}", text) else 0
    lot = bench.lots.get(number)
    if lot is None:
        said = f"the shelf has no lot “{text[:20]}”." if number else f"“{text[:20]}” is no number of a lot."
        return (_at(table, row, LOT, said),)
    wrong = tuple(_mismatches(row, table, lot, names))
    own, other = (LEFT_MM, LEFT_PIECES) if lot.material.by_length else (LEFT_PIECES, LEFT_MM)
    if row.cell(other):
        counted = "by its length" if lot.material.by_length else "by the piece"
        wrong += (_at(table, row, other, f"lot {lot.id} is counted {counted}: write it under “{own}”."),)
    if wrong or not row.cell(own):
        return wrong
    count = _count(row.cell(own), lot)
    if isinstance(count, str):
        return (_at(table, row, own, f"“{row.cell(own)[:20]}”: {count}"),)
    reason = row.cell(REASON) or usual
    if len(reason) > WORDS_MOST:
        return (_at(table, row, REASON, f"{len(reason)} characters; at most {WORDS_MOST}."),)
    return Counted(lot.id, lot.left, count, reason)


def _nameless(row: ReadRow, table: ReadTable) -> tuple[Problem, ...]:
    """A count without a lot; a row of remarks is passed over."""
    if any(row.cell(heading) for heading in (LEFT_MM, LEFT_PIECES)):
        return (_at(table, row, LOT, "the number of the lot is missing. New stock is received, not counted."),)
    return ()


def _mismatches(row: ReadRow, table: ReadTable, lot: Lot, names: Mapping[Material, str]) -> Iterator[Problem]:
    """Cells that speak of another material than the lot's: somebody sorted one column without the others."""
    for heading, held in ((ITEM, names[lot.material]), (COLOUR, lot.material.colour)):
        text = row.cell(heading)
        if text and text.casefold() != held.casefold():
            yield _at(table, row, heading, f"“{text[:40]}”, but lot {lot.id} is “{held}”. Was one column sorted alone?")


def _at(table: ReadTable, row: ReadRow, heading: str, said: str) -> Problem:
    return Problem("file", f"{table.place(row, heading)}: {said}")
