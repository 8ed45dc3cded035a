"""Wire labels: their settings, the sheet while they are typed, and both kinds of file."""

from typing import Annotated

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from server.documents.tables import CSV_TYPE, write_csv
from server.domain.errors import InvalidInputError, NotFoundError, Problem
from server.domain.labels import LabelSettings
from server.services.builds import BuildDesk
from server.services.label_records import label_job
from server.services.opened import Opened
from server.web import rendering
from server.web.reading.labels import ReadLabels, labels_read, refused
from server.web.routes.exports import file_response
from server.web.screen import Desk, Outcome, Posted, Scene, panel, posted, show, wants_panel
from server.web.views.label_files import label_pages, label_table
from server.web.views.labels import LabelsPanel, labels_live, labels_panel, labels_wrong

router = APIRouter(prefix="/builds/{build_id}")
Form = Annotated[Posted, posted("labels")]
PDF_TYPE = "application/pdf"
KEPT = "The settings of the labels are kept, for every build."


@panel("labels")
def labels(scene: Scene) -> LabelsPanel:
    """The view of the panel."""
    opened = scene.opened
    settings, left_out = scene.desk.label_settings(), scene.desk.runs_without_labels(opened.build_id)
    if scene.fields.sent.problems:
        live = labels_wrong(InvalidInputError(scene.fields.sent.problems))
    else:
        live = labels_live(opened, settings, left_out)
    return labels_panel(opened, scene.fields, settings, left_out, live)


@router.get("/labels")
def look(request: Request, desk: Desk, build_id: str) -> Response:
    """The panel."""
    outcome = Outcome(message=KEPT) if request.query_params.get("kept") == "yes" else None
    return show(request, desk.open(build_id), "labels", outcome)


@router.post("/labels")
def keep(request: Request, desk: Desk, build_id: str, form: Form) -> Response:
    """Keep what is set."""
    opened = desk.open(build_id)
    _keep(desk, opened, form)
    if not wants_panel(request):
        return RedirectResponse(f"/builds/{build_id}/labels?kept=yes", status_code=303)
    return show(request, opened, "labels", Outcome(message=KEPT))


@router.post("/labels/preview")
def preview(desk: Desk, build_id: str, form: Form) -> Response:
    """The first sheet as the form stands; nothing is kept."""
    opened = desk.open(build_id)
    try:
        read = _read(opened, form)
        live = labels_live(opened, read.settings, read.left_out)
    except InvalidInputError as error:
        live = labels_wrong(error)
    return rendering.page("parts/label_live.html", live=live)


@router.get("/labels.{kind}")
def file(desk: Desk, build_id: str, kind: str) -> Response:
    """Labels as they are kept."""
    opened = desk.open(build_id)
    return _file(opened, desk.label_settings(), desk.runs_without_labels(build_id), kind)


@router.post("/labels.{kind}")
def keep_and_file(desk: Desk, build_id: str, kind: str, form: Form) -> Response:
    """Labels as the form has them, which is kept."""
    _check_kind(kind)
    opened = desk.open(build_id)
    read = _keep(desk, opened, form)
    return _file(opened, read.settings, frozenset(read.left_out), kind)


def _read(opened: Opened, form: Posted) -> ReadLabels:
    return labels_read(form.reader(), [run.id for run in opened.plan.runs if run.wires])


def _keep(desk: BuildDesk, opened: Opened, form: Posted) -> ReadLabels:
    read = _read(opened, form)
    desk.set_labels(opened.build_id, read.settings, read.left_out)
    return read


def _file(opened: Opened, settings: LabelSettings, left_out: frozenset[str], kind: str) -> Response:
    """Labels as PDF, or as a table for label printers."""
    _check_kind(kind)
    try:
        job = label_job(opened, settings, left_out)
    except InvalidInputError as error:
        raise refused(error.problems) from error
    if not job.labels:
        raise refused((Problem("runs", "No run chosen has a measured length yet, so there is nothing to label."),))
    name = f"labels-{opened.build_id}.{kind}"
    if kind == "csv":
        return file_response(write_csv(label_table(job)), CSV_TYPE, name)
    return file_response(label_pages(opened, job), PDF_TYPE, name)


def _check_kind(kind: str) -> None:
    if kind not in ("pdf", "csv"):
        raise NotFoundError("Labels come as .pdf and as .csv.")
