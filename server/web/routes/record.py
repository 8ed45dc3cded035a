"""What is kept of a build: history, share links, details."""

from typing import Annotated

from fastapi import APIRouter, Request
from fastapi.responses import Response

from server.web.screen import Desk, Outcome, Posted, Scene, panel, posted, saved, show
from server.web.views.record import DetailsPanel, HistoryPanel, SharePanel, details_panel, history_panel, share_panel

router = APIRouter(prefix="/builds/{build_id}")


@panel("history")
def history(scene: Scene) -> HistoryPanel:
    """The view of the revisions."""
    return history_panel(scene.opened, scene.base, scene.desk.revisions(scene.opened.build_id))


@panel("share")
def share(scene: Scene) -> SharePanel:
    """The view of the share links."""
    return share_panel(scene.opened, scene.base, scene.desk.shares(scene.opened.build_id), scene.token)


@panel("details")
def details(scene: Scene) -> DetailsPanel:
    """The view of the details."""
    return details_panel(scene.opened, scene.base, scene.fields)


@router.post("/history/{number}")
def go_back(
    request: Request, desk: Desk, build_id: str, number: int, form: Annotated[Posted, posted("history")]
) -> Response:
    """An earlier revision, saved again as the newest."""
    return saved(request, desk.go_back(build_id, form.reader().base(), number), form)


@router.post("/share")
def make_link(request: Request, desk: Desk, build_id: str, form: Annotated[Posted, posted("share")]) -> Response:
    """A new share link. It is answered at once and not after a redirect, since its secret is shown only this time."""
    link = str(request.url_for("shared", token=desk.share(build_id)))
    return show(request, desk.open(build_id), "share", Outcome(message="Link made: copy it now.", token=link))


@router.post("/share/{share_id}/revoke")
def revoke(
    request: Request, desk: Desk, build_id: str, share_id: str, form: Annotated[Posted, posted("share")]
) -> Response:
    """A share link that opens nothing any more."""
    desk.revoke_share(build_id, share_id)
    return saved(request, desk.open(build_id), form)


@router.post("/details")
def rename(request: Request, desk: Desk, build_id: str, form: Annotated[Posted, posted("details")]) -> Response:
    """Name, client and notes."""
    read = form.reader()
    name, client, notes = read.word("name"), read.word("client"), read.text("notes")
    return saved(request, desk.rename(build_id, read.base(), name, client, notes), form)
