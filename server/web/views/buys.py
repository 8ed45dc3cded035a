"""The buy list: what is needed, there and still to buy, and the prices and suppliers behind it."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from server.domain.model.bench import Lot, Material, Reserve
from server.domain.model.catalogue import Pack
from server.domain.model.plan import BuyLine
from server.services.opened import Opened
from server.web.views import formats
from server.web.views.bought import Bought, JustBought, Shop, bought_ticks, just_bought, material_key
from server.web.views.export_stock import pack_words, packs_words
from server.web.views.fields import Field, Fields
from server.web.views.pack_prices import PackPrice, pack_prices, plain_name
from server.web.views.pieces import Swatch, swatch
from server.web.views.shelf import quantity

NO_SUPPLIER = "no supplier named"


@dataclass(frozen=True, slots=True)
class PackTick:
    """One pack in the form that ticks a line as bought."""

    name: str
    count: Field
    price: Field


@dataclass(frozen=True, slots=True)
class Tick:
    """The form that ticks a line as bought."""

    line: str
    what: str
    packs: tuple[PackTick, ...]
    open: bool
    """Whether it shows its numbers, because something in them was refused."""


@dataclass(frozen=True, slots=True)
class BuyRow:
    """One item in whole packs."""

    name: str
    colour: Swatch | None
    needed: str
    spare: str
    used: str
    on_shelf: str
    kept: str
    """What lies on the shelf but is kept for other builds; empty for nothing."""
    loose: str
    """How much of what comes from the shelf is not kept for this build; empty for nothing."""
    line: str
    """Its name in a form."""
    to_buy: str
    """Empty where all of it is there."""
    packs: str
    price: str
    tick: Tick | None
    """``None`` where nothing is left to buy, or no pack is known."""


@dataclass(frozen=True, slots=True)
class BuyGroup:
    """Items of one kind, from one supplier where suppliers are named."""

    name: str
    rows: tuple[BuyRow, ...]
    lines: tuple[str, ...]
    """Names in a form of what can be ticked at once; empty where that is one line or none."""


@dataclass(frozen=True, slots=True)
class BuysPanel:
    """The buy list."""

    base: int
    ledger: int
    """Number of the ledger's last entry, which the forms were made from."""
    build_href: str
    groups: tuple[BuyGroup, ...]
    committed: str
    spent: str
    missing: str
    lines: tuple[str, ...]
    """Names in a form of everything that is still to buy; empty where that is one line or none."""
    bought: tuple[Bought, ...]
    just_bought: JustBought | None
    tools: tuple[str, ...]
    prices: tuple[PackPrice, ...]
    suppliers: tuple[Field, ...]


def buys_panel(opened: Opened, base: int, fields: Fields, shop: Shop) -> BuysPanel:
    """The view of the buy list.

    Args:
        opened: The build as it stands.
        base: Revision that the price forms change.
        fields: Makes the fields with what was typed last.
        shop: Shelf, names and suppliers.
    """
    currency, groups = opened.build.rates.currency, _groups(opened, fields, shop)
    bought, ticked = bought_ticks(opened, shop), [row.line for group in groups for row in group.rows if row.tick]
    committed = sum((line.price for line in opened.plan.buys if line.price is not None), Decimal(0))
    missing = [line.name for line in opened.plan.buys if line.price is None]
    return BuysPanel(
        base=base,
        ledger=opened.ledger,
        build_href=f"/builds/{opened.build_id}",
        groups=groups,
        committed=formats.money(committed, currency),
        spent=formats.money(opened.plan.spent, currency) if opened.plan.spent else "",
        missing=formats.listed(missing),
        lines=together(ticked),
        bought=bought,
        just_bought=just_bought(bought, fields.sent.first("bought"), currency),
        tools=opened.plan.tools,
        prices=pack_prices(opened, fields, currency),
        suppliers=_suppliers(opened, fields, shop),
    )


def line_key(line: BuyLine) -> str:
    """A line's name in a form: ``wire/awg18-plain/BK``."""
    return f"{line.kind}/{line.item}/{line.colour}"


def keeping(line: BuyLine, opened: Opened) -> tuple[Reserve, ...]:
    """What would have to be written so that all that a line takes from the shelf is kept for the build.

    Args:
        line: A line of the buy list.
        opened: The build as it stands.
    """
    material, build = Material(line.kind, line.item, line.colour), opened.build_id
    lots = [lot for lot in opened.on_hand.lots if lot.material == material]
    if material.by_length:
        sheets = (
            sheet for sheet in opened.plan.rolls if (sheet.kind, sheet.item, sheet.colour) == material_key(material)
        )
        layouts = (layout for sheet in sheets for layout in sheet.layouts if layout.source == "lot")
        takes = {layout.lot: layout.stock_mm - layout.left_mm for layout in layouts}
    else:
        takes = _taken_of(line.on_shelf, lots, build)
    short = {lot.id: takes.get(lot.id, 0) - lot.reserved.get(build, 0) for lot in lots}
    return tuple(Reserve(lot, build, amount) for lot, amount in short.items() if amount > 0)


def _taken_of(wanted: int, lots: list[Lot], build: str) -> dict[int, int]:
    """Counted things from their lots: first what is kept for the build, then what is free, oldest first."""
    takes = {lot.id: 0 for lot in lots}
    for most in ({lot.id: lot.reserved.get(build, 0) for lot in lots}, {lot.id: lot.free_for(build) for lot in lots}):
        for lot, amount in most.items():
            more = max(0, min(amount - takes[lot], wanted))
            takes[lot] += more
            wanted -= more
    return takes


def packs_of(line: BuyLine, opened: Opened) -> list[Pack]:
    """The packs that a line can be bought in, the largest first."""
    sold = [pack for pack in opened.catalogue.packs if (pack.kind, pack.item) == (line.kind, line.item)]
    return sorted(sold, key=lambda pack: (-pack.quantity, pack.id))


def _groups(opened: Opened, fields: Fields, shop: Shop) -> tuple[BuyGroup, ...]:
    """Lines by kind; where the builder named suppliers, by supplier first and the rest behind them."""
    named = {(line.kind, line.item): shop.suppliers.get((line.kind, line.item), "") for line in opened.plan.buys}
    lines = list(opened.plan.buys)
    if any(named.values()):
        lines.sort(key=lambda line: (not named[line.kind, line.item], named[line.kind, line.item].casefold()))
    groups: dict[str, list[BuyRow]] = {}
    for line in lines:
        supplier = named[line.kind, line.item]
        name = formats.ITEMS[line.kind]
        if any(named.values()):
            name = f"{supplier or NO_SUPPLIER}: {name}"
        groups.setdefault(name, []).append(_row(line, opened, fields, shop))
    return tuple(
        BuyGroup(name, tuple(rows), together([row.line for row in rows if row.tick])) for name, rows in groups.items()
    )


def together(lines: Sequence[str]) -> tuple[str, ...]:
    """Lines that one press ticks; none where there are not several."""
    return tuple(lines) if len(lines) > 1 else ()


def _row(line: BuyLine, opened: Opened, fields: Fields, shop: Shop) -> BuyRow:
    material = Material(line.kind, line.item, line.colour)

    loose = sum(entry.quantity for entry in keeping(line, opened))

    def shown(amount: int) -> str:
        return _amount(amount, line) if amount else "–"

    return BuyRow(
        plain_name(line, opened),
        swatch(opened.catalogue, line.colour) if line.colour else None,
        _amount(line.needed, line),
        _amount(line.spare, line) if line.spare else "",
        shown(line.used),
        shown(line.on_shelf),
        _kept(material, opened.build_id, shop) if line.to_buy else "",
        _amount(loose, line) if loose else "",
        line_key(line),
        _amount(line.to_buy, line) if line.to_buy else "",
        packs_words(line, opened.catalogue) or ("no pack known" if line.to_buy else "–"),
        _price(line, opened.build.rates.currency),
        _tick(line, opened, fields),
    )


def _amount(amount: int, line: BuyLine) -> str:
    """So many pieces, or a length: metres, and millimetres where it is less than one metre."""
    short = line.unit == "mm" and amount < 1000
    return f"{amount} mm" if short else formats.quantity(amount, line.unit)


def _price(line: BuyLine, currency: str) -> str:
    if line.price is None:
        return "no price"
    return formats.money(line.price, currency) if line.packs else "–"


def _kept(material: Material, build: str, shop: Shop) -> str:
    """What lies on the shelf and is kept for other builds: the second that wants the last metre is told."""
    kept: dict[str, int] = {}
    for lot in shop.bench.lots.values():
        if lot.material == material:
            for other, amount in lot.reserved.items():
                if other != build:
                    kept[other] = kept.get(other, 0) + amount
    return formats.listed(
        f"{quantity(material, amount)} more kept for {shop.builds.get(other, 'another build')}"
        for other, amount in kept.items()
    )


def _tick(line: BuyLine, opened: Opened, fields: Fields) -> Tick | None:
    packs, planned = packs_of(line, opened), dict(line.packs)
    if not line.to_buy or not packs:
        return None
    key, currency = line_key(line), opened.build.rates.currency
    ticks = []
    for pack in packs:
        price = opened.build.prices.get(pack.id, pack.price)
        held = pack_words(pack.quantity, pack.unit)
        about = f"{line.name}, {held}:"
        ticks.append(
            PackTick(
                held,
                fields.text(f"packs.{key}.{pack.id}", "packs", str(planned.get(pack.id, 0)), about=about),
                fields.text(f"price.{key}.{pack.id}", f"each, {currency}", formats.amount(price), about=about),
            )
        )
    refused = any(tick.count.problem or tick.price.problem for tick in ticks)
    return Tick(key, line.name, tuple(ticks), refused)


def _suppliers(opened: Opened, fields: Fields, shop: Shop) -> tuple[Field, ...]:
    """A field for each item of the list, whatever its colours."""
    items = {(line.kind, line.item): line for line in opened.plan.buys}
    return tuple(
        fields.text(f"supplier.{kind}.{item}", plain_name(line, opened), shop.suppliers.get((kind, item), ""))
        for (kind, item), line in items.items()
    )
