"""A data folder of an earlier release opens without loss.

``schema_1.sql`` is a file of the release before the catalogue got its table of crimps, made by that release's own code.
Every expected value is what was put into it there.
"""

import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import Engine

from server.store.builds import latest_revision, revision
from server.store.catalogue_edits import list_edits
from server.store.catalogue_install import install_catalogue, installed_version
from server.store.catalogue_read import read_catalogue
from server.store.database import SCHEMA, open_database, reading
from server.store.layouts import find_layout
from server.store.shares import find_share
from tests.store.conftest import SHIPPED

FIRST_SCHEMA = Path(__file__).parent / "schema_1.sql"


@pytest.fixture
def old_file(database_file: Path) -> Path:
    with sqlite3.connect(database_file) as connection:
        connection.executescript(FIRST_SCHEMA.read_text(encoding="utf-8"))
    return database_file


@pytest.fixture
def brought_up(old_file: Path) -> Iterator[Engine]:
    """The old file after the start of this release."""
    engine = open_database(old_file)
    install_catalogue(engine, SHIPPED)
    yield engine
    engine.dispose()


def test_the_file_carries_the_number_of_this_schema_afterwards(brought_up, old_file):
    with sqlite3.connect(old_file) as connection:
        assert connection.execute("PRAGMA user_version").fetchone() == (SCHEMA,)


def test_every_revision_of_a_build_is_kept(brought_up):
    with reading(brought_up) as session:
        kept = [revision(session, "b1", number).document for number in (1, 2)]

    assert kept == ['{"first": 1}', '{"second": 2}']


def test_a_share_link_still_leads_to_its_build(brought_up):
    with reading(brought_up) as session:
        assert find_share(session, "0" * 64) == "b1"


def test_an_own_layout_is_kept_with_its_readings(brought_up):
    with reading(brought_up) as session:
        kept = find_layout(session, "own-1").layout

    assert [pin.net for pin in kept.ports[0].pins] == ["COM", "COM", "+12V", "+12V"]
    assert [(taken.cavity, taken.to_ground) for taken in kept.readings] == [("1", True)]


def test_the_shipped_catalogue_is_loaded_anew(brought_up):
    assert installed_version(brought_up) != "2025-2"
    with reading(brought_up) as session:
        assert len(read_catalogue(session).contacts) > 2  # The old file holds two.


def test_own_packs_and_measurements_are_kept(brought_up):
    with reading(brought_up) as session:
        catalogue = read_catalogue(session)

    assert catalogue.wires["awg18-plain"].outside_mm == 2.25
    assert catalogue.contacts["p42-socket-18"].insulation_max_mm == 3.0
    assert "own-wire-awg18-plain-50000" in [pack.id for pack in catalogue.packs]


def test_a_strip_length_and_a_die_once_set_for_a_contact_hold_for_each_of_its_gauges(brought_up):
    with reading(brought_up) as session:
        crimps = [crimp for crimp in read_catalogue(session).crimps if crimp.contact == "p42-socket-18"]

    assert [(crimp.awg, crimp.strip_mm, crimp.die) for crimp in crimps] == [
        (awg, 3.1, "the red tool, second nest") for awg in (18, 20, 22)
    ]


def test_every_value_that_the_builder_set_still_applies(brought_up):
    with reading(brought_up) as session:
        assert [edit for edit in list_edits(session) if not edit.applies] == []


def test_the_start_after_that_changes_nothing_more(brought_up, old_file):
    with reading(brought_up) as session:
        before = read_catalogue(session)

    again = open_database(old_file)

    with reading(again) as session:
        assert read_catalogue(session) == before
        assert latest_revision(session, "b1").number == 2
    again.dispose()
