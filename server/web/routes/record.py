"""What is kept of a build: history, share links, details."""

import re
from typing import Annotated

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from server.services.opened import Opened
from server.web import rendering
from server.web.forms import Typed
from server.web.screen import Desk, Outcome, Posted, Scene, address, panel, posted, saved, show, wants_panel
from server.web.views.differences import effect
from server.web.views.record import (
    DetailsPanel,
    HistoryPanel,
    SharePanel,
    compared_line,
    details_panel,
    history_panel,
    share_panel,
)

router = APIRouter(prefix="/builds/{build_id}")


@panel("history")
def history(scene: Scene) -> HistoryPanel:
    """The view of the revisions, those compared whose numbers the address or the form gives."""
    desk, opened = scene.desk, scene.opened
    revisions, names = desk.revisions(opened.build_id), desk.revision_names(opened.build_id)
    known = {r.number: found for r in revisions if (found := desk.effect_if_known(opened.build_id, r.number))}
    effects = {number: effect(found) for number, found in known.items()}
    first, second = scene.fields.sent.first("first"), scene.fields.sent.first("second")
    compared = None
    if re.fullmatch("[0-9]{1,9}", first) and re.fullmatch("[0-9]{1,9}", second):
        compared = compared_line(desk.compare(opened.build_id, int(first), int(second)), names)
    return history_panel(opened, scene.base, scene.fields, revisions, names, effects, compared)


@panel("share")
def share(scene: Scene) -> SharePanel:
    """The view of the share links."""
    return share_panel(scene.opened, scene.base, scene.desk.shares(scene.opened.build_id), scene.token)


@panel("details")
def details(scene: Scene) -> DetailsPanel:
    """The view of the details."""
    return details_panel(scene.opened, scene.base, scene.fields)


@router.get("/history/compare")
def compare(request: Request, desk: Desk, build_id: str, first: str = "", second: str = "") -> Response:
    """Two revisions held against each other."""
    typed = Typed({name: (text,) for name, text in (("first", first), ("second", second)) if text})
    return show(request, desk.open(build_id), "history", Outcome(typed=typed))


@router.get("/history/{number}/effect")
def effect_of(desk: Desk, build_id: str, number: int) -> Response:
    """What one revision did to wires, money and hours; asked for once its line is seen, since it takes two plans."""
    return rendering.page("parts/effect.html", effect=effect(desk.effect(build_id, number)))


@router.post("/history/{number}/name")
def name_it(
    request: Request, desk: Desk, build_id: str, number: int, form: Annotated[Posted, posted("history")]
) -> Response:
    """A name for a revision."""
    name = form.reader().word(f"names.{number}")
    desk.name_revision(build_id, number, name)
    return _named(request, desk.open(build_id), f"Revision {number} is called ‘{name}’.")


@router.post("/history/{number}/unname")
def unname(
    request: Request, desk: Desk, build_id: str, number: int, form: Annotated[Posted, posted("history")]
) -> Response:
    """A revision's name taken away."""
    desk.unname_revision(build_id, number)
    return _named(request, desk.open(build_id), f"Revision {number} has no name any more.")


def _named(request: Request, opened: Opened, message: str) -> Response:
    """The history after a name came or went; no revision was saved by it."""
    if wants_panel(request):
        return show(request, opened, "history", Outcome(message=message))
    return RedirectResponse(address(request, opened, "history"), status_code=303)


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
