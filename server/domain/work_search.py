"""The exact search behind the order of work: the shortest row of tools in which every line of tasks is served.

Tasks are reduced to *classes*, which are done at the same moment in every order that leaves no work lying. The number of
a class's tool and the set of classes that it waits for say all about it. Sets of classes are whole numbers, bit by bit.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from heapq import heappop, heappush

import numpy as np
from numpy.typing import NDArray

NARROW, WIDE = 6, 60
"""States kept at each set-up by the quick look and by the thorough one. From memory: both found by trying."""
CELLS_AT_ONCE = 500_000
"""Numbers that are held at a time when states are judged."""
TRIMMED_MOST = 400
"""More classes than this are not held against each other."""


@dataclass(frozen=True, slots=True)
class Task:
    """One task, or one class of tasks."""

    tool: int
    """-1 for work by hand."""
    after: int
    """Those that it waits for, all of which stand before it in the list."""


@dataclass(frozen=True, slots=True)
class Row:
    """Tools in the order in which they are set up."""

    tools: tuple[int, ...]
    at_least: int
    """No row is shorter."""
    looks: int
    """What is left of the states that may be looked at."""


def bits(members: int) -> Iterator[int]:
    """The members of a set, lowest first.

    Args:
        members: The set, bit by bit.
    """
    while members:
        lowest = members & -members
        yield lowest.bit_length() - 1
        members ^= lowest


def classes_of(tasks: Sequence[Task]) -> tuple[list[Task], list[int]]:
    """Tasks that are alike as one, and what is done by hand taken out.

    Alike are tasks of one tool that wait for the same classes. A task that waits only for a class of its own tool belongs
    to it: it is done in the same go.

    Args:
        tasks: Each behind those that it waits for.

    Returns:
        The classes, and for each task those classes after which it is done: its own one, or, for work by hand, those that
        it waits for.
    """
    classes: list[Task] = []
    before: list[int] = []
    stands: list[int] = []
    known: dict[Task, int] = {}
    for task in tasks:
        front = 0
        for i in bits(task.after):
            front |= stands[i]
        for c in bits(front):
            front &= ~before[c]
        own = Task(task.tool, front)
        if task.tool < 0 or (front and not front & (front - 1) and classes[front.bit_length() - 1].tool == task.tool):
            stands.append(front)
            continue
        if own not in known:
            known[own] = len(classes)
            earlier = front
            for c in bits(front):
                earlier |= before[c]
            classes.append(own)
            before.append(earlier)
        stands.append(1 << known[own])
    return classes, stands


def trimmed(classes: Sequence[Task]) -> list[Task]:
    """Without those that are always done when another class of their tool is, and on which nothing waits.

    One class is never done later than another of its tool when all that it waits for are never done later than
    something that the other one waits for.

    Args:
        classes: Each behind those that it waits for.
    """
    if len(classes) > TRIMMED_MOST:
        return list(classes)
    no_later: list[int] = []
    for i, task in enumerate(classes):
        low = 0
        for c in bits(task.after):
            low |= no_later[c]
        alike = [j for j, other in enumerate(classes) if other.tool == task.tool and not other.after & ~low]
        no_later.append(low | 1 << i | sum(1 << j for j in alike if j != i))
    kept, awaited = set(range(len(classes))), 0
    for i in reversed(range(len(classes))):
        mine = 1 << i
        # Of two that are done together one stays, so only those that stayed themselves may cover another.
        covered = any(no_later[j] & mine for j in kept if j != i and classes[j].tool == classes[i].tool)
        if covered and not awaited & mine:
            kept.remove(i)
        else:
            awaited |= classes[i].after
    return part_of(classes, sorted(kept))


def part_of(tasks: Sequence[Task], chosen: Sequence[int]) -> list[Task]:
    """Some of the tasks, with what they wait for among themselves.

    Args:
        tasks: All.
        chosen: Places of those wanted, ascending.
    """
    place = {i: n for n, i in enumerate(chosen)}
    return [Task(tasks[i].tool, sum(1 << place[j] for j in bits(tasks[i].after) if j in place)) for i in chosen]


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
        self.of_tool = {t: [(1 << i, task.after) for i, task in enumerate(classes) if task.tool == t] for t in self.tools}
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
        self._first = np.cumsum([0, *(len(self.of_tool[t]) for t in self.tools)][:-1])

    def judged(self, states: Sequence[int]) -> list[int]:
        """Set-ups that are surely still needed: what the longest line of each tool asks, and one for every ring.

        Were each tool set up only as often as its own longest line asks, its next set-up would have to serve the tasks
        that begin such lines. It then lies after the next set-up of every tool that has a task before one of those. In a
        ring of tools that cannot be, so one of them is set up once more; rings without a common tool add up.

        Args:
            states: For each the classes that are done.
        """
        found: list[int] = []
        at_once = max(1, CELLS_AT_ONCE // self._needed.size)
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

        All that the tool can do is done, since work that is done never stands in the way. A tool that can do all that is
        left for it is the only one worth looking at: it is needed once more anyhow, and nothing is lost by having it now.

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
        row, floor, looks = _search(knot, row, looks)
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
    """A short row: after every set-up only the states that promise most are kept."""
    states: dict[int, _Trail] = {0: None}
    while knot.all not in states:
        following: dict[int, _Trail] = {}
        for done, trail in states.items():
            for tool, after in knot.steps(done):
                following.setdefault(after, (trail, tool))
        least = dict(zip(following, knot.judged(list(following)), strict=True))
        # Sorting is stable: of equally good states the one found first stays.
        kept = sorted(following, key=lambda done: (least[done], -done.bit_count()))[:width]
        states = {done: following[done] for done in kept}
    return _read(states[knot.all])


def _search(knot: Knot, row: tuple[int, ...], looks: int) -> tuple[tuple[int, ...], int, int]:
    """A shorter row than one known, by the best bound first (A*); with the bound proved and the looks left.

    Of equal bounds the state further on goes first, then the one found first.
    """
    queue: list[tuple[int, int, int, int, _Trail]] = [(0, 0, 0, 0, None)]
    nearest = {0: 0}
    number, floor = 0, 0
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
