"""What was bought for a build, tick by tick, each with its way back."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from server.domain.model.bench import Bench, Lot, Material
from server.domain.model.catalogue import ItemKind
from server.services.opened import Opened
from server.web.views import formats
from server.web.views.shelf import quantity


@dataclass(frozen=True, slots=True)
class Bought:
    """What one tick put on the shelf of one item, and its way back."""

    text: str
    price: str
    paid: Fraction
    when: str
    iso: str
    entry: str
    """Numbers of its entries, first and last: ``12-14``."""
    noun: str
    lots: tuple[tuple[int, str], ...]
    """Number and address of each lot."""


@dataclass(frozen=True, slots=True)
class JustBought:
    """What the last press put on the shelf, of one line or of several."""

    text: str
    price: str
    entry: str


@dataclass(frozen=True, slots=True)
class Shop:
    """What a buy list shows beside the plan."""

    bench: Bench
    moments: Mapping[int, str]
    """When each entry of the ledger was written. [ISO 8601]"""
    builds: Mapping[str, str]
    """Names of builds by id."""
    suppliers: Mapping[tuple[str, str], str]
    """The builder's own words by kind and item."""


def bought_ticks(opened: Opened, shop: Shop) -> tuple[Bought, ...]:
    """What was bought for a build, item by item of each tick, newest first.

    Args:
        opened: The build as it stands.
        shop: The shelf with the moments of its entries.
    """
    ticks: list[list[Lot]] = []
    for lot in sorted(shop.bench.lots.values(), key=lambda lot: lot.id):
        if lot.build != opened.build_id or lot.cut_from:
            continue
        last = ticks[-1][-1] if ticks else None
        same = last is not None and (last.id + 1, last.material) == (lot.id, lot.material)
        if last is not None and same and shop.moments.get(last.id) == shop.moments.get(lot.id):
            ticks[-1].append(lot)
        else:
            ticks.append([lot])
    return tuple(_one_tick(lots, opened, shop) for lots in reversed(ticks))


def just_bought(bought: Sequence[Bought], span: str, currency: str) -> JustBought | None:
    """What the entries of one press put on the shelf; ``None`` where they put nothing there.

    Args:
        bought: What was bought, item by item.
        span: Numbers of the first and the last entry: ``12-40``.
        currency: The build's.
    """
    first, _, last = span.partition("-")
    if not (first.isdecimal() and last.isdecimal()):
        return None
    ticks = [tick for tick in reversed(bought) if int(first) <= tick.lots[0][0] and tick.lots[-1][0] <= int(last)]
    if not ticks:
        return None
    text = ticks[0].text if len(ticks) == 1 else f"{len(ticks)} lines of the list"
    return JustBought(text, _money(sum((tick.paid for tick in ticks), Fraction(0)), currency), span)


def material_key(material: Material) -> tuple[ItemKind, str, str]:
    """Kind, item and colour, as a line of the buy list has them."""
    return material.kind, material.item, material.colour


def _one_tick(lots: list[Lot], opened: Opened, shop: Shop) -> Bought:
    counts: dict[int, int] = {}
    for lot in lots:
        counts[lot.received] = counts.get(lot.received, 0) + 1
    material = lots[0].material
    packs = " + ".join(f"{times} × {quantity(material, amount)}" for amount, times in counts.items())
    name = next(
        (line.name for line in opened.plan.buys if (line.kind, line.item, line.colour) == material_key(material)),
        f"{material.item} {material.colour}".strip(),
    )
    paid = sum((lot.unit_price * lot.received for lot in lots), Fraction(0))
    at = shop.moments.get(lots[0].id, opened.saved_at)
    return Bought(
        f"{packs} of {name}",
        _money(paid, opened.build.rates.currency),
        paid,
        formats.clock(at),
        at,
        f"{lots[0].id}-{lots[-1].id}",
        "lot" if len(lots) == 1 else "lots",
        tuple((lot.id, f"/shelf/{lot.id}") for lot in lots),
    )


def _money(amount: Fraction, currency: str) -> str:
    return formats.money(Decimal(amount.numerator) / Decimal(amount.denominator), currency)
