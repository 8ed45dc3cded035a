"""Which supply cavity feeds which part cavity.

The order of preference, each exact: fewest doubles; most even sharing of current over the contacts of a net; fewest
crossings in the flat ribbon; least sideways shift; fewest changes between the upper and the lower row.

How it is exact. Sweep the source columns from left to right. Wires that want the same net and carry the same share of
current are interchangeable: undoing a crossing between two of them never adds another (exchange argument), so they meet
their targets in order across the ribbon, and *how many* of each kind have been placed says all about the past. A new
wire crosses exactly those placed before it whose target lies further right, which follows from the counts. Costs only
add up, so the best way to each state is kept and the rest forgotten (dynamic programming). A remote-sense line may end
in any contact of the net it senses; its target is part of the state. The number of states is the product of the choices
a supply really leaves open, usually a handful.
"""

from bisect import bisect_right
from collections import Counter
from dataclasses import dataclass
from functools import lru_cache
from itertools import permutations, product
from typing import NamedTuple

from server.domain.housings import cavities
from server.domain.model.catalogue import Housing
from server.domain.reference import sensed_net

WIRES_PER_CONTACT = 2
"""Greatest number of wires crimped into one contact. Source: common practice."""


@dataclass(frozen=True, slots=True)
class SourcePlug:
    """A plug that gives: nets by cavity as pairs, an empty net for not connected."""

    housing: Housing
    nets: tuple[tuple[str, str], ...]
    pitch_mm: float


@dataclass(frozen=True, slots=True)
class Demand:
    """A cavity of the part plug that wants a wire."""

    cavity: str
    accepts: tuple[str, ...]
    """Nets that may feed it, most wanted first."""
    carries_current: bool = True
    sensed_by: str = ""
    """Remote-sense net whose line must end here."""


@dataclass(frozen=True, slots=True)
class PartPlug:
    """A plug that takes, with the cavities to be fed."""

    housing: Housing
    demands: tuple[Demand, ...]
    pitch_mm: float


@dataclass(frozen=True, slots=True)
class Link:
    """One wire: source plug (index as given), its cavity, the part cavity and the net both ends carry."""

    source: int
    source_cavity: str
    cavity: str
    net: str
    sense: bool = False


class Cost(NamedTuple):
    """What is minimised, most important first. ``shift`` is in hundredths of a millimetre."""

    doubles: int
    unevenness: int
    crossings: int
    shift: int
    row_changes: int


@dataclass(frozen=True, slots=True)
class Assignment:
    """The best wiring of one plug."""

    links: tuple[Link, ...]
    """In ribbon order at the part end."""
    cost: Cost
    latch_down: bool
    order: tuple[int, ...]
    """Source plugs from left to right, seen from above with the part's latch up."""


@dataclass(frozen=True, slots=True)
class Shortage:
    """A net that the sources cannot give: wires wanted, contacts that carry it."""

    net: str
    wanted: int
    contacts: int


@dataclass(frozen=True, slots=True)
class _Place:
    """A cavity in the common frame: seen from above, part latch up."""

    plug: int
    cavity: str
    net: str
    x: int
    row: int


@dataclass(frozen=True, slots=True)
class _Target:
    cavity: str
    net: str
    x: int
    row: int
    weight: int
    sensed_by: str


def shortages(sources: tuple[SourcePlug, ...], part: PartPlug) -> tuple[Shortage, ...]:
    """Nets of which the sources carry too little, two wires to a contact included.

    Args:
        sources: Plugs that give.
        part: The plug that takes.

    Returns:
        One entry per net that falls short, in the order of the demands; empty when ``assign`` will succeed.
    """
    carried = Counter(net for plug in sources for _, net in plug.nets if net)
    wanted = Counter(_net_for(demand, carried) for demand in part.demands)
    return tuple(
        Shortage(net, count, carried[net]) for net, count in wanted.items() if count > WIRES_PER_CONTACT * carried[net]
    )


@lru_cache(maxsize=2048)
def assign(sources: tuple[SourcePlug, ...], part: PartPlug) -> Assignment:
    """The best wiring of one part plug from its source plugs.

    Both latch positions of the source plugs and every order of up to three of them side by side are tried.

    Args:
        sources: At least one plug that gives.
        part: The plug that takes.

    Returns:
        The best assignment; equal costs are broken towards latch up, then towards the order as given, then towards
        the leftmost free cavity.

    Raises:
        ValueError: a net falls short; ask ``shortages`` first.
    """
    if missing := shortages(sources, part):
        raise ValueError(f"not enough contacts carry {missing[0].net}")
    indices = tuple(range(len(sources)))
    orders = tuple(permutations(indices)) if len(sources) <= 3 else (indices,)
    best: Assignment | None = None
    for latch_down, order in product((False, True), orders):
        cost, links = _solve(sources, part, order, latch_down)
        if best is None or cost < best.cost:
            best = Assignment(links, cost, latch_down, order)
    assert best is not None
    return best


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


def _net_for(demand: Demand, carried: Counter[str]) -> str:
    """The most wanted net that the sources carry at all; the first when they carry none."""
    return next((net for net in demand.accepts if carried[net]), demand.accepts[0])


def _source_places(sources: tuple[SourcePlug, ...], order: tuple[int, ...], latch_down: bool) -> list[_Place]:
    """Live source cavities in the common frame, plugs side by side with one pitch between them, centred on zero."""
    width = sum(sources[i].housing.columns * sources[i].pitch_mm for i in order)
    left, places = -width / 2, []
    for index in order:
        plug = sources[index]
        for cavity, net in plug.nets:
            if net:
                column, row = ribbon_position(plug.housing, cavity, at_source=True, latch_down=latch_down)
                x = round((left + (column + 0.5) * plug.pitch_mm) * 100)
                places.append(_Place(index, cavity, net, x, row))
        left += plug.housing.columns * plug.pitch_mm
    return sorted(places, key=lambda p: (p.x, p.row))


def _targets(part: PartPlug, carried: Counter[str]) -> list[_Target]:
    width = part.housing.columns * part.pitch_mm
    targets = []
    for demand in part.demands:
        column, row = ribbon_position(part.housing, demand.cavity, at_source=False, latch_down=False)
        x = round(((column + 0.5) * part.pitch_mm - width / 2) * 100)
        net = _net_for(demand, carried)
        targets.append(_Target(demand.cavity, net, x, row, int(demand.carries_current), demand.sensed_by))
    return sorted(targets, key=lambda t: (t.x, t.row))


class _Sweep:
    """One sweep over the source columns for a fixed order and latch."""

    def __init__(self, places: list[_Place], targets: list[_Target]) -> None:
        self.targets = targets
        self.x_of = {t.cavity: t.x for t in targets}
        kinds = sorted({(t.net, t.weight) for t in targets})
        self.lists = [[t for t in targets if (t.net, t.weight) == kind] for kind in kinds]
        self.xs = [[t.x for t in members] for members in self.lists]
        self.kinds_of_net = {net: [k for k, kind in enumerate(kinds) if kind[0] == net] for net, _ in kinds}
        self.columns: list[list[_Place]] = []
        for place in places:
            if self.columns and self.columns[-1][0].x == place.x:
                self.columns[-1].append(place)
            else:
                self.columns.append([place])
        supplied = Counter(p.net for p in places)
        demanded = Counter(t.net for t in targets)
        self.doubles_left = {net: max(0, demanded[net] - supplied[net]) for net in supplied}
        self.skips_left = {net: max(0, supplied[net] - demanded[net]) for net in supplied}
        self.sense_targets = {net: self._sense_targets(net) for net in supplied if sensed_net(net)}

    def _sense_targets(self, net: str) -> list[_Target]:
        named = [t for t in self.targets if t.sensed_by == net]
        return named or self._same_net(net)

    def _same_net(self, net: str) -> list[_Target]:
        """Contacts whose voltage a sense line of ``net`` could read."""
        return [t for t in self.targets if t.net == sensed_net(net) and t.weight]

    def run(self) -> tuple[Cost, list[tuple[_Place, _Target, bool]]]:
        """The cheapest complete wiring."""
        nets = sorted(self.doubles_left)
        slot = {net: i for i, net in enumerate(nets)}
        start = (
            (0,) * len(self.lists),
            (),
            tuple(self.doubles_left[n] for n in nets),
            tuple(self.skips_left[n] for n in nets),
        )
        states: _States = {start: (Cost(0, 0, 0, 0, 0), None)}
        for column in self.columns:
            following: _States = {}
            for before, (cost, trail) in states.items():
                for after, step, wires in self._column(before, column, slot):
                    total = Cost(*(a + b for a, b in zip(cost, step, strict=True)))
                    known = following.get(after)
                    if known is None or total < known[0]:
                        following[after] = (total, (trail, wires))
            states = following
        done = [
            (cost, trail)
            for (counts, _, _, _), (cost, trail) in states.items()
            if all(count == len(members) for count, members in zip(counts, self.lists, strict=True))
        ]
        cost, trail = min(done, key=lambda entry: entry[0])
        chosen: list[tuple[_Place, _Target, bool]] = []
        while trail is not None:
            trail, wires = trail
            chosen[:0] = wires
        return cost, chosen

    def _column(
        self, before: "_State", column: list[_Place], slot: dict[str, int]
    ) -> list[tuple["_State", Cost, list[tuple[_Place, _Target, bool]]]]:
        """Every way to use the cavities of one column; wires that start in the same column do not cross."""
        ways: list[tuple[_State, Cost, list[tuple[_Place, _Target, bool]]]] = [(before, Cost(0, 0, 0, 0, 0), [])]
        for place in column:
            further = []
            for state, cost, wires in ways:
                for after, taken in self._cavity(state, place, slot):
                    step = self._step(before, place, taken)
                    total = Cost(*(a + b for a, b in zip(cost, step, strict=True)))
                    further.append((after, total, wires + [(place, t, sense) for t, sense in taken]))
            ways = further
        return ways

    def _cavity(
        self, state: "_State", place: _Place, slot: dict[str, int]
    ) -> list[tuple["_State", list[tuple[_Target, bool]]]]:
        """Every way to use one cavity: left free, one wire, or two where doubles are needed at all."""
        counts, senses, doubles, skips = state
        if place.net in self.sense_targets:
            # A contact holds two wires, so a sense line takes one that no other sense line has; else it ends nowhere.
            options = [t for t in self.sense_targets[place.net] if t.cavity not in senses]
            options = options or [t for t in self._same_net(place.net) if t.cavity not in senses]
            if not options:
                return [(state, [])]
            return [((counts, (*senses, t.cavity), doubles, skips), [(t, True)]) for t in options]
        kinds = self.kinds_of_net.get(place.net, [])
        if not kinds:
            return [(state, [])]
        i = slot[place.net]
        found: list[tuple[_State, list[tuple[_Target, bool]]]] = []
        one = [(k,) for k in kinds]
        two = [(a, b) for a in kinds for b in kinds if a <= b] if doubles[i] else []
        for picked in one + two:
            new = list(counts)
            taken = []
            for k in picked:
                if new[k] < len(self.lists[k]):
                    taken.append((self.lists[k][new[k]], False))
                    new[k] += 1
            if len(taken) == len(picked):
                left = doubles[i] - (len(picked) - 1)
                found.append(((tuple(new), senses, (*doubles[:i], left, *doubles[i + 1 :]), skips), taken))
        if skips[i]:
            found.append(((counts, senses, doubles, (*skips[:i], skips[i] - 1, *skips[i + 1 :])), []))
        return found

    def _step(self, before: "_State", place: _Place, taken: list[tuple[_Target, bool]]) -> Cost:
        load = sum(t.weight for t, sense in taken if not sense)
        return Cost(
            max(0, len(taken) - 1) + sum(1 for _, sense in taken if sense),
            load * load,
            sum(self._crossed(before, t.x) for t, _ in taken),
            sum(abs(place.x - t.x) for t, _ in taken),
            sum(place.row != t.row for t, _ in taken),
        )

    def _crossed(self, before: "_State", x: int) -> int:
        """Wires already placed, all further left at the source, whose target lies further right than ``x``."""
        counts, senses, _, _ = before
        placed = sum(max(0, count - bisect_right(xs, x)) for count, xs in zip(counts, self.xs, strict=True))
        return placed + sum(self.x_of[cavity] > x for cavity in senses)


_State = tuple[tuple[int, ...], tuple[str, ...], tuple[int, ...], tuple[int, ...]]
_Trail = tuple["_Trail | None", list[tuple[_Place, _Target, bool]]]
_States = dict[_State, tuple[Cost, _Trail | None]]


def _solve(
    sources: tuple[SourcePlug, ...], part: PartPlug, order: tuple[int, ...], latch_down: bool
) -> tuple[Cost, tuple[Link, ...]]:
    places = _source_places(sources, order, latch_down)
    targets = _targets(part, Counter(p.net for p in places))
    cost, chosen = _Sweep(places, targets).run()
    chosen.sort(key=lambda wire: (wire[1].x, wire[1].row, wire[2]))
    links = tuple(Link(place.plug, place.cavity, target.cavity, place.net, sense) for place, target, sense in chosen)
    return cost, links
