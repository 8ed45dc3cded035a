"""Filling in the test sheet of a run: what it is written down as, and what it does to the run's wires."""

from dataclasses import replace

from server.domain.errors import ConflictError, InvalidInputError, Problem
from server.domain.model.bench import Checked, Entry
from server.domain.test_sheet import Readings, TestSheet, Verdict, verdict_of
from server.services.bench import BenchDesk
from server.services.bench_work import Work, done_now, work_of
from server.services.builds import BuildDesk
from server.services.opened import Opened
from server.services.test_sheets import LATER, TestState, run_of, sheet_for, standing_of, written_down

NOT_METERED = "The supply is not metered where this run uses it: meter it first, then measure voltages."


def state_of(opened: Opened, run_id: str) -> TestState:
    """How a run stands with its test, the wires that were put in since counted.

    Args:
        opened: The build as it stands.
        run_id: The run.

    Raises:
        NotFoundError: the build has no such run.
    """
    state, number = standing_of(opened, run_id).state, run_of(opened, run_id).number
    if state != "passed":
        return state
    wires = (item for item in work_of(opened) if item.run == number and item.stages)
    return "passed" if all("tested" in item.done_stages() for item in wires) else "stale"


def fill_in(
    builds: BuildDesk,
    bench: BenchDesk,
    build_id: str,
    revision: int,
    run_id: str,
    readings: Readings,
    *,
    base: int | None = None,
) -> tuple[int, ...]:
    """Write down what was read on the test sheet of a run, all in one transaction.

    When every check was read and is good, the run has passed, and each wire that is fitted is tested with it. When the
    cable alone is good and its voltages are still to be read, that is kept, and nothing is tested yet. When anything
    did not read as expected, the run has failed, however much of the sheet is filled in.

    Args:
        builds: The desk of builds.
        bench: The bench on the same database.
        build_id: The build.
        revision: Revision whose sheet the person saw.
        run_id: The run.
        readings: What was read.
        base: Last number of the ledger that the person saw.

    Returns:
        Numbers of the entries, that of the test first.

    Raises:
        ConflictError: the build was changed since.
        InvalidInputError: something is missing on a sheet that is otherwise good; a voltage was read from a supply that
            is not metered; a wire of a good sheet is not fitted, or is wired otherwise now.
        NotFoundError: no such build or run.
    """
    opened = builds.open(build_id)
    if opened.revision != revision:
        since = [found for found in builds.revisions(build_id) if found.number > revision]
        raise ConflictError(opened.revision, tuple(word for found in reversed(since) for word in found.words))
    run, sheet = run_of(opened, run_id), sheet_for(opened, run_id)
    verdict = verdict_of(sheet, readings)
    _check_sheet(sheet, readings, verdict)
    kept = written_down(sheet, readings)
    if verdict.bad:
        failed = Checked(build_id, run_id, run.number, sheet.mark, passed=False, readings=kept)
        return bench.write_all((failed,), base=base)
    wires = _fitted(opened, run.number)
    if not verdict.passed:
        kept = (*kept, LATER)
    entries: list[Entry] = [Checked(build_id, run_id, run.number, sheet.mark, verdict.passed, kept)]
    if verdict.passed:
        entries += [
            replace(done_now(item.piece, "tested", opened), sheet=sheet.mark)
            for item in wires
            if item.piece is not None and "tested" not in item.piece.stages
        ]
    return bench.write_all(entries, base=base)


def _check_sheet(sheet: TestSheet, readings: Readings, verdict: Verdict) -> None:
    """Refuse a sheet with nothing on it, one that is good as far as it goes and not done, and voltages too early."""
    if not sheet.joins:
        raise _refused("", sheet.no_volts or "This run has nothing to test.")
    if not sheet.metered and (early := [*readings.volts, *readings.grounds]):
        raise InvalidInputError(tuple(Problem(key, NOT_METERED) for key in early))
    if not (readings.joined or readings.sounds or readings.volts or readings.grounds):
        raise _refused("all", "Nothing is filled in yet.")
    if not verdict.bad and verdict.missing_cold:
        told = "Read this too: a run passes once every pair of it was read."
        raise InvalidInputError(tuple(Problem(key, told) for key in verdict.missing_cold))


def _fitted(opened: Opened, number: int) -> list[Work]:
    """Wires of a run, each fitted as it is wired now.

    Raises:
        InvalidInputError: one of them is not.
    """
    wires = [item for item in work_of(opened) if item.run == number and item.material.kind == "wire"]
    otherwise = [item.label for item in wires if item.rewired]
    if otherwise:
        told = f"Not passed: {_some(otherwise)} wired otherwise now. Fit what changed by the new card first."
        raise _refused("all", told)
    missing = [item.label for item in wires if "fitted" not in item.done_stages()]
    if missing:
        raise _refused("all", f"Not passed: {_some(missing)} not fitted yet. Tick it as fitted at the bench first.")
    return wires


def _some(labels: list[str]) -> str:
    told = ", ".join(labels[:4]) + (f" and {len(labels) - 4} more" if len(labels) > 4 else "")
    return f"{told} {'is' if len(labels) == 1 else 'are'}"


def _refused(field: str, message: str) -> InvalidInputError:
    return InvalidInputError((Problem(field, message),))
