"""What changed at the bench: what was cut, held against the plan wire by wire, and what can be done about it."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from server.domain.model.plan import SPARE, ChangeState, WireChange
from server.services.opened import Opened
from server.services.revisions import Since
from server.web.views import formats
from server.web.views.differences import since_words
from server.web.views.fields import Field, Fields

MARKS: dict[ChangeState, str] = {
    "too_short": "■",
    "trim": "▲",
    "not_needed": "◇",
    "waits": "…",
    "new": "+",
    "good": "✓",
    "unchanged": "✓",
}
NAMES: dict[ChangeState, str] = {
    "too_short": "Too short",
    "trim": "To trim",
    "not_needed": "Not needed any more",
    "waits": "Waiting for a length",
    "new": "Still to cut",
    "good": "Still good",
    "unchanged": "As planned",
}
TEXTS: dict[ChangeState, str] = {
    "too_short": "The wire has grown: cut it anew. The old piece is a remnant that may serve another wire.",
    "trim": "Longer than is needed now. Trim it, and what falls off is scrap.",
    "not_needed": "No wire of this build asks for these pieces as they are.",
    "waits": "The run is not measured now: keep the piece until it is.",
}
CONTACTS = (
    "A piece that is crimped carries contacts. Cut shorter or used for another wire, "
    "its ticks are cleared: crimp and test it again."
)
SETTLED: tuple[tuple[ChangeState, str], ...] = (
    ("unchanged", "as planned"),
    ("good", "still good, not cut so today but long enough"),
)
_USES_SHOWN = 12
"""Wires offered for one piece."""
_SERVES_SHOWN = 6
"""Labels written out of what one piece serves."""

Deed = Literal["trim", "trim_all", "cut", "keep", "keep_all", "use", "scrap"]
"""What a button does: trim to what is wanted; cut up as the roll plan says; keep as a remnant; use for another wire;
throw away."""


@dataclass(frozen=True, slots=True)
class DeedButton:
    """A button that writes into the ledger."""

    deed: Deed
    label: str


@dataclass(frozen=True, slots=True)
class ChangeLine:
    """Pieces of one run that are alike and need the same decision."""

    pieces: tuple[int, ...]
    labels: str
    name: str
    length: str
    wanted: str
    """What the plan wants now; empty for nothing."""
    off: str
    """By how much it is off, and what it serves."""
    contacts: str
    """Says that it carries contacts; empty where it carries none."""
    deeds: tuple[DeedButton, ...]
    use: Field | None
    """Other wires that it could serve."""
    reason: Field | None
    """Why it is thrown away."""
    scrap: str
    """What the button says that throws it away."""


@dataclass(frozen=True, slots=True)
class ChangeGroup:
    """All pieces in one state."""

    state: ChangeState
    mark: str
    name: str
    count: str
    text: str
    deeds: bool
    """Whether anything can be done about them."""
    all: DeedButton | None
    """One button for all of them, where there are several."""
    lines: tuple[ChangeLine, ...]


@dataclass(frozen=True, slots=True)
class RunLine:
    """How much of one run is still to cut."""

    run: int
    href: str
    name: str
    count: str
    labels: str


@dataclass(frozen=True, slots=True)
class RewiredLine:
    """Wires of one run that are fitted where the plan no longer has them."""

    run: int
    href: str
    name: str
    labels: str


@dataclass(frozen=True, slots=True)
class ChangesPanel:
    """What was cut, held against the plan."""

    href: str
    exports: str
    """Address of the list as a file, without its ending."""
    rolls: str
    bench: str
    base: int
    ledger: int
    """Number of the ledger's last entry that the page knows of."""
    since: str
    nothing_cut: bool
    settled: tuple[tuple[str, str], ...]
    """(mark, words) for what needs no decision."""
    groups: tuple[ChangeGroup, ...]
    new: tuple[RunLine, ...]
    new_count: str
    rewired: tuple[RewiredLine, ...]
    """Wires that are fitted and wired otherwise now, by run."""
    rewired_count: str
    """How many, in words; empty for none."""


def changes_panel(opened: Opened, base: int, fields: Fields, since: Since | None, *, inches: bool) -> ChangesPanel:
    """The view of what changed at the bench.

    Args:
        opened: The build as it stands.
        base: Revision that the page was made from.
        fields: Makes the fields with what was typed last.
        since: What the build costs beyond its newest named revision.
        inches: Whether lengths are shown in inches.
    """
    href = f"/builds/{opened.build_id}"
    changes = opened.plan.changes
    counts = Counter(change.state for change in changes)
    rewired = sum(1 for change in changes if change.rewired)
    held = tuple(_group(opened, state, changes, fields, inches=inches) for state in TEXTS if counts[state])
    return ChangesPanel(
        href=f"{href}/changes",
        exports=f"{href}/export/changes",
        rolls=f"{href}/rolls",
        bench=f"{href}/ledger",
        base=base,
        ledger=opened.ledger,
        since=since_words(since),
        nothing_cut=not any(change.piece for change in changes),
        settled=tuple(
            (MARKS[state], f"{formats.count(counts[state], 'piece')} {words}")
            for state, words in SETTLED
            if counts[state]
        ),
        groups=held,
        new=_new(opened, changes),
        new_count=formats.count(counts["new"], "piece"),
        rewired=tuple(
            RewiredLine(run, href, name, formats.listed(labels))
            for run, href, name, labels in _by_run(opened, (change for change in changes if change.rewired))
        ),
        rewired_count=f"{formats.count(rewired, 'wire')} wired otherwise now" if rewired else "",
    )


def _group(
    opened: Opened, state: ChangeState, changes: Sequence[WireChange], fields: Fields, *, inches: bool
) -> ChangeGroup:
    ready = _ready(opened) if state in ("too_short", "not_needed") else {}
    crimped = {piece.id for piece in opened.on_hand.pieces if "crimped" in piece.stages}
    alike: dict[tuple[object, ...], list[WireChange]] = {}
    for change in changes:
        if change.state == state:
            key = (
                change.run,
                change.name,
                change.length_mm,
                change.cut_mm,
                change.off_mm,
                change.serves,
                change.piece in crimped,
            )
            alike.setdefault(key, []).append(change)
    lines = tuple(
        _line(
            group,
            changes,
            fields,
            ready.get(group[0].piece, ()),
            contacts=state != "waits" and group[0].piece in crimped,
            inches=inches,
        )
        for group in alike.values()
    )
    number = sum(len(group) for group in alike.values())
    together = {
        "trim": DeedButton("trim_all", f"Trim all {number}"),
        "not_needed": DeedButton("keep_all", f"Keep all {number} as remnants"),
    }
    return ChangeGroup(
        state,
        MARKS[state],
        NAMES[state],
        formats.count(number, "piece"),
        f"{TEXTS[state]} {CONTACTS}" if any(line.contacts for line in lines) else TEXTS[state],
        state != "waits",
        together.get(state) if len(lines) > 1 else None,
        lines,
    )


def _line(
    group: Sequence[WireChange],
    changes: Sequence[WireChange],
    fields: Fields,
    ready: Sequence[str],
    *,
    contacts: bool,
    inches: bool,
) -> ChangeLine:
    def length(value_mm: int) -> str:
        return formats.length(value_mm, inches=inches)

    change = group[0]
    number, several = change.piece, f"{len(group)} × " if len(group) > 1 else ""
    idle = change.state in ("too_short", "not_needed")
    options = [(use.id, f"{use.label}, {length(use.cut_mm)}") for use in uses_of(change, changes)] if idle else []
    off = {"too_short": f"{length(change.off_mm)} too short", "trim": f"{length(change.off_mm)} too long"}
    told = (off.get(change.state, ""), _serves(change) if idle else "")
    use = f"Use {change.label if several else 'it'} for"
    return ChangeLine(
        pieces=tuple(held.piece for held in group),
        labels=formats.listed(held.label for held in group),
        name=change.name,
        length=f"{several}{length(change.length_mm)}",
        wanted=length(change.cut_mm) if change.cut_mm else "",
        off="; ".join(text for text in told if text),
        contacts="it is crimped and carries contacts" if contacts else "",
        deeds=tuple(_deeds(change, length(change.cut_mm), ready, len(group))),
        use=fields.choice(f"use.{number}", use, "", options) if options else None,
        reason=fields.text(f"reason.{number}", "Why thrown away", "") if idle else None,
        scrap=f"Throw all {len(group)} away" if several else "Throw away",
    )


def _deeds(change: WireChange, wanted: str, ready: Sequence[str], number: int) -> Iterable[DeedButton]:
    """What is usually done about a piece, or so many that are alike."""
    if change.state == "trim":
        yield DeedButton("trim", f"Trim to {wanted}" if number == 1 else f"Trim {number} to {wanted}")
    if change.state in ("too_short", "not_needed"):
        # What pieces serve tells them apart, unless it is spares; and those are not cut by the wire.
        if ready and number == 1:
            yield DeedButton("cut", f"Cut it for {_some(ready)}")
        yield DeedButton("keep", "Keep as a remnant" if number == 1 else f"Keep {number} as remnants")


def _ready(opened: Opened) -> dict[int, list[str]]:
    """Labels of what can be cut now from each piece that no longer serves, as the roll plan has it."""
    return {
        layout.lot: labels
        for sheet in opened.plan.rolls
        for layout in sheet.layouts
        if layout.source == "piece"
        and (labels := [piece.label for piece in layout.pieces if piece.ready and piece.label != SPARE])
    }


def _some(labels: Sequence[str]) -> str:
    more = len(labels) - _SERVES_SHOWN
    return formats.listed(labels[:_SERVES_SHOWN]) + (f" and {more} more" if more > 0 else "")


def _serves(change: WireChange) -> str:
    wires = [label for label in change.serves if label != SPARE]
    if wires:
        return f"the roll plan cuts {_some(wires)} from it"
    return "the roll plan keeps it for spares" if change.serves else "serves no other wire now"


def uses_of(change: WireChange, changes: Sequence[WireChange]) -> list[WireChange]:
    """Wires that a piece could serve as it is, or trimmed: of its material, still to cut, and no longer than it.

    Those that the roll plan cuts from it come first, then the longest.
    """
    fitting = [
        other
        for other in changes
        if other.state in ("new", "too_short")
        and other.piece != change.piece
        and other.name == change.name
        and 0 < other.cut_mm <= change.length_mm
    ]
    fitting.sort(key=lambda other: (other.label not in change.serves, -other.cut_mm, other.label))
    return fitting[:_USES_SHOWN]


def _new(opened: Opened, changes: Iterable[WireChange]) -> tuple[RunLine, ...]:
    """What is still to cut, by run."""
    return tuple(
        RunLine(run, href, name, formats.count(len(labels), "piece"), formats.listed(labels))
        for run, href, name, labels in _by_run(opened, (change for change in changes if change.state == "new"))
    )


def _by_run(opened: Opened, changes: Iterable[WireChange]) -> Iterable[tuple[int, str, str, list[str]]]:
    """Number, address and name of each run that some changes are about, and their labels."""
    names = {run.number: (run.id, run.name) for run in opened.plan.runs}
    by_run: dict[int, list[str]] = {}
    for change in changes:
        by_run.setdefault(change.run, []).append(change.label)
    for run, labels in sorted(by_run.items()):
        if run in names:
            yield run, f"/builds/{opened.build_id}/runs/{names[run][0]}", names[run][1], labels
