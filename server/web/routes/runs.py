"""One run, opened below the sheet."""

from typing import Annotated

from fastapi import APIRouter, Request
from fastapi.responses import Response

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
