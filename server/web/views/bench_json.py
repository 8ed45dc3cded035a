"""The tasks of the bench as JSON, for the screen at the bench."""

import json
from collections.abc import Mapping

from server.services.bench_task_types import Task, TaskRun, Tasks
from server.services.bench_tick_types import TickResult

Json = Mapping[str, object]


def tasks_json(tasks: Tasks) -> str:
    """Everything that the screen needs, as one JSON object.

    Args:
        tasks: The tasks.
    """
    build, changes = tasks.build, tasks.changes
    told: Json = {
        "build": {
            "id": build.id,
            "name": build.name,
            "client": build.client,
            "revision": build.revision,
            "metered": build.metered,
        },
        "ledger": tasks.ledger,
        "cautions": tasks.cautions,
        "operations": {kind: {"id": of.id, "name": of.name} for kind, of in tasks.operations.items()},
        "runs": [_run(run) for run in tasks.runs],
        "plugs": {key: {"svg": face.svg, "title": face.title, "view": face.view} for key, face in tasks.plugs.items()},
        "tasks": [_task(task) for task in tasks.tasks],
        "byRun": tasks.by_run,
        "byStage": tasks.by_stage,
        "changes": {
            "byRun": changes.by_run,
            "byStage": changes.by_stage,
            "atLeast": changes.at_least,
            "proved": changes.proved,
        },
    }
    return _compact(told)


def results_json(results: tuple[TickResult, ...], ledger: int) -> str:
    """What became of some ticks, as one JSON object.

    Args:
        results: One for each tick, in the order sent.
        ledger: Last number of the ledger.
    """
    each = [{"id": r.id, "state": r.state, "message": r.message, "entries": r.entries} for r in results]
    return _compact({"results": each, "ledger": ledger})


def _run(run: TaskRun) -> Json:
    return {
        "id": run.id,
        "number": run.number,
        "title": run.title,
        "state": run.state,
        "why": run.why,
        "length": run.length,
        "from": run.start,
        "to": run.goal,
        "latch": run.latch,
        "card": run.card,
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
