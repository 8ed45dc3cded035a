"""What the chosen wiring is worth: both latch ways, the plain wiring, and what each pin and each ban costs."""

from dataclasses import replace

from server.domain.model.plan import ForbidCost, LatchWay, PinCost, PlainWiring
from server.domain.plan.forks import end_place, fork_of, fork_plugs
from server.domain.plan.resolve import ResolvedRun
from server.domain.plan.wires import RunWires, plugs_of
from server.domain.wiring import Cost, PartPlug, SourcePlug, assign, crossings_of, plain_wiring


def crossings_in_ribbon(resolved: ResolvedRun, made: RunWires) -> int:
    """Crossings of the wires that lie in the ribbon; a wire bridged at the part end no longer does."""
    if made.assignment is None:
        return 0
    bridged = {path.stops[0] for path in made.paths if path.begin == "jumper"}
    if not bridged:
        return made.assignment.cost.crossings
    sources, plug, _ = plugs_of(resolved)
    if resolved.kind == "fork":
        plug = fork_of(sources, resolved).plug
    links = tuple(n for n in made.assignment.links if n.sense or end_place(resolved, n.cavity) not in bridged)
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

    A fork is wired plug after plug, its part plugs side by side as they were entered.

    Args:
        resolved: The run.
        order: Sources of the run in the order in which the plan shows them.
    """
    if resolved.kind == "sleeved" or not resolved.sources:
        return None
    sources, plug, _ = plugs_of(resolved)
    if resolved.kind == "fork":
        plug, _ = fork_plugs(resolved)
    try:
        way = plain_wiring(sources, plug)
    except ValueError:
        return None
    shown = {source: place for place, source in enumerate(order)}
    places = [end_place(resolved, link.cavity) for link in way.links]
    links = tuple(
        (shown[link.source], link.source_cavity, cavity) for link, (_, cavity) in zip(way.links, places, strict=True)
    )
    ends = tuple(end for end, _ in places) if resolved.kind == "fork" else ()
    return PlainWiring(way.cost.doubles, way.cost.crossings, links, tuple(shown[source] for source in way.order), ends)


def pin_costs(resolved: ResolvedRun, made: RunWires) -> tuple[PinCost, ...]:
    """What each pin costs: the best wiring with it against the best wiring without that one pin."""
    if made.assignment is None or not resolved.pinned:
        return ()
    sources, plug, _ = plugs_of(resolved)
    cost, found = made.assignment.cost, []
    for demand in plug.demands:
        if demand.pinned is None:
            continue
        better = _best(resolved, sources, plug, without_pin=demand.cavity)
        found.append(
            PinCost(
                demand.cavity,
                demand.pinned[1],
                cost.doubles - better.doubles,
                cost.crossings - better.crossings,
            )
        )
    return tuple(found)


def forbid_costs(resolved: ResolvedRun, made: RunWires) -> tuple[ForbidCost, ...]:
    """What each forbidden source cavity costs: the best wiring now against the best that may use that one cavity too.

    Args:
        resolved: The run.
        made: Its wires as planned, every ban kept.

    Returns:
        One entry per ban on a cavity that carries a net, in the order in which they were entered; none for an
        extension, whose own cable knows no bans.
    """
    if made.assignment is None or resolved.method == "extension":
        return ()
    cost, found = made.assignment.cost, []
    for ban in resolved.run.forbidden:
        others = tuple(other for other in resolved.run.forbidden if other is not ban)
        allowed = replace(resolved, run=replace(resolved.run, forbidden=others))
        sources, plug, _ = plugs_of(allowed)
        if sources == plugs_of(resolved)[0]:
            continue
        better = _best(allowed, sources, plug)
        found.append(
            ForbidCost(
                ban.part, ban.socket, ban.cavity, cost.doubles - better.doubles, cost.crossings - better.crossings
            )
        )
    return tuple(found)


def _best(resolved: ResolvedRun, sources: tuple[SourcePlug, ...], plug: PartPlug, *, without_pin: str = "") -> Cost:
    """Cost of the best wiring of the first stretch, one pin let go of where it is named."""
    if resolved.kind == "fork":
        return fork_of(sources, resolved, without_pin=without_pin).assignment.cost
    demands = tuple(replace(d, pinned=None) if d.cavity == without_pin else d for d in plug.demands)
    return assign(sources, replace(plug, demands=demands)).cost
