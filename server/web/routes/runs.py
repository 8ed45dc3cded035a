"""One run, opened below the sheet."""

from typing import Annotated

from fastapi import APIRouter, Request
from fastapi.responses import Response

from server.domain.errors import NotFoundError
from server.domain.model.build import Run
from server.services.opened import Opened
from server.web.reading.runs import method_of, pins_of, shared_of
from server.web.screen import Desk, Posted, Scene, panel, posted, saved, show
from server.web.views.run import RunPanel, run_panel

router = APIRouter(prefix="/builds/{build_id}/runs/{run_id}")


@panel("run")
def run(scene: Scene) -> RunPanel:
    """The view of the panel."""
    known = any(held.id == scene.run_id for held in scene.opened.build.runs)
    places = scene.desk.places_by_run(scene.opened)[scene.run_id] if known else ()
    return run_panel(scene.opened, scene.run_id, scene.base, scene.fields, places, inches=scene.inches)


@router.get("")
def look(request: Request, desk: Desk, build_id: str, run_id: str) -> Response:
    """The panel."""
    return show(request, desk.open(build_id), "run")


@router.post("/rename")
def rename(
    request: Request, desk: Desk, build_id: str, run_id: str, form: Annotated[Posted, posted("run")]
) -> Response:
    """Another name for a run."""
    read = form.reader()
    return saved(request, desk.rename_run(build_id, read.base(), run_id, read.word(f"runs.{run_id}.name")), form)


@router.post("/pins")
def pin(request: Request, desk: Desk, build_id: str, run_id: str, form: Annotated[Posted, posted("run")]) -> Response:
    """Wires put by hand, and cavities that none may use."""
    read = form.reader()
    pins, forbidden = pins_of(read, run_id)
    return saved(request, desk.set_pins(build_id, read.base(), run_id, pins, forbidden), form)


@router.post("/shared")
def share_contact(
    request: Request, desk: Desk, build_id: str, run_id: str, form: Annotated[Posted, posted("run")]
) -> Response:
    """What is done with a contact that would hold two wires."""
    read = form.reader()
    return saved(request, desk.set_shared(build_id, read.base(), run_id, *shared_of(read, run_id)), form)


@router.post("/method")
def build_by(
    request: Request, desk: Desk, build_id: str, run_id: str, form: Annotated[Posted, posted("run")]
) -> Response:
    """A new cable, the supply's own reworked, or an extension of it."""
    read = form.reader()
    base = read.base()
    run = run_of(desk.open(build_id, base), run_id)
    return saved(request, desk.set_method(build_id, base, run_id, *method_of(read, run)), form)


def run_of(opened: Opened, run_id: str) -> Run:
    """The run as the builder entered it.

    Raises:
        NotFoundError: the build has no such run.
    """
    found = next((run for run in opened.build.runs if run.id == run_id), None)
    if found is None:
        raise NotFoundError("This build has no such run.")
    return found
