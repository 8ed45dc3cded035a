"""In which order to work so that the tool on the bench is changed least often.

What counts. Work by hand (an empty tool) needs no tool and leaves the one that is set up where it is: two tasks of one
tool with work by hand between them cause no change. The first tool of the day is no change, it has to be set up anyhow.
So the changes are those places where, with the work by hand left out, two neighbours have different tools, and their
number is that of the set-ups less one.

Three facts make an exact answer possible. A *row* is the order in which tools are set up.

(1) With each set-up everything may be done that the tool can do, and work by hand at once. For if one set of finished
tasks contains another, whatever row finishes from the smaller set finishes from the larger one too. So a row decides
which tasks are done when, and it serves all of them exactly when, along every line of tasks that wait for each other,
the tools (neighbours that are equal taken as one) are found in the row in that order, with gaps: a shortest common
supersequence. That is NP-hard in general, so the search has an end.

(2) Tasks of one tool that wait for the same tasks are done together; only such classes are searched.

(3) Draw an arrow from tool to tool wherever a task of one waits for a task of the other. Tools that lie in no common
ring of arrows need not be mixed: along every line those of one ring stand together, since a line that leaves it cannot
come back. So each ring's own shortest row, one after the other along the arrows, is a shortest row of all; a tool in no
ring is set up once.

The end of the search is a number of states looked at and no moment of the clock, so the same tasks are always answered
alike. Where it is reached, the best order found is given with the bound proved until then.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from heapq import heapify, heappop, heappush

from server.domain.work_classes import Task, bits, classes_of, part_of, trimmed
from server.domain.work_search import shortest_row

LOOKS_MOST = 40_000
"""How many classes of how many states are looked at before the search ends: found by trying, about a tenth of a
second."""


@dataclass(frozen=True, slots=True)
class WorkTask:
    """One task at the bench."""

    id: str
    tool: str
    """Tool with its setting; equal ones need no change. Empty for work by hand."""
    after: tuple[str, ...]
    """Ids of the tasks that must be done before."""


@dataclass(frozen=True, slots=True)
class WorkOrder:
    """An order of all tasks."""

    ids: tuple[str, ...]
    changes: int
    """How often the tool is changed; the first set-up is none."""
    at_least: int
    """No order has fewer changes."""
    proved: bool
    """True when no order has fewer changes than this one."""


def order_of_work(tasks: Sequence[WorkTask], looks: int = LOOKS_MOST) -> WorkOrder:
    """An order of all tasks that changes tools least often.

    Among equally good rows that one is taken whose tools come first in the given order, as far as the search meets
    them. While a tool is set up, what it can do comes first, in the given order; then the first work by hand that is
    free, which may give the tool more to do. Where the given order itself is possible, the answer never has more
    changes.

    Args:
        tasks: In the order in which one would do them otherwise.
        looks: How many classes of how many states the search may look at.

    Raises:
        ValueError: an id comes twice, a task waits for one that is not there, or tasks wait for each other in a ring.
    """
    before = _before(tasks)
    given = _sorted_as_given(before)
    row, least = _row(tasks, before, given, looks)
    tool_of = [task.tool for task in tasks]
    order = min((_laid_out(tasks, before, row), given), key=lambda ids: tool_changes(tool_of[i] for i in ids))
    changes = tool_changes(tool_of[i] for i in order)
    at_least = max(0, least - 1)
    return WorkOrder(tuple(tasks[i].id for i in order), changes, at_least, changes == at_least)


def tool_changes(tools: Iterable[str]) -> int:
    """How often the tool is changed when tasks with these tools are done one after the other.

    Args:
        tools: Tool of each task; empty for work by hand, which leaves the tool set up where it is.
    """
    changes, last = 0, ""
    for tool in tools:
        if tool:
            changes += bool(last) and tool != last
            last = tool
    return changes


def _before(tasks: Sequence[WorkTask]) -> list[list[int]]:
    """For each task the places of those that it waits for."""
    place = {task.id: i for i, task in enumerate(tasks)}
    if len(place) < len(tasks):
        twice = next(task.id for i, task in enumerate(tasks) if place[task.id] != i)
        raise ValueError(f"the task {twice} is there twice")
    for task in tasks:
        for other in task.after:
            if other not in place:
                raise ValueError(f"the task {task.id} waits for {other}, which is not there")
    return [sorted({place[other] for other in task.after}) for task in tasks]


def _behind(before: Sequence[Sequence[int]]) -> list[list[int]]:
    behind: list[list[int]] = [[] for _ in before]
    for i, those in enumerate(before):
        for j in those:
            behind[j].append(i)
    return behind


def _sorted_as_given(before: Sequence[Sequence[int]]) -> list[int]:
    """The given order, each task moved behind those that it waits for."""
    behind, waits = _behind(before), [len(those) for those in before]
    ready = [i for i, count in enumerate(waits) if not count]
    order = []
    while ready:
        order.append(heappop(ready))
        for i in behind[order[-1]]:
            waits[i] -= 1
            if not waits[i]:
                heappush(ready, i)
    if len(order) < len(before):
        raise ValueError("some tasks wait for each other in a ring, so that none of them can be the first")
    return order


def _row(
    tasks: Sequence[WorkTask], before: Sequence[Sequence[int]], given: Sequence[int], looks: int
) -> tuple[list[str], int]:
    """Tools in the order in which they are set up, and how many set-ups are needed at least."""
    names = list(dict.fromkeys(task.tool for task in tasks if task.tool))
    number = {name: n for n, name in enumerate(names)}
    place = {i: n for n, i in enumerate(given)}
    plain = [Task(number.get(tasks[i].tool, -1), sum(1 << place[j] for j in before[i])) for i in given]
    classes, _ = classes_of(plain)
    row: list[str] = []
    least = 0
    for ring in _rings_in_order(classes, len(names)):
        if len(ring) == 1:
            row.append(names[ring[0]])
            least += 1
            continue
        part = part_of(classes, [i for i, task in enumerate(classes) if task.tool in ring])
        found = shortest_row(trimmed(classes_of(part)[0]), looks)
        row += [names[t] for t in found.tools]
        least += found.at_least
        looks = found.looks
    return row, least


def _rings_in_order(classes: Sequence[Task], count: int) -> list[list[int]]:
    """Tools that lie in a common ring of arrows together, along the arrows; of several next ones the lowest first."""
    ahead = [1 << t for t in range(count)]
    for task in classes:
        for i in bits(task.after):
            ahead[classes[i].tool] |= 1 << task.tool
    for via in range(count):
        for t in range(count):
            if ahead[t] >> via & 1:
                ahead[t] |= ahead[via]
    mates = [[o for o in bits(ahead[t]) if ahead[o] >> t & 1] for t in range(count)]
    rings: list[list[int]] = []
    left = (1 << count) - 1
    while left:
        first = next(t for t in bits(left) if not any(ahead[o] >> t & 1 and o not in mates[t] for o in bits(left)))
        rings.append(mates[first])
        left &= ~sum(1 << t for t in mates[first])
    return rings


def _laid_out(tasks: Sequence[WorkTask], before: Sequence[Sequence[int]], row: Sequence[str]) -> list[int]:
    """The tasks along a row: what the tool can do, else the first work by hand that is free, else the next tool."""
    behind, waits = _behind(before), [len(those) for those in before]
    ready: dict[str, list[int]] = {name: [] for name in ("", *row)}
    for i, count in enumerate(waits):
        if not count:
            ready[tasks[i].tool].append(i)
    for waiting in ready.values():
        heapify(waiting)
    order: list[int] = []
    for tool in ("", *row):
        while ready[tool] or ready[""]:
            order.append(heappop(ready[tool] or ready[""]))
            for i in behind[order[-1]]:
                waits[i] -= 1
                if not waits[i]:
                    heappush(ready[tasks[i].tool], i)
    return order
