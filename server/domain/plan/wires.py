"""The wires of one run: which cavity to which, their labels, gauge, colour and cut length."""

from collections import Counter, defaultdict
from dataclasses import dataclass, replace

from server.domain.housings import signal_cavities
from server.domain.lengths import Reach, chain_route_mm, cut_length_mm
from server.domain.materials import fitting_contact, shared_contact, wire_of
from server.domain.model.build import Build
from server.domain.model.catalogue import Catalogue, Pin
from server.domain.model.plan import PlannedWire, WireEnd
from server.domain.plan.resolve import ResolvedRun, RunPlug
from server.domain.plugs import part_plug, source_plug
from server.domain.reference import NET_COLOURS, SENSE_AWG
from server.domain.wiring import Assignment, Shortage, SourcePlug, assign, ribbon_position, shortages


@dataclass(frozen=True, slots=True)
class RunWires:
    """Wires of one run, with the wiring they follow from."""

    wires: tuple[PlannedWire, ...]
    assignment: Assignment | None
    shortages: tuple[Shortage, ...]


@dataclass(frozen=True, slots=True)
class _Path:
    """One wire before it has a label: its plugs in order; stop 0 is the source when ``start`` is negative."""

    start: int
    """Index of the part plug it starts at; -1 for a source plug."""
    source_plug: int
    stops: tuple[tuple[int, str], ...]
    """(part plug, cavity) in order; the last one is where it ends."""
    source_cavity: str
    net: str
    sense: bool

    @property
    def start_contact(self) -> tuple[int, int, str]:
        """The contact that it starts from."""
        return self.start, self.source_plug, self.source_cavity


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
        return RunWires((), None, ())
    optional = resolved.optional
    plugs = [part_plug(end.facts, optional) for end in resolved.ends]
    first_sources = tuple(source_plug(plug.facts) for plug in resolved.sources)
    if missing := shortages(first_sources, plugs[0]):
        return RunWires((), None, missing)
    first = assign(first_sources, plugs[0])
    steps = [first]
    for index in range(1, len(plugs)):
        fed = {link.cavity: link.net for link in steps[-1].links if not link.sense}
        before = resolved.ends[index - 1]
        giver = (SourcePlug(before.housing, tuple(fed.items()), before.family.pitch_mm),)
        if missing := shortages(giver, plugs[index]):
            return RunWires((), first, missing)
        steps.append(assign(giver, plugs[index]))
    paths = _through(steps) if resolved.displaced else _segments(steps)
    wires = _finished(paths, resolved, build, catalogue, reach)
    return RunWires(_with_sharing(wires, resolved, catalogue), first, ())


def _segments(steps: list[Assignment]) -> list[_Path]:
    """A crimped chain: a wire from each plug to the next."""
    return [
        _Path(index - 1, link.source, ((index, link.cavity),), link.source_cavity, link.net, link.sense)
        for index, step in enumerate(steps)
        for link in step.links
    ]


def _through(steps: list[Assignment]) -> list[_Path]:
    """A displacement chain: one piece from the supply through plug after plug."""
    paths = []
    for link in steps[0].links:
        stops, cavity = [(0, link.cavity)], link.cavity
        for index, step in enumerate(steps[1:], start=1):
            onward = next((n for n in step.links if n.source_cavity == cavity), None)
            if onward is None:
                break
            cavity = onward.cavity
            stops.append((index, cavity))
        paths.append(_Path(-1, link.source, tuple(stops), link.source_cavity, link.net, link.sense))
    return paths


def _finished(
    paths: list[_Path], resolved: ResolvedRun, build: Build, catalogue: Catalogue, reach: Reach
) -> list[PlannedWire]:
    """Give every path its gauge, colour, contacts, length and label."""
    crowded = _crowded(paths)
    wires: list[PlannedWire] = []
    for path in paths:
        column = _column(path, resolved)
        awg = _gauge(path, resolved, crowded=path.start_contact in crowded)
        route, depth = _lengths(path, resolved, reach)
        allowance, step = build.allowances.per_wire_mm, build.allowances.step_mm
        length = 0 if reach.state == "unmeasured" else cut_length_mm(route, depth, allowance, step)
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
                function=f"{path.net} line" if path.sense else _pin(path, resolved).function,
                awg=awg,
                insulation=resolved.style.insulation,
                colour=_colour(path, resolved, column),
                sleeve_colour=_sleeve_colour(resolved, column),
                route_mm=route,
                depth_mm=depth,
                allowance_mm=allowance,
                cut_mm=length if reach.state == "measured" else None,
                buy_mm=length,
            )
        )
    return wires


def _pin(path: _Path, resolved: ResolvedRun) -> Pin:
    """The pin of the first part cavity that a wire meets."""
    index, cavity = path.stops[0]
    pins = resolved.ends[index].facts.wanted_pins(resolved.optional)
    return next(pin for pin in pins if pin.cavity == cavity)


def _column(path: _Path, resolved: ResolvedRun) -> int:
    """Column across the ribbon at the first part plug; patterns turn with it, so both rows look alike."""
    index, cavity = path.stops[0]
    return int(ribbon_position(resolved.ends[index].housing, cavity, at_source=False, latch_down=False)[0])


def _giver(path: _Path, resolved: ResolvedRun) -> RunPlug:
    """The plug that a wire starts from."""
    return resolved.ends[path.start] if path.start >= 0 else resolved.sources[path.source_plug]


def _gauge(path: _Path, resolved: ResolvedRun, *, crowded: bool) -> int:
    """The run's gauge, or that of a sense line where a wire carries no load and shares or needs a small contact."""
    last, cavity = path.stops[-1]
    small = cavity in signal_cavities(resolved.ends[last].housing)
    small = small or path.source_cavity in signal_cavities(_giver(path, resolved).housing)
    idle = crowded and not _pin(path, resolved).carries_current
    return max(resolved.style.awg, SENSE_AWG) if path.sense or small or idle else resolved.style.awg


def _wire_ends(path: _Path, resolved: ResolvedRun, awg: int, catalogue: Catalogue) -> list[WireEnd]:
    """Source end first, then every stop."""
    places = [(_giver(path, resolved), path.source_plug if path.start < 0 else path.start, path.source_cavity)]
    places += [(resolved.ends[index], index, cavity) for index, cavity in path.stops]
    ends = []
    for plug, index, cavity in places:
        contact = fitting_contact(catalogue, plug.housing, awg=awg, signal=cavity in signal_cavities(plug.housing))
        ends.append(WireEnd(index, cavity, contact.id if contact else ""))
    return ends


def _lengths(path: _Path, resolved: ResolvedRun, reach: Reach) -> tuple[float, float]:
    """Route and insertion depth of both ends of one wire. [mm]"""
    last = path.stops[-1][0]
    end, giver = resolved.ends[last], _giver(path, resolved)
    route = 0.0
    if reach.state != "unmeasured":
        route = chain_route_mm(reach.high_mm, resolved.run.route.spacing_mm, path.start, last)
        route += end.ref.extra_mm + (giver.ref.extra_mm if path.start < 0 else 0.0)
    return route, giver.family.insertion_depth_mm + end.family.insertion_depth_mm


def _crowded(paths: list[_Path]) -> set[tuple[int, int, str]]:
    """Source contacts that more than one wire starts from."""
    count = Counter(path.start_contact for path in paths)
    return {where for where, wires in count.items() if wires > 1}


def _colour(path: _Path, resolved: ResolvedRun, column: int) -> str:
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


def _identity(path: _Path, resolved: ResolvedRun) -> str:
    index, cavity = path.stops[0]
    ref = resolved.ends[index].ref
    sense = f"+{path.net}" if path.sense else ""
    return f"{resolved.run.id}/{ref.part}.{ref.socket}/{cavity}{sense}"


def _label(number: int, path: _Path, taken: set[str]) -> str:
    """Run number, the plug's letter for later segments of a chain, part-end cavity, ``s`` for a sense line."""
    index, cavity = path.stops[0]
    letter = chr(ord("a") + index) if index else ""
    label = f"{number}{letter}-{cavity.zfill(2)}" + ("s" if path.sense else "")
    return label if label not in taken else f"{label}{sum(t.startswith(label) for t in taken) + 1}"


def _with_sharing(wires: list[PlannedWire], resolved: ResolvedRun, catalogue: Catalogue) -> tuple[PlannedWire, ...]:
    """Name, at each end, the other wires in the same contact, and give them one contact that suits them together."""
    inside: dict[tuple[bool, int, str], list[PlannedWire]] = defaultdict(list)
    for wire in wires:
        inside[wire.source_at_end, wire.source.plug, wire.source.cavity].append(wire)
        inside[True, wire.target.plug, wire.target.cavity].append(wire)

    def shared(end: WireEnd, at_end: bool, label: str) -> WireEnd:
        together = inside[at_end, end.plug, end.cavity]
        if len(together) == 1:
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
