"""The routes step: how long each run is."""

from typing import Annotated

from fastapi import APIRouter, Request
from fastapi.responses import Response

from server.web.reading.routes import routes_read
from server.web.screen import UNIT_COOKIE, Desk, Posted, Scene, panel, posted, saved, show, wants_inches
from server.web.views.routes import RoutesPanel, routes_panel

router = APIRouter(prefix="/builds/{build_id}")


@panel("routes", lasting=True)
def routes(scene: Scene) -> RoutesPanel:
    """The view of the panel."""
    return routes_panel(scene.opened, scene.base, scene.fields, inches=scene.inches)


@router.get("/routes")
def look(request: Request, desk: Desk, build_id: str) -> Response:
    """The panel, in the unit asked for and remembered."""
    response = show(request, desk.open(build_id), "routes")
    if "unit" in request.query_params:
        unit = "in" if wants_inches(request) else "mm"
        response.set_cookie(UNIT_COOKIE, unit, max_age=31_536_000, httponly=True, samesite="strict")
    return response


@router.post("/routes")
def measure(request: Request, desk: Desk, build_id: str, form: Annotated[Posted, posted("routes")]) -> Response:
    """The lengths of every run in the table, or of the one run that is open."""
    read = form.reader()
    base = read.base()
    found = routes_read(read, desk.open(build_id, base))
    return saved(request, desk.set_routes(build_id, base, found.entries), form, found.spread, found.replaced)


@router.post("/runs/{run_id}/route")
def measure_one(
    request: Request, desk: Desk, build_id: str, run_id: str, form: Annotated[Posted, posted("run")]
) -> Response:
    """The length of one run."""
    return measure(request, desk, build_id, form)
