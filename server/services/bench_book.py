"""The bench ledger while it is being written in: one transaction, and the bench as it stands after each entry."""

from collections.abc import Sequence

from sqlmodel import Session

from server.domain import ledger
from server.domain.model.bench import Bench, Entry
from server.domain.model.catalogue import Catalogue
from server.services.bench_rules import check_entry
from server.services.ledger_records import LedgerState, build_names
from server.store.builds import list_builds
from server.store.ledger import append_all


class Book:
    """The ledger in the hands of the one who writes."""

    def __init__(self, session: Session, state: LedgerState, catalogue: Catalogue, at: str) -> None:
        """Open the book.

        Args:
            session: A session from ``writing``; what else is written in it is committed with the entries.
            state: The ledger as it is committed.
            catalogue: For items and colours.
            at: Moment of writing, ISO 8601 text.
        """
        self.session, self.state, self.at = session, state, at
        self.bench: Bench = state.bench
        """As it stands after what was written here."""
        self._catalogue = catalogue
        self._entries = list(state.entries)
        self._names = build_names(session)
        self._living = {build.build_id for build in list_builds(session)}

    @property
    def entries(self) -> Sequence[Entry]:
        """The whole ledger, what was written here included."""
        return self._entries

    def write(self, entries: Sequence[Entry]) -> tuple[int, ...]:
        """Write some entries, all or nothing, and return their numbers.

        Raises:
            InvalidInputError: one of them may not be written; nothing is.
        """
        for entry in entries:
            check_entry(entry, self._living, self._catalogue)
        every, bench = list(self._entries), self.bench
        for entry in entries:
            bench = ledger.after(every, bench, entry, self._names)
            every.append(entry)
        # Only now, so that a refused entry leaves nothing of its group behind.
        numbers = append_all(self.session, entries, at=self.at)
        self._entries, self.bench = every, bench
        return numbers
