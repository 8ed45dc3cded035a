"""The exact search behind the order of work: the shortest row of tools in which every line of tasks is served."""

from collections.abc import Sequence
from dataclasses import dataclass
from heapq import heappop, heappush

import numpy as np
from numpy.typing import NDArray

from server.domain.work_classes import Task, bits

NARROW, WIDE = 2, 6
"""States kept at each set-up by the quick look and by the thorough one; both found by trying."""
CELLS_AT_ONCE = 500_000
"""Numbers that are held at a time when states are judged."""
CELLS_MOST = 8_000_000
"""Numbers that are looked at to find a short row, in all."""


@dataclass(frozen=True, slots=True)
class Row:
    """Tools in the order in which they are set up."""

    tools: tuple[int, ...]
    at_least: int
    """No row is shorter."""
    looks: int
    """What is left of the states that may be looked at."""


class Knot:
    """Tools that wait for each other in a ring, with their classes."""

    def __init__(self, classes: Sequence[Task]) -> None:
        """Work out what follows each class, and how often its tool is needed from there on.

        Args:
            classes: Each behind those that it waits for.
        """
        self.all = (1 << len(classes)) - 1
        self.size = len(classes)
        self.tools = sorted({task.tool for task in classes})
        self.of_tool = {
            t: [(1 << i, task.after) for i, task in enumerate(classes) if task.tool == t] for t in self.tools
        }
        self.mask = {t: sum(bit for bit, _ in members) for t, members in self.of_tool.items()}
        needed = np.zeros((len(classes), len(self.tools)), dtype=np.int16)
        column = {t: n for n, t in enumerate(self.tools)}
        for i in reversed(range(len(classes))):
            own = column[classes[i].tool]
            needed[i, own] = max(needed[i, own], 1)
            for j in bits(classes[i].after):
                line = needed[i].copy()
                line[column[classes[j].tool]] += classes[j].tool != classes[i].tool
                line[column[classes[j].tool]] *= line[column[classes[j].tool]] > 0
                np.maximum(needed[j], line, out=needed[j])
        self._by_tool = [i for t in self.tools for i in bits(self.mask[t])]
        self._needed = needed[self._by_tool]
        self.cells = needed.size
        """Numbers that are looked at when one state is judged."""
        self._first = np.cumsum([0, *(len(self.of_tool[t]) for t in self.tools)][:-1])

    def judged(self, states: Sequence[int]) -> list[int]:
        """Set-ups that are surely still needed: what the longest line of each tool asks, and one for every ring.

        Were each tool set up only as often as its own longest line asks, its next set-up would have to serve the tasks
        that begin such lines. It then lies after the next set-up of every tool that has a task before one of those. In
        a ring of tools that cannot be, so one of them is set up once more; rings without a common tool add up.

        Args:
            states: For each the classes that are done.
        """
        found: list[int] = []
        at_once = max(1, CELLS_AT_ONCE // self.cells)
        for start in range(0, len(states), at_once):
            found += self._judged(states[start : start + at_once])
        return found

    def _judged(self, states: Sequence[int]) -> list[int]:
        width = (self.size + 7) // 8
        raw = np.frombuffer(b"".join((self.all & ~done).to_bytes(width, "little") for done in states), dtype=np.uint8)
        left = np.unpackbits(raw.reshape(-1, width), axis=1, bitorder="little")[:, self._by_tool]
        most = np.maximum.reduceat(left[:, :, None] * self._needed, self._first, axis=1)
        times = most.max(axis=1)
        # From the tool of a row to that of a column: the one has a task before the beginning of a longest line.
        arrows = (most == times[:, None, :]) & (times[:, None, :] > 0)
        arrows[:, range(len(self.tools)), range(len(self.tools))] = False
        follows, leads = _numbers(arrows), _numbers(arrows.transpose(0, 2, 1))
        return [int(t) + rings(*both) for t, *both in zip(times.sum(axis=1), follows, leads, strict=True)]

    def steps(self, done: int) -> list[tuple[int, int]]:
        """The tools worth setting up next, with all that is done then.

        All that the tool can do is done, since work that is done never stands in the way. A tool that can do all that
        is left for it is the only one worth looking at: it is needed once more anyhow, and nothing is lost by having it
        now.

        Args:
            done: Classes done.
        """
        found = []
        for t in self.tools:
            after = done
            for bit, before in self.of_tool[t]:
                if not after & bit and before & after == before:
                    after |= bit
            if after != done:
                if not self.mask[t] & ~after:
                    return [(t, after)]
                found.append((t, after))
        return found


def _numbers(arrows: NDArray[np.bool_]) -> list[list[int]]:
    """The columns marked in each row, bit by bit."""
    packed = np.packbits(arrows, axis=2, bitorder="little")
    return [[int.from_bytes(row.tobytes(), "little") for row in state] for state in packed]


def rings(follows: Sequence[int], leads: Sequence[int]) -> int:
    """How many rings without a common member are found, pairs first.

    Args:
        follows: What must lie after each member, bit by bit.
        leads: What must lie before each member.
    """
    left, found = (1 << len(follows)) - 1, 0
    while left := _in_rings(follows, leads, left):
        pairs = [(pair.bit_count(), n, pair) for n in bits(left) if (pair := follows[n] & leads[n] & left)]
        if pairs:
            # The member with the fewest partners first, so that more pairs are found.
            _, n, pair = min(pairs)
            ring = 1 << n | pair & -pair
        else:
            ring = _ring(follows, left, left & -left)
        found += bool(ring)
        left &= ~(ring or left & -left)
    return found


def _in_rings(follows: Sequence[int], leads: Sequence[int], left: int) -> int:
    """Without members that nothing precedes or nothing follows, again and again."""
    before = -1
    while left != before:
        before = left
        for n in bits(left):
            if not (follows[n] & left and leads[n] & left):
                left &= ~(1 << n)
    return left


def _ring(follows: Sequence[int], left: int, start: int) -> int:
    """Members of a shortest ring through one of them; none where there is no ring."""
    layers, seen = [start], 0
    while layers[-1]:
        ahead = 0
        for n in bits(layers[-1]):
            ahead |= follows[n]
        if ahead & start:
            break
        layers.append(ahead & left & ~seen)
        seen |= ahead
    else:
        return 0
    ring = target = start
    for layer in reversed(layers[1:]):
        target = 1 << next(n for n in bits(layer) if follows[n] & target)
        ring |= target
    return ring


def shortest_row(classes: Sequence[Task], looks: int) -> Row:
    """The shortest row of tools that does all classes, as far as the states looked at prove it.

    Args:
        classes: Each behind those that it waits for; their tools wait for each other in a ring.
        looks: How many classes of how many states may be looked at, in all.
    """
    knot = Knot(classes)
    floor = knot.judged([0])[0]
    row = _beam(knot, NARROW)
    if len(row) > floor:
        row, floor, looks = _search(knot, row, floor, looks)
        if len(row) > floor:
            row = min(row, _beam(knot, WIDE), key=len)
    return Row(row, floor, looks)


_Trail = tuple["_Trail", int] | None


def _read(trail: _Trail) -> tuple[int, ...]:
    row = []
    while trail:
        trail, tool = trail
        row.append(tool)
    return tuple(reversed(row))


def _beam(knot: Knot, width: int) -> tuple[int, ...]:
    """A short row: after every set-up only the states that promise most are kept.

    Where the tasks are so many that judging takes too long, the rest is done by the tool that does most in a go.
    """
    cells = CELLS_MOST
    states: dict[int, _Trail] = {0: None}
    while knot.all not in states:
        following: dict[int, _Trail] = {}
        for done, trail in states.items():
            for tool, after in knot.steps(done):
                following.setdefault(after, (trail, tool))
        judged = knot.judged(list(following)) if cells > 0 else [0] * len(following)
        least = dict(zip(following, judged, strict=True))
        # Sorting is stable: of equally good states the one found first stays.
        kept = sorted(following, key=lambda done: (least[done], -done.bit_count()))[: width if cells > 0 else 1]
        states = {done: following[done] for done in kept}
        cells -= len(following) * knot.cells
    return _read(states[knot.all])


def _search(knot: Knot, row: tuple[int, ...], floor: int, looks: int) -> tuple[tuple[int, ...], int, int]:
    """A shorter row than one known, by the best bound first (A*); with the bound proved and the looks left.

    Of equal bounds the state further on goes first, then the one found first.
    """
    queue: list[tuple[int, int, int, int, _Trail]] = [(floor, 0, 0, 0, None)]
    nearest = {0: 0}
    number = 0
    while queue:
        known, minus, _, done, trail = heappop(queue)
        if nearest[done] < -minus:
            continue
        if done == knot.all:
            return _read(trail), known, looks
        floor = max(floor, known)
        if looks < knot.size:
            return row, floor, looks
        used = 1 - minus
        steps = [(tool, after) for tool, after in knot.steps(done) if used < nearest.get(after, used + 1)]
        looks -= knot.size * (1 + len(steps))
        for (tool, after), least in zip(steps, knot.judged([after for _, after in steps]), strict=True):
            nearest[after] = used
            number += 1
            if (total := max(known, used + least)) < len(row):
                heappush(queue, (total, -used, number, after, (trail, tool)))
    return row, len(row), looks
