"""Wire labels: their settings, the sheet as PDF read back to a tenth of a millimetre, and the label printers' table."""

import csv
import ctypes
import io
import xml.etree.ElementTree as ET
from pathlib import Path

import pypdfium2
import pytest
from fastapi.testclient import TestClient
from httpx import Response
from pypdfium2 import PdfTextPage, raw

from server.app import create_app
from server.config import Settings
from server.documents.label_json import read_settings, write_settings
from server.domain.label_sheet import LabelSheet
from server.domain.label_text import LabelForm
from server.domain.labels import LabelSettings
from server.services.builds import BuildDesk
from tests.web.conftest import PANEL, Bench
from tests.web.reading import all_of, beside, by_id, field, page, words

MM_PER_POINT = 25.4 / 72
EM_WIDE = 1233 / 2048
"""Published: the width of every glyph of DejaVu Sans Mono, in parts of the size."""
SVG = "{http://www.w3.org/2000/svg}"
SETTINGS: dict[str, object] = {
    "labels.lines": ["label", "net"], "labels.ends": "both", "labels.says": "own", "labels.form": "plain",
    "labels.repeats": "3", "labels.fold_mm": "8", "labels.copies": "1", "labels.first": "1",
    "labels.page_width_mm": "100", "labels.page_height_mm": "80", "labels.left_mm": "5", "labels.top_mm": "4",
    "labels.columns": "2", "labels.rows": "3", "labels.label_width_mm": "40", "labels.label_height_mm": "20",
    "labels.gap_across_mm": "3", "labels.gap_down_mm": "1.5", "shown": ["labels.runs", "labels.lines"],
}  # fmt: skip


@pytest.fixture
def measured(bench: Bench) -> Bench:
    """The build with its first run measured, and no settings of labels from another test."""
    bench.send("routes", **{f"runs.{bench.run}.length": "400"})
    bench.desk.set_labels(bench.id, LabelSettings(), ())
    return bench


def runs(bench: Bench) -> list[str]:
    return [run.id for run in bench.desk.open(bench.id).plan.runs]


def post(bench: Bench, where: str = "", *, swap: bool = False, **changes: object) -> Response:
    data = {**SETTINGS, "labels.runs": runs(bench), **{f"labels.{name}": value for name, value in changes.items()}}
    return bench.client.post(f"/builds/{bench.id}/labels{where}", data=data, headers=PANEL if swap else {})


def boxes(text: PdfTextPage) -> list[tuple[str, float, float, float]]:
    """Every word of a page with its left and right edge and its top, from the page's upper left corner. [mm]"""
    height = text.page.get_height()
    found: list[tuple[str, float, float, float]] = []
    line, left, last = "", 0.0, (0.0, 0.0)
    for index in range(text.count_chars()):
        character = text.get_text_range(index, 1)
        if character.isspace():
            if line:
                found.append((line, left * MM_PER_POINT, *last))
            line = ""
            continue
        box = text.get_charbox(index, loose=True)
        left = left if line else box[0]
        line, last = line + character, (box[2] * MM_PER_POINT, (height - box[3]) * MM_PER_POINT)
    return [*found, (line, left * MM_PER_POINT, *last)] if line else found


def base_mm(text: PdfTextPage) -> float:
    """From the page's upper edge to the line that its first letter stands on. [mm]"""
    x, y = ctypes.c_double(), ctypes.c_double()
    assert raw.FPDFText_GetCharOrigin(text, 0, ctypes.byref(x), ctypes.byref(y))
    return float((text.page.get_height() - y.value) * MM_PER_POINT)


def test_what_is_set_is_kept_for_every_build(measured: Bench) -> None:
    answer = post(measured, left_mm="6", copies="2")
    assert (answer.status_code, answer.headers["location"]) == (303, f"/builds/{measured.id}/labels?kept=yes")
    other = measured.desk.create("Another build").build_id
    tree = page(measured.client.get(f"/builds/{other}/labels").text)
    assert [field(tree, f"labels.{name}").get("value") for name in ("left_mm", "copies", "columns")] == ["6", "2", "2"]


def test_runs_without_labels_are_kept_for_this_build_and_a_new_run_is_labelled(measured: Bench) -> None:
    first, *others = runs(measured)
    post(measured, runs=others)
    assert measured.desk.runs_without_labels(measured.id) == {first}
    measured.desk.add_parts(measured.id, measured.revision, "drive-sata", 1)
    tree = page(measured.look("labels").text)
    boxes = [e for e in all_of(tree, "input") if e.get("name") == "labels.runs"]
    assert {e.get("value") for e in boxes if e.get("checked") is None} == {first}


@pytest.mark.parametrize(
    ("name", "typed", "told"),
    [
        ("columns", "3", "31 mm wider than the page"),
        ("rows", "4", "8.5 mm higher than the page"),
        ("gap_across_mm", "-1", "overlap"),
        ("label_height_mm", "4", "at least 5 mm"),
        ("page_width_mm", "wide", "Write a length"),
        ("left_mm", "", "Write a length"),
        ("first", "7", "labels 1 to 6"),
        ("copies", "0", "from 1 to 20"),
        ("columns", "<b>", "whole number"),
    ],
)
def test_a_bad_measure_is_named_beside_its_field_and_what_was_typed_is_kept(
    measured: Bench, name: str, typed: str, told: str
) -> None:
    # By hand: 5 + 3 x 40 + 2 x 3 = 131 of 100 mm; 4 + 4 x 20 + 3 x 1.5 = 88.5 of 80 mm.
    answer = post(measured, **{name: typed})
    tree = page(answer.text)
    assert answer.status_code == 422
    assert told in beside(tree, f"labels.{name}")
    assert field(tree, f"labels.{name}").get("value") == typed
    assert measured.desk.label_settings() == LabelSettings()


def test_several_bad_measures_are_told_at_once_each_by_the_name_of_its_field(measured: Bench) -> None:
    answer = post(measured, gap_across_mm="-1", label_height_mm="tall", copies="0")
    tree = page(answer.text)
    (banner,) = (element for element in tree.iter() if element.get("role") == "alert")
    told = [words(item) for item in all_of(banner, "li")]
    assert [line.partition(":")[0] for line in told] == ["Label, height", "Gap across", "Copies of each"]
    assert all(beside(tree, f"labels.{name}") for name in ("gap_across_mm", "label_height_mm", "copies"))


@pytest.mark.parametrize(("name", "changes"), [("repeats", {"form": "wrap"}), ("fold_mm", {"form": "flag"})])
def test_what_only_one_form_needs_is_checked_with_that_form_alone(
    measured: Bench, name: str, changes: dict[str, str]
) -> None:
    assert post(measured, **{name: "39"}).status_code == 303
    assert beside(page(post(measured, **{name: "39"}, **changes).text), f"labels.{name}")


def test_no_line_and_no_run_are_refused(measured: Bench) -> None:
    assert "Tick at least one line" in words(page(post(measured, lines=[]).text))
    assert "Tick at least one run" in words(page(post(measured, runs=[]).text))


def test_inches_are_read_where_they_are_named(measured: Bench) -> None:
    post(measured, page_width_mm="8.5 in")
    assert measured.desk.label_settings().sheet.page_width_mm == pytest.approx(215.9)


def test_the_sheet_follows_the_form_without_anything_being_kept(measured: Bench) -> None:
    answer = post(measured, "/preview", swap=True, first="4", columns="2")
    assert answer.status_code == 200
    drawing = ET.fromstring(answer.text[answer.text.index("<svg") : answer.text.index("</svg>") + 6])
    # By hand: three of six labels are used up; a page of 100 x 80 mm is drawn at four units a millimetre.
    assert (drawing.get("width"), drawing.get("height")) == ("400", "320")
    marks = [e for e in drawing.iter(f"{SVG}rect") if e.get("data-label")]
    assert len(marks) == 6
    assert len([e for e in drawing.iter(f"{SVG}rect") if e.get("data-used")]) == 3
    # By hand: label 4 lies in column 2 and row 2, at 48 and 25.5 mm.
    assert (marks[3].get("x"), marks[3].get("y")) == ("192", "102")
    assert measured.desk.label_settings() == LabelSettings()
    wrong = post(measured, "/preview", swap=True, columns="3")
    assert (wrong.status_code, "<svg" in wrong.text, "31 mm wider" in wrong.text) == (200, False, True)


def test_wires_of_a_run_that_waits_are_left_out_with_a_word(measured: Bench) -> None:
    waiting = measured.desk.open(measured.id).plan.runs[1:]
    wires = sum(len(run.wires) for run in waiting)
    told = words(by_id(page(measured.look("labels").text), "labels"))
    numbers = ", ".join(str(run.number) for run in waiting)
    assert f"Runs {numbers}: {wires} wires left out, since no length is measured yet." in told
    rows = table(post(measured, ".csv"))
    assert {row["label"].partition("-")[0] for row in rows} == {"1"}


def table(answer: Response) -> list[dict[str, str]]:
    assert answer.content.startswith(b"\xef\xbb\xbf")
    return list(csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig"))))


def test_the_table_has_one_row_for_each_label_as_it_is_to_be_printed(measured: Bench) -> None:
    wires = measured.desk.open(measured.id).plan.runs[0].wires
    rows = table(post(measured, ".csv", lines=["label", "plug", "cavity", "net", "colour"], copies="2"))
    assert [row["label"] for row in rows] == [wire.label for wire in wires for _ in range(4)]
    assert [row["end"] for row in rows[:4]] == ["source end"] * 2 + ["part end"] * 2
    by_wire = {wire.label: wire for wire in wires}
    for row in rows:
        wire = by_wire[row["label"]]
        place = wire.source if row["end"] == "source end" else wire.target
        assert (row["cavity"], row["net"], row["colour"]) == (place.cavity, wire.net, wire.colour)
        # Nothing is marked as a text, since a label printer would print the mark.
        assert [row["line 1"], row["line 3"], row["line 4"]] == [wire.label, wire.net, wire.colour]
        assert row["line 2"].endswith(place.cavity)
    assert any(row["net"].startswith("+") for row in rows)


def test_the_file_is_that_of_the_settings_kept_last(measured: Bench) -> None:
    post(measured, ends="part", lines=["label"])
    rows = table(measured.client.get(f"/builds/{measured.id}/labels.csv"))
    assert len(rows) == len(measured.desk.open(measured.id).plan.runs[0].wires)
    assert list(rows[0]) == ["label", "end", "plug", "cavity", "net", "colour", "line 1"]


def test_a_page_of_the_pdf_is_exactly_the_sheet_that_was_set(measured: Bench) -> None:
    answer = post(measured, ".pdf", page_width_mm="101.6", page_height_mm="152.4")
    document = pypdfium2.PdfDocument(answer.content)
    assert answer.headers["content-type"] == "application/pdf"
    # By hand: 24 wires with two ends on 6 labels a sheet.
    assert len(document) == 8
    for index in range(len(document)):
        assert document[index].get_width() * MM_PER_POINT == pytest.approx(101.6, abs=0.01)
        assert document[index].get_height() * MM_PER_POINT == pytest.approx(152.4, abs=0.01)


def test_text_stands_in_the_middle_of_its_label_to_a_tenth_of_a_millimetre(measured: Bench) -> None:
    wires = measured.desk.open(measured.id).plan.runs[0].wires
    document = pypdfium2.PdfDocument(post(measured, ".pdf", first="3", lines=["label"]).content)
    text = boxes(document[0].get_textpage())
    # By hand: labels 3 to 6 lie at 5 and 48 mm across, their middles at 25 and 68; four labels of 12 pt, so that
    # 4 characters are 4 x 0.60205 x 4.2333 = 10.195 mm wide.
    expected = [(wires[0].label, 25), (wires[0].label, 68), (wires[1].label, 25), (wires[1].label, 68)]
    assert [line[0] for line in text] == [label for label, _ in expected]
    for (label, left, right, _), (_, middle) in zip(text, expected, strict=True):
        half = len(label) * EM_WIDE * 12 * MM_PER_POINT / 2
        assert left == pytest.approx(middle - half, abs=0.1)
        assert right == pytest.approx(middle + half, abs=0.1)
    # By hand: row 2 begins at 25.5 mm, its middle is at 35.5, and a capital of 12 pt is 0.729 x 4.2333 = 3.086 mm
    # high, so that the letters stand on 35.5 + 1.543 = 37.043.
    assert base_mm(document[0].get_textpage()) == pytest.approx(37.043, abs=0.1)
    # By hand: rows 2 and 3 begin at 25.5 and 47 mm, 21.5 apart.
    assert text[2][3] - text[0][3] == pytest.approx(21.5, abs=0.1)
    # The next sheet begins at its first label, at 4 mm, which is 21.5 above the second row.
    later = boxes(document[1].get_textpage())
    assert text[0][3] - later[0][3] == pytest.approx(21.5, abs=0.1)


@pytest.mark.parametrize("form", ["plain", "wrap", "flag"])
def test_no_text_of_the_pdf_reaches_beyond_its_label(measured: Bench, form: str) -> None:
    lines = ["label", "plug", "cavity", "net", "colour"]
    document = pypdfium2.PdfDocument(post(measured, ".pdf", form=form, lines=lines, says="both").content)
    for index in range(len(document)):
        for _, left, right, _ in boxes(document[index].get_textpage()):
            # Columns reach from 5 to 45 and from 48 to 88 mm.
            assert 5 <= left < right <= 45 or 48 <= left < right <= 88


def test_text_that_is_hard_to_read_is_told(measured: Bench) -> None:
    lines = ["label", "plug", "cavity", "net", "colour"]
    answer = post(measured, "/preview", swap=True, form="flag", fold_mm="25", lines=lines, says="both")
    assert "Text under 5 pt, hard to read: 1-" in words(page(answer.text))


def test_nothing_to_label_is_said_and_no_file_is_made(bench: Bench) -> None:
    bench.desk.set_labels(bench.id, LabelSettings(), ())
    assert "No labels" in words(by_id(page(bench.look("labels").text), "label-live"))
    answer = post(bench, ".pdf")
    assert (answer.status_code, "nothing to label" in words(page(answer.text))) == (422, True)
    assert bench.client.get(f"/builds/{bench.id}/labels.csv").status_code == 422
    assert bench.client.get(f"/builds/{bench.id}/labels.doc").status_code == 404


def test_more_labels_than_can_be_meant_are_refused(bench: Bench) -> None:
    # By hand: 162 wires of the large example are measured; with 20 copies at both ends that is 6480 labels.
    made = bench.client.post("/examples/large").headers["location"].split("/")[2]
    large = Bench(bench.client, bench.desk, made)
    tree = page(post(large, ".csv", copies="20").text)
    assert "6480 labels; at most 5000" in beside(tree, "labels.copies")
    assert len(table(post(large, ".csv", copies="15"))) == 4860


def test_settings_are_still_there_when_the_planner_is_started_again(tmp_path: Path) -> None:
    made = LabelSettings(LabelSheet(100, 80, columns=1, rows=1), copies=4)
    for kept in (LabelSettings(), made):
        with TestClient(create_app(Settings(data=tmp_path)), base_url="http://127.0.0.1") as client:
            desk: BuildDesk = client.app.state.desk  # type: ignore[attr-defined]
            assert desk.label_settings() == kept
            desk.set_labels("any", made, ("r2",))
            assert desk.runs_without_labels("any") == {"r2"}
            assert desk.runs_without_labels("other") == frozenset()


def test_settings_come_back_as_they_were_written() -> None:
    made = LabelSettings(LabelSheet(100, 80), LabelForm("flag"), ("net",), "part", "both", 2, 3)
    assert read_settings(write_settings(made)) == made
    assert read_settings("") is None
    assert read_settings('{"copies": "many"}') is None


def test_a_kind_of_file_that_there_is_not_keeps_no_settings(measured: Bench) -> None:
    before = measured.desk.label_settings()
    assert post(measured, ".exe", copies="3").status_code == 404
    assert measured.desk.label_settings() == before
