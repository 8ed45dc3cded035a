"""Cut list, buy list, tools and counted operations: what the runs add up to."""

import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal

from server.domain.materials.contacts import wire_of
from server.domain.materials.sleeves import shrink_cut_mm
from server.domain.model.build import Allowances, Build, Spare, SpareOf
from server.domain.model.catalogue import Catalogue, Insulation, ItemKind, Unit
from server.domain.model.plan import BuyLine, CutGroup, CutLine, PlannedWire
from server.domain.plan.runs import PlannedRun
from server.domain.reference import SPARES
from server.domain.rolls import Offer, Purchase, cheapest_packs, rolls_for_pieces

Item = tuple[ItemKind, str, str]
"""Kind, id and colour; no colour for what has none."""


def cut_list(runs: Iterable[PlannedRun]) -> tuple[CutGroup, ...]:
    """Measured wires by gauge, insulation and colour, longest first; thickest gauge first."""
    groups: dict[tuple[int, Insulation, str], list[PlannedWire]] = defaultdict(list)
    for planned in runs:
        for wire in planned.plan.wires:
            if wire.cut_mm is not None:
                groups[wire.awg, wire.insulation, wire.colour].append(wire)
    return tuple(_cut_group(key, groups[key]) for key in sorted(groups))


def _cut_group(key: tuple[int, Insulation, str], wires: list[PlannedWire]) -> CutGroup:
    by_length: dict[int, list[str]] = defaultdict(list)
    for wire in wires:
        by_length[wire.cut_mm or 0].append(wire.label)
    lines = tuple(
        CutLine(length, len(by_length[length]), tuple(by_length[length])) for length in sorted(by_length, reverse=True)
    )
    awg, insulation, colour = key
    total = sum(line.cut_mm * line.count for line in lines)
    return CutGroup(f"awg{awg}-{insulation}", awg, insulation, colour, lines, total, len(wires))


def contacts_filled(planned: PlannedRun) -> Counter[str]:
    """Contacts to crimp or press in one run, by id; two wires in one contact take one."""
    count: Counter[str] = Counter()
    for use in planned.plan.crimps:
        count[use.contact] += use.count
    return count


def operations(runs: Iterable[PlannedRun], catalogue: Catalogue) -> Counter[str]:
    """How often each operation of the labour table is done."""
    count: Counter[str] = Counter()
    for planned in runs:
        plan = planned.plan
        contacts = contacts_filled(planned)
        crimped = sum(n for c, n in contacts.items() if catalogue.contacts[c].gender != "blade")
        ends = [e for w in plan.wires for e in (w.source, *w.taps, w.target)]
        rework = plan.method == "rework"
        pressed = sum(1 for e in ends if e.contact and catalogue.contacts[e.contact].gender == "blade")
        soldered = sum(1 for joint in plan.joints if joint.kind != "jumper")
        count["cut"] += len(plan.wires)
        # A wire that is the supply's own is stripped at the part end, and at both sides of a soldered joint.
        count["strip"] += sum(1 for e in ends if e.crimped) - pressed + 2 * soldered
        count["solder"] += soldered
        count["extract"] += len(plan.wires) if rework else 0
        count["crimp"] += crimped
        count["insert"] += crimped
        count["displace"] += pressed
        count["cap"] += sum(1 for plug in plan.ends if plug.cap)
        count["sleeve_end"] += 2 * sum(piece.count for piece in plan.sleeve_pieces)
        count["melt" if plan.sleeve_end == "melted" else "shrink"] += plan.shrink_count
        for place in plan.combs:
            count["comb_open" if catalogue.combs[place.comb].kind == "open" else "comb"] += 1
        count["test"] += len(plan.wires)
    return +count


@dataclass(frozen=True, slots=True)
class Used:
    """What one run uses up, without spares."""

    pieces: dict[Item, list[int]]
    """Lengths cut from rolls. [mm]"""
    counts: Counter[Item]
    """Things counted by the piece."""


def used_by(planned: PlannedRun, catalogue: Catalogue) -> Used:
    """Wire, sleeve, heat-shrink, contacts, housings, caps and combs that one run uses up.

    Args:
        planned: The run.
        catalogue: Reference data.
    """
    plan = planned.plan
    pieces: dict[Item, list[int]] = defaultdict(list)
    counts: Counter[Item] = Counter()
    for wire in plan.wires:
        stock = wire_of(catalogue, wire.awg, wire.insulation)
        if stock is not None and wire.buy_mm:
            pieces["wire", stock.id, wire.colour].append(wire.buy_mm)
    for piece in plan.sleeve_pieces:
        pieces["sleeve", piece.sleeve, piece.colour] += [piece.cut_mm] * piece.count
    tubes = [plan.shrink] * plan.shrink_count + [joint.shrink for joint in plan.joints if joint.shrink]
    for tube in tubes:
        pieces["shrink", tube, ""].append(shrink_cut_mm(catalogue.shrinks[tube]))
    if plan.kind != "sleeved":
        bought = plan.ends if plan.method == "rework" else (*plan.sources, *plan.ends)
        counts.update(("housing", plug.housing, "") for plug in bought)
        counts.update(("cap", plug.cap, "") for plug in plan.ends if plug.cap)
    for contact, number in contacts_filled(planned).items():
        if catalogue.contacts[contact].gender != "blade":
            counts["contact", contact, ""] += number
    counts.update(("comb", place.comb, "") for place in plan.combs)
    return Used(dict(pieces), counts)


def buy_list(runs: Iterable[PlannedRun], build: Build, catalogue: Catalogue) -> tuple[BuyLine, ...]:
    """What to buy, in whole packs, with the spares the allowances ask for.

    Args:
        runs: The planned runs.
        build: For its allowances and price overrides.
        catalogue: For packs and names.
    """
    pieces: dict[Item, list[int]] = defaultdict(list)
    counts: Counter[Item] = Counter()
    spares: Counter[Item] = Counter()
    for planned in runs:
        used = used_by(planned, catalogue)
        counts += used.counts
        for item, lengths in used.pieces.items():
            pieces[item] += lengths
        for item, number in used.counts.items():
            if item[0] == "comb":
                spares[item] += spare_count(number, build.allowances, "combs")
    for item, number in counts.items():
        if item[0] == "contact":
            spares[item] = spare_count(number, build.allowances, "contacts")
    for item, lengths in pieces.items():
        if item[0] == "shrink":
            more = spare_count(len(lengths), build.allowances, "shrink")
            spares[item] = more * max(lengths)
            pieces[item] = [*lengths, *[max(lengths)] * more]
    counts.update({item: number for item, number in spares.items() if item[0] != "shrink"})
    lines = [_rolled(item, found, spares[item], build.prices, catalogue) for item, found in pieces.items()]
    lines += [_counted(item, counts[item], spares[item], build.prices, catalogue) for item in counts]
    order: dict[ItemKind, int] = {k: i for i, k in enumerate(_KIND_ORDER)}
    return tuple(sorted(lines, key=lambda line: (order[line.kind], line.item, line.colour)))


def price_of(used: Used, build: Build, catalogue: Catalogue) -> Decimal:
    """Price of what is used up, by the millimetre and the piece of the cheapest pack by quantity.

    Args:
        used: What a run uses up.
        build: For its price overrides.
        catalogue: For packs.

    Returns:
        The price; items without a pack count nothing.
    """
    total = Decimal(0)
    for item, quantity in [*((i, sum(p)) for i, p in used.pieces.items()), *used.counts.items()]:
        offers = _offers(item[0], item[1], build.prices, catalogue)
        if offers:
            total += quantity * min(offer.price / offer.quantity for offer in offers)
    return total


_KIND_ORDER: tuple[ItemKind, ...] = ("wire", "sleeve", "shrink", "contact", "housing", "comb", "cap")


def spare_count(number: int, allowances: Allowances, of: SpareOf) -> int:
    """How many of one kind are bought beyond the number that is used.

    Args:
        number: How many are used; more than 0.
        allowances: For the skill, and spares set by hand.
        of: What they are.
    """
    spare: Spare = allowances.spares.get(of) or SPARES[allowances.skill][of]
    return max(math.ceil(round(number * spare.percent / 100, 6)), spare.least)


def _offers(kind: ItemKind, item: str, prices: Mapping[str, Decimal], catalogue: Catalogue) -> list[Offer]:
    return [
        Offer(pack.id, pack.quantity, prices.get(pack.id, pack.price))
        for pack in catalogue.packs
        if pack.kind == kind and pack.item == item
    ]


def _rolled(item: Item, pieces: list[int], spare: int, prices: Mapping[str, Decimal], catalogue: Catalogue) -> BuyLine:
    kind, ident, _ = item
    purchase = rolls_for_pieces(pieces, _offers(kind, ident, prices, catalogue))
    return _line(item, sum(pieces), spare, "mm", purchase, catalogue)


def _counted(item: Item, needed: int, spare: int, prices: Mapping[str, Decimal], catalogue: Catalogue) -> BuyLine:
    kind, ident, _ = item
    offers = _offers(kind, ident, prices, catalogue)
    return _line(item, needed, spare, "piece", cheapest_packs(needed, offers) if offers else None, catalogue)


def _line(item: Item, needed: int, spare: int, unit: Unit, purchase: Purchase | None, catalogue: Catalogue) -> BuyLine:
    kind, ident, colour = item
    line = BuyLine(kind, ident, colour, item_name(kind, ident, colour, catalogue), needed, spare, unit, (), 0, None)
    if purchase is None:
        return line
    return replace(line, packs=purchase.packs, packed=purchase.quantity, price=purchase.price)


def item_name(kind: ItemKind, ident: str, colour: str, catalogue: Catalogue) -> str:
    """Name of an item as a list shows it, with its colour where it has one."""
    tables: dict[ItemKind, Mapping[str, object]] = {
        "wire": catalogue.wires,
        "sleeve": catalogue.sleeves,
        "shrink": catalogue.shrinks,
        "contact": catalogue.contacts,
        "housing": catalogue.housings,
        "comb": catalogue.combs,
        "cap": catalogue.caps,
    }
    name = str(getattr(tables[kind].get(ident), "name", ident))
    if not colour:
        return name
    shown = catalogue.colours.get(colour)
    return f"{name}, {shown.name if shown else colour} {colour}"
