"""Test sheets of a build as they stand, what was read on them last, and what that comes to."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from server.domain.diagnosis import Fault, likely_faults
from server.domain.errors import NotFoundError
from server.domain.model.bench import Check
from server.domain.model.plan import RunPlan
from server.domain.plan.trust import is_metered
from server.domain.sockets import layout_of
from server.domain.test_sheet import Readings, TestSheet, sheet_of, verdict_of
from server.services.opened import Opened

TestState = Literal["passed", "failed", "cold", "stale", "open", "none"]
"""Passed; failed; the cable alone is good and its voltages are still to be read; tested by a sheet that is no longer
today's; not tested; nothing to test."""
LATER: Final = ("volts", "to follow")
"""Stands among the readings of a test whose voltages are still to be read."""
UNREAD: Final = "?"
_SILENT, _JOINED, _OPEN = "silent", "joined", "open"


@dataclass(frozen=True, slots=True)
class Standing:
    """How a run stands with its test."""

    state: TestState
    check: Check | None
    """The last test that stands in the ledger."""
    readings: Readings
    """What was read on the sheet of today; nothing where it is another one."""

    @property
    def counts(self) -> bool:
        """Whether wires of the run that are ticked as tested still count as that."""
        return self.check is None or self.state in ("passed", "none")


def run_of(opened: Opened, run_id: str) -> RunPlan:
    """A run as planned.

    Raises:
        NotFoundError: the build has no such run.
    """
    for run in opened.plan.runs:
        if run.id == run_id:
            return run
    raise NotFoundError("This build has no such run.")


def sheet_for(opened: Opened, run_id: str) -> TestSheet:
    """The test sheet of a run as the plan has it now.

    Args:
        opened: The build as it stands.
        run_id: The run.

    Raises:
        NotFoundError: the build has no such run.
    """
    return opened.lasting(f"test sheet {run_id}", lambda: _sheet(opened, run_of(opened, run_id)))


def standing_of(opened: Opened, run_id: str) -> Standing:
    """How a run stands with its test.

    Args:
        opened: The build as it stands.
        run_id: The run.

    Raises:
        NotFoundError: the build has no such run.
    """
    sheet, check = sheet_for(opened, run_id), opened.on_hand.checks.get(run_id)
    if not sheet.joins:
        return Standing("none", check, Readings())
    if check is None:
        return Standing("open", None, Readings())
    if check.sheet != sheet.mark:
        return Standing("stale", check, Readings())
    readings = read_back(sheet, check.readings)
    if check.passed:
        return Standing("passed", check, readings)
    return Standing("cold" if LATER in check.readings else "failed", check, readings)


def failed_last(opened: Opened, run_id: str) -> frozenset[str]:
    """Keys of the checks that did not read as expected at the last test of a run; empty where that one was good.

    Args:
        opened: The build as it stands.
        run_id: The run.
    """
    return frozenset(verdict_of(sheet_for(opened, run_id), standing_of(opened, run_id).readings).bad)


def faults_for(opened: Opened, run_id: str, readings: Readings) -> tuple[Fault, ...]:
    """The likeliest single faults behind what was read on a run's sheet.

    Args:
        opened: The build as it stands.
        run_id: The run.
        readings: What was read.

    Raises:
        NotFoundError: the build has no such run.
    """
    run, sheet = run_of(opened, run_id), sheet_for(opened, run_id)
    layout = layout_of(opened.build, opened.catalogue)
    edition = layout.edition if layout else "strict"
    name = f"faults {run_id} {written_down(sheet, readings)}"
    return opened.lasting(name, lambda: likely_faults(run, sheet, readings, opened.catalogue.housings, edition))


def written_down(sheet: TestSheet, readings: Readings) -> tuple[tuple[str, str], ...]:
    """Readings as the ledger keeps them: what did not read as expected, was measured, or was not read.

    Args:
        sheet: The sheet that was filled in.
        readings: What was read.
    """
    made = []
    for join in sheet.joins:
        joined = readings.joined.get(join.key)
        if not joined:
            made.append((join.key, UNREAD if joined is None else _SILENT))
    for row in sheet.rows:
        heard = readings.sounds.get(row.key, UNREAD)
        if heard:
            made.append((row.key, heard))
    for check in sheet.volts:
        if check.key in readings.volts:
            made.append((check.key, repr(readings.volts[check.key])))
        if check.key in readings.grounds:
            made.append((check.key, _JOINED if readings.grounds[check.key] else _OPEN))
    return tuple(made)


def read_back(sheet: TestSheet, kept: Sequence[tuple[str, str]]) -> Readings:
    """Readings from what the ledger keeps; what fits no check of the sheet is passed over.

    Args:
        sheet: The sheet that was filled in.
        kept: As ``written_down`` gives it.
    """
    held: Mapping[str, str] = dict(kept)
    joined = {join.key: held.get(join.key) != _SILENT for join in sheet.joins if held.get(join.key) != UNREAD}
    sounds = {row.key: held.get(row.key, "") for row in sheet.rows if held.get(row.key) != UNREAD}
    volts, grounds = {}, {}
    for check in sheet.volts:
        text = held.get(check.key, "")
        if check.kind == "ground" and text in (_JOINED, _OPEN):
            grounds[check.key] = text == _JOINED
        elif check.kind != "ground" and text:
            volts[check.key] = float(text)
    return Readings(joined, sounds, volts, grounds)


def _sheet(opened: Opened, run: RunPlan) -> TestSheet:
    layout = layout_of(opened.build, opened.catalogue)
    if layout is None:
        return sheet_of(run, metered=False)
    readings = layout.readings if layout.own else ()
    grounded = {(r.port, r.cavity): r.to_ground for r in readings if r.to_ground is not None}
    return sheet_of(run, metered=is_metered(layout, (run,)), edition=layout.edition, grounded=grounded)
