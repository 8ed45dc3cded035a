"""The addresses of a build's panels."""

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from server.domain.errors import NotFoundError
from server.web.screen import Desk, show
from server.web.views.frame import TITLES

router = APIRouter(prefix="/builds/{build_id}")


@router.get("")
def start(desk: Desk, build_id: str) -> Response:
    """The first step of the build that is not done yet."""
    build = desk.open(build_id).build
    step = "supply" if not build.supply else "parts" if not build.parts else "routes"
    return RedirectResponse(f"/builds/{build_id}/{step}", status_code=303)


@router.get("/{name}")
def look(request: Request, desk: Desk, build_id: str, name: str) -> Response:
    """A panel by its name."""
    if name not in TITLES:
        raise NotFoundError("There is no such page in this build.")
    return show(request, desk.open(build_id), name)
