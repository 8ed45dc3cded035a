"""Speed and weight of papers: pages a second and peak memory, beside one empty page and the bare application.

One command: ``.venv/bin/python tests/benchmarks/papers.py``. It prints; it never fails on a slow machine. Each measure
runs in a process of its own, since the peak of a process never falls again.
"""

import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from server.app import create_app  # noqa: E402
from server.config import Settings  # noqa: E402
from server.documents.pdf import joined, page_rule, typeset  # noqa: E402
from server.domain.model.bench import Bench  # noqa: E402
from server.services.opened import Opened  # noqa: E402
from server.web.card_setting import set_card  # noqa: E402
from server.web.paper_binding import Binder  # noqa: E402
from server.web.paper_sections import Order  # noqa: E402
from server.web.views.bought import Shop  # noqa: E402

PARTS = ("harness", "cuts", "rolls", "buys", "tools", "tests")
CARDS = 4
ADDRESS = "http://127.0.0.1:8765"
EMPTY_ROUNDS = 10
STATIC = ROOT / "static"


def peak_mb() -> float:
    """Most memory that this process ever held."""
    held = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return held / (1e6 if sys.platform == "darwin" else 1e3)


def seconds(act: Callable[[], object]) -> float:
    """Time of an act. [s]"""
    start = time.perf_counter()
    act()
    return time.perf_counter() - start


def empty_page() -> bytes:
    """One page with nothing on it."""
    return joined([typeset("<p></p>", [page_rule("A4")], STATIC)], "empty")


def lists(opened: Opened) -> int:
    """Everything but the cards; how many pages."""
    binder = Binder(opened, Shop(Bench(), {}, {}, {}), Order("A4", PARTS, ADDRESS))
    binder.bind(lambda done, word: None)
    return binder.pages


def cards(opened: Opened) -> int:
    """The cards of the first runs; how many pages."""
    made = [set_card(opened, run.id, ADDRESS, "A4") for run in opened.plan.runs[:CARDS]]
    joined(made, "cards")
    return sum(card.pages for card in made)


def alone(name: str) -> None:
    """One measure, told as pages, seconds, seconds of an empty page, and peak memory in MB."""
    with tempfile.TemporaryDirectory() as data:
        app = create_app(Settings(data=Path(data)))
        opened = app.state.desk.create_example("large")
        bare = peak_mb()
        empty_page()  # Loads the library and looks for fonts, once a process.
        empty = sum(seconds(empty_page) for _ in range(EMPTY_ROUNDS)) / EMPTY_ROUNDS
        start = time.perf_counter()
        pages = lists(opened) if name == "lists" else cards(opened)
        took = time.perf_counter() - start
        print(pages, took, empty, peak_mb(), bare)
        app.state.papers.close()


def measure_papers() -> None:
    """Print the report."""
    for name, words in (("lists", "lists, drawings, test sheets"), ("cards", f"{CARDS} cable cards")):
        told = subprocess.run([sys.executable, __file__, name], capture_output=True, text=True, check=True, cwd=ROOT)
        pages, took, empty, peak, bare = (float(word) for word in told.stdout.split()[-5:])
        each = took / pages
        print(f"papers, large example, {words:<25}{pages:6.0f} pages {took:7.1f} s {pages / took:6.2f} pages/s")
        print(f"{'':<48}{each / empty:10.1f} x an empty page ({empty * 1000:.0f} ms)")
        print(f"{'':<48}{peak:10.0f} MB at most, {peak / bare:.1f} x the bare application ({bare:.0f} MB)")


if __name__ == "__main__":
    if len(sys.argv) > 1:
        alone(sys.argv[1])
    else:
        measure_papers()
