"""The tasks of the bench as JSON, for the screen at the bench."""

import json
from collections.abc import Callable, Mapping
from typing import TypeVar

from server.services.bench_task_types import PlugFace, Task, TaskRun, Tasks
from server.services.bench_tick_types import TickResult

Json = Mapping[str, object]
T = TypeVar("T")


class Texts:
    """Texts that were made before, kept while what they tell is the same: a tick changes few of the tasks."""

    def __init__(self) -> None:
        """Nothing is told yet."""
        self._known: dict[str, tuple[object, str]] = {}

    def of(self, name: str, thing: T, tell: Callable[[T], Json]) -> str:
        """The JSON text of a thing.

        Args:
            name: Tells it from the others.
            thing: What is told of, compared with what it was the last time.
            tell: Makes what becomes its text.
        """
        known = self._known.get(name)
        if known is None or known[0] != thing:
            known = self._known[name] = thing, _compact(tell(thing))
        return known[1]


def tasks_json(tasks: Tasks, texts: Texts) -> str:
    """Everything that the screen needs, as one JSON object.

    Args:
        tasks: The tasks.
        texts: What was told of the same revision before.
    """
    build, changes = tasks.build, tasks.changes
    told: Json = {
        "build": {"id": build.id, "metered": build.metered},
        "ledger": tasks.ledger,
        "cautions": tasks.cautions,
        "operations": {kind: {"id": of.id, "name": of.name} for kind, of in tasks.operations.items()},
        "runs": [_run(run) for run in tasks.runs],
        "byRun": tasks.by_run,
        "byStage": tasks.by_stage,
        "changes": {
            "byRun": changes.by_run,
            "byStage": changes.by_stage,
            "atLeast": changes.at_least,
            "proved": changes.proved,
        },
    }
    each = ",".join(texts.of(task.id, task, _task) for task in tasks.tasks)
    return f'{_compact(told)[:-1]},"plugs":{texts.of("", tasks.plugs, _plugs)},"tasks":[{each}]}}'


def results_json(results: tuple[TickResult, ...], ledger: int) -> str:
    """What became of some ticks, as one JSON object.

    Args:
        results: One for each tick, in the order sent.
        ledger: Last number of the ledger.
    """
    each = [{"id": r.id, "state": r.state, "message": r.message, "entries": r.entries} for r in results]
    return _compact({"results": each, "ledger": ledger})


def _plugs(plugs: Mapping[str, PlugFace]) -> Json:
    return {key: {"svg": face.svg, "title": face.title, "view": face.view} for key, face in plugs.items()}


def _run(run: TaskRun) -> Json:
    return {
        "id": run.id,
        "number": run.number,
        "title": run.title,
        "state": run.state,
        "why": run.why,
        "test": run.test,
        "tested": run.tested,
    }


def _task(task: Task) -> Json:
    colour = task.colour
    return {
        "id": task.id,
        "kind": task.kind,
        "run": task.run,
        "label": task.label,
        "title": task.title,
        "big": task.big,
        "colour": {"code": colour.code, "name": colour.name, "css": colour.css} if colour else None,
        "lines": task.lines,
        "tool": task.tool,
        "toolWords": task.tool_words,
        "times": task.times,
        "stage": task.stage,
        "after": task.after,
        "plugs": [{"key": at.key, "cavity": at.cavity, "net": at.net, "seen": at.seen} for at in task.plugs],
        "state": task.state,
        "why": task.why,
        "href": task.href,
        "tick": dict(task.tick) if task.tick is not None else None,
        "entry": task.entry,
    }


def _compact(told: Json) -> str:
    return json.dumps(told, ensure_ascii=False, separators=(",", ":"))
