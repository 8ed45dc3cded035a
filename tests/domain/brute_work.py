"""The fewest tool changes by trying every order, sharing no code with the planner; for a handful of tasks."""

from collections.abc import Iterator, Sequence
from itertools import pairwise

Line = tuple[str, str, tuple[str, ...]]
"""Id, tool, ids of those it waits for."""


def every_order(tasks: Sequence[Line], done: tuple[Line, ...] = ()) -> Iterator[tuple[Line, ...]]:
    """All orders in which no task stands before one that it waits for."""
    if len(done) == len(tasks):
        yield done
    ids = {task[0] for task in done}
    for task in tasks:
        if task[0] not in ids and ids.issuperset(task[2]):
            yield from every_order(tasks, (*done, task))


def changes_in(order: Sequence[Line]) -> int:
    """Neighbours with different tools, once the work by hand is struck out."""
    tools = [tool for _, tool, _ in order if tool]
    return sum(one != other for one, other in pairwise(tools))


def fewest_changes(tasks: Sequence[Line]) -> int:
    """The fewest changes of all orders."""
    return min(changes_in(order) for order in every_order(tasks))
