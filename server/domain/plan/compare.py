"""What the chosen wiring is worth: both latch ways, the plain wiring, and what each pin costs."""

from dataclasses import replace

from server.domain.model.plan import LatchWay, PinCost, PlainWiring
from server.domain.plan.resolve import ResolvedRun
from server.domain.plan.wires import RunWires, plugs_of
from server.domain.wiring import assign, crossings_of, plain_wiring


def crossings_in_ribbon(resolved: ResolvedRun, made: RunWires) -> int:
    """Crossings of the wires that lie in the ribbon; a wire bridged at the part end no longer does."""
    if made.assignment is None:
        return 0
    bridged = {path.stops[0][1] for path in made.paths if path.begin == "jumper"}
    if not bridged:
        return made.assignment.cost.crossings
    sources, plug, _ = plugs_of(resolved)
    links = tuple(link for link in made.assignment.links if link.sense or link.cavity not in bridged)
    return crossings_of(links, sources, plug, made.assignment.order, latch_down=made.assignment.latch_down)


def latch_ways(made: RunWires) -> tuple[LatchWay, ...]:
    """Doubles, crossings and shift with the source plugs' latch up and down."""
    if made.assignment is None:
        return ()
    return tuple(
        LatchWay(way.latch_down, way.cost.doubles, way.cost.crossings, way.cost.shift / 100)
        for way in made.assignment.ways
    )


def plain_of(resolved: ResolvedRun, order: tuple[int, ...]) -> PlainWiring | None:
    """The cavity-by-cavity wiring of the first stretch, sources counted as the plan shows them.

    Args:
        resolved: The run.
        order: Sources of the run in the order in which the plan shows them.
    """
    if resolved.kind == "sleeved" or not resolved.sources:
        return None
    sources, plug, _ = plugs_of(resolved)
    try:
        way = plain_wiring(sources, plug)
    except ValueError:
        return None
    shown = {source: place for place, source in enumerate(order)}
    links = tuple((shown[link.source], link.source_cavity, link.cavity) for link in way.links)
    return PlainWiring(way.cost.doubles, way.cost.crossings, links, tuple(shown[source] for source in way.order))


def pin_costs(resolved: ResolvedRun, made: RunWires) -> tuple[PinCost, ...]:
    """What each pin costs: the best wiring with it against the best wiring without that one pin."""
    if made.assignment is None or not resolved.pinned:
        return ()
    sources, plug, _ = plugs_of(resolved)
    found = []
    for demand in plug.demands:
        if demand.pinned is None:
            continue
        without = replace(plug, demands=tuple(replace(d, pinned=None) if d is demand else d for d in plug.demands))
        better = assign(sources, without).cost
        cost = made.assignment.cost
        found.append(
            PinCost(
                demand.cavity,
                demand.pinned[1],
                cost.doubles - better.doubles,
                cost.crossings - better.crossings,
            )
        )
    return tuple(found)
