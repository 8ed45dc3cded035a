"""Weight of the bench screen's first load, part by part, against an empty page."""

import gzip
import re
from collections.abc import Callable

import httpx

LEVEL = 4
"""How hard the planner compresses."""


def measure_bench_page(client: httpx.Client, build_id: str, show: Callable[..., None]) -> None:
    """Bytes of the page, its styles, its scripts and its tasks, raw and compressed.

    Args:
        client: Asks the planner.
        build_id: A build.
        show: Prints one line of the report: name, value, unit, baseline, aim.
    """
    page = client.get(f"/bench/{build_id}")
    files = set(re.findall(r'(?:href|src)="(/static/[^"]+\.(?:css|js|svg))"', page.text))
    parts = {
        "page": [page.content],
        "styles": [client.get(name).content for name in files if name.endswith(".css")],
        "scripts": [client.get(name).content for name in files if name.endswith(".js")],
        "tasks": [client.get(f"/bench/{build_id}/tasks.json").content],
    }
    empty = client.get("/empty").content
    for name, held in parts.items():
        show(f"bench screen, {name}, raw", _raw(held) / 1000, "kB", len(empty) / 1000)
        show(f"bench screen, {name}, compressed", _small(held) / 1000, "kB", _small([empty]) / 1000)
    first = [text for name, held in parts.items() if name != "tasks" for text in held]
    show("bench screen, first load without tasks, raw", _raw(first) / 1000, "kB", len(empty) / 1000)
    aim = "aim: under 60 kB"
    show("bench screen, first load, compressed", _small(first) / 1000, "kB", _small([empty]) / 1000, aim)


def _raw(texts: list[bytes]) -> int:
    return sum(len(text) for text in texts)


def _small(texts: list[bytes]) -> int:
    return sum(min(len(text), len(gzip.compress(text, LEVEL))) for text in texts)
