"""The bench: how far every run is, one tap to tick what is done, and the ledger with its undoing."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from server.domain.model.bench import STAGES, Bench, Entry, Material, Undo
from server.services.bench import StoredEntry
from server.services.bench_work import Work, work_of
from server.services.opened import Opened
from server.web.forms import Typed
from server.web.views import formats
from server.web.views.bench_address import bench_href
from server.web.views.fields import Fields
from server.web.views.ledger_batch import Batch, batch_view, batches_of, named
from server.web.views.ledger_words import LedgerWords
from server.web.views.pieces import Swatch
from server.web.views.progress import StageCount, counts_of, finished

PAGE = 25
"""Entries on one page of the ledger."""


@dataclass(frozen=True, slots=True)
class Told:
    """What the address or the last form says beside the build itself."""

    of: str = ""
    """Which batch is open."""
    page: int = 1
    written: tuple[int, ...] = ()
    """Entries that were written this moment."""


@dataclass(frozen=True, slots=True)
class BatchLink:
    """A run or a material, and how far it is."""

    of: str
    href: str
    number: int
    """Of the run; 0 for a material."""
    name: str
    colour: Swatch | None
    current: bool
    counts: tuple[StageCount, ...]


@dataclass(frozen=True, slots=True)
class EntryRow:
    """One entry of the ledger."""

    number: int
    at: str
    at_iso: str
    words: str
    state: str
    """``open`` (can be undone), ``undone`` or ``undo``."""
    problem: str
    fresh: bool


@dataclass(frozen=True, slots=True)
class LedgerPanel:
    """Progress, the batch that is open, and the ledger."""

    href: str
    work_file: str
    ledger_file: str
    """Addresses of both lists as files, without their ending."""
    base: int
    revision: int
    metered: bool
    overall: tuple[StageCount, ...]
    batch: Batch | None
    runs: tuple[BatchLink, ...]
    materials: tuple[BatchLink, ...]
    heads: tuple[str, ...]
    entries: tuple[EntryRow, ...]
    total: str
    page: int
    newer: str
    older: str
    written: str
    """Entries written this moment, in words."""
    written_numbers: str
    problem: str
    buys_href: str
    rolls_href: str
    bench_href: str
    """The bench screen, at the run that is open."""
    changes_href: str
    materials_href: str
    """Address of the first material, where a run is open."""
    spare: str
    """Pieces that serve nothing now, in words."""


@dataclass(frozen=True, slots=True)
class Records:
    """What the panel reads beside the build."""

    bench: Bench
    entries: Mapping[int, Entry]
    """Every entry of the ledger by its number."""
    own: Sequence[StoredEntry]
    """Entries that concern the build, newest first."""
    builds: Mapping[str, str]
    parts: Mapping[Material, int] = field(default_factory=dict)
    """Counted things that the open run still takes."""


def told_of(typed: Typed) -> Told:
    """What a form or an address says of the batch, the page and what was written.

    Args:
        typed: The form, or the address's query read as one.
    """
    page = typed.first("page", "1")
    written = typed.first("written").split("-")
    numbers = [int(text) for text in written if text.isascii() and text.isdecimal() and len(text) < 9]
    span = tuple(range(numbers[0], numbers[-1] + 1)) if numbers and numbers[-1] - numbers[0] < 5_000 else ()
    return Told(typed.first("of"), int(page) if page.isascii() and page.isdecimal() and len(page) < 6 else 1, span)


def opened_batch(opened: Opened, told: Told) -> str:
    """Key of the batch that is open: the one asked for, or the first run that is not finished.

    Args:
        opened: The build as it stands.
        told: What was asked for.
    """
    batches = batches_of(opened)
    if told.of in batches:
        return told.of
    return next((key for key, work in batches.items() if not finished(work)), next(iter(batches), ""))


def ledger_panel(opened: Opened, records: Records, fields: Fields) -> LedgerPanel:
    """The view of the bench.

    Args:
        opened: The build as it stands.
        records: The ledger.
        fields: Makes the fields with what was typed last; what it holds also says which batch is open.
    """
    told = told_of(fields.sent)
    batches, key = batches_of(opened), opened_batch(opened, told)
    href = f"/builds/{opened.build_id}/ledger"
    links = tuple(_link(of, work, opened, key) for of, work in batches.items())
    problems = {problem.field: problem.message for problem in fields.sent.problems}
    spare = sum(1 for change in opened.plan.changes if change.state in ("not_needed", "too_short"))
    pages = max(1, -(-len(records.own) // PAGE))
    page = min(max(told.page, 1), pages)
    written = _rows(opened, records, told.written, {})
    return LedgerPanel(
        href=href,
        work_file=f"/builds/{opened.build_id}/export/work",
        ledger_file=f"/builds/{opened.build_id}/export/ledger",
        base=opened.ledger,
        revision=opened.revision,
        metered=opened.plan.metered,
        overall=counts_of(work_of(opened)),
        batch=batch_view(key, batches, opened, records.parts, fields) if key else None,
        runs=tuple(link for link in links if link.number),
        materials=tuple(link for link in links if not link.number),
        heads=("wires cut", "sleeve, tube cut", *STAGES),
        entries=_rows(opened, records, [s.number for s in records.own[PAGE * (page - 1) : PAGE * page]], problems),
        total=formats.count(len(records.own), "entry", "entries"),
        page=page,
        newer=f"{href}?of={key}&page={page - 1}#ledger-log" if page > 1 else "",
        older=f"{href}?of={key}&page={page + 1}#ledger-log" if page < pages else "",
        written=_written(written),
        written_numbers=f"{told.written[0]}-{told.written[-1]}" if _standing(written) else "",
        problem=problems.get("base", ""),
        buys_href=f"/builds/{opened.build_id}/buys",
        rolls_href=f"/builds/{opened.build_id}/rolls",
        bench_href=bench_href(opened.build_id, key.removeprefix("run:") if key.startswith("run:") else ""),
        changes_href=f"/builds/{opened.build_id}/changes",
        materials_href=next((link.href for link in links if not link.number), "") if key.startswith("run:") else "",
        spare=formats.count(spare, "piece serves", "pieces serve") + " nothing now" if spare else "",
    )


def _link(of: str, work: Sequence[Work], opened: Opened, current: str) -> BatchLink:
    number, name, colour = named(of, work, opened)
    href = f"/builds/{opened.build_id}/ledger?of={of}"
    return BatchLink(of, href, number, name, colour, of == current, counts_of(work))


def _rows(
    opened: Opened, records: Records, numbers: Sequence[int], problems: Mapping[str, str]
) -> tuple[EntryRow, ...]:
    currency = opened.build.rates.currency
    words = LedgerWords(records.entries, opened.catalogue, records.builds, currency)
    stored = {held.number: held for held in records.own}
    return tuple(
        EntryRow(
            number,
            formats.clock(stored[number].at),
            stored[number].at,
            words.say(number),
            _state(number, records),
            problems.get(f"entry.{number}", ""),
            fresh=False,
        )
        for number in numbers
        if number in stored
    )


def _state(number: int, records: Records) -> str:
    if isinstance(records.entries[number], Undo):
        return "undo"
    return "undone" if number in records.bench.undone else "open"


def _standing(rows: Sequence[EntryRow]) -> bool:
    """Whether what was written can be taken back in one go."""
    return bool(rows) and all(row.state == "open" for row in rows)


def _written(rows: Sequence[EntryRow]) -> str:
    """Entries that were written this moment, in words."""
    if not rows:
        return ""
    more = f" and {len(rows) - 1} more" if len(rows) > 1 else ""
    return f"{rows[0].words}{more}"
