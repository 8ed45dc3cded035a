"""What a client sees behind a share link."""

from fastapi import APIRouter
from fastapi.responses import Response

from server.web import rendering
from server.web.screen import Desk
from server.web.views.shared import shared_page

router = APIRouter()


@router.get("/share/{token}")
def shared(desk: Desk, token: str) -> Response:
    """The client's page, which search engines are asked to leave alone."""
    opened = desk.open_shared(token)
    response = rendering.page("pages/shared.html", view=shared_page(opened, desk.since_named(opened)))
    response.headers["X-Robots-Tag"] = "noindex, nofollow"
    return response
