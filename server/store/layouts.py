"""The builder's own supply layouts: versions written once, and a record of readings that is only added to."""

import json
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import cast

from sqlalchemy import func
from sqlmodel import Session, col, select

from server.domain.errors import ConflictError, InvalidInputError, NotFoundError, Problem
from server.domain.model.catalogue import Edition, Port, PortPin, Reading, SupplyLayout, Use
from server.store.layout_imports import imported_readings
from server.store.layout_tables import LayoutReadingRow, LayoutRow, LayoutVersionRow

_BEGUN = (col(LayoutVersionRow.saved_at), col(LayoutVersionRow.layout_id), col(LayoutVersionRow.number))


@dataclass(frozen=True, slots=True)
class StoredLayout:
    """One version of an own layout, with the readings taken so far."""

    layout: SupplyLayout
    saved_at: str
    """Moment of saving this version, ISO 8601 text."""
    words: tuple[str, ...]
    latest: int
    """Number of the newest version."""
    entry: int
    """Number of the last entry in the layout's record of readings; 0 before the first."""
    imported: tuple[Reading, ...] = ()
    """Readings that came with a document and do not count, at the cavities that this version has."""


@dataclass(frozen=True, slots=True)
class VersionSummary:
    """A version as it stands in a history."""

    number: int
    name: str
    saved_at: str
    words: tuple[str, ...]


def create_layout(session: Session, layout: SupplyLayout, *, words: tuple[str, ...], saved_at: str) -> StoredLayout:
    """Save a new layout as its version 1, with the readings it holds.

    Args:
        session: A session from ``writing``.
        layout: The layout; its id must never have been used.
        words: What this version is, in sentences.
        saved_at: Moment of saving, ISO 8601 text.

    Raises:
        InvalidInputError: the id has been used, be it by a deleted layout.
    """
    if session.get(LayoutRow, layout.id) is not None:
        raise InvalidInputError((Problem("id", f"a layout {layout.id} exists already"),))
    row = LayoutRow(id=layout.id, name=layout.name, latest=1, saved_at=saved_at)
    session.add(row)
    session.flush()
    _add_version(session, row, layout, words)
    record_readings(session, layout.id, layout.readings, taken_at=saved_at)
    return find_layout(session, layout.id)


def append_version(
    session: Session, layout: SupplyLayout, *, expected: int, words: tuple[str, ...], saved_at: str
) -> StoredLayout:
    """Save the next version of a layout; its readings are kept apart and stay as they are.

    Args:
        session: A session from ``writing``.
        layout: The layout as it is now.
        expected: Number of the version that the change was made on.
        words: What this version changes, in sentences.
        saved_at: Moment of saving, ISO 8601 text.

    Raises:
        NotFoundError: there is no such layout, or no version ``expected`` of it.
        ConflictError: a newer version than ``expected`` was saved; holds the words of all versions after it.
    """
    row = _row(session, layout.id)
    if not 1 <= expected <= row.latest:
        raise NotFoundError(f"layout {layout.id} has no version {expected}")
    if expected != row.latest:
        later = [each for each in layout_versions(session, layout.id) if each.number > expected]
        raise ConflictError(row.latest, tuple(word for each in later for word in each.words))
    row.name, row.latest, row.saved_at = layout.name, row.latest + 1, saved_at
    session.add(row)
    session.flush()
    _add_version(session, row, layout, words)
    return find_layout(session, layout.id)


def find_layout(session: Session, layout_id: str, number: int | None = None) -> StoredLayout:
    """A layout at its newest version, or at an earlier one, with every reading taken so far.

    Args:
        session: A session from ``reading`` or ``writing``.
        layout_id: Id of the layout.
        number: Number of the version; the newest without it.

    Raises:
        NotFoundError: there is no such layout or version.
    """
    row = _row(session, layout_id)
    version = session.get(LayoutVersionRow, (layout_id, row.latest if number is None else number))
    if version is None:
        raise NotFoundError(f"layout {layout_id} has no version {number}")
    return _stored(session, row, version)


def layout_versions(session: Session, layout_id: str) -> tuple[VersionSummary, ...]:
    """History of a layout, oldest first.

    Raises:
        NotFoundError: there is no such layout.
    """
    _row(session, layout_id)
    chosen = select(LayoutVersionRow).where(LayoutVersionRow.layout_id == layout_id)
    rows = session.exec(chosen.order_by(col(LayoutVersionRow.number)))
    return tuple(VersionSummary(row.number, row.name, row.saved_at, _words(row)) for row in rows)


def list_layouts(session: Session, *, deleted: bool = False) -> tuple[StoredLayout, ...]:
    """Own layouts at their newest version, the oldest first.

    Args:
        session: A session from ``reading`` or ``writing``.
        deleted: Whether to list those that were put away instead.
    """
    rows = {row.id: row for row in session.exec(select(LayoutRow).where(LayoutRow.deleted == deleted))}
    firsts = select(LayoutVersionRow).where(LayoutVersionRow.number == 1)
    order = [first.layout_id for first in session.exec(firsts.order_by(*_BEGUN)) if first.layout_id in rows]
    newest = ((rows[ident], session.get(LayoutVersionRow, (ident, rows[ident].latest))) for ident in order)
    return tuple(_stored(session, row, version) for row, version in newest if version is not None)


def delete_layout(session: Session, layout_id: str) -> None:
    """Put a layout away; its versions stay for the builds that use them.

    Raises:
        NotFoundError: there is no such layout.
    """
    row = _row(session, layout_id)
    row.deleted = True
    session.add(row)
    session.flush()


def restore_layout(session: Session, layout_id: str) -> None:
    """Bring a layout back that was put away; nothing happens to one that was not.

    Raises:
        NotFoundError: there is no such layout.
    """
    row = session.get(LayoutRow, layout_id)
    if row is None:
        raise NotFoundError(f"there is no layout {layout_id}")
    row.deleted = False
    session.add(row)
    session.flush()


def record_readings(session: Session, layout_id: str, readings: Iterable[Reading], *, taken_at: str) -> None:
    """Add entries to a layout's record; a reading without values clears its cavity.

    Args:
        session: A session from ``writing``.
        layout_id: Id of the layout.
        readings: What the meter said.
        taken_at: Moment of writing it down, ISO 8601 text.
    """
    for reading in readings:
        session.add(
            LayoutReadingRow(
                layout_id=layout_id,
                taken_at=taken_at,
                port=reading.port,
                cavity=reading.cavity,
                on_v=reading.on_v,
                standby_v=reading.standby_v,
                to_ground=reading.to_ground,
                settled=reading.settled,
            )
        )
    session.flush()


def readings_of(session: Session, layout_id: str, up_to: int | None = None) -> tuple[Reading, ...]:
    """The reading that holds at each cavity.

    Args:
        session: A session from ``reading`` or ``writing``.
        layout_id: Id of the layout.
        up_to: Only entries up to this number: the record as it was then.

    Returns:
        In the order in which cavities were first measured; cleared ones are left out.
    """
    chosen = select(LayoutReadingRow).where(LayoutReadingRow.layout_id == layout_id)
    if up_to is not None:
        chosen = chosen.where(col(LayoutReadingRow.entry) <= up_to)
    newest: dict[tuple[str, str], Reading] = {}
    for row in session.exec(chosen.order_by(col(LayoutReadingRow.entry))):
        reading = Reading(row.port, row.cavity, row.on_v, row.standby_v, row.to_ground, row.settled)
        newest[row.port, row.cavity] = reading
    return tuple(reading for reading in newest.values() if not _is_cleared(reading))


def last_entry(session: Session, layout_id: str) -> int:
    """Number of the last entry in a layout's record of readings; 0 before the first."""
    chosen = select(func.max(LayoutReadingRow.entry)).where(LayoutReadingRow.layout_id == layout_id)
    return session.exec(chosen).one() or 0


def used_port_ids(session: Session, layout_id: str) -> dict[str, str]:
    """Housing by port id, for every port that any version of a layout has had; the newest housing holds."""
    chosen = select(LayoutVersionRow).where(LayoutVersionRow.layout_id == layout_id)
    rows = session.exec(chosen.order_by(col(LayoutVersionRow.number)))
    return {port.id: port.housing for row in rows for port in _layout(row).ports}


def every_version(session: Session) -> tuple[tuple[SupplyLayout, bool], ...]:
    """Every version of every own layout with its readings, and whether it is the newest of one not put away.

    Args:
        session: A session from ``reading`` or ``writing``.

    Returns:
        Layouts in the order in which they were begun, their versions from the first to the newest.
    """
    found: list[tuple[SupplyLayout, bool]] = []
    rows = {row.id: row for row in session.exec(select(LayoutRow))}
    by_id: dict[str, list[LayoutVersionRow]] = {}
    for version in session.exec(select(LayoutVersionRow).order_by(*_BEGUN)):
        by_id.setdefault(version.layout_id, []).append(version)
    for layout_id, versions in by_id.items():
        readings, row = readings_of(session, layout_id), rows[layout_id]
        for version in sorted(versions, key=lambda each: each.number):
            newest = version.number == row.latest and not row.deleted
            found.append((_with_readings(_layout(version), readings), newest))
    return tuple(found)


def layouts_stamp(session: Session) -> list[list[object]]:
    """What changes whenever own layouts would read differently: versions, readings, deletions."""
    rows = session.exec(select(LayoutRow).order_by(col(LayoutRow.id)))
    entries = session.exec(select(func.max(LayoutReadingRow.entry))).one() or 0
    return [[entries], *([row.id, row.latest, row.deleted] for row in rows)]


def _row(session: Session, layout_id: str) -> LayoutRow:
    row = session.get(LayoutRow, layout_id)
    if row is None or row.deleted:
        raise NotFoundError(f"there is no layout {layout_id}")
    return row


def _stored(session: Session, row: LayoutRow, version: LayoutVersionRow) -> StoredLayout:
    bare = _layout(version)
    layout = _with_readings(bare, readings_of(session, row.id))
    imported = _with_readings(bare, imported_readings(session, row.id)).readings
    return StoredLayout(layout, version.saved_at, _words(version), row.latest, last_entry(session, row.id), imported)


def _with_readings(layout: SupplyLayout, readings: tuple[Reading, ...]) -> SupplyLayout:
    """A version with the readings at those cavities that it has, in its own order."""
    taken = {(reading.port, reading.cavity): reading for reading in readings}
    places = ((port.id, pin.cavity) for port in layout.ports for pin in port.pins)
    return replace(layout, readings=tuple(taken[place] for place in places if place in taken))


def _is_cleared(reading: Reading) -> bool:
    return reading.on_v is None and reading.standby_v is None and reading.to_ground is None and not reading.settled


def _add_version(session: Session, row: LayoutRow, layout: SupplyLayout, words: tuple[str, ...]) -> None:
    session.add(
        LayoutVersionRow(
            layout_id=row.id,
            number=row.latest,
            saved_at=row.saved_at,
            words=json.dumps(words, ensure_ascii=False),
            name=layout.name,
            note=layout.note,
            source=layout.source,
            edition=layout.edition,
            limits_a=json.dumps(dict(sorted(layout.limits_a.items()))),
            ports=json.dumps([_port_text(port) for port in layout.ports], ensure_ascii=False),
        )
    )
    session.flush()


def _words(row: LayoutVersionRow) -> tuple[str, ...]:
    return tuple(json.loads(row.words))


def _port_text(port: Port) -> list[object]:
    return [port.id, port.label, port.housing, list(port.feeds), [[pin.cavity, pin.net] for pin in port.pins]]


def _layout(row: LayoutVersionRow) -> SupplyLayout:
    ports = tuple(
        Port(ident, label, housing, cast("tuple[Use, ...]", tuple(feeds)), tuple(PortPin(*pin) for pin in pins))
        for ident, label, housing, feeds, pins in json.loads(row.ports)
    )
    return SupplyLayout(
        id=row.layout_id,
        name=row.name,
        note=row.note,
        source=row.source,
        ports=ports,
        version=row.number,
        own=True,
        limits_a=json.loads(row.limits_a),
        # What was saved has been held to the editions there are.
        edition=cast("Edition", row.edition),
    )
