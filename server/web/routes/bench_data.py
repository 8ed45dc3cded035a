"""What the bench screen reads and sends: the tasks as JSON, and ticks that may have waited for a connection."""

from fastapi import APIRouter
from fastapi.responses import JSONResponse, Response

from server.domain.errors import InvalidInputError
from server.services.bench_tasks import tasks_of
from server.services.bench_ticks import work_ticks
from server.web.api_answers import Body, Known, content_tag, document
from server.web.reading.ticks import read_ticks
from server.web.screen import Bench, Desk
from server.web.views.bench_json import Texts, results_json, tasks_json

router = APIRouter(prefix="/bench/{build_id}")


@router.get("/tasks.json")
def tasks(desk: Desk, build_id: str, known: Known = None) -> Response:
    """Everything to do, or the word that nothing has changed since the tag that the screen knows."""
    opened = desk.open(build_id)
    text = opened.once("bench tasks json", lambda: tasks_json(tasks_of(opened), opened.lasting("bench texts", Texts)))
    # The revision and the ledger say when it may change; parts and layouts may too, so the tag is that of the text.
    return document(text, opened.once("bench tasks tag", lambda: content_tag(text)), known)


@router.post("/ticks")
def ticks(desk: Desk, bench: Bench, build_id: str, body: Body) -> Response:
    """What became of each tick, in the order sent; a body that cannot be read is refused as a whole."""
    try:
        device, sent = read_ticks(body)
    except InvalidInputError as error:
        told = [{"field": problem.field, "message": problem.message} for problem in error.problems]
        return JSONResponse({"detail": "These ticks cannot be read; nothing was written.", "problems": told}, 422)
    results = work_ticks(desk, bench, build_id, device, sent)
    headers = {"Cache-Control": "no-store"}
    return Response(results_json(results, bench.bench().entries), media_type="application/json", headers=headers)
