"""A planner in this process, and one build to work on for each test."""

import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from html import unescape
from pathlib import Path

import pytest
from fastapi.testclient import TestClient
from httpx import Response

from server.app import create_app
from server.config import Settings
from server.services.builds import BuildDesk

PANEL = {"HX-Request": "true", "HX-Request-Type": "partial"}


@pytest.fixture(scope="session")
def pages(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    settings = Settings(data=tmp_path_factory.mktemp("pages"))
    with TestClient(create_app(settings), base_url="http://127.0.0.1", follow_redirects=False) as made:
        yield made


@pytest.fixture(scope="session")
def started(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data folder as the first start of a planner leaves it: reading the catalogue in takes most of that."""
    folder = tmp_path_factory.mktemp("started")
    with TestClient(create_app(Settings(data=folder))):
        return folder


@pytest.fixture
def own_pages(started: Path, tmp_path: Path) -> Iterator[TestClient]:
    """A planner of one test's own, where what others do to the shelf and the tables must not show."""
    app = create_app(Settings(data=shutil.copytree(started, tmp_path / "own")))
    with TestClient(app, base_url="http://127.0.0.1", follow_redirects=False) as made:
        yield made


@dataclass(frozen=True)
class Bench:
    """A build with a board and two chained drives on a supply whose main is one plug."""

    client: TestClient
    desk: BuildDesk
    id: str

    @property
    def revision(self) -> int:
        return self.desk.open(self.id).revision

    @property
    def run(self) -> str:
        return self.desk.open(self.id).build.runs[0].id

    def look(self, panel: str, *, swap: bool = False) -> Response:
        return self.client.get(f"/builds/{self.id}/{panel}", headers=PANEL if swap else {})

    def send(self, panel: str, *, swap: bool = False, base: int | None = None, **fields: object) -> Response:
        data = {"revision": str(self.revision if base is None else base), **fields}
        return self.client.post(f"/builds/{self.id}/{panel}", data=data, headers=PANEL if swap else {})


@pytest.fixture
def bench(pages: TestClient) -> Bench:
    desk: BuildDesk = pages.app.state.desk  # type: ignore[attr-defined]
    opened = desk.create("Walnut desk case")
    opened = desk.choose_supply(opened.build_id, opened.revision, "one-24")
    opened = desk.add_parts(opened.build_id, opened.revision, "board-small", 1)
    desk.add_parts(opened.build_id, opened.revision, "drive-sata", 2)
    return Bench(pages, desk, opened.build_id)


@pytest.fixture
def named(pages: TestClient) -> Callable[[str], Bench]:
    """A build of a given name, as typed."""

    def make(name: str) -> Bench:
        desk: BuildDesk = pages.app.state.desk  # type: ignore[attr-defined]
        return Bench(pages, desk, desk.create(unescape(name)).build_id)

    return make
