"""The bench ledger as it is kept: added to and read, never changed. Expected values: the entries that were written."""

import json
from decimal import Decimal

import pytest
from sqlalchemy import text
from sqlalchemy.exc import IntegrityError

from server.domain.model.bench import (
    Assign,
    Cut,
    Done,
    Material,
    Receive,
    Recount,
    Release,
    Reserve,
    ScrapPiece,
    ScrapStock,
    Shelve,
    Take,
    Trim,
    Undo,
)
from server.store.database import open_database, reading, writing
from server.store.ledger import StoredEntry, append, entries, last_number

AT = "2025-01-01T00:00:00+00:00"
WIRE = Material("wire", "awg18-plain", "BK")
EVERY_KIND = (
    Receive(WIRE, 10_000, Decimal("9.90"), "bought für “Tower”", "b1"),
    Receive(Material("contact", "power-female"), 3, Decimal("0"), "found"),
    Recount(1, 9_990, "measured"),
    Reserve(1, "b1", 500),
    Release(1, "b1", 500),
    Cut(1, "b1", "r1/p1.main/24", "1-24", 1, 455, 2),
    Done(6, "crimped"),
    Trim(6, 450),
    Assign(6, "r2/p2.fan/1", "2-1", 2),
    Shelve(6),
    ScrapPiece(6, "burnt"),
    ScrapStock(1, 40, "kinked"),
    Take(2, "b1", 1, 2),
    Undo(13),
)


@pytest.fixture
def filled(engine):
    with writing(engine) as session:
        for entry in EVERY_KIND:
            append(session, entry, at=AT)
    return engine


def test_every_kind_of_entry_is_read_as_it_was_written(filled):
    with reading(filled) as session:
        assert entries(session) == tuple(StoredEntry(n, AT, entry) for n, entry in enumerate(EVERY_KIND, start=1))


def test_a_price_keeps_its_digits(filled):
    with reading(filled) as session:
        assert str(entries(session)[0].entry.price) == "9.90"


def test_entries_are_numbered_from_one(engine):
    with writing(engine) as session:
        assert (last_number(session), append(session, Shelve(1), at=AT), append(session, Shelve(2), at=AT)) == (0, 1, 2)


def test_only_what_came_since_is_read(filled):
    with reading(filled) as session:
        assert [stored.number for stored in entries(session, after=12)] == [13, 14]


def test_an_entry_is_kept_in_plain_words_that_a_later_release_can_read(filled):
    # Written out by hand: whoever changes the names of an entry's values has to read this form still.
    with reading(filled) as session:
        rows = session.execute(text("SELECT kind, body FROM bench_ledger WHERE number IN (1, 6) ORDER BY number")).all()
    assert [(kind, json.loads(body)) for kind, body in rows] == [
        (
            "receive",
            {
                "material": ["wire", "awg18-plain", "BK"],
                "quantity": 10000,
                "price": "9.90",
                "origin": "bought für “Tower”",
                "build": "b1",
            },
        ),
        (
            "cut",
            {
                "lot": 1,
                "build": "b1",
                "wire": "r1/p1.main/24",
                "label": "1-24",
                "run": 1,
                "length_mm": 455,
                "loss_mm": 2,
            },
        ),
    ]


@pytest.mark.parametrize(
    ("statement", "told"),
    [
        ("UPDATE bench_ledger SET body = '{}' WHERE number = 3", "never changes"),
        ("UPDATE bench_ledger SET at = '' WHERE number = 3", "never changes"),
        ("DELETE FROM bench_ledger WHERE number = 14", "never removed"),
        ("INSERT INTO bench_ledger VALUES (16, '', 'undo', '{}')", "without gaps"),
        ("INSERT OR REPLACE INTO bench_ledger VALUES (3, '', 'undo', '{}')", "without gaps"),
    ],
)
def test_the_database_itself_refuses_to_change_the_ledger(filled, statement, told):
    with pytest.raises(IntegrityError, match=told), writing(filled) as session:
        session.execute(text(statement))
    with reading(filled) as session:
        assert [stored.entry for stored in entries(session)] == list(EVERY_KIND)


def test_an_entry_of_a_transaction_that_breaks_off_is_not_there(engine):
    def break_off():
        with writing(engine) as session:
            append(session, Shelve(1), at=AT)
            raise RuntimeError

    with pytest.raises(RuntimeError):
        break_off()
    with reading(engine) as session:
        assert entries(session) == ()


def test_what_is_acknowledged_is_on_the_disk_before_a_power_cut(engine):
    # SQLite's documentation of synchronous: with write-ahead logging only FULL (2) and above are durable.
    with reading(engine) as session:
        assert session.execute(text("PRAGMA synchronous")).scalar_one() == 2


def test_a_data_folder_without_a_ledger_gets_one_when_it_is_opened(database_file):
    first = open_database(database_file)
    with writing(first) as session:
        session.execute(text("DROP TABLE bench_ledger"))
    first.dispose()

    second = open_database(database_file)

    with writing(second) as session:
        assert append(session, Shelve(1), at=AT) == 1
    with pytest.raises(IntegrityError, match="never changes"), writing(second) as session:
        session.execute(text("UPDATE bench_ledger SET at = ''"))
    second.dispose()
