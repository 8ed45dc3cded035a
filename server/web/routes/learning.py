"""Taking what the bench measured, from the estimate: one click each, and nothing without one."""

from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from server.services.opened import Opened
from server.web.forms import beside
from server.web.reading.learning import minutes_of, spare_of, time_of
from server.web.screen import Desk, Learning, Outcome, Posted, posted, saved, show, wants_panel
from server.web.views.learning import taken_message

router = APIRouter(prefix="/builds/{build_id}/estimate")
EstimateForm = Annotated[Posted, posted("estimate")]


@router.get("")
def look(request: Request, desk: Desk, build_id: str) -> Response:
    """The estimate, with a word on what was taken before the way back led here."""
    opened = desk.open(build_id)
    message = _told(opened, request.query_params.get("learned", ""), request.query_params.get("timed", ""))
    return show(request, opened, "estimate", Outcome(message=message) if message else None)


@router.post("/minutes")
def minutes(request: Request, desk: Desk, learning: Learning, build_id: str, form: EstimateForm) -> Response:
    """Measured minutes in place of those of the labour table."""
    desk.open(build_id)
    read = form.reader()
    operation = read.word("operation")
    with beside({"minutes": f"learned.{operation}"}):
        learning.take_minutes(operation, minutes_of(read, "minutes"))
    return _done(request, desk.open(build_id), learned=operation)


@router.post("/shipped")
def shipped(request: Request, desk: Desk, learning: Learning, build_id: str, form: EstimateForm) -> Response:
    """The shipped minutes again."""
    operation = form.reader().word("operation")
    learning.shipped_minutes(operation)
    return _done(request, desk.open(build_id), learned=operation)


@router.post("/times")
def times(request: Request, desk: Desk, learning: Learning, build_id: str, form: EstimateForm) -> Response:
    """A time that was taken by hand."""
    entry, base = time_of(form.reader(), build_id)
    with beside({"operation": "time.operation", "count": "time.count", "seconds": "time.taken"}):
        number = learning.write_time(entry, base)
    return _done(request, desk.open(build_id), timed=str(number))


@router.post("/spares")
def spares(request: Request, learning: Learning, build_id: str, form: EstimateForm) -> Response:
    """Measured spares in place of those that the build counts with."""
    read = form.reader()
    base = read.base()
    of, spare = spare_of(read)
    with beside({"spare": f"learned.{of}"}):
        opened = learning.take_spare(build_id, base, of, spare)
    return saved(request, opened, form)


def _done(request: Request, opened: Opened, *, learned: str = "", timed: str = "") -> Response:
    """The estimate as it stands now, or the way to it."""
    if not wants_panel(request):
        query = urlencode({"learned": learned} if learned else {"timed": timed})
        return RedirectResponse(f"/builds/{opened.build_id}/estimate?{query}#learned", status_code=303)
    return show(request, opened, "estimate", Outcome(message=_told(opened, learned, timed)))


def _told(opened: Opened, learned: str, timed: str) -> str:
    """What was taken or written, in words."""
    entry = opened.catalogue.labour.get(learned)
    if entry is not None:
        return taken_message(entry.name, entry.minutes)
    known = timed.isascii() and timed.isdecimal() and len(timed) < 10 and 0 < int(timed) <= opened.ledger
    return f"Written as entry {int(timed)} of the ledger." if known else ""
