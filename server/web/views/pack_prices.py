"""Prices of packs, which the builder may set for a build."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from server.domain.model.plan import BuyLine
from server.services.opened import Opened
from server.web.views import formats
from server.web.views.fields import Field, Fields


@dataclass(frozen=True, slots=True)
class PackPrice:
    """The price of one pack, which the builder may set."""

    name: str
    pack: str
    href: str
    price: Field
    usual: str
    own: bool


def plain_name(line: BuyLine, opened: Opened) -> str:
    """Name of an item without its colour."""
    colour = opened.catalogue.colours.get(line.colour)
    return line.name.removesuffix(f", {colour.name} {line.colour}") if colour else line.name


def pack_prices(opened: Opened, fields: Fields, currency: str) -> tuple[PackPrice, ...]:
    """The packs that this buy list could use, each with its price."""
    wanted = {(line.kind, line.item): plain_name(line, opened) for line in opened.plan.buys}
    overrides = opened.build.prices
    made = []
    for pack in opened.catalogue.packs:
        if (pack.kind, pack.item) not in wanted:
            continue
        current = _override(overrides.get(pack.id))
        made.append(
            PackPrice(
                wanted[pack.kind, pack.item],
                formats.quantity(pack.quantity, pack.unit) if pack.unit == "mm" else f"{pack.quantity} pieces",
                f"/builds/{opened.build_id}/prices/{pack.id}",
                fields.text(f"prices.{pack.id}", f"Own price, {currency}", current),
                formats.money(pack.price, currency),
                bool(current),
            )
        )
    return tuple(_unique(made))


def _unique(prices: Iterable[PackPrice]) -> Iterable[PackPrice]:
    """Each pack once."""
    return {price.href: price for price in prices}.values()


def _override(price: Decimal | None) -> str:
    """An own price as typed, or nothing."""
    return "" if price is None else formats.amount(price)
