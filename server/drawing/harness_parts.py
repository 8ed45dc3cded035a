"""The right-hand side of the harness drawing: parts with their inlets, small ones set as lines of one box."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import replace

from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import Plan
from server.drawing.harness_pieces import (
    BOX_FOOT,
    BOX_GAP,
    BOX_HEAD,
    BUS_INSET,
    LABEL_GAP,
    MARGIN,
    RIGHT_INSET,
    RIGHT_WIDE,
    ROW_GAP,
    Box,
    Branch,
    Draft,
    Hop,
    Key,
    Slot,
    draft_of,
    face_size,
)
from server.drawing.plugs import in_chain

SMALL_POSITIONS = 6
"""Parts whose inlets have one row, or no more positions than this, are drawn as lines of one box with others of their
use."""
GROUPS = {
    "drive": "Drives", "fan": "Fans", "light": "Lights", "panel": "Buttons and indicators", "usb": "USB sockets",
    "audio": "Audio sockets", "data": "Data links",
}  # fmt: skip


def part_drafts(
    plan: Plan, catalogue: Catalogue, branches: Iterable[Branch], source_at: Mapping[Key, Slot]
) -> list[tuple[str, str, list[Draft]]]:
    """Boxes with their inlets, in an order that keeps ribbons from crossing: by where their sources stand."""
    heights: dict[int, float] = {}
    for branch in branches:
        heights.setdefault(branch.run, source_at[branch.source].y)
    parts: dict[str, tuple[str, list[Draft]]] = {}
    order: dict[str, tuple[float, int, int]] = {}
    for run in sorted(plan.runs, key=lambda r: (heights.get(r.number, float("inf")), r.number)):
        for i, plug in enumerate(run.ends):
            part = plug.ref.part
            draft = draft_of(
                (part, plug.ref.socket), plug.socket, plug.housing, catalogue, len(run.wires),
                run=run.number, use=run.use, chained=in_chain(run),
            )  # fmt: skip
            parts.setdefault(part, (plug.place, []))[1].append(draft)
            place = (heights.get(run.number, float("inf")), run.number, i)
            order[part] = min(order.get(part, place), place)
    pinouts = {pinout.name: pinout for pinout in catalogue.pinouts.values()} | dict(catalogue.pinouts)
    for inlet in plan.unfed:
        known = pinouts.get(inlet.inlet)
        draft = draft_of(
            (inlet.part, inlet.socket), inlet.inlet, known.housing if known else "", catalogue, 0,
            use=known.use if known else "", reason=inlet.reason or "no run",
        )  # fmt: skip
        parts.setdefault(inlet.part, (inlet.place, []))[1].append(draft)
        order.setdefault(inlet.part, (float("inf"), 0, 0))
    giving = {port.part for port in plan.ports}
    return _grouped([(part, *parts[part]) for part in sorted(parts, key=lambda part: order[part])], giving)


def _grouped(parts: list[tuple[str, str, list[Draft]]], giving: Collection[str]) -> list[tuple[str, str, list[Draft]]]:
    """Parts with only small inlets set as lines of one box with others of their use, where its first part stood."""
    uses: dict[str, list[tuple[str, str, list[Draft]]]] = {}
    small = {part: _small_use(drafts) for part, _, drafts in parts if part not in giving}
    for entry in parts:
        if use := small.get(entry[0]):
            uses.setdefault(use, []).append(entry)
    shown: dict[str, tuple[str, str, list[Draft]]] = {}
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


def _small_use(drafts: list[Draft]) -> str:
    """The use under which a part may be drawn as lines; empty for a part that keeps a box of its own."""
    small = all(d.housing and (d.housing.rows == 1 or d.housing.positions <= SMALL_POSITIONS) for d in drafts)
    return drafts[0].use if small and drafts[0].use in GROUPS else ""


def _box_high(drafts: list[Draft]) -> float:
    return BOX_HEAD + sum(d.up + d.down + ROW_GAP for d in drafts) + BOX_FOOT


def stack_parts(
    drafts: list[tuple[str, str, list[Draft]]], source_at: Mapping[Key, Slot], branches: Iterable[Branch]
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


def part_boxes(
    drafts: list[tuple[str, str, list[Draft]]],
    tops: list[float],
    x: float,
    hops: Iterable[Hop],
    catalogue: Catalogue,
) -> list[Box]:
    """Boxes of the right-hand side from their drafts and upper edges, their left edge at ``x``. [px]"""
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
