"""What the harness drawing is laid out from: sizes, sockets, boxes, and runs taken apart into branches."""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

from server.domain.model.catalogue import Catalogue, Housing
from server.domain.model.plan import PlannedWire, RunPlan
from server.drawing import svg
from server.drawing.plugs import cells, length_words, stops, wire_words

Key = tuple[str, str]
"""Part (or the supply) and socket."""

PX_PER_MM = 2.4
LEAST_CELL, GREATEST_CELL, CELL_RIM = 6.5, 11.0, 3.0
LATCH = 4.0
WIRE = 2.4
"""From one wire to the next in a ribbon on the harness. [px]"""
MARGIN, INSET = 24.0, 20.0
BOX_HEAD, BOX_FOOT, BOX_GAP = 30.0, 6.0, 18.0
LABEL_GAP, LABEL_LINE = 10.0, 12.5
"""From a face to its name beside it, and from one line of the name to the next. [px]"""
SOURCE_LABEL = 176.0
ROW_GAP = 5.0
BALLOON = 10.0
BALLOON_ROOM = 25.0
"""Room above a ribbon's middle line for balloon and length. [px]"""
RIGHT_WIDE = 340.0
RIGHT_INSET, BUS_INSET, BUS = 28.0, 84.0, 60.0
LEAST_WIDE = 1140.0


@dataclass(frozen=True, slots=True)
class Slot:
    """One socket on the drawing with its face."""

    key: Key
    label: str
    """Its name, written beside the face."""
    housing: Housing | None
    turned: bool
    x: float
    """Left edge of the face. [px]"""
    y: float
    """Middle of the face. [px]"""
    broad: float
    high: float
    run: int | None
    reason: str = ""
    """Why an inlet is not fed; empty for one that is."""
    label_room: float = SOURCE_LABEL
    """Room for the name beside the face. [px]"""


@dataclass(frozen=True, slots=True)
class Box:
    """The supply, or one part, with its sockets."""

    part: str
    title: str
    is_source: bool
    x: float
    y: float
    broad: float
    high: float
    slots: tuple[Slot, ...]


@dataclass(frozen=True, slots=True)
class Branch:
    """Wires of a run that go from one source plug to the same part plug first."""

    run: int
    source: Key
    end: Key
    wires: tuple[PlannedWire, ...]
    first: bool
    """True for the branch that carries the run's length."""


@dataclass(frozen=True, slots=True)
class Hop:
    """Wires of a chain that go on from one part plug to a later one."""

    run: int
    start: Key
    end: Key
    wires: tuple[PlannedWire, ...]
    spacing_mm: float | None


@dataclass(frozen=True, slots=True)
class Draft:
    """A socket before it has its place."""

    key: Key
    label: str
    housing: Housing | None
    turned: bool
    run: int | None
    up: float
    """Room above the middle of the face. [px]"""
    down: float
    use: str = ""
    chained: bool = False
    reason: str = ""


def face_size(housing: Housing | None, catalogue: Catalogue) -> tuple[float, float, float, float]:
    """Width and height of a small face, and its column and row pitch. [px]"""
    if housing is None:
        return 22.0, 16.0, GREATEST_CELL, GREATEST_CELL
    family = catalogue.families.get(housing.family)
    pitch = min(GREATEST_CELL, max(LEAST_CELL, (family.pitch_mm if family else 4.2) * PX_PER_MM))
    row_pitch = min(GREATEST_CELL, max(pitch, (family.row_pitch_mm if family else 4.2) * PX_PER_MM))
    rows = max(cell.row for cell in cells(housing, turned=False, mirrored=False)) + 1
    return housing.columns * pitch + 2 * CELL_RIM, rows * row_pitch + 2 * CELL_RIM, pitch, row_pitch


def branches_of(run: RunPlan) -> tuple[tuple[Branch, ...], tuple[Hop, ...]]:
    """A run taken apart into what goes from its sources and what goes on along its chain."""
    first: dict[tuple[int, int], list[PlannedWire]] = {}
    onward: dict[tuple[int, int], list[PlannedWire]] = {}
    for wire in run.wires:
        reached = stops(wire)
        if not wire.source_at_end:
            first.setdefault((wire.source.plug, reached[0]), []).append(wire)
        for start, end in pairwise(reached):
            onward.setdefault((start, end), []).append(wire)
    if not first and run.sources and run.ends:
        first[(0, 0)] = []
    ends = [(plug.ref.part, plug.ref.socket) for plug in run.ends]
    branches = tuple(
        Branch(run.number, (run.sources[s].ref.part, run.sources[s].ref.socket), ends[e], tuple(wires), i == 0)
        for i, ((s, e), wires) in enumerate(sorted(first.items()))
    )
    hops = tuple(
        Hop(
            run.number, ends[a], ends[b], tuple(wires), run.spacing_mm[a] if b == a + 1 <= len(run.spacing_mm) else None
        )
        for (a, b), wires in sorted(onward.items())
    )
    return branches, hops


def branch_words(run: RunPlan) -> str:
    """What is written beside the balloon."""
    if run.kind != "sleeved" and not (run.sources and run.ends):
        return "no source" if run.ends else "no part"
    return f"{length_words(run)} · {wire_words(run)}"


def run_words(run: RunPlan, progress: Mapping[int, str]) -> str:
    """What is written beside the balloon, with how far the work is."""
    return " · ".join(filter(None, (branch_words(run), progress.get(run.number, ""))))


def source_label(label: str, run: int | None) -> str:
    """Name of a port, with the word that it is free."""
    return label if run is not None else f"{label}, free"


def label_lines(label: str, room: float) -> tuple[str, ...]:
    """A socket's name in at most two lines that fit the room beside its face. [px]"""
    lines = svg.wrapped(label, room)
    return lines if len(lines) < 3 else (lines[0], svg.fitted(" ".join(label.split()[len(lines[0].split()) :]), room))


def draft_of(
    key: Key, label: str, housing_id: str, catalogue: Catalogue, wires: int, *, turned: bool = False,
    run: int | None = None, use: str = "", chained: bool = False, reason: str = "", balloon: bool = False,
) -> Draft:  # fmt: skip
    """A socket with the room that its face, its name, its ribbon and its balloon need above and below."""
    housing = catalogue.housings.get(housing_id)
    _, high, _, _ = face_size(housing, catalogue)
    ribbon = wires * WIRE / 2
    least = max(high / 2 + LATCH, LABEL_LINE + 1)
    up = max(least, ribbon + (BALLOON_ROOM if balloon else 4.0))
    reason_lines = len(svg.wrapped(f"not fed: {reason}", RIGHT_WIDE - BUS_INSET - RIGHT_INSET)) if reason else 0
    down = max(least + (reason_lines * 13 + 4 if reason else 0.0), ribbon + 4.0)
    return Draft(key, label, housing, turned, run, up, down, use, chained, reason)


def turn_radius(wires: int) -> float:
    """Radius of the middle of a ribbon in a turn, so that its inner wire still has one. [px]"""
    return wires * WIRE / 2 + 6.0
