"""Stock-taking: counts from the form, from an exported list that came back, or confirmed after they were shown."""

import json
import re
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from server.documents.table_reading import PROBLEMS_MOST, ReadRow, ReadTable, read_table
from server.domain.errors import InvalidInputError, Problem
from server.domain.model.bench import Bench, Lot, Material, Recount
from server.web.forms import Reader
from server.web.reading.shelf import WORDS_MOST, quantity_of

LOT, ITEM, COLOUR, LEFT_MM, LEFT_PIECES, REASON = "lot", "item", "colour", "left, mm", "left, pieces", "reason"
COUNTED_MM, COUNTED_PIECES = "counted, mm", "counted, pieces"
ENTRY = "last entry of the ledger"
"""Which moment of the ledger a list was written at."""
HEADINGS = (LOT, ITEM, COLOUR, LEFT_MM, LEFT_PIECES, COUNTED_MM, COUNTED_PIECES, REASON, ENTRY)
USUAL_REASON = "stock-taking"
DELETED = "another build"


@dataclass(frozen=True, slots=True)
class Counted:
    """What was counted of one lot, beside what it held when it was counted."""

    lot: int
    was: int
    now: int
    reason: str
    beyond: bool = False
    """Whether it is more than was ever received and found."""
    shrinks: str = ""
    """The build that then keeps less; empty for none."""


@dataclass(frozen=True, slots=True)
class HeldBack:
    """A count that cannot be written, and what to do first."""

    lot: int
    count: int
    message: str


@dataclass(frozen=True, slots=True)
class Counts:
    """What a stock-taking comes to."""

    changes: tuple[Counted, ...]
    same: int
    """Lots counted that hold what they should."""
    left_out: int
    """Lots on the shelf that were not counted."""
    held_back: tuple[HeldBack, ...] = ()
    since: int = 0
    """Entries written to the ledger since the list was."""
    moved: tuple[int, ...] = ()
    """Lots of the list that changed since."""


@dataclass(frozen=True, slots=True)
class CountedShelf:
    """What a list that comes back is held against."""

    bench: Bench
    names: Mapping[Material, str]
    """Names of its materials, without their colours."""
    builds: Mapping[str, str]
    """Names of builds by id."""
    changed_since: Callable[[int], Collection[int]]
    """Lots that entries after a number of the ledger speak of."""


def typed_counts(read: Reader, bench: Bench, builds: Mapping[str, str]) -> Counts:
    """Counts from the form: a field left empty was not counted.

    A count that several builds stand in the way of is held back, and the others go on.

    Args:
        read: The form's reader.
        bench: The shelf as it stands.
        builds: Names of builds by id.

    Raises:
        InvalidInputError: a count cannot be read; every such field is named.
    """
    reason = read.word("reason") or USUAL_REASON
    if len(reason) > WORDS_MOST:
        read.problem("reason", f"{len(reason)} characters; at most {WORDS_MOST}.")
    found: list[Counted] = []
    held_back: list[HeldBack] = []
    for name in read.typed.values:
        match = re.fullmatch(r"count\.([0-9]{1,9})", name)
        text = read.word(name)
        if match is None or not text:
            continue
        lot = bench.lots.get(int(match[1]))
        count = quantity_of(text, by_length=lot.material.by_length) if lot else "The shelf has no such lot."
        if lot is None or isinstance(count, str):
            read.problem(name, str(count))
        elif message := _in_the_way(lot, count, builds):
            held_back.append(HeldBack(lot.id, count, message))
        else:
            found.append(_counted(lot, count, reason, builds))
    read.done()
    return _counts(found, bench, held_back)


def counts_in_file(data: bytes, shelf: CountedShelf, reason: str) -> Counts:
    """Counts from a list that was exported, filled in and brought back; a row without a count was not counted.

    Args:
        data: The file, CSV or XLSX.
        shelf: What the list is held against.
        reason: Taken where a row gives none.

    Raises:
        InvalidInputError: anything in the file is wrong; every problem names its row and column.
    """
    table = read_table(data, HEADINGS, (LOT,))
    if COUNTED_MM not in table.letters and COUNTED_PIECES not in table.letters:
        raise InvalidInputError((Problem("file", f"The list has no column “{COUNTED_MM}” and no “{COUNTED_PIECES}”."),))
    problems, found = list(table.problems), []
    seen: dict[int, int] = {}
    written, wrong = _written_at(table, shelf.bench)
    problems += wrong
    changed = shelf.changed_since(written)
    moved: list[int] = []
    for row in table.rows:
        read = _row(row, table, shelf, reason or USUAL_REASON)
        if not isinstance(read, Counted):
            problems += read
            continue
        if read.lot in seen:
            problems.append(_at(table, row, LOT, f"lot {read.lot} stands in row {seen[read.lot]} already."))
        seen.setdefault(read.lot, row.number)
        listed = _listed(row, shelf.bench.lots[read.lot])
        stale = listed is not None and listed != read.was
        if stale or read.lot in changed:
            moved.append(read.lot)
        if not (stale and read.now == listed):
            found.append(read)
    if not problems and not seen:
        problems.append(Problem("file", "The list holds no count: nothing stands in its columns “counted”."))
    if problems:
        rest = len(problems) - PROBLEMS_MOST
        more = (Problem("file", f"And {rest} more problems."),) if rest > 0 else ()
        raise InvalidInputError((*problems[:PROBLEMS_MOST], *more))
    return replace(_counts(found, shelf.bench), since=shelf.bench.entries - written, moved=tuple(moved))


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


def _counts(found: Sequence[Counted], bench: Bench, held_back: Sequence[HeldBack] = ()) -> Counts:
    changes = tuple(each for each in found if each.was != each.now)
    counted = {each.lot for each in found} | {each.lot for each in held_back}
    left_out = sum(1 for lot in bench.lots.values() if lot.left and lot.id not in counted)
    return Counts(changes, len(found) - len(changes), left_out, tuple(held_back))


def _counted(lot: Lot, count: int, reason: str, builds: Mapping[str, str]) -> Counted:
    shrinks = next((builds.get(build, DELETED) for build, kept in lot.reserved.items() if kept > count), "")
    return Counted(lot.id, lot.left, count, reason, count > lot.received + lot.found, shrinks)


def _in_the_way(lot: Lot, count: int, builds: Mapping[str, str]) -> str:
    """What to release first where several builds keep more than was counted; one build alone then keeps less."""
    kept = sum(lot.reserved.values())
    if len(lot.reserved) < 2 or count >= kept:  # One build's share shrinks by itself.
        return ""
    unit = " mm" if lot.material.by_length else ""
    shares = " and ".join(f"{amount}{unit} for {builds.get(build, DELETED)}" for build, amount in lot.reserved.items())
    return f"lot {lot.id} is kept for several builds: {shares}. Release {kept - count}{unit} of it first, then count."


def _written_at(table: ReadTable, bench: Bench) -> tuple[int, tuple[Problem, ...]]:
    """The ledger's last number when the list was written, as far as it says; the oldest of several lists."""
    written = bench.entries
    for row in table.rows:
        text = row.cell(ENTRY)
        if not text:
            continue
        if not re.fullmatch(r"[0-9]{1,9}", text) or int(text) > bench.entries:
            said = f"“{text[:20]}” is no entry of this ledger. Is the list of another planner?"
            return bench.entries, (_at(table, row, ENTRY, said),)
        written = min(written, int(text))
    return written, ()


def _listed(row: ReadRow, lot: Lot) -> int | None:
    """What the list says was left when it was written; ``None`` where it does not say."""
    text = row.cell(LEFT_MM if lot.material.by_length else LEFT_PIECES)
    found = quantity_of(text, by_length=lot.material.by_length) if text else ""
    return found if isinstance(found, int) else None


def _row(row: ReadRow, table: ReadTable, shelf: CountedShelf, usual: str) -> Counted | tuple[Problem, ...]:
    """What one row counts; nothing where its cells are empty; otherwise what is wrong with it."""
    text = row.cell(LOT)
    if not text:
        return _nameless(row, table)
    number = int(text) if re.fullmatch(r"[0-9]{1,9}", text) else 0
    lot = shelf.bench.lots.get(number)
    if lot is None:
        said = f"the shelf has no lot “{text[:20]}”." if number else f"“{text[:20]}” is no number of a lot."
        return (_at(table, row, LOT, said),)
    wrong = tuple(_mismatches(row, table, lot, shelf.names))
    own, other = (COUNTED_MM, COUNTED_PIECES) if lot.material.by_length else (COUNTED_PIECES, COUNTED_MM)
    if row.cell(other):
        counted = "by its length" if lot.material.by_length else "by the piece"
        wrong += (_at(table, row, other, f"lot {lot.id} is counted {counted}: write it under “{own}”."),)
    if wrong or not row.cell(own):
        return wrong
    count = quantity_of(row.cell(own), by_length=lot.material.by_length)
    message = count if isinstance(count, str) else _in_the_way(lot, count, shelf.builds)
    if isinstance(count, str) or message:
        return (_at(table, row, own, f"“{row.cell(own)[:20]}”: {message}"),)
    reason = row.cell(REASON) or usual
    if len(reason) > WORDS_MOST:
        return (_at(table, row, REASON, f"{len(reason)} characters; at most {WORDS_MOST}."),)
    return _counted(lot, count, reason, shelf.builds)


def _nameless(row: ReadRow, table: ReadTable) -> tuple[Problem, ...]:
    """A count without a lot; a row of remarks is passed over."""
    if any(row.cell(heading) for heading in (COUNTED_MM, COUNTED_PIECES)):
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
