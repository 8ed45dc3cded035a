"""What to buy and how to cut it: what is in the cables and on the shelf is taken off, the rest is bought in packs."""

import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import lru_cache

from server.domain.changes import Needed, compare
from server.domain.materials.sleeves import shrink_cut_mm
from server.domain.model.bench import Lot, Material, OnHand, Piece
from server.domain.model.build import Allowances, Build, Spare, SpareOf
from server.domain.model.catalogue import Catalogue, ItemKind
from server.domain.model.plan import SPARE, BuyLine, RollLayout, RollPiece, RollSheet, RunPlan, WireChange
from server.domain.plan.lists import Item, Used, contacts_filled, used_by
from server.domain.plan.names import item_name
from server.domain.plan.needs import needs_of
from server.domain.plan.runs import PlannedRun
from server.domain.plan.stuck import without_stuck
from server.domain.reference import SPARES
from server.domain.rolls import Layout, NotEnoughError, Offer, PieceTooLongError, RollPlan, cheapest_packs, plan_rolls

KIND_ORDER: tuple[ItemKind, ...] = ("wire", "sleeve", "shrink", "contact", "housing", "comb", "cap")
ROLLS_DEADLINE_S = 2.0
"""Time for the roll plans of a whole build. [s]"""
ROLLS_KEPT = 256
"""Roll plans of single materials held in memory: those of a dozen builds."""
STILL_SERVES = frozenset({"unchanged", "good", "trim", "waits"})
"""States of a piece that stays with its wire."""


@dataclass(frozen=True, slots=True)
class Buying:
    """What a build still takes from the shelf and the shop."""

    lines: tuple[BuyLine, ...]
    sheets: tuple[RollSheet, ...]
    changes: tuple[WireChange, ...]
    """Empty while nothing has been cut."""
    in_vain: tuple[Piece, ...] = ()
    """Wires that were cut and were thrown away, put back, or do not serve any more."""


def buying_of(runs: Sequence[PlannedRun], build: Build, catalogue: Catalogue, on_hand: OnHand) -> Buying:
    """Buy list, roll plan and change list of a build.

    Args:
        runs: The planned runs.
        build: For its allowances and price overrides.
        catalogue: For packs and names.
        on_hand: Shelf and pieces; the pieces that no longer serve are cut up first.
    """
    needs = [need for planned in runs for need in needs_of(planned.plan, catalogue)]
    names = {need.material: need.name for need in needs}
    for piece in on_hand.pieces:
        names.setdefault(piece.material, item_name(*_item(piece.material), catalogue))
    unknown = {planned.plan.number for planned in runs if planned.plan.state == "unmeasured"}

    def compared(pieces: Sequence[Piece]) -> tuple[WireChange, ...]:
        return compare(needs, pieces, names, build.allowances.step_mm, unknown) if pieces else ()

    changes = compared(on_hand.pieces)
    in_vain = wires_in_vain(changes, on_hand)
    # Wires are matched apart from sleeve and tube, so that what went with lost ones changes nothing about who is lost.
    left = without_stuck((planned.plan for planned in runs), on_hand, in_vain)
    if left is not on_hand:
        on_hand, changes = left, compared(left.pieces)
    cutting = _Cutting(needs, changes, build, catalogue, on_hand)
    cutting.solve()
    rolled = [cutting.line(material) for material in cutting.materials]
    taken = _taken(runs, on_hand, in_vain)
    lines = [line for line, _ in rolled] + _counted(runs, build, catalogue, on_hand, taken)
    sheets = tuple(sheet for _, sheet in rolled if sheet is not None)
    order = {kind: place for place, kind in enumerate(KIND_ORDER)}
    return Buying(
        tuple(sorted(lines, key=lambda line: (order[line.kind], line.item, line.colour))),
        tuple(sorted(sheets, key=lambda sheet: (order[sheet.kind], sheet.item, sheet.colour))),
        _with_service(changes, sheets),
        in_vain,
    )


def _kept(changes: Iterable[WireChange]) -> set[int]:
    """Pieces that stay with what they were cut for."""
    return {change.piece for change in changes if change.piece and change.state in STILL_SERVES}


def wires_in_vain(changes: Iterable[WireChange], on_hand: OnHand) -> tuple[Piece, ...]:
    """Wires that were cut and do not serve: lost ones first.

    Args:
        changes: What became of the pieces, wires at least.
        on_hand: What was made for the build.
    """
    kept = _kept(changes)
    idle = (*on_hand.lost, *(piece for piece in on_hand.pieces if piece.id not in kept))
    return tuple(piece for piece in idle if piece.material.kind == "wire")


def _taken(runs: Iterable[PlannedRun], on_hand: OnHand, in_vain: Iterable[Piece]) -> Counter[Item]:
    """Counted things that are in the cables of runs that the plan still has.

    A crimped wire that does not serve took its contacts with it: its share of the run's, rounded up over all such
    wires of the run. One that was crimped at one end alone took the contact of that end.
    """
    gone = Counter(piece.run for piece in in_vain if "crimped" in piece.stages)
    taken: Counter[Item] = Counter()
    for planned in runs:
        number, wires = planned.plan.number, len(planned.plan.wires)
        contacts = contacts_filled(planned)
        halves = _half_crimped(planned.plan, in_vain)
        for (run, material), quantity in on_hand.takes.items():
            if run == number:
                share = gone[run] * contacts[material.item] if material.kind == "contact" else 0
                lost = (-(-share // wires) if share else 0) + halves[material.item]
                taken[_item(material)] += max(0, quantity - lost)
    return taken


def _half_crimped(plan: RunPlan, in_vain: Iterable[Piece]) -> Counter[str]:
    """Contacts on the ends of a run's wires that were crimped at one end and do not serve, by id.

    A wire that the plan does not know any more is taken to have had the contact that most ends of that side have.
    """
    ends = {
        "part": {wire.id: wire.target.contact for wire in plan.wires if wire.target.crimped},
        "source": {wire.id: wire.source.contact for wire in plan.wires if wire.source.crimped},
    }
    found: Counter[str] = Counter()
    for piece in in_vain:
        for side in piece.crimped_ends if piece.run == plan.number else ():
            usual = Counter(ends[side].values()).most_common(1)
            found[ends[side].get(piece.wire, usual[0][0] if usual else "")] += 1
    return found


def _item(material: Material) -> Item:
    return material.kind, material.item, material.colour


def _with_service(changes: tuple[WireChange, ...], sheets: Iterable[RollSheet]) -> tuple[WireChange, ...]:
    """Changes with the labels of what the roll plan cuts from each piece that no longer serves."""
    serves = {
        layout.lot: tuple(piece.label for piece in layout.pieces)
        for sheet in sheets
        for layout in sheet.layouts
        if layout.source == "piece"
    }
    return tuple(_serving(change, serves.get(change.piece, ())) for change in changes)


def _serving(change: WireChange, labels: tuple[str, ...]) -> WireChange:
    return replace(change, serves=labels) if labels and change.state not in STILL_SERVES else change


@lru_cache(maxsize=ROLLS_KEPT)
def _quick_rolls(
    lengths: tuple[tuple[int, int], ...], rolls: tuple[tuple[int, Decimal], ...], there: tuple[int, ...], loss_mm: float
) -> RollPlan:
    """The roll plan that is found at once, kept since most of what is done changes one material only.

    Without a deadline the same question has the same answer at any time.
    """
    return plan_rolls(lengths, rolls, there, cut_loss_mm=loss_mm, deadline_s=0.0)


class _Cutting:
    """Everything that is cut from rolls, by material."""

    def __init__(
        self,
        needs: Sequence[Needed],
        changes: tuple[WireChange, ...],
        build: Build,
        catalogue: Catalogue,
        on_hand: OnHand,
    ) -> None:
        self._build, self._catalogue, self._on_hand = build, catalogue, on_hand
        kept = _kept(changes)
        covered = {change.id for change in changes if change.piece in kept}
        self._needs: dict[Material, list[Needed]] = defaultdict(list)
        self._spare: Counter[Material] = Counter()
        self._used: Counter[Material] = Counter()
        self._loose: dict[Material, list[Piece]] = defaultdict(list)
        counts: Counter[Material] = Counter()
        for need in needs:
            counts[need.material] += 1
            if need.id not in covered:
                self._needs[need.material].append(need)
        for piece in on_hand.pieces:
            if piece.id in kept:
                self._used[piece.material] += piece.length_mm
            else:
                self._loose[piece.material].append(piece)
        self.materials = list(counts)
        self._plans: dict[Material, RollPlan | None] = {}
        for material, number in counts.items():
            if material.kind == "shrink":
                self._add_spares(material, number)

    def _add_spares(self, material: Material, number: int) -> None:
        """Spare tubes; the more that is cut already, the fewer of them are still to be bought."""
        length = shrink_cut_mm(self._catalogue.shrinks[material.item])
        spares = spare_count(number, self._build.allowances, "shrink")
        name = item_name(*_item(material), self._catalogue)
        for index in range(spares):
            self._needs[material].append(Needed(f"{SPARE}/{index}", SPARE, 0, material, name, length, None, length))
        self._spare[material] = spares * length

    def line(self, material: Material) -> tuple[BuyLine, RollSheet | None]:
        """One line of the buy list, with the sheet that says how it is cut; no sheet where it cannot be."""
        needs = self._needs[material]
        open_mm = sum(need.buy_mm for need in needs)
        offers = offers_of(material.kind, material.item, self._build.prices, self._catalogue)
        sheet = self._sheet(material, needs, offers)
        name = item_name(*_item(material), self._catalogue)
        used = self._used[material]
        if needs and sheet is None:
            return BuyLine(
                *_item(material), name, open_mm + used, self._spare[material], "mm", (), 0, None, used, 0
            ), None
        layouts = sheet.layouts if sheet else ()
        there = sum(piece.length_mm for layout in layouts if layout.source != "roll" for piece in layout.pieces)
        packs = Counter(layout.pack for layout in layouts if layout.source == "roll")
        length_of = {offer.id: offer.quantity for offer in offers}
        return BuyLine(
            *_item(material),
            name,
            open_mm + used,
            self._spare[material],
            "mm",
            tuple(sorted(packs.items(), key=lambda pack: (-length_of[pack[0]], pack[0]))),
            sum(length_of[pack] * number for pack, number in packs.items()),
            sheet.cost if sheet else Decimal(0),
            used,
            there,
        ), sheet

    def solve(self) -> None:
        """Plan every material: quickly first; what is not proved the least then shares the time of the whole build."""
        self._plans = {material: self._plan(material, 0.0) for material in self.materials if self._needs[material]}
        hard = [material for material, found in self._plans.items() if found is not None and not found.proved]
        for material in hard:
            self._plans[material] = self._plan(material, ROLLS_DEADLINE_S / len(hard))

    def _plan(self, material: Material, deadline_s: float) -> RollPlan | None:
        """How one material is cut; ``None`` when a piece is longer than everything it could be cut from."""
        lengths = tuple(sorted(Counter(need.buy_mm for need in self._needs[material]).items()))
        offers = offers_of(material.kind, material.item, self._build.prices, self._catalogue)
        loose = [piece.length_mm for piece in self._loose[material]]
        lots = [lot.free_for(self._on_hand.build) for lot in self._lots_of(material)]
        loss_mm = self._build.allowances.cut_loss_mm
        rolls = tuple((offer.quantity, offer.price) for offer in offers)
        try:
            if not deadline_s:
                return _quick_rolls(lengths, rolls, (*loose, *lots), loss_mm)
            return plan_rolls(lengths, rolls, (*loose, *lots), cut_loss_mm=loss_mm, deadline_s=deadline_s)
        except (PieceTooLongError, NotEnoughError):
            return None

    def _lots_of(self, material: Material) -> list[Lot]:
        return [lot for lot in self._on_hand.lots if lot.material == material]

    def _sheet(self, material: Material, needs: Sequence[Needed], offers: Sequence[Offer]) -> RollSheet | None:
        found = self._plans.get(material)
        if found is None:
            return None
        name = item_name(*_item(material), self._catalogue)
        lots = self._lots_of(material)
        return _told(material, name, found, needs, offers, self._loose[material], lots, self._on_hand.build)


def _told(
    material: Material,
    name: str,
    found: RollPlan,
    needs: Sequence[Needed],
    offers: Sequence[Offer],
    loose: Sequence[Piece],
    lots: Sequence[Lot],
    build_id: str,
) -> RollSheet:
    """A roll plan with the names of pieces, lots and packs in place of bare lengths."""
    waiting: dict[int, list[Needed]] = defaultdict(list)
    for need in sorted(needs, key=lambda need: need.cut_mm is None):
        waiting[need.buy_mm].append(need)
    there: dict[int, list[tuple[str, int]]] = defaultdict(list)
    for piece in loose:
        there[piece.length_mm].append(("piece", piece.id))
    for lot in lots:
        there[lot.free_for(build_id)].append(("lot", lot.id))
    layouts = tuple(_layout(layout, waiting, there, offers) for layout in found.layouts)
    return RollSheet(*_item(material), name, layouts, Decimal(found.cost), Decimal(found.bound), found.proved)


def _layout(
    layout: Layout,
    waiting: Mapping[int, list[Needed]],
    there: Mapping[int, list[tuple[str, int]]],
    offers: Sequence[Offer],
) -> RollLayout:
    pieces = []
    for length in layout.pieces_mm:
        need = waiting[int(length)].pop(0)
        pieces.append(RollPiece(need.id, need.label, need.buy_mm, need.cut_mm is not None))
    # What waits for its length is kept free behind everything that is cut now.
    pieces.sort(key=lambda piece: not piece.ready)
    stock, left = int(layout.stock_mm), int(layout.left_mm)
    if layout.price is None:
        source, ident = there[stock].pop(0)
        return RollLayout("piece" if source == "piece" else "lot", ident, "", stock, Decimal(0), tuple(pieces), left)
    pack = next(o for o in offers if o.quantity == stock and o.price == layout.price)
    return RollLayout("roll", 0, pack.id, stock, pack.price, tuple(pieces), left)


def _counted(
    runs: Sequence[PlannedRun], build: Build, catalogue: Catalogue, on_hand: OnHand, taken: Counter[Item]
) -> list[BuyLine]:
    """Lines of everything that is counted by the piece; ``taken`` is in the cables already."""
    counts: Counter[Item] = Counter()
    spares: Counter[Item] = Counter()
    for planned in runs:
        counted = used_by(planned.plan, catalogue).counts
        counts += counted
        for item, number in counted.items():
            if item[0] == "comb":
                spares[item] += spare_count(number, build.allowances, "combs")
    for item, number in counts.items():
        if item[0] == "contact":
            spares[item] = spare_count(number, build.allowances, "contacts")
    shelf: Counter[Item] = Counter()
    for lot in on_hand.lots:
        if not lot.material.by_length:
            shelf[_item(lot.material)] += lot.free_for(on_hand.build)
    return [
        _counted_line(item, number + spares[item], spares[item], taken[item], shelf[item], build, catalogue)
        for item, number in counts.items()
    ]


def _counted_line(
    item: Item, needed: int, spare: int, taken: int, shelf: int, build: Build, catalogue: Catalogue
) -> BuyLine:
    kind, ident, colour = item
    used = min(taken, needed)
    there = min(shelf, needed - used)
    name = item_name(kind, ident, colour, catalogue)
    offers = offers_of(kind, ident, build.prices, catalogue)
    missing = needed - used - there
    if missing and not offers:
        return BuyLine(kind, ident, colour, name, needed, spare, "piece", (), 0, None, used, there)
    bought = cheapest_packs(missing, offers) if missing else None
    packs, packed, price = (bought.packs, bought.quantity, bought.price) if bought else ((), 0, Decimal(0))
    return BuyLine(kind, ident, colour, name, needed, spare, "piece", packs, packed, price, used, there)


def spare_count(number: int, allowances: Allowances, of: SpareOf) -> int:
    """How many of one kind are bought beyond the number that is used.

    Args:
        number: How many are used; more than 0.
        allowances: For the skill, and spares set by hand.
        of: What they are.
    """
    spare: Spare = allowances.spares.get(of) or SPARES[allowances.skill][of]
    return max(math.ceil(round(number * spare.percent / 100, 6)), spare.least)


def offers_of(kind: ItemKind, item: str, prices: Mapping[str, Decimal], catalogue: Catalogue) -> list[Offer]:
    """Packs and rolls of an item at the prices that hold for a build."""
    return [
        Offer(pack.id, pack.quantity, prices.get(pack.id, pack.price))
        for pack in catalogue.packs
        if pack.kind == kind and pack.item == item
    ]


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
        offers = offers_of(item[0], item[1], build.prices, catalogue)
        if offers:
            total += quantity * min(offer.price / offer.quantity for offer in offers)
    return total
