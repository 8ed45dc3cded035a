"""Test sheets: how each run stands, and the form of one run."""

from typing import Annotated

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from server.domain.model.bench import Checked
from server.services.bench import BenchDesk
from server.services.test_sheets import LATER, failed_last, sheet_for
from server.services.testing import fill_in
from server.web.reading.tests import readings_of_sheet
from server.web.screen import Bench, Desk, Outcome, Posted, Scene, panel, posted, show, wants_panel
from server.web.views import formats
from server.web.views.test import TestPanel, test_panel
from server.web.views.tests import TestsPanel, tests_panel

router = APIRouter(prefix="/builds/{build_id}")
TestForm = Annotated[Posted, posted("test")]


@panel("tests")
def tests(scene: Scene) -> TestsPanel:
    """The view of the list."""
    stored = scene.bench.state().stored
    moments = {
        check.entry: stored[check.entry - 1].at
        for check in scene.opened.on_hand.checks.values()
        if check.entry <= len(stored)
    }
    return tests_panel(scene.opened, moments)


@panel("test")
def test(scene: Scene) -> TestPanel:
    """The view of one run's sheet."""
    check, stored = scene.opened.on_hand.checks.get(scene.run_id), scene.bench.state().stored
    at = stored[check.entry - 1].at if check and check.entry <= len(stored) else ""
    return test_panel(scene, formats.clock(at) if at else "")


@router.get("/runs/{run_id}/test")
def look(request: Request, desk: Desk, bench: Bench, build_id: str, run_id: str) -> Response:
    """The sheet of a run."""
    told = _told(bench, request.query_params.get("written", ""), build_id, run_id)
    return show(request, desk.open(build_id), "test", Outcome(message=told) if told else None)


@router.post("/runs/{run_id}/test")
def save(request: Request, desk: Desk, bench: Bench, build_id: str, run_id: str, form: TestForm) -> Response:
    """What was read; the large button says that all that is not marked reads as expected."""
    read = form.reader()
    revision = read.base()
    base = read.whole("base", 0, 999_999_999)
    seen, rest = desk.open(build_id, revision), form.typed.first("do") == "all"
    again = failed_last(seen, run_id)
    readings = readings_of_sheet(read, sheet_for(seen, run_id), rest_as_expected=rest, again=again)
    number = fill_in(desk, bench, build_id, revision, run_id, readings, base=base)[0]
    if not wants_panel(request):
        where = f"/builds/{build_id}/runs/{run_id}/test?written={number}"
        return RedirectResponse(where, status_code=303)
    return show(request, desk.open(build_id), "test", Outcome(message=_told(bench, str(number), build_id, run_id)))


def _told(bench: BenchDesk, number: str, build_id: str, run_id: str) -> str:
    """What was written down this moment, in words; nothing for any other entry."""
    stored = bench.state().stored
    if not (number.isascii() and number.isdecimal() and len(number) < 10 and 0 < int(number) <= len(stored)):
        return ""
    entry = stored[int(number) - 1].entry
    if not isinstance(entry, Checked) or (entry.build, entry.run_id) != (build_id, run_id):
        return ""
    if entry.passed:
        return f"Run {entry.run} has passed: its wires are tested."
    if LATER in entry.readings:
        return f"Run {entry.run}: the cable by itself is good. Its voltages are still to be read."
    return f"Run {entry.run} has failed: mend it, then test it again."
