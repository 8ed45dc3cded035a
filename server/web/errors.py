"""Every failure that a person can be told about, as an answer in HTML."""

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import Response
from starlette.exceptions import HTTPException

from server.domain.errors import ConflictError, InvalidInputError, LoomwrightError, NotFoundError, Problem
from server.services.opened import Opened
from server.web import rendering
from server.web.merging import Merged, merge
from server.web.routes import home
from server.web.screen import ABOUT_A_RUN, Outcome, Posted, desk_of, fields_of, show, wants_panel
from server.web.views import frame
from server.web.views.notice import Notice, import_refused


def install(app: FastAPI) -> None:
    """Give the application its answers to failures.

    Args:
        app: The application that serves the pages.
    """
    app.add_exception_handler(LoomwrightError, answer)
    app.add_exception_handler(HTTPException, _http)
    app.add_exception_handler(RequestValidationError, _no_such_page)
    app.add_exception_handler(Exception, _fault)


def answer(request: Request, error: Exception) -> Response:
    """The HTML answer to a failure: the same panel with what was typed, or a page that says what is missing.

    Args:
        request: The request that failed.
        error: What went wrong.

    Returns:
        422 for input that cannot be accepted, 409 for a conflict, 404 for what does not exist.
    """
    form: Posted | None = getattr(request.state, "posted", None)
    build_id = request.path_params.get("build_id")
    if isinstance(error, NotFoundError):
        return _notice(request, 404, "Not found", str(error) or "There is no such page.")
    if form and "file" in form.files and isinstance(error, InvalidInputError):
        return rendering.page("pages/notice.html", status=422, view=import_refused(error.problems))
    if form and form.panel == "home" and isinstance(error, InvalidInputError):
        return home.page(request, 422, form.typed.with_problems(error.problems))
    if form and form.panel == "home" and isinstance(error, ConflictError):
        text = f"Revision {error.latest} was saved meanwhile: {'; '.join(error.changes)}. Rename it again to go on."
        return home.page(request, 409, form.typed.with_problems((Problem(f"rename.{build_id}", text),)))
    if form and build_id and isinstance(error, InvalidInputError):
        return _refused(request, form, build_id, error)
    if form and build_id and isinstance(error, ConflictError):
        return _conflict(request, form, build_id, error)
    if isinstance(error, ConflictError):
        return _notice(request, 409, "Saved by somebody else meanwhile", str(error))
    return _notice(request, 422, "That cannot be done", str(error))


def _refused(request: Request, form: Posted, build_id: str, error: InvalidInputError) -> Response:
    """The same panel, the text as typed, the message beside its field, and the same base as before."""
    opened = desk_of(request).open(build_id)
    base = form.typed.first("revision")
    outcome = Outcome(
        status=422,
        typed=form.typed.with_problems(error.problems),
        base=int(base) if base.isdecimal() and len(base) < 10 else opened.revision,
        message="Not saved: " + ("one entry needs" if len(error.problems) == 1 else "some entries need") + " a look.",
    )
    return show(request, opened, _panel_left(request, form, opened), outcome)


def _conflict(request: Request, form: Posted, build_id: str, error: ConflictError) -> Response:
    """The newest panel with what was typed, what changed in words, and both ways on."""
    opened = desk_of(request).open(build_id)
    merged = _merged(request, form, opened)
    kept = tuple(pair for pair in merged.typed.pairs() if pair[0] != "revision")
    way_back = _way_back(request, form, build_id)
    conflict = frame.Conflict(error.latest, error.changes, request.url.path, way_back, kept, merged.mine, merged.lost)
    outcome = Outcome(
        status=409,
        typed=merged.typed,
        base=opened.revision,
        message=f"Not saved: revision {error.latest} was saved meanwhile.",
        conflict=conflict,
    )
    return show(request, opened, _panel_left(request, form, opened), outcome)


def _merged(request: Request, form: Posted, opened: Opened) -> Merged:
    """What was typed, on top of the newest revision: fields that were left as they stood take what it holds."""
    base = form.typed.first("revision")
    if _panel_left(request, form, opened) != form.panel or not (base.isdecimal() and len(base) < 10):
        return Merged(form.typed)
    try:
        before = desk_of(request).open(opened.build_id, int(base))
        return merge(fields_of(request, before, form), fields_of(request, opened, form), form.typed)
    except NotFoundError:
        # The form names a revision, or stands on a run, that the build never had.
        return Merged(form.typed)


def _panel_left(request: Request, form: Posted, opened: Opened) -> str:
    """The panel that asked, or the routes where the run it was about is gone."""
    run_id = request.path_params.get("run_id")
    gone = form.panel in ABOUT_A_RUN and all(run.id != run_id for run in opened.build.runs)
    return "routes" if gone else form.panel


def _way_back(request: Request, form: Posted, build_id: str) -> str:
    """The address that shows the newest revision without what was typed."""
    if form.panel in ABOUT_A_RUN:
        run = f"/builds/{build_id}/runs/{request.path_params['run_id']}"
        return run if form.panel == "run" else f"{run}/{form.panel}"
    return f"/builds/{build_id}/{form.panel}"


def _http(request: Request, error: Exception) -> Response:
    """The answer to an address or method that nothing serves."""
    status = error.status_code if isinstance(error, HTTPException) else 500
    if status == 404:
        return _no_such_page(request, error)
    return _notice(request, status, "That cannot be done", str(getattr(error, "detail", "")))


def _no_such_page(request: Request, error: Exception) -> Response:
    """The answer to an address that leads nowhere."""
    return _notice(request, 404, "Not found", "There is no such page.")


def _fault(request: Request, error: Exception) -> Response:
    """The answer to a fault of the planner. A script leaves what was typed where it stands and only says so."""
    response = _notice(
        request, 500, "The planner failed at this", "Nothing was saved. Its terminal says where it failed."
    )
    if wants_panel(request):
        response.headers["HX-Reswap"] = "none"
    return response


def _notice(request: Request, status: int, heading: str, text: str) -> Response:
    """A page, or the middle of one, that says what happened and where to go."""
    build_id = request.path_params.get("build_id")
    notice = Notice(heading, text, f"/builds/{build_id}" if build_id and status != 404 else "/")
    template = "pages/notice_panel.html" if wants_panel(request) else "pages/notice.html"
    return rendering.page(template, status=status, view=notice)
