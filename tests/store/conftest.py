import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import Engine

from server.store.catalogue_install import install_catalogue
from server.store.database import open_database

SHIPPED = Path(__file__).parents[2] / "seed_data" / "catalogue"


@pytest.fixture
def database_file(tmp_path: Path) -> Path:
    return tmp_path / "loomwright.db"


@pytest.fixture
def engine(database_file: Path) -> Iterator[Engine]:
    opened = open_database(database_file)
    yield opened
    opened.dispose()


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A copy of the shipped catalogue files, free to be spoiled."""
    return Path(shutil.copytree(SHIPPED, tmp_path / "catalogue"))


@pytest.fixture(scope="session")
def installed_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A database file with the shipped catalogue, made once and copied for every test."""
    path = tmp_path_factory.mktemp("installed") / "loomwright.db"
    engine = open_database(path)
    install_catalogue(engine, SHIPPED)
    engine.dispose()
    return path


@pytest.fixture
def loaded(installed_file: Path, database_file: Path) -> Iterator[Engine]:
    """A database with the shipped catalogue."""
    opened = open_database(Path(shutil.copy(installed_file, database_file)))
    yield opened
    opened.dispose()
