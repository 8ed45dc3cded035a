"""The shipped catalogue with the builder's own values and packs laid over it.

Edits lie beside the shipped rows and are applied when the catalogue is read, so that a new catalogue keeps them.
"""

from collections.abc import Mapping, Sequence
from typing import TypeVar, cast

from pydantic import ValidationError
from sqlmodel import Session, select

from server.domain.errors import NotFoundError
from server.store.catalogue_rules import PACK_TABLES
from server.store.records import RECORDS, CatalogueRecord, PackRecord, key_columns, row_key
from server.store.tables import ROWS, CatalogueEditRow, OwnPackRow

R = TypeVar("R", bound=CatalogueRecord)

RECORDS_KEPT = 20_000
"""Validated rows held in memory: those of a few catalogues."""
_VALIDATED: dict[tuple[type[CatalogueRecord], str], CatalogueRecord] = {}

EDITABLE: Mapping[str, tuple[str, ...]] = {
    "wires": ("name", "conductor_mm2", "outside_mm", "ohm_per_km", "source"),
    "sleeves": ("name", "relaxed_mm", "braid_angle_deg", "least_mm", "greatest_mm", "wall_mm", "source"),
    "shrinks": ("name", "supplied_mm", "recovered_mm", "wall_mm", "shortening_percent", "piece_mm", "source"),
    "combs": ("name", "ways", "rows", "columns", "source"),
    "contacts": (
        "name",
        "awg_thickest",
        "awg_thinnest",
        "insulation_min_mm",
        "insulation_max_mm",
        "wires_max",
        "source",
    ),
    "crimps": ("strip_mm", "die", "source"),
    "packs": ("quantity", "price", "source"),
    "labour": ("name", "minutes", "source"),
}
"""Columns that the builder may set, by table; ids and references stay as shipped."""

_NO_MEASUREMENT = ("name", "die", "source")
"""Columns whose change does not make the shipped source untrue."""


def _table_of(record: type[CatalogueRecord]) -> str:
    return next(table for table, known in RECORDS.items() if known is record)


def _shipped(session: Session, record: type[R]) -> list[R]:
    columns = ROWS[_table_of(record)].__table__.c  # type: ignore[attr-defined]
    named = [column for column in columns if column.name != "file_order"]
    names = [column.name for column in named]
    found = session.execute(select(*named).order_by(columns.file_order))
    return [_validated(record, names, tuple(values)) for values in found]


def _validated(record: type[R], names: Sequence[str], values: tuple[object, ...]) -> R:
    """A row that holds to the rules; one that was read before is not held to them again.

    The catalogue is read anew after each of the builder's own values, and nearly all of it is as it was. Nobody changes
    a record: an edit makes another one.
    """
    key = record, repr(values)  # Not the values: 1.0 and 1.00 are equal, and are shown differently.
    known = _VALIDATED.get(key)
    if known is None:
        if len(_VALIDATED) >= RECORDS_KEPT:
            _VALIDATED.clear()
        known = _VALIDATED[key] = record.model_validate(dict(zip(names, values, strict=True)))
    return cast("R", known)


def edits_of(session: Session, table: str) -> dict[str, dict[str, str]]:
    """The builder's edits of one table.

    Args:
        session: A session from ``reading`` or ``writing``.
        table: Name of the table.

    Returns:
        Text as typed, by row and column.
    """
    chosen = select(CatalogueEditRow).where(CatalogueEditRow.table_name == table)
    edits: dict[str, dict[str, str]] = {}
    for edit in session.exec(chosen.order_by(CatalogueEditRow.row_id, CatalogueEditRow.column_name)):
        edits.setdefault(edit.row_id, {})[edit.column_name] = edit.text
    return edits


def _own_source(table: str, edits: Mapping[str, str]) -> dict[str, str]:
    """Source of a row whose published values the builder has replaced."""
    if "source" in edits or all(column in _NO_MEASUREMENT for column in edits):
        return {}
    return {"source": "set by the builder" if table in ("packs", "labour") else "measured by the builder"}


def with_edits(record: R, table: str, edits: Mapping[str, str]) -> R:
    """Validate a record anew with the builder's values.

    Args:
        record: The record as shipped.
        table: Name of its table.
        edits: Text as typed, by column.

    Returns:
        The record with the values; its source says that they are the builder's own.

    Raises:
        ValidationError: a value breaks one of the record's rules.
    """
    return type(record).model_validate({**record.model_dump(), **_own_source(table, edits), **edits})


def _edited(record: R, table: str, edits: Mapping[str, str]) -> R:
    try:
        return with_edits(record, table, edits)
    except ValidationError:
        # The edit was valid when it was made: a later catalogue changed the row under it. The shipped row stands, and
        # ``list_edits`` says that the edit no longer applies.
        return record


def edited_rows(session: Session, record: type[R]) -> list[R]:
    """Rows of one catalogue table in file order, with the builder's edits applied.

    Args:
        session: A session from ``reading`` or ``writing``.
        record: Record class of the table.

    Returns:
        The records; own packs are not among them, see ``edited_packs``.
    """
    table = _table_of(record)
    edits = edits_of(session, table) if table in EDITABLE else {}
    rows = _shipped(session, record)
    if not edits:
        return rows
    return [_edited(row, table, edits.get(row_key(table, row), {})) for row in rows]


def _own_packs(session: Session) -> list[PackRecord]:
    return [
        PackRecord.model_validate(row.model_dump()) for row in session.exec(select(OwnPackRow).order_by(OwnPackRow.id))
    ]


def catalogue_ids(session: Session, table: str) -> set[str]:
    """Ids of the shipped rows of one table.

    Args:
        session: A session from ``reading`` or ``writing``.
        table: Name of the table.

    Returns:
        The ids.
    """
    columns = ROWS[table].__table__.c  # type: ignore[attr-defined]
    return set(session.exec(select(columns[key_columns(table)[-1]])))


def edited_packs(session: Session) -> list[PackRecord]:
    """Packs that can be bought: the shipped ones with edits, then the builder's own.

    Args:
        session: A session from ``reading`` or ``writing``.

    Returns:
        The packs. An own pack takes the place of a shipped pack of the same item and quantity, and waits unseen while
        the catalogue lacks its item.
    """
    edits = edits_of(session, "packs")
    items = {kind: catalogue_ids(session, table) for kind, table in PACK_TABLES.items()}
    own = [
        _edited(pack, "packs", edits.get(pack.id, {})) for pack in _own_packs(session) if pack.item in items[pack.kind]
    ]
    taken = {(pack.kind, pack.item, pack.quantity) for pack in own}
    shipped = edited_rows(session, PackRecord)
    return [pack for pack in shipped if (pack.kind, pack.item, pack.quantity) not in taken] + own


def find_record(session: Session, table: str, row_id: str) -> CatalogueRecord:
    """One row as shipped, or one of the builder's own packs.

    Args:
        session: A session from ``reading`` or ``writing``.
        table: Name of the table.
        row_id: Id of the row.

    Returns:
        The record without edits.

    Raises:
        NotFoundError: the table has no such row.
    """
    candidates: list[CatalogueRecord] = list(_shipped(session, RECORDS[table]))
    if table == "packs":
        candidates += _own_packs(session)
    for record in candidates:
        if row_key(table, record) == row_id:
            return record
    raise NotFoundError(f"the catalogue's {table} have no {row_id}")
