"""All test sheets of a build: how each run stands with its test."""

from collections.abc import Mapping
from dataclasses import dataclass

from server.domain.model.plan import RunPlan
from server.services.opened import Opened
from server.services.test_sheets import faults_for, sheet_for, standing_of
from server.services.testing import state_of
from server.web.views import formats
from server.web.views.pieces import run_title, source_text
from server.web.views.test import STATES


@dataclass(frozen=True, slots=True)
class TestLine:
    """One run with its test."""

    __test__ = False

    number: int
    title: str
    source: str
    href: str
    checks: str
    mark: str
    words: str
    tone: str
    when: str
    cause: str
    """The likeliest cause of a failed test, and how many more fit; empty without one."""
    open: bool
    """Whether there is anything to test."""


@dataclass(frozen=True, slots=True)
class TestsPanel:
    """Every run's test."""

    __test__ = False

    lines: tuple[TestLine, ...]
    summary: str
    metered: bool
    exports: str
    """Address of the list as a file, without its ending."""


def tests_panel(opened: Opened, moments: Mapping[int, str]) -> TestsPanel:
    """The view of the list.

    Args:
        opened: The build as it stands.
        moments: When each test was written down, by the number of its entry.
    """
    return TestsPanel(
        lines=tuple(_line(opened, run, moments) for run in opened.plan.runs),
        summary=tests_line(opened),
        metered=opened.plan.metered,
        exports=f"/builds/{opened.build_id}/export/tests",
    )


def tests_line(opened: Opened) -> str:
    """How many runs have passed, in one line for the rail.

    Args:
        opened: The build as it stands.
    """
    states = [state_of(opened, run.id) for run in opened.plan.runs if sheet_for(opened, run.id).joins]
    if not states:
        return "nothing to test yet"
    told = [f"{states.count('passed')} of {len(states)} passed"]
    if failed := states.count("failed"):
        told.append(f"{failed} failed")
    if stale := states.count("stale"):
        told.append(f"{stale} to test again")
    return formats.listed(told)


def _line(opened: Opened, run: RunPlan, moments: Mapping[int, str]) -> TestLine:
    sheet, standing, state = sheet_for(opened, run.id), standing_of(opened, run.id), state_of(opened, run.id)
    mark, words, tone = STATES[state]
    at = moments.get(standing.check.entry, "") if standing.check else ""
    checks = [formats.count(len(sheet.joins), "join"), f"{formats.count(sheet.pairs, 'pair')} open"]
    if sheet.volts:
        checks.append(formats.count(len(sheet.volts), "voltage"))
    cause = ""
    if state == "failed":
        faults = faults_for(opened, run.id, standing.readings)
        cause = "No single fault explains what was read."
        if faults:
            cause = f"{faults[0].words[:1].upper()}{faults[0].words[1:]}."
            equal = sum(1 for fault in faults[1:] if fault.contradicts == faults[0].contradicts)
            cause += f" {formats.count(equal, 'other cause fits', 'other causes fit')} as well." if equal else ""
    return TestLine(
        run.number,
        run_title(run),
        source_text(run),
        f"/builds/{opened.build_id}/runs/{run.id}/test",
        formats.listed(checks) if sheet.joins else "sleeved as it is",
        mark,
        words,
        tone,
        formats.clock(at) if at else "",
        cause,
        bool(sheet.joins),
    )
