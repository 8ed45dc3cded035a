"""Stock-taking: a field for each lot, a list to bring back, and what it will change before it is applied."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from server.domain.model.bench import Bench, Lot
from server.domain.model.catalogue import Catalogue
from server.web.forms import Typed
from server.web.reading.stocktaking import USUAL_REASON, Counted, Counts, written_counts
from server.web.views import formats
from server.web.views.fields import Field, Fields, Trouble
from server.web.views.pieces import Swatch, swatch
from server.web.views.shelf import chosen_lots, kept_words, material_name, origin_words, quantity, unit_of


@dataclass(frozen=True, slots=True)
class CountRow:
    """One lot to count."""

    number: int
    href: str
    name: str
    colour: Swatch | None
    origin: str
    kept: str
    expected: str
    count: Field


@dataclass(frozen=True, slots=True)
class CountPage:
    """The form of a stock-taking."""

    rows: tuple[CountRow, ...]
    action: str
    reason: Field
    file: Field
    exports: str
    troubles: tuple[Trouble, ...]
    message: str


@dataclass(frozen=True, slots=True)
class CountChange:
    """What will change of one lot."""

    number: int
    href: str
    name: str
    colour: Swatch | None
    was: str
    now: str
    difference: str
    reason: str
    notes: tuple[str, ...]
    """What is unusual about it."""


@dataclass(frozen=True, slots=True)
class CountHeld:
    """A count that is not written, and what to do first."""

    number: int
    href: str
    text: str


@dataclass(frozen=True, slots=True)
class CountReview:
    """What a stock-taking will change, to be confirmed."""

    changes: tuple[CountChange, ...]
    same: str
    left_out: str
    older: str
    """Said of a list that the ledger has gone on from; otherwise empty."""
    moved: tuple[CountHeld, ...]
    """Lots of the list that changed since it was written."""
    held_back: tuple[CountHeld, ...]
    counts: str
    """The changes for a hidden field."""
    base: int
    message: str


def count_page(
    bench: Bench, catalogue: Catalogue, builds: Mapping[str, str], *, chosen: str = "", typed: Typed | None = None
) -> CountPage:
    """The view of the form.

    Args:
        bench: The shelf as it stands.
        catalogue: For names and colours.
        builds: Names of builds by id.
        chosen: The material that is counted; empty for all.
        typed: A form that was refused.
    """
    fields = Fields(typed)
    query = f"?material={chosen}" if chosen else ""
    return CountPage(
        rows=tuple(_row(lot, catalogue, builds, fields) for lot in chosen_lots(bench, chosen)),
        action=f"/shelf/count{query}",
        reason=fields.text("reason", "Reason for all that differs", USUAL_REASON),
        file=fields.text("file", "Changed list, CSV or XLSX", ""),
        exports=query,
        troubles=fields.troubles(),
        message="",
    )


def count_review(counts: Counts, bench: Bench, catalogue: Catalogue) -> CountReview:
    """The view of what will change.

    Args:
        counts: What was counted.
        bench: The shelf as it stands.
        catalogue: For names and colours.
    """
    return CountReview(
        changes=tuple(
            CountChange(
                each.lot,
                f"/shelf/{each.lot}",
                material_name(lot.material, catalogue),
                swatch(catalogue, lot.material.colour) if lot.material.colour else None,
                quantity(lot.material, each.was),
                quantity(lot.material, each.now),
                f"{'+' if each.now > each.was else '−'}{quantity(lot.material, abs(each.now - each.was))}",
                each.reason,
                tuple(_notes(each, lot, counts)),
            )
            for each in counts.changes
            for lot in (bench.lots[each.lot],)
        ),
        same=formats.count(counts.same, "lot"),
        left_out=formats.count(counts.left_out, "lot") if counts.left_out else "",
        older=_older(counts),
        moved=tuple(CountHeld(lot, f"/shelf/{lot}", f"lot {lot}") for lot in counts.moved),
        held_back=tuple(
            CountHeld(held.lot, f"/shelf/{held.lot}", f"{shown}: {held.message}")
            for held in counts.held_back
            for shown in (quantity(bench.lots[held.lot].material, held.count),)
        ),
        counts=written_counts(counts),
        base=bench.entries,
        message="",
    )


def _older(counts: Counts) -> str:
    if not counts.since:
        return "Lots of this list changed since it was written." if counts.moved else ""
    verb = "was" if counts.since == 1 else "were"
    number = f"{counts.since} {'entry' if counts.since == 1 else 'entries'}"
    return f"This list is older: {number} {verb} written since."


def _notes(each: Counted, lot: Lot, counts: Counts) -> Iterator[str]:
    if each.beyond:
        yield "more than was ever received"
    if each.lot in counts.moved:
        yield "changed since the list was written"
    if each.shrinks:
        yield f"{each.shrinks} then keeps {'only ' if each.now else ''}{quantity(lot.material, each.now)}"


def _row(lot: Lot, catalogue: Catalogue, builds: Mapping[str, str], fields: Fields) -> CountRow:
    name = material_name(lot.material, catalogue)
    label = f"Counted of lot {lot.id}, {name} {lot.material.colour}".strip()
    return CountRow(
        lot.id,
        f"/shelf/{lot.id}",
        name,
        swatch(catalogue, lot.material.colour) if lot.material.colour else None,
        origin_words(lot, builds),
        "; ".join(kept_words(lot, builds)),
        quantity(lot.material, lot.left),
        fields.text(f"count.{lot.id}", label, "", unit=unit_of(lot.material)),
    )
