"""Lists as files: typed cells that come back, texts that stay texts, and files that somebody edited by hand."""

import csv
import io
import zipfile
from decimal import Decimal

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl import Workbook, load_workbook

from server.documents.table_reading import column_letters, read_table
from server.documents.tables import FORMULA_STARTS, Column, Sheet, write_csv, write_xlsx
from server.domain.errors import InvalidInputError

COLUMNS = (Column("lot", "whole"), Column("name"), Column("left, mm", "whole"), Column("value", "amount"))
HEADINGS = ("lot", "name", "left, mm", "value")
SHEET = Sheet("Shelf", COLUMNS, ((7, "red wire", 612, Decimal("1.25")), (8, "blue wire", None, None)))
ATTACKS = ["=1+1", "+1", "-2+3", "@SUM(A1)", "\t=1", "=cmd|'/c calc'!A0"]


def workbook(*rows: tuple[object, ...], title: str = "Shelf", merge: str = "", first: str = "") -> bytes:
    book = Workbook()
    place = book.active
    if first:
        place.title = first
        place.append(["notes of my own"])
        place = book.create_sheet(title)
    else:
        place.title = title
    for row in rows:
        place.append(row)
    if merge:
        place.merge_cells(merge)
    data = io.BytesIO()
    book.save(data)
    return data.getvalue()


def read(data: bytes) -> list[dict[str, str]]:
    return [dict(row.cells) for row in read_table(data, HEADINGS, ("lot",)).rows]


def problems(data: bytes) -> list[str]:
    return [problem.message for problem in read_table(data, HEADINGS, ("lot",)).problems]


def refusal(data: bytes) -> str:
    with pytest.raises(InvalidInputError) as caught:
        read_table(data, HEADINGS, ("lot", "left, mm"))
    return caught.value.problems[0].message


# ---- writing -------------------------------------------------------------------------------------------------------


def test_a_csv_file_keeps_the_rules_of_rfc_4180() -> None:
    # RFC 4180, 2: lines end in CR LF; a field with commas or quotes stands in quotes, its own quotes doubled.
    sheet = Sheet("x", (Column("name"), Column("left, mm", "whole")), (('said "red", 5 m', 12),))
    assert write_csv(sheet).removeprefix(b"\xef\xbb\xbf") == b'name,"left, mm"\r\n"said ""red"", 5 m",12\r\n'


def test_a_csv_file_says_that_it_is_utf_8() -> None:
    assert write_csv(SHEET).startswith(b"\xef\xbb\xbf")


@pytest.mark.parametrize("text", ATTACKS)
def test_a_text_like_a_formula_does_not_begin_like_one_in_csv(text: str) -> None:
    written = write_csv(Sheet("x", (Column("name"),), ((text,),))).decode("utf-8-sig")
    cell = list(csv.reader(io.StringIO(written, newline="")))[1][0]
    assert not cell.startswith(FORMULA_STARTS)


@pytest.mark.parametrize("text", ["+12V", "+3.3V_SENSE", "-12V", "4-05", "1-04"])
def test_labels_and_nets_of_a_list_for_a_label_printer_stay_as_they_are(text: str) -> None:
    made = write_csv(Sheet("Labels", (Column("line", as_is=True),), ((text,),))).decode("utf-8-sig")
    assert made.splitlines()[1] == text


@pytest.mark.parametrize("text", [*ATTACKS, "+12V*1", "+12V(A1)", "-12V|x", "+12", "-12Vol@x"])
def test_nothing_else_that_is_like_a_formula_stays_as_it_is(text: str) -> None:
    made = write_csv(Sheet("Labels", (Column("line", as_is=True),), ((text,),))).decode("utf-8-sig")
    assert next(csv.reader(io.StringIO(made.split("\r\n", 1)[1], newline="")))[0].startswith("'")


@pytest.mark.parametrize("text", [*ATTACKS, "#N/A", "2026-01-02"])
def test_a_text_is_a_text_cell_in_a_workbook_whatever_it_looks_like(text: str) -> None:
    place = load_workbook(io.BytesIO(write_xlsx([Sheet("x", (Column("name"),), ((text,),))]))).active
    assert (place["A2"].data_type, place["A2"].value) == ("s", text)


def test_numbers_are_numbers_in_a_workbook() -> None:
    place = load_workbook(io.BytesIO(write_xlsx([SHEET]))).active
    assert [(cell.data_type, cell.value) for cell in place[2]] == [
        ("n", 7),
        ("s", "red wire"),
        ("n", 612),
        ("n", 1.25),
    ]


def test_what_no_cell_can_hold_is_left_out() -> None:
    place = load_workbook(io.BytesIO(write_xlsx([Sheet("x", (Column("name"),), (("a\x00b\x0bc",),))]))).active
    assert place["A2"].value == "a b c"


def test_a_title_that_no_sheet_can_have_is_made_one() -> None:
    # Sheet names: at most 31 characters, none of [ ] : * ? / \.
    book = load_workbook(io.BytesIO(write_xlsx([Sheet("cut/roll: " + "x" * 40, (Column("name"),), ())])))
    assert book.sheetnames == ["cut roll  " + "x" * 21]


def test_several_lists_make_one_workbook() -> None:
    data = write_xlsx([SHEET, Sheet("Tools", (Column("tool"),), (("crimper",),))])
    assert load_workbook(io.BytesIO(data)).sheetnames == ["Shelf", "Tools"]


# ---- what was written comes back -----------------------------------------------------------------------------------

texts = st.text(st.characters(exclude_categories=("Cs", "Cc")), max_size=30).map(lambda text: " ".join(text.split()))


@given(st.lists(st.tuples(st.integers(0, 10**7), texts), max_size=8))
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_numbers_and_texts_come_back_from_both_kinds_of_file(rows: list[tuple[int, str]]) -> None:
    sheet = Sheet("Shelf", (Column("lot", "whole"), Column("name")), tuple(rows))
    wanted = [(str(number), text) for number, text in rows]
    for data in (write_csv(sheet), write_xlsx([sheet])):
        assert [(row["lot"], row["name"]) for row in read(data)] == wanted


@pytest.mark.parametrize("text", ATTACKS[:4])
def test_a_text_like_a_formula_comes_back_from_csv_as_it_was(text: str) -> None:
    assert read(write_csv(Sheet("x", (Column("lot", "whole"), Column("name")), ((1, text),))))[0]["name"] == text


# ---- files edited by hand ------------------------------------------------------------------------------------------


def test_columns_and_sheets_may_stand_in_another_order() -> None:
    data = workbook(("left, mm", "lot"), (612, 7), first="Mine")
    assert read(data) == [{"left, mm": "612", "lot": "7"}]


def test_headings_may_stand_below_a_title_and_without_their_unit() -> None:
    data = workbook(("Shelf in the cellar",), (), ("Lot", "LEFT"), (7, 612))
    assert read(data) == [{"lot": "7", "left, mm": "612"}]


def test_thousands_of_empty_rows_are_passed_over() -> None:
    data = workbook(("lot", "left, mm"), (7, 612), *[("", None)] * 5000, (8, 100))
    assert [row.number for row in read_table(data, HEADINGS, ("lot",)).rows] == [2, 5003]


def test_a_whole_number_kept_as_a_decimal_is_whole() -> None:
    assert read(workbook(("lot", "left, mm"), (7.0, 612.5)))[0] == {"lot": "7", "left, mm": "612.5"}


def test_a_formula_is_named_with_row_and_column() -> None:
    assert problems(workbook(("lot", "left, mm"), (7, "=6*100"))) == [
        "row 2, column B: This is a formula: write the value itself."
    ]


def test_a_formula_in_csv_is_named_with_row_and_column() -> None:
    assert problems(b"lot,name\n7,x\n8,=A1\n") == ["row 3, column B: This is a formula: write the value itself."]


def test_a_formula_in_a_column_of_the_builders_own_is_no_concern() -> None:
    assert problems(workbook(("lot", "my sums"), (7, "=6*100"))) == []


def test_merged_cells_are_named_with_row_and_column() -> None:
    data = workbook(("lot", "left, mm"), (7, 612), (8, 100), merge="B2:B3")
    assert problems(data) == ["row 2, column B: merged cells; split them and fill each."]


def test_a_merged_title_above_the_headings_is_no_concern() -> None:
    assert problems(workbook(("Shelf",), ("lot", "left, mm"), (7, 612), merge="A1:B1")) == []


def test_a_heading_that_stands_twice_is_named() -> None:
    assert problems(b"lot,left,left\n7,1,2\n") == ["row 1, column C: a second column \u201cleft, mm\u201d."]


@pytest.mark.parametrize("mark", [",", ";", "\t"])
def test_a_csv_file_may_separate_its_cells_by_semicolons_or_tabs(mark: str) -> None:
    assert read(f"lot{mark}name\r\n7{mark}red\r\n".encode()) == [{"lot": "7", "name": "red"}]


def test_a_csv_file_may_be_utf_16() -> None:
    assert read("lot\tname\n7\trød\n".encode("utf-16")) == [{"lot": "7", "name": "rød"}]


def empty_zip() -> bytes:
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w") as packed:
        packed.writestr("hello.txt", "x")
    return data.getvalue()


def bomb() -> bytes:
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/worksheets/sheet1.xml", b" " * 41_000_000)
    return data.getvalue()


def entities() -> bytes:
    """A workbook whose sheet defines an entity of entities."""
    inner = "".join(f'<!ENTITY e{n} "{f"&e{n - 1};" * 10 if n else "ha"}">' for n in range(10))
    plain, made = workbook(("lot", "left, mm"), (7, 612)), io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(plain)) as old, zipfile.ZipFile(made, "w") as new:
        for name in old.namelist():
            text = old.read(name)
            if name == "xl/worksheets/sheet1.xml":
                text = f"<!DOCTYPE w [{inner}]>".encode() + text.replace(b"612", b"&e9;")
            new.writestr(name, text)
    return made.getvalue()


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "empty"),
        (b"PK\x03\x04 and then nothing", "damaged"),
        (empty_zip(), "no workbook"),
        (bomb(), "far larger"),
        (entities(), "damaged"),
        (b"\xd0\xcf\x11\xe0 something old", "old or locked"),
        (b"lot,left\n\xff\xfe\xfd\n", "UTF-8"),
        (b"lot,name\n7,red\n", "no column \u201cleft, mm\u201d"),
        (workbook(("notes",), ("of my own",)), "no column \u201clot\u201d and no column \u201cleft, mm\u201d"),
        (workbook(), "no sheet with anything"),
        (workbook(("lot",), ("left",)), "different rows"),
        (b"lot,left\n" + b"1,2\n" * 20_001, "More than 20000 rows"),
        (b"lot" + b"," * 300 + b"\n", "more than 200 cells"),
        (b'lot,left\n"' + b"x" * 200_000 + b'",2\n', "no CSV file"),
    ],
)
def test_a_file_that_is_no_list_is_refused_in_words(data: bytes, said: str) -> None:
    assert said in refusal(data)


@pytest.mark.parametrize(("number", "letters"), [(1, "A"), (26, "Z"), (27, "AA"), (702, "ZZ"), (703, "AAA")])
def test_columns_have_the_letters_of_spreadsheets(number: int, letters: str) -> None:
    # By hand: 26 letters, then 26 x 26 pairs.
    assert column_letters(number) == letters
