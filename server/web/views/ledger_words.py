"""Entries of the bench ledger in words: ``cut 1-07, 620 mm, from lot 12, 16 AWG plain BK``."""

from collections.abc import Mapping
from decimal import Decimal

from server.domain.model.bench import (
    Assign,
    Checked,
    Cut,
    Done,
    Entry,
    Material,
    Receive,
    Recount,
    Release,
    Reserve,
    ScrapPiece,
    ScrapStock,
    Shelve,
    Take,
    Timed,
    Trim,
    Undo,
)
from server.domain.model.catalogue import Catalogue
from server.services.test_sheets import LATER
from server.web.views import formats

GONE = "(no such entry)"
CLEARED = "its ticks are cleared: crimp and test it again"


def material_words(material: Material, catalogue: Catalogue) -> str:
    """A material as it is called at the bench: gauge, insulation and colour code, or its name and colour code.

    Args:
        material: The material.
        catalogue: For names; what it does not know keeps its id.
    """
    return f"{item_words(material, catalogue)} {material.colour}".strip()


def item_words(material: Material, catalogue: Catalogue) -> str:
    """The same without its colour.

    Args:
        material: The material.
        catalogue: For names; what it does not know keeps its id.
    """
    if material.kind == "wire" and (wire := catalogue.wires.get(material.item)):
        return f"{wire.awg} AWG {formats.INSULATIONS[wire.insulation]}"
    tables: dict[str, Mapping[str, object]] = {
        "wire": catalogue.wires,
        "sleeve": catalogue.sleeves,
        "shrink": catalogue.shrinks,
        "contact": catalogue.contacts,
        "housing": catalogue.housings,
        "comb": catalogue.combs,
        "cap": catalogue.caps,
    }
    return str(getattr(tables[material.kind].get(material.item), "name", material.item))


def amount_words(material: Material, quantity: int) -> str:
    """A quantity of a material: a length in mm, or a number of pieces.

    Args:
        material: The material.
        quantity: Length [mm] or number.
    """
    return f"{quantity} mm" if material.by_length else formats.count(quantity, "piece")


class LedgerWords:
    """Says what entries did. What an entry speaks of by its number is looked up in the ledger, undone or not."""

    def __init__(
        self, entries: Mapping[int, Entry], catalogue: Catalogue, builds: Mapping[str, str], currency: str
    ) -> None:
        """Words for one ledger.

        Args:
            entries: Every entry by its number.
            catalogue: For names of materials.
            builds: Names of builds by id.
            currency: That prices are shown in.
        """
        self._entries, self._catalogue, self._builds, self._currency = entries, catalogue, builds, currency
        self._undone = {entry.entry for entry in entries.values() if isinstance(entry, Undo)}

    def say(self, number: int) -> str:
        """What an entry did, in one line.

        Args:
            number: Its number.
        """
        entry = self._entries.get(number)
        if entry is None:
            return GONE
        return self._shelf(entry) or self._work(entry) + self._cleared(number, entry)

    def _shelf(self, entry: Entry) -> str:
        """Entries about lots; empty for any other."""
        match entry:
            case Receive():
                paid = f", {formats.money(entry.price, self._currency)}" if entry.price > Decimal(0) else ""
                kept = f", for {self._build(entry.build)}" if entry.build else ""
                came = f", {entry.origin}" if entry.origin else ""
                what = material_words(entry.material, self._catalogue)
                return f"put on the shelf: {amount_words(entry.material, entry.quantity)} of {what}{paid}{came}{kept}"
            case Recount():
                return f"counted {self._lot(entry.lot)}: {self._amount(entry.lot, entry.quantity)}, {entry.reason}"
            case Reserve():
                amount = self._amount(entry.lot, entry.quantity)
                return f"kept {amount} of {self._lot(entry.lot)} for {self._build(entry.build)}"
            case Release():
                amount = self._amount(entry.lot, entry.quantity)
                return f"released {amount} of {self._lot(entry.lot)}, kept for {self._build(entry.build)}"
            case ScrapStock():
                amount = self._amount(entry.lot, entry.quantity)
                return f"threw away {amount} of {self._lot(entry.lot)}: {entry.reason}"
            case Take():
                amount = self._amount(entry.lot, entry.quantity)
                return f"took {amount} of {self._lot(entry.lot)} for run {entry.run}"
        return ""

    def _work(self, entry: Entry) -> str:
        """Entries about pieces, and undoing."""
        match entry:
            case Cut():
                lost = f", {entry.loss_mm} mm lost at the cut" if entry.loss_mm else ""
                return f"cut {entry.label}, {entry.length_mm} mm, from {self._lot(entry.lot)}{lost}"
            case Done():
                end = f" at its {entry.end} end" if entry.end else ""
                more = ", the other end is still to be crimped" if entry.more else ""
                return f"{entry.stage} {self._piece(entry.piece)}{end}{more}"
            case Timed():
                of = self._catalogue.labour.get(entry.operation)
                took = f"{entry.seconds // 60} min {entry.seconds % 60:02} s"
                run = f", run {entry.run}" if entry.run else ""
                name = of.name if of else entry.operation
                return f"timed{run}: {name}, {formats.count(entry.count, 'time')} in {took}"
            case Checked():
                if not entry.passed and LATER in entry.readings:
                    return f"run {entry.run} reads as expected by itself, voltages to follow"
                word = "passed" if entry.passed else "failed"
                return f"run {entry.run} {word} its test"
            case Trim():
                return f"trimmed {self._piece(entry.piece)} to {entry.length_mm} mm"
            case Assign():
                return f"{self._piece(entry.piece)} now serves as {entry.label}"
            case Shelve():
                return f"put {self._piece(entry.piece)} on the shelf as a remnant"
            case ScrapPiece():
                return f"threw away {self._piece(entry.piece)}: {entry.reason}"
            case Undo():
                return f"undid entry {entry.entry}: {self.say(entry.entry)}"
        return ""

    def _cleared(self, number: int, entry: Entry) -> str:
        """What is to be said of a piece whose ticks an entry cleared; empty for any other entry."""
        if not isinstance(entry, Trim | Assign):
            return ""
        ticked = False
        for at, other in self._entries.items():
            if at < number and at not in self._undone and getattr(other, "piece", 0) == entry.piece:
                ticked = isinstance(other, Done)
        return f"; {CLEARED}" if ticked else ""

    def _lot(self, number: int) -> str:
        """A lot by its number, with what it is made of."""
        material = self._material(number)
        return f"lot {number}, {material_words(material, self._catalogue)}" if material else f"lot {number}"

    def _material(self, lot: int) -> Material | None:
        """What a lot is made of; a remnant is made of what the lot before it was."""
        entry = self._entries.get(lot)
        while isinstance(entry, Shelve):
            cut = self._entries.get(entry.piece)
            entry = self._entries.get(cut.lot) if isinstance(cut, Cut) else None
        return entry.material if isinstance(entry, Receive) else None

    def _amount(self, lot: int, quantity: int) -> str:
        material = self._material(lot)
        return amount_words(material, quantity) if material else str(quantity)

    def _piece(self, number: int) -> str:
        cut = self._entries.get(number)
        return f"{cut.label} (piece {number})" if isinstance(cut, Cut) else f"piece {number}"

    def _build(self, build_id: str) -> str:
        return self._builds.get(build_id, "another build")
