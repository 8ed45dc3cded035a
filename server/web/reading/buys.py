"""Ticking a line of the buy list, and naming suppliers, from forms."""

from decimal import Decimal
from typing import cast, get_args

from server.domain.errors import InvalidInputError, Problem
from server.domain.model.catalogue import ItemKind
from server.web.forms import Reader

PACKS_MOST = 500
PRICE_MOST = Decimal(1_000_000)
LineKey = tuple[ItemKind, str, str]


def line_of(read: Reader) -> LineKey:
    """Kind, item and colour of the line that is ticked.

    Raises:
        InvalidInputError: the form names none.
    """
    return _key_of(read.word("line"))


def lines_of(read: Reader) -> tuple[LineKey, ...]:
    """Kind, item and colour of each line that is ticked with others.

    Raises:
        InvalidInputError: the form names none, or one that cannot be.
    """
    return tuple(map(_key_of, read.chosen("lines") or ("",)))


def _key_of(text: str) -> LineKey:
    kind, _, rest = text.partition("/")
    item, _, colour = rest.partition("/")
    if kind not in get_args(ItemKind) or not item:
        raise InvalidInputError((Problem("", "This form names no line of the list: load the page again."),))
    return cast("ItemKind", kind), item, colour


def bought_of(read: Reader) -> tuple[dict[str, int], dict[str, Decimal]]:
    """How many of each pack were bought, and what one of each cost.

    Args:
        read: The form's reader.

    Raises:
        InvalidInputError: a number cannot be read, or nothing was bought; every such field is named.
    """
    counts, prices = f"packs.{read.word('line')}.", f"price.{read.word('line')}."
    names = list(read.typed.values)
    packs = {
        name.removeprefix(counts): read.whole(name, 0, PACKS_MOST) if read.word(name) else 0
        for name in names
        if name.startswith(counts)
    }
    paid = {
        name.removeprefix(prices): read.number(name, PRICE_MOST)
        for name in names
        if name.startswith(prices) and packs.get(name.removeprefix(prices))
    }
    read.done()
    if packs and not any(packs.values()):
        read.problem(f"{counts}{next(iter(packs))}", "Say how many were bought.")
    read.done()
    return packs, paid


def suppliers_of(read: Reader) -> dict[tuple[ItemKind, str], str]:
    """Suppliers by kind and item, as typed; an empty field takes a name away."""
    found: dict[tuple[ItemKind, str], str] = {}
    for name in read.typed.values:
        word, _, rest = name.partition(".")
        kind, _, item = rest.partition(".")
        if word == "supplier" and kind in get_args(ItemKind) and item:
            found[cast("ItemKind", kind), item[:80]] = read.word(name)
    return found
