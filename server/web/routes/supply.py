"""The supply step."""

from typing import Annotated

from fastapi import APIRouter, Request
from fastapi.responses import Response

from server.web.screen import Desk, Posted, Scene, panel, posted, saved
from server.web.views.supply import SupplyPanel, supply_panel

router = APIRouter()


@panel("supply")
def supply(scene: Scene) -> SupplyPanel:
    """The view of the panel."""
    return supply_panel(scene.opened, scene.base, scene.fields)


@router.post("/builds/{build_id}/supply")
def choose(request: Request, desk: Desk, build_id: str, form: Annotated[Posted, posted("supply")]) -> Response:
    """Another supply layout."""
    read = form.reader()
    return saved(request, desk.choose_supply(build_id, read.base(), read.word("supply")), form)
