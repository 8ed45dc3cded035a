"""The shelf: lots and remnants of every material across builds, and what is done with them."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from server.domain.model.bench import Bench, Lot, Material
from server.domain.model.build import Allowances
from server.domain.model.catalogue import Catalogue, ItemKind
from server.web.forms import Typed
from server.web.reading.shelf import items_of
from server.web.views import formats
from server.web.views.fields import Field, Fields, Trouble
from server.web.views.pieces import Swatch, swatch

LEAST_MM = Allowances().remnant_least_mm
"""Below this a leftover is marked; a build may set its own. [mm]"""
KIND_ORDER = tuple(formats.ITEMS)
DELETED = "another build"


@dataclass(frozen=True, slots=True)
class ShelfTab:
    """The address of one material."""

    href: str
    name: str
    line: str
    current: bool


@dataclass(frozen=True, slots=True)
class LotLink:
    """The address of one lot."""

    number: int
    href: str


@dataclass(frozen=True, slots=True)
class LotRow:
    """Lots that are alike: same length or number, same origin, kept for the same builds."""

    count: int
    left: str
    lots: tuple[LotLink, ...]
    origin: str
    kept: tuple[str, ...]
    value: str
    short: bool
    """Whether it is shorter than what is worth keeping."""


@dataclass(frozen=True, slots=True)
class LotGroup:
    """Everything of one material and colour."""

    name: str
    colour: Swatch | None
    line: str
    rows: tuple[LotRow, ...]


@dataclass(frozen=True, slots=True)
class ReceiveForm:
    """What comes onto the shelf by hand."""

    open: bool
    item: Field
    colour: Field
    quantity: Field
    count: Field
    price: Field
    origin: Field
    build: Field


@dataclass(frozen=True, slots=True)
class Taken:
    """Entries that were written this moment, and the way back."""

    text: str
    entries: str
    """Their numbers, joined by commas; empty when there is no way back."""


@dataclass(frozen=True, slots=True)
class ShelfPage:
    """The shelf, or one material of it."""

    title: str
    tabs: tuple[ShelfTab, ...]
    groups: tuple[LotGroup, ...]
    base: int
    """Number of the ledger's last entry, which the form was made from."""
    total: str
    value: str
    least: str
    receive: ReceiveForm
    count_href: str
    exports: str
    """What stands behind the address of an export to keep to this material."""
    chosen: str
    """The material that is looked at; empty for all."""
    keepers: tuple[tuple[str, str, str], ...]
    """Builds that something is kept for: id, name and how many lots."""
    taken: Taken | None
    troubles: tuple[Trouble, ...]
    message: str


def quantity(material: Material, amount: int) -> str:
    """A length of a material as ``612 mm`` or ``3.25 m``, or a number of pieces."""
    if not material.by_length:
        return formats.count(amount, "piece")
    return f"{amount} mm" if amount < 1000 else f"{formats.number(amount / 1000, 3)} m"


def unit_of(material: Material) -> str:
    """Unit of a field that takes a quantity of a material."""
    return "mm" if material.by_length else "pieces"


def value_of(lot: Lot) -> Decimal:
    """What is left of a lot at its own price, exact to a hundredth."""
    exact = lot.unit_price * lot.left
    return (Decimal(exact.numerator) / Decimal(exact.denominator)).quantize(Decimal("0.01"))


def material_name(material: Material, catalogue: Catalogue) -> str:
    """Name of a material without its colour; its id where the catalogue has lost it."""
    found = items_of(catalogue)[material.kind].get(material.item)
    return str(getattr(found, "name", material.item))


def kept_words(lot: Lot, builds: Mapping[str, str]) -> tuple[str, ...]:
    """What is kept of a lot, and for which builds."""
    return tuple(
        f"{quantity(lot.material, amount)} for {builds.get(build, DELETED)}" for build, amount in lot.reserved.items()
    )


def in_order(lots: Mapping[int, Lot]) -> list[Lot]:
    """Lots that hold something, by material and colour, the longest first."""
    there = [lot for lot in lots.values() if lot.left]
    place = {kind: number for number, kind in enumerate(KIND_ORDER)}
    return sorted(
        there, key=lambda lot: (place[lot.material.kind], lot.material.item, lot.material.colour, -lot.left, lot.id)
    )


def chosen_lots(bench: Bench, chosen: str) -> list[Lot]:
    """Lots of one material, ``wire/awg18-plain``, or of all where none is chosen."""
    return [lot for lot in in_order(bench.lots) if not chosen or _key(lot.material) == chosen]


def shelf_page(
    bench: Bench,
    catalogue: Catalogue,
    builds: Mapping[str, str],
    living: Mapping[str, str],
    *,
    chosen: str = "",
    typed: Typed | None = None,
    taken: Taken | None = None,
) -> ShelfPage:
    """The view of the shelf.

    Args:
        bench: The shelf as it stands.
        catalogue: For names and colours.
        builds: Names of builds by id, those put away included.
        living: The builds that something can be bought for, the newest first.
        chosen: The material that is looked at; empty for all.
        typed: A form that was refused.
        taken: Entries written this moment.
    """
    fields = Fields(typed)
    lots = chosen_lots(bench, chosen)
    receive = _receive(fields, catalogue, living, chosen)
    value = sum((value_of(lot) for lot in lots), Decimal(0))
    query = f"?material={chosen}" if chosen else ""
    names = {_key(lot.material): material_name(lot.material, catalogue) for lot in bench.lots.values()}
    return ShelfPage(
        title=names.get(chosen, "Everything"),
        tabs=_tabs(bench, names, chosen),
        groups=tuple(_groups(lots, catalogue, builds)),
        base=bench.entries,
        total=formats.count(len(lots), "lot"),
        value=f"{value:.2f}",
        least=f"{LEAST_MM} mm",
        receive=receive,
        count_href=f"/shelf/count{query}",
        exports=query,
        chosen=chosen,
        keepers=_keepers(bench, builds),
        taken=taken,
        troubles=fields.troubles(),
        message=taken.text if taken else "",
    )


def _keepers(bench: Bench, builds: Mapping[str, str]) -> tuple[tuple[str, str, str], ...]:
    lots = Counter(build for lot in bench.lots.values() for build in lot.reserved)
    return tuple((build, builds.get(build, DELETED), formats.count(number, "lot")) for build, number in lots.items())


def _key(material: Material) -> str:
    return f"{material.kind}/{material.item}"


def _tabs(bench: Bench, names: Mapping[str, str], chosen: str) -> tuple[ShelfTab, ...]:
    by_key: dict[str, list[Lot]] = {}
    for lot in in_order(bench.lots):
        by_key.setdefault(_key(lot.material), []).append(lot)
    everything = sum(len(lots) for lots in by_key.values())
    first = ShelfTab("/shelf", "Everything", formats.count(everything, "lot"), not chosen)
    rest = (
        ShelfTab(
            f"/shelf?material={key}",
            names[key],
            f"{formats.ITEMS[lots[0].material.kind]}: {_sum(lots)}",
            key == chosen,
        )
        for key, lots in by_key.items()
    )
    return (first, *rest)


def _sum(lots: list[Lot]) -> str:
    return quantity(lots[0].material, sum(lot.left for lot in lots))


def _groups(lots: list[Lot], catalogue: Catalogue, builds: Mapping[str, str]) -> list[LotGroup]:
    by_material: dict[Material, list[Lot]] = {}
    for lot in lots:
        by_material.setdefault(lot.material, []).append(lot)
    return [
        LotGroup(
            material_name(material, catalogue),
            swatch(catalogue, material.colour) if material.colour else None,
            f"{formats.count(len(held), 'lot')}, {_sum(held)}",
            _rows(held, builds),
        )
        for material, held in by_material.items()
    ]


def _rows(lots: list[Lot], builds: Mapping[str, str]) -> tuple[LotRow, ...]:
    alike: dict[tuple[object, ...], list[Lot]] = {}
    for lot in lots:
        same = lot.left, origin_words(lot, builds), tuple(lot.reserved.items()), lot.unit_price
        alike.setdefault(same, []).append(lot)
    return tuple(
        LotRow(
            len(group),
            quantity(group[0].material, group[0].left) + (" each" if len(group) > 1 else ""),
            tuple(LotLink(lot.id, f"/shelf/{lot.id}") for lot in group),
            origin_words(group[0], builds),
            kept_words(group[0], builds),
            f"{sum((value_of(lot) for lot in group), Decimal(0)):.2f}",
            is_short(group[0]),
        )
        for group in alike.values()
    )


def is_short(lot: Lot) -> bool:
    """Whether a leftover is shorter than what is worth keeping."""
    return lot.material.by_length and 0 < lot.left < LEAST_MM


def origin_words(lot: Lot, builds: Mapping[str, str]) -> str:
    """Where a lot came from."""
    name = builds.get(lot.build, DELETED)
    told = not lot.build or lot.cut_from or name in lot.origin
    return lot.origin if told else f"{lot.origin}, bought for {name}"


def build_options(builds: Mapping[str, str], empty: str) -> list[tuple[str, str]]:
    """Builds to pick from, with a first choice that is none of them."""
    return [("", empty), *builds.items()]


def _receive(fields: Fields, catalogue: Catalogue, builds: Mapping[str, str], chosen: str) -> ReceiveForm:
    tables: Mapping[ItemKind, Mapping[str, object]] = items_of(catalogue)
    items = [
        (f"{kind}/{item}", f"{formats.ITEMS[kind]}: {getattr(entry, 'name', item)}")
        for kind in KIND_ORDER
        for item, entry in tables[kind].items()
    ]
    colours = [(code, f"{code} {colour.name}") for code, colour in catalogue.colours.items()]
    return ReceiveForm(
        open=bool(fields.sent.problems),
        item=fields.choice("material", "What it is", chosen, [("", "pick one"), *items]),
        colour=fields.choice("colour", "Colour of wire or sleeve", "", [("", "none"), *colours]),
        quantity=fields.text("quantity", "Length or pieces of each lot", "", "Such as 3.2 m, 12 in, or 40 pieces."),
        count=fields.text("count", "Equal lots", "1"),
        price=fields.text("price", "Price of each lot", "", "Empty for what was found."),
        origin=fields.text("origin", "Where it came from", ""),
        build=fields.choice("build", "Bought for", "", build_options(builds, "the shelf at large")),
    )
