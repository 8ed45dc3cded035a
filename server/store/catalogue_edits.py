"""Setting, clearing and listing the builder's own values in the catalogue."""

import hashlib
import json
from dataclasses import dataclass

from pydantic import ValidationError
from sqlmodel import Session, select

from server.domain.errors import NotFoundError
from server.store.catalogue_overlay import EDITABLE, edits_of, find_record, with_edits
from server.store.layouts import layouts_stamp
from server.store.own_packs import refuse, refuse_same_pack
from server.store.own_shapes import shapes_stamp
from server.store.plain_rules import first_broken_rule
from server.store.records import PackRecord
from server.store.tables import CatalogueEditRow, CatalogueVersionRow, OwnPackRow


@dataclass(frozen=True, slots=True)
class CatalogueEdit:
    """One value that the builder set."""

    table: str
    row_id: str
    column: str
    text: str
    applies: bool
    """False when the catalogue has lost the row, or has changed so that the value breaks a rule."""


def set_catalogue_value(session: Session, table: str, row_id: str, column: str, text: str) -> None:
    """Set one value of the catalogue to the builder's own.

    Args:
        session: A session from ``writing``.
        table: Name of the table, such as ``wires``.
        row_id: Id of the row.
        column: Name of the column.
        text: The value as typed, in the column's unit.

    Raises:
        NotFoundError: the table has no such row.
        InvalidInputError: the column may not be edited, or the value breaks a rule of the catalogue; the problem's
            field is the column.
    """
    if column not in EDITABLE.get(table, ()):
        raise refuse(column, f"{column} of {table} cannot be edited")
    record, typed = find_record(session, table, row_id), text.strip()
    edits = {**edits_of(session, table).get(row_id, {}), column: typed}
    try:
        changed = with_edits(record, table, edits)
    except ValidationError as failure:
        broken, rule = first_broken_rule(failure, (column, *type(record).model_fields))
        raise refuse(column, rule if broken == column else f"{broken} {rule}") from None
    if isinstance(changed, PackRecord):
        refuse_same_pack(session, changed, column)
    session.merge(CatalogueEditRow(table_name=table, row_id=row_id, column_name=column, text=typed))
    session.flush()


def edit_applies(session: Session, edit: CatalogueEditRow) -> bool:
    """Whether an edit still has its row and still keeps its rules.

    Args:
        session: A session from ``reading`` or ``writing``.
        edit: The edit's row.

    Returns:
        True when the catalogue is read with this value.
    """
    try:
        record = find_record(session, edit.table_name, edit.row_id)
        with_edits(record, edit.table_name, edits_of(session, edit.table_name)[edit.row_id])
    except (NotFoundError, ValidationError):
        return False
    return True


def clear_catalogue_value(session: Session, table: str, row_id: str, column: str) -> None:
    """Go back to the shipped value.

    Args:
        session: A session from ``writing``.
        table: Name of the table.
        row_id: Id of the row.
        column: Name of the column.

    Raises:
        NotFoundError: the builder has not set that value.
        InvalidInputError: the shipped value does not go with the other values that the builder set in the row.
    """
    edit = session.get(CatalogueEditRow, (table, row_id, column))
    if edit is None:
        raise NotFoundError(f"{column} of {row_id} has not been changed")
    if edit_applies(session, edit):
        record = find_record(session, table, row_id)
        rest = {name: text for name, text in edits_of(session, table)[row_id].items() if name != column}
        try:
            changed = with_edits(record, table, rest)
        except ValidationError as failure:
            broken, rule = first_broken_rule(failure, tuple(type(record).model_fields))
            raise refuse(column, f"{broken} {rule}") from None
        if isinstance(changed, PackRecord):
            refuse_same_pack(session, changed, column)
    session.delete(edit)
    session.flush()


def list_edits(session: Session) -> tuple[CatalogueEdit, ...]:
    """Every value that the builder set.

    Args:
        session: A session from ``reading`` or ``writing``.

    Returns:
        The edits by table, row and column.
    """
    key = (CatalogueEditRow.table_name, CatalogueEditRow.row_id, CatalogueEditRow.column_name)
    rows = session.exec(select(CatalogueEditRow).order_by(*key))
    return tuple(
        CatalogueEdit(row.table_name, row.row_id, row.column_name, row.text, edit_applies(session, row))
        for row in rows.all()
    )


def catalogue_stamp(session: Session) -> str:
    """A word that changes whenever the catalogue would read differently.

    Args:
        session: A session from ``reading`` or ``writing``.

    Returns:
        The shipped version and a digest of the builder's edits, own packs and own layouts; the same contents give the
        same stamp.
    """
    version = session.exec(select(CatalogueVersionRow)).first()
    key = (CatalogueEditRow.table_name, CatalogueEditRow.row_id, CatalogueEditRow.column_name)
    edits = [row.model_dump() for row in session.exec(select(CatalogueEditRow).order_by(*key))]
    packs = [row.model_dump(mode="json") for row in session.exec(select(OwnPackRow).order_by(OwnPackRow.id))]
    contents = json.dumps([edits, packs, layouts_stamp(session), shapes_stamp(session)], sort_keys=True)
    digest = hashlib.sha256(contents.encode()).hexdigest()[:16]
    return f"{'' if version is None else version.version}-{digest}"
