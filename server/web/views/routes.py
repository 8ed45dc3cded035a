"""The third step: how long each run is, measured or as a range."""

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
    high: Field
    spacing: Field | None
    extras: tuple[Field, ...]


@dataclass(frozen=True, slots=True)
class RouteRow:
    """One run of the table."""

    number: int
    title: str
    href: str
    source: str
    target: str
    state: str
    measured: bool
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
        next=f"/builds/{opened.build_id}/finish",
    )


def route_fields(plan: RunPlan, run: Run, fields: Fields, *, inches: bool, prefix: str) -> RouteFields:
    """The fields of one run's route, in the unit that is shown.

    Args:
        plan: The planned run, for the labels.
        run: The run as the builder entered it.
        fields: Makes the fields with what was typed last.
        inches: Whether lengths are shown in inches.
        prefix: What is read out before each label, where several runs are shown together.
    """
    unit = "in" if inches else "mm"
    about = prefix.strip()
    texts = route_texts(run.route, inches=inches)
    name = f"runs.{run.id}"
    spacing = None
    if len(run.ends) > 1:
        gaps = len(run.ends) - 1
        hint = "one gap" if gaps == 1 else f"{gaps} gaps; one length stands for all of them"
        spacing = fields.text(f"{name}.spacing", "plug to plug", texts["spacing"], hint, unit, about)
    extras = tuple(
        fields.text(
            f"{name}.{side}.{index}.extra",
            f"extra at {label}",
            formats.bare_length(refs[index].extra_mm, inches=inches),
            "",
            unit,
            about,
        )
        for side, refs, labels in (
            ("sources", run.sources, _source_labels(plan, run)),
            ("ends", run.ends, _end_labels(plan, run)),
        )
        for index, label in enumerate(labels)
    )
    return RouteFields(
        fields.text(f"{name}.length", "length", texts["length"], "", unit, about),
        fields.text(f"{name}.low", "shortest", texts["low"], "", unit, about),
        fields.text(f"{name}.high", "longest", texts["high"], "", unit, about),
        spacing,
        extras,
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


def route_texts(route: Route, *, inches: bool) -> dict[str, str]:
    """The texts that a route's fields show, so that an untouched field keeps its exact value.

    Args:
        route: The route as entered before. [mm]
        inches: Whether lengths are shown in inches.
    """

    def shown(value: float | None) -> str:
        return "" if value is None else formats.bare_length(value, inches=inches)

    return {
        "length": shown(route.length_mm),
        "low": shown(route.low_mm),
        "high": shown(route.high_mm),
        "spacing": " ".join(shown(value) for value in route.spacing_mm),
    }


def _row(plan: RunPlan, run: Run, opened: Opened, fields: Fields, inches: bool) -> RouteRow:
    """One run of the table."""
    cuts = [wire.cut_mm for wire in plan.wires if wire.cut_mm is not None]
    cut = ""
    if cuts:
        low, high = min(cuts), max(cuts)
        cut = formats.span(low, high, inches=inches) if low != high else formats.length(low, inches=inches)
    return RouteRow(
        plan.number,
        run_title(plan),
        f"/builds/{opened.build_id}/runs/{plan.id}",
        source_text(plan),
        target_text(plan),
        STATES[plan.state],
        plan.state == "measured",
        cut or ("sleeve only" if plan.kind == "sleeved" else "waits"),
        route_fields(plan, run, fields, inches=inches, prefix=f"run {run.number}, "),
    )
