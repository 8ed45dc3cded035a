"""The bench's panel: one tap to tick, what is refused and why, the ledger and its undoing."""

from dataclasses import dataclass
from decimal import Decimal
from xml.etree.ElementTree import Element

import pytest
from fastapi.testclient import TestClient
from httpx import Response

from server.domain.errors import InvalidInputError
from server.domain.model.bench import Cut, Done, Material, Receive, Trim, Undo
from server.domain.model.build import Forbidden
from server.domain.model.plan import PlannedWire
from server.services.bench import BenchDesk
from server.services.bench_work import Work, work_of
from tests.web.conftest import PANEL, Bench
from tests.web.reading import all_of, beside, by_id, field, page, words


@pytest.fixture
def pages(own_pages: TestClient) -> TestClient:
    """A planner of each test's own: all builds share the shelf, and what one test finds would serve the next."""
    return own_pages


@dataclass(frozen=True)
class Job:
    """A build whose first run is measured, and its wire bought."""

    bench: Bench
    desk: BenchDesk

    @property
    def of(self) -> str:
        return f"run:{self.bench.run}"

    @property
    def wires(self) -> tuple[PlannedWire, ...]:
        return self.bench.desk.open(self.bench.id).plan.runs[0].wires

    @property
    def work(self) -> tuple[Work, ...]:
        return work_of(self.bench.desk.open(self.bench.id))

    @property
    def number(self) -> int:
        return self.desk.state().number

    def item(self, label: str) -> Work:
        return next(item for item in self.work if item.label == label)

    def send(self, action: str, *, swap: bool = True, base: int | None = None, **fields: str) -> Response:
        data = {
            "revision": str(self.bench.revision),
            "base": str(self.number if base is None else base),
            "of": self.of,
            **fields,
        }
        where = f"/builds/{self.bench.id}/ledger/{action}"
        return self.bench.client.post(where, data=data, headers=PANEL if swap else {})

    def cut(self, label: str, **more: object) -> Response:
        item = self.item(label)
        return self.send("tick", do=f"cut.{item.state}.{item.source}.{item.id}", **more)  # type: ignore[arg-type]

    def cut_all(self) -> Response:
        return self.send("tick", do="cut.all")

    def panel(self, query: str = "") -> Element:
        return by_id(page(self.bench.look(f"ledger{query}").text), "ledger")

    def row(self, label: str) -> str:
        rows = by_id(self.panel(f"?of={self.of}"), "ledger-batch").iter("tr")
        return next(text for tr in rows if (text := words(tr)).startswith(label))


@pytest.fixture
def unbought(bench: Bench) -> Job:
    bench.send("routes", **{f"runs.{bench.run}.length": "600"}, unit="mm")
    return Job(bench, bench.client.app.state.bench)  # type: ignore[attr-defined]


@pytest.fixture
def job(unbought: Job) -> Job:
    opened = unbought.bench.desk.open(unbought.bench.id)
    for line in opened.plan.buys:
        if line.kind == "wire":
            unbought.desk.buy(opened.build_id, opened.revision, (line.kind, line.item, line.colour))
    return unbought


def first(job: Job) -> str:
    return job.wires[0].label


def overall(job: Job) -> str:
    return words(next(e for e in job.panel().iter("ul") if e.get("class") == "stages"))


def test_a_wire_whose_roll_is_not_bought_leads_to_the_buy_list(unbought: Job) -> None:
    assert "buy first" in unbought.row(first(unbought))
    assert f"/builds/{unbought.bench.id}/buys" in {a.get("href") for a in all_of(unbought.panel(), "a")}


def test_one_tap_cuts_a_wire_at_its_length_from_the_lot_that_the_roll_plan_names(job: Job) -> None:
    wire, lot = job.wires[0], job.item(first(job)).source
    assert job.cut(wire.label).status_code == 200
    written = job.desk.state().entries[-1]
    assert isinstance(written, Cut)
    assert (written.wire, written.label, written.length_mm, written.lot) == (wire.id, wire.label, wire.cut_mm, lot)


def test_a_cut_wire_says_its_length_and_its_lot(job: Job) -> None:
    lot = job.item(first(job)).source
    job.cut(first(job))
    assert f"✓ {job.wires[0].cut_mm} mm, lot {lot}" in job.row(first(job))


def test_a_stage_can_be_ticked_only_on_what_is_cut(job: Job) -> None:
    before = job.row(first(job))
    job.cut(first(job))
    assert ("Crimp" in before, "Crimp" in job.row(first(job))) == (False, True)


def test_one_tap_cuts_a_whole_run(job: Job) -> None:
    job.cut_all()
    assert {item.state for item in job.work if item.material.kind == "wire" and item.run == 1} == {"cut"}


def test_one_tap_ticks_a_stage_on_a_whole_run(job: Job) -> None:
    job.cut_all()
    job.send("tick", do="crimped.all")
    crimped = [e for e in job.desk.state().entries if isinstance(e, Done) and e.stage == "crimped"]
    assert len(crimped) == sum(1 for item in job.work if "crimped" in item.stages and item.run == 1) > 1


def test_one_tap_ticks_everything_of_one_colour_and_gauge(job: Job) -> None:
    job.cut_all()
    material = job.item(first(job)).material
    of = f"{material.kind}:{material.item}:{material.colour}"
    job.send("tick", of=of, do="crimped.all")
    crimped = [item for item in job.work if item.piece and "crimped" in item.piece.stages]
    assert {item.material for item in crimped} == {material}
    assert len(crimped) == sum(1 for item in job.work if item.material == material and item.piece)


def test_progress_is_told_as_so_many_of_so_many(job: Job) -> None:
    total = sum(1 for item in job.work if item.material.kind == "wire")
    job.cut(first(job))
    assert f"wires cut 1 of {total}" in overall(job)


def test_a_stage_before_its_turn_is_refused_in_plain_words(job: Job) -> None:
    job.cut(first(job))
    piece = job.number
    answer = job.send("tick", do=f"fitted.{piece}")
    assert (answer.status_code, job.number) == (422, piece)
    assert "is not crimped yet: it is crimped before it is fitted" in answer.text


def test_a_wire_is_not_ticked_as_tested_its_run_is_tested_by_its_sheet(job: Job) -> None:
    piece = fitted(job)
    answer = job.send("tick", do=f"tested.{piece}")
    assert answer.status_code == 422
    assert "a run is tested by its test sheet" in answer.text
    assert "tested" in job.item(first(job)).open_stages()


def test_where_a_wire_is_fitted_its_row_leads_to_the_test_sheet_of_the_run(job: Job) -> None:
    fitted(job)
    links = {link.get("href") for link in job.panel().iter("a")}
    assert f"/builds/{job.bench.id}/runs/{job.bench.run}/test" in links


def test_only_what_may_come_next_is_offered(job: Job) -> None:
    job.cut(first(job))
    piece, offered = job.number, []
    for stage in ("crimped", "fitted", "tested"):
        row = job.row(first(job))
        offered.append([word for word in ("Crimp ", "Fit ", "Test ") if word in row])
        job.send("tick", do=f"{stage}.{piece}")
    assert offered == [["Crimp "], ["Fit "], ["Test "]]


def rewire(job: Job) -> None:
    """The supply's cavity that the first wire of the run comes from is forbidden, so that it comes from another."""
    opened = job.bench.desk.open(job.bench.id)
    run, wire = opened.plan.runs[0], job.wires[0]
    source = run.sources[wire.source.plug].ref
    forbidden = (Forbidden(source.part, source.socket, wire.source.cavity),)
    job.bench.desk.set_pins(opened.build_id, opened.revision, run.id, (), forbidden)


def fitted(job: Job) -> int:
    """The first wire, cut, crimped and fitted."""
    job.cut(first(job))
    piece = job.number
    for stage in ("crimped", "fitted"):
        assert job.send("tick", do=f"{stage}.{piece}").status_code == 200
    return piece


def all_done_on(job: Job) -> int:
    """The first wire, cut, crimped, fitted and tested: wire by wire and without a sheet, as old ledgers have it."""
    piece = fitted(job)
    job.desk.stage(job.bench.id, [piece], "tested")
    return piece


def test_a_wire_wired_otherwise_since_it_was_fitted_is_to_be_fitted_again(job: Job) -> None:
    all_done_on(job)
    rewire(job)
    row = job.row(first(job))
    assert "wired otherwise now" in row
    assert "Fit again" in row
    assert "✓ tested" not in row


def test_a_wire_fitted_again_is_tested_again(job: Job) -> None:
    piece = all_done_on(job)
    rewire(job)
    with pytest.raises(InvalidInputError):
        job.desk.stage(job.bench.id, [piece], "tested")
    assert job.send("tick", do=f"fitted.{piece}").status_code == 200
    assert "tested" in job.item(first(job)).open_stages()


def test_a_fitting_by_a_card_that_was_changed_meanwhile_is_a_conflict(job: Job) -> None:
    job.cut(first(job))
    piece = job.number
    job.send("tick", do=f"crimped.{piece}")
    seen = job.bench.revision
    rewire(job)
    assert job.send("tick", do=f"fitted.{piece}", revision=str(seen)).status_code == 409


def test_what_is_wired_otherwise_stands_first_among_the_changes_and_in_the_rail(job: Job) -> None:
    all_done_on(job)
    rewire(job)
    seen = page(job.bench.look("changes").text)
    panel = words(by_id(seen, "changes"))
    count = sum(1 for change in job.bench.desk.open(job.bench.id).plan.changes if change.rewired)
    assert count == 1
    assert panel.startswith("What changed at the bench ■ 1 wire wired otherwise now")
    assert "take its contacts out, fit it by the new card, test it again" in panel
    assert first(job) in panel.split("To the bench")[0]
    assert "1 wired otherwise now" in words(by_id(seen, "rail-changes"))


def test_the_ledger_says_that_a_trimmed_piece_has_lost_its_ticks(job: Job) -> None:
    piece = all_done_on(job)
    job.desk.write(Trim(piece, 100))
    told = words(by_id(job.panel(), "ledger-log"))
    assert "to 100 mm; its ticks are cleared: crimp and test it again" in told


def test_the_same_tap_twice_cuts_once(job: Job) -> None:
    base, item = job.number, job.item(first(job))
    do = f"cut.{item.state}.{item.source}.{item.id}"
    job.send("tick", do=do, base=base)
    second = job.send("tick", do=do, base=base)
    assert second.status_code == 422
    assert [type(entry) for entry in job.desk.state().entries[base:]] == [Cut]


def test_a_cut_at_a_length_that_was_changed_meanwhile_is_a_conflict(job: Job) -> None:
    seen, base, item = job.bench.revision, job.number, job.item(first(job))
    job.bench.send("routes", **{f"runs.{job.bench.run}.length": "700"}, unit="mm")
    do = f"cut.{item.state}.{item.source}.{item.id}"
    answer = job.send("tick", do=do, revision=str(seen), base=base)
    assert answer.status_code == 409
    assert job.number == base


def test_without_a_script_a_tap_leads_back_to_the_open_run(job: Job) -> None:
    answer = job.cut(first(job), swap=False)
    where = answer.headers["location"]
    assert answer.status_code == 303
    assert words(by_id(page(job.bench.client.get(where).text), "batch-h")).startswith("1 Run 1")
    assert f"Written as entry {job.number}" in job.bench.client.get(where).text


def test_a_lot_of_ones_own_choice_is_cut_from(job: Job) -> None:
    material = job.item(first(job)).material
    other = job.desk.write(Receive(material, 5000, Decimal(0), "found in the drawer"))
    job.send("cut", wire=job.wires[0].id, lot=str(other))
    written = job.desk.state().entries[-1]
    assert isinstance(written, Cut)
    assert (written.lot, written.length_mm) == (other, job.wires[0].cut_mm)


def test_only_lots_that_have_enough_are_offered(job: Job) -> None:
    item = job.item(first(job))
    shortest = min(other.cut_mm for other in job.work if other.material == item.material and other.cut_mm)
    short = job.desk.write(Receive(item.material, shortest - 1, Decimal(0), "a remnant"))
    enough = job.desk.write(Receive(item.material, 5000, Decimal(0), "a remnant"))
    offered = [o.get("value") for o in all_of(field(job.panel(f"?of={job.of}"), "lot"), "option")]
    assert (str(short) in offered, str(enough) in offered) == (False, True)


def test_a_lot_with_too_little_is_refused_beside_its_field(job: Job) -> None:
    item = job.item(first(job))
    lot = job.desk.write(Receive(item.material, item.cut_mm - 1, Decimal(0), "a remnant"))
    base = job.number
    answer = job.send("cut", wire=item.id, lot=str(lot))
    assert (answer.status_code, job.number) == (422, base)
    assert f"lot {lot} has {item.cut_mm - 1} mm left" in beside(page(answer.text), "lot").replace("Lot", "lot")


def test_a_piece_is_thrown_away_with_a_reason(job: Job) -> None:
    job.cut(first(job))
    piece = job.number
    job.send("scrap", piece=str(piece), reason="nicked at the strip")
    assert "nicked at the strip" in words(by_id(job.panel(), "ledger-log"))
    assert job.item(first(job)).piece is None


def test_throwing_away_without_a_reason_is_refused_beside_its_field(job: Job) -> None:
    job.cut(first(job))
    answer = job.send("scrap", piece=str(job.number), reason="  ")
    assert answer.status_code == 422
    assert "say why" in beside(page(answer.text), "reason").lower()


def test_a_piece_of_another_build_is_not_thrown_away_here(job: Job) -> None:
    other = job.bench.desk.create("Another").build_id
    lot = job.desk.write(Receive(Material("wire", "awg16-plain", "BK"), 5000, Decimal(0), "found"))
    piece = job.desk.write(Cut(lot, other, "r/x", "9-01", 9, 100))
    answer = job.send("scrap", piece=str(piece), reason="wrong build")
    assert answer.status_code == 422
    assert job.number == piece


def test_an_entry_says_what_was_cut_how_long_and_from_which_lot(job: Job) -> None:
    item = job.item(first(job))
    job.cut(first(job))
    colour = item.material.colour
    told = words(by_id(job.panel(), "ledger-log"))
    assert f"cut {item.label}, {item.cut_mm} mm, from lot {item.source}, " in told
    assert f"AWG plain {colour}" in told


def test_undo_is_a_new_entry_and_the_wire_is_not_cut_any_more(job: Job) -> None:
    job.cut(first(job))
    cut = job.number
    job.send("undo", entry=str(cut))
    assert job.desk.state().entries[-1] == Undo(cut)
    assert job.item(first(job)).piece is None


def test_what_one_tap_wrote_is_taken_back_by_one_tap(job: Job) -> None:
    base = job.number
    job.cut_all()
    job.send("undo", entry=f"{base + 1}-{job.number}")
    assert [item for item in job.work if item.piece] == []


def test_an_entry_that_later_ones_lean_on_is_not_undone_and_the_reason_stands_beside_it(job: Job) -> None:
    job.cut(first(job))
    cut = job.number
    job.send("tick", do=f"crimped.{cut}")
    answer = job.send("undo", entry=str(cut))
    log = by_id(page(answer.text), "ledger-log")
    row = next(li for li in log.iter("li") if words(li).startswith(f"{cut} "))
    assert answer.status_code == 422
    assert f"entry {cut + 1}" in words(row)


def test_an_undone_entry_stays_in_the_ledger_and_cannot_be_undone_again(job: Job) -> None:
    job.cut(first(job))
    cut = job.number
    job.send("undo", entry=str(cut))
    rows = [li for li in by_id(job.panel(), "ledger-log").iter("li") if words(li).startswith(f"{cut} ")]
    assert len(rows) == 1
    assert "undone" in words(rows[0])
    assert all_of(rows[0], "button") == []


def test_a_long_ledger_goes_on_on_a_second_page(job: Job) -> None:
    job.cut_all()
    job.send("tick", do="crimped.all")
    job.send("tick", do="fitted.all")
    log = by_id(job.panel("?page=2"), "ledger-log")
    numbers = [int(words(li).split()[0]) for li in log.iter("li")]
    # By hand: 25 entries on a page, newest first.
    assert numbers[0] == job.number - 25


@pytest.mark.parametrize("query", ["?of=run:none", "?page=999", "?page=-1", "?written=9-1", "?written=x", "?of=<b>"])
def test_an_address_that_asks_for_what_there_is_not_shows_the_bench(job: Job, query: str) -> None:
    assert job.bench.look(f"ledger{query}").status_code == 200


@pytest.mark.parametrize(
    "do", ["", "cut.", "cut.shelf.1.none", "cut.shelf.x.y", "polished.all", "crimped.x", "cut.all"]
)
def test_a_tick_of_what_there_is_not_is_refused(unbought: Job, do: str) -> None:
    base = unbought.number
    assert unbought.send("tick", do=do).status_code == 422
    assert unbought.number == base


@pytest.mark.parametrize("entry", ["", "x", "0", "5-2", "1-99999999", "999999"])
def test_undoing_what_there_is_not_is_refused(job: Job, entry: str) -> None:
    base = job.number
    assert job.send("undo", entry=entry).status_code == 422
    assert job.number == base


def test_what_the_shelf_has_of_contacts_is_taken_for_a_run(job: Job) -> None:
    opened = job.bench.desk.open(job.bench.id)
    for line in opened.plan.buys:
        if line.kind == "contact":
            job.desk.buy(opened.build_id, opened.revision, (line.kind, line.item, line.colour))
    assert job.send("take").status_code == 200
    assert "Taken:" in words(by_id(job.panel(f"?of={job.of}"), "ledger-batch"))
    assert sum(job.desk.on_hand(job.bench.id).takes.values()) > 0


def test_a_reason_made_of_markup_stays_text(job: Job) -> None:
    job.cut(first(job))
    job.send("scrap", piece=str(job.number), reason="<script>1</script>")
    assert "<script>1" not in job.bench.look("ledger").text


def test_the_rail_says_how_many_wires_are_cut(job: Job) -> None:
    job.cut(first(job))
    total = sum(1 for item in job.work if item.material.kind == "wire")
    line = words(by_id(page(job.bench.look("ledger").text), "rail-ledger"))
    assert f"1 of {total} wires cut" in line
