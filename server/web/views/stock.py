"""The stock page: lists of items with the builder's own values beside the shipped ones, and packs with prices."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from server.domain.errors import Problem
from server.domain.model.catalogue import Catalogue, ItemKind
from server.services.stock import StockRow, StockValue
from server.web.forms import Typed
from server.web.stock_lists import LISTS, Column, StockList, columns_of
from server.web.views import formats
from server.web.views.fields import Field, Fields, field_id
from server.web.views.learning import StockNote


@dataclass(frozen=True, slots=True)
class StockTab:
    """The address of one list."""

    href: str
    name: str
    line: str
    current: bool


@dataclass(frozen=True, slots=True)
class StockHeading:
    """Head of a column."""

    name: str
    unit: str


@dataclass(frozen=True, slots=True)
class StockCell:
    """One value to edit."""

    field: Field
    head: str
    """Head of its column with the unit, for screens too narrow for columns."""
    words: bool
    """True for text, which needs a wider field."""
    shipped: str
    """The shipped value beside an edited one; empty when nothing was edited."""
    shipped_word: str
    reset_form: str
    reset_name: str
    """What the reset button says to those who cannot see where it stands."""
    column: str
    stale: str
    """The builder's value that no longer fits the catalogue; empty for none."""


@dataclass(frozen=True, slots=True)
class StockLine:
    """One row with its forms."""

    element_id: str
    form_id: str
    action: str
    name: str
    cells: tuple[StockCell, ...]
    each: str
    """Price of a metre or a piece; empty for facts."""
    each_head: str
    source: str
    remove: str
    """Address that removes an own pack; empty for shipped rows."""
    message: str
    refused: bool
    note: StockNote | None = None
    """What the bench measured of it; ``None`` for nothing."""


@dataclass(frozen=True, slots=True)
class StockTable:
    """A table of facts or of packs."""

    id: str
    heading: str
    columns: tuple[StockHeading, ...]
    each: str
    """Head of the price of one metre or piece; empty for facts."""
    lines: tuple[StockLine, ...]
    edited: str


@dataclass(frozen=True, slots=True)
class AddPack:
    """The form that adds a pack."""

    action: str
    item: Field
    quantity: Field
    price: Field


@dataclass(frozen=True, slots=True)
class LostValue:
    """A value set for an item that the catalogue no longer has."""

    text: str


@dataclass(frozen=True, slots=True)
class StockPage:
    """One list of the stock page."""

    title: str
    about: str
    tabs: tuple[StockTab, ...]
    facts: StockTable | None
    packs: StockTable | None
    add: AddPack | None
    lost: tuple[LostValue, ...]
    message: str


@dataclass(frozen=True, slots=True)
class StockAfter:
    """What stands around a swapped row or table and follows from the same edit."""

    tabs: tuple[StockTab, ...]
    message: str


@dataclass(frozen=True, slots=True)
class Told:
    """What became of an edit: the row it was made in, what to say, and what was typed where it was refused."""

    row: str = ""
    message: str = ""
    texts: Mapping[str, str] | None = None
    problems: tuple[Problem, ...] = ()


_NOTHING = Told()
_NO_NOTES: Mapping[str, StockNote] = {}


def line_id(table: str, row_id: str) -> str:
    """The id of a row's element on the page."""
    return f"{table}-{row_id}".replace(".", "-")


def stock_tabs(current: StockList, rows: Mapping[str, tuple[StockRow, ...]]) -> tuple[StockTab, ...]:
    """Every list with its address and what it holds.

    Args:
        current: The list that is shown.
        rows: Rows of every table that can be edited.
    """
    return tuple(
        StockTab(f"/stock/{entry.name}", entry.title, _tab_line(entry, rows), entry.name == current.name)
        for entry in LISTS.values()
    )


def _tab_line(entry: StockList, rows: Mapping[str, tuple[StockRow, ...]]) -> str:
    facts = rows[entry.table] if entry.table else ()
    packs = packs_of(entry, rows["packs"])
    counted = formats.count(len(packs), "pack") if entry.kind else formats.count(len(facts), entry.counted)
    own = sum(value.own is not None for row in (*facts, *packs) for value in row.values)
    own += sum(row.own for row in packs)
    return f"{counted}, {own} of your own" if own else counted


def packs_of(entry: StockList, packs: tuple[StockRow, ...]) -> tuple[StockRow, ...]:
    """The packs of a list among all packs."""
    return tuple(row for row in packs if row.kind == entry.kind)


def item_names(catalogue: Catalogue, kind: ItemKind) -> dict[str, str]:
    """Names of the items of a kind by id, in the order of the catalogue."""
    tables: Mapping[ItemKind, Mapping[str, object]] = {
        "wire": catalogue.wires,
        "sleeve": catalogue.sleeves,
        "shrink": catalogue.shrinks,
        "contact": catalogue.contacts,
        "housing": catalogue.housings,
        "comb": catalogue.combs,
        "cap": catalogue.caps,
    }
    return {item: str(getattr(entry, "name", item)) for item, entry in tables[kind].items()}


def stock_table(
    entry: StockList,
    table: str,
    rows: tuple[StockRow, ...],
    names: Mapping[str, str],
    told: Told = _NOTHING,
    notes: Mapping[str, StockNote] = _NO_NOTES,
) -> StockTable:
    """A table of the page.

    Args:
        entry: The list.
        table: ``facts`` or ``packs``.
        rows: Its rows.
        names: Names of items by id, for packs.
        told: What became of an edit.
        notes: What the bench measured, by row.
    """
    columns = columns_of(entry, table)
    edited = sum(1 for row in rows for value in row.values if value.own is not None)
    own = sum(1 for row in rows if row.own)
    marks = [formats.count(edited, "value") + " of your own"] if edited else []
    marks += [formats.count(own, "pack") + " of your own"] if own else []
    return StockTable(
        id=f"stock-{table}",
        heading="Packs and prices" if table == "packs" else entry.facts,
        columns=tuple(StockHeading(column.heading, column.unit) for column in columns),
        each=_each_head(entry) if table == "packs" else "",
        lines=tuple(stock_line(entry, table, row, names, told, notes) for row in _by_item(rows, names)),
        edited=", ".join(marks),
    )


def stock_line(
    entry: StockList,
    table: str,
    row: StockRow,
    names: Mapping[str, str],
    told: Told = _NOTHING,
    notes: Mapping[str, StockNote] = _NO_NOTES,
) -> StockLine:
    """One row; what was typed stays in it when it was refused."""
    mine = told.row == line_id(table, row.id)
    texts = (told.texts or {}) if mine else {}
    problems = {problem.field: problem.message for problem in told.problems} if mine else {}
    action = f"/stock/{entry.name}/{table}/{row.id}"
    name = row.name or names.get(row.item, row.item)
    columns = columns_of(entry, table)
    quantity = f", {_shown(columns[0], row.value('quantity').text)} {columns[0].unit}" if table == "packs" else ""
    cells = tuple(
        _cell(column, row.value(column.name), line_id(table, row.id), f"{name}{quantity}", texts, problems)
        for column in columns
    )
    known = {column.name for column in columns}
    rest = [message for field, message in problems.items() if field not in known]
    return StockLine(
        element_id=line_id(table, row.id),
        form_id=f"form-{line_id(table, row.id)}",
        action=action,
        name=name,
        cells=cells,
        each=_each(entry, row) if table == "packs" else "",
        each_head=_each_head(entry),
        source=row.source,
        remove=f"{action}/remove" if row.own else "",
        message=" ".join(rest) or (told.message if mine else ""),
        refused=bool(problems),
        note=_note(row, notes.get(row.id)),
    )


def _note(row: StockRow, note: StockNote | None) -> StockNote | None:
    """What the bench measured, unless the row's source says the very same."""
    return None if note is None or note.source == row.source else note


def add_pack_form(entry: StockList, names: Mapping[str, str], typed: Typed | None = None) -> AddPack:
    """The form that adds a pack."""
    fields = Fields(typed)
    unit = "m" if entry.by_length else "pieces"
    return AddPack(
        action=f"/stock/{entry.name}/packs",
        item=fields.choice("item", "item", "", names.items()),
        quantity=fields.text("quantity", "quantity", "", unit=unit),
        price=fields.text("price", "price", ""),
    )


def lost_values(lost: tuple[tuple[str, str, str, str], ...]) -> tuple[LostValue, ...]:
    """Values that wait for an item to come back."""
    return tuple(LostValue(f"{row_id}, {column.replace('_', ' ')}: {text}") for _, row_id, column, text in lost)


def _by_item(rows: tuple[StockRow, ...], names: Mapping[str, str]) -> list[StockRow]:
    order = {item: index for index, item in enumerate(names)}
    if not rows or rows[0].table != "packs":
        return list(rows)
    return sorted(rows, key=lambda row: (order.get(row.item, len(order)), int(row.value("quantity").text), row.id))


def _cell(
    column: Column,
    value: StockValue,
    line: str,
    name: str,
    texts: Mapping[str, str],
    problems: Mapping[str, str],
) -> StockCell:
    edited = value.own is not None
    stale = _shown(column, value.own or "") if not value.applies else ""
    label = f"{column.heading} of {name}"
    return StockCell(
        field=Field(
            name=column.name,
            id=field_id(f"{line}-{column.name}"),
            label=label,
            value=texts.get(column.name, _shown(column, value.text)),
            problem=problems.get(column.name, ""),
            unit=column.unit,
        ),
        head=f"{column.heading}, {column.unit}" if column.unit else column.heading,
        words=column.entry == "words",
        shipped=(_shown(column, value.shipped) or "nothing") if edited else "",
        shipped_word="at first" if line.startswith("packs-own") else "shipped",
        reset_form=f"reset-{line}-{column.name}" if edited else "",
        reset_name=f"Reset {label}",
        column=column.name,
        stale=stale,
    )


def _shown(column: Column, text: str) -> str:
    """A value as the page shows it: packs of length in metres."""
    if column.entry != "pack_length" or not text.isdigit():
        return text
    return formats.amount(Decimal(text) / 1000)


def _each_head(entry: StockList) -> str:
    return "price of a metre" if entry.by_length else "price of a piece"


def _each(entry: StockList, row: StockRow) -> str:
    """Price of one metre or piece, to four significant digits at most."""
    quantity = Decimal(row.value("quantity").text) / (1000 if entry.by_length else 1)
    each = Decimal(row.value("price").text) / quantity
    return f"{each:.3f}" if each >= Decimal("0.1") else f"{each:.4f}"
