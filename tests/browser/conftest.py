"""A real planner in a process of its own, and a real Chromium; both skipped with the reason where none is found."""

import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from server.app import create_app
from server.config import Settings

ROOT = Path(__file__).parents[2]
PATIENCE_MS = 20_000
"""How long is waited for what a page will show. It is there in a moment; a busy machine may take long."""
NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")
FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if Path(__file__).parent in Path(item.path).parents:
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="session")
def chromium() -> str:
    found = next((path for name in NAMES if (path := shutil.which(name))), None)
    if found is None:
        pytest.skip(f"no Chromium on this machine: looked for {', '.join(NAMES)}")
    return found


@pytest.fixture(scope="session")
def address() -> Iterator[str]:
    """Address of a planner with empty data, started as the README says."""
    with tempfile.TemporaryDirectory() as data, started(data) as found:
        yield found


@pytest.fixture(scope="module")
def planner(tmp_path_factory):
    """Address and desks of a planner of the module's own, so that its data can be prepared behind its back."""
    data = tmp_path_factory.mktemp("planner")
    with started(str(data)) as found:
        yield found, create_app(Settings(data=data)).state


@contextmanager
def started(data: str) -> Iterator[str]:
    """Address of a planner on a folder of data, while it runs."""
    words = [sys.executable, "-m", "server", "--no-browser", "--port", "0", "--data", data]
    server = subprocess.Popen(words, cwd=ROOT, stdout=subprocess.PIPE, text=True)
    try:
        assert server.stdout is not None
        line = server.stdout.readline()
        found = re.search(r"http://127\.0\.0\.1:\d+", line)
        assert found, f"the planner printed no address: {line!r}"
        yield found.group()
    finally:
        server.terminate()
        server.wait(10)


@pytest.fixture(scope="module")
def browser(chromium):
    """Closed with its module: Playwright keeps an event loop running, beside which other tests cannot start one."""
    from playwright.sync_api import expect, sync_playwright

    expect.set_options(timeout=PATIENCE_MS)
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=chromium, args=FLAGS)
        yield started
        started.close()


@pytest.fixture
def page(browser, address):
    """A page at laptop width; any error in its console fails the test."""
    context = browser.new_context(base_url=address, viewport={"width": 1366, "height": 900})
    opened = context.new_page()
    faults: list[str] = []
    opened.on("console", lambda said: faults.append(said.text) if said.type == "error" else None)
    opened.on("pageerror", lambda fault: faults.append(str(fault)))
    opened.faults = faults
    yield opened
    context.close()
    assert faults == []


@pytest.fixture
def example(page):
    """Opens an example by its button on the first screen; gives the build's address."""

    def opened(name: str) -> str:
        page.goto("/")
        page.locator(f'form[action="/examples/{name}"] button').click()
        page.wait_for_url("**/supply*")
        return re.search(r"/builds/\w+", page.url).group()

    return opened


@pytest.fixture
def axe_finds() -> Callable[..., list[str]]:
    """Tells what axe finds on a page: each rule that is broken, where first, and what would mend it."""
    from axe_playwright_python.sync_playwright import Axe

    def found(page) -> list[str]:
        broken = Axe().run(page).response["violations"]
        return [f"{v['id']}: {v['nodes'][0]['html'][:160]} {v['nodes'][0].get('failureSummary', '')}" for v in broken]

    return found
