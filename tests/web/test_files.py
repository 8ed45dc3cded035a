"""Every list as CSV and XLSX, every drawing as SVG; read back, and held against the plan they come from."""

import csv
import io
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from datetime import datetime
from typing import Any

import pytest
from openpyxl import load_workbook

from server.services.test_sheets import sheet_for
from tests.web.conftest import Bench
from tests.web.reading import all_of, by_id, page, words


def hrefs(bench: Bench, ending: str) -> list[str]:
    links = all_of(page(bench.client.get(f"/builds/{bench.id}/files").text), "a")
    return [link.get("href") for link in links if (link.get("href") or "").endswith(ending)]


def cells(bench: Bench, name: str) -> Iterator[dict[str, Any]]:
    """Rows of a list's workbook by heading."""
    answer = bench.client.get(f"/builds/{bench.id}/export/{name}.xlsx")
    rows = load_workbook(io.BytesIO(answer.content)).worksheets[0].iter_rows(values_only=True)
    heads = next(rows)
    return (dict(zip(map(str, heads), row, strict=True)) for row in rows)


@pytest.mark.parametrize("ending", [".csv", ".xlsx", ".svg"])
def test_every_file_that_the_page_offers_is_there(bench: Bench, ending: str) -> None:
    found = hrefs(bench, ending)
    assert len(found) >= 10
    assert {href for href in found if bench.client.get(href).status_code != 200} == set()


def test_every_drawing_is_one_svg_document_without_anything_from_elsewhere(bench: Bench) -> None:
    for href in hrefs(bench, ".svg"):
        text = bench.client.get(href).text
        assert ET.fromstring(text).tag == "{http://www.w3.org/2000/svg}svg", href
        assert "var(--" not in text, href


def test_the_workbook_holds_every_list(bench: Bench) -> None:
    answer = bench.client.get(f"/builds/{bench.id}/export/build.xlsx")
    names = load_workbook(io.BytesIO(answer.content)).sheetnames
    assert {"Cables", "Wires", "Cut list", "Buy list", "Findings"} <= set(names)


def test_every_wire_stands_in_the_wire_table_with_its_length_as_a_number(bench: Bench) -> None:
    planned = {w.label: w.cut_mm for run in bench.desk.open(bench.id).plan.runs for w in run.wires}
    rows = list(cells(bench, "wires"))
    cut = next(head for head in rows[0] if head.startswith("cut") and head.endswith("mm"))
    assert {row["wire"]: row[cut] for row in rows} == planned
    assert all(isinstance(row[cut], int | float) for row in rows if row[cut] is not None)


def test_a_label_stays_a_text_in_a_table_that_opens_as_a_sheet(bench: Bench) -> None:
    # A program that opens a CSV file would take 1-04 for the first of April.
    text = bench.client.get(f"/builds/{bench.id}/export/wires.csv").content.decode("utf-8-sig")
    labels = [row["wire"] for row in csv.DictReader(io.StringIO(text))]
    assert labels
    assert all(label.startswith("'") for label in labels if label.strip("'").replace("-", "").isdigit())


def test_a_list_that_there_is_not_is_not_found(bench: Bench) -> None:
    assert bench.client.get(f"/builds/{bench.id}/export/nothing.csv").status_code == 404
    assert bench.client.get(f"/builds/{bench.id}/export/wires.doc").status_code == 404


def test_the_list_of_test_sheets_tells_how_each_run_stands(bench: Bench) -> None:
    bench.send("routes", **{f"runs.{bench.run}.length": "400"})
    rows = list(cells(bench, "tests"))
    plan = bench.desk.open(bench.id).plan
    assert [row["run"] for row in rows] == [run.number for run in plan.runs]
    assert {row["state"] for row in rows} == {"not tested"}
    assert {row["supply"] for row in rows} == {"NOT METERED"}
    # A join for each wire of the 24-position run, whose wires share no contact: a property of a straight cable.
    assert rows[0]["joins"] == len(plan.runs[0].wires)
    assert all(isinstance(row[name], int) for row in rows for name in ("joins", "pairs that stay open", "voltages"))


def test_every_check_of_a_sheet_stands_in_the_list_of_checks(bench: Bench) -> None:
    rows = [row for row in cells(bench, "checks") if row["run"] == 1]
    summary = next(row for row in cells(bench, "tests") if row["run"] == 1)
    joins = [row for row in rows if row["check"] == "join"]
    assert (len(joins), {row["must read"] for row in joins}) == (summary["joins"], {"joined"})
    opens = [row for row in rows if row["check"] == "open"]
    assert (len(opens), {row["must read"] for row in opens}) == (summary["pairs that stay open"], {"silent"})
    assert len(rows) == len(joins) + len(opens) + summary["voltages"]


def test_what_was_read_stands_beside_its_check(bench: Bench) -> None:
    run = bench.desk.open(bench.id).plan.runs[0]
    sheet = sheet_for(bench.desk.open(bench.id), run.id)
    # One join that is silent is a failed test, whatever else was read.
    bad = sheet.joins[0]
    fields = {"revision": bench.revision, "base": bench.desk.open(bench.id).ledger, bad.key: "no"}
    answer = bench.client.post(f"/builds/{bench.id}/runs/{run.id}/test", data=fields)
    assert answer.status_code == 303
    row = next(row for row in cells(bench, "checks") if row["check"] == "join" and row["wire or group"] == bad.label)
    assert row["read"] == "silent"
    stands = next(row for row in cells(bench, "tests") if row["run"] == run.number)
    assert stands["state"] == "failed"
    assert isinstance(stands["tested"], datetime)
    assert stands["likeliest cause"]


def test_the_order_of_work_has_the_steps_of_each_card_in_their_order(bench: Bench) -> None:
    bench.send("routes", **{f"runs.{bench.run}.length": "400"})
    rows = list(cells(bench, "order"))
    card = words(by_id(page(bench.look("cards").text), "card-1"))
    steps = [row["what to do"] for row in rows if row["run"] == 1]
    assert [row["step"] for row in rows if row["run"] == 1] == list(range(1, len(steps) + 1))
    places = [card.index(step) for step in steps]
    assert steps
    assert places == sorted(places)
    assert {row["length, mm"] for row in rows if row["run"] == 1} == {400}


def test_every_socket_of_every_part_stands_in_the_list_with_its_run(bench: Bench) -> None:
    opened = bench.desk.open(bench.id)
    rows = list(cells(bench, "parts"))
    assert [(row["part"], row["socket"]) for row in rows] == [
        (part.name, socket.id) for part in opened.build.parts for socket in part.sockets
    ]
    fed = {(plug.ref.part, plug.ref.socket): run.number for run in opened.plan.runs for plug in run.ends}
    ids = [(part.id, socket.id) for part in opened.build.parts for socket in part.sockets]
    for row, where in zip(rows, ids, strict=True):
        if row["role"] == "inlet":
            assert row["run"] == fed.get(where)
            assert bool(row["not fed because"]) == (where not in fed)


@pytest.mark.parametrize(
    ("panel", "name"),
    [
        ("findings", "findings"),
        ("tools", "tools"),
        ("waiting", "waiting"),
        ("estimate", "estimate"),
        ("tests", "tests"),
        ("ledger", "work"),
        ("ledger", "ledger"),
        ("cuts", "cuts"),
        ("rolls", "rolls"),
        ("buys", "buys"),
    ],
)
def test_a_panel_that_is_a_list_saves_it_as_both_kinds_of_file(bench: Bench, panel: str, name: str) -> None:
    links = {link.get("href") for link in all_of(page(bench.look(panel).text), "a")}
    for ending in ("csv", "xlsx"):
        href = f"/builds/{bench.id}/export/{name}.{ending}"
        assert href in links
        assert bench.client.get(href).status_code == 200
