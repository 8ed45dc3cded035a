import shutil
from collections.abc import Iterator
from itertools import count
from pathlib import Path

import pytest
from sqlalchemy import Engine

from server.services.builds import BuildDesk
from server.store.catalogue_install import install_catalogue
from server.store.database import open_database

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="session")
def installed_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A database with the shipped catalogue, made once and copied for every test."""
    path = tmp_path_factory.mktemp("installed") / "loomwright.db"
    engine = open_database(path)
    install_catalogue(engine, ROOT / "seed_data" / "catalogue")
    engine.dispose()
    return path


@pytest.fixture
def engine(installed_file: Path, tmp_path: Path) -> Iterator[Engine]:
    opened = open_database(Path(shutil.copy(installed_file, tmp_path / "loomwright.db")))
    yield opened
    opened.dispose()


@pytest.fixture
def desk(engine: Engine) -> BuildDesk:
    """A desk whose clock ticks one second at every saving."""
    seconds = count()
    return BuildDesk(engine, ROOT / "seed_data" / "examples", lambda: f"2025-01-01T00:{next(seconds):02d}:00+00:00")
