"""Cut list, counted operations, and what one run uses up."""

from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from server.domain.materials.contacts import wire_of
from server.domain.materials.sleeves import shrink_cut_mm
from server.domain.model.bench import Piece
from server.domain.model.catalogue import Catalogue, Insulation, ItemKind
from server.domain.model.plan import CutGroup, CutLine, PlannedWire, RunPlan
from server.domain.plan.runs import PlannedRun

Item = tuple[ItemKind, str, str]
"""Kind, id and colour; no colour for what has none."""


def cut_list(runs: Iterable[PlannedRun]) -> tuple[CutGroup, ...]:
    """Measured wires by gauge, insulation and colour, longest first; thickest gauge first."""
    groups: dict[tuple[int, Insulation, str], list[PlannedWire]] = defaultdict(list)
    for planned in runs:
        for wire in planned.plan.wires:
            if wire.cut_mm is not None:
                groups[wire.awg, wire.insulation, wire.colour].append(wire)
    return tuple(_cut_group(key, groups[key]) for key in sorted(groups))


def _cut_group(key: tuple[int, Insulation, str], wires: list[PlannedWire]) -> CutGroup:
    by_length: dict[int, list[str]] = defaultdict(list)
    for wire in wires:
        by_length[wire.cut_mm or 0].append(wire.label)
    lines = tuple(
        CutLine(length, len(by_length[length]), tuple(by_length[length])) for length in sorted(by_length, reverse=True)
    )
    awg, insulation, colour = key
    total = sum(line.cut_mm * line.count for line in lines)
    return CutGroup(f"awg{awg}-{insulation}", awg, insulation, colour, lines, total, len(wires))


def contacts_filled(planned: PlannedRun) -> Counter[str]:
    """Contacts to crimp or press in one run, by id; two wires in one contact take one."""
    count: Counter[str] = Counter()
    for use in planned.plan.crimps:
        count[use.contact] += use.count
    return count


def operations(runs: Iterable[PlannedRun], catalogue: Catalogue) -> Counter[str]:
    """How often each operation of the labour table is done."""
    count: Counter[str] = Counter()
    for planned in runs:
        plan = planned.plan
        contacts = contacts_filled(planned)
        crimped = sum(n for c, n in contacts.items() if catalogue.contacts[c].gender != "blade")
        ends = [e for w in plan.wires for e in (w.source, *w.taps, w.target)]
        rework = plan.method == "rework"
        pressed = sum(1 for e in ends if e.contact and catalogue.contacts[e.contact].gender == "blade")
        soldered = sum(1 for joint in plan.joints if joint.kind != "jumper")
        count["cut"] += len(plan.wires)
        # A wire that is the supply's own is stripped at the part end, and at both sides of a soldered joint.
        count["strip"] += sum(1 for e in ends if e.crimped) - pressed + 2 * soldered
        count["solder"] += soldered
        count["extract"] += len(plan.wires) if rework else 0
        count["crimp"] += crimped
        count["insert"] += crimped
        count["displace"] += pressed
        count["cap"] += sum(1 for plug in plan.ends if plug.cap)
        count["sleeve_end"] += 2 * sum(piece.count for piece in plan.sleeve_pieces)
        count["melt" if plan.sleeve_end == "melted" else "shrink"] += plan.shrink_count
        for place in plan.combs:
            count["comb_open" if catalogue.combs[place.comb].kind == "open" else "comb"] += 1
        count["test"] += len(plan.wires)
    return +count


def operations_in_vain(pieces: Iterable[Piece], runs: Iterable[PlannedRun]) -> Counter[str]:
    """How often each operation was done on wires that do not serve: that work is done again, or is nobody's.

    Args:
        pieces: The wires, with the stages that they had reached.
        runs: The planned runs, for the way their sleeves end.
    """
    melted = {planned.plan.number for planned in runs if planned.plan.sleeve_end == "melted"}
    count: Counter[str] = Counter()
    for piece in pieces:
        ends = "melt" if piece.run in melted else "shrink"
        # A piece that lives on, only its work being gone, stands here with a length of 0.
        count["cut"] += bool(piece.length_mm)
        if "crimped" in piece.stages:
            count.update({"strip": 2, "crimp": 2})
        elif piece.crimped_ends:
            count.update({"strip": 1, "crimp": 1})
        if "sleeved" in piece.stages:
            count.update({"sleeve_end": 2, ends: 2})
        if "fitted" in piece.stages:
            count["insert"] += 2
        if "tested" in piece.stages:
            count["test"] += 1
    return count


@dataclass(frozen=True, slots=True)
class Used:
    """What one run uses up, without spares."""

    pieces: dict[Item, list[int]]
    """Lengths cut from rolls. [mm]"""
    counts: Counter[Item]
    """Things counted by the piece."""


def used_by(plan: RunPlan, catalogue: Catalogue) -> Used:
    """Wire, sleeve, heat-shrink, contacts, housings, caps and combs that one run uses up.

    Args:
        plan: The run.
        catalogue: Reference data.
    """
    pieces: dict[Item, list[int]] = defaultdict(list)
    for wire in plan.wires:
        stock = wire_of(catalogue, wire.awg, wire.insulation)
        if stock is not None and wire.buy_mm:
            pieces["wire", stock.id, wire.colour].append(wire.buy_mm)
    for piece in plan.sleeve_pieces:
        pieces["sleeve", piece.sleeve, piece.colour] += [piece.cut_mm] * piece.count
    tubes = [plan.shrink] * plan.shrink_count + [joint.shrink for joint in plan.joints if joint.shrink]
    for tube in tubes:
        pieces["shrink", tube, ""].append(shrink_cut_mm(catalogue.shrinks[tube]))
    return Used(dict(pieces), counted_by(plan, catalogue))


def counted_by(plan: RunPlan, catalogue: Catalogue) -> Counter[Item]:
    """Contacts, housings, caps and combs that one run uses up, without spares.

    Args:
        plan: The run.
        catalogue: Reference data.
    """
    counts: Counter[Item] = Counter()
    if plan.kind != "sleeved":
        bought = plan.ends if plan.method == "rework" else (*plan.sources, *plan.ends)
        counts.update(("housing", plug.housing, "") for plug in bought)
        counts.update(("cap", plug.cap, "") for plug in plan.ends if plug.cap)
    for use in plan.crimps:
        if catalogue.contacts[use.contact].gender != "blade":
            counts["contact", use.contact, ""] += use.count
    counts.update(("comb", place.comb, "") for place in plan.combs)
    return counts
