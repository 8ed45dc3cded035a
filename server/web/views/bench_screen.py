"""The screen at the bench: the frame that its script fills, and the plain list of tasks that serves without one."""

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from uuid import UUID, uuid5

from server.drawing.paint import pattern_store
from server.services.bench_task_types import KINDS, Task, TaskColour, TaskKind, Tasks
from server.services.opened import Opened
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
STAMP = "Measure the supply first."


@dataclass(frozen=True, slots=True)
class Patterns:
    """Hatched colours that the page's bands refer to."""

    svg: str


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
    label: str
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
    shown: str
    """Which list this is, to come back to it."""
    told: str
    """What the last tick came to."""
    refused: bool
    runs: tuple[PlainLink, ...]
    stages: tuple[PlainLink, ...]
    now: tuple[PlainTask, ...]
    after: tuple[PlainTask, ...]
    blocked: tuple[PlainTask, ...]
    done: tuple[PlainTask, ...]


@dataclass(frozen=True, slots=True)
class BenchPage:
    """The whole page."""

    build_id: str
    name: str
    metered: bool
    stamp: str
    cautions: tuple[str, ...]
    back_href: str
    tasks_href: str
    ticks_href: str
    worker_href: str
    sheets: tuple[str, ...]
    modules: tuple[str, ...]
    patterns: Patterns
    plain: PlainList


def bench_page(
    opened: Opened, tasks: Tasks, shown: str, nonce: str, files: tuple[Sequence[str], Sequence[str]], told: str, *,
    refused: bool,
) -> BenchPage:  # fmt: skip
    """The page of a build.

    Args:
        opened: The build as it stands.
        tasks: Everything to do.
        shown: Which plain list: ``run:<id>`` or ``stage:<kind>``; anything else shows the first run with work left.
        nonce: Fresh for this page, so that each of its buttons counts once.
        files: Addresses of its stylesheets and of its scripts.
        told: What the last plain tick came to, in words.
        refused: Whether that was refused.
    """
    return BenchPage(
        build_id=opened.build_id,
        name=opened.build.name,
        metered=opened.plan.metered,
        stamp=STAMP,
        cautions=tasks.cautions,
        back_href=f"/builds/{opened.build_id}/ledger",
        tasks_href=f"/bench/{opened.build_id}/tasks.json",
        ticks_href=f"/bench/{opened.build_id}/ticks",
        worker_href="/bench/worker.js",
        sheets=tuple(files[0]),
        modules=tuple(files[1]),
        patterns=Patterns(pattern_store("bench", opened.catalogue.colours, opened.catalogue)),
        plain=_plain(opened, tasks, shown, nonce, told, refused=refused),
    )


def tick_id(nonce: UUID, what: str) -> str:
    """The id of what a button of a page sends: the same however often it is pressed, and no other button's.

    Args:
        nonce: The page's own.
        what: What the button sends.
    """
    return str(uuid5(nonce, what))


def _plain(opened: Opened, tasks: Tasks, shown: str, nonce: str, told: str, *, refused: bool) -> PlainList:
    kind, _, name = shown.partition(":")
    run = next((run for run in tasks.runs if kind == "run" and run.id == name), None)
    stage = next((stage for stage in KINDS if kind == "stage" and stage == name), None)
    if run is None and stage is None:
        left = {task.run for task in tasks.tasks if task.state == "open"}
        run = next((run for run in tasks.runs if run.id in left), next(iter(tasks.runs), None))
    chosen = [
        task for task in _in_order(tasks, staged=stage is not None) if _belongs(task, stage, run.id if run else "")
    ]
    states = {task.id: task.state for task in tasks.tasks}
    titles = {task.id: task.title for task in tasks.tasks}

    def missing(task: Task) -> list[str]:
        return [before for before in task.after if states.get(before, "done") != "done"]

    def first(task: Task) -> str:
        return "; ".join(f"first: {titles[before]}" for before in missing(task))

    def made(
        wanted: Callable[[Task], bool], why: Callable[[Task], str], send: Callable[[Task], str]
    ) -> tuple[PlainTask, ...]:
        return tuple(_task(task, why(task), send(task)) for task in chosen if wanted(task))

    return PlainList(
        heading=f"Run {run.number}, {run.title}" if run else f"{STAGES[stage]}, all runs" if stage else "Tasks",
        action=f"/bench/{opened.build_id}/tick",
        nonce=nonce,
        shown=f"run:{run.id}" if run else f"stage:{stage}",
        told=told,
        refused=refused,
        runs=tuple(
            PlainLink(
                f"{one.number} {one.title}", bench_href(opened.build_id, one.id), one is run, _left(tasks, "", one.id)
            )
            for one in tasks.runs
        ),
        stages=tuple(
            PlainLink(STAGES[one], f"{bench_href(opened.build_id)}?stage={one}", one == stage, _left(tasks, one, ""))
            for one in KINDS
            if any(task.kind == one for task in tasks.tasks)
        ),
        now=made(lambda task: task.state == "open" and not missing(task), lambda _: "", _do),
        after=made(lambda task: task.state == "open" and bool(missing(task)), first, lambda _: ""),
        blocked=made(lambda task: task.state == "blocked", lambda task: task.why, lambda _: ""),
        done=made(lambda task: task.state == "done", lambda _: "", _undo),
    )


def _in_order(tasks: Tasks, *, staged: bool) -> list[Task]:
    known = {task.id: task for task in tasks.tasks}
    return [known[ident] for ident in (tasks.by_stage if staged else tasks.by_run) if ident in known]


def _belongs(task: Task, stage: TaskKind | None, run_id: str) -> bool:
    return task.kind == stage if stage else task.run == run_id


def _left(tasks: Tasks, stage: TaskKind | str, run_id: str) -> str:
    chosen = [task for task in tasks.tasks if (task.kind == stage if stage else task.run == run_id)]
    left = sum(1 for task in chosen if task.state != "done")
    return f"{left} left" if left else "done"


def _do(task: Task) -> str:
    return json.dumps({"task": task.id, "tick": dict(task.tick)}, sort_keys=True) if task.tick is not None else ""


def _undo(task: Task) -> str:
    return json.dumps({"task": task.id, "entry": task.entry}, sort_keys=True) if task.entry and task.tick else ""


def _task(task: Task, why: str, send: str) -> PlainTask:
    seen = tuple(f"cavity {plug.cavity}, {plug.net}: {plug.seen}" for plug in task.plugs if plug.seen not in task.lines)
    return PlainTask(
        title=task.title,
        label=task.label,
        colour=task.colour,
        paint=f"url(#bench-wire-{task.colour.code}) {task.colour.css}" if task.colour else "",
        facts=tuple(dict.fromkeys(fact for fact in (why, task.tool_words, *task.lines, *seen) if fact)),
        press=PRESS[task.kind],
        send=send,
        href=task.href,
    )
