"""Findings: what would stop the work, what to look at, what to know; each with its numbers and source."""

from collections import Counter
from collections.abc import Iterable, Iterator

from server.domain.electrical import contact_loads
from server.domain.materials import conductor_limit_mm2, gauges_taken, insulation_fits, wire_of
from server.domain.model.build import SUPPLY, Build
from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import BuyLine, Finding, PlannedWire, RunPlan, Severity, Unfed, WireEnd
from server.domain.plan.resolve import RunPlug
from server.domain.plan.runs import PlannedRun, where_words
from server.domain.plan.trust import metering_findings
from server.domain.reference import sensed_net
from server.domain.sockets import layout_of

RULE = "common practice"
SHORT_ROUTE_MM, LONG_ROUTE_MM, SHORT_SPACING_MM = 50.0, 1500.0, 20.0
"""Lengths outside these limits are taken for slips and asked about. [mm] Source: common practice."""
AREA_SLACK_MM2 = 1e-6
"""Areas are sums of rounded figures; a difference below this is none. [mm2]"""
SEVERITY_ORDER: dict[Severity, int] = {"stop": 0, "warn": 1, "note": 2}


def findings_of(
    build: Build,
    catalogue: Catalogue,
    runs: tuple[PlannedRun, ...],
    unfed: tuple[Unfed, ...],
    buys: tuple[BuyLine, ...],
) -> tuple[Finding, ...]:
    """Every finding of a build, stops first, then by run.

    Args:
        build: The build.
        catalogue: Reference data.
        runs: Its planned runs.
        unfed: Inlets that no run feeds.
        buys: The buy list.
    """
    plans = tuple(planned.plan for planned in runs)
    found = [*_supply(build, catalogue, plans), *(_unfed(inlet) for inlet in unfed)]
    found += _supply_limits(build, catalogue, runs)
    found += [_unpriced(line) for line in buys if line.price is None]
    for planned in runs:
        found += _run(planned, catalogue)
    return in_order(found)


def in_order(found: Iterable[Finding]) -> tuple[Finding, ...]:
    """Findings with stops first, then by run."""
    return tuple(sorted(found, key=lambda f: (SEVERITY_ORDER[f.severity], f.run or 0)))


def _supply(build: Build, catalogue: Catalogue, runs: tuple[RunPlan, ...]) -> Iterator[Finding]:
    layout = layout_of(build, catalogue)
    if layout is None:
        yield Finding("warn", "no_supply", "No supply layout is chosen: nothing can be wired to it yet.", RULE)
        return
    yield from metering_findings(layout, runs)
    newest = catalogue.supplies.get(layout.id, layout)
    if newest.version > layout.version:
        text = (
            f"the build keeps version {layout.version} of the layout '{layout.name}'; version {newest.version} exists."
        )
        yield Finding("note", "newer_layout", f"The supply: {text}", RULE)


def _supply_limits(build: Build, catalogue: Catalogue, runs: tuple[PlannedRun, ...]) -> Iterator[Finding]:
    """What all parts on the supply may draw together, by net, against the limits that the builder wrote down."""
    layout = layout_of(build, catalogue)
    if layout is None or not layout.limits_a:
        return
    drawn: Counter[str] = Counter()
    for planned in runs:
        if any(source.ref.part == SUPPLY for source in planned.resolved.sources):
            for end in planned.resolved.ends:
                drawn.update(_draw(end))
    for net, limit in layout.limits_a.items():
        if drawn[net] > limit * (1 + 1e-9):
            text = f"the parts may draw {drawn[net]:.1f} A from {net} together; the supply gives {limit:.1f} A."
            yield Finding("warn", "supply_limit", f"The supply: at their greatest load {text}", layout.source)


def _unfed(inlet: Unfed) -> Finding:
    text = f"{inlet.place}, {inlet.inlet} is not fed: {inlet.reason}."
    return Finding("warn", "unfed", text, RULE)


def _unpriced(line: BuyLine) -> Finding:
    if line.unit == "mm":
        return Finding("stop", "piece_too_long", f"{line.name}: a piece is longer than any roll that is listed.", RULE)
    return Finding("warn", "no_pack", f"{line.name}: no pack is listed, so it has no price.", RULE)


def _run(planned: PlannedRun, catalogue: Catalogue) -> Iterator[Finding]:
    number = planned.plan.number
    for finding in (
        *_wiring(planned),
        *_length(planned),
        *_contacts(planned, catalogue),
        *_sharing(planned, catalogue),
        *_loads(planned, catalogue),
        *_sleeve(planned),
        *_sense_coding(planned),
    ):
        severity, code, text, source, cavity = finding
        yield Finding(severity, code, f"Run {number}: {text}", source, number, cavity)


_Part = tuple[Severity, str, str, str, str]


def _wiring(planned: PlannedRun) -> Iterator[_Part]:
    resolved = planned.resolved
    if resolved.kind == "sleeved":
        return
    if not resolved.sources:
        yield "stop", "no_source", "it starts from no port; move it to one that fits.", RULE, ""
    for cavity, reason in planned.made.impossible_pins:
        text = f"the pin of part cavity {cavity} cannot hold: {reason}. It is solved without."
        yield "stop", "pin_impossible", text, RULE, cavity
    if resolved.refused:
        yield "warn", "method_refused", f"it is planned as a new cable: {resolved.refused}.", RULE, ""
    for short in planned.made.shortages:
        text = f"{short.wanted} wires want {short.net}, but only {short.contacts} contacts carry it, two wires each."
        yield "stop", "net_short", text, "a wire may only join equal nets", ""
    use = resolved.use
    for plug in resolved.sources:
        if use not in plug.facts.uses:
            text = f"the port {plug.facts.label} is not meant for {use}; check that it carries the current."
            yield "warn", "other_use", text, "legend of the supply layout", ""
    for index, cavity in planned.plan.spare_cavities:
        spare = planned.plan.sources[index]
        if base := sensed_net(spare.nets[cavity]):
            text = f"the sense line of {spare.socket}, cavity {cavity}, finds no free {base} contact to end in."
            yield "warn", "sense_unused", text, "desktop supply design guide, remote sensing", cavity


def _length(planned: PlannedRun) -> Iterator[_Part]:
    plan = planned.plan
    if plan.state == "unmeasured":
        missing = len(plan.ends) - 1 - len(plan.spacing_mm)
        spacing_only = missing > 0 and (plan.length_mm is not None or plan.high_mm is not None)
        what = f"spacings of the chain missing: {missing}" if spacing_only else "it has no length yet"
        yield "note", "unmeasured", f"{what}; it is not on the cut list and nothing is bought for it.", RULE, ""
    shortest = plan.low_mm if plan.length_mm is None else plan.length_mm
    longest = plan.high_mm if plan.length_mm is None else plan.length_mm
    if shortest is not None and shortest < SHORT_ROUTE_MM:
        text = f"a route of {shortest:g} mm is shorter than two plugs and a bend between them; check the unit."
        yield "warn", "route_short", text, RULE, ""
    if longest is not None and longest > LONG_ROUTE_MM:
        text = f"a route of {longest:g} mm is longer than usual; check the unit and the voltage at the part."
        yield "warn", "route_long", text, RULE, ""
    if any(spacing < SHORT_SPACING_MM for spacing in plan.spacing_mm):
        text = f"two plugs of the chain lie {min(plan.spacing_mm):g} mm apart; check the unit."
        yield "warn", "spacing_short", text, RULE, ""
    if plan.state == "range":
        limits = f"{plan.low_mm:g} to {plan.high_mm:g} mm"
        text = f"{limits}, not measured; bought for at {plan.high_mm:g} mm, not on the cut list."
        yield "note", "range", text, RULE, ""


def _ends(planned: PlannedRun, wire: PlannedWire) -> Iterator[tuple[WireEnd, RunPlug]]:
    resolved = planned.resolved
    order = [p.ref for p in planned.plan.sources]
    sources = {plug.ref: plug for plug in resolved.sources}
    start = resolved.ends[wire.source.plug] if wire.source_at_end else sources[order[wire.source.plug]]
    yield wire.source, start
    for end in (*wire.taps, wire.target):
        yield end, resolved.ends[end.plug]


def _contacts(planned: PlannedRun, catalogue: Catalogue) -> Iterator[_Part]:
    """Gauge and insulation against what each contact takes; one finding per housing and gauge."""
    told: set[tuple[str, str, int]] = set()
    for wire in planned.plan.wires:
        stock = wire_of(catalogue, wire.awg, wire.insulation)
        if stock is None:
            if ("wire", "", wire.awg) not in told:
                told.add(("wire", "", wire.awg))
                yield "stop", "no_wire", f"no {wire.awg} AWG wire of {wire.insulation} insulation is listed.", RULE, ""
            continue
        for end, plug in _ends(planned, wire):
            if not end.crimped:
                continue
            contact = catalogue.contacts.get(end.contact)
            code = "gauge_contact" if contact is None else "insulation_contact"
            if (code, plug.housing.id, wire.awg) in told:
                continue
            if contact is None:
                told.add((code, plug.housing.id, wire.awg))
                taken = gauges_taken(catalogue, plug.housing, signal=False)
                limits = "no crimped wire" if taken is None else _gauge_words(*taken)
                text = f"{wire.awg} AWG does not go into {plug.housing.name}, which takes {limits}."
                yield "stop", code, text, plug.housing.source, end.cavity
            elif not insulation_fits(contact, stock):
                told.add((code, plug.housing.id, wire.awg))
                text = (
                    f"{stock.name} is {stock.outside_mm:g} mm over its insulation; {contact.name} grips "
                    f"{contact.insulation_min_mm:g} to {contact.insulation_max_mm:g} mm."
                )
                yield "stop", code, text, contact.source, end.cavity


def _gauge_words(thickest: int, thinnest: int) -> str:
    return f"{thickest} AWG only" if thickest == thinnest else f"{thickest} to {thinnest} AWG"


def _sharing(planned: PlannedRun, catalogue: Catalogue) -> Iterator[_Part]:
    """Two wires in one contact: told, and weighed against the copper that the contact takes."""
    wires = {wire.label: wire for wire in planned.plan.wires}
    for wire in planned.plan.wires:
        for end, at in ((wire.source, where_words(wire)), (wire.target, "part end")):
            if not end.shared_with or wire.label > min(end.shared_with):
                continue
            labels = (wire.label, *end.shared_with)
            contact = catalogue.contacts.get(end.contact)
            stocks = [wire_of(catalogue, wires[label].awg, wires[label].insulation) for label in labels]
            if contact is None or any(stock is None for stock in stocks):
                continue
            area = sum(stock.conductor_mm2 for stock in stocks if stock is not None)
            limit = conductor_limit_mm2(contact, catalogue)
            text = f"contact {end.cavity} at the {at} carries {' and '.join(labels)}"
            if len(labels) > contact.wires_max:
                yield "stop", "too_many_wires", f"{text}; it takes {contact.wires_max}.", contact.source, end.cavity
            elif area > limit + AREA_SLACK_MM2:
                detail = f"{text}: {area:.2f} mm2 of copper where the contact takes {limit:.2f} mm2."
                yield (
                    "warn",
                    "double_tight",
                    f"{detail} Take a thinner gauge for this run, or another way out on its page.",
                    contact.source,
                    end.cavity,
                )
            else:
                yield "note", "double", f"{text} ({area:.2f} of {limit:.2f} mm2).", contact.source, end.cavity


def _loads(planned: PlannedRun, catalogue: Catalogue) -> Iterator[_Part]:
    """Greatest current of a contact against its rating, at every source plug and at the first part plug."""
    plan, resolved = planned.plan, planned.resolved
    loaded = {p.cavity for p in resolved.ends[0].facts.wanted_pins(resolved.optional) if p.carries_current}
    live = [w for w in plan.wires if not w.source_at_end and _first_stop(w).cavity in loaded and not _is_sense(w)]
    wires = Counter(wire.net for wire in live)
    awg = {net: max(wire.awg for wire in live if wire.net == net) for net in wires}
    whole: Counter[str] = Counter()
    for plug in resolved.ends:
        whole.update(_draw(plug))
    # Along a chain the wires carry the sum, but each plug's contacts pass only what its own part draws.
    at_part = {net: (1,) * count for net, count in wires.items()}
    ends = [("part end", resolved.ends[0].family.id, _draw(resolved.ends[0]), at_part)]
    for index, source in enumerate(plan.sources):
        held: Counter[tuple[str, str]] = Counter((w.net, w.source.cavity) for w in live if w.source.plug == index)
        at_source = {net: tuple(n for (of, _), n in held.items() if of == net) for net in wires}
        family = catalogue.housings[source.housing].family
        ends.append((f"supply end, {source.socket},", family, dict(whole), at_source))
    for at, family, load_a, contacts in ends:
        for load in contact_loads(catalogue, family, load_a=load_a, wires=wires, contacts=contacts, awg_by_net=awg):
            if load.current_a > load.rated_a * (1 + 1e-9):
                text = (
                    f"at the greatest load a {load.net} contact at the {at} carries {load.current_a:.1f} A and is "
                    f"rated {load.rated_a:.1f} A ({load.excess_percent:.0f} % over)."
                )
                yield "warn", "contact_current", text, load.rating.source, ""


def _is_sense(wire: PlannedWire) -> bool:
    return bool(sensed_net(wire.net))


def _draw(plug: RunPlug) -> dict[str, float]:
    """Greatest current of one part by net, with the sum of it coming back on COM. [A]"""
    load_a = dict(plug.facts.pinout.load_a) if plug.facts.pinout else {}
    back = sum(current for net, current in load_a.items() if net.startswith("+"))
    return {**load_a, "COM": back} if back else load_a


def _first_stop(wire: PlannedWire) -> WireEnd:
    return wire.taps[0] if wire.taps else wire.target


def _sleeve(planned: PlannedRun) -> Iterator[_Part]:
    if planned.sleeve_misfit:
        yield "stop", "sleeve_fit", f"{planned.sleeve_misfit}.", "braid of inextensible filaments", ""


def _sense_coding(planned: PlannedRun) -> Iterator[_Part]:
    """A 12+4 inlet whose sense lines both end in COM promises the card the full 600 W."""
    tied = [w for w in planned.plan.wires if w.function in ("SENSE0", "SENSE1") and w.net == "COM"]
    if len(tied) == 2 and len(planned.plan.wires) > 12:
        yield (
            "warn",
            "full_power_told",
            "SENSE0 and SENSE1 both end in COM: the card is told that it may draw 600 W. Make sure that the ports may "
            "carry 50 A together.",
            "desktop supply design guide, sense coding of 12+4 (from memory)",
            "S3",
        )
