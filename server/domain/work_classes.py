"""Tasks that are done at the same moment in every order that leaves no work lying: the *classes* of the order of work.

The number of a class's tool and the set of classes that it waits for say all about it. Sets of classes are whole
numbers, bit by bit.
"""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

TRIMMED_MOST = 400
"""More classes than this are not held against each other."""


class Task(NamedTuple):
    """One task, or one class of tasks."""

    tool: int
    """-1 for work by hand."""
    after: int
    """Those that it waits for, all of which stand before it in the list."""


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

    Alike are tasks of one tool that wait for the same classes. A task that waits only for a class of its own tool
    belongs to it: it is done in the same go.

    Args:
        tasks: Each behind those that it waits for.

    Returns:
        The classes, and for each task those classes after which it is done: its own one, or, for work by hand, those
        that it waits for.
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
