"""Test sheets on screen: the list of runs, the form of one run, what a refused or failed test says. Expected values:
the rules of a test, and the wires of the build's own plan."""

from decimal import Decimal

import pytest
from fastapi.testclient import TestClient
from httpx import Response

from server.domain.model.bench import Checked, Cut, Receive
from server.services.bench import BenchDesk
from server.services.bench_work import work_of
from server.services.builds import BuildDesk
from server.services.opened import Opened
from server.services.test_sheets import sheet_for
from server.web.rendering import text
from server.web.views.test import sheet_view
from tests.web.conftest import PANEL
from tests.web.reading import beside, by_id, field, page, words

FAN = "r6"
"""The first fan of the small example: four wires from the board's header, no voltage from the supply."""


@pytest.fixture
def pages(own_pages: TestClient) -> TestClient:
    """A planner of each test's own: all builds share the ledger."""
    return own_pages


class Job:
    """The small example, one run of it fitted."""

    def __init__(self, client: TestClient) -> None:
        self.client = client
        self.desk: BuildDesk = client.app.state.desk  # type: ignore[attr-defined]
        self.bench: BenchDesk = client.app.state.bench  # type: ignore[attr-defined]
        self.id = self.desk.create_example("compact").build_id

    @property
    def opened(self) -> Opened:
        return self.desk.open(self.id)

    def fit(self, run: int) -> None:
        for item in [i for i in work_of(self.opened) if i.run == run and i.stages]:
            lot = self.bench.write(Receive(item.material, 5000, Decimal(0), "found", self.id))
            self.bench.write(Cut(lot, self.id, item.id, item.label, run, item.cut_mm))
        for item in [i for i in work_of(self.opened) if i.run == run and i.stages]:
            for stage in item.stages[:-1]:
                assert item.piece is not None
                self.bench.stage(self.id, [item.piece.id], stage)

    def look(self, run: str = FAN) -> Response:
        return self.client.get(f"/builds/{self.id}/runs/{run}/test")

    def send(self, run: str = FAN, *, swap: bool = True, base: int | None = None, **fields: str) -> Response:
        data = {
            "revision": str(self.opened.revision),
            "base": str(self.bench.state().number if base is None else base),
            **fields,
        }
        return self.client.post(f"/builds/{self.id}/runs/{run}/test", data=data, headers=PANEL if swap else {})

    def send_named(self, run: str, fields: dict[str, str], **more: str) -> Response:
        return self.send(run, **fields, **more)

    def last(self) -> object:
        return self.bench.state().entries[-1]


@pytest.fixture
def job(pages: TestClient) -> Job:
    return Job(pages)


def test_every_run_stands_in_the_list_with_its_state_and_the_way_to_its_sheet(job: Job) -> None:
    panel = by_id(page(job.client.get(f"/builds/{job.id}/tests").text), "tests")
    links = {link.get("href") for link in panel.iter("a")}
    assert {f"/builds/{job.id}/runs/{run.id}/test" for run in job.opened.plan.runs if run.wires} <= links
    assert words(panel).count("not tested") == sum(1 for run in job.opened.plan.runs if run.wires)


def test_nothing_is_marked_as_read_before_anybody_read_it(job: Job) -> None:
    panel = page(job.look().text)
    for check in sheet_for(job.opened, FAN).joins:
        chosen = [o.get("value") for o in field(panel, check.key).iter("option") if o.get("selected") is not None]
        assert chosen == [""]


def test_one_button_passes_a_cable_whose_every_reading_is_as_expected(job: Job) -> None:
    job.fit(6)
    answer = job.send(do="all")
    assert answer.status_code == 200
    assert "Run 6 has passed: its wires are tested." in answer.text
    assert "✓ passed" in words(by_id(page(job.look().text), "test"))


def test_without_a_script_the_way_leads_back_to_the_sheet(job: Job) -> None:
    job.fit(6)
    answer = job.send(do="all", swap=False)
    assert answer.status_code == 303
    assert "Run 6 has passed" in job.client.get(answer.headers["location"]).text


def test_a_failed_test_says_what_failed_and_its_likeliest_cause_on_the_sheet_and_in_the_list(job: Job) -> None:
    # Both joins are silent and the row of TACH, held on its source, sounds at the +12V cavity: the two are exchanged.
    answer = job.send_named(FAN, {"c:6-03": "no", "c:6-02": "no", "o:6-03": "6-02"}, do="all")
    assert answer.status_code == 200
    assert "Run 6 has failed" in answer.text
    for panel in (job.look().text, job.client.get(f"/builds/{job.id}/tests").text):
        assert "6-03 and 6-02 are exchanged" in panel
    assert isinstance(job.last(), Checked)


def test_a_run_whose_wires_are_not_fitted_is_not_passed(job: Job) -> None:
    answer = job.send(do="all")
    assert answer.status_code == 422
    assert "not fitted yet" in answer.text
    assert job.bench.entries() == ()


def test_what_is_still_to_be_read_is_marked_and_what_was_chosen_stays(job: Job) -> None:
    job.fit(6)
    answer = job.send_named(FAN, {"c:6-04": "yes"}, do="save")
    assert answer.status_code == 422
    panel = page(f"<main>{answer.text}</main>")
    chosen = [o.get("value") for o in field(panel, "c:6-04").iter("option") if o.get("selected") is not None]
    assert chosen == ["yes"]
    assert "Read this too" in beside(panel, "c:6-03")


def test_voltages_wait_for_a_metered_supply(job: Job) -> None:
    shown = words(by_id(page(job.look("r2").text), "test"))
    assert "NOT METERED" in shown
    assert "meter it first, then measure voltages" in shown
    assert not [e for e in page(job.look("r2").text).iter("input") if (e.get("name") or "").startswith("v:")]


def test_a_voltage_that_cannot_be_read_keeps_what_was_typed(job: Job, monkeypatch: pytest.MonkeyPatch) -> None:
    # Metered, so that the fields of the voltages are there.
    monkeypatch.setattr("server.services.test_sheets.is_metered", lambda *_: True)
    answer = job.send_named("r2", {"v:A:5": "twelve"}, do="all")
    assert answer.status_code == 422
    panel = page(f"<main>{answer.text}</main>")
    assert field(panel, "v:A:5").get("value") == "twelve"
    assert "Write volts in figures" in beside(panel, "v:A:5")


def test_a_cable_good_by_itself_keeps_its_readings_until_its_voltages_are_read(
    job: Job, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("server.services.test_sheets.is_metered", lambda *_: True)
    job.fit(2)
    job.send("r2", do="all")
    sheet = sheet_for(job.opened, "r2")
    assert "voltages to follow" in words(by_id(page(job.look("r2").text), "test"))
    shown = page(job.look("r2").text)
    kept = {check.key: _chosen(shown, check.key) for check in sheet.joins}
    # A comma is as good as a point.
    volts = {check.key: "12,05" for check in sheet.volts}
    answer = job.send_named("r2", {**kept, **{row.key: "silent" for row in sheet.rows}, **volts}, do="save")
    assert "Run 2 has passed" in answer.text


def _chosen(tree: object, name: str) -> str:
    options = field(tree, name).iter("option")  # type: ignore[arg-type]
    return next(o.get("value") or "" for o in options if o.get("selected") is not None)


def test_a_second_tap_on_the_same_page_writes_nothing(job: Job) -> None:
    base = job.bench.state().number
    job.send_named(FAN, {"c:6-03": "no"}, do="save")
    again = job.send(FAN, base=base, **{"c:6-03": "no"})
    assert again.status_code == 422
    assert "was written meanwhile" in again.text


def test_a_run_that_is_gone_has_no_sheet(job: Job) -> None:
    assert job.look("r99").status_code == 404


def test_a_moulded_cable_says_that_there_is_nothing_to_test(job: Job) -> None:
    moulded = next(run for run in job.opened.plan.runs if not run.wires)
    assert "not rewired: nothing of it is tested here" in job.look(moulded.id).text


def test_the_sheet_on_paper_has_a_box_for_every_reading_and_a_blank_for_every_voltage(job: Job) -> None:
    for run in (run for run in job.opened.plan.runs if run.wires):
        view = sheet_view(job.opened, run.id)
        paper = text("parts/test_sheet.html", sheet=view)
        # Two more boxes say passed and failed; heads of the columns to write in come on top of the rows.
        assert paper.count('class="tsheet-box"') == len(view.joins) + len(view.rows) + 2
        assert paper.count('<td class="tsheet-write">') == len(view.rows) + len(view.volts)


def test_the_run_leads_to_its_test_sheet(job: Job) -> None:
    run = by_id(page(job.client.get(f"/builds/{job.id}/runs/{FAN}").text), "run")
    assert f"/builds/{job.id}/runs/{FAN}/test" in {link.get("href") for link in run.iter("a")}


def test_what_failed_last_time_is_read_again_before_the_large_button_passes_the_rest(job: Job) -> None:
    job.fit(6)
    job.send_named(FAN, {"c:6-03": "no", "o:6-02": "6-01"}, do="all")
    answer = job.send(do="all")
    assert answer.status_code == 422
    assert "Run 6 has passed" not in answer.text
    # One join and one row failed, and of each something has to be said.
    assert answer.text.count("read this one again") >= 2
    mended = job.send_named(FAN, {"c:6-03": "yes", "o:6-02": "silent"}, do="all")
    assert "Run 6 has passed" in mended.text
