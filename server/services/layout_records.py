"""Supply layouts as they are kept: every change is one transaction, one version, checked and told in words."""

import secrets
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace

from sqlalchemy.engine import Engine
from sqlmodel import Session

from server.domain.errors import InvalidInputError, NotFoundError
from server.domain.layout_places import placed
from server.domain.layout_rules import layout_problems
from server.domain.layout_words import layout_changes
from server.domain.metering import Progress, Verdict, expected, reading_words, verdicts
from server.domain.model.catalogue import Catalogue, Reading, SupplyLayout
from server.services.records import now_utc
from server.store.catalogue_edits import catalogue_stamp
from server.store.catalogue_read import read_catalogue
from server.store.database import reading as reading_session
from server.store.database import writing
from server.store.layout_imports import drop_imported, imported_readings, keep_imported
from server.store.layouts import (
    StoredLayout,
    append_version,
    create_layout,
    find_layout,
    readings_of,
    record_readings,
    used_port_ids,
)

LayoutEdit = Callable[[SupplyLayout, Catalogue], SupplyLayout]
Place = tuple[str, str]
"""A port's id and a cavity of it."""


@dataclass(frozen=True, slots=True)
class OpenedLayout:
    """One version of an own layout with the readings taken so far."""

    layout: SupplyLayout
    saved_at: str
    words: tuple[str, ...]
    """What this version changed, in sentences."""
    latest: int
    """Number of the newest version."""
    entry: int
    """Number of the last reading written down; forms send it back, so that two of them never undo each other."""
    catalogue: Catalogue
    verdicts: Mapping[Place, Verdict]
    """By port and cavity."""
    expected: Mapping[Place, str]
    """What a meter should show at each cavity's recorded net, in words."""
    imported: Mapping[Place, Reading]
    """Readings that came with a document and do not count: nobody has said that they are of this very supply."""
    imported_words: Mapping[Place, str]
    """The same in words."""

    @property
    def progress(self) -> Progress:
        """How many of all cavities are metered."""
        states = [verdict.state for verdict in self.verdicts.values()]
        return Progress(states.count("metered"), len(states))


class LayoutRecords:
    """Loads, changes and saves own layouts over one database; the desk says what for."""

    def __init__(self, engine: Engine, clock: Callable[[], str] = now_utc) -> None:
        """Keep records in a database.

        Args:
            engine: A database from ``open_database`` with the catalogue installed.
            clock: Gives the moment of saving, ISO 8601 text.
        """
        self._engine = engine
        self._clock = clock
        self._catalogue: tuple[str, Catalogue] | None = None

    def open(self, layout_id: str, number: int | None = None) -> OpenedLayout:
        """An own layout at its newest version, or at an earlier one.

        Raises:
            NotFoundError: no such layout or version.
        """
        with reading_session(self._engine) as session:
            return self.opened(session, find_layout(session, layout_id, number))

    def save(
        self,
        layout_id: str,
        base: int,
        edit: LayoutEdit,
        first_words: tuple[str, ...] = (),
        *,
        ports_return: bool = False,
    ) -> OpenedLayout:
        """Apply an edit to the newest version if that is ``base``; one that changes nothing makes no version.

        Args:
            layout_id: Id of the layout.
            base: Number of the version that the edit was made on.
            edit: Gives the layout as it is to be.
            first_words: What the edit was, in sentences that stand before what it changed.
            ports_return: Whether a port that comes back is the one that was there before, not a new one of its id.

        Raises:
            InvalidInputError: the layout may not be saved as it would become.
            NotFoundError: no such layout or version.
            ConflictError: a newer version was saved meanwhile; says in words what it changed.
        """
        with writing(self._engine) as session:
            stored = find_layout(session, layout_id)
            before = after = stored.layout
            if stored.latest == base:
                catalogue = self.catalogue_in(session)
                after = replace(edit(before, catalogue), readings=())
                check_layout(after, catalogue)
                if not layout_changes(before, after):
                    return self.opened(session, stored)
            stale = _other_sockets(session, before, after, ports_return=ports_return)
            words = (*first_words, *layout_changes(before, after), *self._cleared_words(session, after, stale))
            append_version(session, after, expected=base, words=words, saved_at=self._clock())
            self._clear(session, after.id, stale)
            return self.opened(session, find_layout(session, layout_id))

    def create_as(
        self,
        session: Session,
        layout: SupplyLayout,
        words: tuple[str, ...],
        imported: Iterable[Reading] = (),
    ) -> OpenedLayout:
        """Save a layout as version 1 of a new one.

        Args:
            session: A session from ``writing``.
            layout: The layout; its readings count.
            words: Where it comes from.
            imported: Readings that came along and do not count.

        Raises:
            InvalidInputError: it may not be saved; every problem names its port and cavity.
        """
        own = replace(layout, id=f"own-{secrets.token_hex(6)}", version=1, own=True)
        told = tuple(imported)
        whole = replace(own, readings=(*own.readings, *told))
        if wrong := layout_problems(whole, self.catalogue_in(session)):
            raise InvalidInputError(placed(wrong, whole))
        create_layout(session, own, words=words, saved_at=self._clock())
        keep_imported(session, own.id, told)
        return self.opened(session, find_layout(session, own.id))

    def catalogue_in(self, session: Session) -> Catalogue:
        """The catalogue, read anew only when its stamp changes."""
        stamp = catalogue_stamp(session)
        if self._catalogue is None or self._catalogue[0] != stamp:
            self._catalogue = stamp, read_catalogue(session)
        return self._catalogue[1]

    def opened(self, session: Session, stored: StoredLayout) -> OpenedLayout:
        """A stored version with what its readings say."""
        layout = stored.layout
        imported = {(each.port, each.cavity): each for each in stored.imported}
        return OpenedLayout(
            layout,
            stored.saved_at,
            stored.words,
            stored.latest,
            stored.entry,
            self.catalogue_in(session),
            verdicts(layout),
            {(port.id, pin.cavity): expected(pin.net, layout.edition) for port in layout.ports for pin in port.pins},
            imported,
            {place: reading_words(each) for place, each in imported.items()},
        )

    def _cleared_words(self, session: Session, after: SupplyLayout, stale: frozenset[str]) -> tuple[str, ...]:
        """That readings are cleared, for each port whose socket is another one now."""
        taken = (*readings_of(session, after.id), *imported_readings(session, after.id))
        lost = stale & {each.port for each in taken}
        return tuple(
            f"readings of {port.label} cleared: it is another socket" for port in after.ports if port.id in lost
        )

    def _clear(self, session: Session, layout_id: str, ports: frozenset[str]) -> None:
        cleared = [Reading(each.port, each.cavity) for each in readings_of(session, layout_id) if each.port in ports]
        record_readings(session, layout_id, cleared, taken_at=self._clock())
        drop_imported(session, layout_id, ports)


def check_layout(layout: SupplyLayout, catalogue: Catalogue) -> None:
    """Refuse a layout that may not be saved.

    Raises:
        InvalidInputError: with every problem and the path of its field.
    """
    if wrong := layout_problems(layout, catalogue):
        raise InvalidInputError(wrong)


def sample_or_own(catalogue: Catalogue, layout_id: str) -> SupplyLayout:
    """A layout that can be chosen.

    Raises:
        NotFoundError: there is none of this id.
    """
    found = catalogue.supplies.get(layout_id)
    if found is None:
        raise NotFoundError(f"there is no layout {layout_id}")
    return found


def _other_sockets(
    session: Session, before: SupplyLayout, after: SupplyLayout, *, ports_return: bool
) -> frozenset[str]:
    """Ports whose id another socket has had: its readings cannot stand for this one."""
    known = used_port_ids(session, before.id)
    kept = {port.id for port in before.ports}
    return frozenset(
        port.id
        for port in after.ports
        if port.id in known and (known[port.id] != port.housing or not (port.id in kept or ports_return))
    )
