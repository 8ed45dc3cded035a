"""The wiring of any plug as a mixed-integer program for a general solver (HiGHS), written from the rules alone.

It shares nothing with the planner but the words; places come from the frame of ``brute_wiring``. ``x[d, c]`` is 1 when
part cavity d is fed from source contact c. Costs are settled one after the other, each then held while the next is
made least:

1. doubles: ``y[c]`` is 1 when contact c holds two wires;
2. unevenness: loads squared sum to the loaded wires plus two for every contact with two loaded wires, ``z[c]``;
3. crossings: of two wires whose part cavities lie left and right of each other, ``p`` is 1 when at some source column
   the right one has started and the left one has not.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import permutations

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, OptimizeResult, milp
from scipy.sparse import coo_array

from server.domain.wiring import Demand, PartPlug, SourcePlug
from tests.domain.brute_wiring import Spot, part_spots, source_spots

Contact = tuple[int, str]
Ranked = tuple[int, int, int]
"""Doubles, unevenness, crossings."""


@dataclass
class _Program:
    """Rows and columns as they are written down."""

    width: int = 0
    upper: list[float] = field(default_factory=list)
    whole: list[int] = field(default_factory=list)
    cells: list[tuple[int, int, float]] = field(default_factory=list)
    low: list[float] = field(default_factory=list)
    high: list[float] = field(default_factory=list)

    def columns(self, count: int, *, whole: bool) -> range:
        made = range(self.width, self.width + count)
        self.width += count
        self.upper += [1.0] * count
        self.whole += [int(whole)] * count
        return made

    def row(self, terms: Iterable[tuple[int, float]], low: float, high: float) -> None:
        self.cells += [(len(self.low), column, factor) for column, factor in terms]
        self.low.append(low)
        self.high.append(high)

    def least(self, of: Sequence[int]) -> OptimizeResult:
        objective = np.zeros(self.width)
        objective[list(of)] = 1.0
        rows, columns, factors = zip(*self.cells, strict=True)
        matrix = coo_array((factors, (rows, columns)), shape=(len(self.low), self.width)).tocsr()
        solved = milp(
            objective,
            integrality=np.array(self.whole),
            bounds=Bounds(np.zeros(self.width), np.array(self.upper)),
            constraints=LinearConstraint(matrix, self.low, self.high),
        )
        assert solved.status == 0, solved.message
        return solved


def least_cost(sources: tuple[SourcePlug, ...], part: PartPlug, *, in_order: bool = True) -> Ranked:
    """The least cost over both latches and every order of the source plugs."""
    return min(
        least_cost_of_way(sources, part, order, latch_down=latch_down, in_order=in_order)
        for order in permutations(range(len(sources)))
        for latch_down in (False, True)
    )


def least_cost_of_way(
    sources: tuple[SourcePlug, ...],
    part: PartPlug,
    order: tuple[int, ...],
    *,
    latch_down: bool,
    in_order: bool = True,
) -> Ranked:
    """The least cost for one way to lay the source plugs side by side; sense lines are not looked at."""
    start = source_spots(sources, order, latch_down=latch_down)
    nets = {(i, cavity): net for i, plug in enumerate(sources) for cavity, net in plug.nets if net}
    contacts = sorted(start)
    demands = part.demands
    program = _Program()
    x = {
        (i, c): column
        for i in range(len(demands))
        for c, column in zip(contacts, _columns(program, contacts), strict=True)
    }
    for (i, contact), column in x.items():
        if not _may_feed(demands[i], contact, nets):
            program.upper[column] = 0.0
    y = dict(zip(contacts, program.columns(len(contacts), whole=True), strict=True))
    z = dict(zip(contacts, program.columns(len(contacts), whole=True), strict=True))
    for i in range(len(demands)):
        program.row([(x[i, c], 1.0) for c in contacts], 1, 1)
    for c in contacts:
        program.row([*((x[i, c], 1.0) for i in range(len(demands))), (y[c], -1.0)], -np.inf, 1)
        loaded = [(x[i, c], 1.0) for i, demand in enumerate(demands) if demand.carries_current]
        program.row([*loaded, (z[c], -1.0)], -np.inf, 1)
    doubles = round(program.least(list(y.values())).fun)
    program.row([(column, 1.0) for column in y.values()], 0, doubles)
    crowded = round(program.least(list(z.values())).fun)
    program.row([(column, 1.0) for column in z.values()], 0, crowded)
    pairs = _crossing_pairs(program, demands, part_spots(part), start, x, in_order=in_order)
    crossings = round(program.least(pairs).fun) if pairs else 0
    return doubles, sum(d.carries_current for d in demands) + 2 * crowded, crossings


def _columns(program: _Program, contacts: Sequence[Contact]) -> range:
    return program.columns(len(contacts), whole=True)


def _may_feed(demand: Demand, contact: Contact, nets: dict[Contact, str]) -> bool:
    if demand.pinned is not None:
        return contact == demand.pinned
    wanted = next(net for net in demand.accepts if net in nets.values())
    return nets[contact] == wanted


def _crossing_pairs(
    program: _Program,
    demands: Sequence[Demand],
    ends: dict[str, Spot],
    start: dict[Contact, Spot],
    x: dict[tuple[int, Contact], int],
    *,
    in_order: bool,
) -> list[int]:
    """Columns that are 1 when two wires cross, and the rows that make them so.

    Free wires of one net and load that lie left and right of each other at the part never gain by crossing: exchanging
    their contacts undoes the crossing, adds none with a third wire and changes no count in a contact. They are held in
    order, which keeps the search short, unless ``in_order`` is false.
    """
    places = sorted({x for x, _ in start.values()})

    def started(i: int, place: int, sign: float) -> list[tuple[int, float]]:
        return [(x[i, c], sign) for c, (across, _) in start.items() if across <= place]

    found = []
    for i, left in enumerate(demands):
        for j, right in enumerate(demands):
            if ends[left.cavity][0] >= ends[right.cavity][0]:
                continue
            alike = (left.accepts, left.carries_current) == (right.accepts, right.carries_current)
            if in_order and alike and left.pinned is None and right.pinned is None:
                for place in places[:-1]:
                    program.row([*started(i, place, 1.0), *started(j, place, -1.0)], 0, np.inf)
                continue
            crossed = program.columns(1, whole=False)[0]
            found.append(crossed)
            for place in places[:-1]:
                program.row([*started(i, place, 1.0), *started(j, place, -1.0), (crossed, 1.0)], 0, np.inf)
    return found
