"""The shipped catalogue without a database file, for commands that must not need a data folder."""

from pathlib import Path

from sqlalchemy import StaticPool
from sqlmodel import SQLModel, create_engine

from server.domain.model.catalogue import Catalogue
from server.store.catalogue_install import install_catalogue
from server.store.catalogue_read import read_catalogue
from server.store.database import reading


def catalogue_from_files(folder: Path) -> Catalogue:
    """The catalogue of a folder of catalogue files, as a fresh database would read it.

    Args:
        folder: Folder that holds one CSV file per catalogue table.

    Raises:
        CatalogueError: a file breaks a rule.
    """
    # One connection, kept: a database in memory is gone when its last connection closes.
    engine = create_engine("sqlite://", poolclass=StaticPool)
    try:
        SQLModel.metadata.create_all(engine)
        install_catalogue(engine, folder)
        with reading(engine) as session:
            return read_catalogue(session)
    finally:
        engine.dispose()
