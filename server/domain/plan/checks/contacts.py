"""Findings of single contacts: gauge, insulation, how it is crimped, how much is stripped, and the caps of plugs."""

from collections.abc import Iterator

from server.domain.materials.contacts import gauges_taken, insulation_fits, strip_mm, wire_of
from server.domain.model.build import Build
from server.domain.model.catalogue import Catalogue, Contact, Family, Wire
from server.domain.model.plan import CrimpUse, PlannedWire, WireEnd
from server.domain.plan.checks.suits import INSULATION_WORDS, nearest, suited_gauges
from server.domain.plan.checks.told import RULE, Told, ends_of, gauge_words
from server.domain.plan.resolve import RunPlug
from server.domain.plan.runs import PlannedRun
from server.domain.reference import STRIP_OFF_MM


def contact_findings(planned: PlannedRun, build: Build, catalogue: Catalogue) -> Iterator[Told]:
    """What does not fit between wires and the contacts that they go into.

    Args:
        planned: The run.
        build: The build, for its allowances.
        catalogue: Reference data.
    """
    yield from _fits(planned, catalogue)
    yield from _crimps(planned, build, catalogue)
    yield from _caps(planned, catalogue)


def _fits(planned: PlannedRun, catalogue: Catalogue) -> Iterator[Told]:
    """Gauge and insulation against what each contact takes; one finding per housing and gauge."""
    told: set[tuple[str, str, int]] = set()
    for wire in planned.plan.wires:
        stock = wire_of(catalogue, wire.awg, wire.insulation)
        if stock is None:
            if ("no_wire", "", wire.awg) not in told:
                told.add(("no_wire", "", wire.awg))
                yield _no_wire(wire, catalogue)
            continue
        for end, plug in ends_of(planned, wire):
            if not end.crimped:
                continue
            contact = catalogue.contacts.get(end.contact)
            code = "gauge_contact" if contact is None else "insulation_contact"
            if (code, plug.housing.id, wire.awg) in told:
                continue
            if contact is None:
                told.add((code, plug.housing.id, wire.awg))
                yield _gauge(planned, wire, end, plug, catalogue)
            elif not end.shared_with and not insulation_fits(contact, stock):
                # Wires that share a contact are gripped together, and judged with it.
                told.add((code, plug.housing.id, wire.awg))
                yield _insulation(planned, stock, contact, end, catalogue)


def _no_wire(wire: PlannedWire, catalogue: Catalogue) -> Told:
    insulation = INSULATION_WORDS[wire.insulation]
    text = f"no {wire.awg} AWG wire of {insulation} insulation is listed."
    listed = tuple(w.awg for w in catalogue.wires.values() if w.insulation == wire.insulation)
    near = nearest(wire.awg, listed)
    way_out = f"Choose another insulation for this run: no {insulation} wire is listed."
    if near is not None:
        way_out = f"Take {near} AWG for this run, the nearest that is listed."
    return Told("stop", "no_wire", text, RULE, way_out)


def _gauge(planned: PlannedRun, wire: PlannedWire, end: WireEnd, plug: RunPlug, catalogue: Catalogue) -> Told:
    taken = gauges_taken(catalogue, plug.housing, signal=False)
    limits = "no crimped wire" if taken is None else gauge_words(*taken)
    text = f"{wire.awg} AWG does not go into {plug.housing.name}, which takes {limits}."
    near = nearest(wire.awg, suited_gauges(planned, catalogue, wire.insulation))
    if near is not None:
        way_out = f"Take {near} AWG for this run, in its finish: every plug of it takes that."
    else:
        way_out = f"Start it from a port whose contacts take {limits}: no listed gauge suits every plug of this run."
    return Told("stop", "gauge_contact", text, plug.housing.source, way_out, end.cavity)


def _insulation(planned: PlannedRun, stock: Wire, contact: Contact, end: WireEnd, catalogue: Catalogue) -> Told:
    text = (
        f"{stock.name} is {stock.outside_mm:g} mm over its insulation; {contact.name} grips "
        f"{contact.insulation_min_mm:g} to {contact.insulation_max_mm:g} mm."
    )
    way_out = _other_wire(planned, stock, contact, catalogue)
    return Told("stop", "insulation_contact", text, contact.source, way_out, end.cavity)


def _other_wire(planned: PlannedRun, stock: Wire, contact: Contact, catalogue: Catalogue) -> str:
    """A listed wire that the contact grips: of the same gauge, or else of the same insulation."""
    main = stock.awg == planned.resolved.style.awg
    for other in catalogue.wires.values():
        suits = not main or other.awg in suited_gauges(planned, catalogue, other.insulation)
        if other.awg == stock.awg and insulation_fits(contact, other) and suits:
            return (
                f"Take {INSULATION_WORDS[other.insulation]} insulation for this run: {other.outside_mm:g} mm at "
                f"{other.awg} AWG."
            )
    near = nearest(stock.awg, suited_gauges(planned, catalogue, stock.insulation)) if main else None
    if near is not None:
        return f"Take {near} AWG for this run, in its finish: every plug of it grips that."
    return f"List a wire of {contact.insulation_min_mm:g} to {contact.insulation_max_mm:g} mm over its insulation."


def _crimps(planned: PlannedRun, build: Build, catalogue: Catalogue) -> Iterator[Told]:
    """Contacts and gauges without a die, and strips that are not those of the crimp's own row or leave copper bare."""
    for use in planned.plan.crimps:
        contact = catalogue.contacts.get(use.contact)
        if contact is None:
            continue
        family = catalogue.families[contact.family]
        depth = build.allowances.depth_mm.get(family.id, family.insertion_depth_mm)
        if not use.die and len(use.gauges) == 1:
            yield _no_crimp(planned, use, contact, catalogue)
        if family.termination != "crimp":
            continue
        listed = strip_mm(catalogue, {}, contact.id, use.gauges[0])
        if listed and round(abs(use.strip_mm - listed), 6) > STRIP_OFF_MM:
            yield _strip_off(use, contact, listed, catalogue)
        elif use.strip_mm > depth:
            yield _strip_long(use, contact, family, depth)


def _no_crimp(planned: PlannedRun, use: CrimpUse, contact: Contact, catalogue: Catalogue) -> Told:
    (awg,) = use.gauges
    text = f"no strip length and die are listed for {awg} AWG in {contact.name}."
    listed = {crimp.awg for crimp in catalogue.crimps if crimp.contact == contact.id}
    suited = tuple(
        gauge for gauge in suited_gauges(planned, catalogue, planned.resolved.style.insulation) if gauge in listed
    )
    near = nearest(awg, suited)
    way_out = f"List strip length and die of {awg} AWG for {contact.name}."
    if near is not None and awg == planned.resolved.style.awg:
        way_out = f"Take {near} AWG for this run, for which strip length and die are listed."
    return Told("warn", "no_crimp", text, contact.source, way_out)


def _strip_off(use: CrimpUse, contact: Contact, listed_mm: float, catalogue: Catalogue) -> Told:
    """A strip length set by hand that is not that of the contact's own row."""
    gauges = " and ".join(f"{awg} AWG" for awg in use.gauges)
    if use.strip_mm > listed_mm:
        what = "bare copper would stand out of the crimp, and the grip would miss the insulation"
    else:
        what = "the crimp would close on insulation, or on too little copper"
    text = (
        f"{use.strip_mm:g} mm are stripped for {contact.name} with {gauges}, and {listed_mm:g} mm are listed: {what}."
    )
    row = min((c for c in catalogue.crimps if c.contact == contact.id), key=lambda c: abs(c.awg - use.gauges[0]))
    return Told("warn", "strip_off", text, row.source, f"Strip {listed_mm:g} mm.")


def _strip_long(use: CrimpUse, contact: Contact, family: Family, depth_mm: float) -> Told:
    """An insertion depth set by hand that is shorter than what is stripped."""
    text = (
        f"{use.strip_mm:g} mm are stripped for {contact.name}, and only {depth_mm:g} mm of the wire lie inside the "
        "housing: bare copper would show."
    )
    way_out = f"Check the insertion depth of {family.name}: {family.insertion_depth_mm:g} mm are listed."
    return Told("warn", "strip_long", text, use.source or RULE, way_out)


def _caps(planned: PlannedRun, catalogue: Catalogue) -> Iterator[Told]:
    """Displacement plugs for which no cap is listed: nothing presses the wires in."""
    count = len(planned.resolved.ends)
    told: set[tuple[str, bool]] = set()
    for index, (plug, shown) in enumerate(zip(planned.resolved.ends, planned.plan.ends, strict=True)):
        last = planned.resolved.kind == "fork" or index == count - 1
        if plug.family.termination != "displacement" or shown.cap or (plug.family.id, last) in told:
            continue
        told.add((plug.family.id, last))
        position = "end" if last else "through"
        text = f"plug {index + 1} of {count} takes a cap, and no {position} cap of {plug.family.name} is listed."
        way_out = f"List a {position} cap of {plug.family.name}; never take one of another family."
        yield Told("stop", "no_cap", text, plug.family.source, way_out)
