"""The database file: refused when it is not ours, written by one at a time, rolled back whole."""

import sqlite3
from concurrent.futures import ThreadPoolExecutor

import pytest
from sqlalchemy import text

from server.domain.errors import ConflictError
from server.store.builds import append_revision, create_build, latest_revision, list_builds
from server.store.database import SCHEMA, DatabaseError, open_database, reading, writing


def new(session, build_id="b1"):
    return create_build(session, build_id, name=build_id, document="0", words=(), saved_at="2025-01-01T00:00:00Z")


def test_a_database_of_a_later_schema_is_refused_in_plain_words(database_file):
    with sqlite3.connect(database_file) as connection:
        connection.execute(f"PRAGMA user_version = {SCHEMA + 1}")

    with pytest.raises(DatabaseError, match="written by a later version of this program"):
        open_database(database_file)


def test_a_database_of_a_later_schema_gets_no_tables(database_file):
    with sqlite3.connect(database_file) as connection:
        connection.execute(f"PRAGMA user_version = {SCHEMA + 1}")
    with pytest.raises(DatabaseError):
        open_database(database_file)

    with sqlite3.connect(database_file) as connection:
        assert connection.execute("SELECT count(*) FROM sqlite_master").fetchone() == (0,)


def test_the_database_of_another_program_is_refused(database_file):
    with sqlite3.connect(database_file) as connection:
        connection.execute("CREATE TABLE recipes (id INTEGER)")

    with pytest.raises(DatabaseError, match="some other program"):
        open_database(database_file)


def test_a_file_that_is_no_database_is_refused(database_file):
    database_file.write_bytes(b"not a database at all" * 100)

    with pytest.raises(DatabaseError, match="cannot be opened"):
        open_database(database_file)


def test_what_was_saved_is_there_after_the_next_start(database_file):
    first = open_database(database_file)
    with writing(first) as session:
        new(session)
    first.dispose()

    second = open_database(database_file)

    with reading(second) as session:
        assert [build.build_id for build in list_builds(session)] == ["b1"]
    second.dispose()


@pytest.mark.parametrize(("pragma", "expected"), [("journal_mode", "wal"), ("foreign_keys", 1)])
def test_the_connections_are_set_up_for_safe_sharing(engine, pragma, expected):
    with reading(engine) as session:
        assert session.execute(text(f"PRAGMA {pragma}")).scalar_one() == expected


def test_a_failure_rolls_the_whole_transaction_back(engine):
    def break_off_half_way():
        with writing(engine) as session:
            new(session)
            raise RuntimeError

    with pytest.raises(RuntimeError):
        break_off_half_way()

    with reading(engine) as session:
        assert list_builds(session) == ()


def test_a_reader_cannot_change_anything(engine):
    with reading(engine) as session:
        new(session)
        session.commit()

    with reading(engine) as session:
        assert list_builds(session) == ()


def test_a_reader_sees_one_moment_while_somebody_saves(engine):
    with writing(engine) as session:
        new(session)
    with reading(engine) as session:
        list_builds(session)
        with writing(engine) as other:
            new(other, "b2")

        assert [build.build_id for build in list_builds(session)] == ["b1"]


def test_of_many_who_save_on_the_same_revision_one_wins_and_the_rest_are_told(engine):
    with writing(engine) as session:
        new(session)

    def save(number):
        try:
            with writing(engine) as session:
                append_revision(
                    session, "b1", expected=1, name="b1", document=str(number), words=(), saved_at="2025-01-01"
                )
        except ConflictError:
            return "told"
        return "won"

    with ThreadPoolExecutor(8) as pool:
        outcomes = sorted(pool.map(save, range(24)))

    assert outcomes == ["told"] * 23 + ["won"]


def test_many_who_save_one_after_the_other_lose_nothing(engine):
    with writing(engine) as session:
        new(session)

    def save(_):
        with writing(engine) as session:
            number = latest_revision(session, "b1").number
            append_revision(session, "b1", expected=number, name="b1", document="", words=(), saved_at="2025-01-01")

    with ThreadPoolExecutor(8) as pool:
        list(pool.map(save, range(40)))

    with reading(engine) as session:
        assert latest_revision(session, "b1").number == 41
