"""Every list as CSV and XLSX, every drawing as SVG; read back, and held against the plan they come from."""

import csv
import io
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from typing import Any

import pytest
from openpyxl import load_workbook

from tests.web.conftest import Bench
from tests.web.reading import all_of, page


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
