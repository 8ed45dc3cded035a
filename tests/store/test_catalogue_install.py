"""The catalogue in the database: loaded once, replaced in place, read in file order."""

import copy
import csv
import pickle
from decimal import Decimal
from pathlib import Path

import pytest
from sqlalchemy import Engine

from server.store.builds import create_build, latest_revision
from server.store.catalogue_edits import set_catalogue_value
from server.store.catalogue_install import install_catalogue, installed_version
from server.store.catalogue_read import NoCatalogueError, read_catalogue
from server.store.database import reading, writing
from server.store.own_packs import add_pack


def replace_in(folder: Path, file: str, old: str, new: str) -> None:
    path = folder / file
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")


def next_version(folder: Path) -> None:
    (folder / "version.csv").write_text("version,source\nnext,test\n", encoding="utf-8")


def catalogue_of(engine: Engine):
    with reading(engine) as session:
        return read_catalogue(session)


def test_the_first_start_loads_the_catalogue(engine, folder):
    assert install_catalogue(engine, folder) is True


def test_the_next_start_finds_it_loaded(loaded, folder):
    assert install_catalogue(loaded, folder) is False


def test_before_the_first_installation_there_is_no_catalogue(engine):
    with reading(engine) as session, pytest.raises(NoCatalogueError):
        read_catalogue(session)


def test_a_new_version_replaces_the_shipped_rows(loaded, folder):
    next_version(folder)
    replace_in(folder, "wires.csv", '"18 AWG, plain",18', '"18 AWG, renamed",18')

    install_catalogue(loaded, folder)

    assert installed_version(loaded) == "next"
    assert catalogue_of(loaded).wires["awg18-plain"].name == "18 AWG, renamed"


def test_a_new_version_keeps_builds(loaded, folder):
    with writing(loaded) as session:
        create_build(session, "b1", name="tower", document="{}", words=("first",), saved_at="2025-01-01T00:00:00Z")
    next_version(folder)

    install_catalogue(loaded, folder)

    with reading(loaded) as session:
        assert latest_revision(session, "b1").document == "{}"


def test_a_new_version_keeps_the_builders_values(loaded, folder):
    with writing(loaded) as session:
        set_catalogue_value(session, "wires", "awg18-plain", "outside_mm", "2.25")
    next_version(folder)

    install_catalogue(loaded, folder)

    assert catalogue_of(loaded).wires["awg18-plain"].outside_mm == 2.25


def test_a_new_version_keeps_own_packs(loaded, folder):
    with writing(loaded) as session:
        own = add_pack(session, kind="wire", item="awg18-plain", quantity="50000", price="29.90")
    next_version(folder)

    install_catalogue(loaded, folder)

    assert own in catalogue_of(loaded).packs


def test_an_own_pack_of_something_no_longer_sold_waits_unseen(loaded, folder):
    with writing(loaded) as session:
        own = add_pack(session, kind="cap", item="p508d-end", quantity="50", price="9")
    next_version(folder)
    for file, column in (("caps.csv", 0), ("packs.csv", 2)):
        with (folder / file).open(encoding="utf-8", newline="") as opened:
            rows = [row for row in csv.reader(opened) if row[column] != "p508d-end"]
        with (folder / file).open("w", encoding="utf-8", newline="") as opened:
            csv.writer(opened).writerows(rows)

    install_catalogue(loaded, folder)

    assert own.id not in [pack.id for pack in catalogue_of(loaded).packs]


def test_the_catalogue_reads_in_file_order(loaded, folder):
    with (folder / "pinouts.csv").open(encoding="utf-8", newline="") as file:
        in_file = [row["id"] for row in csv.DictReader(file)]

    assert list(catalogue_of(loaded).pinouts) == in_file


def test_prices_keep_every_digit_of_the_file(loaded, folder):
    with (folder / "packs.csv").open(encoding="utf-8", newline="") as file:
        in_file = [Decimal(row["price"]) for row in csv.DictReader(file)]

    assert [pack.price for pack in catalogue_of(loaded).packs] == in_file


def test_two_readings_are_equal(loaded):
    assert catalogue_of(loaded) == catalogue_of(loaded)


@pytest.mark.parametrize("through", [copy.deepcopy, lambda value: pickle.loads(pickle.dumps(value))])
def test_the_catalogue_can_be_handed_to_another_process(loaded, through):
    catalogue = catalogue_of(loaded)

    assert through(catalogue) == catalogue
