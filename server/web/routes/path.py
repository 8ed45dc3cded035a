"""One run's route by legs and bends: the editor, its drawing while it is written, and paths kept under a name."""

from dataclasses import replace
from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from server.domain.edits import RouteEntry
from server.domain.errors import InvalidInputError, Problem
from server.domain.model.build import Run
from server.services.opened import Opened
from server.web import rendering
from server.web.forms import Typed
from server.web.reading.path import (
    ROWS_LEAST,
    ReadSteps,
    Row,
    changed_rows,
    length_entry,
    path_entry,
    read_steps,
    rows_of,
    typed_reach,
    typed_rows,
    with_rows,
)
from server.web.screen import (
    UNIT_COOKIE,
    Desk,
    Outcome,
    Posted,
    Scene,
    address,
    panel,
    posted,
    show,
    wants_inches,
    wants_panel,
)
from server.web.views import formats
from server.web.views.path import PathPanel, path_panel, planned
from server.web.views.path_live import path_live, taken_words

router = APIRouter(prefix="/builds/{build_id}/runs/{run_id}/path")
Form = Annotated[Posted, posted("path")]


@panel("path")
def path(scene: Scene) -> PathPanel:
    """The view of the panel."""
    _, run = planned(scene.opened, scene.run_id)
    rows = typed_rows(scene.fields.sent, run.id) or _shown_rows(run, inches=scene.inches)
    read = read_steps(rows, run, scene.opened.catalogue, inches=scene.inches)
    reach, _ = typed_reach(scene.fields.sent, run)
    return path_panel(scene, rows, scene.desk.try_path(scene.opened, run.id, read.steps, reach), read)


@router.get("")
def look(request: Request, desk: Desk, build_id: str, run_id: str) -> Response:
    """The editor, in the unit asked for and remembered."""
    opened = desk.open(build_id)
    told = _told(request, opened, run_id)
    response = show(request, opened, "path", Outcome(message=told) if told else None)
    if "unit" in request.query_params:
        unit = "in" if wants_inches(request) else "mm"
        response.set_cookie(UNIT_COOKIE, unit, max_age=31_536_000, httponly=True, samesite="strict")
    return response


@router.post("")
def press(request: Request, desk: Desk, build_id: str, run_id: str, form: Form) -> Response:
    """Whatever one of the editor's buttons asks for; without one, to save the legs and bends."""
    verb = form.typed.first("do").partition(".")[0]
    if verb in ("", "steps", "length"):
        return _save(request, desk, build_id, run_id, form)
    if verb in ("keep", "forget"):
        return _shelf(request, desk, build_id, run_id, form)
    return _redrawn(request, desk.open(build_id), run_id, form)


@router.post("/preview")
def preview(request: Request, desk: Desk, build_id: str, run_id: str, form: Form) -> Response:
    """The drawing and its figures as the rows stand; nothing is saved."""
    opened = desk.open(build_id)
    _, run = planned(opened, run_id)
    steps = _steps(opened, run, form)
    reach, wrong = typed_reach(form.typed, run)
    read = replace(steps, problems=(*steps.problems, *wrong))
    live = path_live(desk.try_path(opened, run_id, read.steps, reach), read, run_id, inches=_inches(form))
    return rendering.page("parts/path_live.html", live=live)


def _save(request: Request, desk: Desk, build_id: str, run_id: str, form: Posted) -> Response:
    """Save the legs and bends, or the measured length in their place."""
    read = form.reader()
    base = read.base()
    opened = desk.open(build_id, base)
    _, run = planned(opened, run_id)
    taken: tuple[int, ...] = ()
    if form.typed.first("do") == "length":
        entry = length_entry(read, run)
    else:
        steps = _steps(opened, run, form)
        for problem in steps.problems:
            read.problem(problem.field, problem.message)
        draft = desk.try_path(opened, run_id, steps.steps)
        entry, taken = path_entry(read, run, draft.steps), draft.suggested
    after = desk.set_path(build_id, base, run_id, entry)
    return _answer(request, after, form, _codes(run, entry, taken))


def _shelf(request: Request, desk: Desk, build_id: str, run_id: str, form: Posted) -> Response:
    """Keep the path under a name, or let go of one; what is typed stays as it is."""
    opened = desk.open(build_id)
    _, run = planned(opened, run_id)
    verb, _, shape_id = form.typed.first("do").partition(".")
    if verb == "forget":
        message = f"“{desk.remove_shape(shape_id)}” is no longer among your paths. Routes that started from it stay."
    else:
        steps = _steps(opened, run, form)
        if steps.problems:
            raise InvalidInputError(steps.problems)
        filled = desk.try_path(opened, run_id, steps.steps).steps
        message = f"Kept as “{desk.keep_shape(form.reader().word('shape_name'), filled).name}” among your paths."
    rows = typed_rows(form.typed, run_id) or ()
    values = {**form.typed.values, "shape_name": ("",)} if verb == "keep" else form.typed.values
    return _drafted(request, desk.open(build_id), with_rows(Typed(values), run_id, rows), message)


def _redrawn(request: Request, opened: Opened, run_id: str, form: Posted) -> Response:
    """The editor with its rows changed by one button; nothing is saved."""
    rows, do = typed_rows(form.typed, run_id) or (), form.typed.first("do")
    focus = ""
    if do in ("start", "append"):
        shape = opened.catalogue.shapes.get(form.typed.first("start"))
        if shape is None:
            raise InvalidInputError((Problem("start", "Pick a path of the list."),))
        written = tuple(row for row in rows if not row.is_blank) if do == "append" else ()
        rows = (*written, *rows_of(shape.steps, inches=_inches(form)))
    elif do != "draw":
        rows, focus = changed_rows(rows, do)
    # Nothing to say on top, where saving is told: the panel itself says that the rows are not saved.
    return _drafted(request, opened, with_rows(form.typed, run_id, rows, focus), "")


def _drafted(request: Request, opened: Opened, typed: Typed, message: str) -> Response:
    """The editor as it is written, on the revision that it was begun on."""
    base = typed.first("revision")
    number = int(base) if base.isdecimal() and len(base) < 10 else None
    return show(request, opened, "path", Outcome(typed=typed, base=number, message=message))


def _answer(request: Request, opened: Opened, form: Posted, codes: list[tuple[str, str]]) -> Response:
    """The editor as saved, with what is to be said of it, or the way to its address."""
    query = [("saved", str(opened.revision)), *codes]
    if not wants_panel(request):
        return RedirectResponse(f"{address(request, opened, 'path')}?{urlencode(query)}", status_code=303)
    same = form.typed.first("revision") == str(opened.revision)
    told = _words(opened, str(request.path_params["run_id"]), codes, inches=_inches(form))
    saved = f"Nothing changed: still revision {opened.revision}." if same else _saved_words(opened)
    return show(request, opened, "path", Outcome(message=f"{saved}{told}"))


def _codes(run: Run, entry: RouteEntry, taken: tuple[int, ...]) -> list[tuple[str, str]]:
    """What is to be said of a saved route, as an address carries it."""
    codes = [("taken", str(index)) for index in taken]
    if entry.route.steps and run.route.length_mm is not None:
        codes.append(("instead", "steps"))
    if run.route.steps and not entry.route.steps:
        codes.append(("instead", "length" if entry.route.length_mm is not None else "nothing"))
    return codes


INSTEAD = {
    "steps": " The legs and bends take the place of the measured length.",
    "length": " The measured length takes the place of the legs and bends.",
    "nothing": " The legs and bends are gone, and there is no length yet.",
}


def _words(opened: Opened, run_id: str, codes: list[tuple[str, str]], *, inches: bool) -> str:
    """What is to be said of a saved route, in sentences; what no longer holds is left out."""
    _, run = planned(opened, run_id)
    told = []
    for key, text in codes:
        if key == "instead":
            told.append(INSTEAD.get(text, ""))
        elif key == "taken" and text.isdecimal() and int(text) < len(run.route.steps):
            index = int(text)
            told.append(f" {taken_words(index + 1, run.route.steps[index].radius_mm, inches=inches)}")
    return "".join(told[:12])


def _told(request: Request, opened: Opened, run_id: str) -> str:
    """What to say after the way back from an accepted form; nothing on any other way."""
    if request.query_params.get("saved") != str(opened.revision):
        return ""
    codes = request.query_params.multi_items()
    return _saved_words(opened) + _words(opened, run_id, codes, inches=wants_inches(request))


def _saved_words(opened: Opened) -> str:
    return f"Saved as revision {opened.revision}, {formats.clock(opened.saved_at)}."


def _steps(opened: Opened, run: Run, form: Posted) -> ReadSteps:
    """The steps that a form holds."""
    rows = typed_rows(form.typed, run.id) or ()
    return read_steps(rows, run, opened.catalogue, inches=_inches(form))


def _shown_rows(run: Run, *, inches: bool) -> tuple[Row, ...]:
    """The rows of a route as it is saved, with an empty one to write on."""
    rows = rows_of(run.route.steps, inches=inches)
    return (*rows, *(Row(),) * max(1, ROWS_LEAST - len(rows)))


def _inches(form: Posted) -> bool:
    return form.typed.first("unit") == "in"
