"""The plain list of the bench screen: every task with a button of its own, for a browser without script."""

import json
from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID, uuid5

from server.services.bench_task_types import KINDS, Task, TaskColour, TaskKind, TaskRun, Tasks
from server.web.views.bench_address import bench_href

PRESS: dict[TaskKind, str] = {
    "take": "Taken",
    "cut": "Cut",
    "crimp": "Crimped",
    "sleeve": "Sleeved",
    "fit": "Fitted",
    "test": "Tested",
}
STAGES: dict[TaskKind, str] = {
    "take": "Take",
    "cut": "Cut",
    "crimp": "Crimp",
    "sleeve": "Sleeve",
    "fit": "Fit",
    "test": "Test",
}


@dataclass(frozen=True, slots=True)
class Asked:
    """What the address, and the tick before, ask of the list."""

    shown: str
    """``run:<id>`` or ``stage:<kind>``; anything else shows the first run with work left."""
    nonce: str
    """Fresh for this page, so that each of its buttons counts once."""
    ticked: str = ""
    """Id of the task that was ticked the moment before; all of it need not be done by that."""
    undone: str = ""
    """Id of the task that was taken back the moment before."""
    again: str = ""
    """Id of the task whose button had been pressed before, so that nothing was done now."""
    refused: str = ""
    """Why it was not."""


@dataclass(frozen=True, slots=True)
class PlainLink:
    """One way to look at the list: a run or a stage."""

    name: str
    href: str
    current: bool
    left: str
    """How much is left of it, in words."""


@dataclass(frozen=True, slots=True)
class PlainTask:
    """One task of the plain list."""

    title: str
    colour: TaskColour | None
    paint: str
    """Reference to the hatched colour, with the bare one behind it."""
    facts: tuple[str, ...]
    press: str
    send: str
    """What its button sends; empty where a tick does not do it."""
    href: str


@dataclass(frozen=True, slots=True)
class PlainList:
    """The tasks of one run or stage: what can be done now, what comes after it, what waits, what is done."""

    heading: str
    action: str
    nonce: str
    told: str
    """What the last tick came to."""
    refused: str
    """Why it was not written."""
    shown: str
    """Which list this is, to come back to it."""
    runs: tuple[PlainLink, ...]
    stages: tuple[PlainLink, ...]
    now: tuple[PlainTask, ...]
    after: tuple[PlainTask, ...]
    blocked: tuple[PlainTask, ...]
    done: tuple[PlainTask, ...]


def tick_id(nonce: UUID, what: str) -> str:
    """The id of what a button of a page sends: the same however often it is pressed, and no other button's.

    Args:
        nonce: The page's own.
        what: What the button sends.
    """
    return str(uuid5(nonce, what))


def plain_list(tasks: Tasks, asked: Asked) -> PlainList:
    """The list that was asked for.

    Args:
        tasks: Everything to do for a build.
        asked: Which list, and what to say above it.
    """
    stage = next((kind for kind in KINDS if asked.shown == f"stage:{kind}"), None)
    run = None if stage else _run(tasks, asked.shown.removeprefix("run:"))
    chosen = _chosen(tasks, stage, run)
    missing = _missing(tasks)
    free = [task for task in chosen if task.state == "open" and not missing[task.id]]
    bound = [task for task in chosen if task.state == "open" and missing[task.id]]
    return PlainList(
        heading=f"Run {run.number}, {run.title}" if run else f"{STAGES[stage]}, all runs" if stage else "Tasks",
        action=f"/bench/{tasks.build.id}/tick",
        nonce=asked.nonce,
        told=_told(tasks, asked),
        refused=asked.refused,
        shown=f"stage:{stage}" if stage else f"run:{run.id if run else ''}",
        runs=_runs(tasks, run),
        stages=_stages(tasks, stage),
        now=tuple(_task(task, "", _do(task)) for task in free),
        after=tuple(_task(task, "; ".join(f"first: {title}" for title in missing[task.id])) for task in bound),
        blocked=tuple(_task(task, task.why) for task in chosen if task.state == "blocked"),
        done=tuple(_task(task, "", _undo(task)) for task in chosen if task.state == "done"),
    )


def _run(tasks: Tasks, wanted: str) -> TaskRun | None:
    """The run that was asked for, or the first with work left."""
    left = {task.run for task in tasks.tasks if task.state == "open"}
    named = (run for run in tasks.runs if run.id == wanted)
    return next(named, next((run for run in tasks.runs if run.id in left), next(iter(tasks.runs), None)))


def _chosen(tasks: Tasks, stage: TaskKind | None, run: TaskRun | None) -> list[Task]:
    known = {task.id: task for task in tasks.tasks}
    if stage:
        return [known[ident] for ident in tasks.by_stage if known[ident].stage == stage]
    return [known[ident] for ident in tasks.by_run if run and known[ident].run == run.id]


def _missing(tasks: Tasks) -> dict[str, tuple[str, ...]]:
    """Titles of what has to be done directly before each task, and is not."""
    left = {task.id: task.title for task in tasks.tasks if task.state != "done"}
    return {task.id: tuple(left[before] for before in task.after if before in left) for task in tasks.tasks}


def _told(tasks: Tasks, asked: Asked) -> str:
    task = next((task for task in tasks.tasks if task.id in (asked.ticked, asked.undone, asked.again)), None)
    if task is None or (task.id == asked.again and task.state != "done"):
        return ""
    return f"{'Taken back' if task.id == asked.undone else 'Ticked'}: {task.title}."


def _runs(tasks: Tasks, current: TaskRun | None) -> tuple[PlainLink, ...]:
    return tuple(
        PlainLink(
            f"{run.number} {run.title}",
            bench_href(tasks.build.id, run.id),
            run is current,
            _left(task for task in tasks.tasks if task.run == run.id),
        )
        for run in tasks.runs
    )


def _stages(tasks: Tasks, current: TaskKind | None) -> tuple[PlainLink, ...]:
    used = {task.stage for task in tasks.tasks}
    return tuple(
        PlainLink(
            STAGES[stage],
            f"{bench_href(tasks.build.id)}?stage={stage}",
            stage == current,
            _left(task for task in tasks.tasks if task.stage == stage),
        )
        for stage in KINDS
        if stage in used
    )


def _left(tasks: Iterable[Task]) -> str:
    left = sum(1 for task in tasks if task.state != "done")
    return f"{left} left" if left else "done"


def _do(task: Task) -> str:
    return json.dumps({"task": task.id, "tick": dict(task.tick)}, sort_keys=True) if task.tick is not None else ""


def _undo(task: Task) -> str:
    return json.dumps({"task": task.id, "entry": task.entry}, sort_keys=True) if task.entry else ""


def _task(task: Task, why: str, send: str = "") -> PlainTask:
    seen = [f"cavity {plug.cavity}, {plug.net}: {plug.seen}" for plug in task.plugs]
    places = {plug.seen for plug in task.plugs}
    lines = [line for line in task.lines if line not in places]
    return PlainTask(
        title=task.title,
        colour=task.colour,
        paint=f"url(#bench-wire-{task.colour.code}) {task.colour.css}" if task.colour else "",
        facts=tuple(dict.fromkeys(fact for fact in (why, task.tool_words, *lines, *seen) if fact)),
        press=PRESS[task.kind],
        send=send,
        href=task.href,
    )
