"""The first screen: make, find, rename, copy, delete, bring in and take out builds."""

from typing import Annotated

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from server.domain.errors import InvalidInputError, Problem
from server.web import rendering
from server.web.forms import Typed
from server.web.screen import Desk, Posted, desk_of, posted
from server.web.views.fields import Fields
from server.web.views.home import Undo, home_page

router = APIRouter()


def page(request: Request, status: int = 200, typed: Typed | None = None) -> Response:
    """The first screen, with what was typed where a form of it was refused.

    Args:
        request: The request.
        status: HTTP status of the answer.
        typed: A refused form with its problems.
    """
    desk, query = desk_of(request), request.query_params
    search = " ".join(query.get("search", "").split())
    deleted = query.get("deleted", "")
    undo = Undo(query.get("name", "the build"), f"/builds/{deleted}/restore") if deleted.isalnum() else None
    view = home_page(desk.list_builds(search), desk.examples(), Fields(typed), search=search, undo=undo)
    return rendering.page("pages/home.html", status=status, view=view)


@router.get("/")
def home(request: Request) -> Response:
    """The first screen."""
    return page(request)


@router.post("/builds")
def create(desk: Desk, form: Annotated[Posted, posted("home")]) -> Response:
    """A new build."""
    opened = desk.create(form.reader().word("name"))
    return RedirectResponse(f"/builds/{opened.build_id}/supply?saved={opened.revision}", status_code=303)


@router.post("/examples/{example_id}")
def create_example(desk: Desk, example_id: str, form: Annotated[Posted, posted("home")]) -> Response:
    """A build of one's own from an example."""
    opened = desk.create_example(example_id)
    return RedirectResponse(f"/builds/{opened.build_id}/supply?saved={opened.revision}", status_code=303)


@router.post("/import")
def bring_in(desk: Desk, form: Annotated[Posted, posted("home")]) -> Response:
    """A build from a JSON file."""
    if "file" not in form.files:
        raise InvalidInputError((Problem("file", "Choose a build file first."),))
    opened = desk.import_json(form.files["file"])
    return RedirectResponse(f"/builds/{opened.build_id}/supply?saved={opened.revision}", status_code=303)


@router.post("/builds/{build_id}/rename")
def rename(desk: Desk, build_id: str, form: Annotated[Posted, posted("home")]) -> Response:
    """Another name for a build."""
    read = form.reader()
    build = desk.open(build_id).build
    desk.rename(build_id, read.base(), read.word(f"rename.{build_id}"), build.client, build.notes)
    return RedirectResponse("/", status_code=303)


@router.post("/builds/{build_id}/duplicate")
def duplicate(desk: Desk, build_id: str, form: Annotated[Posted, posted("home")]) -> Response:
    """A copy of a build."""
    desk.duplicate(build_id)
    return RedirectResponse("/", status_code=303)


@router.post("/builds/{build_id}/delete")
def delete(request: Request, desk: Desk, build_id: str, form: Annotated[Posted, posted("home")]) -> Response:
    """Away with a build, with a way back."""
    name = desk.delete(build_id)
    return RedirectResponse(request.url_for("home").include_query_params(deleted=build_id, name=name), status_code=303)


@router.post("/builds/{build_id}/restore")
def restore(desk: Desk, build_id: str, form: Annotated[Posted, posted("home")]) -> Response:
    """A deleted build back again."""
    desk.restore(build_id)
    return RedirectResponse("/", status_code=303)


@router.get("/builds/{build_id}/export")
def export(desk: Desk, build_id: str) -> Response:
    """The build as one JSON file."""
    headers = {"Content-Disposition": f'attachment; filename="build-{build_id}.json"', "Cache-Control": "no-store"}
    return Response(desk.export_json(build_id), media_type="application/json", headers=headers)
