"""The best wiring of one part plug, both latch positions and every order of the sources tried."""

from collections import Counter
from collections.abc import Sequence
from functools import lru_cache
from itertools import permutations

from server.domain.wiring.frame import cost_of, links_of, source_places, targets_of, wanted_nets
from server.domain.wiring.sweep import Sweep
from server.domain.wiring.words import WIRES_PER_CONTACT, Assignment, Link, PartPlug, Shortage, SourcePlug, Way

ORDERS_TRIED = 3
"""Up to so many source plugs every order side by side is tried; more than that do not feed one inlet."""


def shortages(sources: tuple[SourcePlug, ...], part: PartPlug) -> tuple[Shortage, ...]:
    """Nets of which the sources carry too little, two wires to a contact included.

    Args:
        sources: Plugs that give.
        part: The plug that takes.

    Returns:
        One entry per net that falls short, in the order of the demands; empty when ``assign`` will succeed.
    """
    carried = Counter(net for plug in sources for _, net in plug.nets if net)
    wanted = Counter(wanted_nets(part, sources).values())
    return tuple(
        Shortage(net, count, carried[net]) for net, count in wanted.items() if count > WIRES_PER_CONTACT * carried[net]
    )


def pin_problems(sources: tuple[SourcePlug, ...], part: PartPlug) -> tuple[tuple[str, str], ...]:
    """What rule each impossible pin breaks.

    Args:
        sources: Plugs that give.
        part: The plug that takes, with its pins.

    Returns:
        (part cavity, reason in words) for each pin that cannot hold; empty when ``assign`` will honour them all.
    """
    found = []
    held: Counter[tuple[int, str]] = Counter()
    for demand in part.demands:
        if demand.pinned is None:
            continue
        index, cavity = demand.pinned
        nets = dict(sources[index].nets) if 0 <= index < len(sources) else {}
        held[demand.pinned] += 1
        if cavity not in nets:
            found.append((demand.cavity, f"the source has no cavity {cavity}"))
        elif not nets[cavity]:
            found.append((demand.cavity, f"cavity {cavity} is not connected, or forbidden"))
        elif nets[cavity] not in demand.accepts:
            wanted = " or ".join(demand.accepts)
            found.append((demand.cavity, f"cavity {cavity} carries {nets[cavity]}, not {wanted}: only equal nets meet"))
        elif held[demand.pinned] > WIRES_PER_CONTACT:
            found.append((demand.cavity, f"contact {cavity} would hold more than {WIRES_PER_CONTACT} wires"))
    return tuple(found)


@lru_cache(maxsize=2048)
def assign(sources: tuple[SourcePlug, ...], part: PartPlug) -> Assignment:
    """The best wiring of one part plug from its source plugs.

    The order of preference, each exact: fewest doubles; most even sharing of current over the contacts of a net; fewest
    crossings in the flat ribbon; least sideways shift; fewest changes between the upper and the lower row. Both latch
    positions of the source plugs and every order of up to three of them side by side are tried. Pinned wires stay where
    they are pinned, whatever it costs.

    Args:
        sources: At least one plug that gives.
        part: The plug that takes.

    Returns:
        The best assignment; equal costs are broken towards latch up, then towards the order as given, then towards
        the leftmost free cavity.

    Raises:
        ValueError: a net falls short or a pin is impossible; ask ``shortages`` and ``pin_problems`` first.

    Example:
        >>> from server.domain.model.catalogue import Housing
        >>> two = Housing("t", "t", "t", "plug", "socket", 2, 1, 2, "single_row", "top", "", "", "")
        >>> give = SourcePlug(two, (("1", "+12V"), ("2", "COM")), 4.2)
        >>> from server.domain.wiring.words import Demand
        >>> take = PartPlug(two, (Demand("1", ("COM",)), Demand("2", ("+12V",))), 4.2)
        >>> best = assign((give,), take)
        >>> best.latch_down, best.cost.crossings, [(k.source_cavity, k.cavity) for k in best.links]
        (False, 0, [('2', '1'), ('1', '2')])
    """
    if missing := shortages(sources, part):
        raise ValueError(f"not enough contacts carry {missing[0].net}")
    if wrong := pin_problems(sources, part):
        raise ValueError(f"cavity {wrong[0][0]}: {wrong[0][1]}")
    ways = tuple(_best_way(sources, part, latch_down=latch_down) for latch_down in (False, True))
    best = min(ways, key=lambda way: way.cost)
    return Assignment(best.links, best.cost, best.latch_down, best.order, ways)


def _best_way(sources: tuple[SourcePlug, ...], part: PartPlug, *, latch_down: bool) -> Way:
    indices = tuple(range(len(sources)))
    orders = permutations(indices) if len(sources) <= ORDERS_TRIED else iter([indices])
    ways = []
    for order in orders:
        wires = Sweep(source_places(sources, order, latch_down=latch_down), targets_of(part, sources)).run()
        ways.append(Way(latch_down, order, cost_of(wires), links_of(wires)))
    return min(ways, key=lambda way: way.cost)


def crossings_of(
    links: Sequence[Link],
    sources: tuple[SourcePlug, ...],
    part: PartPlug,
    order: tuple[int, ...],
    *,
    latch_down: bool,
) -> int:
    """Crossings of some of the wires between the same plugs.

    Args:
        links: The wires that lie in the ribbon.
        sources: Plugs that give.
        part: The plug that takes.
        order: Source plugs from left to right.
        latch_down: True when they lie with their latch down.
    """
    places = {(p.plug, p.cavity): p for p in source_places(sources, order, latch_down=latch_down)}
    targets = {t.cavity: t for t in targets_of(part, sources)}
    wires = [(places[link.source, link.source_cavity], targets[link.cavity], link.sense) for link in links]
    return cost_of(wires).crossings


@lru_cache(maxsize=2048)
def plain_wiring(sources: tuple[SourcePlug, ...], part: PartPlug) -> Way:
    """The wiring of somebody who does not plan: cavity by cavity, each from the first contact that carries its net.

    Free contacts are taken before full ones are shared, in the order of their numbers; plugs as given, latches up; pins
    are not looked at. It is what the best wiring is shown against.

    Args:
        sources: At least one plug that gives.
        part: The plug that takes.

    Raises:
        ValueError: a net falls short; ask ``shortages`` first.
    """
    if missing := shortages(sources, part):
        raise ValueError(f"not enough contacts carry {missing[0].net}")
    order = tuple(range(len(sources)))
    places = {(p.plug, p.cavity): p for p in source_places(sources, order, latch_down=False)}
    targets = {t.cavity: t for t in targets_of(part, sources)}
    numbered = [places[i, cavity] for i, plug in enumerate(sources) for cavity, net in plug.nets if net]
    held: Counter[tuple[int, str]] = Counter()
    wires = []
    for demand in part.demands:
        target = targets[demand.cavity]
        contacts = [p for p in numbered if p.net == target.net]
        place = min(contacts, key=lambda p: held[p.plug, p.cavity])
        held[place.plug, place.cavity] += 1
        wires.append((place, target, False))
    return Way(False, order, cost_of(wires), links_of(wires))
