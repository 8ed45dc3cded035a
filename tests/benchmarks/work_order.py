"""Time of the order of work and the tool changes it saves, beside working run by run on the same tasks in the same run.

One command: ``.venv/bin/python tests/benchmarks/work_order.py``. It prints; it never fails on a slow machine. Run by
run is the order in which the tasks are given: each wire from the cut to the fit, then the next one. Its time is that of
putting the tasks into an order that respects what waits for what, and counting.
"""

import sys
from graphlib import TopologicalSorter
from pathlib import Path
from random import Random

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from server.domain.work_order import WorkTask, order_of_work, tool_changes  # noqa: E402
from tests.benchmarks.wiring import seconds  # noqa: E402

WIRES = 300
DOUBLED = 0.1
"""Share of wires that meet the one before in their source's contact."""


def wires_of(rng: Random, cuts: int, parts: list[str], sources: list[str], sleeves: int) -> list[WorkTask]:
    """Five tasks for every wire, cable by cable: cut, crimp, sleeve, crimp the other end, fit.

    A cable has one kind of contact at its part, and one sleeve or none; its wires come in three gauges.
    """
    tasks: list[WorkTask] = []
    number = 0
    while number < WIRES:
        part = rng.choice(parts)
        sleeve = rng.choice(["", *(f"sleeve {i}" for i in range(sleeves))])
        for place in range(rng.choice((4, 6, 8, 8, 24))):
            gauge = rng.choice((16, 18, 18, 18, 20))
            meets = (f"sleeve/{number - 1}",) if place and rng.random() < DOUBLED else ()
            tasks += [
                WorkTask(f"cut/{number}", f"cut {gauge} {rng.randrange(cuts)}", ()),
                WorkTask(f"part/{number}", f"crimp {part} {gauge}", (f"cut/{number}",)),
                WorkTask(f"sleeve/{number}", sleeve, (f"part/{number}",)),
                WorkTask(f"source/{number}", f"crimp {rng.choice(sources)} {gauge}", (f"sleeve/{number}", *meets)),
                WorkTask(f"fit/{number}", "", (f"source/{number}",)),
            ]
            number += 1
    return tasks


def run_by_run(tasks: list[WorkTask]) -> int:
    """Tool changes in the order given, which is found again from what waits for what."""
    tool_of = {task.id: task.tool for task in tasks}
    list(TopologicalSorter({task.id: task.after for task in tasks}).static_order())
    return tool_changes(tool_of[task.id] for task in tasks)


def compare(name: str, tasks: list[WorkTask]) -> None:
    """Two lines: the order found, and run by run with its ratio in time and in changes."""
    found = order_of_work(tasks)
    ours, plain = seconds(lambda: order_of_work(tasks), 5), seconds(lambda: run_by_run(tasks), 5)
    told = "proved" if found.proved else f"at least {found.at_least}"
    tools = len({task.tool for task in tasks if task.tool})
    print(f"{name:<30}{len(tasks):5} tasks {tools:3} tools {ours * 1000:8.1f} ms {found.changes:6} changes  {told}")
    more = run_by_run(tasks)
    shown = f"{plain * 1000:8.1f} ms {more:6} changes  {more / max(1, found.changes):.1f} x the changes"
    print(f"{'  run by run':<51}{shown}, ours takes {ours / plain:.1f} x the time")


def measure_work_order() -> None:
    """Print the report; the aim is under 100 ms where contacts and sleeves are as usual."""
    for seed in range(3):
        compare(
            f"order of work, usual {seed}", wires_of(Random(seed), 4, ["A", "A", "A", "B", "C"], ["A", "A", "D"], 3)
        )
    for seed in range(3):
        # Any contact at any end: nearly every tool waits for nearly every other.
        mixed = [f"{kind}" for kind in "ABCDE"]
        compare(f"order of work, tangled {seed}", wires_of(Random(seed), 4, mixed, mixed, 4))


if __name__ == "__main__":
    measure_work_order()
