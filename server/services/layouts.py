"""What a builder can do with supply layouts of their own: record sockets and nets, meter them, keep every version."""

import re
import secrets
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace

from sqlalchemy.engine import Engine
from sqlmodel import Session

from server.documents.layout_json import read_layout, write_layout
from server.domain.errors import InvalidInputError, NotFoundError, Problem
from server.domain.housings import cavities
from server.domain.layout_rules import NAME_MOST, layout_problems, reading_problems
from server.domain.layout_words import layout_changes
from server.domain.metering import Progress, Verdict, expected, progress, verdicts
from server.domain.model.catalogue import Catalogue, Edition, Port, PortPin, Reading, SupplyLayout, Use
from server.services.records import now_utc
from server.store.catalogue_edits import catalogue_stamp
from server.store.catalogue_read import read_catalogue
from server.store.database import reading as reading_session
from server.store.database import writing
from server.store.layouts import (
    StoredLayout,
    VersionSummary,
    append_version,
    create_layout,
    delete_layout,
    find_layout,
    layout_versions,
    list_layouts,
    readings_of,
    record_readings,
    restore_layout,
    used_port_ids,
)

__all__ = ["LayoutDesk", "LayoutEntry", "OpenedLayout", "VersionSummary"]

SOURCE = "recorded by the builder"

LayoutEdit = Callable[[SupplyLayout, Catalogue], SupplyLayout]


@dataclass(frozen=True, slots=True)
class LayoutEntry:
    """A layout as it stands in a list."""

    layout: SupplyLayout
    saved_at: str
    """Moment of saving its newest version, ISO 8601 text; empty for a sample."""
    progress: Progress


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
    verdicts: Mapping[tuple[str, str], Verdict]
    """By port and cavity."""
    expected: Mapping[tuple[str, str], str]
    """What a meter should show at each cavity's recorded net, in words."""

    @property
    def progress(self) -> Progress:
        """How many of all cavities are metered."""
        states = [verdict.state for verdict in self.verdicts.values()]
        return Progress(states.count("metered"), len(states))


class LayoutDesk:
    """Own layouts over one database; the samples that come with the planner can be copied but not changed."""

    def __init__(self, engine: Engine, clock: Callable[[], str] = now_utc) -> None:
        """Open the desk.

        Args:
            engine: A database from ``open_database`` with the catalogue installed.
            clock: Gives the moment of saving, ISO 8601 text.
        """
        self._engine = engine
        self._clock = clock
        self._catalogue: tuple[str, Catalogue] | None = None

    # ---- reading -----------------------------------------------------------------------------------------------

    def list(self) -> tuple[LayoutEntry, ...]:
        """Every layout to choose from: the samples, then those of one's own in the order they were begun."""
        with reading_session(self._engine) as session:
            catalogue = self._catalogue_in(session)
            samples = [LayoutEntry(each, "", progress(each)) for each in catalogue.supplies.values() if not each.own]
            return (*samples, *(_entry(stored) for stored in list_layouts(session)))

    def deleted(self) -> tuple[LayoutEntry, ...]:
        """Own layouts that were put away and can be brought back."""
        with reading_session(self._engine) as session:
            return tuple(_entry(stored) for stored in list_layouts(session, deleted=True))

    def open(self, layout_id: str, number: int | None = None) -> OpenedLayout:
        """An own layout at its newest version, or at an earlier one.

        Raises:
            NotFoundError: no such layout or version.
        """
        with reading_session(self._engine) as session:
            return self._opened(session, find_layout(session, layout_id, number))

    def versions(self, layout_id: str) -> tuple[VersionSummary, ...]:
        """History of a layout, newest first.

        Raises:
            NotFoundError: no such layout.
        """
        with reading_session(self._engine) as session:
            return layout_versions(session, layout_id)[::-1]

    def changes_since(self, layout_id: str, number: int) -> tuple[str, ...]:
        """What the versions after ``number`` changed, in words; empty when it is the newest or the layout is gone."""
        with reading_session(self._engine) as session:
            try:
                later = [each for each in layout_versions(session, layout_id) if each.number > number]
            except NotFoundError:
                return ()
        return tuple(word for each in later for word in each.words)

    def readings_at(self, layout_id: str, entry: int) -> Mapping[tuple[str, str], Reading]:
        """Readings by port and cavity as the record stood after a given entry."""
        with reading_session(self._engine) as session:
            return {(each.port, each.cavity): each for each in readings_of(session, layout_id, entry)}

    def export_json(self, layout_id: str, number: int | None = None) -> str:
        """A layout as a document: an own one at its newest or a named version, or a sample.

        Raises:
            NotFoundError: no such layout or version.
        """
        with reading_session(self._engine) as session:
            sample = self._catalogue_in(session).supplies.get(layout_id)
            if sample is not None and not sample.own:
                return write_layout(sample)
            return write_layout(find_layout(session, layout_id, number).layout)

    # ---- whole layouts -----------------------------------------------------------------------------------------

    def copy(self, layout_id: str, name: str = "") -> OpenedLayout:
        """A layout of one's own that begins as a copy of another; readings stay with the supply they were taken from.

        Raises:
            NotFoundError: no such layout.
        """
        with writing(self._engine) as session:
            found = self._catalogue_in(session).supplies.get(layout_id)
            if found is None:
                raise NotFoundError(f"there is no layout {layout_id}")
            called = name.strip() or f"{found.name[: NAME_MOST - 5]} copy"
            copy = replace(found, name=called, source=f"{SOURCE}, begun from '{found.name}'", readings=())
            return self._created(session, copy, (f"copy of '{found.name}'",))

    def start(self, name: str) -> OpenedLayout:
        """A layout of one's own without ports yet."""
        with writing(self._engine) as session:
            return self._created(session, SupplyLayout("", name.strip(), "", SOURCE, ()), ("new layout",))

    def import_json(self, text: bytes | str) -> OpenedLayout:
        """A layout of one's own from a document, with the readings that it holds.

        Raises:
            InvalidInputError: the document cannot be read, or holds what no layout may hold.
        """
        layout = read_layout(text)
        taken = f" with {len(layout.readings)} readings" if layout.readings else ""
        with writing(self._engine) as session:
            return self._created(session, layout, (f"imported{taken}",))

    def put_document(self, layout_id: str, base: int, text: bytes | str) -> OpenedLayout:
        """Replace a layout by a document; readings that it holds are written down where they differ.

        Raises:
            InvalidInputError: the document cannot be read, or holds what no layout may hold.
            NotFoundError: no such layout or version.
            ConflictError: a newer version than ``base`` was saved.
        """
        wanted = read_layout(text)

        def edit(now: SupplyLayout, catalogue: Catalogue) -> SupplyLayout:
            # Checked with its readings, so that nothing is saved when one of them cannot be.
            _check(wanted, catalogue)
            return replace(wanted, id=now.id, version=now.version, own=True)

        opened = self.save(layout_id, base, edit)
        self.record(layout_id, wanted.readings)
        return self.open(layout_id) if wanted.readings else opened

    def delete(self, layout_id: str) -> str:
        """Put a layout away and return its name. Builds that use it keep the version they were planned with."""
        with writing(self._engine) as session:
            name = find_layout(session, layout_id).layout.name
            delete_layout(session, layout_id)
            return name

    def restore(self, layout_id: str) -> OpenedLayout:
        """Bring a layout back that was put away."""
        with writing(self._engine) as session:
            restore_layout(session, layout_id)
            return self._opened(session, find_layout(session, layout_id))

    # ---- edits: each saves one version, or none when nothing changed -------------------------------------------

    def save(self, layout_id: str, base: int, edit: LayoutEdit) -> OpenedLayout:
        """Apply an edit to the newest version if that is ``base``.

        Raises:
            InvalidInputError: the layout may not be saved as it would become.
            NotFoundError: no such layout or version.
            ConflictError: a newer version was saved meanwhile; says in words what it changed.
        """
        with writing(self._engine) as session:
            stored = find_layout(session, layout_id)
            before = after = stored.layout
            if stored.latest == base:
                catalogue = self._catalogue_in(session)
                after = replace(edit(before, catalogue), readings=())
                _check(after, catalogue)
                if not layout_changes(before, after):
                    return self._opened(session, stored)
            known = used_port_ids(session, layout_id)
            words = layout_changes(before, after)
            append_version(session, after, expected=base, words=words, saved_at=self._clock())
            self._clear_stale(session, before, after, known)
            return self._opened(session, find_layout(session, layout_id))

    def describe(
        self, layout_id: str, base: int, *, name: str, note: str, edition: Edition, limits_a: Mapping[str, float]
    ) -> OpenedLayout:
        """Change name, notes, edition and the greatest current by net."""
        limits = dict(sorted(limits_a.items()))
        return self.save(
            layout_id,
            base,
            lambda now, _: replace(now, name=name.strip(), note=note.strip(), edition=edition, limits_a=limits),
        )

    def add_port(self, layout_id: str, base: int, *, label: str, housing: str, feeds: tuple[Use, ...]) -> OpenedLayout:
        """Add a port with every cavity not connected yet."""
        with reading_session(self._engine) as session:
            taken = used_port_ids(session, layout_id)

        def edit(now: SupplyLayout, catalogue: Catalogue) -> SupplyLayout:
            shell = catalogue.housings.get(housing)
            if shell is None or shell.half != "plug":
                raise InvalidInputError((Problem("housing", "pick a housing of the list"),))
            pins = tuple(PortPin(cavity.name, "") for cavity in cavities(shell))
            ident = _free_id(label, {*taken, *(port.id for port in now.ports)})
            return replace(now, ports=(*now.ports, Port(ident, label.strip(), housing, feeds, pins)))

        return self.save(layout_id, base, edit)

    def change_port(
        self,
        layout_id: str,
        base: int,
        port_id: str,
        *,
        label: str | None = None,
        feeds: tuple[Use, ...] | None = None,
        nets: Mapping[str, str] | None = None,
    ) -> OpenedLayout:
        """Give a port another name, other uses or other nets by cavity; what is not given stays."""

        def edit(now: SupplyLayout, _: Catalogue) -> SupplyLayout:
            port = _port(now, port_id)
            pins = tuple(PortPin(pin.cavity, (nets or {}).get(pin.cavity, pin.net)) for pin in port.pins)
            changed = replace(
                port,
                label=port.label if label is None else label.strip(),
                feeds=port.feeds if feeds is None else feeds,
                pins=pins,
            )
            return replace(now, ports=tuple(changed if each.id == port_id else each for each in now.ports))

        return self.save(layout_id, base, edit)

    def remove_port(self, layout_id: str, base: int, port_id: str) -> OpenedLayout:
        """Take a port out; an earlier version keeps it."""

        def edit(now: SupplyLayout, _: Catalogue) -> SupplyLayout:
            _port(now, port_id)
            return replace(now, ports=tuple(port for port in now.ports if port.id != port_id))

        return self.save(layout_id, base, edit)

    # ---- readings ----------------------------------------------------------------------------------------------

    def record(self, layout_id: str, readings: Iterable[Reading]) -> int:
        """Write down what the meter said; a reading without values clears its cavity.

        Args:
            layout_id: Id of the layout.
            readings: At cavities of its newest version.

        Returns:
            How many entries were added: a reading that says the same as before adds none.

        Raises:
            InvalidInputError: a cavity does not exist or a voltage cannot be one; nothing is written then.
            NotFoundError: no such layout.
        """
        with writing(self._engine) as session:
            layout = find_layout(session, layout_id).layout
            places = {(port.id, pin.cavity) for port in layout.ports for pin in port.pins}
            now = {(each.port, each.cavity): each for each in layout.readings}
            wanted = tuple(readings)
            problems = tuple(problem for each in wanted for problem in reading_problems(each, places))
            if problems:
                raise InvalidInputError(problems)
            changed = [
                each for each in wanted if now.get((each.port, each.cavity), Reading(each.port, each.cavity)) != each
            ]
            record_readings(session, layout_id, changed, taken_at=self._clock())
            return len(changed)

    def settle(self, layout_id: str, port_id: str) -> int:
        """Settle as recorded every cavity of a port that fits two nets which no further reading tells apart.

        Returns:
            How many cavities were settled.

        Raises:
            NotFoundError: no such layout or port.
        """
        opened = self.open(layout_id)
        nets = {pin.cavity: pin.net for pin in _port(opened.layout, port_id).pins}
        open_ = {cavity for (place, cavity), each in opened.verdicts.items() if place == port_id and each.by_eye}
        taken = [each for each in opened.layout.readings if each.port == port_id and each.cavity in open_]
        return self.record(layout_id, [replace(each, settled=nets[each.cavity]) for each in taken])

    def clear(self, layout_id: str, port_id: str = "") -> int:
        """Clear the readings of one port, or of the whole layout; the record keeps what was there.

        Returns:
            How many cavities were cleared.

        Raises:
            NotFoundError: no such layout.
        """
        with writing(self._engine) as session:
            layout = find_layout(session, layout_id).layout
            if port_id:
                _port(layout, port_id)
            cleared = [Reading(each.port, each.cavity) for each in layout.readings if port_id in ("", each.port)]
            record_readings(session, layout_id, cleared, taken_at=self._clock())
            return len(cleared)

    # ---- inside ------------------------------------------------------------------------------------------------

    def _created(self, session: Session, layout: SupplyLayout, words: tuple[str, ...]) -> OpenedLayout:
        own = replace(layout, id=f"own-{secrets.token_hex(6)}", version=1, own=True)
        _check(own, self._catalogue_in(session))
        stored = create_layout(session, own, words=words, saved_at=self._clock())
        return self._opened(session, stored)

    def _clear_stale(
        self, session: Session, before: SupplyLayout, after: SupplyLayout, known: Mapping[str, str]
    ) -> None:
        """Clear readings that were taken at another socket of the same id, so that they cannot stand for this one."""
        kept = {port.id for port in before.ports}
        fresh = {
            port.id
            for port in after.ports
            if port.id in known and (port.id not in kept or known[port.id] != port.housing)
        }
        stale = [each for each in readings_of(session, after.id) if each.port in fresh]
        cleared = [Reading(each.port, each.cavity) for each in stale]
        record_readings(session, after.id, cleared, taken_at=self._clock())

    def _catalogue_in(self, session: Session) -> Catalogue:
        """The catalogue, read anew only when its stamp changes."""
        stamp = catalogue_stamp(session)
        if self._catalogue is None or self._catalogue[0] != stamp:
            self._catalogue = stamp, read_catalogue(session)
        return self._catalogue[1]

    def _opened(self, session: Session, stored: StoredLayout) -> OpenedLayout:
        layout = stored.layout
        return OpenedLayout(
            layout,
            stored.saved_at,
            stored.words,
            stored.latest,
            stored.entry,
            self._catalogue_in(session),
            verdicts(layout),
            {(port.id, pin.cavity): expected(pin.net, layout.edition) for port in layout.ports for pin in port.pins},
        )


def _entry(stored: StoredLayout) -> LayoutEntry:
    return LayoutEntry(stored.layout, stored.saved_at, progress(stored.layout))


def _check(layout: SupplyLayout, catalogue: Catalogue) -> None:
    if wrong := layout_problems(layout, catalogue):
        raise InvalidInputError(wrong)


def _port(layout: SupplyLayout, port_id: str) -> Port:
    for port in layout.ports:
        if port.id == port_id:
            return port
    raise NotFoundError(f"the layout has no port {port_id[:64]}")


def _free_id(label: str, taken: set[str]) -> str:
    """An id for a new port: the letters of its label and a number that no port of this layout has ever had."""
    letters = re.sub(r"[^A-Za-z]", "", label)[:1].upper() or "X"
    number = 1
    while f"{letters}{number}" in taken:
        number += 1
    return f"{letters}{number}"
