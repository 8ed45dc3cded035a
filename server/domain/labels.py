"""Labels of wires: which wires get one, what stands on it, and in which order they come."""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Literal, get_args

from server.domain.continuity import Spot, leads_of, name_of, plug_name
from server.domain.errors import Problem
from server.domain.label_sheet import LabelSheet
from server.domain.label_text import LabelForm
from server.domain.model.plan import PlannedWire, RunPlan

Line = Literal["label", "plug", "cavity", "net", "colour"]
Ends = Literal["both", "source", "part"]
"""Which ends of a wire get a label."""
Says = Literal["own", "both"]
"""Where the labelled end goes, or where both ends go, so that both labels of a wire are alike."""
LINES: tuple[Line, ...] = get_args(Line)
COPIES_MOST = 20
NO_BREAK = "\u00a0"
"""Between plug and cavity, which stay on one line."""
LABELS_MOST = 5000
"""More are a slip: the largest builds have some two thousand wire ends."""


@dataclass(frozen=True, slots=True)
class LabelSettings:
    """What the builder sets for labels."""

    sheet: LabelSheet = field(default_factory=LabelSheet)
    form: LabelForm = field(default_factory=LabelForm)
    lines: tuple[Line, ...] = ("label", "plug", "cavity", "net")
    ends: Ends = "both"
    says: Says = "own"
    copies: int = 1
    first: int = 1
    """The first free label of the sheet that was begun."""


@dataclass(frozen=True, slots=True)
class WireLabel:
    """One label."""

    run: int
    wire: str
    """The wire's label: run, dash, part-end cavity."""
    end: Literal["source", "part"]
    plug: str
    """Where the end goes; for an end that is joined to another wire, to which."""
    cavity: str
    net: str
    colour: str
    """Code of the wire's colour; empty for the supply's own wire, which is as its maker made it."""
    lines: tuple[str, ...]
    """What stands on it."""


def waits_words(run: RunPlan) -> str:
    """Why the wires of a run get no labels yet, in words; empty where they do, or where there are none.

    Args:
        run: The planned run.
    """
    if not run.wires:
        return ""
    if not run.proved:
        return "the independent check found a fault"
    return "" if run.state == "measured" else "no length is measured yet"


def labels_of(
    runs: Sequence[RunPlan], settings: LabelSettings, left_out: Collection[str] = ()
) -> tuple[WireLabel, ...]:
    """Every label, run by run in ribbon order, the source end of a wire first; copies follow each other.

    Args:
        runs: Runs as planned; those that wait for a length get no labels.
        settings: What is on a label, and how many there are.
        left_out: Ids of runs that get none.
    """
    return tuple(
        label
        for run in runs
        if run.id not in left_out and not waits_words(run)
        for wire in run.wires
        for label in _of_wire(run, wire, settings)
        for _ in range(settings.copies)
    )


def first_problems(settings: LabelSettings) -> tuple[Problem, ...]:
    """What is wrong with the first free label: a sheet without problems has no such one."""
    most = settings.sheet.per_sheet
    if 1 <= settings.first <= most:
        return ()
    return (Problem("first", f"The sheet has labels 1 to {most}."),)


def _of_wire(run: RunPlan, wire: PlannedWire, settings: LabelSettings) -> Iterator[WireLabel]:
    lead = next(lead for lead in leads_of(run) if lead.label == wire.label)
    joined = _joined(run, wire)
    ends: tuple[tuple[Literal["source", "part"], Spot, str], ...] = (
        ("source", lead.spots[0], joined),
        ("part", lead.spots[-1], ""),
    )
    colour = wire.colour if wire.buy_mm else ""
    for end, spot, to_wire in ends:
        if settings.ends in ("both", end):
            spoken = ends if settings.says == "both" else ((end, spot, to_wire),)
            places = [place for _, at, joint in spoken if (place := _place(run, at, joint, settings.lines))]
            told = {"label": [wire.label], "plug": places, "net": [wire.net], "colour": [colour] if colour else []}
            shown = dict.fromkeys("plug" if line == "cavity" else line for line in LINES if line in settings.lines)
            lines = tuple(text for line in shown for text in told[line])
            plug = to_wire or plug_name(run, spot.side, spot.plug)
            yield WireLabel(run.number, wire.label, end, plug, "" if to_wire else spot.cavity, wire.net, colour, lines)


def _place(run: RunPlan, spot: Spot, joint: str, lines: Collection[str]) -> str:
    """Where an end goes, as far as it is to be said: plug, cavity or both."""
    if joint:
        return joint
    if "plug" in lines and "cavity" in lines:
        plug, _, cavity = name_of(run, spot).rpartition(" ")
        return f"{plug}{NO_BREAK}{cavity}" if cavity == spot.cavity else name_of(run, spot)
    return plug_name(run, spot.side, spot.plug) if "plug" in lines else spot.cavity


def _joined(run: RunPlan, wire: PlannedWire) -> str:
    """To which other wire a wire is joined at its source end; empty for one that ends in a contact."""
    if wire.source.crimped:
        return ""
    for joint in run.joints:
        if joint.kind == "splice" and wire.label in joint.labels:
            return f"to {', '.join(label for label in joint.labels if label != wire.label)}"
    return ""
