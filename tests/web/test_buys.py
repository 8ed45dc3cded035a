"""The buy list: what is still to buy, ticking it as bought, suppliers, and the list as a file."""

import csv
import io
from decimal import Decimal

import pytest
from openpyxl import load_workbook

from server.domain.model.bench import Lot, Material, Receive, Release, Reserve, ScrapStock
from server.domain.model.plan import BuyLine
from server.services.bench import BenchDesk
from tests.web.conftest import PANEL, Bench
from tests.web.reading import all_of, beside, by_id, field, page, words


def desk(bench: Bench) -> BenchDesk:
    made: BenchDesk = bench.client.app.state.bench  # type: ignore[attr-defined]
    return made


@pytest.fixture(autouse=True)
def _empty_shelf(bench: Bench) -> None:
    """The ledger is never emptied, so what earlier tests left on the shelf is thrown away."""
    lots = desk(bench).bench().lots.values()
    desk(bench).write_all([Release(lot.id, build, n) for lot in lots for build, n in lot.reserved.items()])
    desk(bench).write_all([ScrapStock(lot.id, lot.left, "an earlier test") for lot in lots if lot.left])


def measured(bench: Bench) -> None:
    """Every run of the build gets a length, so that everything is bought."""
    opened = bench.desk.open(bench.id)
    sent = {f"runs.{run.id}.length": "400" for run in opened.build.runs}
    sent |= {f"runs.{run.id}.spacing": "95" for run in opened.build.runs if len(run.ends) > 1}
    assert bench.send("routes", **sent).status_code == 303


def line(bench: Bench, kind: str) -> BuyLine:
    return next(line for line in bench.desk.open(bench.id).plan.buys if line.kind == kind)


def key(of: BuyLine) -> str:
    return f"{of.kind}/{of.item}/{of.colour}"


def tick(bench: Bench, of: BuyLine, *, swap: bool = False, **more: str):  # type: ignore[no-untyped-def]
    return post(bench, "buys/bought", swap=swap, **{"line": key(of), **more})


def post(bench: Bench, where: str, *, swap: bool = False, **more: str):  # type: ignore[no-untyped-def]
    """A form of the panel, made from the build and the ledger as they stand unless it says otherwise."""
    data = {"revision": str(bench.revision), "base": str(desk(bench).bench().entries), **more}
    return bench.client.post(f"/builds/{bench.id}/{where}", data=data, headers=PANEL if swap else {})


def own_lots(bench: Bench) -> list[Lot]:
    return [lot for lot in desk(bench).bench().lots.values() if lot.build == bench.id]


def row_of(bench: Bench, of: BuyLine) -> str:
    name = of.name.rpartition(",")[0] if of.colour else of.name
    rows = [words(tr) for tr in all_of(by_id(page(bench.look("buys").text), "buys"), "tr")]
    return next(row for row in rows if row.startswith(name) and (not of.colour or of.colour in row))


@pytest.fixture
def ready(bench: Bench) -> Bench:
    measured(bench)
    return bench


# ---- ticking -------------------------------------------------------------------------------------------------------


def test_a_ticked_line_lies_on_the_shelf_at_its_price_one_lot_for_each_pack(ready: Bench) -> None:
    bought = line(ready, "housing")
    assert tick(ready, bought).status_code == 303
    lots = own_lots(ready)
    assert len(lots) == sum(times for _, times in bought.packs)
    assert sum(lot.unit_price * lot.received for lot in lots) == bought.price


def test_a_ticked_line_is_no_longer_to_buy(ready: Bench) -> None:
    tick(ready, line(ready, "wire"))
    assert line(ready, "wire").to_buy == 0
    assert "all there" in row_of(ready, line(ready, "wire"))


def test_what_is_bought_counts_as_spent_and_no_longer_as_still_to_buy(ready: Bench) -> None:
    bought = line(ready, "wire")
    before = ready.desk.open(ready.id).plan
    tick(ready, bought)
    after = ready.desk.open(ready.id).plan
    assert (before.spent, after.spent) == (Decimal(0), bought.price)
    assert after.estimate.total == before.estimate.total


def test_other_packs_at_another_price_may_have_been_bought(ready: Bench) -> None:
    of = line(ready, "wire")
    packs = sorted(
        (p for p in ready.desk.catalogue().packs if (p.kind, p.item) == (of.kind, of.item)), key=lambda p: p.quantity
    )
    counts = {f"packs.{key(of)}.{pack.id}": "0" for pack in packs}
    counts[f"packs.{key(of)}.{packs[-1].id}"] = "2"
    tick(ready, of, **counts, **{f"price.{key(of)}.{packs[-1].id}": "11,25"})
    # By hand: two of the largest roll at 11.25 each.
    assert [(lot.received, lot.unit_price * lot.received) for lot in own_lots(ready)] == [
        (packs[-1].quantity, Decimal("11.25"))
    ] * 2


def test_the_message_after_ticking_offers_the_way_back(ready: Bench) -> None:
    answer = tick(ready, line(ready, "wire"), swap=True)
    banner = next(e for e in page(answer.text).iter("div") if "banner-done" in str(e.get("class")))
    assert "On the shelf:" in words(banner)
    assert [words(button) for button in banner.iter("button")] == ["Undo"]


def test_without_a_script_the_way_leads_to_the_same_message(ready: Bench) -> None:
    where = tick(ready, line(ready, "wire")).headers["location"]
    assert "On the shelf:" in words(by_id(page(ready.client.get(where).text), "buys"))


def test_what_was_bought_can_be_taken_back_as_a_whole(ready: Bench) -> None:
    tick(ready, line(ready, "contact"))
    ids = [lot.id for lot in own_lots(ready)]
    post(ready, "buys/undo", entry=f"{ids[0]}-{ids[-1]}")
    assert own_lots(ready) == []
    assert ready.desk.open(ready.id).plan.spent == 0


def lines_to_buy(bench: Bench) -> list[BuyLine]:
    return [held for held in bench.desk.open(bench.id).plan.buys if held.packs]


def test_one_press_buys_everything_as_listed_and_one_takes_it_back(ready: Bench) -> None:
    listed = lines_to_buy(ready)
    tree = page(ready.look("buys").text)
    (form,) = [form for form in all_of(tree, "form") if "Everything bought as listed" in words(form)]
    sent = [e.get("value") for e in all_of(form, "input") if e.get("name") == "lines"]
    assert sent == [key(held) for held in listed]
    answer = post(ready, "buys/all", swap=True, lines=sent)  # type: ignore[arg-type]
    held = own_lots(ready)
    # A lot for each pack that the list names, and the money that it asked for.
    assert len([lot for lot in held if lot.left]) == sum(n for line_ in listed for _, n in line_.packs)
    assert sum(lot.unit_price * lot.received for lot in held) == sum(held.price or 0 for held in listed)
    assert lines_to_buy(ready) == []
    assert f"On the shelf: {len(listed)} lines of the list" in words(page(answer.text))
    entry = next(e for e in all_of(page(answer.text), "input") if e.get("name") == "entry").get("value")
    post(ready, "buys/undo", entry=str(entry))
    assert lines_to_buy(ready) == listed


def test_what_one_order_brings_is_bought_at_one_press(ready: Bench) -> None:
    wires = [held for held in lines_to_buy(ready) if held.kind == "wire"]
    others = [held for held in lines_to_buy(ready) if held.kind != "wire"]
    tree = page(ready.look("buys").text)
    (form,) = [form for form in all_of(tree, "form") if words(form) == "All of these bought: wire"]
    sent = [e.get("value") for e in all_of(form, "input") if e.get("name") == "lines"]
    assert sent == [key(held) for held in wires]
    assert post(ready, "buys/all", lines=sent).status_code == 303  # type: ignore[arg-type]
    assert lines_to_buy(ready) == others


def test_pressed_twice_everything_is_bought_once(ready: Bench) -> None:
    sent = {"lines": [key(held) for held in lines_to_buy(ready)], "base": str(desk(ready).bench().entries)}
    post(ready, "buys/all", **sent)  # type: ignore[arg-type]
    held = len(own_lots(ready))
    assert post(ready, "buys/all", **sent).status_code in (409, 422)  # type: ignore[arg-type]
    assert len(own_lots(ready)) == held


@pytest.mark.parametrize("sent", [[], ["wire"], ["nail/long/BK"], ["wire/no-such-wire/BK"]])
def test_of_lines_that_cannot_be_bought_none_is(ready: Bench, sent: list[str]) -> None:
    good = key(line(ready, "wire"))
    answer = post(ready, "buys/all", lines=[good, *sent] if sent else [])  # type: ignore[arg-type]
    assert answer.status_code in (404, 422)
    assert not [lot for lot in own_lots(ready) if lot.left]


def test_a_double_click_buys_once(ready: Bench) -> None:
    of, base = line(ready, "wire"), str(desk(ready).bench().entries)
    tick(ready, of, base=base)
    second = tick(ready, of, base=base)
    assert second.status_code == 422
    assert len(own_lots(ready)) == sum(times for _, times in of.packs)


@pytest.mark.parametrize(("count", "price"), [("lots", "5"), ("-1", "5"), ("501", "5"), ("1", "-5"), ("1", "cheap")])
def test_a_wrong_number_is_refused_beside_its_field_and_stays_typed(ready: Bench, count: str, price: str) -> None:
    of = line(ready, "wire")
    pack = of.packs[0][0]
    names = f"packs.{key(of)}.{pack}", f"price.{key(of)}.{pack}"
    answer = tick(ready, of, **{names[0]: count, names[1]: price})
    assert answer.status_code == 422
    tree = page(answer.text)
    assert [field(tree, name).get("value") for name in names] == [count, price]
    assert any(beside(tree, name) for name in names)
    assert own_lots(ready) == []


def test_nothing_bought_is_said_beside_the_line(ready: Bench) -> None:
    of = line(ready, "wire")
    name = f"packs.{key(of)}.{of.packs[0][0]}"
    answer = tick(ready, of, **{name: "0"})
    assert "how many" in beside(page(answer.text), name)


@pytest.mark.parametrize("name", ["", "wire", "gold/bar/", "wire/awg99-plain/BK"])
def test_a_line_that_is_not_on_the_list_is_refused(ready: Bench, name: str) -> None:
    assert post(ready, "buys/bought", line=name).status_code in (404, 422)
    assert own_lots(ready) == []


def test_a_form_of_an_older_revision_buys_nothing(ready: Bench) -> None:
    answer = tick(ready, line(ready, "wire"), revision=str(ready.revision - 1))
    assert answer.status_code == 409
    assert own_lots(ready) == []


# ---- what the shelf covers -----------------------------------------------------------------------------------------


def test_what_lies_on_the_shelf_is_taken_off_the_list(ready: Bench) -> None:
    of = line(ready, "housing")
    desk(ready).write(Receive(Material(of.kind, of.item, of.colour), 1, Decimal(0), "found"))
    assert (line(ready, "housing").on_shelf, line(ready, "housing").to_buy) == (1, of.needed - 1)


def test_the_second_that_wants_the_last_metre_is_told_who_keeps_it(ready: Bench) -> None:
    of = line(ready, "wire")
    other = ready.desk.create("Walnut case of Friday")
    lot = desk(ready).write(Receive(Material(of.kind, of.item, of.colour), 90_000, Decimal(0), "found"))
    desk(ready).write(Reserve(lot, other.build_id, 90_000))
    assert line(ready, "wire").to_buy == of.to_buy
    assert "90 m more kept for Walnut case of Friday" in row_of(ready, of)


@pytest.mark.parametrize("kind", ["wire", "housing"])
def test_what_the_plan_takes_is_kept_for_the_build_at_one_press(ready: Bench, kind: str) -> None:
    of = line(ready, kind)
    lot = desk(ready).write(Receive(Material(of.kind, of.item, of.colour), 90_000, Decimal(0), "found"))
    assert "not kept for this build: another build may take it" in row_of(ready, of)
    assert post(ready, "buys/keep", line=key(of)).status_code == 303
    kept = desk(ready).bench().lots[lot].reserved[ready.id]
    rolled = [x for s in ready.desk.open(ready.id).plan.rolls for x in s.layouts if x.source == "lot" and x.lot == lot]
    # A lot gives what the roll plan leaves of it, and counted things are given as they are needed.
    assert kept == (sum(x.stock_mm - x.left_mm for x in rolled) if kind == "wire" else of.needed)
    assert "not kept for this build" not in row_of(ready, of)


def test_what_is_kept_already_is_not_kept_twice(ready: Bench) -> None:
    of = line(ready, "housing")
    material = Material(of.kind, of.item, of.colour)
    first, second = (desk(ready).write(Receive(material, 1, Decimal(0), "found")) for _ in range(2))
    desk(ready).write(Reserve(second, ready.id, 1))
    base = str(desk(ready).bench().entries)
    for _ in range(2):
        post(ready, "buys/keep", line=key(of), base=base)
    lots = desk(ready).bench().lots
    assert [dict(lots[lot].reserved) for lot in (first, second)] == [{ready.id: 1}] * 2


def test_nothing_is_kept_from_a_page_that_the_ledger_has_gone_on_from(ready: Bench) -> None:
    of = line(ready, "housing")
    base = str(desk(ready).bench().entries)
    lot = desk(ready).write(Receive(Material(of.kind, of.item, of.colour), 1, Decimal(0), "found"))
    assert post(ready, "buys/keep", line=key(of), base=base).status_code == 422
    assert dict(desk(ready).bench().lots[lot].reserved) == {}


def test_tools_stand_on_the_list(ready: Bench) -> None:
    told = words(by_id(page(ready.look("buys").text), "buys"))
    assert [tool for tool in ready.desk.open(ready.id).plan.tools if tool not in told] == []


# ---- suppliers -----------------------------------------------------------------------------------------------------


def named(bench: Bench, of: BuyLine, text: str):  # type: ignore[no-untyped-def]
    return bench.send("suppliers", **{f"supplier.{of.kind}.{of.item}": text})


def groups(bench: Bench) -> list[str]:
    rows = all_of(by_id(page(bench.look("buys").text), "buys"), "tr")
    return [words(row) for row in rows if row.get("class") == "table-group"]


def test_the_list_is_grouped_by_the_suppliers_that_are_named(ready: Bench) -> None:
    of = line(ready, "housing")
    named(ready, of, "  Corner   shop ")
    assert groups(ready)[0] == "Corner shop: housings"
    named(ready, of, "")
    assert not any("Corner shop" in group for group in groups(ready))


def test_a_supplier_is_named_for_every_build(ready: Bench) -> None:
    of = line(ready, "housing")
    named(ready, of, "Post order")
    stock = ready.client.app.state.stock  # type: ignore[attr-defined]
    assert stock.suppliers()[of.kind, of.item] == "Post order"
    named(ready, of, "")
    assert (of.kind, of.item) not in stock.suppliers()


def test_a_supplier_of_more_than_eighty_characters_is_refused_beside_its_field(ready: Bench) -> None:
    of = line(ready, "housing")
    answer = named(ready, of, "x" * 81)
    assert answer.status_code == 422
    name = f"supplier.{of.kind}.{of.item}"
    assert "at most 80" in beside(page(answer.text), name)
    assert field(page(answer.text), name).get("value") == "x" * 81


# ---- files ---------------------------------------------------------------------------------------------------------


def test_the_buy_list_as_csv_has_a_row_for_each_line_with_units_in_the_heading(ready: Bench) -> None:
    answer = ready.look("export/buys.csv")
    rows = list(csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig"), newline="")))
    plan = ready.desk.open(ready.id).plan
    assert answer.headers["content-type"].startswith("text/csv")
    assert len(rows) == len(plan.buys)
    wire = next(row for row in rows if row["kind"] == "wire")
    assert int(wire["needed, mm"]) == line(ready, "wire").needed
    assert (wire["needed, pieces"], Decimal(wire["price, EUR"])) == ("", line(ready, "wire").price)


def test_the_buy_list_as_a_workbook_has_numbers_and_the_tools(ready: Bench) -> None:
    book = load_workbook(io.BytesIO(ready.look("export/buys.xlsx").content))
    head = [cell.value for cell in book["Buy list"][1]]
    needed = {row[head.index("item")].value: row[head.index("needed, mm")] for row in book["Buy list"].iter_rows(2)}
    assert needed[line(ready, "wire").name].value == line(ready, "wire").needed
    assert [cell.value for cell in book["Tools"]["A"]][1:] == list(ready.desk.open(ready.id).plan.tools)


def test_a_supplier_like_a_formula_comes_out_as_text(ready: Bench) -> None:
    named(ready, line(ready, "housing"), "=HYPERLINK(1)")
    place = load_workbook(io.BytesIO(ready.look("export/buys.xlsx").content))["Buy list"]
    cells = [cell for cell in place["A"] if cell.value == "=HYPERLINK(1)"]
    assert {cell.data_type for cell in cells} == {"s"}
    assert "'=HYPERLINK(1)" in ready.look("export/buys.csv").text
    named(ready, line(ready, "housing"), "")


def test_the_cut_list_as_a_file_holds_every_length(ready: Bench) -> None:
    place = load_workbook(io.BytesIO(ready.look("export/cuts.xlsx").content)).active
    plan = ready.desk.open(ready.id).plan
    wanted = [(line.cut_mm, line.count) for group in plan.cuts for line in group.lines]
    assert [(row[3].value, row[4].value) for row in place.iter_rows(2)] == wanted


def test_the_roll_plan_as_a_file_has_every_piece_in_cutting_order(ready: Bench) -> None:
    place = load_workbook(io.BytesIO(ready.look("export/rolls.xlsx").content)).active
    plan = ready.desk.open(ready.id).plan
    wanted = [piece.label for sheet in plan.rolls for layout in sheet.layouts for piece in layout.pieces]
    assert [row[5].value for row in place.iter_rows(2)] == wanted


@pytest.mark.parametrize("name", ["buys.pdf", "nothing.csv", "buys", "cuts.xls"])
def test_a_file_that_does_not_exist_is_not_found(ready: Bench, name: str) -> None:
    assert ready.look(f"export/{name}").status_code == 404
