"""The lists of the stock page: which values each shows, their headings and their units."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, get_args

from server.domain.errors import NotFoundError
from server.domain.model.catalogue import ItemKind

ListName = Literal["wire", "sleeve", "shrink", "contact", "crimp", "housing", "comb", "cap", "labour"]
Entry = Literal["number", "length", "pack_length", "words"]


@dataclass(frozen=True, slots=True)
class Column:
    """One value: its name in the catalogue, how it is headed, its unit on the page and how it is typed."""

    name: str
    heading: str
    unit: str
    entry: Entry = "number"


@dataclass(frozen=True, slots=True)
class StockList:
    """One list of the page: a table of facts, packs of one kind, or both."""

    name: ListName
    title: str
    table: str
    """Catalogue table of the facts; empty for none."""
    kind: ItemKind | None
    """Kind of the packs; ``None`` for no packs."""
    by_length: bool
    """True when packs hold a length rather than pieces."""
    about: str
    columns: tuple[Column, ...] = ()
    facts: str = "Measures"
    """Heading of the table of facts."""
    counted: str = "operation"
    """What a row of facts is called where the list has no packs."""


PACK_PRICE = Column("price", "price", "")
PACK_PIECES = Column("quantity", "quantity", "pieces")
PACK_LENGTH = Column("quantity", "quantity", "m", "pack_length")

LISTS: Mapping[ListName, StockList] = {
    entry.name: entry
    for entry in (
        StockList(
            "wire",
            "Wire",
            "wires",
            "wire",
            True,
            "Measure the outside diameter over the insulation: contacts and sleeve are checked against it.",
            (
                Column("conductor_mm2", "copper", "mm²"),
                Column("outside_mm", "outside", "mm", "length"),
                Column("ohm_per_km", "resistance at 20 °C", "Ω/km"),
            ),
        ),
        StockList(
            "sleeve",
            "Sleeve",
            "sleeves",
            "sleeve",
            True,
            "Measure the braid relaxed, neither pushed nor pulled: its cut length follows from diameter and angle.",
            (
                Column("relaxed_mm", "relaxed", "mm", "length"),
                Column("braid_angle_deg", "braid angle", "°"),
                Column("least_mm", "fits from", "mm", "length"),
                Column("greatest_mm", "fits to", "mm", "length"),
                Column("wall_mm", "wall", "mm", "length"),
            ),
        ),
        StockList(
            "shrink",
            "Heat-shrink",
            "shrinks",
            "shrink",
            True,
            "Bores as supplied and fully recovered, and the piece that one end shows after shrinking.",
            (
                Column("supplied_mm", "supplied bore", "mm", "length"),
                Column("recovered_mm", "recovered bore", "mm", "length"),
                Column("wall_mm", "recovered wall", "mm", "length"),
                Column("shortening_percent", "shortens by", "%"),
                Column("piece_mm", "piece", "mm", "length"),
            ),
        ),
        StockList(
            "contact",
            "Contacts",
            "contacts",
            "contact",
            False,
            "A wire outside a contact's range of gauge or insulation gets a finding.",
            (
                Column("awg_thickest", "thickest wire", "AWG"),
                Column("awg_thinnest", "thinnest wire", "AWG"),
                Column("insulation_min_mm", "insulation from", "mm", "length"),
                Column("insulation_max_mm", "insulation to", "mm", "length"),
                Column("wires_max", "most wires", ""),
            ),
        ),
        StockList(
            "crimp",
            "Crimps",
            "crimps",
            None,
            False,
            "Strip length and die for each gauge that a contact takes. Wire for displacement plugs is not stripped.",
            (Column("strip_mm", "strip", "mm", "length"), Column("die", "die and nest", "", "words")),
            facts="Strip lengths and dies",
            counted="crimp",
        ),
        StockList("housing", "Housings", "", "housing", False, "Packs of housings and their prices."),
        StockList(
            "comb",
            "Combs",
            "combs",
            "comb",
            False,
            "Ways, and how they stand in rows and columns.",
            (Column("ways", "ways", ""), Column("rows", "rows", ""), Column("columns", "columns", "")),
        ),
        StockList("cap", "Caps", "", "cap", False, "Packs of caps for insulation displacement and their prices."),
        StockList(
            "labour",
            "Labour",
            "labour",
            None,
            False,
            "Minutes for one operation. Time your own bench over ten pieces and divide.",
            (Column("minutes", "minutes", ""),),
            facts="Operations",
        ),
    )
}


def list_named(name: str) -> StockList:
    """The list of this name.

    Raises:
        NotFoundError: there is none.
    """
    for entry in LISTS.values():
        if entry.name == name:
            return entry
    raise NotFoundError(f'There is no stock list "{name[:80]}"; there are {", ".join(get_args(ListName))}.')


def pack_columns(entry: StockList) -> tuple[Column, ...]:
    """Columns of the list's packs."""
    return (PACK_LENGTH if entry.by_length else PACK_PIECES, PACK_PRICE)


def columns_of(entry: StockList, table: str) -> tuple[Column, ...]:
    """Columns of the list's facts or of its packs.

    Raises:
        NotFoundError: the list has no such table.
    """
    if table == "packs" and entry.kind is not None:
        return pack_columns(entry)
    if table == "facts" and entry.table:
        return entry.columns
    raise NotFoundError(f'The list "{entry.title}" has no table "{table[:80]}".')
