"""What there is to do at the bench for one build: every wire, sleeve and tube, and how far each has come."""

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from server.domain.bench_steps import NEEDS, refused
from server.domain.model.bench import STAGES, Done, Entry, Material, Piece, Stage
from server.domain.model.plan import PlannedWire, RollLayout, RunPlan, WireChange
from server.domain.plan.buying import STILL_SERVES
from server.domain.plan.wiring import wiring_of
from server.services.bench_cutting import cuts_of, pieces_to_cut
from server.services.opened import Opened
from server.services.test_sheets import standing_of

WorkState = Literal["cut", "shelf", "piece", "buy", "waits", "no_roll"]
"""Cut; to be cut from a lot on the shelf, from a piece that serves nothing now, or from a roll to be bought first; kept
free until its run is measured; without a roll, since no pack of it is known or none is long enough."""


@dataclass(frozen=True, slots=True)
class Work:
    """One wire, or one piece of sleeve or heat-shrink."""

    id: str
    label: str
    run: int
    """Number of the run."""
    material: Material
    state: WorkState
    cut_mm: int
    """Length to cut today; 0 while unknown. [mm]"""
    piece: Piece | None
    """What was cut for it and serves it."""
    source: int
    """Number of the lot or piece that the roll plan cuts it from; 0 for none."""
    stages: tuple[Stage, ...]
    """Those that it goes through."""
    off_mm: int = 0
    """How much longer than wanted the piece is; negative for one that is too short and serves no more. [mm]"""
    rewired: bool = False
    """It is fitted, and the plan wires it otherwise now: it is fitted and tested again."""
    untested: bool = False
    """The last test of its run failed, or was made by a sheet that is no longer today's: it is tested again."""

    def done_stages(self) -> tuple[Stage, ...]:
        """Stages that it has come through, as it is wired now."""
        if self.piece is None:
            return ()
        open_again = ("fitted", "tested") if self.rewired else ("tested",) if self.untested else ()
        return tuple(stage for stage in self.piece.stages if stage not in open_again)

    def missing(self, stage: Stage) -> Stage | None:
        """The stage that has to be done before another can be; ``None`` where nothing stands before it."""
        before = NEEDS.get(stage)
        return before if before in self.stages and before not in self.done_stages() else None

    def open_stages(self) -> tuple[Stage, ...]:
        """Stages that can be ticked now."""
        if self.piece is None:
            return ()
        done = self.done_stages()
        return tuple(stage for stage in self.stages if stage not in done and not self.missing(stage))

    @property
    def finished(self) -> bool:
        """Whether it is cut and has come through every stage."""
        return self.state == "cut" and set(self.stages) <= set(self.done_stages())


@dataclass(frozen=True, slots=True)
class _Planned:
    """Where the roll plan cuts a piece."""

    label: str
    length_mm: int
    ready: bool
    run_id: str
    material: Material
    layout: RollLayout


def work_of(opened: Opened) -> tuple[Work, ...]:
    """Everything of a build that is cut from rolls, run by run: wires in ribbon order, then sleeve and tube.

    Args:
        opened: The build as it stands.
    """
    return opened.once("bench work", lambda: tuple(_every(opened)))


def alike(work: Sequence[Work]) -> tuple[tuple[Work, ...], ...]:
    """Things that are ticked together: wires one by one, neighbouring sleeves and tubes of one length and state as one.

    Args:
        work: Wires, sleeves and tubes.
    """
    made: list[list[Work]] = []
    for item in work:
        if made and _kin(made[-1][-1]) == _kin(item) and item.material.kind != "wire":
            made[-1].append(item)
        else:
            made.append([item])
    return tuple(tuple(held) for held in made)


def _kin(item: Work) -> tuple[object, ...]:
    """What neighbours have in common that are ticked together."""
    there = (item.piece.lot, item.piece.length_mm) if item.piece else ()
    return item.run, item.material, item.state, item.cut_mm, item.source, item.off_mm, there


def planned_cuts(opened: Opened, ids: Collection[str]) -> tuple[Entry, ...]:
    """Entries that cut things from the lots that the roll plan names, lot by lot in cutting order.

    Args:
        opened: The build as it stands.
        ids: Ids of wires, sleeves and tubes; each is planned from a lot on the shelf.

    Raises:
        InvalidInputError: one of them is not to be cut from a lot now.
    """
    made: list[Entry] = []
    left = set(ids)
    for layout in (layout for sheet in opened.plan.rolls for layout in sheet.layouts if layout.source == "lot"):
        here = [piece.id for piece in layout.pieces if piece.id in left]
        if here:
            made += cuts_of(pieces_to_cut(layout.pieces, here), layout.lot, opened)
            left -= set(here)
    if left or not made:
        raise refused("pieces", "the roll plan cuts that from no lot now: look at the page again")
    return tuple(made)


def done_now(piece: Piece, stage: Stage, opened: Opened) -> Done:
    """The entry for a stage that is done on a piece, as the plan has its wire now.

    Args:
        piece: The piece.
        stage: The stage.
        opened: The build as it stands.
    """
    found = next(((run, wire) for run in opened.plan.runs for wire in run.wires if wire.id == piece.wire), None)
    if found is None or stage not in NEEDS:
        return Done(piece.id, stage)
    return Done(piece.id, stage, wiring_of(*found), stage == "fitted" and "crimped" not in stages_of(found[1]))


def _every(opened: Opened) -> Iterator[Work]:
    planned = _planned(opened)
    changes = {change.id: change for change in opened.plan.changes if change.state != "not_needed"}
    pieces = {piece.id: piece for piece in opened.on_hand.pieces}
    wires = {wire.id for run in opened.plan.runs for wire in run.wires}
    changed, open_ = defaultdict[int, list[str]](list), defaultdict[str, list[str]](list)
    for change in changes.values():
        if change.id not in wires:
            changed[change.run].append(change.id)
    for ident, held in planned.items():
        if ident not in wires:
            open_[held.run_id].append(ident)
    for run in opened.plan.runs:
        tested = standing_of(opened, run.id).counts
        for wire in run.wires:
            if wire.buy_mm:
                material = _material(wire, opened)
                length = wire.cut_mm or 0
                stages = stages_of(wire)
                work = _work((wire.id, wire.label, run.number), material, length, stages, planned, changes, pieces)
                yield work if tested else replace(work, untested=True)
        # The sleeve and tube of a run, in the plan's order where it knows one.
        for ident in changed[run.number] or sorted(open_[run.id], key=_in_order):
            yield _other(ident, run, planned, changes, pieces)


def _planned(opened: Opened) -> dict[str, _Planned]:
    return {
        piece.id: _Planned(
            piece.label,
            piece.length_mm,
            piece.ready,
            piece.id.partition("/")[0],
            Material(sheet.kind, sheet.item, sheet.colour),
            layout,
        )
        for sheet in opened.plan.rolls
        for layout in sheet.layouts
        for piece in layout.pieces
    }


def _in_order(ident: str) -> tuple[str, int]:
    """Pieces of sleeve and tube by their colour, then their number."""
    front, _, number = ident.rpartition("/")
    return front, int(number) if number.isdecimal() else 0


def _other(
    ident: str,
    run: RunPlan,
    planned: Mapping[str, _Planned],
    changes: Mapping[str, WireChange],
    pieces: Mapping[int, Piece],
) -> Work:
    """One piece of sleeve or heat-shrink, which is only cut."""
    change, plan = changes.get(ident), planned.get(ident)
    label = change.label if change else plan.label if plan else ident
    kind: Literal["sleeve", "shrink"] = "sleeve" if "/sleeve/" in ident else "shrink"
    piece = pieces.get(change.piece) if change else None
    material = plan.material if plan else piece.material if piece else Material(kind, "")
    length = change.cut_mm if change else plan.length_mm if plan and plan.ready else 0
    return _work((ident, label, run.number), material, length, (), planned, changes, pieces)


def _work(
    named: tuple[str, str, int],
    material: Material,
    cut_mm: int,
    stages: tuple[Stage, ...],
    planned: Mapping[str, _Planned],
    changes: Mapping[str, WireChange],
    pieces: Mapping[int, Piece],
) -> Work:
    ident, label, run = named
    change, plan = changes.get(ident), planned.get(ident)
    piece = pieces.get(change.piece) if change else None
    if change and piece and change.state in STILL_SERVES:
        off = change.off_mm if change.state == "trim" else 0
        return Work(ident, label, run, material, "cut", cut_mm, piece, piece.lot, stages, off, change.rewired)
    off = -change.off_mm if change and change.state == "too_short" else 0
    state, source = _open_state(plan, cut_mm)
    return Work(ident, label, run, material, state, cut_mm, None, source, stages, off)


def _open_state(plan: _Planned | None, cut_mm: int) -> tuple[WorkState, int]:
    """What has to happen before a piece that is not cut yet can be, and what it is cut from."""
    if not cut_mm or (plan and not plan.ready):
        return "waits", 0
    if plan is None:
        return "no_roll", 0
    states: dict[str, WorkState] = {"lot": "shelf", "piece": "piece", "roll": "buy"}
    return states[plan.layout.source], plan.layout.lot


def _material(wire: PlannedWire, opened: Opened) -> Material:
    """What a wire is made of; without an item where the catalogue has no such wire."""
    found = (
        held.id
        for held in opened.catalogue.wires.values()
        if (held.awg, held.insulation) == (wire.awg, wire.insulation)
    )
    return Material("wire", next(found, ""), wire.colour)


def stages_of(wire: PlannedWire) -> tuple[Stage, ...]:
    """Stages that a wire goes through after cutting.

    Args:
        wire: The wire.
    """
    crimped = any(end.contact and end.crimped for end in (wire.source, wire.target))
    skipped = {"crimped"} - ({"crimped"} if crimped else set()) | ({"sleeved"} if not wire.sleeve_colour else set())
    return tuple(stage for stage in STAGES if stage not in skipped)
