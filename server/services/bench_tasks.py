"""Everything to do for a build at the bench: each wire's cut, crimps, sleeve and fitting, in two orders of work."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from heapq import heapify, heappop, heappush
from typing import Final

from server.domain.model.plan import RunPlan
from server.domain.work_order import WorkTask, order_of_work, tool_changes
from server.drawing.fill import light_face
from server.services.bench_places import plug_key
from server.services.bench_task_cuts import take_task
from server.services.bench_task_run import RunTasks
from server.services.bench_task_types import (
    KINDS,
    PlugFace,
    RunReady,
    Task,
    TaskBuild,
    TaskKind,
    TaskOperation,
    TaskRun,
    Tasks,
    ToolChanges,
)
from server.services.bench_task_words import length_words, run_words
from server.services.bench_work import Work, work_of
from server.services.opened import Opened
from server.services.test_sheets import TestState, sheet_for
from server.services.testing import state_of

OPERATIONS: Final[Mapping[TaskKind, str]] = {
    "cut": "cut",
    "crimp": "crimp",
    "sleeve": "sleeve_end",
    "fit": "insert",
    "test": "test",
}
"""Operation of the labour table that is timed with a stage."""
VIEW: Final = "plug seen from the wire side"


@dataclass(frozen=True, slots=True)
class _Kept:
    """Tasks of a run, and all that they follow from beside the plan."""

    asked: tuple[tuple[Work, ...], Task | None, TestState]
    tasks: Sequence[Task]


def tasks_of(opened: Opened) -> Tasks:
    """Everything to do for a build, and what is done of it.

    Args:
        opened: The build as it stands.

    Returns:
        The tasks. A run in which the proof found a fault has none, and nothing of it is shown.
    """
    return opened.once("bench tasks", lambda: _tasks(opened))


def _tasks(opened: Opened) -> Tasks:
    plan, catalogue = opened.plan, opened.catalogue
    work: dict[int, dict[str, Work]] = {run.number: {} for run in plan.runs}
    for item in work_of(opened):
        work[item.run][item.id] = item
    shown = [run for run in plan.runs if run.proved]
    tasks = _with_blocks([task for run in shown for task in _of_run(run, work, opened)])
    ordered, changes = _orders(tasks)
    kinds = {task.kind for task in tasks}
    return Tasks(
        build=TaskBuild(opened.build_id, plan.metered),
        ledger=opened.ledger,
        cautions=plan.cautions,
        operations={
            kind: TaskOperation(name, catalogue.labour[name].name)
            for kind, name in OPERATIONS.items()
            if kind in kinds and name in catalogue.labour
        },
        runs=tuple(_run(run, opened) for run in plan.runs),
        plugs=opened.lasting("bench faces", lambda: dict(_faces(shown, opened))),
        tasks=tuple(tasks),
        by_run=tuple(task.id for task in tasks),
        by_stage=ordered,
        changes=changes,
    )


def _of_run(run: RunPlan, work: Mapping[int, Mapping[str, Work]], opened: Opened) -> Sequence[Task]:
    """The tasks of one run, made anew only where the bench changed something about it: a tick is mostly about one."""
    own, taking, tested = work[run.number], take_task(run, opened), state_of(opened, run.id)
    asked = tuple(own.values()), taking, tested
    kept: dict[str, _Kept] = opened.lasting("bench tasks of runs", dict)
    known = kept.get(run.id)
    if known is None or known.asked != asked:
        known = kept[run.id] = _Kept(asked, _in_order(list(RunTasks(run, own, taking, opened).tasks())))
    return known.tasks


def _in_order(tasks: Sequence[Task]) -> list[Task]:
    """The tasks as given, each moved behind those that it waits for; one that waits for no task at all stays free."""
    place = {task.id: at for at, task in enumerate(tasks)}
    known = [replace(task, after=tuple(before for before in task.after if before in place)) for task in tasks]
    waits = [len(task.after) for task in known]
    behind: dict[str, list[int]] = {}
    for at, task in enumerate(known):
        for before in task.after:
            behind.setdefault(before, []).append(at)
    ready = [at for at, count in enumerate(waits) if not count]
    heapify(ready)
    order: list[Task] = []
    while ready:
        order.append(known[heappop(ready)])
        for at in behind.get(order[-1].id, ()):
            waits[at] -= 1
            if not waits[at]:
                heappush(ready, at)
    return order


def _with_blocks(tasks: Iterable[Task]) -> list[Task]:
    """What waits for a blocked task is blocked for the same reason; predecessors come first."""
    held: dict[str, Task] = {}
    for task in tasks:
        stop = next((held[ident] for ident in task.after if held[ident].state == "blocked"), None)
        if stop is not None and task.state == "open":
            held[task.id] = replace(task, state="blocked", why=stop.why, href=stop.href)
        else:
            held[task.id] = task
    return list(held.values())


def _orders(tasks: Sequence[Task]) -> tuple[tuple[str, ...], ToolChanges]:
    """Every task, done ones first, what is left in the order that changes tools least often; and how often that is.

    Things are taken from the shelf before anything else, since nothing is set up for that.
    """
    left = [task for task in sorted(tasks, key=lambda task: KINDS.index(task.kind)) if task.state != "done"]
    ids = {task.id for task in left}
    found = order_of_work([WorkTask(t.id, t.tool, tuple(a for a in t.after if a in ids)) for t in left])
    by_run = tool_changes(task.tool for task in tasks if task.id in ids)
    taking = [task.id for task in left if task.kind == "take"]
    done = [task.id for task in tasks if task.state == "done"]
    rest = [ident for ident in found.ids if ident not in set(taking)]
    return (*done, *taking, *rest), ToolChanges(by_run, found.changes, found.at_least, found.proved)


def _run(run: RunPlan, opened: Opened) -> TaskRun:
    state, why = _readiness(run, opened)
    test = bool(run.proved and run.wires and sheet_for(opened, run.id).joins)
    return TaskRun(
        id=run.id,
        number=run.number,
        title=run_words(run),
        state=state,
        why=why,
        test=f"/builds/{opened.build_id}/runs/{run.id}/test" if test else "",
        tested=test and state_of(opened, run.id) == "passed",
    )


def _readiness(run: RunPlan, opened: Opened) -> tuple[RunReady, str]:
    """Whether a run can be worked on, and why not."""
    if not run.proved:
        return "stopped", "the proof found a fault in its wiring: look at the findings before anything is made"
    if run.kind != "sleeved" and not run.wires:
        told = (f.text for f in opened.plan.findings if f.run == run.number and f.severity == "stop")
        return "stopped", next(told, "it has no wires yet")
    if run.state != "measured":
        return "waits", f"it is not measured yet ({length_words(run)}): measure it, and then cut"
    return "ready", ""


def _faces(runs: Sequence[RunPlan], opened: Opened) -> Iterator[tuple[str, PlugFace]]:
    for run in runs:
        if not run.wires:
            continue
        for at_end, plugs in ((False, run.sources), (True, run.ends)):
            for index, plug in enumerate(plugs):
                title = plug.socket if plug.at_supply_end else f"{plug.place}, {plug.socket}"
                svg = light_face(run, index, not at_end, opened.catalogue)
                yield plug_key(run, index, at_end=at_end), PlugFace(svg, title, VIEW)
