"""The screen at the bench: its page, the forms that serve without a script, and what keeps the page on a device."""

import json
from hashlib import sha256
from typing import Annotated
from urllib.parse import urlencode
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from server.config import ROOT
from server.domain.errors import InvalidInputError
from server.services.bench_tasks import tasks_of
from server.services.bench_ticks import work_ticks
from server.services.opened import Opened
from server.web import rendering
from server.web.reading.bench_plain import plain_tick
from server.web.screen import Bench, Desk, Posted, posted
from server.web.views.bench_plain import Asked
from server.web.views.bench_screen import bench_page

router = APIRouter(prefix="/bench")
STATIC = ROOT / "static"
_SHEETS = ("tokens", "base", "drawing", "bench", "bench-task")
_WORKER = "js/bench/worker.js"


@router.get("/worker.js")
def worker() -> Response:
    """The script that keeps the page on a device; served from here, so that it may answer for ``/bench/`` alone.

    It begins with a mark of all its files: when one of them changes, so does this script, and every device takes both.
    """
    sheets, scripts = _files()
    marks = sha256()
    for name in (*sheets, *scripts, f"/static/{_WORKER}"):
        marks.update((STATIC.parent / name.lstrip("/")).read_bytes())
    kept = json.dumps({"version": marks.hexdigest()[:16], "files": [*sheets, *scripts]})
    text = f"const KEPT = {kept};\n{(STATIC / _WORKER).read_text('utf-8')}"
    return Response(text, media_type="text/javascript", headers={"Cache-Control": "no-cache"})


@router.get("/{build_id}")
def look(request: Request, desk: Desk, build_id: str) -> Response:
    """The page: one run or one stage in its plain list, everything on the screen that its script makes of it."""
    query = request.query_params
    shown = f"stage:{query['stage']}" if "stage" in query else f"run:{query.get('run', '')}"
    told = {name: query.get(name, "") for name in ("ticked", "undone", "again")}
    return _page(desk.open(build_id), Asked(shown, str(uuid4()), **told))


@router.post("/{build_id}/tick")
def tick(desk: Desk, bench: Bench, build_id: str, form: Annotated[Posted, posted("bench")]) -> Response:
    """One task ticked or taken back by a form, and the way back to the list."""
    shown = form.typed.first("shown")
    try:
        device, told = plain_tick(form.typed)
    except InvalidInputError as error:
        return _page(desk.open(build_id), Asked(shown, str(uuid4()), refused=error.problems[0].message), status=422)
    result = work_ticks(desk, bench, build_id, device, (told,))[0]
    if result.state == "refused":
        return _page(desk.open(build_id), Asked(shown, str(uuid4()), refused=result.message), status=409)
    word = "undone" if told.kind == "undo" else "ticked" if result.state == "written" else "again"
    return RedirectResponse(f"/bench/{build_id}?{_back(shown)}&{urlencode({word: told.task})}", status_code=303)


def _back(shown: str) -> str:
    """The query that shows the same list again."""
    kind, _, name = shown.partition(":")
    return urlencode({"stage" if kind == "stage" else "run": name})


def _page(opened: Opened, asked: Asked, *, status: int = 200) -> Response:
    return rendering.page(
        "pages/bench.html", status=status, view=bench_page(opened, tasks_of(opened), asked, *_files())
    )


def _files() -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Addresses of the page's stylesheets and scripts."""
    scripts = sorted(path.name for path in (STATIC / "js" / "bench").glob("*.js") if path.name != "worker.js")
    return tuple(f"/static/css/{name}.css" for name in _SHEETS), tuple(f"/static/js/bench/{name}" for name in scripts)
