"""The wires of one run: which cavity to which, their labels, gauge, colour and cut length."""

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from server.domain.housings import signal_cavities
from server.domain.lengths import Reach, cut_lengths_mm
from server.domain.materials.contacts import fitting_contact, shared_contact, thinner_awg, wire_of
from server.domain.model.build import Build
from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import PlannedWire, WireEnd
from server.domain.plan.forks import fork_of, fork_shortages
from server.domain.plan.paths import Path, giver_of, overdrawn, paths_of, pin_of
from server.domain.plan.remedies import with_remedies
from server.domain.plan.resolve import ResolvedRun, RunPlug
from server.domain.plan.wire_lengths import Place, WireLength, lengths_of, place_in_ribbon
from server.domain.plugs import part_plug, source_plug
from server.domain.reference import LAP_MM, NET_COLOURS, SENSE_AWG, sensed_net
from server.domain.wiring import (
    Assignment,
    PartPlug,
    Shortage,
    SourcePlug,
    assign,
    pin_problems,
    ribbon_position,
    shortages,
)


@dataclass(frozen=True, slots=True)
class RunWires:
    """Wires of one run, with the wiring they follow from."""

    wires: tuple[PlannedWire, ...] = ()
    paths: tuple[Path, ...] = ()
    """What each wire was made of, in the same order."""
    assignment: Assignment | None = None
    shortages: tuple[Shortage, ...] = ()
    impossible_pins: tuple[tuple[str, str], ...] = ()
    """(part cavity, reason) of pins that cannot hold; the wires are solved without them."""
    end_order: tuple[int, ...] = ()
    """Part plugs of a fork from left to right; empty for every other run."""


def wires_of(resolved: ResolvedRun, build: Build, catalogue: Catalogue, reach: Reach) -> RunWires:
    """Plan the wires of one run.

    Args:
        resolved: The run with its sockets looked up.
        build: The build, for its allowances.
        catalogue: Reference data.
        reach: What is known of its length.

    Returns:
        Its wires in ribbon order at the first part plug, segment after segment; none when a net falls short.
    """
    if resolved.kind == "sleeved" or not resolved.sources:
        return RunWires()
    sources, first_plug, impossible = plugs_of(resolved)
    if resolved.kind == "fork":
        if missing := fork_shortages(sources, resolved):
            return RunWires(shortages=missing)
        fork = fork_of(sources, resolved)
        first, order = fork.assignment, fork.order
        paths = paths_of([first], resolved, fork.places)
    else:
        steps, missing = _stretches(sources, first_plug, resolved)
        if missing:
            return RunWires(assignment=steps[0] if steps else None, shortages=missing)
        first, order = steps[0], ()
        paths = paths_of(steps, resolved)
    paths = with_remedies(paths, resolved, catalogue)
    wires = _with_sharing(_finished(paths, resolved, build, catalogue, reach, order), resolved, catalogue)
    return RunWires(wires, tuple(paths), first, (), impossible, order)


def _stretches(
    sources: tuple[SourcePlug, ...], first_plug: PartPlug, resolved: ResolvedRun
) -> tuple[list[Assignment], tuple[Shortage, ...]]:
    """Wiring of each stretch of a chain, from the sources on; it ends early where a net falls short."""
    if missing := shortages(sources, first_plug):
        return [], missing
    steps = [assign(sources, first_plug)]
    for before, end in pairwise(resolved.ends):
        fed = {link.cavity: link.net for link in steps[-1].links if not link.sense}
        giver = (SourcePlug(before.housing, tuple(fed.items()), before.family.pitch_mm),)
        plug = part_plug(end.facts, resolved.optional)
        if missing := shortages(giver, plug):
            return steps, missing
        steps.append(assign(giver, plug))
        if missing := overdrawn(steps[-1]):
            return steps, missing
    return steps, ()


def ribbon_places(resolved: ResolvedRun, wires: Sequence[PlannedWire], order: Sequence[int] = ()) -> tuple[Place, ...]:
    """Offset and height in the ribbon of every wire that starts at a source plug. [mm]

    Args:
        resolved: The run.
        wires: Its wires.
        order: Part plugs of a fork from left to right.
    """
    stops = [(wire.taps[0] if wire.taps else wire.target) for wire in wires if not wire.source_at_end]
    return tuple(place_in_ribbon(resolved, stop.plug, stop.cavity, order) for stop in stops)


def plugs_of(
    resolved: ResolvedRun,
) -> tuple[tuple[SourcePlug, ...], PartPlug, tuple[tuple[str, str], ...]]:
    """Source plugs without forbidden cavities, the first part plug with the pins that hold, and those that cannot."""
    sources = tuple(source_plug(plug.facts, _closed(plug, resolved)) for plug in resolved.sources)
    facts, optional, pinned = resolved.ends[0].facts, resolved.optional, resolved.pinned
    impossible = pin_problems(sources, part_plug(facts, optional, pinned))
    wrong = {cavity for cavity, _ in impossible}
    good = {cavity: where for cavity, where in pinned.items() if cavity not in wrong}
    return sources, part_plug(facts, optional, good), impossible


def _closed(plug: RunPlug, resolved: ResolvedRun) -> frozenset[str]:
    """Source cavities that no wire may use: forbidden ones, and sense lines where the run is a chain.

    In a chain the contact that a sense line would end in already holds the wire in and the wire onward.
    """
    chained = resolved.kind == "chain"
    sensing = {cavity for cavity, net in plug.facts.nets.items() if chained and sensed_net(net)}
    return resolved.forbidden(plug) | sensing


def _finished(
    paths: list[Path],
    resolved: ResolvedRun,
    build: Build,
    catalogue: Catalogue,
    reach: Reach,
    order: tuple[int, ...],
) -> list[PlannedWire]:
    """Give every path its gauge, colour, contacts, length and label."""
    lengths = lengths_of(paths, resolved, build.allowances, reach, order)
    step_mm = build.allowances.step_mm
    wires: list[PlannedWire] = []
    for path, length, whole in zip(paths, lengths, _whole_lengths(lengths, step_mm), strict=True):
        column = _column(path, resolved)
        awg = _gauge(path, resolved, catalogue)
        own, cut = _kept_and_cut(path, resolved, length.needed_mm, whole, step_mm)
        source, *stops = _wire_ends(path, resolved, awg, catalogue)
        wires.append(
            PlannedWire(
                id=_identity(path, resolved),
                label=_label(resolved.run.number, path, {wire.label for wire in wires}),
                source=source,
                target=stops[-1],
                source_at_end=path.start >= 0,
                taps=tuple(stops[:-1]),
                net=path.net,
                function=f"{path.net} line" if path.sense else pin_of(path, resolved).function,
                awg=awg,
                insulation=resolved.style.insulation,
                colour=_colour(path, resolved, column),
                sleeve_colour="" if path.begin == "jumper" else _sleeve_colour(resolved, column),
                route_mm=length.route_mm,
                terms=length.terms,
                cut_mm=cut if reach.state == "measured" and cut else None,
                buy_mm=cut,
                own_mm=own,
            )
        )
    return wires


def _whole_lengths(lengths: Sequence[WireLength], step_mm: float) -> list[int]:
    """Length of every wire from end to end, grouped and rounded up to the cutting step; 0 while it is unknown. [mm]

    In a bend so tight that the ribbon folds over itself, an inner wire can come to less than nothing: it has no length
    then, and a finding stops the run.
    """
    cut = iter(cut_lengths_mm([length.needed_mm for length in lengths if length.needed_mm > 0], step_mm))
    return [next(cut) if length.needed_mm > 0 else 0 for length in lengths]


def _kept_and_cut(path: Path, resolved: ResolvedRun, needed_mm: float, whole: int, step_mm: float) -> tuple[int, int]:
    """Length kept of the supply's own wire, and length cut from a roll. [mm]"""
    if path.begin != "own" or not whole:
        return 0, whole
    own = resolved.run.own_cable_mm
    if own is None:
        return 0, 0
    kept = min(math.floor(own), whole)
    # What is missing of the last cutting step alone is not worth a joint.
    if kept >= round(needed_mm, 6):
        return kept, 0
    return kept, cut_lengths_mm([whole - own + LAP_MM], step_mm)[0]


def _column(path: Path, resolved: ResolvedRun) -> int:
    """Column across the ribbon at the first part plug; patterns turn with it, so both rows look alike."""
    index, cavity = path.stops[0]
    return int(ribbon_position(resolved.ends[index].housing, cavity, at_source=False, latch_down=False)[0])


def _gauge(path: Path, resolved: ResolvedRun, catalogue: Catalogue) -> int:
    """The run's gauge; that of a sense line for small contacts and idle wires; a thinner one where it was chosen."""
    awg = resolved.style.awg
    last, cavity = path.stops[-1]
    giver = giver_of(path, resolved)
    small = cavity in signal_cavities(resolved.ends[last].housing)
    small = small or path.source_cavity in signal_cavities(giver.housing)
    idle = path.thinner and not pin_of(path, resolved).carries_current
    if path.sense or small or idle or path.begin == "jumper":
        return max(awg, SENSE_AWG)
    if path.thinner:
        return thinner_awg(catalogue, giver.housing, awg=awg, insulation=resolved.style.insulation) or awg
    return awg


def _wire_ends(path: Path, resolved: ResolvedRun, awg: int, catalogue: Catalogue) -> list[WireEnd]:
    """Source end first, then every stop."""
    index = path.source_plug if path.start < 0 else path.start
    places = [(giver_of(path, resolved), index, path.source_cavity, path.begin in ("contact", "jumper"))]
    places += [(resolved.ends[stop], stop, cavity, True) for stop, cavity in path.stops]
    ends = []
    for plug, number, cavity, crimped in places:
        signal = cavity in signal_cavities(plug.housing)
        contact = fitting_contact(catalogue, plug.housing, awg=awg, signal=signal) if crimped else None
        ends.append(WireEnd(number, cavity, contact.id if contact else "", crimped=crimped))
    return ends


def _colour(path: Path, resolved: ResolvedRun, column: int) -> str:
    style = resolved.style
    if style.insulation == "clear":
        # Clear insulation shows its silvered strands: there is only one colour to buy.
        return "SR"
    if style.colour_mode == "by_net":
        return NET_COLOURS.get(path.net, "BK")
    return _turn(style.pattern, column)


def _sleeve_colour(resolved: ResolvedRun, column: int) -> str:
    style = resolved.style
    if not style.sleeve:
        return ""
    return _turn(style.sleeve_pattern, 0 if style.bundled else column)


def _turn(pattern: tuple[str, ...], column: int) -> str:
    return pattern[column % len(pattern)] if pattern else "BK"


def _identity(path: Path, resolved: ResolvedRun) -> str:
    index, cavity = path.stops[0]
    ref = resolved.ends[index].ref
    sense = f"+{path.net}" if path.sense else ""
    return f"{resolved.run.id}/{ref.part}.{ref.socket}/{cavity}{sense}"


def _label(number: int, path: Path, taken: set[str]) -> str:
    """Run number, the plug's letter for later segments of a chain, part-end cavity, ``s`` for a sense line."""
    index, cavity = path.stops[0]
    letter = chr(ord("a") + index) if index else ""
    label = f"{number}{letter}-{cavity.zfill(2)}" + ("s" if path.sense else "")
    return label if label not in taken else f"{label}{sum(t.startswith(label) for t in taken) + 1}"


def _with_sharing(wires: list[PlannedWire], resolved: ResolvedRun, catalogue: Catalogue) -> tuple[PlannedWire, ...]:
    """Name, at each end, the other wires in the same contact, and give them one contact that suits them together."""
    inside: dict[tuple[bool, int, str], list[PlannedWire]] = defaultdict(list)
    for wire in wires:
        if wire.source.crimped:
            inside[wire.source_at_end, wire.source.plug, wire.source.cavity].append(wire)
        inside[True, wire.target.plug, wire.target.cavity].append(wire)

    def shared(end: WireEnd, at_end: bool, label: str) -> WireEnd:
        together = inside[at_end, end.plug, end.cavity]
        if not end.crimped or len(together) == 1:
            return end
        housing = (resolved.ends if at_end else resolved.sources)[end.plug].housing
        stocks = [stock for w in together if (stock := wire_of(catalogue, w.awg, w.insulation)) is not None]
        contact = shared_contact(catalogue, housing, stocks, signal=end.cavity in signal_cavities(housing))
        others = tuple(w.label for w in together if w.label != label)
        return replace(end, contact=contact.id if contact else "", shared_with=others)

    def marked(wire: PlannedWire) -> PlannedWire:
        source = shared(wire.source, wire.source_at_end, wire.label)
        target = shared(wire.target, True, wire.label)
        alone = source is wire.source and target is wire.target
        return wire if alone else replace(wire, source=source, target=target)

    return tuple(marked(wire) for wire in wires)
