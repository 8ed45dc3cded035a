"""Where the rooms are joined: settings in, the whole application out."""

import re
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from functools import partial

from fastapi import FastAPI
from fastapi.responses import FileResponse, Response
from fastapi.staticfiles import StaticFiles
from starlette.middleware.gzip import GZipMiddleware
from starlette.types import Scope

from server.config import Settings
from server.services.bench import BenchDesk
from server.services.builds import BuildDesk
from server.services.layouts import LayoutDesk
from server.services.learning import LearningDesk
from server.services.papers import PaperDesk
from server.services.phones import PhoneDesk
from server.services.stock import StockDesk
from server.store.catalogue_install import install_catalogue
from server.store.database import open_database
from server.web.devices import Devices
from server.web.pages import include_pages
from server.web.routes import layouts, shelf, stock
from server.web.routes.api import api_application
from server.web.security import Security

_NEVER_CHANGES = re.compile(r"vendor/[a-z]+-[0-9.]+/")


class _StaticFiles(StaticFiles):
    """Static files that a browser asks about again, except those whose address names their version."""

    async def get_response(self, path: str, scope: Scope) -> Response:
        response = await super().get_response(path, scope)
        lasting = _NEVER_CHANGES.match(path.replace("\\", "/")) is not None
        response.headers["Cache-Control"] = "public, max-age=31536000, immutable" if lasting else "no-cache"
        return response


def create_app(settings: Settings) -> FastAPI:
    """The application on the database of ``settings.data``, with the catalogue installed.

    Raises:
        CatalogueError: a catalogue file breaks a rule; nothing of it is loaded.
        DatabaseError: the database cannot be used.
        OSError: the data folder cannot be made.
    """
    settings.data.mkdir(parents=True, exist_ok=True)
    engine = open_database(settings.database)
    install_catalogue(engine, settings.catalogue_folder)
    desk = BuildDesk(engine=engine, examples=settings.examples_folder)

    @asynccontextmanager
    async def lifespan(app: FastAPI) -> AsyncIterator[None]:
        yield
        app.state.papers.close()
        engine.dispose()

    # FastAPI's own pages of documentation load scripts from elsewhere, so there are none; /api describes itself.
    app = FastAPI(title="Loomwright", docs_url=None, redoc_url=None, openapi_url=None, lifespan=lifespan)
    app.state.desk = desk
    app.state.address = settings.address
    app.state.bench = BenchDesk(engine, desk)
    app.state.papers = PaperDesk()
    app.state.stock = StockDesk(engine)
    app.state.learning = LearningDesk(engine, desk)
    app.state.layouts = LayoutDesk(engine)
    app.state.phones = PhoneDesk(engine, on=settings.phones)
    # Before the pages, so that no page's address can stand in front of them.
    app.mount("/api", api_application(desk, app.state.layouts))
    app.mount("/static", _StaticFiles(directory=settings.static), name="static")
    app.add_api_route("/favicon.ico", partial(_favicon, settings), include_in_schema=False)
    app.include_router(stock.router, include_in_schema=False)
    app.include_router(shelf.router, include_in_schema=False)
    app.include_router(layouts.router, include_in_schema=False)
    include_pages(app)
    # Level 4 costs half the time of the default 9 for a twentieth more bytes; the page comes from this very machine.
    app.add_middleware(GZipMiddleware, minimum_size=1000, compresslevel=4)
    if settings.phones:
        app.add_middleware(Devices, phones=app.state.phones)
    # Added last, so that it stands outermost and nothing is read from a request that is refused.
    app.add_middleware(Security, hosts=settings.host_names)
    return app


def _favicon(settings: Settings) -> FileResponse:
    return FileResponse(
        settings.static / "favicon.ico", media_type="image/x-icon", headers={"Cache-Control": "public, max-age=86400"}
    )
