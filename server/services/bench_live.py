"""What serves a wire, a sleeve or a tube at this moment: the plan's wants held against the pieces as they lie there."""

from collections.abc import Mapping
from dataclasses import replace

from server.domain.changes import Needed, compare
from server.domain.ledger import on_hand
from server.domain.model.bench import Bench, Material, OnHand, Piece
from server.domain.model.plan import RunPlan, WireChange
from server.domain.plan.buying import STILL_SERVES, wires_in_vain
from server.domain.plan.needs import needs_of
from server.domain.plan.stuck import without_stuck
from server.services.opened import Opened


def needs_by_id(opened: Opened) -> Mapping[str, Needed]:
    """Everything of a build that is cut, by its id.

    Args:
        opened: The build as it stands.
    """
    return opened.lasting(
        "bench needs",
        lambda: {need.id: need for run in opened.plan.runs for need in needs_of(run, opened.catalogue)},
    )


def change_of(need: Needed, bench: Bench, opened: Opened) -> WireChange:
    """What was cut for one wire, and whether it serves it.

    Args:
        need: The wire.
        bench: Stock and pieces at this moment.
        opened: The build.
    """
    pieces = [
        piece
        for piece in bench.pieces.values()
        if piece.wire == need.id
        and piece.material == need.material
        and piece.build == opened.build_id
        and piece.whereabouts == "cable"
    ]
    return compare((need,), pieces, {}, opened.build.allowances.step_mm)[0]


def piece_of(need: Needed, bench: Bench, opened: Opened) -> tuple[Piece | None, WireChange]:
    """The piece that serves a wire at this moment, and how its length and wiring stand to what is wanted.

    Args:
        need: The wire.
        bench: Stock and pieces at this moment.
        opened: The build.
    """
    change = change_of(need, bench, opened)
    return (bench.pieces[change.piece] if change.piece and change.state in STILL_SERVES else None), change


def held_now(run: int, bench: Bench, opened: Opened) -> OnHand:
    """What was made for a run at this moment, without the sleeve and tube that went with its lost wires.

    Args:
        run: Number of the run.
        bench: Stock and pieces at this moment.
        opened: The build.
    """
    held = on_hand(bench, opened.build_id)
    held = replace(
        held,
        pieces=tuple(piece for piece in held.pieces if piece.run == run),
        lost=tuple(piece for piece in held.lost if piece.run == run),
    )
    needs = [need for need in needs_by_id(opened).values() if need.run == run and need.material.kind == "wire"]
    wires = [piece for piece in held.pieces if piece.material.kind == "wire"]
    changes = compare(needs, wires, {}, opened.build.allowances.step_mm)
    return without_stuck(opened.plan.runs, held, wires_in_vain(changes, replace(held, pieces=tuple(wires))))


def open_needs(run: int, material: Material, length_mm: int, held: OnHand, opened: Opened) -> tuple[Needed, ...]:
    """Pieces of sleeve or tube that a run still wants of one material and length, in the order of the plan.

    Args:
        run: Number of the run.
        material: The sleeve or tube, with its colour.
        length_mm: Length to cut. [mm]
        held: Pieces that were made for the run, without those that went with lost wires.
        opened: The build.
    """
    needs = [need for need in needs_by_id(opened).values() if (need.run, need.material) == (run, material)]
    pieces = [piece for piece in held.pieces if (piece.run, piece.material) == (run, material)]
    changes = compare(needs, pieces, {}, opened.build.allowances.step_mm)
    left = {change.id for change in changes if change.state in ("new", "too_short")}
    return tuple(need for need in needs if need.id in left and need.cut_mm == length_mm)


def sleeves_of(run: RunPlan, bench: Bench, opened: Opened) -> tuple[Piece, ...] | None:
    """The pieces of sleeve that serve a run at this moment; ``None`` while one of them is not cut.

    Args:
        run: The planned run.
        bench: Stock and pieces at this moment.
        opened: The build.
    """
    needs = [n for n in needs_by_id(opened).values() if n.run == run.number and n.material.kind == "sleeve"]
    pieces = [p for p in held_now(run.number, bench, opened).pieces if p.material.kind == "sleeve"]
    changes = compare(needs, pieces, {}, opened.build.allowances.step_mm)[: len(needs)]
    if any(change.state not in STILL_SERVES or not change.piece for change in changes):
        return None
    return tuple(bench.pieces[change.piece] for change in changes)
