"""Every page of the planner, joined: what the application includes."""

from fastapi import APIRouter, FastAPI

from server.web import errors
from server.web.routes import (
    bench,
    bench_data,
    bench_screen,
    builds,
    buys,
    changes,
    drawings,
    estimate,
    exports,
    files,
    finish,
    home,
    labels,
    learning,
    ledger,
    papers,
    parts,
    path,
    phones,
    record,
    rolls,
    routes,
    runs,
    shared,
    supply,
    tests,
    waiting,
)


def routers() -> list[APIRouter]:
    """The routers of every page, in the order in which addresses are matched."""
    return [
        home.router,
        phones.router,
        supply.router,
        parts.router,
        routes.router,
        finish.router,
        waiting.router,
        rolls.router,
        ledger.router,
        changes.router,
        runs.router,
        path.router,
        tests.router,
        labels.router,
        bench_data.router,
        bench.router,
        bench_screen.router,
        buys.router,
        exports.router,
        files.router,
        papers.router,
        drawings.router,
        estimate.router,
        learning.router,
        record.router,
        shared.router,
        builds.router,
    ]


def include_pages(app: FastAPI) -> None:
    """Give the application its pages and their answers to failures.

    Args:
        app: The application; ``app.state.desk`` is set before the first request.
    """
    for router in routers():
        app.include_router(router, include_in_schema=False)
    errors.install(app)
