"""The contacts of a run, each with the wires that go into it and how they are crimped."""

from collections import Counter, defaultdict

from server.domain.materials.contacts import crimp_for_wires, strip_mm, wire_of
from server.domain.model.build import Allowances
from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import CrimpUse, PlannedWire


def crimps_of(wires: tuple[PlannedWire, ...], allowances: Allowances, catalogue: Catalogue) -> tuple[CrimpUse, ...]:
    """Contacts that the builder crimps or presses, alike ones together.

    Args:
        wires: Wires of one run; two of them may share a contact.
        allowances: For strip lengths set by hand.
        catalogue: Reference data.
    """
    inside: dict[tuple[bool, int, str, str], list[int]] = defaultdict(list)
    found = (wire_of(catalogue, awg, insulation) for awg, insulation in {(w.awg, w.insulation) for w in wires})
    stocks = {stock.awg: stock for stock in found if stock is not None}
    for wire in wires:
        ends = [(wire.source_at_end, wire.source), *((True, end) for end in (*wire.taps, wire.target))]
        for at_end, end in ends:
            if end.crimped and end.contact:
                inside[at_end, end.plug, end.cavity, end.contact].append(wire.awg)
    alike = Counter((contact, tuple(sorted(gauges))) for (*_, contact), gauges in inside.items())
    uses = []
    for (contact, gauges), count in sorted(alike.items()):
        listed = all(awg in stocks for awg in gauges)
        crimp = crimp_for_wires(catalogue, contact, [stocks[awg] for awg in gauges]) if listed else None
        strip = strip_mm(catalogue, allowances.strip_mm, contact, gauges[0])
        uses.append(CrimpUse(contact, gauges, strip, crimp.die if crimp else "", count, crimp.source if crimp else ""))
    return tuple(uses)
