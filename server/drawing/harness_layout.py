"""Where everything stands on the harness drawing: sources on the left, parts on the right, lanes between them."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from itertools import pairwise

from server.domain.model.build import SUPPLY
from server.domain.model.catalogue import Catalogue, Housing
from server.domain.model.plan import Plan, PlannedWire, Plug, RunPlan
from server.drawing import svg
from server.drawing.plugs import cells, in_chain, length_words, stops, wire_words

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
SMALL_POSITIONS = 6
"""Parts whose inlets have one row, or no more positions than this, are drawn as lines of one box with others of their
use."""
GROUPS = {
    "drive": "Drives", "fan": "Fans", "light": "Lights", "panel": "Buttons and indicators", "usb": "USB sockets",
    "audio": "Audio sockets", "data": "Data links",
}  # fmt: skip


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
class Layout:
    """The whole sheet."""

    left: tuple[Box, ...]
    right: tuple[Box, ...]
    branches: tuple[Branch, ...]
    hops: tuple[Hop, ...]
    lanes: Mapping[int, float]
    """Middle of the upright stretch of each branch, by its place in ``branches``. [px]"""
    slots: Mapping[tuple[bool, Key], Slot]
    """Slots by side (True for sources) and key."""
    balloon_x: float
    wide: float
    bottom: float


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


def lay_out(plan: Plan, catalogue: Catalogue) -> Layout:
    """Place sources, parts and lanes.

    Args:
        plan: The plan.
        catalogue: Reference data with housings and families.

    Returns:
        The layout; the same plan always gives the same one.
    """
    pairs = [branches_of(run) for run in plan.runs]
    branches = tuple(branch for found, _ in pairs for branch in found)
    hops = tuple(hop for _, found in pairs for hop in found)
    left = _left(plan, catalogue, branches)
    source_at = {slot.key: slot for box in left for slot in box.slots}
    left_edge = max((box.x + box.broad for box in left), default=MARGIN + 200.0)
    balloon_x = left_edge + 30.0
    words = max((svg.width(branch_words(run)) for run in plan.runs), default=0.0)
    channel = balloon_x + BALLOON + 16.0 + words
    drafts = _right_drafts(plan, catalogue, branches, source_at)
    tops = _stack_right(drafts, source_at, branches)
    right = _right(drafts, tops, 0.0, hops, catalogue)
    end_at = {slot.key: slot for box in right for slot in box.slots}
    lanes, last = _lanes(branches, source_at, end_at, channel)
    right_x = max(last + 24.0, LEAST_WIDE - MARGIN - RIGHT_WIDE)
    # Parts move right as one, so that the lanes, which depend on heights only, stay as they are.
    right = _right(drafts, tops, right_x, hops, catalogue)
    slots = {(True, key): slot for key, slot in source_at.items()}
    slots |= {(False, slot.key): slot for box in right for slot in box.slots}
    bottom = max((box.y + box.high for box in (*left, *right)), default=MARGIN + 200.0)
    return Layout(
        tuple(left), tuple(right), branches, hops, lanes, slots, balloon_x, right_x + RIGHT_WIDE + MARGIN, bottom
    )


def branch_words(run: RunPlan) -> str:
    """What is written beside the balloon."""
    if run.kind != "sleeved" and not (run.sources and run.ends):
        return "no source" if run.ends else "no part"
    return f"{length_words(run)} · {wire_words(run)}"


@dataclass(frozen=True, slots=True)
class _Draft:
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


def label_lines(label: str, room: float) -> tuple[str, ...]:
    """A socket's name in at most two lines that fit the room beside its face. [px]"""
    lines = svg.wrapped(label, room)
    return lines if len(lines) < 3 else (lines[0], svg.fitted(" ".join(label.split()[len(lines[0].split()) :]), room))


def _draft(
    key: Key, label: str, housing_id: str, catalogue: Catalogue, wires: int, *, turned: bool = False,
    run: int | None = None, use: str = "", chained: bool = False, reason: str = "", balloon: bool = False,
) -> _Draft:  # fmt: skip
    housing = catalogue.housings.get(housing_id)
    _, high, _, _ = face_size(housing, catalogue)
    ribbon = wires * WIRE / 2
    least = max(high / 2 + LATCH, LABEL_LINE + 1)
    up = max(least, ribbon + (BALLOON_ROOM if balloon else 4.0))
    reason_lines = len(svg.wrapped(f"not fed: {reason}", RIGHT_WIDE - BUS_INSET - RIGHT_INSET)) if reason else 0
    down = max(least + (reason_lines * 13 + 4 if reason else 0.0), ribbon + 4.0)
    return _Draft(key, label, housing, turned, run, up, down, use, chained, reason)


def _left(plan: Plan, catalogue: Catalogue, branches: Iterable[Branch]) -> list[Box]:
    """The supply, then each part with headers, in the order of the plan's ports."""
    wires: dict[Key, int] = {}
    for branch in branches:
        wires[branch.source] = wires.get(branch.source, 0) + len(branch.wires)
    plugs: dict[Key, Plug] = {(p.ref.part, p.ref.socket): p for run in plan.runs for p in run.sources}
    groups: dict[str, tuple[str, dict[Key, _Draft]]] = {SUPPLY: ("", {})}
    for port in plan.ports:
        key = (port.part, port.socket)
        turned = key in plugs and plugs[key].latch_down
        draft = _draft(
            key,
            port.label,
            port.housing,
            catalogue,
            wires.get(key, 0),
            turned=turned,
            run=port.run,
            balloon=key in plugs,
        )
        title, drafts = groups.get(port.part, ("", {}))
        groups[port.part] = (title or port.place, drafts | {key: draft})
    for run in plan.runs:
        for plug in run.sources:
            key = (plug.ref.part, plug.ref.socket)
            title, drafts = groups.get(plug.ref.part, ("", {}))
            if key not in drafts:
                draft = _draft(
                    key, plug.socket, plug.housing, catalogue, wires.get(key, 0),
                    turned=plug.latch_down, run=run.number, balloon=True,
                )  # fmt: skip
                groups[plug.ref.part] = (title or plug.place, drafts | {key: draft})
    return _left_boxes(groups, catalogue)


def _left_boxes(groups: dict[str, tuple[str, dict[Key, _Draft]]], catalogue: Catalogue) -> list[Box]:
    drafts = [draft for _, held in groups.values() for draft in held.values()]
    faces = max((face_size(draft.housing, catalogue)[0] for draft in drafts), default=22.0)
    words = [svg.width(line) for d in drafts for line in label_lines(source_label(d.label, d.run), SOURCE_LABEL)]
    name_room = min(max(svg.width(f"Supply: {held[0]}", svg.HEADING) for held in groups.values()) + 26, 320.0)
    broad = max(200.0, name_room, 12 + max(words, default=0.0) + LABEL_GAP + faces + INSET)
    boxes, y = [], MARGIN
    for part, (title, held) in groups.items():
        head = BOX_HEAD + (18.0 if part == SUPPLY else 0.0)
        slots, at = [], y + head
        for draft in held.values():
            at += draft.up
            wide, high, _, _ = face_size(draft.housing, catalogue)
            x = MARGIN + broad - INSET - wide
            slots.append(Slot(draft.key, draft.label, draft.housing, draft.turned, x, at, wide, high, draft.run))
            at += draft.down + ROW_GAP
        high = max(at + BOX_FOOT - y, 70.0)
        boxes.append(Box(part, title, True, MARGIN, y, broad, high, tuple(slots)))
        y += high + BOX_GAP
    return boxes


def source_label(label: str, run: int | None) -> str:
    """Name of a port, with the word that it is free."""
    return label if run is not None else f"{label}, free"


def _right_drafts(
    plan: Plan, catalogue: Catalogue, branches: Iterable[Branch], source_at: Mapping[Key, Slot]
) -> list[tuple[str, str, list[_Draft]]]:
    """Boxes with their inlets, in an order that keeps ribbons from crossing: by where their sources stand."""
    heights: dict[int, float] = {}
    for branch in branches:
        heights.setdefault(branch.run, source_at[branch.source].y)
    parts: dict[str, tuple[str, list[_Draft]]] = {}
    order: dict[str, tuple[float, int, int]] = {}
    for run in sorted(plan.runs, key=lambda r: (heights.get(r.number, float("inf")), r.number)):
        for i, plug in enumerate(run.ends):
            part = plug.ref.part
            draft = _draft(
                (part, plug.ref.socket), plug.socket, plug.housing, catalogue, len(run.wires),
                run=run.number, use=run.use, chained=in_chain(run),
            )  # fmt: skip
            parts.setdefault(part, (plug.place, []))[1].append(draft)
            place = (heights.get(run.number, float("inf")), run.number, i)
            order[part] = min(order.get(part, place), place)
    pinouts = {pinout.name: pinout for pinout in catalogue.pinouts.values()} | dict(catalogue.pinouts)
    for inlet in plan.unfed:
        known = pinouts.get(inlet.inlet)
        draft = _draft(
            (inlet.part, inlet.socket), inlet.inlet, known.housing if known else "", catalogue, 0,
            use=known.use if known else "", reason=inlet.reason or "no run",
        )  # fmt: skip
        parts.setdefault(inlet.part, (inlet.place, []))[1].append(draft)
        order.setdefault(inlet.part, (float("inf"), 0, 0))
    giving = {port.part for port in plan.ports}
    return _grouped([(part, *parts[part]) for part in sorted(parts, key=lambda part: order[part])], giving)


def _grouped(
    parts: list[tuple[str, str, list[_Draft]]], giving: Collection[str]
) -> list[tuple[str, str, list[_Draft]]]:
    """Parts with only small inlets set as lines of one box with others of their use, where its first part stood."""
    uses: dict[str, list[tuple[str, str, list[_Draft]]]] = {}
    small = {part: _small_use(drafts) for part, _, drafts in parts if part not in giving}
    for entry in parts:
        if use := small.get(entry[0]):
            uses.setdefault(use, []).append(entry)
    shown: dict[str, tuple[str, str, list[_Draft]]] = {}
    for part, title, drafts in parts:
        use = small.get(part, "")
        if len(uses.get(use, ())) < 2:
            shown[part] = (part, title, drafts)
        elif use not in shown:
            lines = [
                replace(draft, label=name if len(held) == 1 else f"{name}: {draft.label}")
                for _, name, held in uses[use]
                for draft in held
            ]
            # Plugs of one chain stand below one another, and what else goes to those parts stands below the chain.
            lines.sort(key=lambda d: (not d.chained, (d.run or 0) if d.chained else 0))
            shown[use] = (f"group {use}", GROUPS[use], lines)
    return list(shown.values())


def _small_use(drafts: list[_Draft]) -> str:
    """The use under which a part may be drawn as lines; empty for a part that keeps a box of its own."""
    small = all(d.housing and (d.housing.rows == 1 or d.housing.positions <= SMALL_POSITIONS) for d in drafts)
    return drafts[0].use if small and drafts[0].use in GROUPS else ""


def _box_high(drafts: list[_Draft]) -> float:
    return BOX_HEAD + sum(d.up + d.down + ROW_GAP for d in drafts) + BOX_FOOT


def _stack_right(
    drafts: list[tuple[str, str, list[_Draft]]], source_at: Mapping[Key, Slot], branches: Iterable[Branch]
) -> list[float]:
    """Upper edges of the parts: level with their sources where there is room."""
    wanted: dict[Key, list[float]] = {}
    for branch in branches:
        wanted.setdefault(branch.end, []).append(source_at[branch.source].y)
    tops, y = [], MARGIN
    for _, _, held in drafts:
        shifts, at = [], BOX_HEAD
        for draft in held:
            at += draft.up
            shifts += [source - at for source in wanted.get(draft.key, ())]
            at += draft.down + ROW_GAP
        top = max(y, sum(shifts) / len(shifts)) if shifts else y
        tops.append(top)
        y = top + _box_high(held) + BOX_GAP
    return tops


def _right(
    drafts: list[tuple[str, str, list[_Draft]]],
    tops: list[float],
    x: float,
    hops: Iterable[Hop],
    catalogue: Catalogue,
) -> list[Box]:
    chained = {key for hop in hops for key in (hop.start, hop.end)}
    inset = BUS_INSET if chained else RIGHT_INSET
    boxes = []
    for (part, title, held), top in zip(drafts, tops, strict=True):
        at, slots = top + BOX_HEAD, []
        for draft in held:
            at += draft.up
            room = RIGHT_WIDE - inset - face_size(draft.housing, catalogue)[0] - LABEL_GAP - 6
            slots.append(
                Slot(
                    draft.key, draft.label, draft.housing, False, x + inset, at, 0.0, 0.0, draft.run, draft.reason, room
                )
            )  # fmt: skip
            at += draft.down + ROW_GAP
        boxes.append(Box(part, title, False, x, top, RIGHT_WIDE, _box_high(held), tuple(slots)))
    return boxes


def _lanes(
    branches: tuple[Branch, ...], source_at: Mapping[Key, Slot], end_at: Mapping[Key, Slot], channel: float
) -> tuple[dict[int, float], float]:
    """Upright lanes for the branches, and the right edge of the last.

    Of ribbons that go down, a lower one turns further left; of those that go up, an upper one does. Two ribbons that
    need not cross then do not, and lanes are as far left as the ribbons beside them allow.
    """
    spans = []
    for i, branch in enumerate(branches):
        y1, y2 = source_at[branch.source].y, end_at[branch.end].y
        if abs(y2 - y1) >= 0.5:
            spans.append((y2 > y1, -y1 if y2 > y1 else y1, i, min(y1, y2), max(y1, y2)))
    placed: list[tuple[float, float, float, float]] = []
    lanes: dict[int, float] = {}
    last = channel
    for _, _, i, low, high in sorted(spans):
        half = len(branches[i].wires) * WIRE / 2 + 4.0
        turn = turn_radius(len(branches[i].wires))
        x = channel + half + turn
        for other_x, other_half, other_low, other_high in placed:
            if low - half - turn < other_high and other_low < high + half + turn:
                x = max(x, other_x + other_half + half)
        lanes[i] = x
        placed.append((x, half, low - half, high + half))
        last = max(last, x + half + turn)
    return lanes, last


def turn_radius(wires: int) -> float:
    """Radius of the middle of a ribbon in a turn, so that its inner wire still has one. [px]"""
    return wires * WIRE / 2 + 6.0
