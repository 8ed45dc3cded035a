"""Own layouts in the database: versions that never change, a record of readings that is only added to."""

import sqlite3
from dataclasses import replace
from pathlib import Path

import pytest
from sqlalchemy import Engine, text
from sqlalchemy.exc import DatabaseError as SqlError

from server.domain.errors import ConflictError, NotFoundError
from server.domain.model.catalogue import Reading
from server.store.catalogue_edits import catalogue_stamp
from server.store.catalogue_read import read_catalogue
from server.store.database import open_database, reading, writing
from server.store.layouts import (
    append_version,
    create_layout,
    delete_layout,
    find_layout,
    list_layouts,
    readings_of,
    record_readings,
    restore_layout,
)
from tests.domain.layout_scenes import layout, port

FIRST = layout(port("COM", "COM", "+12V", "+12V"))
SECOND = replace(FIRST, name="Bench supply, mended", version=2)
AT = "2025-01-01T00:00:00+00:00"


@pytest.fixture
def kept(loaded: Engine) -> Engine:
    """A database with one own layout at version 1."""
    with writing(loaded) as session:
        create_layout(session, FIRST, words=("new layout",), saved_at=AT)
    return loaded


def save_second(engine: Engine) -> None:
    with writing(engine) as session:
        append_version(session, SECOND, expected=1, words=("renamed",), saved_at=AT)


def take(engine: Engine, *readings: Reading) -> None:
    with writing(engine) as session:
        record_readings(session, FIRST.id, readings, taken_at=AT)


def stamp(engine: Engine) -> str:
    with reading(engine) as session:
        return catalogue_stamp(session)


def test_a_layout_comes_back_as_it_was_saved(kept: Engine) -> None:
    with reading(kept) as session:
        assert find_layout(session, FIRST.id).layout == FIRST


def test_both_versions_of_a_layout_are_in_the_catalogue(kept: Engine) -> None:
    save_second(kept)
    with reading(kept) as session:
        catalogue = read_catalogue(session)
    assert catalogue.supplies[FIRST.id] == SECOND
    assert catalogue.earlier == {(FIRST.id, 1): FIRST}


def test_own_layouts_stand_behind_the_samples(kept: Engine) -> None:
    with reading(kept) as session:
        assert [each.own for each in read_catalogue(session).supplies.values()][-2:] == [False, True]


def test_a_stale_save_is_refused_with_what_changed(kept: Engine) -> None:
    save_second(kept)
    with writing(kept) as session, pytest.raises(ConflictError) as refused:
        append_version(session, SECOND, expected=1, words=("again",), saved_at=AT)
    assert (refused.value.latest, refused.value.changes) == (2, ("renamed",))


@pytest.mark.parametrize("statement", ["UPDATE own_layout_version SET name = 'x'", "DELETE FROM own_layout_version"])
def test_the_database_itself_keeps_a_saved_version(kept: Engine, statement: str) -> None:
    with writing(kept) as session, pytest.raises(SqlError, match="saved version"):
        session.execute(text(statement))


@pytest.mark.parametrize("statement", ["UPDATE own_layout_reading SET on_v = 1", "DELETE FROM own_layout_reading"])
def test_the_database_itself_keeps_a_reading(kept: Engine, statement: str) -> None:
    take(kept, Reading("M1", "3", 12.05))
    with writing(kept) as session, pytest.raises(SqlError, match="reading once taken"):
        session.execute(text(statement))


def test_the_newest_reading_of_a_cavity_holds(kept: Engine) -> None:
    take(kept, Reading("M1", "3", 12.05), Reading("M1", "3", 12.10), Reading("M1", "4", 12.01))
    with reading(kept) as session:
        taken = find_layout(session, FIRST.id).layout.readings
    assert taken == (Reading("M1", "3", 12.10), Reading("M1", "4", 12.01))


def test_clearing_is_an_entry_and_what_was_there_stays_in_the_record(kept: Engine) -> None:
    take(kept, Reading("M1", "3", 12.05))
    take(kept, Reading("M1", "3"))
    with reading(kept) as session:
        assert readings_of(session, FIRST.id) == ()
        assert readings_of(session, FIRST.id, up_to=1) == (Reading("M1", "3", 12.05),)


def test_readings_belong_to_every_version(kept: Engine) -> None:
    save_second(kept)
    take(kept, Reading("M1", "3", 12.05))
    with reading(kept) as session:
        catalogue = read_catalogue(session)
    assert catalogue.supplies[FIRST.id].readings == (Reading("M1", "3", 12.05),)
    assert catalogue.earlier[FIRST.id, 1].readings == (Reading("M1", "3", 12.05),)


def test_a_reading_at_a_cavity_that_a_version_lacks_is_not_shown_with_it(kept: Engine) -> None:
    with writing(kept) as session:
        without = replace(SECOND, ports=(port("COM", "", "", "", ident="C1"),))
        append_version(session, without, expected=1, words=("other port",), saved_at=AT)
    take(kept, Reading("M1", "3", 12.05))
    with reading(kept) as session:
        assert find_layout(session, FIRST.id).layout.readings == ()
        assert find_layout(session, FIRST.id, 1).layout.readings == (Reading("M1", "3", 12.05),)


def test_the_stamp_of_the_catalogue_changes_with_versions_readings_and_deletion(kept: Engine) -> None:
    stamps = [stamp(kept)]
    save_second(kept)
    stamps.append(stamp(kept))
    take(kept, Reading("M1", "3", 12.05))
    stamps.append(stamp(kept))
    with writing(kept) as session:
        delete_layout(session, FIRST.id)
    stamps.append(stamp(kept))
    assert len(set(stamps)) == 4


def test_a_deleted_layout_can_not_be_chosen_but_keeps_its_versions_for_builds(kept: Engine) -> None:
    with writing(kept) as session:
        delete_layout(session, FIRST.id)
    with reading(kept) as session:
        catalogue = read_catalogue(session)
        assert FIRST.id not in catalogue.supplies
        assert catalogue.earlier[FIRST.id, 1] == FIRST
        with pytest.raises(NotFoundError):
            find_layout(session, FIRST.id)


def test_a_deleted_layout_can_be_restored(kept: Engine) -> None:
    with writing(kept) as session:
        delete_layout(session, FIRST.id)
    with writing(kept) as session:
        restore_layout(session, FIRST.id)
    with reading(kept) as session:
        assert [each.layout for each in list_layouts(session)] == [FIRST]


def test_a_database_from_before_there_were_own_layouts_opens(database_file: Path) -> None:
    # Such a file is one without the three tables; nothing else about it differs.
    open_database(database_file).dispose()
    with sqlite3.connect(database_file) as connection:
        for table in ("own_layout_reading", "own_layout_version", "own_layout"):
            connection.execute(f"DROP TABLE {table}")
    engine = open_database(database_file)
    with writing(engine) as session:
        create_layout(session, FIRST, words=("new layout",), saved_at=AT)
        assert find_layout(session, FIRST.id).layout == FIRST
    engine.dispose()


def test_a_port_whose_housing_the_catalogue_lacks_waits_unseen(loaded: Engine) -> None:
    gone = replace(FIRST, ports=(*FIRST.ports, port("COM", ident="C1", label="CPU", housing="p42-99-plug")))
    with writing(loaded) as session:
        create_layout(session, gone, words=("new layout",), saved_at=AT)
        assert [each.id for each in read_catalogue(session).supplies[FIRST.id].ports] == ["M1"]
