"""Everything about one run beyond its wires: plugs as turned, combs, sleeve, shrink, notes."""

from collections import Counter
from dataclasses import dataclass, replace

from server.domain.lengths import Reach, reach
from server.domain.materials import cap_for, comb_for, comb_positions_mm, sleeve_cut_mm, wire_of
from server.domain.model.build import Build
from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import PlannedWire, Plug, RunPlan, SleevePiece
from server.domain.plan.compare import crossings_in_ribbon, latch_ways, pin_costs, plain_of
from server.domain.plan.resolve import ResolvedRun, RunPlug
from server.domain.plan.sharing import joints_of, offers_of
from server.domain.plan.wires import RunWires, wires_of
from server.domain.reference import BUNDLE_RATIO, COMB_SPACING_MM, DATA_CABLE_MM, USE_NAMES, sensed_net


@dataclass(frozen=True, slots=True)
class PlannedRun:
    """A run's plan with what the checks and lists need besides."""

    resolved: ResolvedRun
    plan: RunPlan
    made: RunWires
    sleeve_misfit: str
    """Why the sleeve does not go over the wire; empty when it does."""
    combs_fitted: int


def run_plan(resolved: ResolvedRun, build: Build, catalogue: Catalogue) -> PlannedRun:
    """Plan one run.

    Args:
        resolved: The run with its sockets looked up.
        build: The build it belongs to.
        catalogue: Reference data.

    Returns:
        Its plan; without wires when it has no source or a net falls short.
    """
    run = resolved.run
    known = reach(run.route, segments=len(run.ends) - 1)
    made = wires_of(resolved, build, catalogue, known)
    comb, positions = _combs(resolved, made.wires, known, catalogue)
    pieces, misfit = _sleeve(resolved, made.wires, known, catalogue)
    shrink = catalogue.sleeves[resolved.style.sleeve].shrink if pieces and resolved.style.shrink else ""
    order = made.assignment.order if made.assignment else tuple(range(len(resolved.sources)))
    wires = _renumbered(made, order)
    plan = RunPlan(
        id=run.id,
        number=run.number,
        name=run.name or _name(resolved),
        use=resolved.use,
        kind=resolved.kind,
        state=known.state,
        length_mm=run.route.length_mm,
        low_mm=run.route.low_mm,
        high_mm=run.route.high_mm,
        spacing_mm=run.route.spacing_mm,
        sources=tuple(_plug(resolved.sources[i], resolved, made, catalogue, None) for i in order),
        ends=tuple(_plug(end, resolved, made, catalogue, i) for i, end in enumerate(resolved.ends)),
        wires=wires,
        crossings=crossings_in_ribbon(resolved, made),
        doubles=made.assignment.cost.doubles if made.assignment else 0,
        spare_cavities=_spare(resolved, made, order),
        comb=comb,
        comb_count=len(positions) + build.allowances.spare_combs_per_run if comb else 0,
        comb_positions_mm=positions,
        sleeve_pieces=pieces,
        shrink=shrink,
        shrink_count=2 * sum(piece.count for piece in pieces) if shrink else 0,
        notes=_notes(resolved, made),
        method=resolved.method,
        latch_ways=latch_ways(made),
        plain=plain_of(resolved, order),
        pin_costs=pin_costs(resolved, made),
        joints=joints_of(resolved, made, wires, catalogue),
    )
    offers = offers_of(resolved, plan, made, build, catalogue)
    return PlannedRun(resolved, replace(plan, offers=offers), made, misfit, len(positions))


def _name(resolved: ResolvedRun) -> str:
    """Where a run ends, in words: the part and its inlet, or the first and the last part of a chain."""
    first, last = resolved.ends[0].facts, resolved.ends[-1].facts
    places = first.place if first.place == last.place else f"{first.place} to {last.place}"
    return f"{places}, {first.label}"


def _plug(plug: RunPlug, resolved: ResolvedRun, made: RunWires, catalogue: Catalogue, index: int | None) -> Plug:
    """A plug as the card shows it; ``index`` counts part plugs and is ``None`` at the source end."""
    at_source = index is None
    cap = ""
    if plug.family.termination == "displacement":
        found = cap_for(catalogue, plug.family, last=index == len(resolved.ends) - 1)
        cap = found.id if found else ""
    return Plug(
        ref=plug.ref,
        place=plug.facts.place,
        socket=plug.facts.label,
        housing=plug.housing.id,
        at_supply_end=at_source,
        latch_down=at_source and made.assignment is not None and made.assignment.latch_down,
        nets=plug.facts.nets,
        functions=plug.facts.functions,
        cap=cap,
    )


def _renumbered(made: RunWires, order: tuple[int, ...]) -> tuple[PlannedWire, ...]:
    """Wires whose source index counts the plugs in ribbon order instead of as entered."""
    if order == tuple(sorted(order)):
        return made.wires
    place = {source: i for i, source in enumerate(order)}
    return tuple(
        wire if wire.source_at_end else replace(wire, source=replace(wire.source, plug=place[wire.source.plug]))
        for wire in made.wires
    )


def _spare(resolved: ResolvedRun, made: RunWires, order: tuple[int, ...]) -> tuple[tuple[int, str], ...]:
    if made.assignment is None:
        return ()
    used = {(link.source, link.source_cavity) for link in made.assignment.links}
    return tuple(
        (place, cavity)
        for place, source in enumerate(order)
        for cavity, net in resolved.sources[source].facts.nets.items()
        if net and (source, cavity) not in used and cavity not in resolved.forbidden(resolved.sources[source])
    )


def _combs(
    resolved: ResolvedRun, wires: tuple[PlannedWire, ...], known: Reach, catalogue: Catalogue
) -> tuple[str, tuple[int, ...]]:
    """Comb and positions; neither for chains, bundles and runs too short or too small to comb."""
    if not resolved.style.combs or resolved.style.bundled or resolved.kind != "wired":
        return "", ()
    side_by_side = sum(1 for wire in wires if not sensed_net(wire.net))
    comb = comb_for(catalogue, side_by_side)
    if comb is None or known.state == "unmeasured":
        return "", ()
    return comb.id, comb_positions_mm(known.high_mm, COMB_SPACING_MM)


def _sleeve(
    resolved: ResolvedRun, wires: tuple[PlannedWire, ...], known: Reach, catalogue: Catalogue
) -> tuple[tuple[SleevePiece, ...], str]:
    """Sleeve pieces, and why they do not fit if they do not."""
    style = resolved.style
    sleeve = catalogue.sleeves.get(style.sleeve)
    if sleeve is None or known.state == "unmeasured":
        return (), ""
    pieces: Counter[tuple[str, int]] = Counter()
    try:
        if style.bundled:
            covered = known.high_mm + sum(resolved.run.route.spacing_mm)
            over = DATA_CABLE_MM if resolved.kind == "sleeved" else _bundle_mm(wires, catalogue)
            pieces[style.sleeve_pattern[0], sleeve_cut_mm(sleeve, over, covered)] += 1
        for wire in () if style.bundled else wires:
            stock = wire_of(catalogue, wire.awg, wire.insulation)
            if stock is None or not wire.sleeve_colour:
                continue
            for covered in _stretches(wire, resolved):
                pieces[wire.sleeve_colour, sleeve_cut_mm(sleeve, stock.outside_mm, covered)] += 1
    except ValueError as error:
        return (), str(error)
    return tuple(SleevePiece(sleeve.id, colour, cut, n) for (colour, cut), n in sorted(pieces.items())), ""


def _stretches(wire: PlannedWire, resolved: ResolvedRun) -> list[float]:
    """Lengths of bare wire between plugs: one, or several where the wire runs through displacement plugs. [mm]"""
    spacing = resolved.run.route.spacing_mm[: len(wire.taps)]
    return [wire.route_mm - sum(spacing), *spacing]


def _bundle_mm(wires: tuple[PlannedWire, ...], catalogue: Catalogue) -> float:
    stocks = [wire_of(catalogue, wire.awg, wire.insulation) for wire in wires]
    thickest = max((stock.outside_mm for stock in stocks if stock is not None), default=0.0)
    most = max(BUNDLE_RATIO)
    return thickest * BUNDLE_RATIO.get(len(wires), BUNDLE_RATIO[most] * (len(wires) / most) ** 0.5 if wires else 0.0)


def _notes(resolved: ResolvedRun, made: RunWires) -> tuple[str, ...]:
    notes = []
    if resolved.kind == "sleeved":
        notes.append("This cable is sleeved as it is; its plugs are never rewired.")
    if resolved.method == "rework":
        notes.append("The maker of the supply chose which of its wires share a contact: look before you free one.")
    if resolved.kind == "chain" and resolved.displaced:
        notes.append("One wire runs through: no strip, no contacts. Press each plug at its tap mark, then fit its cap.")
    for wire in made.wires:
        if wire.source.shared_with and wire.label < min(wire.source.shared_with):
            labels = ", ".join((wire.label, *wire.source.shared_with))
            notes.append(f"Contact {wire.source.cavity} at the {where_words(wire)} takes two wires: {labels}.")
        if wire.target.shared_with and wire.label < min(wire.target.shared_with):
            labels = ", ".join((wire.label, *wire.target.shared_with))
            notes.append(f"Contact {wire.target.cavity} at the part end takes two wires: {labels}.")
    latched = all(plug.housing.latch != "none" for plug in (*resolved.sources, *resolved.ends))
    if made.assignment is not None and made.assignment.latch_down and latched:
        notes.append("The ribbon lies flattest with the latch down at the supply end and up at the part end.")
    if resolved.use == "data":
        notes.append(f"Sleeve for {USE_NAMES['data']} is drawn over a plug: check that it opens that far.")
    return tuple(notes)


def where_words(wire: PlannedWire) -> str:
    """Which end of a run a wire starts at, in words; a bridge starts at the part plug that it also ends in."""
    if not wire.source_at_end:
        return "supply end"
    return "part end" if wire.source.plug == wire.target.plug else "plug before"
