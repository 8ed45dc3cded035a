"""Filling in a test sheet, over a real database file. Expected values: the rules of a test (passed when every check was
read and is good), and counts of wires of the plan."""

from dataclasses import replace
from decimal import Decimal

import pytest
from sqlalchemy import Engine

from server.domain.edits import RouteEntry
from server.domain.errors import ConflictError, InvalidInputError
from server.domain.model.bench import Checked, Cut, Done, Receive
from server.domain.model.build import Forbidden, Route
from server.domain.model.catalogue import Reading
from server.domain.test_sheet import Readings, TestSheet
from server.services.bench import BenchDesk
from server.services.bench_work import Work, work_of
from server.services.builds import BuildDesk
from server.services.layouts import LayoutDesk
from server.services.opened import Opened
from server.services.test_sheets import faults_for, read_back, sheet_for, standing_of, written_down
from server.services.testing import fill_in, state_of
from tests.domain.scenes import VOLTS

AT = "2025-01-01T00:00:00+00:00"


@pytest.fixture
def bench(engine: Engine, desk: BuildDesk) -> BenchDesk:
    return BenchDesk(engine, desk, lambda: AT)


@pytest.fixture
def opened(engine: Engine, desk: BuildDesk) -> Opened:
    """The compact example on a supply of its own that is metered; every route is 400 mm."""
    made = desk.create_example("compact")
    layouts = LayoutDesk(engine)
    own = layouts.copy(made.build.supply).layout
    layouts.record(
        own.id,
        [
            Reading(port.id, pin.cavity, *VOLTS.get(pin.net.removesuffix("_SENSE"), (0.0, 0.0, False)), pin.net)
            for port in own.ports
            for pin in port.pins
        ],
    )
    made = desk.choose_supply(made.build_id, made.revision, own.id)
    entries = {
        run.id: RouteEntry(replace(Route(length_mm=400.0), spacing_mm=(100.0,) * (len(run.ends) - 1)))
        for run in made.build.runs
    }
    return desk.set_routes(made.build_id, made.revision, entries)


CPU, FAN = "r2", "r6"
"""A run that the supply feeds, and one that the board's header feeds."""


def wires(opened: Opened, run_id: str) -> list[Work]:
    run = next(run for run in opened.plan.runs if run.id == run_id)
    return [item for item in work_of(opened) if item.run == run.number and item.material.kind == "wire"]


def fit(desk: BuildDesk, bench: BenchDesk, build_id: str, run_id: str) -> None:
    """Buy, cut, crimp, sleeve and fit every wire of a run."""
    todo = wires(desk.open(build_id), run_id)
    for item in todo:
        lot = bench.write(Receive(item.material, 5000, Decimal(0), "found", build_id))
        bench.write(Cut(lot, build_id, item.id, item.label, item.run, item.cut_mm))
    for item in wires(desk.open(build_id), run_id):
        assert item.piece is not None
        for stage in item.stages[:-1]:
            bench.stage(build_id, [item.piece.id], stage)


def good(sheet: TestSheet, *, volts: bool = True) -> Readings:
    return Readings(
        {check.key: True for check in sheet.joins},
        {row.key: "" for row in sheet.rows},
        {check.key: check.spans[0].low_v for check in sheet.volts if check.kind != "ground"} if volts else {},
        {check.key: True for check in sheet.volts if check.kind == "ground"} if volts else {},
    )


def failing(sheet: TestSheet) -> Readings:
    """The first wire is silent."""
    read = good(sheet, volts=False)
    return replace(read, joined={**read.joined, sheet.joins[0].key: False})


def send(desk: BuildDesk, bench: BenchDesk, build_id: str, run_id: str, readings: Readings) -> tuple[int, ...]:
    return fill_in(desk, bench, build_id, desk.open(build_id).revision, run_id, readings)


def test_a_run_that_passes_has_every_wire_tested_in_one_go(desk: BuildDesk, bench: BenchDesk, opened: Opened) -> None:
    fit(desk, bench, opened.build_id, CPU)
    before = bench.state().number
    send(desk, bench, opened.build_id, CPU, good(sheet_for(opened, CPU)))
    written = bench.state().entries[before:]
    assert [type(entry) for entry in written] == [Checked] + [Done] * 8
    assert all(item.finished for item in wires(desk.open(opened.build_id), CPU))
    assert state_of(desk.open(opened.build_id), CPU) == "passed"


def test_a_run_of_the_boards_header_passes_without_a_voltage(desk: BuildDesk, bench: BenchDesk, opened: Opened) -> None:
    fit(desk, bench, opened.build_id, FAN)
    send(desk, bench, opened.build_id, FAN, good(sheet_for(opened, FAN)))
    assert state_of(desk.open(opened.build_id), FAN) == "passed"


def test_a_cable_that_is_good_by_itself_waits_for_its_voltages(
    desk: BuildDesk, bench: BenchDesk, opened: Opened
) -> None:
    fit(desk, bench, opened.build_id, CPU)
    send(desk, bench, opened.build_id, CPU, good(sheet_for(opened, CPU), volts=False))
    after = desk.open(opened.build_id)
    assert state_of(after, CPU) == "cold"
    assert not any(item.finished for item in wires(after, CPU))
    assert standing_of(after, CPU).readings == good(sheet_for(after, CPU), volts=False)


def test_a_failed_test_blocks_done_and_names_the_wire(desk: BuildDesk, bench: BenchDesk, opened: Opened) -> None:
    fit(desk, bench, opened.build_id, CPU)
    sheet = sheet_for(opened, CPU)
    send(desk, bench, opened.build_id, CPU, failing(sheet))
    after = desk.open(opened.build_id)
    piece = wires(after, CPU)[0].piece
    assert piece is not None
    with pytest.raises(InvalidInputError, match="failed its test"):
        bench.stage(opened.build_id, [piece.id], "tested")
    faults = faults_for(after, CPU, standing_of(after, CPU).readings)
    assert sheet.joins[0].label in faults[0].words


def test_a_test_that_fails_after_one_that_passed_undoes_done(desk: BuildDesk, bench: BenchDesk, opened: Opened) -> None:
    fit(desk, bench, opened.build_id, CPU)
    sheet = sheet_for(opened, CPU)
    send(desk, bench, opened.build_id, CPU, good(sheet))
    send(desk, bench, opened.build_id, CPU, failing(sheet))
    assert not any("tested" in item.done_stages() for item in wires(desk.open(opened.build_id), CPU))


def test_once_it_is_mended_and_passes_it_counts_again(desk: BuildDesk, bench: BenchDesk, opened: Opened) -> None:
    fit(desk, bench, opened.build_id, CPU)
    sheet = sheet_for(opened, CPU)
    for readings in (good(sheet), failing(sheet), good(sheet)):
        send(desk, bench, opened.build_id, CPU, readings)
    assert all(item.finished for item in wires(desk.open(opened.build_id), CPU))


def test_a_test_of_an_older_wiring_does_not_count(desk: BuildDesk, bench: BenchDesk, opened: Opened) -> None:
    fit(desk, bench, opened.build_id, CPU)
    send(desk, bench, opened.build_id, CPU, good(sheet_for(opened, CPU)))
    run = next(run for run in opened.plan.runs if run.id == CPU)
    wire, ref = run.wires[0], run.sources[0].ref
    forbidden = (Forbidden(ref.part, ref.socket, wire.source.cavity),)
    after = desk.set_pins(opened.build_id, desk.open(opened.build_id).revision, CPU, (), forbidden)
    assert state_of(after, CPU) == "stale"
    assert not any("tested" in item.done_stages() for item in wires(after, CPU))


def test_a_run_whose_wires_are_not_fitted_does_not_pass(desk: BuildDesk, bench: BenchDesk, opened: Opened) -> None:
    with pytest.raises(InvalidInputError, match="not fitted yet"):
        send(desk, bench, opened.build_id, CPU, good(sheet_for(opened, CPU)))
    assert bench.entries() == ()


def test_a_sheet_that_is_good_as_far_as_it_goes_is_not_written_down_half_read(
    desk: BuildDesk, bench: BenchDesk, opened: Opened
) -> None:
    fit(desk, bench, opened.build_id, CPU)
    sheet = sheet_for(opened, CPU)
    half = replace(good(sheet), sounds={})
    with pytest.raises(InvalidInputError) as error:
        send(desk, bench, opened.build_id, CPU, half)
    assert [problem.field for problem in error.value.problems] == [row.key for row in sheet.rows]


def test_voltages_of_a_supply_that_is_not_metered_are_a_stop(desk: BuildDesk, bench: BenchDesk) -> None:
    sample = desk.create_example("compact")
    with pytest.raises(InvalidInputError, match="meter it first"):
        send(desk, bench, sample.build_id, CPU, good(sheet_for(sample, CPU)))


def test_a_sheet_of_an_older_revision_is_a_conflict(desk: BuildDesk, bench: BenchDesk, opened: Opened) -> None:
    with pytest.raises(ConflictError):
        fill_in(desk, bench, opened.build_id, opened.revision - 1, CPU, good(sheet_for(opened, CPU)))


def test_what_is_written_down_reads_back_as_it_was(opened: Opened) -> None:
    sheet = sheet_for(opened, CPU)
    read = failing(sheet)
    joined = dict(list(read.joined.items())[:5])
    part = replace(read, joined=joined, sounds={sheet.rows[0].key: sheet.rows[0].touches[1].group},
                   volts={sheet.volts[0].key: 11.875})  # fmt: skip
    assert read_back(sheet, written_down(sheet, part)) == part


def test_the_sheet_that_passed_is_undone_only_with_the_wires_it_tested(
    desk: BuildDesk, bench: BenchDesk, opened: Opened
) -> None:
    fit(desk, bench, opened.build_id, CPU)
    written = send(desk, bench, opened.build_id, CPU, good(sheet_for(opened, CPU)))
    with pytest.raises(InvalidInputError, match="leans on entry"):
        bench.undo(written[0])
    for number in reversed(written):
        bench.undo(number)
    assert standing_of(desk.open(opened.build_id), CPU).state == "open"
    assert not any("tested" in item.done_stages() for item in wires(desk.open(opened.build_id), CPU))
