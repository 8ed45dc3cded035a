"""Sleeve and heat-shrink that is shrunk onto wires which serve no more: nobody draws it off and uses it again."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import replace

from server.domain.model.bench import Material, OnHand, Piece
from server.domain.model.plan import RunPlan


def without_stuck(runs: Iterable[RunPlan], on_hand: OnHand, in_vain: Iterable[Piece]) -> OnHand:
    """What a build has made, without the pieces of sleeve and tube that went with its lost wires.

    Which piece went onto which wire is not written at the bench, so that pieces are told apart by run, material and
    length: of those that could have gone with a wire, the one that was cut first has. A wire that the plan does not
    know any more is taken to have had as many pieces as the run's others. A sleeve over several wires stays with those
    that are left, and a tube that only held a melted end was taken off again.

    Args:
        runs: The planned runs.
        on_hand: Pieces as they were cut.
        in_vain: Wires that were cut and serve no more, with the stages that they had reached.
    """
    plans = {plan.number: plan for plan in runs}
    gone: set[int] = set()
    pieces = _cut_for(on_hand.pieces)
    for lost in in_vain:
        plan = plans.get(lost.run)
        if plan is None or "sleeved" not in lost.stages:
            continue
        for material, length_mm in _on_one(plan, lost.wire):
            held = [piece for piece in pieces[lost.run, material] if piece.id not in gone]
            alike = [piece for piece in held if piece.length_mm == length_mm]
            if first := next(iter(alike or held), None):
                gone.add(first.id)
    if not gone:
        return on_hand
    return replace(on_hand, pieces=tuple(piece for piece in on_hand.pieces if piece.id not in gone))


def _cut_for(pieces: Iterable[Piece]) -> Mapping[tuple[int, Material], list[Piece]]:
    """Pieces of sleeve and tube by run and material, in the order in which they were cut."""
    found: defaultdict[tuple[int, Material], list[Piece]] = defaultdict(list)
    for piece in pieces:
        if piece.material.kind in ("sleeve", "shrink"):
            found[piece.run, piece.material].append(piece)
    return found


def _on_one(plan: RunPlan, wire_id: str) -> list[tuple[Material, int]]:
    """Material and length of every piece of sleeve and tube that one wire of a run carries. [mm]"""
    alone = [wire for wire in plan.wires if wire.sleeve_mm]
    if not alone:
        return []
    wire = next((held for held in alone if held.id == wire_id), alone[0])
    kinds = {(piece.colour, piece.cut_mm): piece.sleeve for piece in plan.sleeve_pieces}
    lengths = Counter(wire.sleeve_mm)
    on_it = [
        (Material("sleeve", sleeve, colour), cut_mm)
        for (colour, cut_mm), sleeve in kinds.items()
        if colour == wire.sleeve_colour
        for _ in range(lengths[cut_mm])
    ]
    tubes = 0 if plan.sleeve_end == "melted" else plan.shrink_count // sum(len(held.sleeve_mm) for held in alone)
    return on_it + [(Material("shrink", plan.shrink), plan.shrink_cut_mm)] * (tubes * len(wire.sleeve_mm))
