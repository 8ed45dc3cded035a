"""Findings of a run's length: not known yet, outside its range, odd, bent too tightly, or shorter than its tails."""

import math
from collections.abc import Iterator

from server.domain.lengths import TightBend, tight_bends
from server.domain.materials.contacts import wire_of
from server.domain.materials.sleeves import braid_factor
from server.domain.model.catalogue import Catalogue
from server.domain.model.route import StepKind
from server.domain.plan.checks.told import RULE, Told, counted
from server.domain.plan.runs import PlannedRun
from server.domain.plan.wires import ribbon_places
from server.domain.reference import BEND_LEAST, BEND_WANTED, TAIL_MM
from server.domain.twists import TightTwist, tight_twists

SHORT_ROUTE_MM, LONG_ROUTE_MM, SHORT_SPACING_MM = 50.0, 1500.0, 20.0
"""Lengths outside these limits are taken for slips and asked about. [mm] Source: common practice."""
BENDS_TOLD = 5
"""Tight bends of one run that are told one by one, the worst; of the others only how many there are."""
BENDS = "NASA-STD-8739.4: 6 diameters at least, 10 for good"
HELIX = f"curvature of a helix; {BENDS}"
BEND_NAMES: dict[StepKind, str] = {"left": "to the left", "right": "to the right", "up": "upwards", "down": "downwards"}


def length_findings(planned: PlannedRun, catalogue: Catalogue) -> Iterator[Told]:
    """What there is to say about the length and the path of a run.

    Args:
        planned: The run.
        catalogue: Reference data.
    """
    yield from _not_known(planned)
    yield from _odd(planned)
    yield from _outside_range(planned, catalogue)
    yield from _tails(planned)
    yield from _bends(planned, catalogue)


def _not_known(planned: PlannedRun) -> Iterator[Told]:
    plan = planned.plan
    if plan.state == "unmeasured":
        missing = len(plan.ends) - 1 - len(plan.spacing_mm) if plan.kind == "chain" else 0
        known = plan.length_mm is not None or plan.high_mm is not None or bool(plan.steps)
        what, way_out = "it has no length yet", "Enter its length; a range is enough for the buy list."
        if missing > 0 and known:
            what = f"{counted(missing, 'spacing')} of the chain missing"
            way_out = f"Enter the distance from plug to plug, {missing} more."
        text = f"{what}; it is not on the cut list and nothing is bought for it."
        yield Told("note", "unmeasured", text, RULE, way_out)
    if plan.state == "range":
        text = (
            f"{plan.low_mm:g} to {plan.high_mm:g} mm, not measured; bought for at {plan.high_mm:g} mm, not on the cut "
            "list."
        )
        way_out = "Measure it when the part is in place: it can be cut then."
        yield Told("note", "range", text, RULE, way_out)


def _odd(planned: PlannedRun) -> Iterator[Told]:
    """Lengths that look like a slip of the unit."""
    plan = planned.plan
    shortest = plan.low_mm if plan.length_mm is None else plan.length_mm
    longest = plan.high_mm if plan.length_mm is None else plan.length_mm
    if shortest is not None and shortest < SHORT_ROUTE_MM:
        text = f"a route of {shortest:g} mm is shorter than two plugs and a bend between them ({SHORT_ROUTE_MM:g} mm)."
        way_out = f"Check the unit: {shortest:g} cm would be {shortest * 10:g} mm."
        yield Told("warn", "route_short", text, RULE, way_out)
    if longest is not None and longest > LONG_ROUTE_MM:
        text = f"a route of {longest:g} mm is longer than usual (up to {LONG_ROUTE_MM:g} mm)."
        yield Told("warn", "route_long", text, RULE, f"Measure once more; {longest:g} mm are {longest / 1000:g} m.")
    if any(spacing < SHORT_SPACING_MM for spacing in plan.spacing_mm):
        least = min(plan.spacing_mm)
        text = f"two plugs of the chain lie {least:g} mm apart, less than a plug is wide ({SHORT_SPACING_MM:g} mm)."
        yield Told("warn", "spacing_short", text, RULE, f"Check the unit: {least:g} cm would be {least * 10:g} mm.")


def _outside_range(planned: PlannedRun, catalogue: Catalogue) -> Iterator[Told]:
    """A measured value that the range it was expected in does not hold."""
    plan = planned.plan
    if plan.state != "measured" or plan.length_mm is None or plan.low_mm is None or plan.high_mm is None:
        return
    expected, wires = f"{plan.low_mm:g} to {plan.high_mm:g} mm", sum(not wire.source_at_end for wire in plan.wires)
    per_mm = _sleeve_per_mm(planned, catalogue)
    if plan.length_mm > plan.high_mm:
        more = plan.length_mm - plan.high_mm
        text = (
            f"measured {plan.length_mm:g} mm, {more:g} mm longer than the {expected} that were expected; it "
            f"was bought for at {plan.high_mm:g} mm."
        )
        wanted = [f"{wires * more:g} mm more wire ({wires} x {more:g} mm)"] if wires else []
        wanted += [f"{math.ceil(round(per_mm * more, 6))} mm more sleeve"] if per_mm else []
        way_out = f"Measure once more, and get {' and '.join(wanted) or 'what is missing'} before you cut."
        yield Told("warn", "outside_range", text, RULE, way_out)
    elif plan.length_mm < plan.low_mm:
        less, left = plan.low_mm - plan.length_mm, plan.high_mm - plan.length_mm
        text = (
            f"measured {plan.length_mm:g} mm, {less:g} mm shorter than the {expected} that were expected; of "
            f"what was bought for {plan.high_mm:g} mm, "
        )
        over = [f"{wires * left:g} mm of wire ({wires} x {left:g} mm)"] if wires else []
        over += [f"{math.floor(round(per_mm * left, 6))} mm of sleeve"] if per_mm else []
        text += f"{' and '.join(over) or 'nothing'} are left over."
        way_out = "Measure once more; if it reads the same, cut it and keep what is left for another run."
        yield Told("warn", "outside_range", text, RULE, way_out)


def _sleeve_per_mm(planned: PlannedRun, catalogue: Catalogue) -> float:
    """Relaxed sleeve that one more millimetre of route takes, all wires together. [1]"""
    sleeve = catalogue.sleeves.get(planned.resolved.style.sleeve)
    if sleeve is None or not planned.plan.sleeve_pieces:
        return 0.0
    own = [wire for wire in planned.plan.wires if wire.sleeve_mm and not wire.source_at_end]
    stocks = (wire_of(catalogue, wire.awg, wire.insulation) for wire in own)
    sizes = [stock.outside_mm for stock in stocks if stock is not None] or [planned.sleeve_over_mm]
    return sum(braid_factor(sleeve, size) for size in sizes)


def _tails(planned: PlannedRun) -> Iterator[Told]:
    """Tails that leave no common ribbon."""
    plan = planned.plan
    route = plan.length_mm if plan.state == "measured" else plan.high_mm
    if route is None or plan.kind == "sleeved" or plan.state == "unmeasured":
        return
    sides = [("source", plan.sources, len(plan.sources) > 1), ("part", plan.ends, plan.kind == "fork")]
    for side, plugs, several in sides:
        for plug in plugs:
            tail = plug.ref.tail_mm if plug.ref.tail_mm is not None else TAIL_MM if several else 0.0
            whole = route + plug.ref.extra_mm
            if tail > whole:
                text = (
                    f"the tail of {plug.place}, {plug.socket} at the {side} end is {tail:g} mm, and the way to it only "
                    f"{whole:g} mm: its wires never join the ribbon."
                )
                way_out = f"Enter a tail of {whole:g} mm at most."
                yield Told("warn", "tail_long", text, RULE, way_out)


def _bends(planned: PlannedRun, catalogue: Catalogue) -> Iterator[Told]:
    """Bends whose innermost wire lies below the published multiples of its diameter."""
    plan = planned.plan
    stocks = (wire_of(catalogue, wire.awg, wire.insulation) for wire in plan.wires)
    wire_mm = max((stock.outside_mm for stock in stocks if stock is not None), default=0.0)
    if not plan.steps or not wire_mm:
        return
    places = ribbon_places(planned.resolved, planned.made.wires, planned.made.end_order)
    worst = sorted(tight_bends(plan.steps, places, wire_mm), key=lambda bend: (bend.inner_mm, bend.step))
    yield from (_bend(bend, wire_mm) for bend in worst[:BENDS_TOLD])
    yield from _twists(tight_twists(plan.steps, places, wire_mm), wire_mm)
    if others := worst[BENDS_TOLD:]:
        text = (
            f"{counted(len(others), 'more bend')} of this run {'is' if len(others) == 1 else 'are'} tight too: the "
            f"innermost wire lies at {others[0].inner_mm:.1f} mm or more, and wants {others[0].wanted_mm:g} mm."
        )
        radius = max(bend.radius_mm for bend in others)
        way_out = f"Give each of them a radius of at least {radius:g} mm at the ribbon's middle."
        yield Told(others[0].severity, "tight_bends_more", text, BENDS, way_out)


def _twists(tight: tuple[TightTwist, ...], wire_mm: float) -> Iterator[Told]:
    """Twists that wind their tightest wire below the published multiples of its diameter, the worst one by one."""
    worst = sorted(tight, key=lambda twist: (twist.radius_mm, twist.step))
    for twist in worst[:BENDS_TOLD]:
        text = (
            f"step {twist.step + 1}, the twist: its tightest wire is wound to a radius of {twist.radius_mm:.1f} mm; "
            f"{_needs(twist, wire_mm)}."
        )
        way_out = f"Spread the twist over at least {twist.length_mm:g} mm."
        yield Told(twist.severity, "tight_twist", text, HELIX, way_out)
    if others := worst[BENDS_TOLD:]:
        text = (
            f"{counted(len(others), 'more twist')} of this run {'is' if len(others) == 1 else 'are'} tight too: the "
            f"tightest wire is wound to {others[0].radius_mm:.1f} mm or more, and wants {others[0].wanted_mm:g} mm."
        )
        longest = max(twist.length_mm for twist in others)
        way_out = f"Spread each of them over at least {longest:g} mm."
        yield Told(others[0].severity, "tight_twists_more", text, HELIX, way_out)


def _needs(tight: TightBend | TightTwist, wire_mm: float) -> str:
    return (
        f"a wire of {wire_mm:g} mm needs {tight.least_mm:g} mm ({BEND_LEAST:g} diameters), and {tight.wanted_mm:g} mm "
        f"for good ({BEND_WANTED:g} diameters)"
    )


def _bend(bend: TightBend, wire_mm: float) -> Told:
    where = f"step {bend.step + 1}, the bend {BEND_NAMES[bend.kind]}"
    needs = _needs(bend, wire_mm)
    text = f"{where}: the innermost wire is bent to a radius of {bend.inner_mm:.1f} mm; {needs}."
    if bend.inner_mm <= 0:
        text = (
            f"{where}: the ribbon folds over itself, its innermost wire is {-bend.inner_mm:.1f} mm too far in; {needs}."
        )
    way_out = f"Bend the ribbon's middle to a radius of at least {bend.radius_mm:g} mm."
    return Told(bend.severity, "tight_bend", text, BENDS, way_out)
