"""What a person can do at the bench and at the shelf: one method per intent, one transaction each.

Whatever is written is checked against the ledger inside the transaction that writes it, and either all of an intent is
written or nothing. A form carries the ledger's last number as ``base``: when something that concerns the same build,
lot, piece or material was written since, the intent is refused, so that a double click buys or cuts nothing twice.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from decimal import Decimal

from sqlalchemy.engine import Engine

from server.domain import ledger
from server.domain.bench_steps import refused
from server.domain.errors import ConflictError, NotFoundError
from server.domain.model.bench import (
    Bench,
    Entry,
    Material,
    OnHand,
    Release,
    Stage,
    Undo,
)
from server.domain.model.catalogue import ItemKind
from server.domain.model.plan import RunPlan
from server.services.bench_book import Book
from server.services.bench_cutting import cuts_of, pieces_to_cut, worked
from server.services.bench_taking import missing_parts, takes_of
from server.services.bench_work import done_now
from server.services.builds import BuildDesk
from server.services.ledger_records import LedgerState, build_names
from server.services.opened import Opened
from server.services.receipts import receipts
from server.services.records import now_utc
from server.store.database import reading, writing
from server.store.ledger import StoredEntry

__all__ = ["BenchDesk", "LedgerState", "StoredEntry"]

Making = Callable[[LedgerState], Sequence[Entry]]


class BenchDesk:
    """The bench ledger, and the shelf that all builds share, over one database."""

    def __init__(self, engine: Engine, builds: BuildDesk, clock: Callable[[], str] = now_utc) -> None:
        """Open the desk.

        Args:
            engine: A database from ``open_database`` with the catalogue installed.
            builds: The desk of builds on the same database, for what is planned.
            clock: Gives the moment of writing, ISO 8601 text.
        """
        self._engine, self._builds, self._clock = engine, builds, clock
        self._records = builds.ledger

    # ---- reading -----------------------------------------------------------------------------------------------

    def state(self) -> LedgerState:
        """The ledger and the bench that follows from it, at one moment."""
        with reading(self._engine) as session:
            return self._records.state(session)

    def bench(self) -> Bench:
        """Stock and pieces; its ``entries`` is the number that forms carry as ``base``."""
        return self.state().bench

    def entries(self, build_id: str = "") -> tuple[StoredEntry, ...]:
        """The ledger, newest first; with a build, only what concerns it."""
        state = self.state()
        wanted = ("build", build_id)
        return tuple(
            stored
            for stored in reversed(state.stored)
            if not build_id or wanted in ledger.concerns(stored.number, stored.entry, state.entries)
        )

    def on_hand(self, build_id: str) -> OnHand:
        """What a build may use of the shelf, and what was made for it."""
        return self.state().on_hand(build_id)

    def build_names(self) -> dict[str, str]:
        """Names of builds by id, those put away included, to say for whom something is kept."""
        with reading(self._engine) as session:
            return build_names(session)

    def run_parts(self, opened: Opened, run_id: str) -> Mapping[Material, int]:
        """Counted things that a run still takes: contacts, housings, caps and combs not yet taken for it.

        Raises:
            NotFoundError: the build has no such run.
        """
        return missing_parts(_run(opened, run_id), self.bench(), opened)

    # ---- writing -----------------------------------------------------------------------------------------------

    def write(self, entry: Entry, *, base: int | None = None) -> int:
        """Write one entry and return its number.

        Args:
            entry: The entry.
            base: Last number of the ledger that the person saw; ``None`` when nobody looked.

        Raises:
            InvalidInputError: the entry may not be written; nothing is.
        """
        return self.write_all((entry,), base=base)[0]

    def write_all(self, entries: Sequence[Entry], *, base: int | None = None) -> tuple[int, ...]:
        """Write some entries, all or nothing, and return their numbers.

        Raises:
            InvalidInputError: one of them may not be written; nothing is.
        """
        return self._write(lambda _: entries, base)

    def undo(self, number: int) -> int:
        """Take an entry back by a new one, and return the new one's number.

        Raises:
            InvalidInputError: there is no such entry, it is undone, or a later one leans on it, which is named.
        """
        return self.write(Undo(number))

    def _write(self, make: Making, base: int | None) -> tuple[int, ...]:
        with self.book() as book:
            entries = make(book.state)
            _check_base(book.state, entries, base)
            return book.write(entries)

    @contextmanager
    def book(self) -> Iterator[Book]:
        """The ledger opened for writing: what is written in it and in its session is committed together, or not at all.

        Yields:
            The book; nobody else writes until it is closed.
        """
        with writing(self._engine) as session:
            catalogue = self._builds.catalogue_in(session)[1]
            yield Book(session, self._records.state(session), catalogue, self._clock())

    # ---- shelf -------------------------------------------------------------------------------------------------

    def release_all(self, build_id: str) -> tuple[int, ...]:
        """Free everything that is kept for a build, such as one that is finished; returns the entries' numbers."""
        return self._write(
            lambda state: [
                Release(lot.id, build_id, lot.reserved[build_id])
                for lot in state.bench.lots.values()
                if build_id in lot.reserved
            ],
            None,
        )

    def buy(
        self,
        build_id: str,
        revision: int,
        key: tuple[ItemKind, str, str],
        packs: Mapping[str, int] | None = None,
        prices: Mapping[str, Decimal] | None = None,
        *,
        base: int | None = None,
    ) -> tuple[int, ...]:
        """Put a line of the buy list on the shelf as bought, kept for the build: one lot for each roll or pack.

        Args:
            build_id: The build.
            revision: Revision that the buy list was seen at.
            key: Kind, item and colour of the line.
            packs: How many of each pack were bought; those of the line when not told.
            prices: What one pack cost, where it is not the price that the plan counts with.
            base: Last number of the ledger that the person saw.

        Returns:
            Numbers of the entries, which are those of the lots.

        Raises:
            ConflictError: the build was changed since.
            InvalidInputError: a number or a price is wrong, or something was bought or cut for the build since.
            NotFoundError: no such build, or its buy list has no such line.
        """
        opened = self._opened(build_id, revision)
        seen = opened.ledger if base is None else base
        return self.write_all(receipts(opened, key, packs, prices), base=seen)

    def buy_listed(
        self, build_id: str, revision: int, keys: Sequence[tuple[ItemKind, str, str]], *, base: int | None = None
    ) -> tuple[int, ...]:
        """Put several lines of the buy list on the shelf, as the list has them: all of them or none.

        Args:
            build_id: The build.
            revision: Revision that the buy list was seen at.
            keys: Kind, item and colour of each line.
            base: Last number of the ledger that the person saw.

        Returns:
            Numbers of the entries, which are those of the lots, line by line.

        Raises:
            ConflictError: the build was changed since.
            InvalidInputError: nothing is to be bought, or something was bought or cut for the build since.
            NotFoundError: no such build, or its buy list has no such line.
        """
        opened = self._opened(build_id, revision)
        entries = [entry for key in dict.fromkeys(keys) for entry in receipts(opened, key)]
        if not entries:
            raise refused("lines", "nothing on this list is to be bought")
        return self.write_all(entries, base=opened.ledger if base is None else base)

    # ---- bench -------------------------------------------------------------------------------------------------

    def cut_layout(
        self,
        build_id: str,
        revision: int,
        source: str,
        number: int,
        ids: Sequence[str] = (),
        *,
        base: int | None = None,
    ) -> tuple[int, ...]:
        """Cut what the roll plan cuts from a lot, or from a piece that no longer serves.

        A piece that serves one wire, with too little over to keep, is trimmed and taken for it; any other goes onto the
        shelf, and is cut there. Either way its stages are forgotten.

        Args:
            build_id: The build.
            revision: Revision that the roll plan was seen at.
            source: ``lot`` or ``piece``, as in the roll plan.
            number: Number of the lot or piece.
            ids: Ids of the wires, sleeves and tubes; everything that is ready when none is named.
            base: Last number of the ledger that the person saw.

        Returns:
            Numbers of the entries, in cutting order.

        Raises:
            ConflictError: the build was changed since.
            InvalidInputError: the roll plan cuts no such thing now, or its run is not measured.
            NotFoundError: no such build.
        """
        opened = self._opened(build_id, revision)
        seen = opened.ledger if base is None else base
        if source == "roll":
            raise refused("lot", "buy the roll first: it is cut once it lies on the shelf")
        layout = next(
            (
                layout
                for sheet in opened.plan.rolls
                for layout in sheet.layouts
                if (layout.source, layout.lot) == (source, number)
            ),
            None,
        )
        if layout is None:
            raise refused("lot", f"the roll plan cuts nothing from {source} {number} now")
        pieces = pieces_to_cut(layout.pieces, ids)
        if source == "lot":
            return self.write_all(cuts_of(pieces, number, opened), base=seen)
        return self._write(lambda state: worked(pieces, state.bench.pieces[number], opened, state.number), seen)

    def cut(
        self, build_id: str, revision: int, ids: Sequence[str], lot: int, *, base: int | None = None
    ) -> tuple[int, ...]:
        """Cut wires, sleeves or tubes from a lot of one's own choice, at the lengths of the plan.

        Raises:
            ConflictError: the build was changed since.
            InvalidInputError: one of them is cut already, not measured, or of another material; or the lot has too
                little that the build may use.
            NotFoundError: no such build.
        """
        opened = self._opened(build_id, revision)
        seen = opened.ledger if base is None else base
        lots = self.bench().lots
        if lot not in lots:
            raise refused("lot", f"the shelf has no lot {lot}")
        of = lots[lot].material
        there = [
            piece
            for sheet in opened.plan.rolls
            if Material(sheet.kind, sheet.item, sheet.colour) == of
            for layout in sheet.layouts
            for piece in layout.pieces
        ]
        return self.write_all(cuts_of(pieces_to_cut(there, ids), lot, opened), base=seen)

    def take_run(self, build_id: str, revision: int, run_id: str, *, base: int | None = None) -> tuple[int, ...]:
        """Take contacts, housings, caps and combs of a run from the shelf, as far as they are there.

        Raises:
            ConflictError: the build was changed since.
            InvalidInputError: nothing is missing on the run, or nothing of it lies on the shelf.
            NotFoundError: no such build or run.
        """
        opened = self._opened(build_id, revision)
        seen = opened.ledger if base is None else base
        bench = self.bench()
        run = _run(opened, run_id)
        missing = self.run_parts(opened, run_id)
        if not missing:
            raise refused("run", f"run {run.number} has everything that is counted")
        entries = takes_of(missing, run, bench, build_id)
        if not entries:
            raise refused("run", f"nothing of what run {run.number} still takes is on the shelf")
        return self.write_all(entries, base=seen)

    def stage(
        self,
        build_id: str,
        pieces: Sequence[int],
        stage: Stage,
        *,
        revision: int | None = None,
        base: int | None = None,
    ) -> tuple[int, ...]:
        """Mark a stage of the work on some pieces as done, and return the entries' numbers.

        What is fitted or tested is written down with the wiring that the plan has now, so that a later change of it
        shows.

        Args:
            build_id: The build.
            pieces: Numbers of the pieces.
            stage: The stage.
            revision: Revision whose wiring the person saw; ``None`` when nobody looked.
            base: Last number of the ledger that the person saw.

        Raises:
            ConflictError: the build was changed since.
            InvalidInputError: a piece is not of this build, the stage is done on it already, or not before another.
            NotFoundError: no such build.
        """
        opened = self._builds.open(build_id) if revision is None else self._opened(build_id, revision)
        own = {piece.id: piece for piece in self.bench().pieces.values() if piece.build == build_id}
        if not pieces:
            raise refused("piece", "choose what it was done on")
        if wrong := [piece for piece in pieces if piece not in own]:
            raise refused("piece", f"no piece {wrong[0]} was cut for this build")
        return self.write_all([done_now(own[piece], stage, opened) for piece in pieces], base=base)

    def _opened(self, build_id: str, revision: int) -> Opened:
        """The build, if it is still at the revision that was seen."""
        opened = self._builds.open(build_id)
        if opened.revision != revision:
            since = [found for found in self._builds.revisions(build_id) if found.number > revision]
            raise ConflictError(opened.revision, tuple(word for found in reversed(since) for word in found.words))
        return opened


def _check_base(state: LedgerState, entries: Sequence[Entry], base: int | None) -> None:
    """Refuse entries about something that was written on since it was looked at."""
    if base is None:
        return
    if not 0 <= base <= state.number:
        raise refused("base", "the page is not of this ledger: load it again")
    about = [ledger.concerns(state.number + n, entry, state.entries) for n, entry in enumerate(entries, start=1)]
    things = frozenset().union(*about)
    for stored in state.stored[base:]:
        if things & ledger.concerns(stored.number, stored.entry, state.entries):
            name = ledger.entry_name(stored.entry)
            text = f"entry {stored.number} ({name}) was written meanwhile, so nothing was done: look at it first"
            raise refused("base", text)


def _run(opened: Opened, run_id: str) -> RunPlan:
    for run in opened.plan.runs:
        if run.id == run_id:
            return run
    raise NotFoundError("The build has no such run.")
