"""What goes over and round the wires of a run: sleeve, heat-shrink, combs; and where plugs are pressed on."""

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import accumulate

from server.domain.lengths import Reach, chain_route_mm, half_up
from server.domain.materials.combs import STRETCH_LEAST_MM, Stretch, comb_places
from server.domain.materials.contacts import wire_of
from server.domain.materials.sleeves import (
    ShrinkNeed,
    bundle_grip_mm,
    bundle_mm,
    girth_diameter_mm,
    jam_mm,
    shrink_fits,
    shrink_for,
    sleeve_cut_mm,
    sleeved_mm,
)
from server.domain.model.build import Allowances
from server.domain.model.catalogue import Catalogue, Sleeve
from server.domain.model.plan import CombPlace, PlannedWire, SleevePiece, TapMark
from server.domain.plan.paths import Path, giver_of
from server.domain.plan.resolve import ResolvedRun
from server.domain.plan.straight import off_bends
from server.domain.plan.wire_lengths import SLACK, way_between_mm
from server.domain.reference import COMB_SPACING_MM, LAP_MM, PLUG_BARE_MM, SPLICE_MM, TAIL_MM, sensed_net
from server.domain.wiring import ribbon_position


@dataclass(frozen=True, slots=True)
class Cover:
    """Sleeve and heat-shrink of a run, with the diameters they are judged by."""

    pieces: tuple[SleevePiece, ...] = ()
    over_mm: float = 0.0
    """Diameter that the sleeve is drawn over: the thickest wire, the bundle, or the moulded cable. [mm]"""
    pass_mm: float = 0.0
    """Diameter of the plug that it must pass; 0 where the plug is put on afterwards. [mm]"""
    need: ShrinkNeed | None = None
    """What the heat-shrink slides over and grips; ``None`` without sleeve or heat-shrink."""
    shrink: str = ""
    by_wire: tuple[tuple[int, ...], ...] = ()
    """Cut length of the pieces on each wire, in the order of the wires; empty where one sleeve goes over several.
    [mm]"""


@dataclass(frozen=True, slots=True)
class _Bundle:
    """A stretch on which one sleeve goes over several wires, or over a moulded cable."""

    covered_mm: float
    over_mm: float
    grip_mm: float


def cover_of(
    resolved: ResolvedRun, wires: tuple[PlannedWire, ...], known: Reach, allowances: Allowances, catalogue: Catalogue
) -> Cover:
    """Sleeve and heat-shrink of a run.

    Args:
        resolved: The run.
        wires: Its wires.
        known: What is known of its length.
        allowances: For service slack, and for what frays.
        catalogue: Reference data.

    Returns:
        The cover; without pieces where the sleeve does not go over, or the length is not known.
    """
    sleeve = catalogue.sleeves.get(resolved.style.sleeve)
    bundles = _bundles(resolved, wires, known.high_mm, allowances.slack_mm, catalogue)
    sizes = [(bundle.over_mm, bundle.grip_mm) for bundle in bundles]
    sizes = sizes or [(mm, mm) for mm in _outside_mm([wire for wire in wires if wire.sleeve_colour], catalogue)]
    thick = max((over for over, _ in sizes), default=0.0)
    thin = min((grip for _, grip in sizes), default=0.0)
    if sleeve is None or not thick:
        return Cover()
    pinout = resolved.ends[0].facts.pinout
    passed = girth_diameter_mm(pinout.plug_girth_mm) if resolved.kind == "sleeved" and pinout else 0.0
    need = ShrinkNeed(max(sleeved_mm(sleeve, thick), passed), thin) if resolved.style.sleeve_end != "loose" else None
    shrink = _shrink(resolved, sleeve, need, catalogue)
    if known.state == "unmeasured" or passed > min(sleeve.greatest_mm, jam_mm(sleeve)):
        return Cover((), thick, passed, need, shrink)
    bare = Cover((), thick, passed, need, shrink)
    try:
        if bundles:
            return replace(bare, pieces=_round_bundles(bundles, resolved, sleeve, allowances.fray_mm))
        pieces, by_wire = _on_wires(resolved, wires, sleeve, allowances.fray_mm, catalogue)
    except ValueError:
        return bare
    return replace(bare, pieces=pieces, by_wire=by_wire)


def _outside_mm(wires: Sequence[PlannedWire], catalogue: Catalogue) -> list[float]:
    """Diameters over the insulation of wires that are listed. [mm]"""
    stocks = (wire_of(catalogue, wire.awg, wire.insulation) for wire in wires)
    return [stock.outside_mm for stock in stocks if stock is not None]


def _bundles(
    resolved: ResolvedRun, wires: tuple[PlannedWire, ...], high_mm: float, slack_mm: float, catalogue: Catalogue
) -> list[_Bundle]:
    """Stretches of one sleeve over everything: up to the first plug and from plug to plug, or to a fork and its tails.

    None where each wire has a sleeve of its own. Service slack lies in the first stretch; a moulded cable has none.
    """
    way = high_mm + max((source.ref.extra_mm for source in resolved.sources), default=0.0)
    if resolved.kind == "sleeved":
        pinout = resolved.ends[0].facts.pinout
        moulded = girth_diameter_mm(pinout.cable_girth_mm) if pinout else 0.0
        return [_Bundle(way + resolved.ends[0].ref.extra_mm, moulded, moulded)] if moulded else []
    if not resolved.style.bundled:
        return []
    inside = [wire for wire in wires if wire.sleeve_colour]
    way += slack_mm
    if resolved.kind == "fork":
        tails = [_tail_mm(resolved, index) for index in range(len(resolved.ends))]
        common = max(way + end.ref.extra_mm - tail for end, tail in zip(resolved.ends, tails, strict=True))
        found = [(common, inside)]
        found += [(tail, [w for w in inside if w.target.plug == index]) for index, tail in enumerate(tails)]
    else:
        found = [(way + resolved.ends[0].ref.extra_mm, [wire for wire in inside if not wire.source_at_end])]
        known = len(resolved.run.route.spacing_mm)
        onward = way_between_mm(resolved, range(min(known + 1, len(resolved.ends))))
        found += [
            (mm - _bare_mm(resolved, index - 1), [w for w in inside if _passes(w, index)])
            for index, mm in enumerate(onward, start=1)
        ]
    sized = [(covered, _outside_mm(group, catalogue)) for covered, group in found]
    return [_Bundle(covered, bundle_mm(sizes), bundle_grip_mm(sizes)) for covered, sizes in sized if sizes]


def _shrink(resolved: ResolvedRun, sleeve: Sleeve, need: ShrinkNeed | None, catalogue: Catalogue) -> str:
    """The size chosen by hand; else the one that goes with the sleeve if it fits; else the smallest that does."""
    if need is None:
        return ""
    if resolved.style.shrink_size in catalogue.shrinks:
        return resolved.style.shrink_size
    if sleeve.shrink in catalogue.shrinks and not shrink_fits(catalogue.shrinks[sleeve.shrink], need):
        return sleeve.shrink
    fitting = shrink_for(catalogue, need)
    if fitting is not None:
        return fitting.id
    return sleeve.shrink if sleeve.shrink in catalogue.shrinks else ""


def _round_bundles(
    bundles: Sequence[_Bundle], resolved: ResolvedRun, sleeve: Sleeve, fray_mm: float
) -> tuple[SleevePiece, ...]:
    """One piece of sleeve for each stretch of a bundle, or for a moulded cable."""
    found: Counter[tuple[str, int, float]] = Counter()
    colour = resolved.style.sleeve_pattern[0] if resolved.style.sleeve_pattern else "BK"
    for bundle in bundles:
        if bundle.covered_mm > 0:
            cut = sleeve_cut_mm(sleeve, bundle.over_mm, bundle.covered_mm, fray_mm)
            found[colour, cut, bundle.covered_mm] += 1
    return _counted(found, sleeve)


def _on_wires(
    resolved: ResolvedRun, wires: tuple[PlannedWire, ...], sleeve: Sleeve, fray_mm: float, catalogue: Catalogue
) -> tuple[tuple[SleevePiece, ...], tuple[tuple[int, ...], ...]]:
    """Pieces of sleeve by colour and length, and the cut lengths on each wire.

    Wires that are cut alike are sleeved alike, after the longest of them.
    """
    stretches = [_sleeved_stretches(wire, resolved) for wire in wires]
    longest: dict[tuple[object, ...], float] = defaultdict(float)
    for key, covered in (stretch for own in stretches for stretch in own):
        longest[key] = max(longest[key], covered)
    found: Counter[tuple[str, int, float]] = Counter()
    by_wire: list[tuple[int, ...]] = []
    for wire, own in zip(wires, stretches, strict=True):
        stock = wire_of(catalogue, wire.awg, wire.insulation)
        over = stock.outside_mm if stock is not None else 0.0
        covers = [longest[key] for key, _ in own if stock is not None and longest[key] > 0]
        cuts = [sleeve_cut_mm(sleeve, over, covered, fray_mm) for covered in covers]
        found.update((wire.sleeve_colour, cut, covered) for cut, covered in zip(cuts, covers, strict=True))
        by_wire.append(tuple(cuts))
    return _counted(found, sleeve), tuple(by_wire)


def _sleeved_stretches(wire: PlannedWire, resolved: ResolvedRun) -> list[tuple[tuple[object, ...], float]]:
    """What is covered of one wire by stretch, each under a key that is equal where wires are cut alike. [mm]"""
    if not wire.sleeve_colour:
        return []
    taps = tuple(tap.plug for tap in wire.taps)
    start = wire.source.plug if taps and wire.source_at_end else -1
    # As long as the length of the supply's own cable is not known, what is covered stands for the cut length.
    return [
        ((wire.own_mm + wire.buy_mm or covered, start, taps, index), covered)
        for index, covered in enumerate(_between_plugs(wire, resolved))
    ]


def _counted(found: Counter[tuple[str, int, float]], sleeve: Sleeve) -> tuple[SleevePiece, ...]:
    return tuple(SleevePiece(sleeve.id, colour, cut, covered, n) for (colour, cut, covered), n in sorted(found.items()))


def _between_plugs(wire: PlannedWire, resolved: ResolvedRun) -> list[float]:
    """Lengths of a wire as it will lie between plugs: one, or several where it runs through displacement plugs. [mm]

    Bends and service slack lie in the first of them; of a plug that it runs through the plug's own width stays bare.
    """
    stops = [stop.plug for stop in (*wire.taps, wire.target)]
    onward = way_between_mm(resolved, stops) if wire.taps else []
    more = sum(term.mm for term in wire.terms if term.name in ("bends", SLACK))
    bare = [max(0.0, mm - _bare_mm(resolved, plug)) for plug, mm in zip(stops, onward, strict=False)]
    return [round(wire.route_mm + more - sum(onward), 3), *(round(mm, 3) for mm in bare)]


def _bare_mm(resolved: ResolvedRun, plug: int) -> float:
    """What of the stretch behind a part plug lies inside that plug, which is pressed onto it. [mm]"""
    return PLUG_BARE_MM if resolved.presses(plug) else 0.0


@dataclass(frozen=True, slots=True)
class Combs:
    """Combs on the visible half of a run."""

    places: tuple[CombPlace, ...] = ()
    missing: bool = False
    """True when combs were asked for and none that is listed holds the wires."""
    left_out: int = 0
    """Combs for which no straight stretch is free."""


def combs_of(resolved: ResolvedRun, wires: tuple[PlannedWire, ...], known: Reach, catalogue: Catalogue) -> Combs:
    """Combs on the visible half of a run, none inside a bend or a twist.

    Args:
        resolved: The run.
        wires: Its wires.
        known: What is known of its length.
        catalogue: Reference data.

    Source:
        Half the run is visible, one comb per 100 mm of it (common practice).
    """
    if not resolved.style.combs or resolved.style.bundled or resolved.kind == "sleeved" or known.state == "unmeasured":
        return Combs()
    stretches = _stretches(resolved, wires, known.high_mm / 2)
    wide = [s for s in stretches if s.wires > 1 and round(s.end_mm - s.start_mm, 6) >= STRETCH_LEAST_MM]
    steps, left_out = resolved.run.route.steps, 0
    found: list[CombPlace] = []
    for stretch in stretches:
        places = comb_places(catalogue, [stretch], resolved.style.comb_kind, COMB_SPACING_MM)
        # Between the plugs of a chain nothing is known of bends.
        bent = steps if stretch.plug == 0 or resolved.kind == "fork" else ()
        free = off_bends(places, stretch, bent, resolved.ends[stretch.plug].ref.extra_mm) if bent else places
        left_out += len(places) - len(free)
        found += free
    return Combs(tuple(found), bool(wide) and not found and not left_out, left_out)


def _stretches(resolved: ResolvedRun, wires: tuple[PlannedWire, ...], visible_mm: float) -> list[Stretch]:
    """Stretches of ribbon with the wires that lie in each, from the part plugs on."""
    flat = [wire for wire in wires if not sensed_net(wire.net) and wire.net]
    whole = [wire for wire in flat if not wire.source_at_end]
    tails = [_tail_mm(resolved, index) for index in range(len(resolved.ends))]
    start = tails[0] if resolved.kind != "chain" else 0.0
    found = [_stretch(resolved, start, visible_mm, whole, 0)]
    if resolved.kind == "fork":
        for index, tail in enumerate(tails):
            own = [wire for wire in whole if wire.target.plug == index]
            found.append(_stretch(resolved, 0.0, min(tail, visible_mm), own, index))
    elif resolved.kind == "chain":
        for index, spacing in enumerate(resolved.run.route.spacing_mm, start=1):
            onward = [wire for wire in flat if _passes(wire, index)]
            found.append(_stretch(resolved, 0.0, spacing, onward, index))
    return found


def _tail_mm(resolved: ResolvedRun, index: int) -> float:
    """How far the wires of a part plug run by themselves before they lie in the ribbon. [mm]"""
    own = resolved.ends[index].ref.tail_mm
    if own is not None:
        return own
    return TAIL_MM if resolved.kind == "fork" else 0.0


def _passes(wire: PlannedWire, plug: int) -> bool:
    """True for a wire that lies between a part plug and the one before it."""
    first = wire.source.plug if wire.source_at_end else -1
    return first < plug <= wire.target.plug


def _stretch(resolved: ResolvedRun, start_mm: float, end_mm: float, wires: list[PlannedWire], plug: int) -> Stretch:
    """A stretch of ribbon; its wires keep the rows of the plugs that they meet first."""
    stops = [wire.taps[0] if wire.taps else wire.target for wire in wires]
    rows = max((resolved.ends[stop.plug].housing.rows for stop in stops), default=1)
    fullest: Counter[int] = Counter()
    for stop in stops:
        housing = resolved.ends[stop.plug].housing
        fullest[ribbon_position(housing, stop.cavity, at_source=False, latch_down=False)[1]] += 1
    return Stretch(start_mm, end_mm, len(wires), rows, plug, max(fullest.values(), default=0))


def tap_marks_of(
    resolved: ResolvedRun, paths: tuple[Path, ...], wires: tuple[PlannedWire, ...], known: Reach, allowances: Allowances
) -> tuple[TapMark, ...]:
    """Where wires that run through are marked for each plug, measured from the crimped end at the supply side.

    They are measured from the final crimp, so that the re-crimp reserve is not in them; service slack is, because it
    lies in the first stretch.

    Args:
        resolved: The run.
        paths: What each wire was made of.
        wires: The wires, in the same order.
        known: What is known of its length.
        allowances: For insertion depths.

    Returns:
        Marks by plug and distance; none for runs whose plugs are crimped, or that are not measured.
    """
    if resolved.kind != "chain" or known.state != "measured":
        return ()
    marks: dict[tuple[int, int], list[str]] = defaultdict(list)
    for path, wire in zip(paths, wires, strict=True):
        stops = [stop for stop, _ in path.stops]
        if not any(map(resolved.presses, stops)):
            continue
        onward = [0.0, *accumulate(way_between_mm(resolved, stops))]
        at_first = _to_first_plug_mm(path, wire, resolved, known, allowances)
        for stop, further in zip(stops, onward, strict=True):
            if resolved.presses(stop):
                marks[stop, half_up(at_first + further)].append(wire.label)
    return tuple(TapMark(plug, at, tuple(labels)) for (plug, at), labels in sorted(marks.items()))


def _to_first_plug_mm(
    path: Path, wire: PlannedWire, resolved: ResolvedRun, known: Reach, allowances: Allowances
) -> float:
    """From a wire's end at the supply side to the first plug that it comes to. [mm]"""
    giver, first = giver_of(path, resolved), path.stops[0][0]
    way = chain_route_mm(known.high_mm, resolved.run.route.spacing_mm, path.start, first)
    way += resolved.ends[first].ref.extra_mm + (giver.ref.extra_mm if path.start < 0 else 0.0)
    way += sum(term.mm for term in wire.terms if term.name in ("bends", SLACK))
    if path.begin == "splice":
        # It has no contact: it starts where it is joined, the overlap before that place.
        return way - min(SPLICE_MM, way) + LAP_MM
    return way + allowances.depth_mm.get(giver.family.id, giver.family.insertion_depth_mm)
