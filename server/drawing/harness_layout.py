"""Where everything stands on the harness drawing: sources on the left, parts on the right, lanes between them."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from server.domain.model.build import SUPPLY
from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import Plan, Plug
from server.drawing import svg
from server.drawing.harness_parts import part_boxes, part_drafts, stack_parts
from server.drawing.harness_pieces import (
    BALLOON,
    BOX_FOOT,
    BOX_GAP,
    BOX_HEAD,
    INSET,
    LABEL_GAP,
    LEAST_WIDE,
    MARGIN,
    RIGHT_WIDE,
    ROW_GAP,
    SOURCE_LABEL,
    WIRE,
    Box,
    Branch,
    Draft,
    Hop,
    Key,
    Slot,
    branches_of,
    draft_of,
    face_size,
    label_lines,
    run_words,
    source_label,
    turn_radius,
)


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


def lay_out(plan: Plan, catalogue: Catalogue, progress: Mapping[int, str]) -> Layout:
    """Place sources, parts and lanes.

    Args:
        plan: The plan.
        catalogue: Reference data with housings and families.
        progress: What is written behind the length of a run, by its number.

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
    words = max((svg.width(run_words(run, progress)) for run in plan.runs), default=0.0)
    channel = balloon_x + BALLOON + 16.0 + words
    drafts = part_drafts(plan, catalogue, branches, source_at)
    tops = stack_parts(drafts, source_at, branches)
    right = part_boxes(drafts, tops, 0.0, hops, catalogue)
    end_at = {slot.key: slot for box in right for slot in box.slots}
    lanes, last = _lanes(branches, source_at, end_at, channel)
    right_x = max(last + 24.0, LEAST_WIDE - MARGIN - RIGHT_WIDE)
    # Parts move right as one, so that the lanes, which depend on heights only, stay as they are.
    right = part_boxes(drafts, tops, right_x, hops, catalogue)
    slots = {(True, key): slot for key, slot in source_at.items()}
    slots |= {(False, slot.key): slot for box in right for slot in box.slots}
    bottom = max((box.y + box.high for box in (*left, *right)), default=MARGIN + 200.0)
    return Layout(
        tuple(left), tuple(right), branches, hops, lanes, slots, balloon_x, right_x + RIGHT_WIDE + MARGIN, bottom
    )


def _left(plan: Plan, catalogue: Catalogue, branches: Iterable[Branch]) -> list[Box]:
    """The supply, then each part with headers, in the order of the plan's ports."""
    wires: dict[Key, int] = {}
    for branch in branches:
        wires[branch.source] = wires.get(branch.source, 0) + len(branch.wires)
    plugs: dict[Key, Plug] = {(p.ref.part, p.ref.socket): p for run in plan.runs for p in run.sources}
    groups: dict[str, tuple[str, dict[Key, Draft]]] = {SUPPLY: ("", {})}
    for port in plan.ports:
        key = (port.part, port.socket)
        turned = key in plugs and plugs[key].latch_down
        draft = draft_of(
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
                draft = draft_of(
                    key, plug.socket, plug.housing, catalogue, wires.get(key, 0),
                    turned=plug.latch_down, run=run.number, balloon=True,
                )  # fmt: skip
                groups[plug.ref.part] = (title or plug.place, drafts | {key: draft})
    return _left_boxes(groups, catalogue)


def _left_boxes(groups: dict[str, tuple[str, dict[Key, Draft]]], catalogue: Catalogue) -> list[Box]:
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


def _lanes(
    branches: tuple[Branch, ...], source_at: Mapping[Key, Slot], end_at: Mapping[Key, Slot], channel: float
) -> tuple[dict[int, float], float]:
    """Upright lanes for the branches, and the right edge of the last.

    Of ribbons that go down, a lower one turns further left; of those that go up, an upper one does. Two ribbons that
    need not cross then do not, and lanes are as far left as the ribbons beside them allow. Of two that leave one
    source the same way, the one that goes further turns first.
    """
    spans = []
    for i, branch in enumerate(branches):
        y1, y2 = source_at[branch.source].y, end_at[branch.end].y
        if abs(y2 - y1) >= 0.5:
            down = y2 > y1
            spans.append((down, -y1 if down else y1, -y2 if down else y2, i, min(y1, y2), max(y1, y2)))
    placed: list[tuple[float, float, float, float]] = []
    lanes: dict[int, float] = {}
    last = channel
    for _, _, _, i, low, high in sorted(spans):
        half = len(branches[i].wires) * WIRE / 2 + 2.8
        turn = turn_radius(len(branches[i].wires))
        x = channel + half + turn
        for other_x, other_half, other_low, other_high in placed:
            if low - half - turn < other_high and other_low < high + half + turn:
                x = max(x, other_x + other_half + half)
        lanes[i] = x
        placed.append((x, half, low - half, high + half))
        last = max(last, x + half + turn)
    return lanes, last
