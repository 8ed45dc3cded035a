"""How far the work at the bench is, in words and bars: by run, by material, by stage."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from server.domain.model.bench import STAGES, Stage
from server.domain.model.plan import ChangeState, Plan
from server.services.bench_work import Work, work_of
from server.services.opened import Opened
from server.web.views import formats

CHANGES: dict[ChangeState, str] = {
    "too_short": "too short",
    "not_needed": "not needed",
    "trim": "to trim",
}
"""Changes that ask for something, in the words of the rail."""


@dataclass(frozen=True, slots=True)
class StageCount:
    """How many of some pieces have come through one stage."""

    name: str
    done: int
    total: int
    words: str
    state: str
    """``done``, ``part``, ``open``, or ``none`` where nothing goes through the stage."""
    width: str
    """Of the bar, out of 100."""


def stage_count(name: str, done: int, total: int) -> StageCount:
    """One stage in numbers.

    Args:
        name: What the stage is called.
        done: How many have come through it.
        total: How many go through it.
    """
    if not total:
        return StageCount(name, 0, 0, "none", "none", "0")
    state = "done" if done == total else "part" if done else "open"
    return StageCount(name, done, total, f"{done} of {total}", state, formats.number(100 * done / total))


def counts_of(work: Sequence[Work]) -> tuple[StageCount, ...]:
    """Wires cut, sleeve and tube cut, and every stage of the work, in its order.

    Args:
        work: The pieces that are counted.
    """
    wires = [item for item in work if item.material.kind == "wire"]
    others = [item for item in work if item.material.kind != "wire"]
    return (
        stage_count("wires cut", _cut(wires), len(wires)),
        stage_count("sleeve, tube cut", _cut(others), len(others)),
        *(_stage(stage, wires) for stage in STAGES),
    )


def _cut(work: Iterable[Work]) -> int:
    return sum(1 for item in work if item.state == "cut")


def _stage(stage: Stage, wires: Sequence[Work]) -> StageCount:
    taking = [item for item in wires if stage in item.stages]
    return stage_count(stage, sum(1 for item in taking if stage in item.done_stages()), len(taking))


def finished(work: Sequence[Work]) -> bool:
    """Whether everything is cut and has come through every stage that it goes through.

    Args:
        work: The pieces.
    """
    return all(item.finished for item in work)


def work_line(opened: Opened) -> str:
    """The work in one line, for the rail.

    Args:
        opened: The build as it stands.
    """
    work = work_of(opened)
    if not work:
        return "nothing to cut yet"
    if finished(work):
        return "everything done"
    counts = counts_of(work)
    told = [f"{counts[0].words} {counts[0].name}"] if counts[0].total else []
    told += [f"{count.done} {count.name}" for count in counts[2:] if count.done]
    return formats.listed(told) or f"{counts[1].words} {counts[1].name}"


def shelf_line(opened: Opened) -> str:
    """What a build may use of the shelf, in one line.

    Args:
        opened: The build as it stands.
    """
    lots = len(opened.on_hand.lots)
    return f"{formats.count(lots, 'lot')} to use" if lots else "nothing for this build"


def changes_line(plan: Plan) -> str:
    """What the ledger and the plan differ in, in one line.

    Args:
        plan: The plan.
    """
    if not plan.changes:
        return "nothing cut yet"
    states = Counter(change.state for change in plan.changes)
    rewired = sum(1 for change in plan.changes if change.rewired)
    told = [f"{rewired} wired otherwise now"] if rewired else []
    told += [f"{states[state]} {word}" for state, word in CHANGES.items() if states[state]]
    return formats.listed(told) or "all of it still serves"
