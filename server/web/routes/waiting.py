"""Cut now or wait; its form is taken by the routes."""

from fastapi import APIRouter, Request
from fastapi.responses import Response

from server.web.screen import Desk, Scene, panel, show
from server.web.views.waiting import WaitingPanel, waiting_panel

router = APIRouter(prefix="/builds/{build_id}")


@panel("waiting", lasting=True)
def waiting(scene: Scene) -> WaitingPanel:
    """The view of the panel."""
    return waiting_panel(scene.opened, scene.base, scene.fields, inches=scene.inches)


@router.get("/waiting")
def look(request: Request, desk: Desk, build_id: str) -> Response:
    """The panel."""
    return show(request, desk.open(build_id), "waiting")
