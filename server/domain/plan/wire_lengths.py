"""How long each wire of a run is: the summands of its length, and where it lies in the ribbon."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise, takewhile

from server.domain.lengths import Reach, bend_terms_mm, chain_route_mm
from server.domain.model.build import Allowances
from server.domain.model.catalogue import Family
from server.domain.model.plan import LengthTerm
from server.domain.plan.paths import Path, giver_of
from server.domain.plan.resolve import ResolvedRun, RunPlug
from server.domain.reference import JUMPER_MM, LAP_MM, SPLICE_MM
from server.domain.wiring import ribbon_position

OWN = "set for this build"
MEASURED = "measured by the builder"
STEPS = "legs and bends measured by the builder"
HIGH_END = "high end of the builder's range"
RULE = "common practice"

Place = tuple[float, float]
"""Offset to the right of the ribbon's middle and height above it. [mm]"""

CRIMP_AGAIN, PRESS_AGAIN = "one crimp again", "one pressing again"
SLACK, OVERLAP = "service slack", "overlap of the splice"
RESERVES = (CRIMP_AGAIN, PRESS_AGAIN, SLACK, OVERLAP)
"""How the names of terms begin that are reserve, and not in the current's way once the cable is made."""


def fitted_mm(terms: Sequence[LengthTerm]) -> float:
    """Length of a wire as it lies in the finished cable, without what is kept in reserve. [mm]"""
    return sum(term.mm for term in terms if not term.name.startswith(RESERVES))


@dataclass(frozen=True, slots=True)
class WireLength:
    """What is known of one wire's length."""

    terms: tuple[LengthTerm, ...]
    """Empty while nothing is known of the route."""
    route_mm: float
    """Along the route, the plugs' own reach included, bends not. [mm]"""

    @property
    def needed_mm(self) -> float:
        """The sum of the terms. [mm]"""
        return sum(term.mm for term in self.terms)


def place_in_ribbon(resolved: ResolvedRun, index: int, cavity: str, order: Sequence[int] = ()) -> Place:
    """Where the wire of a part cavity lies in the ribbon, on the part plugs' own grid.

    The plugs of a fork lie side by side; in a chain the ribbon is that of the first plug.

    Args:
        resolved: The run.
        index: Part plug.
        cavity: Its cavity.
        order: Part plugs of a fork from left to right; empty for the order in which they were entered.
    """
    beside = (order or range(len(resolved.ends))) if resolved.kind == "fork" else (index,)
    widths = {i: resolved.ends[i].housing.columns * resolved.ends[i].family.pitch_mm for i in beside}
    before = sum(widths[i] for i in takewhile(lambda i: i != index, beside))
    plug = resolved.ends[index]
    column, row = ribbon_position(plug.housing, cavity, at_source=False, latch_down=False)
    offset = before + (column + 0.5) * plug.family.pitch_mm - sum(widths.values()) / 2
    return offset, ((plug.housing.rows - 1) / 2 - row) * plug.family.row_pitch_mm


def lengths_of(
    paths: Sequence[Path], resolved: ResolvedRun, allowances: Allowances, reach: Reach, order: Sequence[int] = ()
) -> tuple[WireLength, ...]:
    """The summands of every wire's length.

    Args:
        paths: Wires of the run.
        resolved: The run.
        allowances: What the build adds at each end and to each wire.
        reach: What is known of the run's length.
        order: Part plugs of a fork from left to right.
    """
    places = [place_in_ribbon(resolved, *path.stops[0], order) for path in paths]
    steps = resolved.run.route.steps
    bends = bend_terms_mm(steps, places) if steps and places else (0.0,) * len(paths)
    known = reach.state != "unmeasured"
    return tuple(
        _length(path, resolved, allowances, reach, bend) if known else WireLength((), 0.0)
        for path, bend in zip(paths, bends, strict=True)
    )


def way_between_mm(resolved: ResolvedRun, stops: Sequence[int]) -> list[float]:
    """Lengths of a chain's wire from plug to plug, the own reach of the plug that it comes to included. [mm]

    Args:
        resolved: The run, with every spacing that lies between the plugs.
        stops: Part plugs that the wire comes to, in order; one stop has nothing between.
    """
    spacing = resolved.run.route.spacing_mm
    return [
        chain_route_mm(0.0, spacing, before, stop) + resolved.ends[stop].ref.extra_mm
        for before, stop in pairwise(stops)
    ]


def _length(path: Path, resolved: ResolvedRun, allowances: Allowances, reach: Reach, bend_mm: float) -> WireLength:
    first, last = giver_of(path, resolved), resolved.ends[path.stops[-1][0]]
    along, route_mm = _along(path, resolved, first, reach)
    terms = list(along)
    if path.start < 0 and path.begin != "jumper" and resolved.run.route.steps:
        terms.append(LengthTerm("bends", round(bend_mm, 6), "offset (parallel) curves: offset times turning"))
    ends = [("source end", first, path.begin in ("contact", "jumper")), ("part end", last, True)]
    for at, plug, crimped in ends:
        if path.begin != "splice" or at == "part end":
            terms.append(LengthTerm(f"into the housing, {at}", *_depth(plug.family, allowances)))
        if crimped:
            name = PRESS_AGAIN if plug.family.termination == "displacement" else CRIMP_AGAIN
            terms.append(LengthTerm(f"{name}, {at}", *_recrimp(plug.family, allowances)))
    if path.begin == "splice":
        terms.append(LengthTerm(OVERLAP, LAP_MM, RULE))
    terms.append(LengthTerm(SLACK, allowances.slack_mm, OWN))
    return WireLength(tuple(term for term in terms if term.mm or term.name == "route"), route_mm)


def _along(path: Path, resolved: ResolvedRun, first: RunPlug, known: Reach) -> tuple[list[LengthTerm], float]:
    """Terms along the route, and their sum. [mm]"""
    if path.begin == "jumper":
        return [LengthTerm("bridge", JUMPER_MM, RULE)], JUMPER_MM
    index = path.stops[-1][0]
    spacing = resolved.run.route.spacing_mm
    route = known.high_mm if resolved.kind == "fork" else chain_route_mm(known.high_mm, spacing, path.start, index)
    # A wire that runs through goes to every plug on its way, as the separate wires of a crimped chain do.
    reach = sum(resolved.ends[stop].ref.extra_mm for stop, _ in path.stops)
    reach += first.ref.extra_mm if path.start < 0 else 0.0
    source = MEASURED
    if path.start < 0:
        source = HIGH_END if known.state == "range" else STEPS if resolved.run.route.steps else MEASURED
    terms = [LengthTerm("route", route, source), LengthTerm("own reach of its plugs", reach, MEASURED)]
    if path.begin == "splice":
        short = min(SPLICE_MM, route + reach)
        terms.append(LengthTerm("less: joined before the housing", -short, RULE))
        reach -= short
    return terms, route + reach


def _depth(family: Family, allowances: Allowances) -> tuple[float, str]:
    own = allowances.depth_mm.get(family.id)
    return (family.insertion_depth_mm, family.source) if own is None else (own, OWN)


def _recrimp(family: Family, allowances: Allowances) -> tuple[float, str]:
    own = allowances.recrimp_by_family.get(family.id)
    return allowances.recrimp_mm if own is None else own, f"{RULE}; {OWN}"
