"""The bench ledger as it is kept: entries are added at the end, and read in order."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from decimal import Decimal
from typing import Any

from sqlalchemy import func, insert
from sqlmodel import Session, select

from server.domain.model.bench import (
    Assign,
    Checked,
    Cut,
    Done,
    Entry,
    Material,
    Receive,
    Recount,
    Release,
    Reserve,
    ScrapPiece,
    ScrapStock,
    Shelve,
    Take,
    Timed,
    Trim,
    Undo,
)
from server.store.ledger_tables import LedgerRow

_KINDS: Mapping[str, type[Entry]] = {
    "receive": Receive,
    "recount": Recount,
    "reserve": Reserve,
    "release": Release,
    "cut": Cut,
    "done": Done,
    "timed": Timed,
    "checked": Checked,
    "trim": Trim,
    "assign": Assign,
    "shelve": Shelve,
    "scrap_piece": ScrapPiece,
    "scrap_stock": ScrapStock,
    "take": Take,
    "undo": Undo,
}
_WORDS: Mapping[type[Entry], str] = {entry: word for word, entry in _KINDS.items()}


@dataclass(frozen=True, slots=True)
class StoredEntry:
    """One entry of the ledger."""

    number: int
    at: str
    """Moment of writing, ISO 8601 text."""
    entry: Entry


def last_number(session: Session) -> int:
    """Number of the last entry; 0 while there is none.

    Args:
        session: A session from ``reading`` or ``writing``.
    """
    return session.exec(select(func.coalesce(func.max(LedgerRow.number), 0))).one()


def entries(session: Session, after: int = 0) -> tuple[StoredEntry, ...]:
    """The ledger, first to last.

    Args:
        session: A session from ``reading`` or ``writing``.
        after: Leave out entries up to this number.
    """
    columns = (LedgerRow.number, LedgerRow.at, LedgerRow.kind, LedgerRow.body)
    chosen = select(*columns).where(LedgerRow.number > after).order_by(LedgerRow.number)  # type: ignore[arg-type]
    return tuple(StoredEntry(number, at, _read(kind, body)) for number, at, kind, body in session.exec(chosen))


def append(session: Session, entry: Entry, *, at: str) -> int:
    """Write one entry behind the last; whether it may follow is for the domain to say.

    Args:
        session: A session from ``writing``.
        entry: The entry.
        at: Moment of writing, ISO 8601 text.

    Returns:
        The number that it got.
    """
    return append_all(session, (entry,), at=at)[0]


def append_all(session: Session, entries: Sequence[Entry], *, at: str) -> tuple[int, ...]:
    """Write some entries behind the last; whether they may follow is for the domain to say.

    Args:
        session: A session from ``writing``.
        entries: The entries.
        at: Moment of writing, ISO 8601 text.

    Returns:
        The numbers that they got.
    """
    first = last_number(session) + 1
    rows = [
        {"number": number, "at": at, "kind": _WORDS[type(entry)], "body": _body(entry)}
        for number, entry in enumerate(entries, start=first)
    ]
    if rows:
        session.execute(insert(LedgerRow), rows)
    return tuple(range(first, first + len(rows)))


def _body(entry: Entry) -> str:
    values = {item.name: getattr(entry, item.name) for item in fields(entry)}
    return json.dumps(values, ensure_ascii=False, separators=(",", ":"), default=_plain)


def _plain(value: object) -> object:
    if isinstance(value, Material):
        return [value.kind, value.item, value.colour]
    if isinstance(value, Decimal):
        return str(value)
    raise TypeError(f"cannot be kept: {value!r}")


def _read(kind: str, body: str) -> Entry:
    values: dict[str, Any] = json.loads(body)
    if kind == "receive":
        values["material"] = Material(*values["material"])
        values["price"] = Decimal(values["price"])
    if kind == "checked":
        values["readings"] = tuple((key, value) for key, value in values["readings"])
    return _KINDS[kind](**values)
