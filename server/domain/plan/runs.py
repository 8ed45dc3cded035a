"""Everything about one run beyond its wires: plugs as turned, combs, sleeve, shrink, notes."""

from dataclasses import dataclass, replace

from server.domain.lengths import reach
from server.domain.materials.combs import cap_for
from server.domain.materials.sleeves import ShrinkNeed, shrink_cut_mm
from server.domain.model.build import Build
from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import PlannedWire, Plug, RunPlan
from server.domain.plan.compare import crossings_in_ribbon, forbid_costs, latch_ways, pin_costs, plain_of
from server.domain.plan.cover import Cover, combs_of, cover_of, tap_marks_of
from server.domain.plan.crimping import crimps_of
from server.domain.plan.resolve import ResolvedRun, RunPlug
from server.domain.plan.sharing import joints_of, offers_of
from server.domain.plan.wires import RunWires, wires_of


@dataclass(frozen=True, slots=True)
class PlannedRun:
    """A run's plan with what the checks and lists need besides."""

    resolved: ResolvedRun
    plan: RunPlan
    made: RunWires
    sleeve_over_mm: float
    """Diameter that the sleeve is drawn over; 0 without a sleeve. [mm]"""
    sleeve_pass_mm: float
    """Diameter of the plug that the sleeve must pass; 0 where there is none. [mm]"""
    shrink_need: ShrinkNeed | None
    combs_missing: bool
    """True when combs were asked for and none that is listed holds the wires."""
    combs_left_out: int
    """Combs for which no straight stretch of the visible part is free."""


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
    known = reach(run.route, segments=resolved.gaps)
    made = wires_of(resolved, build, catalogue, known)
    combs = combs_of(resolved, made.wires, known, catalogue)
    cover = cover_of(resolved, made.wires, known, build.allowances, catalogue)
    shrink = cover.shrink if cover.pieces else ""
    order = made.assignment.order if made.assignment else tuple(range(len(resolved.sources)))
    wires = _sleeved(_renumbered(made, order), cover)
    plan = RunPlan(
        id=run.id,
        number=run.number,
        name=run.name or _name(resolved),
        use=resolved.use,
        kind=resolved.kind,
        state=known.state,
        length_mm=known.high_mm if known.state == "measured" else run.route.length_mm,
        low_mm=run.route.low_mm,
        high_mm=run.route.high_mm,
        spacing_mm=run.route.spacing_mm,
        sources=tuple(_plug(resolved.sources[i], resolved, made, catalogue, None) for i in order),
        ends=tuple(_plug(end, resolved, made, catalogue, i) for i, end in enumerate(resolved.ends)),
        wires=wires,
        crossings=crossings_in_ribbon(resolved, made),
        doubles=made.assignment.cost.doubles if made.assignment else 0,
        spare_cavities=_spare(resolved, made, order),
        combs=combs.places,
        sleeve_pieces=cover.pieces,
        sleeve_end=resolved.style.sleeve_end,
        shrink=shrink,
        shrink_count=2 * sum(piece.count for piece in cover.pieces) if shrink else 0,
        shrink_cut_mm=shrink_cut_mm(catalogue.shrinks[shrink]) if shrink in catalogue.shrinks else 0,
        notes=_notes(resolved, made),
        likely_mm=known.likely_mm if known.state == "range" else run.route.likely_mm,
        steps=run.route.steps,
        crimps=crimps_of(wires, build.allowances, catalogue),
        tap_marks=tap_marks_of(resolved, made.paths, made.wires, known, build.allowances),
        method=resolved.method,
        latch_ways=latch_ways(made),
        plain=plain_of(resolved, order),
        pin_costs=pin_costs(resolved, made),
        forbid_costs=forbid_costs(resolved, made),
        joints=joints_of(resolved, made, wires, catalogue),
    )
    offers = offers_of(resolved, plan, made, build, catalogue)
    whole = replace(plan, offers=offers)
    return PlannedRun(resolved, whole, made, cover.over_mm, cover.pass_mm, cover.need, combs.missing, combs.left_out)


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
        found = cap_for(
            catalogue, plug.family, last=at_source or resolved.kind == "fork" or index == len(resolved.ends) - 1
        )
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


def _sleeved(wires: tuple[PlannedWire, ...], cover: Cover) -> tuple[PlannedWire, ...]:
    """Wires with the cut lengths of the sleeve that each has to itself."""
    if not any(cover.by_wire):
        return wires
    return tuple(replace(wire, sleeve_mm=own) for wire, own in zip(wires, cover.by_wire, strict=True))


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


def _notes(resolved: ResolvedRun, made: RunWires) -> tuple[str, ...]:
    notes = []
    if resolved.kind == "sleeved":
        notes.append("This cable is sleeved as it is; its plugs are never rewired.")
    if resolved.method == "rework":
        notes.append("The maker of the supply chose which of its wires share a contact: look before you free one.")
    if resolved.kind == "chain" and resolved.displaced:
        notes.append("One wire runs through its plugs, unstripped: press each plug at its mark; caps come last.")
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
    return tuple(notes)


def where_words(wire: PlannedWire) -> str:
    """Which end of a run a wire starts at, in words; a bridge starts at the part plug that it also ends in."""
    if not wire.source_at_end:
        return "supply end"
    return "part end" if wire.source.plug == wire.target.plug else "plug before"
