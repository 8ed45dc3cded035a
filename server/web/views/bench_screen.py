"""The page of the bench screen: the frame that its script fills, with the plain list in it."""

from collections.abc import Sequence
from dataclasses import dataclass

from server.drawing.paint import pattern_store
from server.services.bench_task_types import Tasks
from server.services.opened import Opened
from server.web.views.bench_plain import Asked, PlainList, plain_list

STAMP = "Measure the supply first."


@dataclass(frozen=True, slots=True)
class Patterns:
    """Hatched colours that the page's bands refer to."""

    svg: str


@dataclass(frozen=True, slots=True)
class BenchPage:
    """The whole page."""

    build_id: str
    name: str
    metered: bool
    stamp: str
    cautions: tuple[str, ...]
    back_href: str
    tasks_href: str
    ticks_href: str
    worker_href: str
    sheets: tuple[str, ...]
    modules: tuple[str, ...]
    patterns: Patterns
    plain: PlainList


def bench_page(opened: Opened, tasks: Tasks, asked: Asked, sheets: Sequence[str], modules: Sequence[str]) -> BenchPage:
    """The page of a build.

    Args:
        opened: The build as it stands.
        tasks: Everything to do.
        asked: Which plain list, and what to say above it.
        sheets: Addresses of its stylesheets.
        modules: Addresses of its scripts.
    """
    return BenchPage(
        build_id=opened.build_id,
        name=opened.build.name,
        metered=opened.plan.metered,
        stamp=STAMP,
        cautions=tasks.cautions,
        back_href=f"/builds/{opened.build_id}/ledger",
        tasks_href=f"/bench/{opened.build_id}/tasks.json",
        ticks_href=f"/bench/{opened.build_id}/ticks",
        worker_href="/bench/worker.js",
        sheets=tuple(sheets),
        modules=tuple(modules),
        patterns=Patterns(pattern_store("bench", opened.catalogue.colours, opened.catalogue)),
        plain=plain_list(tasks, asked),
    )
