"""Readings that came with a document of a supply layout: kept beside the record, and counting for nothing there."""

from collections.abc import Collection, Iterable

from sqlalchemy import delete
from sqlmodel import Session, col, select

from server.domain.model.catalogue import Reading
from server.store.layout_tables import LayoutImportedRow


def keep_imported(session: Session, layout_id: str, readings: Iterable[Reading]) -> None:
    """Keep readings that came with a document beside the record, where they count for nothing.

    Args:
        session: A session from ``writing``.
        layout_id: Id of the layout; what was kept so before is replaced.
        readings: One for each cavity.
    """
    drop_imported(session, layout_id)
    for position, each in enumerate(readings):
        session.add(
            LayoutImportedRow(
                layout_id=layout_id,
                port=each.port,
                cavity=each.cavity,
                position=position,
                on_v=each.on_v,
                standby_v=each.standby_v,
                to_ground=each.to_ground,
                settled=each.settled,
            )
        )
    session.flush()


def imported_readings(session: Session, layout_id: str) -> tuple[Reading, ...]:
    """Readings that came with a document and do not count, in its order."""
    chosen = select(LayoutImportedRow).where(LayoutImportedRow.layout_id == layout_id)
    rows = session.exec(chosen.order_by(col(LayoutImportedRow.position)))
    return tuple(Reading(row.port, row.cavity, row.on_v, row.standby_v, row.to_ground, row.settled) for row in rows)


def drop_imported(session: Session, layout_id: str, ports: Collection[str] | None = None) -> None:
    """Drop the readings that do not count, of some ports or, without naming any, of the whole layout."""
    away = delete(LayoutImportedRow).where(col(LayoutImportedRow.layout_id) == layout_id)
    if ports is not None:
        away = away.where(col(LayoutImportedRow.port).in_(ports))
    session.execute(away)
