"""Puts the catalogue files into the database: all of them, or none."""

from pathlib import Path

from sqlalchemy import Engine, delete
from sqlmodel import Session, col, select

from server.store.catalogue_files import read_catalogue_files
from server.store.database import reading, writing
from server.store.records import RECORDS, CatalogueRecord, CrimpRecord, row_key
from server.store.tables import ROWS, CatalogueEditRow, CatalogueVersionRow

_CRIMP_COLUMNS = {"strip_mm": "strip_mm", "crimp_die": "die"}
"""Columns of a contact in the first schema, and where they stand now: once for each gauge, in the table of crimps."""


def installed_version(engine: Engine) -> str | None:
    """Version of the catalogue in the database.

    Args:
        engine: An engine from ``open_database``.

    Returns:
        The version, or ``None`` before the first installation.
    """
    with reading(engine) as session:
        row = session.exec(select(CatalogueVersionRow)).first()
        return None if row is None else row.version


def _move_edits_to_crimps(session: Session, crimps: tuple[CatalogueRecord, ...]) -> None:
    old = select(CatalogueEditRow).where(
        CatalogueEditRow.table_name == "contacts", col(CatalogueEditRow.column_name).in_(_CRIMP_COLUMNS)
    )
    for edit in session.exec(old).all():
        column = _CRIMP_COLUMNS[edit.column_name]
        for crimp in crimps:
            if isinstance(crimp, CrimpRecord) and crimp.contact == edit.row_id:
                key = row_key("crimps", crimp)
                session.merge(CatalogueEditRow(table_name="crimps", row_id=key, column_name=column, text=edit.text))
        session.delete(edit)


def install_catalogue(engine: Engine, folder: Path) -> bool:
    """Load the catalogue files when the database has none of their version.

    The shipped rows are replaced in one transaction. Builds, the builder's edits and own packs are never touched,
    except that a strip length or die once set for a contact is then set for every gauge of that contact.

    Args:
        engine: An engine from ``open_database``.
        folder: Folder of the catalogue files.

    Returns:
        True when the files were loaded, False when their version was there already.

    Raises:
        CatalogueError: a file breaks a rule; nothing is loaded.
    """
    files = read_catalogue_files(folder)
    with writing(engine) as session:
        present = session.exec(select(CatalogueVersionRow)).first()
        if present is not None and present.version == files.version:
            return False
        for table in RECORDS:
            session.execute(delete(ROWS[table]))
            rows = [{**record.model_dump(), "file_order": n} for n, record in enumerate(files.tables[table])]
            if rows:
                session.execute(ROWS[table].__table__.insert(), rows)  # type: ignore[attr-defined]
        _move_edits_to_crimps(session, files.tables["crimps"])
        return True
