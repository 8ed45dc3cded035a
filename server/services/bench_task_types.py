"""What the bench screen is told: every task of a build, in which order, and the plugs that they speak of."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

TaskKind = Literal["take", "cut", "crimp", "sleeve", "fit", "test"]
KINDS: tuple[TaskKind, ...] = ("take", "cut", "crimp", "sleeve", "fit", "test")
"""In the order of the work; each is a stage of its own on the screen."""
TaskState = Literal["open", "done", "blocked"]
RunReady = Literal["ready", "waits", "stopped"]
"""Can be worked on; waits for its length; is held back, since the proof found a fault in it."""


@dataclass(frozen=True, slots=True)
class TaskColour:
    """The colour of what a task is about."""

    code: str
    name: str
    css: str
    """As a stylesheet writes it: ``#1a1a1a``."""


@dataclass(frozen=True, slots=True)
class TaskPlug:
    """One cavity that a task is about."""

    key: str
    """Of the plug's face: ``<run id>/<s|p><index>``."""
    cavity: str
    net: str
    seen: str
    """Where it lies: ``lower row, 5th from the left, seen from the wire side``."""


@dataclass(frozen=True, slots=True)
class Task:
    """One thing to do at the bench, or that was done."""

    id: str
    """Stays the same for the same thing, whatever is edited elsewhere: ``cut/<wire id>``, ``crimp/<wire id>/part``."""
    kind: TaskKind
    run: str
    """Id of the run."""
    label: str
    title: str
    """The large line."""
    big: str
    """The one number or place that is read from across the room."""
    colour: TaskColour | None = None
    lines: tuple[str, ...] = ()
    tool: str = ""
    """Key of the tool with its setting; equal keys need no change, an empty one needs no tool."""
    tool_words: str = ""
    times: int = 1
    """How often the operation that the stopwatch counts for its stage is done by it; 0 for other work of that stage."""
    after: tuple[str, ...] = ()
    """Ids of the tasks directly before it."""
    plugs: tuple[TaskPlug, ...] = ()
    state: TaskState = "open"
    why: str = ""
    """Of a blocked task: what has to happen elsewhere first."""
    href: str = ""
    """Where that happens; of a test, the test sheet."""
    tick: Mapping[str, int | str] | None = None
    """What is sent back when it is ticked; ``None`` where a tick does not do it."""
    entry: int = 0
    """Of a done task: the last entry of the ledger that did it; 0 where none can be taken back by itself."""

    @property
    def stage(self) -> TaskKind:
        """The stage of the work that it belongs to."""
        return self.kind


@dataclass(frozen=True, slots=True)
class TaskRun:
    """A run as the bench screen heads its tasks."""

    id: str
    number: int
    title: str
    state: RunReady
    why: str
    test: str
    """Address of its test sheet; empty where there is nothing to test."""
    tested: bool


@dataclass(frozen=True, slots=True)
class PlugFace:
    """The light picture of a plug."""

    svg: str
    title: str
    view: str
    """From which side it is seen, in words."""


@dataclass(frozen=True, slots=True)
class TaskBuild:
    """The build that the tasks belong to."""

    id: str
    metered: bool


@dataclass(frozen=True, slots=True)
class TaskOperation:
    """The operation of the labour table that the stopwatch counts for a stage.

    What cannot be told apart at the bench is timed with it: ``domain.learning.TIMED_WITH``.
    """

    id: str
    name: str


@dataclass(frozen=True, slots=True)
class ToolChanges:
    """How often the tool is changed in either order, over what is still open."""

    by_run: int
    by_stage: int
    at_least: int
    """No order changes it less often."""
    proved: bool
    """Whether the order by stage is shown to be the best."""


@dataclass(frozen=True, slots=True)
class Tasks:
    """Everything to do for a build at the bench."""

    build: TaskBuild
    ledger: int
    """Last number of the ledger when this was made."""
    cautions: tuple[str, ...] = ()
    operations: Mapping[TaskKind, TaskOperation] = field(default_factory=dict)
    """By stage; only those that are used."""
    runs: tuple[TaskRun, ...] = ()
    plugs: Mapping[str, PlugFace] = field(default_factory=dict)
    """By ``<run id>/<s|p><index>``: s for a source plug, p for a part plug."""
    tasks: tuple[Task, ...] = ()
    by_run: tuple[str, ...] = ()
    """Ids of every task, run by run."""
    by_stage: tuple[str, ...] = ()
    """Ids of every task: those done first, then what is open, in the order that changes tools least often."""
    changes: ToolChanges = ToolChanges(0, 0, 0, proved=True)
