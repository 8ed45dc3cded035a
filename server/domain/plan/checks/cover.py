"""Findings of what goes over and round the wires: sleeve, heat-shrink, combs."""

from collections.abc import Iterator
from dataclasses import replace
from typing import get_args

from server.domain.materials.combs import comb_for
from server.domain.materials.contacts import wire_of
from server.domain.materials.sleeves import ShrinkNeed, shrink_fits, shrink_for, sleeve_fits, sleeve_for
from server.domain.model.catalogue import Catalogue, Comb, CombKind
from server.domain.plan.checks.told import RULE, Told, counted, stops_of
from server.domain.plan.runs import PlannedRun
from server.domain.reference import COMBS_APART_MM, sensed_net

BRAID = "braid of inextensible filaments; a good braid opens to about four times its size (common practice)"
TUBE = "fit rule of heat-shrink (AS23053/5): supplied bore over the largest, recovered bore under the smallest part"


def cover_findings(planned: PlannedRun, catalogue: Catalogue) -> Iterator[Told]:
    """What does not go over, does not hold, or is not listed.

    Args:
        planned: The run.
        catalogue: Reference data.
    """
    yield from _sleeve(planned, catalogue)
    yield from _shrink(planned, catalogue)
    yield from _combs(planned, catalogue)


def _sleeve(planned: PlannedRun, catalogue: Catalogue) -> Iterator[Told]:
    sleeve = catalogue.sleeves.get(planned.resolved.style.sleeve)
    if sleeve is None or not planned.sleeve_over_mm:
        return
    sizes = _sleeved_mm(planned, catalogue)
    reason = next(filter(None, (sleeve_fits(sleeve, size, planned.sleeve_pass_mm) for size in sizes)), "")
    if not reason:
        return
    other = sleeve_for(catalogue, max(sizes), planned.sleeve_pass_mm)
    if other is not None and all(not sleeve_fits(other, size, planned.sleeve_pass_mm) for size in sizes):
        way_out = f"Take {other.name}: {other.least_mm:g} to {other.greatest_mm:g} mm."
    else:
        most = max(*sizes, planned.sleeve_pass_mm)
        way_out = f"List a sleeve that grips {min(sizes):.1f} mm and opens to {most:.1f} mm: no listed size does both."
    # A sleeve that merely hangs loose can be drawn on and looks poor; one that does not open cannot be drawn on.
    opens = not any(sleeve_fits(replace(sleeve, least_mm=0.0), size, planned.sleeve_pass_mm) for size in sizes)
    yield Told("warn" if opens else "stop", "sleeve_fit", f"{sleeve.name} {reason}.", BRAID, way_out)


def _sleeved_mm(planned: PlannedRun, catalogue: Catalogue) -> list[float]:
    """Every diameter that the sleeve lies on, the thickest first. [mm]"""
    if planned.resolved.style.bundled or planned.resolved.kind == "sleeved":
        return [planned.sleeve_over_mm]
    stocks = (wire_of(catalogue, w.awg, w.insulation) for w in planned.plan.wires if w.sleeve_colour)
    return sorted({stock.outside_mm for stock in stocks if stock is not None}, reverse=True)


def _shrink(planned: PlannedRun, catalogue: Catalogue) -> Iterator[Told]:
    need, plan = planned.shrink_need, planned.plan
    if need is None or not plan.sleeve_pieces:
        return
    shrink = catalogue.shrinks.get(plan.shrink)
    if shrink is None:
        text = f"the sleeve ends in heat-shrink, and none is listed that slides over {need.slide_mm:.1f} mm."
        yield Told("stop", "shrink_fit", text, TUBE, _other_shrink(need, catalogue))
    elif reason := shrink_fits(shrink, need):
        slides = round(shrink.supplied_mm - need.slide_mm, 6) > 0
        text = f"{shrink.name} {reason}."
        yield Told("warn" if slides else "stop", "shrink_fit", text, TUBE, _other_shrink(need, catalogue))


def _other_shrink(need: ShrinkNeed, catalogue: Catalogue) -> str:
    other = shrink_for(catalogue, need)
    if other is not None:
        return f"Take {other.name}: {other.supplied_mm:g} mm supplied, {other.recovered_mm:g} mm recovered."
    return (
        f"List a size of more than {need.slide_mm:.1f} mm that shrinks to less than {need.grip_mm:.1f} mm: no listed "
        "size does both."
    )


def _combs(planned: PlannedRun, catalogue: Catalogue) -> Iterator[Told]:
    if left_out := planned.combs_left_out:
        text = (
            f"{counted(left_out, 'comb')} of its visible half {'is' if left_out == 1 else 'are'} left out: a comb sits "
            f"in no bend or twist, and no straight place {COMBS_APART_MM:g} mm from the other combs is free."
        )
        way_out = "Lay the ribbon with a longer straight leg before the part plug, or do without."
        yield Told("note", "comb_left_out", text, RULE, way_out)
    if not planned.combs_missing:
        return
    resolved, kind = planned.resolved, planned.resolved.style.comb_kind
    flat = [w for w in planned.plan.wires if w.net and not sensed_net(w.net) and not w.source_at_end]
    rows = max((resolved.ends[stops_of(w)[0].plug].housing.rows for w in flat), default=1)
    text = f"combs are asked for, and no {kind} comb that is listed holds {len(flat)} wires in {_rows(rows)}."
    other: CombKind = next(each for each in get_args(CombKind) if each != kind)
    instead = comb_for(catalogue, len(flat), rows, other)
    if instead is not None:
        way_out = f"Take {other} combs for this run: {instead.name} holds them."
    elif (near := _nearest(catalogue, len(flat), rows, kind)) is not None:
        way_out = f"Take {near.name}, the nearest, for {near.ways} of the wires in {_rows(near.rows)}."
    else:
        way_out = "Leave the combs of this run out: none is listed."
    yield Told("note", "no_comb", text, RULE, way_out)


def _nearest(catalogue: Catalogue, wires: int, rows: int, kind: CombKind) -> Comb | None:
    """The comb of a kind that comes nearest: in as many rows if there is one, and by its ways."""
    of_kind = [comb for comb in catalogue.combs.values() if comb.kind == kind]
    return min(of_kind, key=lambda comb: (abs(comb.rows - rows), abs(comb.ways - wires)), default=None)


def _rows(rows: int) -> str:
    return f"{rows} row{'s' if rows > 1 else ''}"
