"""One run along legs and bends that are not saved yet: what they would come to."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from server.domain.lengths import (
    TightBend,
    bend_terms_mm,
    edgewise_bend_term_mm,
    flat_bend_term_mm,
    middle_mm,
    reach,
    tight_bends,
    twist_term_mm,
)
from server.domain.materials.contacts import wire_of
from server.domain.model.build import Build, Run
from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import PlannedWire
from server.domain.model.route import RouteStep
from server.domain.plan.resolve import ResolvedRun, resolve
from server.domain.plan.wire_lengths import Place, place_in_ribbon
from server.domain.plan.wires import ribbon_places, wires_of
from server.domain.reference import BEND_WANTED
from server.domain.sockets import every_socket
from server.domain.twists import TightTwist, tight_twists

NO_WIRE_MM = 2.0
"""Stands for the wire of a run that cannot be planned yet. [mm] Source: common practice, 18 AWG over its insulation."""
BENDS = ("left", "right", "up", "down")


@dataclass(frozen=True, slots=True)
class Ribbon:
    """The wires of a run as they lie beside each other at the part plug."""

    places: tuple[Place, ...]
    """Offset to the right and height of each wire; of each cavity while nothing is wired. [mm]"""
    labels: tuple[str, ...]
    """Label of each wire, in the same order; empty while nothing is wired."""
    wire_mm: float
    """Diameter of the thickest. [mm]"""


@dataclass(frozen=True, slots=True)
class BendTerm:
    """What one bend, or one twist, makes of the outermost wires."""

    step: int
    lies: Literal["edgewise", "flat", "aslant", ""]
    """How the ribbon lies in a bend: a quarter twist before it makes a bend to the side a flat one. Empty for a twist,
    which makes every wire longer the further out it lies."""
    outside_mm: float
    """Longer than the ribbon's middle. [mm]"""
    inside_mm: float
    """The same of the innermost wire; mostly negative. [mm]"""


@dataclass(frozen=True, slots=True)
class RouteDraft:
    """Legs and bends, and what follows from them."""

    steps: tuple[RouteStep, ...]
    """Every bend with a radius."""
    suggested: tuple[int, ...]
    """Indices of the bends whose radius was left open."""
    ribbon: Ribbon
    middle_mm: float
    terms_mm: tuple[float, ...]
    """What bends and twists add to each wire of the ribbon. [mm]"""
    bends: tuple[BendTerm, ...]
    tight: tuple[TightBend, ...]
    twists: tuple[TightTwist, ...]
    """Twists that are too short for the turn they take."""
    wires: tuple[PlannedWire, ...]
    """The wires of the run with the lengths that these steps give."""


def ribbon_of(build: Build, catalogue: Catalogue, run_id: str) -> Ribbon:
    """The wires of a run as they lie in its ribbon.

    Args:
        build: The build.
        catalogue: Reference data.
        run_id: A run of the build.
    """
    return _laid(_only(build, run_id), catalogue)[0]


def with_radii(steps: Sequence[RouteStep], ribbon: Ribbon) -> tuple[RouteStep, ...]:
    """The steps, each bend that has no radius yet with the smallest that keeps every wire for good.

    Args:
        steps: Legs, bends and twists; a radius of 0 is open.
        ribbon: The wires.

    Source:
        ``tight_bends``: ten diameters at the innermost wire, in whole millimetres.
    """
    will_do = {tight.step: tight.radius_mm for tight in tight_bends(steps, ribbon.places, ribbon.wire_mm)}
    return tuple(
        replace(step, radius_mm=will_do.get(index, math.ceil(BEND_WANTED * ribbon.wire_mm)))
        if step.kind in BENDS and step.radius_mm == 0
        else step
        for index, step in enumerate(steps)
    )


def draft_route(build: Build, catalogue: Catalogue, run_id: str, steps: Sequence[RouteStep]) -> RouteDraft:
    """What a run would be along other legs and bends.

    Args:
        build: The build.
        catalogue: Reference data.
        run_id: A run of the build.
        steps: Legs, bends and twists; a bend of radius 0 gets the one that ``with_radii`` finds.

    Raises:
        ValueError: as for ``middle_mm``.
    """
    alone = _only(build, run_id)
    ribbon = _laid(alone, catalogue)[0]
    filled = with_radii(steps, ribbon)
    tried = replace(alone.runs[0], route=replace(alone.runs[0].route, length_mm=None, steps=filled))
    # Without steps the run waits as it did: its wires would come out at the length that is saved.
    wires = _laid(replace(alone, runs=(tried,)), catalogue)[1] if filled else ()
    return RouteDraft(
        steps=filled,
        suggested=tuple(i for i, step in enumerate(steps) if step.kind in BENDS and step.radius_mm == 0),
        ribbon=ribbon,
        middle_mm=middle_mm(filled),
        terms_mm=bend_terms_mm(filled, ribbon.places) if filled else (0.0,) * len(ribbon.places),
        bends=_bend_terms(filled, ribbon.places),
        tight=tight_bends(filled, ribbon.places, ribbon.wire_mm),
        twists=tight_twists(filled, ribbon.places, ribbon.wire_mm),
        wires=wires,
    )


def _only(build: Build, run_id: str) -> Build:
    """The build with nothing but one run, whose wiring does not depend on the others."""
    return replace(build, runs=tuple(run for run in build.runs if run.id == run_id))


def _laid(alone: Build, catalogue: Catalogue) -> tuple[Ribbon, tuple[PlannedWire, ...]]:
    """The ribbon of the only run of a build, and its wires."""
    run: Run = alone.runs[0]
    resolved = resolve(run, alone, catalogue, every_socket(alone, catalogue))
    if resolved is None:
        return Ribbon(((0.0, 0.0),), (), NO_WIRE_MM), ()
    made = wires_of(resolved, alone, catalogue, reach(run.route, segments=resolved.gaps))
    if not made.wires:
        return _unwired(resolved), ()
    ribboned = [wire for wire in made.wires if not wire.source_at_end]
    found = [wire_of(catalogue, wire.awg, wire.insulation) for wire in ribboned]
    thickest = max((wire.outside_mm for wire in found if wire), default=NO_WIRE_MM)
    places = ribbon_places(resolved, made.wires, made.end_order)
    return Ribbon(places, tuple(wire.label for wire in ribboned), thickest), made.wires


def _unwired(resolved: ResolvedRun) -> Ribbon:
    """The ribbon that every cavity of the part plugs would make, or the moulded cable that is only sleeved."""
    pinout = resolved.ends[0].facts.pinout
    if resolved.kind == "sleeved" and pinout is not None and pinout.cable_girth_mm:
        return Ribbon(((0.0, 0.0),), (), pinout.cable_girth_mm / math.pi)
    ends = enumerate(resolved.ends if resolved.kind == "fork" else resolved.ends[:1])
    places = tuple(place_in_ribbon(resolved, index, cavity) for index, end in ends for cavity in end.facts.nets)
    return Ribbon(places or ((0.0, 0.0),), (), NO_WIRE_MM)


def _bend_terms(steps: Sequence[RouteStep], places: Sequence[Place]) -> tuple[BendTerm, ...]:
    """What each bend and twist adds to its outermost wire, and adds to or takes from its innermost."""
    roll, found = 0.0, []
    for index, step in enumerate(steps):
        if step.kind == "twist":
            roll += math.radians(step.angle_deg)
            wound = [twist_term_mm(math.hypot(*place), step.angle_deg, step.length_mm) for place in places]
            found.append(BendTerm(index, "", max(wound), min(wound)))
        elif step.kind != "leg":
            terms = [_term_mm(step, offset, height, roll) for offset, height in places]
            found.append(BendTerm(index, _lies(step, roll), max(terms), min(terms)))
    return tuple(found)


def _lies(step: RouteStep, roll: float) -> Literal["edgewise", "flat", "aslant"]:
    """How the ribbon lies in a bend, rolled by so much. [rad]"""
    across = abs(math.cos(roll) if step.kind in ("left", "right") else math.sin(roll))
    # A hundredth: less than a degree off, which nobody lays by hand.
    return "edgewise" if across > 0.9999 else "flat" if across < 0.01 else "aslant"


def _term_mm(step: RouteStep, offset: float, height: float, roll: float) -> float:
    """What one bend adds to a wire of this place. [mm]"""
    right = offset * math.cos(roll) + height * math.sin(roll)
    up = height * math.cos(roll) - offset * math.sin(roll)
    if step.kind in ("left", "right"):
        return edgewise_bend_term_mm(right if step.kind == "left" else -right, step.angle_deg)
    return flat_bend_term_mm(up if step.kind == "down" else -up, step.angle_deg)
