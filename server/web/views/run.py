"""One run, opened below the sheet: route, wires, ribbon and what it does otherwise than the build."""

from dataclasses import dataclass

from server.domain.errors import NotFoundError
from server.domain.model.plan import RunPlan
from server.domain.proposing import Place
from server.drawing.face import plug_face_svg
from server.drawing.plugs import plug_of, wires_by_cavity
from server.drawing.ribbon import ribbon_svg
from server.services.opened import Opened
from server.web.views import formats
from server.web.views.bench_address import bench_href
from server.web.views.bench_facts import TermLine, longest_wire, run_facts, sleeve_sum, sum_words, term_lines
from server.web.views.drawings import DrawingLink, run_links
from server.web.views.fields import Field, Fields
from server.web.views.finish import RibbonEnd, RunFinishFields, ribbon_end, run_finish_fields
from server.web.views.parts import RunLine, run_line
from server.web.views.pieces import FindingLine, WireTable, finding_lines, findings_of_run, route_text, wire_table
from server.web.views.routes import RouteFields, route_fields, state_words
from server.web.views.wiring import Wiring, wiring_view


@dataclass(frozen=True, slots=True)
class PlugSide:
    """One plug as one side of it is seen."""

    name: str
    svg: str


@dataclass(frozen=True, slots=True)
class PlugFaces:
    """One plug from both sides."""

    name: str
    alike: str
    """Which other plugs are wired alike; empty for none."""
    wire: PlugSide
    mating: PlugSide
    beside: bool
    """Whether both are narrow enough to stand beside each other."""


BESIDE_MOST = 8
"""Columns of a plug up to which its two sides stand beside each other at laptop width."""


@dataclass(frozen=True, slots=True)
class RunPanel:
    """One run."""

    id: str
    number: int
    href: str
    base: int
    unit: str
    name: Field
    line: RunLine
    state: str
    length: str
    facts: tuple[tuple[str, str], ...]
    longest: str
    """Label of the longest wire and how its length adds up; empty while nothing is known of it."""
    terms: tuple[TermLine, ...]
    notes: tuple[str, ...]
    route: RouteFields
    finish: RunFinishFields
    end: RibbonEnd
    ribbon: str
    card_href: str
    bench_href: str
    plugs: tuple[PlugFaces, ...]
    drawings: tuple[DrawingLink, ...]
    wires: WireTable
    wiring: Wiring
    proved: bool
    findings: tuple[FindingLine, ...]
    test_href: str
    """Address of its test sheet; empty for a run that has nothing to test."""
    before: tuple[str, str] | None
    """Address and title of the run before this one."""
    after: tuple[str, str] | None


def run_panel(
    opened: Opened, run_id: str, base: int, fields: Fields, places: tuple[Place, ...], *, inches: bool
) -> RunPanel:
    """The view of one run.

    Args:
        opened: The build as it stands.
        run_id: The run.
        base: Revision that the forms change.
        fields: Makes the fields with what was typed last.
        places: Sockets that would fit the run.
        inches: Whether lengths are shown in inches.

    Raises:
        NotFoundError: the build has no such run.
    """
    index = next((place for place, run in enumerate(opened.plan.runs) if run.id == run_id), None)
    entered = next((run for run in opened.build.runs if run.id == run_id), None)
    if index is None or entered is None:
        raise NotFoundError("This build has no such run.")
    runs = opened.plan.runs
    run = runs[index]
    own = findings_of_run(opened.plan.findings, run.number)
    return RunPanel(
        id=run.id,
        number=run.number,
        href=_href(opened, run),
        base=base,
        unit="in" if inches else "mm",
        name=fields.text(f"runs.{run.id}.name", "Name", run.name),
        line=run_line(run, opened, fields, places),
        state=state_words(run)[0],
        length=route_text(run, inches=inches),
        facts=(*run_facts(run, opened), *sleeve_sum(run, opened)),
        longest=f"{wire.label}: {sum_words(run, wire)}" if (wire := longest_wire(run)) else "",
        terms=term_lines(run),
        notes=run.notes,
        route=route_fields(run, entered, opened, fields, inches=inches, prefix=""),
        finish=run_finish_fields(run, entered.finish, opened.build.finish, opened.catalogue, fields),
        end=ribbon_end(run, opened),
        ribbon=ribbon_svg(run, opened.catalogue),
        card_href=f"/builds/{opened.build_id}/cards#card-{run.number}",
        bench_href=bench_href(opened.build_id, run.id) if run.proved else "",
        plugs=_plugs(run, opened),
        drawings=run_links(opened, run),
        wires=wire_table(run, opened.catalogue, inches=inches),
        wiring=wiring_view(run, entered, opened, fields, inches=inches),
        proved=run.proved,
        findings=finding_lines(own, "", runs),
        test_href=f"{_href(opened, run)}/test" if run.wires else "",
        before=_step(opened, index - 1),
        after=_step(opened, index + 1),
    )


def _plugs(run: RunPlan, opened: Opened) -> tuple[PlugFaces, ...]:
    """The plugs of a run that are wired by hand, from both sides; none of a plan that has a fault."""
    if not run.proved or run.kind == "sleeved":
        return ()
    groups: dict[object, list[tuple[int, bool]]] = {}
    for at_source, plugs in ((True, run.sources), (False, run.ends)):
        for index, plug in enumerate(plugs):
            if plug.housing in opened.catalogue.housings:
                groups.setdefault(_wired(run, index, at_source), []).append((index, at_source))
    return tuple(_plug_faces(run, held, opened) for held in groups.values())


def _wired(run: RunPlan, index: int, at_source: bool) -> object:
    """What a plug's face shows beside its name: plugs that agree in it are drawn once."""
    plug = plug_of(run, index, at_source)
    colours = {
        cavity: tuple((wire.net, wire.colour, wire.sleeve_colour) for wire in wires)
        for cavity, wires in wires_by_cavity(run, index, at_source).items()
    }
    shown = (sorted(plug.nets.items()), sorted(plug.functions.items()), sorted(colours.items()))
    return at_source, plug.housing, plug.latch_down, plug.cap, repr(shown)


def _plug_faces(run: RunPlan, held: list[tuple[int, bool]], opened: Opened) -> PlugFaces:
    """One plug with its two sides, and the names of those that are wired alike."""
    plugs = [plug_of(run, index, at_source) for index, at_source in held]
    index, at_source = held[0]
    return PlugFaces(
        f"{plugs[0].place}: {plugs[0].socket}",
        f"Wired alike: {formats.listed(plug.place for plug in plugs[1:])}." if len(plugs) > 1 else "",
        PlugSide("wire side", plug_face_svg(run, index, at_source, opened.catalogue, view="wire")),
        PlugSide("mating side", plug_face_svg(run, index, at_source, opened.catalogue, view="mating")),
        opened.catalogue.housings[plugs[0].housing].columns <= BESIDE_MOST,
    )


def _href(opened: Opened, run: RunPlan) -> str:
    """The address of a run."""
    return f"/builds/{opened.build_id}/runs/{run.id}"


def _step(opened: Opened, index: int) -> tuple[str, str] | None:
    """The run at this place, if there is one."""
    if not 0 <= index < len(opened.plan.runs):
        return None
    run = opened.plan.runs[index]
    return _href(opened, run), f"Run {run.number}"
