"""What happened at the bench, and what waits, as sheets of typed cells for files."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from server.documents.tables import Cell, Column, Sheet
from server.domain.model.bench import STAGES, Bench, Cut, Entry, Receive, Undo
from server.domain.model.plan import RunPlan, Waiting
from server.services.bench import StoredEntry
from server.services.bench_work import Work, WorkState, work_of
from server.services.opened import Opened
from server.web.views import formats
from server.web.views.changes import NAMES
from server.web.views.export_cells import MOMENT, NUMBER, WHOLE, money, yes
from server.web.views.ledger_words import LedgerWords, material_words
from server.web.views.pieces import run_title
from server.web.views.waiting import held_up, wants

_STATES: Mapping[WorkState, str] = {
    "cut": "cut",
    "shelf": "to cut from the shelf",
    "piece": "to cut from a piece",
    "buy": "to buy first",
    "waits": "waits for a length",
    "no_roll": "no roll is known",
}


@dataclass(frozen=True, slots=True)
class Records:
    """What lists read of the ledger and the shelf."""

    bench: Bench = field(default_factory=Bench)
    entries: Mapping[int, Entry] = field(default_factory=dict)
    """Every entry of the ledger by its number."""
    own: tuple[StoredEntry, ...] = ()
    """Entries that concern the build, newest first."""
    builds: Mapping[str, str] = field(default_factory=dict)
    """Names of builds by id."""
    suppliers: Mapping[tuple[str, str], str] = field(default_factory=dict)
    """The builder's own words by kind and item."""


def changes_sheet(opened: Opened) -> Sheet:
    """Every piece that was cut and every one still to cut, held against the plan.

    Args:
        opened: The build as it stands.
    """
    columns = (
        Column("run", WHOLE),
        Column("label"),
        Column("material"),
        Column("state"),
        Column("piece", WHOLE),
        Column("length of it, mm", WHOLE),
        Column("wanted now, mm", WHOLE),
        Column("too long or too short by, mm", WHOLE),
        Column("serves"),
        Column("wired otherwise now"),
    )
    rows = tuple(
        (
            change.run,
            change.label,
            change.name,
            NAMES[change.state].lower(),
            change.piece or None,
            change.length_mm if change.piece else None,
            change.cut_mm or None,
            change.off_mm or None,
            formats.listed(change.serves),
            yes(change.rewired),
        )
        for change in opened.plan.changes
    )
    return Sheet("What changed at the bench", columns, rows)


def waiting_sheet(opened: Opened) -> Sheet:
    """Cut now or wait: every run, what it waits for and what waiting costs.

    Args:
        opened: The build as it stands.
    """
    columns = (
        Column("run", WHOLE),
        Column("run name"),
        Column("state"),
        Column("waits for"),
        Column("length, mm", NUMBER),
        Column("at least, mm", NUMBER),
        Column("most likely, mm", NUMBER),
        Column("at most, mm", NUMBER),
        Column("wires", WHOLE),
        Column("wire bought, mm", WHOLE),
        Column("wire most likely taken, mm", WHOLE),
        money("waiting costs", opened.plan.estimate.currency),
    )
    held = {entry.run: entry for entry in opened.plan.waiting}
    rows = tuple(_waiting_row(run, held.get(run.number)) for run in opened.plan.runs)
    return Sheet("Cut now or wait", columns, rows)


def _waiting_row(run: RunPlan, entry: Waiting | None) -> tuple[Cell, ...]:
    reason = "" if entry else held_up(run)
    state = "waits" if entry else "held up" if reason else "cut now"
    bought: tuple[Cell, ...] = (None, None, None)
    if entry and entry.buy_mm:
        bought = (entry.buy_mm, entry.likely_buy_mm, entry.wait_price)
    return (
        run.number,
        run_title(run),
        state,
        wants(run, entry) if entry else reason,
        run.length_mm,
        run.low_mm,
        run.likely_mm,
        run.high_mm,
        len(run.wires),
        *bought,
    )


def work_sheet(opened: Opened) -> Sheet:
    """Work at the bench: every wire, sleeve and tube with the stages that it has come through.

    Args:
        opened: The build as it stands.
    """
    columns = (
        Column("run", WHOLE),
        Column("label"),
        Column("material"),
        Column("state"),
        Column("cut, mm", WHOLE),
        Column("piece", WHOLE),
        Column("length of it, mm", WHOLE),
        Column("from lot", WHOLE),
        *(Column(stage) for stage in STAGES),
        Column("finished"),
    )
    return Sheet("Work at the bench", columns, tuple(_work_row(work, opened) for work in work_of(opened)))


def _work_row(work: Work, opened: Opened) -> tuple[Cell, ...]:
    piece = work.piece
    return (
        work.run,
        work.label,
        material_words(work.material, opened.catalogue),
        _STATES[work.state],
        work.cut_mm or None,
        piece.id if piece else None,
        piece.length_mm if piece else None,
        piece.lot if piece else work.source if work.state == "shelf" else None,
        *(_stage(work, stage) for stage in STAGES),
        yes(work.finished),
    )


def _stage(work: Work, stage: str) -> str:
    """How far a stage is: done, one end, open, or nothing that the piece goes through."""
    if stage not in work.stages:
        return "not needed"
    if stage in work.done_stages():
        return "done"
    ends = work.piece.crimped_ends if work.piece and stage == "crimped" else ()
    return f"{ends[0]} end only" if ends else "open"


def ledger_sheet(opened: Opened, records: Records) -> Sheet:
    """Entries of the ledger that concern a build, first to last.

    Args:
        opened: The build as it stands.
        records: The ledger.
    """
    currency = opened.build.rates.currency
    words = LedgerWords(records.entries, opened.catalogue, records.builds, currency)
    columns = (
        Column("entry", WHOLE),
        Column("written", MOMENT),
        Column("what was done"),
        Column("state"),
        Column("run", WHOLE),
        Column("piece", WHOLE),
        Column("lot", WHOLE),
        Column("length, mm", WHOLE),
        Column("pieces", WHOLE),
        Column("seconds", WHOLE),
        money("price", currency),
    )
    rows = tuple(_ledger_row(stored, words, records) for stored in reversed(records.own))
    return Sheet("Ledger", columns, rows)


def _ledger_row(stored: StoredEntry, words: LedgerWords, records: Records) -> tuple[Cell, ...]:
    entry, number = stored.entry, stored.number
    piece = number if isinstance(entry, Cut) else getattr(entry, "piece", None)
    lot = number if isinstance(entry, Receive) else getattr(entry, "lot", None)
    price: Decimal | None = getattr(entry, "price", None)
    return (
        number,
        formats.local(stored.at).replace(tzinfo=None),
        words.say(number),
        _state(number, entry, records),
        getattr(entry, "run", None) or None,
        piece,
        lot,
        *_quantity(entry, lot, records),
        getattr(entry, "seconds", None),
        price or None,
    )


def _state(number: int, entry: Entry, records: Records) -> str:
    if isinstance(entry, Undo):
        return f"undoes entry {entry.entry}"
    return "undone" if number in records.bench.undone else "stands"


def _quantity(entry: Entry, lot: int | None, records: Records) -> tuple[Cell, Cell]:
    """The length that an entry speaks of, or the number of pieces."""
    length, quantity = getattr(entry, "length_mm", None), getattr(entry, "quantity", None)
    if quantity is None:
        return length, getattr(entry, "count", None)
    held = records.bench.lots.get(lot or 0)
    # An undone lot is on no shelf any more; what it was made of stands in its own entry.
    material = getattr(entry, "material", None) or (held.material if held else None)
    return (quantity, None) if material and material.by_length else (None, quantity)
