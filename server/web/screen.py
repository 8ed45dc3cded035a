"""One edit, one answer: the panel that asked and everything around it, all from the same plan."""

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from hashlib import sha256
from typing import Annotated, Any
from urllib.parse import parse_qsl, urlencode

from fastapi import Depends, Request
from fastapi.responses import RedirectResponse, Response
from markupsafe import Markup
from starlette.datastructures import UploadFile

from server.domain.errors import NotFoundError
from server.services.bench import BenchDesk
from server.services.builds import BuildDesk
from server.services.learning import LearningDesk
from server.services.opened import Opened
from server.services.papers import PaperDesk
from server.services.stock import StockDesk
from server.web import rendering
from server.web.forms import Reader, Typed
from server.web.views import formats, frame
from server.web.views.fields import Field, Fields
from server.web.views.sheet import sheet_svg

UNIT_COOKIE = "unit"
NEXT = {"supply": "parts", "parts": "routes", "routes": "finish", "finish": "cards"}
"""The panel that comes behind each step."""
FIELDS_MOST = 10_000
"""Fields of one form; a route of two thousand steps has four for each."""
ABOUT_A_RUN = frozenset({"run", "path", "test"})
WITH_SHEET = frozenset({"supply", "parts", "routes", "finish", "run"})


@dataclass(frozen=True, slots=True)
class Posted:
    """A form as it arrived, and the panel that answers it."""

    panel: str
    typed: Typed
    files: dict[str, bytes] = field(default_factory=dict)

    def reader(self) -> Reader:
        """A reader for the form's values."""
        return Reader(self.typed)

    @property
    def answered_by(self) -> str:
        """The panel that is shown once the form is saved: its own, or the step behind it where that was asked for."""
        return NEXT.get(self.panel, self.panel) if self.typed.first("go") == "on" else self.panel


@dataclass(frozen=True, slots=True)
class Scene:
    """What a panel is made from."""

    desk: BuildDesk
    bench: BenchDesk
    stock: StockDesk
    learning: LearningDesk
    papers: PaperDesk
    opened: Opened
    base: int
    """Revision that the panel's forms will change."""
    fields: Fields
    inches: bool
    run_id: str = ""
    token: str = ""
    """A share link made this moment, shown once."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What an edit came to, told along with the panel."""

    status: int = 200
    typed: Typed | None = None
    base: int | None = None
    message: str = ""
    conflict: frame.Conflict | None = None
    token: str = ""


PANELS: dict[str, Callable[[Scene], Any]] = {}
"""By panel name, what makes its view; filled by the route modules."""
LASTING: set[str] = set()
"""Panels that show nothing but the opened build, so that one revision's are the same at every look."""


def panel(name: str, *, lasting: bool = False) -> Callable[[Callable[[Scene], Any]], Callable[[Scene], Any]]:
    """Register the function that makes the view of a panel.

    Args:
        name: Name of the panel, which is also its template and its element's id.
        lasting: Whether the view follows from the opened build, the run and the unit alone, not from the hour, other
            records or the request; it is then made once for each of them.
    """

    def register(make: Callable[[Scene], Any]) -> Callable[[Scene], Any]:
        PANELS[name] = make
        if lasting:
            LASTING.add(name)
        return make

    return register


def desk_of(request: Request) -> BuildDesk:
    """The desk of this application."""
    desk: BuildDesk = request.app.state.desk
    return desk


def bench_of(request: Request) -> BenchDesk:
    """The bench and the shelf of this application."""
    bench: BenchDesk = request.app.state.bench
    return bench


def address_of(request: Request) -> str:
    """Where the planner is reached: the address that other devices know, or the one that was asked."""
    known: str = request.app.state.address
    return known or str(request.base_url).rstrip("/")


def stock_of(request: Request) -> StockDesk:
    """The catalogue's desk of this application."""
    stock: StockDesk = request.app.state.stock
    return stock


def learning_of(request: Request) -> LearningDesk:
    """What the bench has taught, of this application."""
    learning: LearningDesk = request.app.state.learning
    return learning


Desk = Annotated[BuildDesk, Depends(desk_of)]
Bench = Annotated[BenchDesk, Depends(bench_of)]
Stock = Annotated[StockDesk, Depends(stock_of)]
Learning = Annotated[LearningDesk, Depends(learning_of)]


def posted(name: str) -> Any:
    """A dependency that reads a form and remembers which panel answers it, whatever happens next.

    Args:
        name: The panel; a form that stands on several panels names its own in a hidden ``panel`` field.
    """

    async def read(request: Request) -> Posted:
        values: dict[str, list[str]] = {}
        files: dict[str, bytes] = {}
        async with request.form(max_files=1, max_fields=FIELDS_MOST) as form:
            for key, value in form.multi_items():
                if isinstance(value, UploadFile):
                    # A browser sends a nameless, empty file where none was chosen.
                    if value.filename:
                        files[key] = await value.read()
                else:
                    values.setdefault(key, []).append(value)
        chosen = values.get("panel", [name])[0]
        typed = Typed({key: tuple(texts) for key, texts in values.items()})
        result = Posted(chosen if chosen in PANELS else name, typed, files)
        request.state.posted = result
        return result

    return Depends(read)


def wants_panel(request: Request) -> bool:
    """Whether the page's script asked for a panel to swap in, and not for a whole page."""
    headers = request.headers
    return headers.get("HX-Request") == "true" and headers.get("HX-Request-Type", "partial") == "partial"


def wants_inches(request: Request) -> bool:
    """Whether lengths are shown in inches: the address says so, or the cookie remembers it."""
    query = dict(parse_qsl(request.url.query))
    return query.get("unit", request.cookies.get(UNIT_COOKIE, "mm")) == "in"


def saved(
    request: Request, opened: Opened, form: Posted, spread: Iterable[int] = (), replaced: Iterable[int] = ()
) -> Response:
    """The answer to an accepted edit: the panel with its surroundings, or the way to its address.

    Args:
        request: The request that carried the edit.
        opened: The build as it stands now.
        form: The form that was accepted.
        spread: Numbers of the chains whose one spacing was taken for every gap, which is said along with it.
        replaced: Numbers of the runs whose legs and bends gave way to a length, which is said too.
    """
    name = form.answered_by
    where = address(request, opened, name)
    if not wants_panel(request):
        told = [("spread", number) for number in spread] + [("replaced", number) for number in replaced]
        query = urlencode([("saved", opened.revision), *told])
        return RedirectResponse(f"{where}?{query}", status_code=303)
    message = _saved_message(opened, form.typed) + formats.routes_words(opened.build, spread, replaced)
    response = show(request, opened, name, Outcome(message=message))
    if name != form.panel:
        response.headers["HX-Push-Url"] = where
    return response


def show(request: Request, opened: Opened, name: str, outcome: Outcome | None = None) -> Response:
    """A panel of a build: alone with its surroundings to swap, or as a whole page.

    Args:
        request: The request.
        opened: The build as it stands.
        name: The panel.
        outcome: What an edit came to, if one was asked for.
    """
    outcome = outcome or Outcome(message=_arrival_message(request, opened))
    page = build_page(request, opened, name, outcome)
    template = "answer.html" if wants_panel(request) else "pages/build.html"
    return rendering.page(template, status=outcome.status, page=page)


def build_page(request: Request, opened: Opened, name: str, outcome: Outcome) -> frame.BuildPage:
    """Everything one screen shows, from one plan."""
    desk = desk_of(request)
    base = outcome.base if outcome.base is not None else opened.revision
    fields = Fields(outcome.typed)
    run_id = _run_id(request, name)
    scene = Scene(
        desk,
        bench_of(request),
        stock_of(request),
        learning_of(request),
        request.app.state.papers,
        opened,
        base,
        fields,
        wants_inches(request),
        run_id,
        outcome.token,
    )
    body = _body(scene, name, fresh=outcome.typed is not None or bool(outcome.token) or base != opened.revision)
    title = frame.TITLES.get(name) or _run_title(opened, name, run_id)
    current = "tests" if name == "test" else "routes" if name in ABOUT_A_RUN else name
    sheet = _sheet(opened, run_id) if name in WITH_SHEET else ""
    key = opened.once(f"sheet key {run_id}", lambda: sha256(sheet.encode()).hexdigest()[:16]) if sheet else ""
    return frame.BuildPage(
        title=f"{title} – {opened.build.name}",
        panel_name=name,
        body=body,
        title_block=frame.title_block(opened),
        rail=frame.rail(opened, current, len(desk.shares(opened.build_id))),
        sheet=sheet,
        sheet_key=key,
        sheet_stays=key == request.headers.get("Sheet-Shown", "none"),
        build_href=f"/builds/{opened.build_id}",
        base=base,
        message=outcome.message,
        conflict=outcome.conflict,
        troubles=fields.troubles(),
    )


def _run_title(opened: Opened, name: str, run_id: str) -> str:
    """The title of a panel that is about one run."""
    number = next(run.number for run in opened.plan.runs if run.id == run_id)
    return f"Run {number}" if name == "run" else f"Run {number}, {name}"


def _body(scene: Scene, name: str, *, fresh: bool) -> Markup:
    """The panel filled with its view; ``fresh`` when it shows more than the opened build."""

    def make() -> Markup:
        return rendering.text(f"panels/{name}.html", view=PANELS[name](scene))

    if name not in PANELS:
        raise NotFoundError("There is no such page in this build.")
    if fresh or name not in LASTING:
        return make()
    return scene.opened.once(f"panel {name} {scene.run_id} {scene.inches}", make)


def fields_of(request: Request, opened: Opened, form: Posted) -> dict[str, Field]:
    """The fields of a form's panel as they stand in a build, in the unit that the form was shown in.

    Raises:
        NotFoundError: the build has no such run.
    """
    fields = Fields()
    inches = form.typed.first("unit") == "in" if "unit" in form.typed.values else wants_inches(request)
    run_id = _run_id(request, form.panel)
    scene = Scene(
        desk_of(request),
        bench_of(request),
        stock_of(request),
        learning_of(request),
        request.app.state.papers,
        opened,
        opened.revision,
        fields,
        inches,
        run_id,
    )
    PANELS[form.panel](scene)
    return fields.made


def _run_id(request: Request, name: str) -> str:
    """The run that the address names, where the panel is about one."""
    return str(request.path_params.get("run_id", "")) if name in ABOUT_A_RUN else ""


def address(request: Request, opened: Opened, name: str) -> str:
    """The address of a panel of this build."""
    if name in ABOUT_A_RUN:
        run = f"/builds/{opened.build_id}/runs/{request.path_params['run_id']}"
        return run if name == "run" else f"{run}/{name}"
    return f"/builds/{opened.build_id}/{name}"


def without_panel(form: Posted, name: str) -> Posted:
    """The same form, answered by another panel."""
    return replace(form, panel=name)


def _sheet(opened: Opened, run_id: str) -> str:
    """The harness drawing, every run a link to its address."""
    ids = {run.number: run.id for run in opened.plan.runs}
    numbers = {run.id: run.number for run in opened.plan.runs}

    def draw() -> str:
        build = f"/builds/{opened.build_id}"
        return sheet_svg(
            opened,
            lambda number: f"{build}/runs/{ids[number]}",
            numbers.get(run_id),
            card_href=lambda number: f"{build}/cards#card-{number}",
        )

    return opened.once(f"sheet {run_id}", draw)


def _saved_message(opened: Opened, typed: Typed) -> str:
    """What saving came to, in words."""
    if typed.first("revision") == str(opened.revision):
        return f"Nothing changed: still revision {opened.revision}."
    return f"Saved as revision {opened.revision}, {formats.clock(opened.saved_at)}."


def _arrival_message(request: Request, opened: Opened) -> str:
    """What to say after the way back from an accepted form."""
    if request.query_params.get("saved") == str(opened.revision):
        told = formats.routes_words(opened.build, _numbers(request, "spread"), _numbers(request, "replaced"))
        return f"Saved as revision {opened.revision}, {formats.clock(opened.saved_at)}.{told}"
    return ""


def _numbers(request: Request, name: str) -> list[int]:
    """Numbers of runs that the address names."""
    return [int(text) for text in request.query_params.getlist(name) if re.fullmatch("[0-9]{1,6}", text)]
