"""Wires of a run before they have gauge, colour and length: which cavity to which, past which plugs, how they begin."""

from collections import defaultdict
from dataclasses import dataclass, replace
from typing import Literal

from server.domain.housings import cavities
from server.domain.model.catalogue import Pin
from server.domain.plan.resolve import ResolvedRun, RunPlug
from server.domain.wiring import Assignment, Link

Begin = Literal["contact", "splice", "jumper", "own"]


@dataclass(frozen=True, slots=True)
class Path:
    """One wire: its plugs in order."""

    start: int
    """Index of the part plug it starts at; -1 for a source plug."""
    source_plug: int
    stops: tuple[tuple[int, str], ...]
    """(part plug, cavity) in order; the last one is where it ends."""
    source_cavity: str
    net: str
    sense: bool
    begin: Begin = "contact"
    """``splice``: joined to the wire that keeps the contact; ``jumper``: bridges from the neighbouring cavity;
    ``own``: the supply's own wire."""
    thinner: bool = False
    """True for the wire of a shared contact that is taken thinner."""

    @property
    def start_contact(self) -> tuple[int, int, str]:
        """The contact that it starts from."""
        return self.start, self.source_plug, self.source_cavity


def pin_of(path: Path, resolved: ResolvedRun) -> Pin:
    """The pin of the first part cavity that a wire meets."""
    index, cavity = path.stops[0]
    pins = resolved.ends[index].facts.wanted_pins(resolved.optional)
    return next(pin for pin in pins if pin.cavity == cavity)


def giver_of(path: Path, resolved: ResolvedRun) -> RunPlug:
    """The plug that a wire starts from."""
    return resolved.ends[path.start] if path.start >= 0 else resolved.sources[path.source_plug]


def paths_of(steps: list[Assignment], resolved: ResolvedRun) -> list[Path]:
    """Paths of a run from the wiring of each stretch, with what the builder chose for shared contacts.

    Args:
        steps: Wiring from the sources to the first part plug, and from each part plug to the next.
        resolved: The run.
    """
    if resolved.displaced:
        return _through(steps)
    paths = [_segment(index, link) for index, step in enumerate(steps) for link in step.links]
    if resolved.method == "rework":
        return [replace(path, begin="own") for path in paths]
    return _with_choices(paths, resolved)


def _segment(index: int, link: Link) -> Path:
    """A wire from one plug of a crimped run to the next."""
    return Path(index - 1, link.source, ((index, link.cavity),), link.source_cavity, link.net, link.sense)


def _through(steps: list[Assignment]) -> list[Path]:
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
        paths.append(Path(-1, link.source, tuple(stops), link.source_cavity, link.net, link.sense))
    return paths


def sharing_pairs(paths: list[Path], resolved: ResolvedRun) -> dict[tuple[int, str], tuple[Path, Path]]:
    """Source contacts that two wires start from: the wire that keeps the contact, and the one that may give way.

    The one that gives way carries no load where there is such a one; otherwise it is the later in ribbon order.
    """
    held: dict[tuple[int, str], list[Path]] = defaultdict(list)
    for path in paths:
        if path.start < 0:
            held[path.source_plug, path.source_cavity].append(path)
    pairs = {}
    for where, both in held.items():
        if len(both) == 2:
            keep, give = both
            if not pin_of(keep, resolved).carries_current and pin_of(give, resolved).carries_current:
                keep, give = give, keep
            pairs[where] = keep, give
    return pairs


def neighbour_for(path: Path, paths: list[Path], resolved: ResolvedRun) -> str:
    """The part cavity from which a wire without load could be bridged; empty when there is none.

    It lies beside or above the wire's own cavity, carries the same net by a wire of its own, and that contact holds no
    second wire yet. The published text allows it for sense lines that end in COM.
    """
    index, cavity = path.stops[0]
    pin = pin_of(path, resolved)
    if pin.carries_current or path.net != "COM" or len(path.stops) > 1:
        return ""
    grid = {c.name: c for c in cavities(resolved.ends[index].housing)}
    own = grid[cavity]
    held: dict[str, list[Path]] = defaultdict(list)
    for other in paths:
        held[other.stops[0][1]].append(other)
        if other.begin == "jumper":
            held[other.source_cavity].append(other)
    for name, place in grid.items():
        beside = abs(place.column - own.column) + abs(place.row - own.row) == 1
        if beside and len(held[name]) == 1 and held[name][0].net == path.net and held[name][0].begin == "contact":
            return name
    return ""


def _with_choices(paths: list[Path], resolved: ResolvedRun) -> list[Path]:
    """Paths after the builder's choices for shared contacts; a choice that is not possible is left out."""
    chosen = {(c.part, c.socket, c.cavity): c.remedy for c in resolved.run.shared}
    changed = list(paths)
    for (plug, cavity), (_, give) in sharing_pairs(paths, resolved).items():
        ref = resolved.sources[plug].ref
        remedy = chosen.get((ref.part, ref.socket, cavity))
        idle = not pin_of(give, resolved).carries_current
        new = give
        if remedy == "splice":
            new = replace(give, begin="splice")
        elif remedy == "jumper" and (neighbour := neighbour_for(give, changed, resolved)):
            new = replace(give, start=0, source_plug=0, source_cavity=neighbour, begin="jumper")
        elif remedy == "thinner" or (remedy != "as_is" and idle):
            new = replace(give, thinner=True)
        changed[changed.index(give)] = new
    return changed
