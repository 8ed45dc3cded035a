"""From the text of the shelf's forms to entries of the ledger."""

import re
from collections.abc import Mapping
from decimal import Decimal
from typing import cast, get_args

from server.domain.model.bench import Material, Receive, Recount, Release, Reserve, ScrapStock
from server.domain.model.catalogue import Catalogue, ItemKind
from server.web.forms import Reader
from server.web.reading.lengths import length_mm

LOT_MOST_MM = 1_000_000
"""Longest roll that is taken for one. [mm]"""
PIECES_MOST = 1_000_000
EQUAL_LOTS_MOST = 200
PRICE_MOST = Decimal(1_000_000)
WORDS_MOST = 120
NO_COUNT = "Write a whole number of pieces."


def quantity_of(text: str, *, by_length: bool) -> int | str:
    """A length in whole mm, or a number of pieces; words where the text is neither.

    A length is rounded down: a remnant is never counted longer than it is.

    Args:
        text: Such as ``3.2 m``, ``12 in`` or ``612`` (mm); for pieces ``40``.
        by_length: Whether it is a length.
    """
    cleaned = " ".join(text.replace("\u00a0", " ").split())
    if by_length:
        found = length_mm(cleaned, most_mm=LOT_MOST_MM)
        return found if isinstance(found, str) else int(found)
    if re.match(r"[-−–]\s*\d", cleaned):
        return "A number of pieces cannot be negative."
    if not re.fullmatch(r"[0-9]{1,7}", cleaned) or int(cleaned) > PIECES_MOST:
        return NO_COUNT
    return int(cleaned)


def items_of(catalogue: Catalogue) -> dict[ItemKind, Mapping[str, object]]:
    """Everything that can lie on the shelf, by kind and id."""
    return {
        "wire": catalogue.wires,
        "sleeve": catalogue.sleeves,
        "shrink": catalogue.shrinks,
        "contact": catalogue.contacts,
        "housing": catalogue.housings,
        "comb": catalogue.combs,
        "cap": catalogue.caps,
    }


def colour_problem(material: Material, catalogue: Catalogue) -> str:
    """Why a material is not sold in its colour, in words; empty where it is."""
    if material.kind not in ("wire", "sleeve"):
        return "Only wire and sleeve have a colour: leave it empty." if material.colour else ""
    colour = catalogue.colours.get(material.colour)
    if colour is None:
        return "Pick its colour." if not material.colour else "Pick a colour of the list."
    sold = colour.sleeve
    if material.kind == "wire":
        sold = catalogue.wires[material.item].insulation in colour.insulations
    return "" if sold else f"None of this is listed in {colour.name}."


def received_of(read: Reader, catalogue: Catalogue, builds: Mapping[str, str]) -> tuple[Receive, ...]:
    """What comes onto the shelf: so many equal lots.

    Args:
        read: The form's reader.
        catalogue: For items and colours.
        builds: Names of builds by id.

    Raises:
        InvalidInputError: a value cannot be read; every such field is named.
    """
    material = _material(read, catalogue)
    quantity = _quantity(read, "quantity", by_length=material is None or material.by_length)
    equal = read.whole("count", 1, EQUAL_LOTS_MOST)
    price = read.number("price", PRICE_MOST) if read.word("price") else Decimal(0)
    origin = _words(read, "origin", "Say where it came from: bought, found, left over.")
    build = _build(read, "build", builds)
    read.done()
    return tuple(Receive(cast("Material", material), quantity, price, origin, build) for _ in range(equal))


def kept_of(read: Reader, lot: int, builds: Mapping[str, str], *, by_length: bool) -> Reserve:
    """A quantity of a lot that is kept for a build.

    Raises:
        InvalidInputError: a value cannot be read; every such field is named.
    """
    build = _build(read, "keep.build", builds)
    if not build and not read.word("keep.build"):
        read.problem("keep.build", "Pick the build that it is kept for.")
    quantity = _quantity(read, "keep.quantity", by_length=by_length)
    read.done()
    return Reserve(lot, build, quantity)


def released_of(read: Reader, lot: int, *, by_length: bool) -> Release:
    """A quantity that a build no longer keeps; the build may be deleted meanwhile.

    Raises:
        InvalidInputError: the quantity cannot be read.
    """
    build = read.word("build")
    quantity = _quantity(read, f"release.{build}", by_length=by_length)
    read.done()
    return Release(lot, build, quantity)


def adjusted_of(read: Reader, lot: int, *, by_length: bool) -> Recount:
    """What is really there of a lot, and why it differs.

    Raises:
        InvalidInputError: a value cannot be read; every such field is named.
    """
    quantity = _quantity(read, "adjust.quantity", by_length=by_length, zero=True)
    reason = _words(read, "adjust.reason", "Say why the count differs.")
    read.done()
    return Recount(lot, quantity, reason)


def scrapped_of(read: Reader, lot: int, *, by_length: bool) -> ScrapStock:
    """How much of a lot is thrown away, and why.

    Raises:
        InvalidInputError: a value cannot be read; every such field is named.
    """
    quantity = _quantity(read, "scrap.quantity", by_length=by_length)
    reason = _words(read, "scrap.reason", "Say why it is thrown away.")
    read.done()
    return ScrapStock(lot, quantity, reason)


def _material(read: Reader, catalogue: Catalogue) -> Material | None:
    kind, _, item = read.word("material").partition("/")
    if kind not in get_args(ItemKind) or item not in items_of(catalogue)[cast("ItemKind", kind)]:
        read.problem("material", "Pick what it is." if not kind else "Pick one of the list.")
        return None
    material = Material(cast("ItemKind", kind), item, read.word("colour"))
    if wrong := colour_problem(material, catalogue):
        read.problem("colour", wrong)
    return material


def _quantity(read: Reader, name: str, *, by_length: bool, zero: bool = False) -> int:
    text = read.word(name)
    if not text:
        read.problem(name, "Write a length such as 3.2 m or 12 in." if by_length else NO_COUNT)
        return 0
    found = quantity_of(text, by_length=by_length)
    if isinstance(found, str):
        read.problem(name, found)
        return 0
    if not found and not zero:
        read.problem(name, "It must be more than zero.")
    return found


def _words(read: Reader, name: str, missing: str) -> str:
    text = read.word(name)
    if not text:
        read.problem(name, missing)
    elif len(text) > WORDS_MOST:
        read.problem(name, f"{len(text)} characters; at most {WORDS_MOST}.")
    return text


def _build(read: Reader, name: str, builds: Mapping[str, str]) -> str:
    build = read.word(name)
    if build and build not in builds:
        read.problem(name, "Pick a build of the list.")
    return build
