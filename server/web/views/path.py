"""The route of one run by legs and bends: its table, the ribbon as it lies, and what each wire's length is made of."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from server.domain.errors import NotFoundError
from server.domain.model.build import PlugRef, Run
from server.domain.model.plan import PlannedWire, RunPlan
from server.domain.model.route import RouteShape, StepKind
from server.domain.plan.drafts import RouteDraft
from server.domain.reference import TAIL_MM
from server.domain.sockets import key
from server.services.opened import Opened
from server.web.reading.path import KINDS, ReadSteps, Row, length_text, name_of, tail_text
from server.web.views import formats
from server.web.views.fields import Field, Fields
from server.web.views.path_live import PathLive, path_live, signed
from server.web.views.pieces import STATES, letter, route_text, run_title, socket_name

if TYPE_CHECKING:
    from server.web.screen import Scene

KIND_WORDS: dict[StepKind, str] = {
    "leg": "leg",
    "left": "bend left",
    "right": "bend right",
    "up": "bend up",
    "down": "bend down",
    "twist": "twist",
}


@dataclass(frozen=True, slots=True)
class PathRow:
    """One row of the table."""

    index: int
    number: int
    kind: Field
    length: Field
    angle: Field
    radius: Field
    suggested: str
    """The radius that is taken when none is written; empty for what has none."""


@dataclass(frozen=True, slots=True)
class PlugRow:
    """Reach and tail of one plug."""

    name: str
    extra: Field
    tail: Field | None
    """``None`` for a plug of a chain, which sits on the ribbon itself."""


@dataclass(frozen=True, slots=True)
class SumRow:
    """Wires whose lengths add up alike."""

    labels: str
    count: int
    terms: tuple[str, ...]
    total: str
    cut: str


@dataclass(frozen=True, slots=True)
class SumTable:
    """Each wire's length, term by term."""

    heads: tuple[tuple[str, str], ...]
    """Name and source of each term."""
    rows: tuple[SumRow, ...]
    unit: str
    high: bool
    """True while the route is a range, whose high end the sums are for."""


@dataclass(frozen=True, slots=True)
class OwnShape:
    """A path that the builder kept."""

    id: str
    name: str
    steps: str


@dataclass(frozen=True, slots=True)
class PathPanel:
    """The editor of one run's legs and bends."""

    number: int
    title: str
    state: str
    href: str
    run_href: str
    routes_href: str
    other_unit: str
    other_href: str
    base: int
    unit: str
    run_id: str
    rows: tuple[PathRow, ...]
    focus: str
    """The control that gets the focus, such as ``kind.3``."""
    unsaved: bool
    start: Field
    shape_name: Field
    own_shapes: tuple[OwnShape, ...]
    length: Field
    plugs: tuple[PlugRow, ...]
    live: PathLive
    sums: SumTable | None
    before: tuple[str, str] | None
    after: tuple[str, str] | None


def path_panel(scene: "Scene", rows: Sequence[Row], draft: RouteDraft, read: ReadSteps) -> PathPanel:
    """The view of the editor.

    Args:
        scene: What every panel is made from.
        rows: Rows of the table.
        draft: The steps that could be read from them, and what follows.
        read: How the rows were read.

    Raises:
        NotFoundError: the build has no such run.
    """
    opened, run_id, fields, inches = scene.opened, scene.run_id, scene.fields, scene.inches
    plan, run = planned(opened, run_id)
    href = f"/builds/{opened.build_id}/runs/{run_id}"
    unit = "in" if inches else "mm"
    shapes = tuple(opened.catalogue.shapes.values())
    hint = "replaces the legs and bends" if run.route.steps else "instead of legs and bends"
    return PathPanel(
        number=plan.number,
        title=run_title(plan),
        state=f"{STATES[plan.state]}, {route_text(plan, inches=inches)}" if plan.length_mm else STATES[plan.state],
        href=f"{href}/path",
        run_href=href,
        routes_href=f"/builds/{opened.build_id}/routes",
        other_unit="millimetres" if inches else "inches",
        other_href=f"{href}/path?unit={'mm' if inches else 'in'}",
        base=scene.base,
        unit=unit,
        run_id=run_id,
        rows=_rows(scene, rows, draft, read),
        focus=fields.typed("focus", ""),
        unsaved=fields.typed("draft", "") == "on",
        start=fields.choice("start", "path to start from", "", _offered(shapes)),
        shape_name=fields.text("shape_name", "keep this path under the name", ""),
        own_shapes=tuple(OwnShape(s.id, s.name, formats.count(len(s.steps), "step")) for s in shapes if s.own),
        length=fields.text(
            f"runs.{run_id}.length", "measured length", length_text(run.route, inches=inches), hint, unit
        ),
        plugs=_plugs(plan, run, fields, inches=inches),
        live=path_live(draft, read, run_id, inches=inches),
        sums=sum_table(plan, inches=inches),
        before=_step(opened, plan, -1),
        after=_step(opened, plan, 1),
    )


def planned(opened: Opened, run_id: str) -> tuple[RunPlan, Run]:
    """A run as planned and as entered.

    Raises:
        NotFoundError: the build has no such run.
    """
    plan = next((found for found in opened.plan.runs if found.id == run_id), None)
    run = next((found for found in opened.build.runs if found.id == run_id), None)
    if plan is None or run is None:
        raise NotFoundError("This build has no such run.")
    return plan, run


def sum_table(plan: RunPlan, *, inches: bool) -> SumTable | None:
    """Each wire's length term by term, wires alike together; nothing while no length is known.

    Args:
        plan: The planned run.
        inches: Whether lengths are shown in inches.
    """
    sources = {term.name: term.source for wire in plan.wires for term in wire.terms}
    if not sources:
        return None
    groups: dict[tuple[tuple[str, ...], str], list[PlannedWire]] = {}
    for wire in plan.wires:
        by_name = {term.name: term.mm for term in wire.terms}
        texts = tuple(signed(by_name[name], inches=inches) if name in by_name else "" for name in sources)
        cut = "waits" if wire.cut_mm is None else formats.bare_length(wire.cut_mm, inches=inches)
        groups.setdefault((texts, cut), []).append(wire)
    rows = tuple(
        SumRow(
            formats.listed(wire.label for wire in wires),
            len(wires),
            tuple(text.removeprefix("+") for text in texts),
            formats.bare_length(sum(term.mm for term in wires[0].terms), inches=inches),
            cut,
        )
        for (texts, cut), wires in groups.items()
    )
    return SumTable(tuple(sources.items()), rows, "in" if inches else "mm", plan.state == "range")


def _rows(scene: "Scene", rows: Sequence[Row], draft: RouteDraft, read: ReadSteps) -> tuple[PathRow, ...]:
    """The fields of the table, row by row."""
    run_id, fields, unit = scene.run_id, scene.fields, "in" if scene.inches else "mm"
    kinds = tuple((kind, KIND_WORDS[kind]) for kind in KINDS)
    open_radii = {
        read.rows[i]: formats.bare_length(draft.steps[i].radius_mm, inches=scene.inches) for i in draft.suggested
    }
    found = []
    for index, row in enumerate(rows):
        about = f"step {index + 1},"

        def text(part: str, label: str, value: str, unit: str, at: int = index, about: str = about) -> Field:
            return fields.text(name_of(run_id, at, part), label, value, "", unit, about)

        found.append(
            PathRow(
                index,
                index + 1,
                fields.choice(name_of(run_id, index, "kind"), f"step {index + 1}, kind", row.kind, kinds),
                text("length", "length", row.length, unit),
                text("angle", "angle", row.angle, "°"),
                text("radius", "radius", row.radius, unit),
                open_radii.get(index, ""),
            )
        )
    return tuple(found)


def _offered(shapes: Sequence[RouteShape]) -> tuple[tuple[str, str], ...]:
    """Paths to start from: the usual ones, then the builder's own."""
    return (("", "pick a path"), *((s.id, f"{s.name} (your own)" if s.own else s.name) for s in shapes))


def _plugs(plan: RunPlan, run: Run, fields: Fields, *, inches: bool) -> tuple[PlugRow, ...]:
    """Reach and tail of every plug, in the order of the build."""
    unit = "in" if inches else "mm"
    names: Mapping[tuple[str, str], str] = {
        **{key(plug.ref): f"source, {socket_name(plan.sources, i)}" for i, plug in enumerate(plan.sources)},
        **{
            key(plug.ref): f"{f'plug {letter(i)}' if len(plan.ends) > 1 else 'part'}, {plug.place}, {plug.socket}"
            for i, plug in enumerate(plan.ends)
        },
    }

    def row(side: str, index: int, plug: PlugRef, *, several: bool) -> PlugRow:
        name = names.get(key(plug), plug.socket)
        field = f"runs.{run.id}.{side}.{index}"
        usual = formats.length(TAIL_MM if several else 0, inches=inches)
        on_ribbon = side == "ends" and plan.kind == "chain"
        tail = tail_text(plug, inches=inches)
        return PlugRow(
            name,
            fields.text(
                f"{field}.extra", "own reach", formats.bare_length(plug.extra_mm, inches=inches), "", unit, name
            ),
            None if on_ribbon else fields.text(f"{field}.tail", "own tail", tail, f"if empty, {usual}", unit, name),
        )

    return tuple(
        row(side, index, plug, several=len(plugs) > 1)
        for side, plugs in (("sources", run.sources), ("ends", run.ends))
        for index, plug in enumerate(plugs)
    )


def _step(opened: Opened, plan: RunPlan, by: int) -> tuple[str, str] | None:
    """The path of the run before or behind this one."""
    runs = opened.plan.runs
    at = runs.index(plan) + by
    if not 0 <= at < len(runs):
        return None
    return f"/builds/{opened.build_id}/runs/{runs[at].id}/path", f"Run {runs[at].number}"
