"""The finish step."""

from typing import Annotated

from fastapi import APIRouter, Request
from fastapi.responses import Response

from server.web.reading.finish import finish_of, run_finish_of
from server.web.screen import Desk, Posted, Scene, panel, posted, saved
from server.web.views.finish import FinishPanel, finish_panel

router = APIRouter(prefix="/builds/{build_id}")


@panel("finish", lasting=True)
def finish(scene: Scene) -> FinishPanel:
    """The view of the panel."""
    return finish_panel(scene.opened, scene.base, scene.fields)


@router.post("/finish")
def choose(request: Request, desk: Desk, build_id: str, form: Annotated[Posted, posted("finish")]) -> Response:
    """The finish of the whole build."""
    read = form.reader()
    return saved(request, desk.set_finish(build_id, read.base(), finish_of(read)), form)


@router.post("/runs/{run_id}/finish")
def choose_for_run(
    request: Request, desk: Desk, build_id: str, run_id: str, form: Annotated[Posted, posted("run")]
) -> Response:
    """What one run does otherwise."""
    read = form.reader()
    return saved(request, desk.set_run_finish(build_id, read.base(), run_id, run_finish_of(read, run_id)), form)
