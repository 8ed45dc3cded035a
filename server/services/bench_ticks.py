"""Ticks of the bench screen: each counts once, whatever the connection did to it, and is held against the bench of now.

A tick has an id that its device made. What became of it is kept under that id in the transaction that writes its ledger
entries, so that a tick sent again, in any order and after any failure, is answered as it was the first time.
"""

from collections.abc import Sequence

from server.domain import ledger
from server.domain.bench_steps import refused
from server.domain.errors import InvalidInputError
from server.domain.learning import TIMED_WITH, shared_seconds
from server.domain.model.bench import Cut, Done, Entry, Take, Timed, Undo
from server.services.bench import BenchDesk
from server.services.bench_book import Book
from server.services.bench_rules import one_line
from server.services.bench_tick_steps import TickSteps, Written
from server.services.bench_tick_types import Tick, TickResult
from server.services.builds import BuildDesk
from server.services.opened import Opened
from server.store.bench_ticks import StoredTick, find_tick, keep_tick, tick_of_entry
from server.store.builds import latest_revision


def work_ticks(
    builds: BuildDesk, bench: BenchDesk, build_id: str, device: str, ticks: Sequence[Tick]
) -> tuple[TickResult, ...]:
    """Write down what was ticked, all in one transaction; a tick that is refused stops none of the others.

    Args:
        builds: The desk of builds.
        bench: The bench on the same database.
        build_id: The build.
        device: Name that the device gave itself.
        ticks: Ticks of that device; they are worked in the order of their ``n``.

    Returns:
        What became of each, in the order given.

    Raises:
        NotFoundError: no such build.
    """
    builds.open(build_id)  # Planned before the ledger is locked, where it is not planned yet.
    results: dict[int, TickResult] = {}
    with bench.book() as book:
        opened = builds.opened(book.session, latest_revision(book.session, build_id))
        for at in sorted(range(len(ticks)), key=lambda at: ticks[at].n):
            results[at] = _worked(ticks[at], device, book, opened)
    return tuple(results[at] for at in range(len(ticks)))


def _worked(tick: Tick, device: str, book: Book, opened: Opened) -> TickResult:
    """One tick, written or refused, and kept; or the answer that it got before."""
    known = find_tick(book.session, tick.id)
    if known is not None:
        if (known.build_id, known.kind, known.task) != (opened.build_id, tick.kind, tick.task):
            return TickResult(tick.id, "refused", "another tick came with this id before")
        return TickResult(tick.id, "known" if known.state == "written" else "refused", known.message, known.entries)
    try:
        entries, message = _made(tick, book, opened)
        numbers = book.write(entries)
    except InvalidInputError as error:
        result = TickResult(tick.id, "refused", one_line(error.problems[0].message))
    else:
        result = TickResult(tick.id, "written", one_line(message), numbers)
    kept = StoredTick(
        tick.id, opened.build_id, device, tick.n, tick.kind, tick.task,
        "written" if result.state == "written" else "refused", result.message, result.entries, tick.at,
    )  # fmt: skip
    keep_tick(book.session, kept, at=book.at)
    return result


def _made(tick: Tick, book: Book, opened: Opened) -> Written:
    """The entries that a tick asks for, and what they do in words.

    Raises:
        InvalidInputError: it cannot be written now.
    """
    if tick.kind == "do":
        return TickSteps(opened, book.bench).do(tick.task, tick.tick or {})
    if tick.kind == "undo":
        return _undone(tick, book, opened)
    return _timed(tick, book, opened)


def _undone(tick: Tick, book: Book, opened: Opened) -> Written:
    """What a tick wrote taken back, the last first; an entry that a tick wrote goes with the others of that tick."""
    if tick.of:
        found = find_tick(book.session, tick.of)
        if found is None or found.build_id != opened.build_id:
            raise refused("of", "the planner never got the tick that is to be taken back")
    else:
        found = tick_of_entry(book.session, tick.entry)
    numbers = found.entries if found is not None else (tick.entry,)
    if not numbers:
        raise refused("of", "that tick was not written, so there is nothing to take back")
    for number in numbers:
        _check_own(number, book, opened)
    left = [number for number in reversed(numbers) if number not in book.bench.undone]
    if not left:
        raise refused("entry", "that is taken back already")
    told = found.message if found is not None else ledger.entry_name(book.entries[tick.entry - 1])
    return [Undo(number) for number in left], f"taken back: {told}"


def _check_own(number: int, book: Book, opened: Opened) -> None:
    """Refuse an entry of another build, or one that is no tick's to take back."""
    entry: Entry | None = book.entries[number - 1] if 1 <= number <= len(book.entries) else None
    if entry is None or ("build", opened.build_id) not in ledger.concerns(number, entry, book.entries):
        raise refused("entry", f"entry {number} is none of this build")
    tested = isinstance(entry, Done) and entry.stage == "tested"
    if tested or not isinstance(entry, Cut | Done | Take | Timed):
        raise refused("entry", f"entry {number} was not ticked here: take it back in the ledger")


def _timed(tick: Tick, book: Book, opened: Opened) -> Written:
    """Time that was measured for an operation of the labour table."""
    known = opened.catalogue.labour.get(tick.operation)
    if known is None:
        raise refused("operation", "the labour table has no such operation")
    number = next((run.number for run in opened.plan.runs if run.id == tick.run), 0)
    if tick.run and not number:
        raise refused("run", "the build has no such run any more")
    # Held against the ledger as it was taken: its shares might pass where the whole does not.
    ledger.after(book.entries, book.bench, Timed(opened.build_id, number, tick.operation, tick.count, tick.seconds))
    done = (tick.operation, *_done_with(tick, opened))
    shares = shared_seconds(done, tick.seconds, opened.catalogue.labour)
    told = " with ".join(opened.catalogue.labour[name].name for name, _ in shares)
    words = f"timed: {told}, {tick.count} times in {tick.seconds} s"
    return tuple(Timed(opened.build_id, number, name, tick.count, held) for name, held in shares), words


def _done_with(tick: Tick, opened: Opened) -> tuple[str, ...]:
    """Operations that were done in one go with the timed one: what holds the sleeve's ends is what the run has."""
    runs = [run for run in opened.plan.runs if run.sleeve_pieces and tick.run in ("", run.id)]
    ends = {"shrink": "shrink", "melted": "melt"}
    held = {ends[run.sleeve_end] for run in runs if run.sleeve_end in ends}
    found = TIMED_WITH.get(tick.operation, ())
    labour = opened.catalogue.labour
    return tuple(name for name in found if name in labour and (tick.operation != "sleeve_end" or held == {name}))
