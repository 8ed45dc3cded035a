"""Findings of contacts that hold two wires."""

from collections.abc import Iterator

from server.domain.materials.contacts import conductor_limit_mm2, crimp_for_wires, together_mm, wire_of
from server.domain.model.build import Remedy
from server.domain.model.catalogue import Catalogue, Contact, Housing, Wire
from server.domain.model.plan import Offer, PlannedWire, Severity, WireEnd
from server.domain.plan.checks.suits import thinner_together
from server.domain.plan.checks.told import RULE, Told, ends_of
from server.domain.plan.runs import PlannedRun, where_words
from server.domain.reference import LAP_MM, OVERFULL, SPLICE_MM

AREA_SLACK_MM2 = 1e-6
"""Areas are sums of rounded figures; a difference below this is none. [mm2]"""
INSTEAD: tuple[Remedy, ...] = ("free_cavity", "splice", "thinner", "jumper")
"""Ways out of a shared contact that does not fit, the one to name first in front."""


def sharing_findings(planned: PlannedRun, catalogue: Catalogue) -> Iterator[Told]:
    """Two wires in one contact: told, and weighed against the copper and the insulation that the contact takes.

    Args:
        planned: The run.
        catalogue: Reference data.

    Source:
        Two wires in one crimp are judged by their common area, and their insulation by the round of equal area (common
        practice).
    """
    wires = {wire.label: wire for wire in planned.plan.wires}
    for wire in planned.plan.wires:
        ends = list(ends_of(planned, wire))
        for (end, plug), at in ((ends[0], where_words(wire)), (ends[-1], "part end")):
            if not end.shared_with or wire.label > min(end.shared_with):
                continue
            labels = (wire.label, *end.shared_with)
            contact = catalogue.contacts.get(end.contact)
            found = [wire_of(catalogue, wires[label].awg, wires[label].insulation) for label in labels]
            stocks = [stock for stock in found if stock is not None]
            if contact is None or len(stocks) < len(labels):
                continue
            text = f"contact {end.cavity} at the {at} carries {' and '.join(labels)}"
            offers = _offers(planned, wire, end)
            yield _weighed(planned, text, end, plug.housing, contact, stocks, offers, catalogue)


def _offers(planned: PlannedRun, wire: PlannedWire, end: WireEnd) -> dict[Remedy, Offer]:
    """What could be done instead about a source contact, where it is possible."""
    if wire.source_at_end or end is not wire.source:
        return {}
    ref = planned.plan.sources[end.plug].ref
    here = (ref.part, ref.socket, end.cavity)
    return {o.remedy: o for o in planned.plan.offers if (o.part, o.socket, o.cavity) == here and o.possible}


def _weighed(
    planned: PlannedRun,
    text: str,
    end: WireEnd,
    housing: Housing,
    contact: Contact,
    stocks: list[Wire],
    offers: dict[Remedy, Offer],
    catalogue: Catalogue,
) -> Told:
    area, limit = sum(stock.conductor_mm2 for stock in stocks), conductor_limit_mm2(contact, catalogue)
    round_mm = together_mm(stocks)
    way_out = _instead(planned, housing, stocks, offers, catalogue)
    if len(stocks) > contact.wires_max:
        return Told(
            "stop", "too_many_wires", f"{text}; it takes {contact.wires_max}.", contact.source, way_out, end.cavity
        )
    if area > limit + AREA_SLACK_MM2:
        told = f"{text}: {area:.2f} mm2 of copper where the contact takes {limit:.2f} mm2."
        gravity: Severity = "stop" if area > limit * OVERFULL + AREA_SLACK_MM2 else "warn"
        return Told(gravity, "double_tight", told, contact.source, way_out, end.cavity)
    if not contact.insulation_min_mm <= round_mm <= contact.insulation_max_mm:
        told = (
            f"{text}: their insulation is as thick as one of {round_mm:.1f} mm where {contact.name} grips "
            f"{contact.insulation_min_mm:g} to {contact.insulation_max_mm:g} mm."
        )
        return Told("warn", "double_insulation", told, contact.source, way_out, end.cavity)
    crimp = crimp_for_wires(catalogue, contact.id, stocks)
    if crimp is None:
        gauges = " and ".join(f"{stock.awg} AWG" for stock in stocks)
        told = f"{text}, and no strip length and die are listed for {gauges} in {contact.name}."
        return Told("warn", "no_crimp", told, contact.source, way_out, end.cavity)
    way_out = f"Crimp both in one stroke ({crimp.die}) and pull the thinner one: it is the first to slip."
    return Told("note", "double", f"{text} ({area:.2f} of {limit:.2f} mm2).", contact.source, way_out, end.cavity)


def _instead(
    planned: PlannedRun, housing: Housing, stocks: list[Wire], offers: dict[Remedy, Offer], catalogue: Catalogue
) -> str:
    """The way out of a contact that does not fit both wires, by the name that its choice has on the run's page."""
    offer = next((offers[remedy] for remedy in INSTEAD if remedy in offers and not offers[remedy].chosen), None)
    if offer is not None and offer.remedy == "splice":
        return (
            f"Splice the two {SPLICE_MM:g} mm before the housing with {LAP_MM:g} mm overlap, and crimp only one: "
            f"choose 'splice before the housing' on the run's page."
        )
    if offer is not None and offer.remedy == "free_cavity":
        return f"Use a free contact for one of them ({offer.reason})."
    if offer is not None and offer.remedy == "jumper":
        return f"Bridge the second one at the part end: {offer.reason}."
    if offer is not None:
        return f"Take a thinner second wire: {offer.reason}."
    if (thinner := thinner_together(planned, housing, stocks, catalogue)) is not None:
        awg, changed = thinner
        return (
            f"Take {awg} AWG for this run: {sum(w.conductor_mm2 for w in changed):.2f} mm2 fit a contact of this plug."
        )
    return f"Splice the wires {SPLICE_MM:g} mm before the housing and crimp only one of them ({RULE})."
