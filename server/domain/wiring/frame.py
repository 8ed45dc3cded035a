"""Where a cavity lies across the flat ribbon: one frame for both ends."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from server.domain.housings import cavities
from server.domain.model.catalogue import Housing
from server.domain.wiring.words import Cost, Demand, Link, PartPlug, SourcePlug


@dataclass(frozen=True, slots=True)
class Place:
    """A live source cavity in the common frame: seen from above, part latch up."""

    plug: int
    cavity: str
    net: str
    x: int
    """Across the ribbon from its middle, in hundredths of a millimetre."""
    row: int


@dataclass(frozen=True, slots=True)
class Target:
    """A part cavity in the common frame, with the net that will feed it."""

    cavity: str
    net: str
    x: int
    row: int
    weight: int
    """1 when it carries its share of the load, 0 for sense and signal."""
    sensed_by: str
    pinned: tuple[int, str] | None = None


@lru_cache(maxsize=4096)
def ribbon_position(housing: Housing, cavity: str, *, at_source: bool, latch_down: bool) -> tuple[float, int]:
    """Column across the ribbon and row, of one cavity in the common frame.

    The frame looks from above along the ribbon with the part's latch up; the part plug keeps the columns of its wire
    side. With both latches up the two plugs face each other, so the source's columns are mirrored; turned latch down it
    is mirrored once more, and its rows change places.

    Args:
        housing: The plug's housing.
        cavity: Name of a cavity.
        at_source: True for the end that gives.
        latch_down: True when that plug is turned over.

    Returns:
        (column from the left, row from the top).

    Raises:
        KeyError: the housing has no such cavity.
    """
    place = {c.name: c for c in cavities(housing)}[cavity]
    column, row = place.column, place.row
    if at_source and not latch_down:
        column = housing.columns - 1 - column
    if latch_down:
        row = housing.rows - 1 - row
    return column, row


def wanted_nets(part: PartPlug, sources: Sequence[SourcePlug]) -> dict[str, str]:
    """The net that will feed each part cavity.

    It is that of the cavity it is pinned to, if it accepts it; else the most wanted net that the sources carry at all,
    and the first when they carry none.
    """
    carried = Counter(net for plug in sources for _, net in plug.nets if net)
    return {demand.cavity: _net_for(demand, sources, carried) for demand in part.demands}


def _net_for(demand: Demand, sources: Sequence[SourcePlug], carried: Counter[str]) -> str:
    if demand.pinned is not None and 0 <= demand.pinned[0] < len(sources):
        pinned = dict(sources[demand.pinned[0]].nets).get(demand.pinned[1], "")
        if pinned in demand.accepts:
            return pinned
    return next((net for net in demand.accepts if carried[net]), demand.accepts[0])


def source_places(sources: Sequence[SourcePlug], order: Sequence[int], *, latch_down: bool) -> list[Place]:
    """Live source cavities, plugs side by side and centred, from left to right."""
    width = sum(sources[i].housing.columns * sources[i].pitch_mm for i in order)
    left, places = -width / 2, []
    for index in order:
        plug = sources[index]
        for cavity, net in plug.nets:
            if net:
                column, row = ribbon_position(plug.housing, cavity, at_source=True, latch_down=latch_down)
                x = round((left + (column + 0.5) * plug.pitch_mm) * 100)
                places.append(Place(index, cavity, net, x, row))
        left += plug.housing.columns * plug.pitch_mm
    return sorted(places, key=lambda p: (p.x, p.row))


def targets_of(part: PartPlug, sources: Sequence[SourcePlug]) -> list[Target]:
    """Part cavities that want a wire, from left to right."""
    nets = wanted_nets(part, sources)
    width = part.housing.columns * part.pitch_mm
    laid = {cavity: (x, row) for cavity, x, row in part.places}
    targets = []
    for demand in part.demands:
        if part.places:
            x, row = laid[demand.cavity]
        else:
            column, row = ribbon_position(part.housing, demand.cavity, at_source=False, latch_down=False)
            x = round(((column + 0.5) * part.pitch_mm - width / 2) * 100)
        net = nets[demand.cavity]
        weight = int(demand.carries_current)
        targets.append(Target(demand.cavity, net, x, row, weight, demand.sensed_by, demand.pinned))
    return sorted(targets, key=lambda t: (t.x, t.row))


def cost_of(wires: Sequence[tuple[Place, Target, bool]]) -> Cost:
    """What a wiring costs, added up from its wires alone.

    Args:
        wires: Source place, target, and whether the wire is a sense line.
    """
    held = Counter((place.plug, place.cavity) for place, _, _ in wires)
    load = Counter[tuple[int, str]]()
    for place, target, sense in wires:
        load[place.plug, place.cavity] += 0 if sense else target.weight
    crossings = sum((a[0].x - b[0].x) * (a[1].x - b[1].x) < 0 for i, a in enumerate(wires) for b in wires[i + 1 :])
    return Cost(
        sum(count - 1 for count in held.values()) + sum(sense for _, _, sense in wires),
        sum(amount * amount for amount in load.values()),
        crossings,
        sum(abs(place.x - target.x) for place, target, _ in wires),
        sum(place.row != target.row for place, target, _ in wires),
    )


def links_of(wires: Sequence[tuple[Place, Target, bool]]) -> tuple[Link, ...]:
    """Wires as links, in ribbon order at the part end; a sense line stands behind the wire it is doubled with."""
    ordered = sorted(wires, key=lambda wire: (wire[1].x, wire[1].row, wire[2]))
    return tuple(Link(p.plug, p.cavity, t.cavity, p.net, sense) for p, t, sense in ordered)
