"""One lot of the shelf: what became of it, and what can be done with it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Protocol

from server.domain.model.bench import (
    Bench,
    Cut,
    Entry,
    Lot,
    Receive,
    Recount,
    Release,
    Reserve,
    ScrapStock,
    Shelve,
    Take,
)
from server.domain.model.catalogue import Catalogue
from server.web.forms import Typed
from server.web.views import formats
from server.web.views.fields import Field, Fields, Trouble
from server.web.views.ledger_words import LedgerWords
from server.web.views.pieces import Swatch, swatch
from server.web.views.shelf import (
    DELETED,
    LEAST_MM,
    Taken,
    build_options,
    is_short,
    kept_words,
    material_name,
    origin_words,
    quantity,
    unit_of,
    value_of,
)


class Stored(Protocol):
    """An entry as the bench desk lists it."""

    @property
    def number(self) -> int:
        """Its place in the ledger."""

    @property
    def at(self) -> str:
        """When it was written. [ISO 8601]"""

    @property
    def entry(self) -> Entry:
        """What was written."""


@dataclass(frozen=True, slots=True)
class KeptFor:
    """What a build keeps, and the form that releases it."""

    build: str
    name: str
    amount: str
    release: Field


@dataclass(frozen=True, slots=True)
class LotEntry:
    """One entry of the ledger that speaks of this lot."""

    number: int
    when: str
    iso: str
    text: str
    undone: bool


@dataclass(frozen=True, slots=True)
class LotPage:
    """One lot."""

    title: str
    number: int
    href: str
    base: int
    """Number of the ledger's last entry, which the forms were made from."""
    name: str
    colour: Swatch | None
    facts: tuple[tuple[str, str], ...]
    short: str
    """Said of a leftover that is too short to be worth keeping; otherwise empty."""
    material_href: str
    kept: tuple[KeptFor, ...]
    keep_build: Field
    keep_quantity: Field
    adjust_quantity: Field
    adjust_reason: Field
    scrap_quantity: Field
    scrap_reason: Field
    entries: tuple[LotEntry, ...]
    taken: Taken | None
    troubles: tuple[Trouble, ...]
    message: str


def lot_page(
    lot: Lot,
    bench: Bench,
    entries: Iterable[Stored],
    catalogue: Catalogue,
    builds: Mapping[str, str],
    living: Mapping[str, str],
    *,
    typed: Typed | None = None,
    taken: Taken | None = None,
) -> LotPage:
    """The view of one lot.

    Args:
        lot: The lot.
        bench: The shelf as it stands.
        entries: The ledger, newest first.
        catalogue: For names and colours.
        builds: Names of builds by id, those put away included.
        living: The builds that something can be kept for, the newest first.
        typed: A form that was refused.
        taken: Entries written this moment.
    """
    fields, material, ledger = Fields(typed), lot.material, tuple(entries)
    words = LedgerWords({stored.number: stored.entry for stored in ledger}, catalogue, builds, "")
    unit, left = unit_of(material), str(lot.left)
    free = str(lot.left - sum(lot.reserved.values()))
    choices = build_options(living, "pick one")
    kept = tuple(_kept(lot, build, builds, fields) for build in lot.reserved)
    return LotPage(
        title=f"Lot {lot.id}",
        number=lot.id,
        href=f"/shelf/{lot.id}",
        base=bench.entries,
        name=material_name(material, catalogue),
        colour=swatch(catalogue, material.colour) if material.colour else None,
        facts=tuple(_facts(lot, builds)),
        short=f"Shorter than {LEAST_MM} mm: hardly worth keeping." if is_short(lot) else "",
        material_href=f"/shelf?material={material.kind}/{material.item}",
        kept=kept,
        keep_build=fields.choice("keep.build", "Build", "", choices),
        keep_quantity=fields.text("keep.quantity", "How much", free, unit=unit),
        adjust_quantity=fields.text("adjust.quantity", "What is really there", left, unit=unit),
        adjust_reason=fields.text("adjust.reason", "Why it differs", ""),
        scrap_quantity=fields.text("scrap.quantity", "How much", left, unit=unit),
        scrap_reason=fields.text("scrap.reason", "Why it is thrown away", ""),
        entries=tuple(_entry(stored, bench, words) for stored in ledger if _is_about(stored, lot)),
        taken=taken,
        troubles=fields.troubles(),
        message=taken.text if taken else "",
    )


def _kept(lot: Lot, build: str, builds: Mapping[str, str], fields: Fields) -> KeptFor:
    amount = lot.reserved[build]
    name = builds.get(build, DELETED)
    label = f"Release from {name}"
    field = fields.text(f"release.{build}", label, str(amount), unit=unit_of(lot.material))
    return KeptFor(build, name, quantity(lot.material, amount), field)


def _facts(lot: Lot, builds: Mapping[str, str]) -> Iterable[tuple[str, str]]:
    """What was received, and where it went: everything adds up to it."""

    def shown(amount: int) -> str:
        return quantity(lot.material, amount)

    yield "left", shown(lot.left)
    yield "kept", "; ".join(kept_words(lot, builds)) or "nothing"
    yield "came from", origin_words(lot, builds)
    yield "received", shown(lot.received)
    rest = (
        ("found at counting", lot.found),
        ("cut into pieces", lot.cut),
        ("lost at cuts", lot.lost),
        ("taken into runs", lot.taken),
        ("thrown away or missing", lot.scrapped),
    )
    yield from ((name, shown(amount)) for name, amount in rest if amount)
    yield "worth", f"{value_of(lot):.2f}"


def _is_about(stored: Stored, lot: Lot) -> bool:
    entry = stored.entry
    if isinstance(entry, Receive | Shelve):
        return stored.number == lot.id
    if isinstance(entry, Recount | Reserve | Release | Cut | ScrapStock | Take):
        return entry.lot == lot.id
    return False


def _entry(stored: Stored, bench: Bench, words: LedgerWords) -> LotEntry:
    undone = stored.number in bench.undone
    return LotEntry(stored.number, formats.clock(stored.at), stored.at, words.say(stored.number), undone)
