"""One run, opened below the sheet: route, wires, ribbon and what it does otherwise than the build."""

from dataclasses import dataclass

from server.domain.errors import NotFoundError
from server.domain.model.plan import RunPlan
from server.domain.proposing import Place
from server.drawing.ribbon import ribbon_svg
from server.services.opened import Opened
from server.web.views.bench_facts import TermLine, longest_wire, run_facts, sum_words, term_lines
from server.web.views.fields import Field, Fields
from server.web.views.finish import RibbonEnd, RunFinishFields, ribbon_end, run_finish_fields
from server.web.views.parts import RunLine, run_line
from server.web.views.pieces import FindingLine, WireTable, finding_lines, findings_of_run, route_text, wire_table
from server.web.views.routes import RouteFields, route_fields, state_words
from server.web.views.wiring import Wiring, wiring_view


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
    wires: WireTable
    wiring: Wiring
    proved: bool
    findings: tuple[FindingLine, ...]
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
        facts=run_facts(run, opened),
        longest=f"{wire.label}: {sum_words(run, wire)}" if (wire := longest_wire(run)) else "",
        terms=term_lines(run),
        notes=run.notes,
        route=route_fields(run, entered, opened, fields, inches=inches, prefix=""),
        finish=run_finish_fields(run, entered.finish, opened.build.finish, opened.catalogue, fields),
        end=ribbon_end(run, opened),
        ribbon=ribbon_svg(run, opened.catalogue),
        wires=wire_table(run, opened.catalogue, inches=inches),
        wiring=wiring_view(run, entered, opened, fields, inches=inches),
        proved=run.proved,
        findings=finding_lines(own, "", runs),
        before=_step(opened, index - 1),
        after=_step(opened, index + 1),
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
