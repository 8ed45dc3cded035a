"""The bench ledger as the desks share it: kept folded in memory, and folded on from its last entry."""

import threading
from dataclasses import dataclass

from sqlmodel import Session

from server.domain import ledger
from server.domain.model.bench import Bench, Entry, OnHand, Undo
from server.store.builds import list_builds, list_deleted_builds
from server.store.ledger import StoredEntry, entries, last_number


@dataclass(frozen=True, slots=True)
class LedgerState:
    """The whole ledger at one moment, and the bench that follows from it."""

    stored: tuple[StoredEntry, ...]
    """First to last."""
    entries: tuple[Entry, ...]
    """The same without numbers and moments."""
    bench: Bench

    @property
    def number(self) -> int:
        """Number of the last entry; 0 while there is none."""
        return len(self.stored)

    def on_hand(self, build_id: str) -> OnHand:
        """What a build may use of the shelf, and what was made for it."""
        return ledger.on_hand(self.bench, build_id)


class LedgerRecords:
    """Reads the ledger; what was read once is kept, since an entry never changes."""

    def __init__(self) -> None:
        """Nothing is read yet."""
        self._lock = threading.Lock()
        self._state = LedgerState((), (), Bench())

    def state(self, session: Session) -> LedgerState:
        """The ledger as it is committed; never ask in a transaction that has appended to it.

        Args:
            session: A session from ``reading`` or ``writing``.
        """
        with self._lock:
            known = self._state
            if last_number(session) > known.number:
                self._state = _folded_on(known, entries(session, after=known.number))
            return self._state


def _folded_on(known: LedgerState, more: tuple[StoredEntry, ...]) -> LedgerState:
    fresh = tuple(stored.entry for stored in more)
    every = (*known.entries, *fresh)
    # An undoing folds the whole ledger anew, so that many of them are done in one go.
    if any(isinstance(entry, Undo) for entry in fresh):
        return LedgerState((*known.stored, *more), every, ledger.bench_of(every))
    return LedgerState((*known.stored, *more), every, ledger.folded_on(known.bench, fresh))


def build_names(session: Session) -> dict[str, str]:
    """Names of all builds by id, those put away included."""
    return {build.build_id: build.name for build in (*list_deleted_builds(session), *list_builds(session))}
