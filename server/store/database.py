"""The database file: opening it, one writer at a time, and readers that see one moment."""

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, event, inspect
from sqlmodel import Session, SQLModel, create_engine

from server.domain.errors import LoomwrightError
from server.store import (
    build_tables,
    device_tables,
    layout_tables,
    ledger_tables,
    shape_tables,
    supplier_tables,
    tables,
    tick_tables,
)

SCHEMA = 2
"""Number of the schema that this program writes; kept in SQLite's ``user_version``.

1: builds, own layouts, and the catalogue with one strip length and die for each contact. 2: other catalogue tables.
A table that only comes anew needs no new number: it is made when the file is opened.
"""
BUSY_TIMEOUT_MS = 10_000
_WRITE = "loomwright_write"
# Every table is declared by importing these modules.
_DECLARED = (
    tables,
    build_tables,
    device_tables,
    layout_tables,
    ledger_tables,
    shape_tables,
    supplier_tables,
    tick_tables,
)

_writer = threading.Lock()
# Left to SQLite's own busy handler, sixteen writers wait up to a second; behind one lock they wait a tenth of that.


class DatabaseError(LoomwrightError):
    """The database file cannot be used, in words for the person who started the program."""


def _prepare_connection(connection: Any, _record: object) -> None:
    # The driver must not open transactions of its own accord: the begin event below says which kind is wanted.
    connection.isolation_level = None
    cursor = connection.cursor()
    cursor.execute(f"PRAGMA busy_timeout = {BUSY_TIMEOUT_MS}")
    cursor.execute("PRAGMA journal_mode = WAL")
    # What was acknowledged is on the disk: with NORMAL, write-ahead logging loses the last commits at a power cut.
    cursor.execute("PRAGMA synchronous = FULL")
    cursor.execute("PRAGMA foreign_keys = ON")
    cursor.close()


def _begin(connection: Connection) -> None:
    wants_to_write = connection.get_execution_options().get(_WRITE, False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if wants_to_write else "BEGIN")


def _refuse_foreign(connection: Connection, path: Path) -> None:
    version = connection.exec_driver_sql("PRAGMA user_version").scalar_one()
    if version > SCHEMA:
        raise DatabaseError(
            f"{path} was written by a later version of this program (schema {version}; this one knows {SCHEMA}). "
            "Install the newer version, or start with another data folder."
        )
    if version == 0 and inspect(connection).get_table_names():
        raise DatabaseError(f"{path} holds the tables of some other program. Start with another data folder.")


def _let_go_of_shipped_tables(connection: Connection) -> None:
    # They hold nothing of the builder's: the catalogue's files fill them again, in the columns of this schema.
    for row in tables.ROWS.values():
        connection.exec_driver_sql(f'DROP TABLE IF EXISTS "{row.__tablename__}"')


def _bring_up(connection: Connection) -> None:
    version = connection.exec_driver_sql("PRAGMA user_version").scalar_one()
    if 0 < version < SCHEMA:
        _let_go_of_shipped_tables(connection)
    SQLModel.metadata.create_all(connection)
    kept = (build_tables, layout_tables, ledger_tables, tick_tables)
    for statement in (statement for table in kept for statement in table.NEVER_CHANGES):
        connection.exec_driver_sql(statement)
    connection.exec_driver_sql(f"PRAGMA user_version = {SCHEMA}")


def open_database(path: Path) -> Engine:
    """Open the database file, creating it and its tables when they are missing.

    A file of an earlier schema is brought up to this one in one transaction: the builder's own things stay, and the
    shipped catalogue is left empty until ``install_catalogue`` loads it.

    Args:
        path: The SQLite file; its folder must exist.

    Returns:
        An engine whose connections use write-ahead logging, foreign keys and a busy timeout.

    Raises:
        DatabaseError: the file comes from a later schema, from another program, or is no database at all.
    """
    engine = create_engine(f"sqlite:///{path}", pool_size=10, max_overflow=40)
    event.listen(engine, "connect", _prepare_connection)
    event.listen(engine, "begin", _begin)
    try:
        with _writer, engine.connect().execution_options(**{_WRITE: True}) as connection, connection.begin():
            _refuse_foreign(connection, path)
            _bring_up(connection)
    except LoomwrightError:
        engine.dispose()
        raise
    except Exception as failure:
        engine.dispose()
        raise DatabaseError(f"{path} cannot be opened as a database: {failure}") from failure
    return engine


@contextmanager
def writing(engine: Engine) -> Iterator[Session]:
    """One transaction that may write; one at a time in the whole process.

    Args:
        engine: An engine from ``open_database``.

    Yields:
        A session inside ``BEGIN IMMEDIATE``; committed at the end, rolled back when the body raises.
    """
    with (
        _writer,
        engine.connect().execution_options(**{_WRITE: True}) as connection,
        connection.begin(),
        Session(bind=connection, join_transaction_mode="rollback_only") as session,
    ):
        yield session
        session.flush()


@contextmanager
def reading(engine: Engine) -> Iterator[Session]:
    """One transaction that only reads, and sees the database as it was at one moment.

    Args:
        engine: An engine from ``open_database``.

    Yields:
        A session; anything written through it is thrown away.
    """
    with engine.connect() as connection:
        transaction = connection.begin()
        try:
            with Session(bind=connection) as session:
                yield session
        finally:
            transaction.rollback()
