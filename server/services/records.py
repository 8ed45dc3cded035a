"""Builds as they are kept: every change is one transaction, one revision, checked, planned and told in words."""

import secrets
import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any, TypeVar

from sqlalchemy.engine import Engine
from sqlmodel import Session

from server.documents.build_json import read_build, write_build
from server.domain import limits
from server.domain.errors import InvalidInputError
from server.domain.model.build import Build
from server.domain.model.catalogue import Catalogue
from server.domain.plan import Groundwork, groundwork, plan_on
from server.domain.words import changes_in_words
from server.services.ledger_records import LedgerRecords
from server.services.opened import Opened
from server.store.builds import StoredRevision, append_revision, create_build, latest_revision
from server.store.catalogue_edits import catalogue_stamp
from server.store.catalogue_read import read_catalogue
from server.store.database import writing

PLANS_KEPT = 8
"""Plans held in memory, and as many revisions with what no entry of the ledger changes; a screen asks for the same few
again and again."""

Edit = Callable[[Build, Catalogue], Build]
K = TypeVar("K")
V = TypeVar("V")


@dataclass(frozen=True, slots=True)
class _Settled:
    """What follows from a revision alone."""

    ground: Groundwork
    lasting: dict[str, Any] = field(default_factory=dict)


def now_utc() -> str:
    """The moment, ISO 8601 in UTC, to the second."""
    return datetime.now(UTC).replace(microsecond=0).isoformat()


def check(build: Build, catalogue: Catalogue) -> None:
    """Refuse a build that may not be saved.

    Raises:
        InvalidInputError: with every problem and the path of its field.
    """
    if wrong := limits.problems(build, catalogue):
        raise InvalidInputError(wrong)


class BuildRecords:
    """Loads, changes, computes and saves builds over one database; the desk says what for."""

    def __init__(self, engine: Engine, clock: Callable[[], str]) -> None:
        """Keep records in a database.

        Args:
            engine: A database from ``open_database`` with the catalogue installed.
            clock: Gives the moment of saving, ISO 8601 text.
        """
        self._engine = engine
        self._clock = clock
        self._lock = threading.Lock()
        self._catalogue: tuple[str, Catalogue] | None = None
        self.ledger = LedgerRecords()
        """The bench ledger, which every desk over this database shares."""
        self._plans: dict[tuple[str, int, str], Opened] = {}
        self._settled: dict[tuple[str, int, str], _Settled] = {}

    def create_as(self, build: Build, words: tuple[str, ...]) -> Opened:
        """Save a build as revision 1 of a new one; ``words`` say where it comes from.

        Raises:
            InvalidInputError: it may not be saved.
        """
        build_id = secrets.token_hex(8)
        with writing(self._engine) as session:
            catalogue = self.catalogue_in(session)[1]
            check(build, catalogue)
            stored = create_build(
                session,
                build_id,
                name=build.name,
                document=write_build(build),
                words=words,
                saved_at=self._clock(),
            )
            return self.opened(session, stored)

    def save(self, build_id: str, base: int, edit: Edit, first_words: tuple[str, ...] = ()) -> Opened:
        """Apply an edit to the newest revision if that is ``base``; the store refuses it otherwise."""
        with writing(self._engine) as session:
            catalogue = self.catalogue_in(session)[1]
            stored = latest_revision(session, build_id)
            before = read_build(stored.document)
            after = before
            if stored.number == base:
                after = edit(before, catalogue)
                check(after, catalogue)
            document = write_build(after)
            if stored.number == base and document == stored.document:
                return self.opened(session, stored)
            saved = append_revision(
                session,
                build_id,
                expected=base,
                name=after.name,
                document=document,
                words=(*first_words, *changes_in_words(before, after, catalogue)),
                saved_at=self._clock(),
            )
            return self.opened(session, saved)

    def catalogue_in(self, session: Session) -> tuple[str, Catalogue]:
        """The catalogue with the stamp of its version and edits; read anew only when the stamp changes."""
        stamp = catalogue_stamp(session)
        if self._catalogue is None or self._catalogue[0] != stamp:
            self._catalogue = stamp, read_catalogue(session)
        return self._catalogue

    def opened(self, session: Session, stored: StoredRevision) -> Opened:
        """Plan a stored revision; the last few plans are kept, since a revision never changes."""
        stamp, catalogue = self.catalogue_in(session)
        ledger = self.ledger.state(session)
        where = stored.build_id, stored.number, f"{stamp} {ledger.number}"
        with self._lock:
            if known := self._plans.get(where):
                return known
        settled = self._settled_of(stored, stamp, catalogue)
        held = ledger.on_hand(stored.build_id)
        opened = Opened(
            stored.build_id, stored.number, stored.saved_at, settled.ground.build, plan_on(settled.ground, held),
            catalogue, held, ledger.number, _lasting=settled.lasting,
        )  # fmt: skip
        with self._lock:
            _keep(self._plans, where, opened)
        return opened

    def _settled_of(self, stored: StoredRevision, stamp: str, catalogue: Catalogue) -> _Settled:
        """What follows from a revision alone, so that an entry of the ledger does not plan its runs anew."""
        where = stored.build_id, stored.number, stamp
        with self._lock:
            if known := self._settled.get(where):
                return known
        made = _Settled(groundwork(read_build(stored.document), catalogue))
        with self._lock:
            _keep(self._settled, where, made)
        return made


def _keep(held: dict[K, V], key: K, value: V) -> None:
    """Keep one more, the oldest going first."""
    while len(held) >= PLANS_KEPT:
        del held[next(iter(held))]
    held[key] = value
