"""Test sheets of a build as sheets of typed cells for files: how each run stands, and every check with its reading."""

from collections.abc import Iterator

from server.documents.tables import Cell, Column, Sheet
from server.domain.model.plan import RunPlan
from server.domain.test_sheet import Readings, TestSheet
from server.services.opened import Opened
from server.services.test_sheets import faults_for, sheet_for, standing_of
from server.services.testing import state_of
from server.web.views import formats
from server.web.views.export_bench import Records
from server.web.views.export_cells import MOMENT, NUMBER, WHOLE
from server.web.views.export_wires import metered_words
from server.web.views.pieces import run_title, source_text
from server.web.views.test import STATES

_KINDS = {"on": "voltage, supply on", "standby": "voltage, standby", "ground": "continuity to COM"}


def tests_sheet(opened: Opened, records: Records) -> Sheet:
    """Every run with its test, as it stands.

    Args:
        opened: The build as it stands.
        records: For the moment at which a test was written down.
    """
    columns = (
        Column("run", WHOLE),
        Column("run name"),
        Column("from"),
        Column("joins", WHOLE),
        Column("pairs that stay open", WHOLE),
        Column("voltages", WHOLE),
        Column("state"),
        Column("tested", MOMENT),
        Column("likeliest cause"),
        Column("supply"),
    )
    return Sheet("Test sheets", columns, tuple(_test_row(opened, run, records) for run in opened.plan.runs))


def checks_sheet(opened: Opened) -> Sheet:
    """Every check of every test sheet, in the order in which it is read, with what was read on it last.

    Args:
        opened: The build as it stands.
    """
    columns = (
        Column("run", WHOLE),
        Column("check"),
        Column("wire or group"),
        Column("net"),
        Column("one probe"),
        Column("other probe"),
        Column("must read"),
        Column("read, V", NUMBER),
        Column("read"),
    )
    rows = (
        row
        for run in opened.plan.runs
        for row in _checks(run.number, sheet_for(opened, run.id), standing_of(opened, run.id).readings)
    )
    return Sheet("Test checks", columns, tuple(rows))


def _test_row(opened: Opened, run: RunPlan, records: Records) -> tuple[Cell, ...]:
    sheet, standing, state = sheet_for(opened, run.id), standing_of(opened, run.id), state_of(opened, run.id)
    entry = standing.check.entry if standing.check else 0
    at = next((stored.at for stored in records.own if stored.number == entry), "")
    faults = faults_for(opened, run.id, standing.readings) if state == "failed" else ()
    return (
        run.number,
        run_title(run),
        source_text(run),
        len(sheet.joins),
        sheet.pairs,
        len(sheet.volts),
        STATES[state][1],
        formats.local(at).replace(tzinfo=None) if at else None,
        faults[0].words if faults else "",
        metered_words(opened),
    )


def _checks(number: int, sheet: TestSheet, readings: Readings) -> Iterator[tuple[Cell, ...]]:
    for join in sheet.joins:
        heard = {None: "", True: "joined", False: "silent"}[readings.joined.get(join.key)]
        yield (number, "join", join.label, join.net, join.one_name, join.other_name, "joined", None, heard)
    for row in sheet.rows:
        sounded = readings.sounds.get(row.key)
        for touch in row.touches:
            heard = "" if sounded is None else "joined" if sounded == touch.group else "silent"
            yield (number, "open", row.group, row.net, row.held_name, touch.name, "silent", None, heard)
    for check in sheet.volts:
        ground = {None: "", True: "joined", False: "open"}[readings.grounds.get(check.key)]
        volts = readings.volts.get(check.key)
        kind = _KINDS[check.kind]
        yield (number, kind, "", check.net, check.name, check.black_name, check.words, volts, ground)
