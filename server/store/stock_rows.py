"""Catalogue rows as the builder edits them: every editable value beside the shipped one."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

from sqlmodel import Session, select

from server.store.catalogue_overlay import EDITABLE, edited_packs, edited_rows, edits_of
from server.store.own_packs import own_pack_ids
from server.store.records import RECORDS, CatalogueRecord, ContactRecord, CrimpRecord, PackRecord, row_key
from server.store.tables import ROWS, OwnPackRow

_WORDS = ("name", "source")
"""Editable columns that are no values of the thing itself."""


@dataclass(frozen=True, slots=True)
class StockValue:
    """One value of a row, as text in the column's unit."""

    column: str
    text: str
    """What the planner works with."""
    shipped: str
    """What the catalogue (for an own pack: the builder at first) says."""
    own: str | None
    """What the builder set in its place; ``None`` when nothing."""
    applies: bool
    """False when the builder's value breaks a rule of a catalogue that came later; the shipped value stands then."""


@dataclass(frozen=True, slots=True)
class StockRow:
    """One row that the builder may edit."""

    table: str
    id: str
    name: str
    """Name of the item; empty for a pack, which is named by its item."""
    kind: str
    item: str
    """For a pack: the kind and the id of what it holds; otherwise empty."""
    unit: str
    source: str
    own: bool
    """True for a pack that the builder added."""
    values: tuple[StockValue, ...]

    def value(self, column: str) -> StockValue:
        """The value of a column.

        Raises:
            KeyError: the row has no such column.
        """
        for value in self.values:
            if value.column == column:
                return value
        raise KeyError(column)


def same_value(one: str, other: str) -> bool:
    """Whether two texts say the same value: ``12.50`` and ``12.5`` do."""
    try:
        return Decimal(one.strip()) == Decimal(other.strip())
    except InvalidOperation:
        return one.strip() == other.strip()


def stock_rows(session: Session, table: str) -> tuple[StockRow, ...]:
    """Rows of an editable table in the order of the catalogue, own packs behind the shipped ones.

    Args:
        session: A session from ``reading`` or ``writing``.
        table: Name of an editable table, such as ``wires``.

    Raises:
        KeyError: the table cannot be edited.
    """
    shipped = {row_key(table, record): record for record in _shipped(session, table)}
    edits = edits_of(session, table)
    own_packs = own_pack_ids(session) if table == "packs" else frozenset()
    edited = edited_packs(session) if table == "packs" else edited_rows(session, RECORDS[table])
    contacts = _contact_names(session) if table == "crimps" else {}
    rows = []
    for record in edited:
        row_id = row_key(table, record)
        values = _values(table, record, shipped[row_id], edits.get(row_id, {}))
        name = _name(record, contacts)
        rows.append(_row(table, row_id, record, values, name=name, own=row_id in own_packs))
    return tuple(rows)


def lost_edits(session: Session) -> tuple[tuple[str, str, str, str], ...]:
    """Values that the builder set for rows that the catalogue no longer has: table, row, column and text."""
    known = {(table, row_key(table, record)) for table in EDITABLE for record in _shipped(session, table)}
    return tuple(
        (table, row_id, column, text)
        for table in EDITABLE
        for row_id, edits in edits_of(session, table).items()
        if (table, row_id) not in known
        for column, text in edits.items()
    )


def _contact_names(session: Session) -> dict[str, str]:
    return {contact.id: contact.name for contact in edited_rows(session, ContactRecord)}


def _name(record: CatalogueRecord, contacts: Mapping[str, str]) -> str:
    if isinstance(record, CrimpRecord):
        return f"{record.awg} AWG in {contacts.get(record.contact, record.contact)}"
    return str(getattr(record, "name", ""))


def _shipped(session: Session, table: str) -> list[CatalogueRecord]:
    record = RECORDS[table]
    rows = [record.model_validate(row.model_dump(exclude={"file_order"})) for row in session.exec(select(ROWS[table]))]
    if table == "packs":
        rows += [PackRecord.model_validate(row.model_dump()) for row in session.exec(select(OwnPackRow))]
    return rows


def _values(
    table: str, record: CatalogueRecord, shipped: CatalogueRecord, edits: Mapping[str, str]
) -> tuple[StockValue, ...]:
    values = []
    for column in EDITABLE[table]:
        if column in _WORDS:
            continue
        text, own = _text(getattr(record, column)), edits.get(column)
        applies = own is None or same_value(own, text)
        values.append(StockValue(column, text, _text(getattr(shipped, column)), own, applies))
    return tuple(values)


def _row(
    table: str, row_id: str, record: CatalogueRecord, values: tuple[StockValue, ...], *, name: str, own: bool
) -> StockRow:
    return StockRow(
        table=table,
        id=row_id,
        name=name,
        kind=str(getattr(record, "kind", "")),
        item=str(getattr(record, "item", "")),
        unit=str(getattr(record, "unit", "")),
        source=record.source,
        own=own,
        values=values,
    )


def _text(value: object) -> str:
    if isinstance(value, float):
        return f"{value:.10g}"
    return format(value, "f") if isinstance(value, Decimal) else str(value)
