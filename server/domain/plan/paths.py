"""Wires of a run before they have gauge, colour and length: which cavity to which, past which plugs, how they begin."""

from collections import Counter, defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal

from server.domain.housings import cavities
from server.domain.model.catalogue import Pin
from server.domain.plan.resolve import ResolvedRun, RunPlug
from server.domain.wiring import Assignment, Shortage

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
    pins = resolved.ends[index].facts.wanted_pins(resolved.optional_at(index))
    return next(pin for pin in pins if pin.cavity == cavity)


def giver_of(path: Path, resolved: ResolvedRun) -> RunPlug:
    """The plug that a wire starts from."""
    return resolved.ends[path.start] if path.start >= 0 else resolved.sources[path.source_plug]


def paths_of(
    steps: list[Assignment], resolved: ResolvedRun, places: Mapping[str, tuple[int, str]] | None = None
) -> list[Path]:
    """Paths of a run from the wiring of each stretch, before anything is done about shared contacts.

    Args:
        steps: Wiring from the sources to the first part plug, and from each part plug to the next; of a fork, the one
            wiring of all its part plugs together.
        resolved: The run.
        places: For a fork, the part plug and cavity that each part cavity of its wiring means.
    """
    if places is not None:
        paths = [
            Path(-1, link.source, (places[link.cavity],), link.source_cavity, link.net, link.sense)
            for link in steps[0].links
        ]
    else:
        paths = _pieces(steps, resolved)
    return [replace(path, begin="own") for path in paths] if resolved.method == "rework" else paths


def overdrawn(step: Assignment) -> tuple[Shortage, ...]:
    """Nets of which one part plug cannot pass enough on to the next along a chain.

    Each of its contacts already holds the wire that feeds it, so that it passes one wire on: a crimped contact holds
    two, and what is pressed in is one wire that runs through.

    Args:
        step: Wiring from a part plug to the next.
    """
    wanted = Counter(link.net for link in step.links)
    contacts = Counter(net for net, _ in {(link.net, link.source_cavity) for link in step.links})
    return tuple(Shortage(net, count, contacts[net]) for net, count in wanted.items() if count > contacts[net])


def _pieces(steps: list[Assignment], resolved: ResolvedRun) -> list[Path]:
    """Wires from plug to plug, each one piece as far as it can be.

    A wire runs through every plug that presses it, and ends at the first one that is crimped, at the last plug, or
    where the next plug does not want its net. A crimped plug passes its net on by a new wire.
    """
    paths = []
    for index, step in enumerate(steps):
        if index and resolved.presses(index - 1):
            # These wires are taken on by the pieces that run through the plug before.
            continue
        for link in step.links:
            stops = [(index, link.cavity)]
            for after in range(index + 1, len(steps)):
                if not resolved.presses(after - 1):
                    break
                onward = next((n for n in steps[after].links if n.source_cavity == stops[-1][1]), None)
                if onward is None:
                    break
                stops.append((after, onward.cavity))
            paths.append(Path(index - 1, link.source, tuple(stops), link.source_cavity, link.net, link.sense))
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
    if pin.carries_current or path.net != "COM" or len(path.stops) > 1 or resolved.presses(index):
        return ""
    grid = {c.name: c for c in cavities(resolved.ends[index].housing)}
    own = grid[cavity]
    feeding = {name: other for other in paths for at, name in other.stops if at == index}
    held = Counter(name for other in paths for at, name in other.stops if at == index)
    held.update(other.source_cavity for other in paths if other.start == index)
    for name, place in grid.items():
        beside = abs(place.column - own.column) + abs(place.row - own.row) == 1
        if beside and held[name] == 1 and feeding[name].net == path.net and feeding[name].begin == "contact":
            return name
    return ""
