"""What a builder can do with the catalogue: own packs and prices, own measurements, own minutes."""

from collections.abc import Mapping

from sqlalchemy import Engine
from sqlmodel import Session

from server.domain.errors import InvalidInputError, NotFoundError, Problem
from server.domain.model.catalogue import ItemKind
from server.store.catalogue_edits import clear_catalogue_value, set_catalogue_value
from server.store.catalogue_overlay import EDITABLE, edits_of
from server.store.database import reading, writing
from server.store.own_packs import add_pack, remove_own_pack
from server.store.stock_rows import StockRow, StockValue, lost_edits, same_value, stock_rows
from server.store.suppliers import Items, set_suppliers, suppliers

__all__ = ["StockDesk", "StockRow", "StockValue"]


class StockDesk:
    """Reads and edits the catalogue; every edit is one transaction and survives new catalogues."""

    def __init__(self, engine: Engine) -> None:
        """A desk on an open database with a catalogue in it."""
        self._engine = engine

    def rows(self, table: str) -> tuple[StockRow, ...]:
        """Rows of a table with the shipped value beside each edited one.

        Raises:
            NotFoundError: there is no such table to edit.
        """
        _check_table(table)
        with reading(self._engine) as session:
            return stock_rows(session, table)

    def row(self, table: str, row_id: str) -> StockRow:
        """One row of a table.

        Raises:
            NotFoundError: there is no such row.
        """
        for row in self.rows(table):
            if row.id == row_id:
                return row
        raise NotFoundError(f'The catalogue\'s {table} have no "{row_id[:80]}".')

    def lost_edits(self) -> tuple[tuple[str, str, str, str], ...]:
        """Values set for rows that the catalogue no longer has: table, row, column and text."""
        with reading(self._engine) as session:
            return lost_edits(session)

    def set_values(self, table: str, row_id: str, values: Mapping[str, str]) -> None:
        """Set values of one row, all or none; a value equal to the shipped one takes the builder's own away.

        Args:
            table: Name of the table.
            row_id: Id of the row.
            values: Text by column, in the column's unit.

        Raises:
            NotFoundError: there is no such row.
            InvalidInputError: values break a rule; each problem's field is its column.
        """
        row = self.row(table, row_id)
        known = {value.column: value for value in row.values}
        unknown = tuple(Problem(column[:80], "Cannot be edited.") for column in values if column not in known)
        if unknown:
            raise InvalidInputError(unknown)
        changed = {
            column: text
            for column, text in values.items()
            if not same_value(text, known[column].own or known[column].text)
        }
        with writing(self._engine) as session:
            _apply(session, row, changed)

    def clear_value(self, table: str, row_id: str, column: str) -> None:
        """Go back to the shipped value.

        Raises:
            NotFoundError: the builder has not set that value.
            InvalidInputError: the shipped value does not go with the builder's other values of the row.
        """
        with writing(self._engine) as session:
            clear_catalogue_value(session, table, row_id, column)
            _forget_source(session, table, row_id)

    def add_pack(self, kind: ItemKind, item: str, quantity: str, price: str) -> str:
        """Add a pack that can be bought.

        Args:
            kind: What kind of thing it holds.
            item: Id of the thing.
            quantity: How much. [mm for wire, sleeve and heat-shrink; pieces otherwise]
            price: Price of the pack, without currency.

        Returns:
            Id of the new pack.

        Raises:
            InvalidInputError: a value breaks a rule, or the item is sold in that quantity already.
        """
        with writing(self._engine) as session:
            return add_pack(session, kind=kind, item=item, quantity=quantity, price=price).id

    def remove_pack(self, pack_id: str) -> None:
        """Remove a pack that the builder added.

        Raises:
            NotFoundError: the builder has added no such pack.
        """
        with writing(self._engine) as session:
            remove_own_pack(session, pack_id)

    def suppliers(self) -> dict[tuple[str, str], str]:
        """Where the builder buys things, by kind and id of the item; items without a supplier are left out."""
        with reading(self._engine) as session:
            return suppliers(session)

    def set_suppliers(self, named: Items) -> None:
        """Name suppliers, all or none; an empty text takes a name away.

        Args:
            named: Text by kind and id of the item.

        Raises:
            InvalidInputError: a text is too long or cannot be shown; the problem's field is ``<kind>.<item>``.
        """
        with writing(self._engine) as session:
            set_suppliers(session, named)


def _check_table(table: str) -> None:
    if table not in EDITABLE:
        raise NotFoundError(f'There is no stock list "{table[:80]}".')


def _apply(session: Session, row: StockRow, values: Mapping[str, str]) -> None:
    """Sets values in whatever order the rules between them allow.

    Two values may each break a rule beside the other's old value and keep it beside the new one, such as both ends of
    a range that move up. So every value is tried again as long as some other one was accepted.
    """
    waiting = dict(values)
    while waiting:
        refused: list[Problem] = []
        accepted = False
        for column, text in tuple(waiting.items()):
            try:
                _set(session, row, column, text)
            except InvalidInputError as error:
                refused += error.problems
                continue
            del waiting[column]
            accepted = True
        if waiting and not accepted:
            raise InvalidInputError(tuple(refused))


def _set(session: Session, row: StockRow, column: str, text: str) -> None:
    value = row.value(column)
    _forget_source(session, row.table, row.id)
    if not same_value(text, value.shipped):
        set_catalogue_value(session, row.table, row.id, column, text)
    elif value.own is not None:
        clear_catalogue_value(session, row.table, row.id, column)


def _forget_source(session: Session, table: str, row_id: str) -> None:
    """Take away the source that was named for minutes which are set anew: those came from the bench's stopwatch."""
    if table == "labour" and "source" in edits_of(session, table).get(row_id, {}):
        clear_catalogue_value(session, table, row_id, "source")
