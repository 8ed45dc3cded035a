"""The roll plan with its settings."""

from typing import Annotated

from fastapi import APIRouter, Request
from fastapi.responses import Response

from server.web.reading.rolls import roll_settings_of
from server.web.screen import Desk, Posted, Scene, panel, posted, saved
from server.web.views.rolls import RollsPanel, rolls_panel

router = APIRouter(prefix="/builds/{build_id}")


@panel("rolls", lasting=True)
def rolls(scene: Scene) -> RollsPanel:
    """The view of the panel."""
    return rolls_panel(scene.opened, scene.base, scene.fields)


@router.post("/rolls")
def settings(request: Request, desk: Desk, build_id: str, form: Annotated[Posted, posted("rolls")]) -> Response:
    """What is lost at a cut, and which leftover is worth keeping."""
    read = form.reader()
    base = read.base()
    allowances = roll_settings_of(read, desk.open(build_id, base).build.allowances)
    return saved(request, desk.set_allowances(build_id, base, allowances), form)
