"""The third step: how long each run is, measured at once or by legs and bends, or as a range."""

from dataclasses import dataclass

from server.domain.model.build import Route, Run
from server.domain.model.plan import RunPlan
from server.domain.sockets import key
from server.services.opened import Opened
from server.web.views import formats
from server.web.views.fields import Field, Fields
from server.web.views.pieces import STATES, letter, run_title, socket_name, source_text, target_text


@dataclass(frozen=True, slots=True)
class RouteFields:
    """The fields of one run's route."""

    length: Field
    low: Field
    likely: Field
    high: Field
    spacing: Field | None
    extras: tuple[Field, ...]
    run: str
    """Which run it is, where several are shown together; otherwise empty."""
    path_href: str
    """Where the run's legs and bends are drawn."""
    by_steps: str
    """Its length by legs and bends, in words; empty where it has none."""


@dataclass(frozen=True, slots=True)
class RouteRow:
    """One run of the table."""

    number: int
    title: str
    href: str
    source: str
    target: str
    state: str
    mark: str
    """``done`` or ``warn``, shown as a mark beside the state."""
    cut: str
    fields: RouteFields


@dataclass(frozen=True, slots=True)
class RoutesPanel:
    """The routes step."""

    href: str
    base: int
    unit: str
    other_unit: str
    other_href: str
    rows: tuple[RouteRow, ...]
    waiting_href: str
    waiting: str
    next: str


def routes_panel(opened: Opened, base: int, fields: Fields, *, inches: bool) -> RoutesPanel:
    """The view of the routes step.

    Args:
        opened: The build as it stands.
        base: Revision that the form changes.
        fields: Makes the fields with what was typed last.
        inches: Whether lengths are shown in inches.
    """
    href = f"/builds/{opened.build_id}/routes"
    runs = {run.id: run for run in opened.build.runs}
    return RoutesPanel(
        href=href,
        base=base,
        unit="in" if inches else "mm",
        other_unit="millimetres" if inches else "inches",
        other_href=f"{href}?unit={'mm' if inches else 'in'}",
        rows=tuple(_row(run, runs[run.id], opened, fields, inches) for run in opened.plan.runs),
        waiting_href=f"/builds/{opened.build_id}/waiting",
        waiting=waiting_words(opened),
        next=f"/builds/{opened.build_id}/finish",
    )


def route_fields(plan: RunPlan, run: Run, opened: Opened, fields: Fields, *, inches: bool, prefix: str) -> RouteFields:
    """The fields of one run's route, in the unit that is shown.

    Args:
        plan: The planned run, for the labels and the length of its legs and bends.
        run: The run as the builder entered it.
        opened: The build as it stands.
        fields: Makes the fields with what was typed last.
        inches: Whether lengths are shown in inches.
        prefix: What is read out before each label, where several runs are shown together.
    """
    about = prefix.strip()
    texts = route_texts(run.route, plan.length_mm, inches=inches)

    def field(key: str, label: str, hint: str = "") -> Field:
        return fields.text(f"runs.{run.id}.{key}", label, texts[key], hint, "in" if inches else "mm", about)

    spacing = None
    if len(run.ends) > 1 and run.branching == "chain":
        gaps = len(run.ends) - 1
        spacing = field(
            "spacing", "plug to plug", "one gap" if gaps == 1 else f"{gaps} gaps; one length stands for all of them"
        )
    return RouteFields(
        length=field("length", "length", _length_hint(run, inches=inches)),
        low=field("low", "shortest"),
        likely=field("likely", "most likely"),
        high=field("high", "longest"),
        spacing=spacing,
        extras=_extra_fields(plan, run, fields, about, inches),
        run=about.rstrip(","),
        path_href=f"/builds/{opened.build_id}/runs/{run.id}/path",
        by_steps=formats.length(plan.length_mm, inches=inches)
        if run.route.steps and plan.length_mm is not None
        else "",
    )


def _length_hint(run: Run, *, inches: bool) -> str:
    """What a length stands for where it is not simply that of the run."""
    if run.method == "extension":
        own = run.own_cable_mm
        before = f"; the own cable, {formats.length(own, inches=inches)}, comes before it" if own is not None else ""
        return f"of the extension alone{before}"
    return "a new number replaces the legs and bends" if run.route.steps else ""


def _extra_fields(plan: RunPlan, run: Run, fields: Fields, about: str, inches: bool) -> tuple[Field, ...]:
    """Extra reach of each plug where one side has several."""
    sides = (("sources", run.sources, _source_labels(plan, run)), ("ends", run.ends, _end_labels(plan, run)))
    return tuple(
        fields.text(
            f"runs.{run.id}.{side}.{index}.extra",
            f"extra at {label}",
            formats.bare_length(refs[index].extra_mm, inches=inches),
            "",
            "in" if inches else "mm",
            about,
        )
        for side, refs, labels in sides
        for index, label in enumerate(labels)
    )


def _source_labels(plan: RunPlan, run: Run) -> tuple[str, ...]:
    """What each source plug is called, in the order of the build; nothing where there is no choice between several.

    The plan lists them as they lie in the ribbon, so that each is found by its part and socket and not by its place.
    """
    names = {key(plug.ref): socket_name(plan.sources, index) for index, plug in enumerate(plan.sources)}
    return tuple(names.get(key(ref), ref.socket) for ref in run.sources) if len(run.sources) > 1 else ()


def _end_labels(plan: RunPlan, run: Run) -> tuple[str, ...]:
    """What each part plug is called, in the order of the build; a chain has spacings instead."""
    letters = {key(plug.ref): f"plug {letter(index)}" for index, plug in enumerate(plan.ends)}
    shown = len(run.ends) > 1 and plan.kind != "chain"
    return tuple(letters.get(key(ref), ref.socket) for ref in run.ends) if shown else ()


def route_texts(route: Route, middle_mm: float | None, *, inches: bool) -> dict[str, str]:
    """The texts that a route's fields show, so that an untouched field keeps its exact value.

    Args:
        route: The route as entered before. [mm]
        middle_mm: Length of the ribbon's middle along its legs and bends, shown where it has some. [mm]
        inches: Whether lengths are shown in inches.
    """

    def shown(value: float | None) -> str:
        return "" if value is None else formats.bare_length(value, inches=inches)

    return {
        "length": shown(middle_mm if route.steps else route.length_mm),
        "low": shown(route.low_mm),
        "likely": shown(route.likely_mm),
        "high": shown(route.high_mm),
        "spacing": " ".join(shown(value) for value in route.spacing_mm),
    }


def state_words(plan: RunPlan) -> tuple[str, str]:
    """How well a run's length is known, and whether that is ``done`` or a ``warn``."""
    if plan.state == "measured":
        low, high, length = plan.low_mm, plan.high_mm, plan.length_mm
        if low is not None and high is not None and length is not None and not low <= length <= high:
            return f"{STATES['measured']}, outside its range", "warn"
        return STATES["measured"], "done"
    if plan.state == "unmeasured" and plan.length_mm is not None:
        return "spacing missing", "warn"
    return STATES[plan.state], "warn"


def waiting_words(opened: Opened) -> str:
    """How many runs can be cut now, and how many wait."""
    now = sum(1 for run in opened.plan.runs if run.state == "measured")
    waiting = len(opened.plan.waiting)
    return f"{now} now" + (f", {waiting} {'waits' if waiting == 1 else 'wait'}" if waiting else "")


def cut_words(plan: RunPlan, *, inches: bool = False) -> str:
    """At what length the wires of a run are cut, or why none is."""
    cuts = [wire.cut_mm for wire in plan.wires if wire.cut_mm is not None]
    if not cuts and any(wire.own_mm for wire in plan.wires):
        return "own wires shortened"
    if not cuts:
        return "sleeve only" if plan.kind == "sleeved" else "waits"
    low, high = min(cuts), max(cuts)
    return formats.span(low, high, inches=inches) if low != high else formats.length(low, inches=inches)


def _row(plan: RunPlan, run: Run, opened: Opened, fields: Fields, inches: bool) -> RouteRow:
    """One run of the table."""
    state, mark = state_words(plan)
    return RouteRow(
        plan.number,
        run_title(plan),
        f"/builds/{opened.build_id}/runs/{plan.id}",
        source_text(plan),
        target_text(plan),
        state,
        mark,
        cut_words(plan, inches=inches),
        route_fields(plan, run, opened, fields, inches=inches, prefix=f"run {run.number}, "),
    )
