"""The three ways to build a run, side by side in numbers."""

from dataclasses import replace
from decimal import Decimal

from server.domain.materials.contacts import wire_of
from server.domain.model.build import Build, Method
from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import MethodFigures
from server.domain.plan.buying import price_of
from server.domain.plan.lists import contacts_filled, operations, used_by
from server.domain.plan.resolve import resolve
from server.domain.plan.runs import PlannedRun, run_plan
from server.domain.plan.wire_lengths import fitted_mm
from server.domain.reference import CONTACT_MOHM, JOINT_MOHM
from server.domain.sockets import every_socket

METHODS: tuple[Method, ...] = ("scratch", "rework", "extension")
CONTACT_PAIRS: dict[Method, int] = {"scratch": 2, "rework": 2, "extension": 3}
"""Mated contact pairs that the current passes one way: at the supply, at the part, and between two cables."""


def three_ways(build: Build, catalogue: Catalogue, run_id: str) -> tuple[MethodFigures, ...]:
    """A run planned in each of the three ways, with what each takes.

    It stands beside the plan and not in it: it plans the run three times over, and only its own page asks for it.

    Args:
        build: The build.
        catalogue: Reference data.
        run_id: Id of the run.

    Returns:
        The three ways; empty for a cable that is never rewired, has no source, or is not there.
    """
    sockets = every_socket(build, catalogue)
    run = next((run for run in build.runs if run.id == run_id), None)
    planned = resolve(run, build, catalogue, sockets) if run else None
    if run is None or planned is None or planned.kind == "sleeved" or not planned.sources:
        return ()
    figures = []
    for method in METHODS:
        resolved = resolve(replace(run, method=method), build, catalogue, sockets)
        if resolved is None or resolved.refused:
            reason = resolved.refused if resolved else ""
            figures.append(MethodFigures(method, False, False, reason, 0, 0, 0.0, Decimal(0), Decimal(0), ()))
        else:
            variant = run_plan(resolved, build, catalogue)
            figures.append(_figures(variant, method, planned.method == method, build, catalogue))
    return tuple(figures)


def _figures(planned: PlannedRun, method: Method, chosen: bool, build: Build, catalogue: Catalogue) -> MethodFigures:
    counts = operations((planned,), catalogue)
    minutes = sum((catalogue.labour[op].minutes * n for op, n in counts.items()), Decimal(0))
    own = planned.resolved.run.own_cable_mm
    reason = ""
    if method != "scratch" and own is None:
        reason = "give the length of the supply's own cable for lengths and resistance"
    return MethodFigures(
        method=method,
        chosen=chosen,
        possible=True,
        reason=reason,
        contacts=sum(contacts_filled(planned).values()),
        joints=len(planned.plan.joints),
        added_mohm=round(_resistance_mohm(planned, method, catalogue), 2),
        minutes=minutes,
        materials=price_of(used_by(planned.plan, catalogue), build, catalogue),
        left_over=_left_over(planned, method),
    )


def _resistance_mohm(planned: PlannedRun, method: Method, catalogue: Catalogue) -> float:
    """One wire out and one back: wire, contact pairs and joints. [mohm]

    Source:
        R = rho L / A through the greatest resistance of the listed wire; contact pairs and joints from memory.
    """
    loaded = [w for w in planned.plan.wires if w.net != "COM" and not w.source_at_end] or list(planned.plan.wires)
    if not loaded:
        return 0.0
    wire = max(loaded, key=lambda w: w.route_mm)
    stock = wire_of(catalogue, wire.awg, wire.insulation)
    per_mm = stock.ohm_per_km / 1000 if stock else 0.0
    length = fitted_mm(wire.terms)
    if method == "extension":
        length += planned.resolved.run.own_cable_mm or 0.0
    joints = 1 if any(j.kind == "solder_on" and wire.label in j.labels for j in planned.plan.joints) else 0
    return 2 * (length * per_mm + CONTACT_PAIRS[method] * CONTACT_MOHM + joints * JOINT_MOHM)


def _left_over(planned: PlannedRun, method: Method) -> tuple[str, ...]:
    """What of the supply's own cable stays unused."""
    wires = planned.plan.wires
    if method == "scratch":
        return ("the supply's own cable, whole",) if planned.plan.sources and _from_supply(planned) else ()
    if method == "extension":
        return ()
    own = planned.resolved.run.own_cable_mm or 0.0
    off = [round(own - wire.own_mm) for wire in wires if wire.own_mm and not wire.buy_mm and own - wire.own_mm >= 1]
    housings = f"the cable's part-end housing and its {len(wires)} contacts"
    return (housings, f"{len(off)} offcuts of about {max(off)} mm") if off else (housings,)


def _from_supply(planned: PlannedRun) -> bool:
    return all(plug.facts.pinout is None for plug in planned.resolved.sources)
