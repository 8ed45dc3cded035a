"""Drawings of a build as SVG files to save."""

from fastapi import APIRouter
from fastapi.responses import Response

from server.web.screen import Desk
from server.web.views.drawings import build_drawing, run_drawing

SVG_TYPE = "image/svg+xml; charset=utf-8"

router = APIRouter(prefix="/builds/{build_id}/drawings")


@router.get("/{name}.svg")
def of_build(desk: Desk, build_id: str, name: str) -> Response:
    """The harness, or the rolls of one material."""
    return _file(*build_drawing(desk.open(build_id), name))


@router.get("/{run_id}/{name}.svg")
def of_run(desk: Desk, build_id: str, run_id: str, name: str) -> Response:
    """One drawing of a run."""
    return _file(*run_drawing(desk.open(build_id), run_id, name))


def _file(drawing: str, name: str) -> Response:
    """A drawing as a file to save."""
    headers = {"Content-Disposition": f'attachment; filename="{name}.svg"', "Cache-Control": "no-store"}
    text = f'<?xml version="1.0" encoding="UTF-8"?>\n{drawing}\n'
    return Response(text.encode(), media_type=SVG_TYPE, headers=headers)
