"""Everything of a plan that is cut from a roll: wires, pieces of sleeve, pieces of tube; each with an identity."""

import math
from collections import defaultdict
from collections.abc import Iterator

from server.domain.changes import Needed
from server.domain.materials.contacts import wire_of
from server.domain.materials.sleeves import shrink_cut_mm
from server.domain.model.bench import Material
from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import PlannedWire, RunPlan
from server.domain.plan.names import item_name
from server.domain.plan.wiring import wiring_of


def needs_of(plan: RunPlan, catalogue: Catalogue) -> Iterator[Needed]:
    """What one run needs cut, in the order of the work: wires in ribbon order, sleeve, tube.

    Args:
        plan: The run.
        catalogue: Reference data.
    """
    for wire in plan.wires:
        stock = wire_of(catalogue, wire.awg, wire.insulation)
        if stock is not None and wire.buy_mm:
            material = Material("wire", stock.id, wire.colour)
            name = item_name("wire", stock.id, wire.colour, catalogue)
            least, wiring = _least_mm(wire), wiring_of(plan, wire)
            yield Needed(wire.id, wire.label, plan.number, material, name, least, wire.cut_mm, wire.buy_mm, wiring)
    measured = plan.state == "measured"
    counted: defaultdict[str, int] = defaultdict(int)
    for piece in plan.sleeve_pieces:
        material = Material("sleeve", piece.sleeve, piece.colour)
        name = item_name("sleeve", piece.sleeve, piece.colour, catalogue)
        for _ in range(piece.count):
            counted[piece.colour] += 1
            number = counted[piece.colour]
            ident, label = f"{plan.id}/sleeve/{piece.colour}/{number}", f"{plan.number}-sl{sum(counted.values())}"
            cut = piece.cut_mm if measured else None
            yield Needed(ident, label, plan.number, material, name, piece.cut_mm, cut, piece.cut_mm)
    tubes = [plan.shrink] * plan.shrink_count + [joint.shrink for joint in plan.joints if joint.shrink]
    for number, tube in enumerate(tubes, start=1):
        length = shrink_cut_mm(catalogue.shrinks[tube])
        ident, label = f"{plan.id}/shrink/{number}", f"{plan.number}-hs{number}"
        name = item_name("shrink", tube, "", catalogue)
        yield Needed(
            ident, label, plan.number, Material("shrink", tube), name, length, length if measured else None, length
        )


def _least_mm(wire: PlannedWire) -> int:
    """The length below which a wire is too short; of the supply's own wire, the piece that is soldered on. [mm]"""
    if wire.own_mm:
        return wire.buy_mm
    return math.ceil(round(sum(term.mm for term in wire.terms), 6))
