"""Speed and weight of the planner, each against an empty page served in the same run.

One command: ``.venv/bin/python tests/benchmarks/run.py``. It prints; it never fails on a slow machine.
"""

import re
import statistics
import sys
import tempfile
import threading
import time
import tracemalloc
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

import httpx  # noqa: E402
import uvicorn  # noqa: E402
from fastapi.responses import HTMLResponse  # noqa: E402

from server.app import create_app  # noqa: E402
from server.config import Settings  # noqa: E402
from server.documents.build_json import read_build  # noqa: E402
from server.domain.plan import plan  # noqa: E402
from server.domain.wiring import assign  # noqa: E402
from server.store.catalogue_memory import catalogue_from_files  # noqa: E402
from tests.benchmarks.bench_page import measure_bench_page  # noqa: E402
from tests.benchmarks.lengths import measure_lengths  # noqa: E402
from tests.benchmarks.papers import measure_papers  # noqa: E402
from tests.benchmarks.rolls import measure_rolls  # noqa: E402
from tests.benchmarks.wiring import measure_wiring  # noqa: E402
from tests.benchmarks.work_order import measure_work_order  # noqa: E402

ROUNDS = 30


def median_ms(act: Callable[[], object], rounds: int = ROUNDS) -> float:
    """Median time of an act. [ms]"""
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        act()
        times.append((time.perf_counter() - start) * 1000)
    return statistics.median(times)


def show(name: str, value: float, unit: str, baseline: float | None = None, aim: str = "") -> None:
    """One line of the report."""
    ratio = f"{value / baseline:8.1f} x empty" if baseline else " " * 16
    print(f"{name:<48}{value:10.2f} {unit:<4}{ratio}   {aim}")


def measure_plan() -> None:
    """Time and memory of the plan of both example builds, with and without remembered wirings."""
    catalogue = catalogue_from_files(ROOT / "seed_data" / "catalogue")
    for name in ("compact", "large"):
        build = read_build((ROOT / "seed_data" / "examples" / f"{name}.json").read_bytes())

        def cold(build=build) -> None:
            assign.cache_clear()
            plan(build, catalogue)

        show(f"plan, {name} example, first time", median_ms(cold), "ms", aim="aim: under 50 ms")
        show(f"plan, {name} example, again", median_ms(lambda build=build: plan(build, catalogue)), "ms")
        tracemalloc.start()
        cold()
        show(f"plan, {name} example, peak memory", tracemalloc.get_traced_memory()[1] / 1e6, "MB")
        tracemalloc.stop()


def serve(data: Path) -> tuple[uvicorn.Server, str]:
    """The planner with an empty page beside it, on a free port."""
    app = create_app(Settings(data=data))
    app.router.routes.insert(0, _empty_route())
    server = uvicorn.Server(uvicorn.Config(app, host="127.0.0.1", port=0, log_level="error"))
    threading.Thread(target=server.run, daemon=True).start()
    while not server.started:
        time.sleep(0.01)
    port = server.servers[0].sockets[0].getsockname()[1]
    return server, f"http://127.0.0.1:{port}"


def _empty_route() -> object:
    from starlette.routing import Route

    return Route("/empty", lambda request: HTMLResponse("<!doctype html><title>empty</title>"))


def measure_pages(base: str) -> None:
    """Round trips of the steps and the weight of the first load, for the large example."""
    with httpx.Client(base_url=base, follow_redirects=True, headers={"accept-encoding": "gzip"}) as client:
        empty = median_ms(lambda: client.get("/empty"), 200)
        show("empty page", empty, "ms", empty)
        client.post("/examples/large", headers={"origin": base})
        build = client.get("/api/builds").json()["builds"][0]["id"]
        where = f"/builds/{build}"
        # As the page's script asks: it names the drawing that is on screen, which is not sent again.
        drawing = re.search(r'id="sheet-key" data-key="(\w+)"', client.get(f"{where}/routes").text)
        htmx = {"hx-request": "true", "origin": base, "sheet-shown": drawing[1] if drawing else ""}
        for step in ("supply", "parts", "routes", "finish", "cards"):
            trip = median_ms(lambda step=step: client.get(f"{where}/{step}", headers=htmx))
            show(f"step {step}, swapped panel", trip, "ms", empty, "aim: under 10 x empty")
        show("whole page, routes", median_ms(lambda: client.get(f"{where}/routes")), "ms", empty)
        measure_weight(client, f"{where}/supply", client.get("/empty"))
        measure_bench_page(client, build, show)


def measure_weight(client: httpx.Client, page: str, empty: httpx.Response) -> None:
    """Bytes on the wire of a first load: the page and every style and script that it names."""
    first = client.get(page)
    named = set(re.findall(r'(?:href|src)="(/static/[^"]+\.(?:css|js|svg))"', first.text))
    total = wire_bytes(first) + sum(wire_bytes(client.get(name)) for name in named)
    show("first load, page alone", wire_bytes(first) / 1000, "kB")
    show(f"first load with {len(named)} styles and scripts", total / 1000, "kB", aim="aim: under 120 kB")
    print(f"{'':<48}{total / max(1, wire_bytes(empty)):10.0f} x the bytes of the empty page")


def wire_bytes(response: httpx.Response) -> int:
    """Body bytes as they crossed the wire."""
    return response.num_bytes_downloaded


def main() -> None:
    """Print the report."""
    measure_plan()
    measure_wiring()
    measure_lengths()
    measure_rolls()
    measure_work_order()
    measure_papers()
    with tempfile.TemporaryDirectory() as data:
        server, base = serve(Path(data))
        try:
            measure_pages(base)
        finally:
            server.should_exit = True


if __name__ == "__main__":
    main()
