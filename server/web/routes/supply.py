"""The supply step."""

from typing import Annotated

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from server.web.routes.layouts import Layouts
from server.web.screen import Desk, Posted, Scene, panel, posted, saved
from server.web.views.supply import SupplyPanel, supply_panel

router = APIRouter()


@panel("supply")
def supply(scene: Scene) -> SupplyPanel:
    """The view of the panel."""
    revisions = scene.desk.revisions(scene.opened.build_id)
    newest = next((each.words for each in revisions if each.number == scene.opened.revision), ())
    return supply_panel(scene.opened, scene.base, scene.fields, newest)


@router.post("/builds/{build_id}/supply")
def choose(request: Request, desk: Desk, build_id: str, form: Annotated[Posted, posted("supply")]) -> Response:
    """Another supply layout, or a newer version of the same where that was asked for."""
    read, now = form.reader(), desk.open(build_id)
    base, wanted = read.base(), read.word("supply")
    if wanted and wanted == now.build.supply and base == now.revision and read.word("take") != "newest":
        # The same layout once more is no wish for its newer version.
        return saved(request, now, form)
    return saved(request, desk.choose_supply(build_id, base, wanted), form)


@router.post("/builds/{build_id}/supply/copy")
def make_own(desk: Desk, layouts: Layouts, build_id: str, form: Annotated[Posted, posted("supply")]) -> Response:
    """A copy of the build's sample as a layout of one's own, taken into the build, ready to be metered."""
    now, base = desk.open(build_id), form.reader().base()
    if base != now.revision:
        # Refused before a copy is made that nothing would use.
        desk.choose_supply(build_id, base, now.build.supply)
    made = layouts.copy(now.build.supply)
    desk.choose_supply(build_id, base, made.layout.id)
    return RedirectResponse(f"/layouts/{made.layout.id}/metering?build={build_id}&saved=1", status_code=303)
