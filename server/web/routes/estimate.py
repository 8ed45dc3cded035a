"""The estimate with its rates and allowances."""

from typing import Annotated

from fastapi import APIRouter, Request
from fastapi.responses import Response

from server.web.reading.estimate import allowances_of, rates_of
from server.web.screen import Desk, Posted, Scene, panel, posted, saved
from server.web.views.estimate import EstimatePanel, estimate_panel
from server.web.views.learning import learned

router = APIRouter(prefix="/builds/{build_id}")


@panel("estimate")
def estimate(scene: Scene) -> EstimatePanel:
    """The view of the panel; a revision can be given a name without another one being saved."""
    opened, learning = scene.opened, scene.learning
    times, losses = learning.learned_times(opened), learning.learned_losses(opened)
    taught = learned(opened, times, losses, scene.base, scene.fields)
    return estimate_panel(opened, scene.base, scene.fields, scene.desk.since_named(opened), taught)


@router.post("/rates")
def rates(request: Request, desk: Desk, build_id: str, form: Annotated[Posted, posted("estimate")]) -> Response:
    """What turns materials and hours into a price."""
    read = form.reader()
    return saved(request, desk.set_rates(build_id, read.base(), rates_of(read)), form)


@router.post("/allowances")
def allowances(request: Request, desk: Desk, build_id: str, form: Annotated[Posted, posted("estimate")]) -> Response:
    """What is added to every wire and bought as reserve."""
    read = form.reader()
    base = read.base()
    allowances = allowances_of(read, desk.open(build_id, base).build.allowances)
    return saved(request, desk.set_allowances(build_id, base, allowances), form)
