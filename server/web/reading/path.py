"""Legs and bends from a form: its rows as typed, changed by its buttons, and read as steps."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import get_args

from server.domain.edits import RouteEntry
from server.domain.errors import InvalidInputError, Problem
from server.domain.limits import BEND_MOST_DEG, TWIST_MOST_DEG
from server.domain.model.build import PlugRef, Route, Run
from server.domain.model.catalogue import Catalogue
from server.domain.model.route import RouteStep, StepKind
from server.web.forms import Reader, Typed
from server.web.reading.lengths import length_mm
from server.web.views.formats import bare_length, number

KINDS: tuple[StepKind, ...] = get_args(StepKind)
PARTS = ("kind", "length", "angle", "radius")
ROWS_LEAST = 3
"""Rows that an empty table shows."""
STRAIGHT: tuple[StepKind, ...] = ("leg", "twist")
"""Steps along which the ribbon's middle is straight."""
_ANGLE = re.compile(r"([+-]?)(\d{1,6}(?:[.,]\d{1,4})?|[.,]\d{1,4}) ?(?:°|deg|degrees)?", re.ASCII)
NO_ANGLE = "Write an angle in degrees, such as 90."


@dataclass(frozen=True, slots=True)
class Row:
    """One row of the table as it is written."""

    kind: str = "leg"
    length: str = ""
    angle: str = ""
    radius: str = ""

    @property
    def is_blank(self) -> bool:
        """Whether nothing is written in it, whatever kind it stands at."""
        return not (self.length.strip() or self.angle.strip() or self.radius.strip())


@dataclass(frozen=True, slots=True)
class ReadSteps:
    """What the rows say."""

    steps: tuple[RouteStep, ...]
    """Those that can be read; a bend whose radius was left open has a radius of 0."""
    rows: tuple[int, ...]
    """Index of the row of each step."""
    problems: tuple[Problem, ...]


def name_of(run_id: str, index: int, part: str) -> str:
    """Name of one field of the table."""
    return f"runs.{run_id}.steps.{index}.{part}"


def rows_of(steps: Sequence[RouteStep], *, inches: bool) -> tuple[Row, ...]:
    """The rows that show some steps.

    Args:
        steps: Legs and bends. [mm, deg]
        inches: Whether lengths are shown in inches.
    """

    def text(value: float) -> str:
        return bare_length(value, inches=inches) if value else ""

    return tuple(
        Row(step.kind, text(step.length_mm), number(step.angle_deg, 2) if step.angle_deg else "", text(step.radius_mm))
        for step in steps
    )


def typed_rows(typed: Typed, run_id: str) -> tuple[Row, ...] | None:
    """The rows that a form sent; ``None`` when it shows no table.

    Args:
        typed: The form as it was sent.
        run_id: The run.
    """
    if f"runs.{run_id}.steps" not in typed.values:
        return None
    rows: list[Row] = []
    while name_of(run_id, len(rows), "kind") in typed.values:
        rows.append(Row(*(typed.first(name_of(run_id, len(rows), part)) for part in PARTS)))
    return tuple(rows)


def with_rows(typed: Typed, run_id: str, rows: Sequence[Row], focus: str = "") -> Typed:
    """The form with other rows and everything else as it was typed.

    Args:
        typed: The form as it was sent.
        run_id: The run.
        rows: The rows that take the place of those it holds.
        focus: The control that the focus goes to, such as ``kind.3``.
    """
    prefix = f"runs.{run_id}.steps."
    kept = {name: texts for name, texts in typed.values.items() if not name.startswith(prefix) and name != "do"}
    for index, row in enumerate(rows):
        for part in PARTS:
            kept[name_of(run_id, index, part)] = (getattr(row, part),)
    return Typed({**kept, f"runs.{run_id}.steps": ("shown",), "draft": ("on",), "focus": (focus,)})


def changed_rows(rows: Sequence[Row], do: str) -> tuple[tuple[Row, ...], str]:
    """The rows after one button of the table, and the control that the focus goes to.

    Args:
        rows: The rows as typed.
        do: ``add``, or ``insert``, ``drop``, ``up`` or ``down`` with a full stop and the index of a row.
    """
    verb, _, text = do.partition(".")
    held, at = list(rows), int(text) if re.fullmatch("[0-9]{1,4}", text) else -1
    if verb == "add":
        return (*held, Row()), f"kind.{len(held)}"
    if not 0 <= at < len(held):
        return tuple(held), ""
    if verb == "insert":
        held.insert(at, Row())
        return tuple(held), f"kind.{at}"
    if verb == "drop":
        del held[at]
        return tuple(held), f"kind.{min(at, len(held) - 1)}" if held else "add"
    other = at - 1 if verb == "up" else at + 1
    if verb in ("up", "down") and 0 <= other < len(held):
        held[at], held[other] = held[other], held[at]
        return tuple(held), f"{verb}.{other}"
    return tuple(held), ""


def read_steps(rows: Sequence[Row], run: Run, catalogue: Catalogue, *, inches: bool) -> ReadSteps:
    """The rows as steps; empty rows at the end are passed over.

    Args:
        rows: The rows as typed.
        run: The run as it stands: a value left as it was shown keeps its exact length.
        catalogue: For the paths that rows may have started from, for the same reason.
        inches: Whether a bare number means inches.
    """
    last = max((index for index, row in enumerate(rows) if not row.is_blank), default=-1)
    known = [step for shape in catalogue.shapes.values() for step in shape.steps] + list(run.route.steps)
    exact = {bare_length(v, inches=inches): v for step in known for v in (step.length_mm, step.radius_mm) if v}
    steps: list[RouteStep] = []
    places: list[int] = []
    problems: list[Problem] = []
    for index, row in enumerate(rows[: last + 1]):
        step, wrong = _read_row(row, exact, inches=inches)
        problems += [Problem(name_of(run.id, index, part), text) for part, text in wrong.items()]
        if step is not None and not wrong:
            steps.append(step)
            places.append(index)
    return ReadSteps(tuple(steps), tuple(places), tuple(problems))


def _read_row(row: Row, exact: Mapping[str, float], *, inches: bool) -> tuple[RouteStep | None, dict[str, str]]:
    """One row as a step, and by field what is wrong with it."""
    kind = next((known for known in KINDS if known == row.kind), None)
    if kind is None:
        return None, {"kind": "Pick one of the list."}
    if row.is_blank:
        part = "length" if kind in ("leg", "twist") else "angle"
        return None, {part: f"Give its {part}, or remove the row."}
    wrong = _out_of_place(row, kind)

    def length(part: str, text: str, missing: str) -> float:
        words = " ".join(text.split())
        value = exact[words] if words in exact else length_mm(words, inches=inches) if words else missing
        if value == 0:
            value = f"A {part} must be more than zero."
        if isinstance(value, str) and value:
            wrong[part] = value
        return 0.0 if isinstance(value, str) else value

    step = RouteStep(kind)
    if kind in STRAIGHT:
        step = replace(step, length_mm=length("length", row.length, "Give its length."))
    elif not wrong:
        step = replace(step, radius_mm=length("radius", row.radius, ""))
    if kind != "leg":
        angle = _angle(row.angle, kind)
        if isinstance(angle, str):
            wrong["angle"] = angle
        else:
            step = replace(step, angle_deg=angle)
    return step, wrong


def _out_of_place(row: Row, kind: StepKind) -> dict[str, str]:
    """What is written where a step of this kind has nothing."""
    wrong = {}
    if kind not in STRAIGHT and row.length.strip():
        wrong["length"] = "A bend has an angle and a radius: empty this, or pick a leg."
    if kind == "leg" and row.angle.strip():
        wrong["angle"] = "A leg is straight: empty this, or pick a bend."
    if kind in STRAIGHT and row.radius.strip():
        wrong["radius"] = f"A {kind} has no radius: empty this, or pick a bend."
    return wrong


def _angle(text: str, kind: StepKind) -> float | str:
    """An angle in degrees, or what is wrong with it."""
    words = " ".join(text.replace("−", "-").replace("–", "-").split())
    if not words:
        return "Give its angle."
    match = _ANGLE.fullmatch(words)
    if match is None:
        return NO_ANGLE
    value = float(match[2].replace(",", "."))
    most = TWIST_MOST_DEG if kind == "twist" else BEND_MOST_DEG
    if match[1] == "-" and kind != "twist":
        return "A bend's angle is more than zero: its side is picked in the list."
    if not 0 < value <= most:
        return f"More than 0 and at most {most:g} degrees."
    return -value if match[1] == "-" else value


def typed_reach(typed: Typed, run: Run) -> tuple[RouteEntry | None, tuple[Problem, ...]]:
    """Reach and tails as they are typed, for a look at what they come to; nothing where they cannot be read.

    Args:
        typed: The form as it was sent.
        run: The run as it stands.

    Returns:
        The run's route as it stands with the reach that was typed, and what is wrong with it.
    """
    try:
        return _entry(Reader(typed), run, run.route), ()
    except InvalidInputError as refused:
        return None, refused.problems


def path_entry(read: Reader, run: Run, steps: tuple[RouteStep, ...]) -> RouteEntry:
    """The run's route along these steps, with reach and tails of its plugs.

    A measured length stays where there are no steps to take its place, and the range stays beside either.

    Raises:
        InvalidInputError: something in the form cannot be read.
    """
    route = replace(run.route, steps=steps, length_mm=None if steps else run.route.length_mm)
    return _entry(read, run, route)


def length_entry(read: Reader, run: Run) -> RouteEntry:
    """The run's route as one measured length in the place of its steps, with reach and tails of its plugs.

    Raises:
        InvalidInputError: there is no length, or something in the form cannot be read.
    """
    name, inches = f"runs.{run.id}.length", read.word("unit") == "in"
    length, shown = run.route.length_mm, length_text(run.route, inches=inches)
    if not read.word(name):
        read.problem(name, "Write the measured length.")
    elif read.word(name) != shown:
        length = read.length(name, inches=inches)
    return _entry(read, run, replace(run.route, length_mm=length, steps=()))


def length_text(route: Route, *, inches: bool) -> str:
    """The text that the field of the measured length shows."""
    return "" if route.length_mm is None else bare_length(route.length_mm, inches=inches)


def tail_text(plug: PlugRef, *, inches: bool) -> str:
    """The text that the field of a plug's tail shows."""
    return "" if plug.tail_mm is None else bare_length(plug.tail_mm, inches=inches)


def _entry(read: Reader, run: Run, route: Route) -> RouteEntry:
    inches = read.word("unit") == "in"
    entry = RouteEntry(
        route,
        _extras(read, f"runs.{run.id}.sources", run.sources, inches),
        _extras(read, f"runs.{run.id}.ends", run.ends, inches),
        _tails(read, f"runs.{run.id}.sources", run.sources, inches),
        _tails(read, f"runs.{run.id}.ends", run.ends, inches),
    )
    read.done()
    return entry


def _extras(read: Reader, prefix: str, plugs: Sequence[PlugRef], inches: bool) -> tuple[float, ...]:
    """Own reach of each plug of one side; text that stands as shown keeps its exact value. [mm]"""
    found = []
    for index, plug in enumerate(plugs):
        name = f"{prefix}.{index}.extra"
        stays = name not in read.typed.values or read.word(name) == bare_length(plug.extra_mm, inches=inches)
        found.append(plug.extra_mm if stays else read.length(name, inches=inches, zero=True) or 0.0)
    return tuple(found)


def _tails(read: Reader, prefix: str, plugs: Sequence[PlugRef], inches: bool) -> tuple[float | None, ...]:
    """Own tail of each plug of one side; an empty field takes the usual one. [mm]"""
    found = []
    for index, plug in enumerate(plugs):
        name = f"{prefix}.{index}.tail"
        stays = name not in read.typed.values or read.word(name) == tail_text(plug, inches=inches)
        found.append(plug.tail_mm if stays else read.length(name, inches=inches, zero=True))
    return tuple(found)
