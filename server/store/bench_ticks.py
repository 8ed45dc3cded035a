"""Ticks of the bench screen as they are kept: each id once, with what became of it."""

from dataclasses import dataclass
from typing import Literal

from sqlalchemy import insert
from sqlmodel import Session, col, select

from server.store.tick_tables import TickRow


@dataclass(frozen=True, slots=True)
class StoredTick:
    """One tick that was answered."""

    id: str
    build_id: str
    device: str
    n: int
    kind: str
    task: str
    state: Literal["written", "refused"]
    message: str
    entries: tuple[int, ...]
    """Numbers of its ledger entries, which follow each other."""
    told_at: str


def find_tick(session: Session, tick_id: str) -> StoredTick | None:
    """A tick by its id; ``None`` while it was never answered.

    Args:
        session: A session from ``reading`` or ``writing``.
        tick_id: The id that the device made.
    """
    row = session.get(TickRow, tick_id)
    return _read(row) if row else None


def tick_of_entry(session: Session, number: int) -> StoredTick | None:
    """The tick that wrote a ledger entry; ``None`` where it came another way.

    Args:
        session: A session from ``reading`` or ``writing``.
        number: Number of the entry.
    """
    wanted = select(TickRow).where(col(TickRow.first) <= number, col(TickRow.first) > 0, col(TickRow.last) >= number)
    row = session.exec(wanted.order_by(col(TickRow.first).desc())).first()
    return _read(row) if row else None


def keep_tick(session: Session, tick: StoredTick, *, at: str) -> None:
    """Keep a tick with what became of it.

    Args:
        session: A session from ``writing``, that of its ledger entries.
        tick: The tick.
        at: Moment of writing, ISO 8601 text.
    """
    first, last = (tick.entries[0], tick.entries[-1]) if tick.entries else (0, 0)
    row = {
        "id": tick.id, "build_id": tick.build_id, "device": tick.device, "n": tick.n, "kind": tick.kind,
        "task": tick.task, "state": tick.state, "message": tick.message, "first": first, "last": last,
        "told_at": tick.told_at, "at": at,
    }  # fmt: skip
    session.execute(insert(TickRow), row)


def _read(row: TickRow) -> StoredTick:
    entries = tuple(range(row.first, row.last + 1)) if row.first else ()
    state: Literal["written", "refused"] = "written" if row.state == "written" else "refused"
    return StoredTick(
        row.id, row.build_id, row.device, row.n, row.kind, row.task, state, row.message, entries, row.told_at
    )
