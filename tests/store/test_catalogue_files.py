"""Rules of the catalogue files. Every expected line and column is where the test itself put the fault."""

import csv
from pathlib import Path

import pytest
from sqlalchemy import Engine, func
from sqlmodel import select

from server.domain.errors import CatalogueError
from server.store.catalogue_files import read_catalogue_files
from server.store.catalogue_install import install_catalogue, installed_version
from server.store.database import reading
from server.store.tables import ROWS


def read_cells(folder: Path, table: str) -> list[list[str]]:
    with (folder / f"{table}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.reader(file))


def write_cells(folder: Path, table: str, cells: list[list[str]]) -> None:
    with (folder / f"{table}.csv").open("w", encoding="utf-8", newline="") as file:
        csv.writer(file, lineterminator="\n").writerows(cells)


def spoil(folder: Path, table: str, line: int, column: str, value: str) -> None:
    cells = read_cells(folder, table)
    cells[line - 1][cells[0].index(column)] = value
    write_cells(folder, table, cells)


def refusal(folder: Path) -> tuple[str, int, str, str]:
    with pytest.raises(CatalogueError) as caught:
        read_catalogue_files(folder)
    error = caught.value
    return error.file, error.line, error.column, error.rule


@pytest.mark.parametrize(
    ("table", "line", "column", "value", "rule"),
    [
        ("wires", 3, "ohm_per_km", "abc", "must be a number"),
        ("wires", 3, "ohm_per_km", "nan", "must be a number"),
        ("wires", 3, "ohm_per_km", "1_0", "must be a number"),
        ("wires", 3, "awg", "18.5", "must be a whole number"),
        ("wires", 2, "outside_mm", "-2", "out of range"),
        ("wires", 2, "outside_mm", "80", "out of range"),
        ("packs", 4, "price", "-1", "out of range"),
        ("packs", 4, "price", "1,50", "must be a number"),
        ("packs", 4, "quantity", "0", "out of range"),
        ("families", 2, "termination", "glued", "unknown word: must be one of crimp, displacement, moulded"),
        ("contacts", 5, "signal", "maybe", "must be yes or no"),
        ("wires", 2, "insulation", "paper", "unknown word"),
        ("pinouts", 2, "load_a", "+12V:8", "must be written as net=current"),
        ("pinouts", 2, "load_a", "+12V=8 +12V=2", "names +12V twice"),
        ("supply_ports", 2, "feeds", "main toaster", "toaster is not one of"),
        ("colours", 2, "insulations", "plain paper", "paper is not one of"),
        ("contacts", 2, "insulation_max_mm", "1.0", "must not be below insulation_min_mm"),
        ("contacts", 2, "awg_thinnest", "16", "must be the same gauge number"),
        ("sleeves", 2, "greatest_mm", "1.0", "must not be below least_mm"),
        ("shrinks", 2, "recovered_mm", "5", "must be below supplied_mm"),
        ("housings", 2, "positions", "5", "must be 4 for 2 row(s) of 2"),
        ("housings", 2, "numbering", "single_row", "does not fit a housing of 2 row(s)"),
        ("packs", 2, "unit", "piece", "must be mm for wire"),
        ("contacts", 4, "family", "p99", "unknown reference: families.csv has no p99"),
        ("ratings", 4, "family", "p99", "unknown reference"),
        ("housings", 4, "mates_with", "nowhere", "unknown reference: housings.csv has no nowhere"),
        ("pinouts", 4, "housing", "p42-99-plug", "unknown reference: housings.csv has no p42-99-plug"),
        ("pinout_pins", 3, "pinout", "main-99", "unknown reference: pinouts.csv has no main-99"),
        ("pinout_pins", 3, "colour", "XX", "unknown reference: colours.csv has no XX"),
        ("supply_ports", 3, "housing", "p42-99-plug", "unknown reference"),
        ("supply_pins", 3, "supply", "nobody", "unknown reference: supplies.csv has no nobody"),
        ("supply_pins", 3, "port", "Z9", "unknown reference: supply_ports.csv has no port Z9"),
        ("sleeves", 3, "shrink", "giant", "unknown reference: shrinks.csv has no giant"),
        ("caps", 3, "family", "p99", "unknown reference"),
        ("packs", 5, "item", "awg99-plain", "unknown reference: wires.csv has no awg99-plain"),
        ("wires", 4, "id", "awg16-plain", "duplicate of line 2"),
        ("colours", 4, "code", "BK", "duplicate of line 2"),
        ("labour", 4, "operation", "cut", "duplicate of line 2"),
        ("pinout_pins", 4, "cavity", "1", "duplicate of line 2"),
        ("packs", 3, "quantity", "5000", "duplicate of line 2: the same item in the same quantity"),
        ("pinout_pins", 25, "cavity", "25", "housing p42-24-plug has no cavity 25"),
        ("pinout_pins", 2, "cavity", "S1", "housing p42-24-plug has no cavity S1"),
        ("supply_pins", 25, "cavity", "25", "housing p42-24-plug has no cavity 25"),
        ("pinout_pins", 2, "net", "", "must be empty for a cavity that is not connected, and only there"),
        ("pinout_pins", 2, "accepts", "+5V", "must name the cavity's own net, +3.3V"),
        ("pinouts", 2, "load_a", "TACH=1", "no cavity of main-24 carries TACH"),
        ("ratings", 3, "loaded_from", "3", "overlaps another range"),
        ("crimps", 2, "strip_mm", "21", "out of range"),
        ("crimps", 2, "strip_mm", "0", "must be 0 for insulation displacement, and only there"),
        ("crimps", 22, "strip_mm", "3", "must be 0 for insulation displacement, and only there"),
        ("crimps", 2, "awg", "16", "contact p42-socket-18 takes 18 to 24 AWG"),
        ("crimps", 2, "contact", "nothing", "unknown reference: contacts.csv has no nothing"),
        ("crimps", 3, "awg", "18", "duplicate of line 2"),
        ("crimps", 2, "die", "", "must not be empty"),
        ("pinouts", 2, "cable_girth_mm", "30", "must be 0 for a cable that is wired"),
        ("pinouts", 18, "plug_girth_mm", "0", "must be 0 for a cable that is wired"),
        ("pinouts", 18, "plug_girth_mm", "4.9", "must be 0, or from 5 to 200"),
        ("pinouts", 18, "cable_girth_mm", "201", "must be 0, or from 5 to 200"),
        ("route_shapes", 2, "kind", "spiral", "unknown word"),
        ("route_shapes", 2, "length_mm", "0", "must be above 0 for a leg"),
        ("route_shapes", 2, "angle_deg", "90", "must be 0 for a leg"),
        ("route_shapes", 2, "radius_mm", "20", "must be 0 for a leg"),
        ("route_shapes", 3, "length_mm", "60", "must be 0 for a bend"),
        ("route_shapes", 3, "angle_deg", "-90", "must be above 0 and at most 360 for a bend"),
        ("route_shapes", 3, "radius_mm", "0", "must be above 0 for a bend"),
        ("route_shapes", 3, "step", "7", "must be 2: the steps of a shape stand together, numbered from 1"),
        ("route_shapes", 5, "step", "4", "must be 1: the steps of a shape stand together, numbered from 1"),
        ("route_shapes", 3, "name", "another", "must be the same in all steps of a shape"),
        ("families", 3, "source", "", "every row must name its source"),
        ("families", 3, "source", "   ", "every row must name its source"),
    ],
)
def test_a_bad_value_is_refused_with_file_line_column_and_rule(folder, *, table, line, column, value, rule):
    spoil(folder, table, line, column, value)

    file, at_line, at_column, said = refusal(folder)

    assert (file, at_line, at_column) == (f"{table}.csv", line, column)
    assert rule in said


@pytest.mark.parametrize("table", sorted(ROWS))
def test_every_table_must_have_its_source_column(folder, table):
    cells = read_cells(folder, table)
    at = cells[0].index("source")
    write_cells(folder, table, [row[:at] + row[at + 1 :] for row in cells])

    assert refusal(folder) == (f"{table}.csv", 1, "source", "the column is missing from the heading")


def test_an_unknown_column_is_refused(folder):
    cells = read_cells(folder, "combs")
    write_cells(folder, "combs", [[*row, "x"] for row in cells])

    assert refusal(folder) == ("combs.csv", 1, "x", "is an unknown column")


def test_a_column_that_stands_twice_is_refused(folder):
    cells = read_cells(folder, "combs")
    write_cells(folder, "combs", [[*row, row[0]] for row in cells])

    assert refusal(folder) == ("combs.csv", 1, "id", "stands twice in the heading")


def test_a_ragged_row_names_the_first_column_without_a_value(folder):
    cells = read_cells(folder, "combs")
    cells[4] = cells[4][:3]
    write_cells(folder, "combs", cells)

    file, line, column, rule = refusal(folder)

    assert (file, line, column) == ("combs.csv", 5, cells[0][3])
    assert "3 values where the heading has 7 columns" in rule


def test_a_row_with_a_value_too_many_is_refused(folder):
    cells = read_cells(folder, "combs")
    cells[4] = [*cells[4], "left over"]
    write_cells(folder, "combs", cells)

    file, line, _, rule = refusal(folder)

    assert (file, line) == ("combs.csv", 5)
    assert "8 values where the heading has 7 columns" in rule


def test_a_file_in_another_encoding_names_the_line(folder):
    path = folder / "labour.csv"
    lines = path.read_bytes().split(b"\n")
    lines[2] = lines[2].replace(b"strip one", b"d\xe9nuder")
    path.write_bytes(b"\n".join(lines))

    assert refusal(folder) == ("labour.csv", 3, "", "wrong encoding: the file must be saved as UTF-8")


def test_a_byte_order_mark_of_a_spreadsheet_does_no_harm(folder):
    path = folder / "labour.csv"
    path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes())

    assert "labour" in read_catalogue_files(folder).tables


def test_an_unclosed_quotation_mark_is_refused(folder):
    path = folder / "labour.csv"
    path.write_text(path.read_text(encoding="utf-8") + '"cut', encoding="utf-8")

    assert "not well-formed" in refusal(folder)[3]


def test_a_missing_file_is_named(folder):
    (folder / "caps.csv").unlink()

    assert refusal(folder) == ("caps.csv", 1, "", "the file is missing")


def test_an_empty_file_lacks_its_heading(folder):
    (folder / "caps.csv").write_bytes(b"")

    assert refusal(folder)[:2] == ("caps.csv", 1)


def test_a_rewired_socket_needs_cavities(folder):
    cells = read_cells(folder, "pinout_pins")
    write_cells(folder, "pinout_pins", [row for row in cells if row[0] != "cpu-4"])

    assert refusal(folder) == ("pinouts.csv", 3, "id", "has no row in pinout_pins.csv")


def test_a_contact_needs_a_crimp_for_every_gauge_that_is_sold(folder):
    # Line 2 is 18 AWG in the first contact, which takes 18 to 24 AWG.
    cells = read_cells(folder, "crimps")
    write_cells(folder, "crimps", [cells[0], *cells[2:]])

    assert refusal(folder) == ("contacts.csv", 2, "id", "has no row for 18 AWG in crimps.csv")


def test_the_steps_of_a_shape_stand_together(folder):
    cells = read_cells(folder, "route_shapes")
    write_cells(folder, "route_shapes", [cells[0], *cells[2:4], cells[1], *cells[4:]])

    assert refusal(folder)[:3] == ("route_shapes.csv", 2, "step")


def test_a_moulded_cable_has_no_pins(folder):
    cells = read_cells(folder, "pinout_pins")
    write_cells(folder, "pinout_pins", [*cells, ["sata-data", *cells[1][1:]]])

    assert refusal(folder)[1:3] == (len(cells) + 1, "pinout")


def test_after_a_bad_file_nothing_is_loaded(engine: Engine, folder: Path):
    # The last file of all is the bad one, so that every other has been read by then.
    spoil(folder, "labour", 11, "minutes", "soon")

    with pytest.raises(CatalogueError):
        install_catalogue(engine, folder)

    with reading(engine) as session:
        counts = {table: session.scalar(select(func.count()).select_from(row)) for table, row in ROWS.items()}
    assert counts == dict.fromkeys(ROWS, 0)


def test_a_bad_new_catalogue_leaves_the_old_one_standing(loaded: Engine, folder: Path):
    before = installed_version(loaded)
    spoil(folder, "version", 2, "version", "next")
    spoil(folder, "labour", 2, "minutes", "soon")

    with pytest.raises(CatalogueError):
        install_catalogue(loaded, folder)

    assert installed_version(loaded) == before
