"""What is cut, bought, taken and kept, as sheets of typed cells for files."""

from collections.abc import Iterable, Mapping
from decimal import Decimal

from server.documents.tables import Cell, Column, Sheet
from server.domain.model.bench import Lot
from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import BuyLine, RollLayout, RollSheet
from server.services.opened import Opened
from server.services.run_materials import materials_by_run
from server.web.reading.stocktaking import (
    COLOUR,
    COUNTED_MM,
    COUNTED_PIECES,
    ENTRY,
    ITEM,
    LEFT_MM,
    LEFT_PIECES,
    LOT,
    REASON,
)
from server.web.views import formats
from server.web.views.export_cells import AMOUNT, WHOLE, colour_words, money
from server.web.views.pieces import run_title
from server.web.views.shelf import kept_words, material_name, origin_words, value_of


def buy_sheet(opened: Opened, suppliers: Mapping[tuple[str, str], str]) -> Sheet:
    """The buy list; lengths and pieces have columns of their own, so that each adds up.

    Args:
        opened: The build as it stands.
        suppliers: The builder's own words by kind and item.
    """
    currency = opened.build.rates.currency
    counted = ("needed", "of it reserve", "in the cables already", "from the shelf", "to buy", "packs hold")
    columns = (
        Column("supplier"),
        Column("kind"),
        Column("item"),
        Column("colour"),
        *(Column(f"{name}, mm", WHOLE) for name in counted),
        *(Column(f"{name}, pieces", WHOLE) for name in counted),
        Column("packs"),
        money("price", currency),
    )
    lines = sorted(opened.plan.buys, key=lambda line: suppliers.get((line.kind, line.item), "\uffff").casefold())
    return Sheet("Buy list", columns, tuple(_buy_row(line, opened, suppliers) for line in lines))


def _buy_row(line: BuyLine, opened: Opened, suppliers: Mapping[tuple[str, str], str]) -> tuple[Cell, ...]:
    catalogue = opened.catalogue
    counted: tuple[Cell, ...] = (line.needed, line.spare, line.used, line.on_shelf, line.to_buy, line.packed)
    nothing: tuple[Cell, ...] = (None,) * len(counted)
    lengths, pieces = (counted, nothing) if line.unit == "mm" else (nothing, counted)
    return (
        suppliers.get((line.kind, line.item), ""),
        formats.ITEMS[line.kind],
        line.name,
        colour_words(line.colour, catalogue),
        *lengths,
        *pieces,
        packs_words(line, catalogue),
        line.price,
    )


def packs_words(line: BuyLine, catalogue: Catalogue) -> str:
    """The packs of a line: ``2 × 25 m + 1 × 5 m``."""
    packs = {pack.id: pack for pack in catalogue.packs}
    return " + ".join(f"{times} × {pack_words(packs[pack].quantity, packs[pack].unit)}" for pack, times in line.packs)


def pack_words(quantity: int, unit: str) -> str:
    """What one pack holds: ``25 m`` or ``100 pieces``."""
    return f"{formats.number(quantity / 1000, 3)} m" if unit == "mm" else formats.count(quantity, "piece")


def tools_sheet(opened: Opened) -> Sheet:
    """Tools needed for a build."""
    return Sheet("Tools", (Column("tool"),), tuple((tool,) for tool in opened.plan.tools))


def cut_sheet(opened: Opened) -> Sheet:
    """The cut list, longest first in each gauge and colour."""
    columns = (
        Column("gauge, AWG", WHOLE),
        Column("insulation"),
        Column("colour"),
        Column("cut, mm", WHOLE),
        Column("pieces", WHOLE),
        Column("labels"),
    )
    rows = tuple(
        (
            group.awg,
            formats.INSULATIONS[group.insulation],
            colour_words(group.colour, opened.catalogue),
            line.cut_mm,
            line.count,
            formats.listed(line.labels),
        )
        for group in opened.plan.cuts
        for line in group.lines
    )
    return Sheet("Cut list", columns, rows)


def roll_sheet(opened: Opened) -> Sheet:
    """The roll plan: every piece in cutting order, with the roll or remnant that it comes from."""
    currency = opened.build.rates.currency
    columns = (
        Column("material"),
        Column("from"),
        Column("length of it, mm", WHOLE),
        money("price of it", currency),
        Column("place", WHOLE),
        Column("label"),
        Column("piece, mm", WHOLE),
        Column("ready"),
        Column("left over, mm", WHOLE),
    )
    rows = tuple(row for sheet in opened.plan.rolls for row in _roll_rows(sheet))
    return Sheet("Roll plan", columns, rows)


def _roll_rows(sheet: RollSheet) -> Iterable[tuple[Cell, ...]]:
    bought = 0
    for layout in sheet.layouts:
        bought += layout.source == "roll"
        where = _source(layout, bought)
        for place, piece in enumerate(layout.pieces, start=1):
            first = place == 1
            yield (
                sheet.name,
                where,
                layout.stock_mm if first else None,
                layout.price if first else None,
                place,
                piece.label,
                piece.length_mm,
                "cut" if piece.ready else "kept free: not measured yet",
                layout.left_mm if place == len(layout.pieces) else None,
            )


def _source(layout: RollLayout, bought: int) -> str:
    if layout.source == "roll":
        return f"roll {bought} to buy"
    return f"lot {layout.lot}" if layout.source == "lot" else f"piece {layout.lot}"


def shelf_sheet(lots: Iterable[Lot], catalogue: Catalogue, builds: Mapping[str, str], entries: int) -> Sheet:
    """The shelf; its columns “counted” are empty, to be filled in and brought back for stock-taking.

    Args:
        lots: The lots, in the order of the list.
        catalogue: For names and colours.
        builds: Names of builds by id.
        entries: Number of the ledger's last entry, so that a list that comes back tells how old it is.
    """
    columns = (
        Column(LOT, WHOLE),
        Column("kind"),
        Column(ITEM),
        Column(COLOUR),
        Column("colour name"),
        Column(LEFT_MM, WHOLE, locked=True),
        Column(LEFT_PIECES, WHOLE, locked=True),
        Column(COUNTED_MM, WHOLE),
        Column(COUNTED_PIECES, WHOLE),
        Column(REASON),
        Column("kept for"),
        Column("came from"),
        Column("value", AMOUNT),
        Column(ENTRY, WHOLE, locked=True),
    )
    return Sheet("Shelf", columns, tuple((*_shelf_row(lot, catalogue, builds), entries) for lot in lots))


def _shelf_row(lot: Lot, catalogue: Catalogue, builds: Mapping[str, str]) -> tuple[Cell, ...]:
    material = lot.material
    colour = catalogue.colours.get(material.colour)
    value: Decimal = value_of(lot)
    return (
        lot.id,
        formats.ITEMS[material.kind],
        material_name(material, catalogue),
        material.colour,
        colour.name if colour else "",
        lot.left if material.by_length else None,
        None if material.by_length else lot.left,
        None,
        None,
        None,
        "; ".join(kept_words(lot, builds)),
        origin_words(lot, builds),
        value,
    )


def materials_sheet(opened: Opened) -> Sheet:
    """Materials run by run, without reserve: lengths and pieces have columns of their own, so that each adds up."""
    columns = (
        Column("run", WHOLE),
        Column("run name"),
        Column("kind"),
        Column("item"),
        Column("colour"),
        Column("pieces", WHOLE),
        Column("together, mm", WHOLE),
    )
    names = {run.number: run_title(run) for run in opened.plan.runs}
    rows = tuple(
        (
            held.run,
            names[held.run],
            formats.ITEMS[held.material.kind],
            material_name(held.material, opened.catalogue),
            colour_words(held.material.colour, opened.catalogue),
            held.count,
            held.length_mm or None,
        )
        for held in materials_by_run(opened)
    )
    return Sheet("Materials by run", columns, rows)
