"""Supply layouts of the builder's own: the list, the ports with their sockets, the metering worksheet, the versions."""

from collections.abc import Callable, Coroutine, Mapping
from dataclasses import replace
from typing import Annotated, Any
from urllib.parse import urlencode

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import RedirectResponse, Response
from fastapi.routing import APIRoute

from server.domain.errors import ConflictError, InvalidInputError, NotFoundError, Problem
from server.domain.model.catalogue import Port
from server.services.layout_use import LayoutUse, layout_use
from server.services.layouts import LayoutDesk, OpenedLayout
from server.web import rendering
from server.web.forms import Reader, Typed
from server.web.merging import merge
from server.web.reading.layout import facts_of, new_port_of, ports_of
from server.web.reading.metering import readings_of
from server.web.screen import Posted, posted
from server.web.views.fields import Fields
from server.web.views.home import Undo
from server.web.views.layout import Change, anchor, layout_frame, layout_panel, layout_versions
from server.web.views.layout_words import ARRIVALS, arrival_words
from server.web.views.layouts import SAME_SUPPLY, layouts_page
from server.web.views.metering import metering_panel


class _LayoutRoute(APIRoute):
    """A route whose refused form is answered by its own page, with what was typed and each message beside its field."""

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        inner = super().get_route_handler()

        async def handler(request: Request) -> Response:
            try:
                return await inner(request)
            except InvalidInputError as error:
                return _refused(request, error)
            except ConflictError as error:
                return _conflict(request, error)

        return handler


router = APIRouter(prefix="/layouts", route_class=_LayoutRoute)


def desk_of(request: Request) -> LayoutDesk:
    """The layouts' desk of this application."""
    desk: LayoutDesk = request.app.state.layouts
    return desk


Layouts = Annotated[LayoutDesk, Depends(desk_of)]
Form = Annotated[Posted, posted("layout_ports")]
ReadingForm = Annotated[Posted, posted("metering")]
VersionForm = Annotated[Posted, posted("layout_versions")]
Version = Annotated[int | None, Query(ge=1, le=10**9)]
REFUSED = "Not saved: look at what is marked."
NEW_PORT = ("new.label", "new.housing", "new.feeds")
"""Fields of a port that is not added yet; what stands in them comes back with the page."""


# ---- the list ------------------------------------------------------------------------------------------------------


@router.get("")
def layouts(request: Request) -> Response:
    """Samples and layouts of one's own."""
    return _list(request)


@router.post("")
def start(desk: Layouts, form: Form) -> Response:
    """A layout of one's own without ports yet."""
    return _to(desk.start(form.reader().word("name")), saved="1")


@router.post("/import")
def bring_in(desk: Layouts, form: Form) -> Response:
    """A layout from a JSON file; its readings count only where the builder says that the supply is the very same."""
    if not form.files.get("file"):
        raise InvalidInputError((Problem("file", "Choose a layout file first."),))
    same = form.reader().word("readings_of") == SAME_SUPPLY
    opened = desk.import_json(form.files["file"], same_supply=same)
    taken = len(opened.layout.readings)
    return _to(opened, saved="1", **({"counted": str(taken)} if taken else {}))


@router.post("/{layout_id}/copy")
def copy(desk: Layouts, layout_id: str) -> Response:
    """A layout of one's own that begins as a copy."""
    return _to(desk.copy(layout_id), saved="1")


@router.post("/{layout_id}/delete")
def delete(desk: Layouts, layout_id: str) -> Response:
    """Away with a layout, with a way back."""
    name = desk.delete(layout_id)
    return RedirectResponse(f"/layouts?{urlencode({'deleted': layout_id, 'name': name})}", status_code=303)


@router.post("/{layout_id}/restore")
def restore(desk: Layouts, layout_id: str) -> Response:
    """A layout back again."""
    desk.restore(layout_id)
    return RedirectResponse("/layouts", status_code=303)


@router.get("/{layout_id}/export")
def export(desk: Layouts, layout_id: str, version: Version = None) -> Response:
    """The layout as one JSON file, readings included."""
    text = desk.export_json(layout_id, version)
    headers = {"Content-Disposition": f'attachment; filename="layout-{layout_id}.json"', "Cache-Control": "no-store"}
    return Response(text, media_type="application/json", headers=headers)


# ---- one layout ----------------------------------------------------------------------------------------------------


@router.get("/{layout_id}")
def ports(request: Request, desk: Layouts, layout_id: str) -> Response:
    """The ports of a layout."""
    new = Typed({key: tuple(request.query_params.getlist(key)) for key in NEW_PORT if key in request.query_params})
    return _page(request, desk.open(layout_id), "layout_ports", typed=new, message=_arrived(request))


@router.get("/{layout_id}/metering")
def metering(request: Request, desk: Layouts, layout_id: str) -> Response:
    """The worksheet of a layout."""
    return _page(request, desk.open(layout_id), "metering", message=_arrived(request))


@router.get("/{layout_id}/versions")
def versions(request: Request, desk: Layouts, layout_id: str) -> Response:
    """The history of a layout."""
    return _page(request, desk.open(layout_id), "layout_versions")


@router.post("/{layout_id}")
def save(desk: Layouts, layout_id: str, form: Form) -> Response:
    """Everything that the page of ports shows, as one version; a new port is only added by its own button."""
    return _changed(desk, layout_id, form, at=form.typed.first("at"))


@router.post("/{layout_id}/ports")
def add_port(desk: Layouts, layout_id: str, form: Form) -> Response:
    """One more port, and whatever else was changed on the page."""
    return _changed(desk, layout_id, form, add=True)


@router.post("/{layout_id}/ports/{port_id}")
def change_port(desk: Layouts, layout_id: str, port_id: str, form: Form) -> Response:
    """Name, uses and nets of one port, and whatever else was changed on the page."""
    return _changed(desk, layout_id, form, at=port_id)


@router.post("/{layout_id}/ports/{port_id}/remove")
def remove_port(desk: Layouts, layout_id: str, port_id: str, form: Form) -> Response:
    """Away with one port, which an earlier version keeps, and whatever else was changed on the page."""
    return _changed(desk, layout_id, form, without=port_id)


@router.post("/{layout_id}/versions/{number}")
def go_back(desk: Layouts, layout_id: str, number: int, form: VersionForm) -> Response:
    """An earlier version once more, as the newest one."""
    base = form.reader().base()
    return _to_ports(desk.go_back(layout_id, base, number), form, base)


@router.post("/{layout_id}/readings")
def record(desk: Layouts, layout_id: str, form: ReadingForm) -> Response:
    """What the meter said, at every port of the worksheet."""
    count = _recorded(desk, layout_id, form)
    return _to_metering(layout_id, form, form.typed.first("at"), noted=str(count))


@router.post("/{layout_id}/readings/{port_id}")
def settle(desk: Layouts, layout_id: str, port_id: str, form: ReadingForm) -> Response:
    """What the meter said; where it was asked for, what no reading tells apart at one port is settled as recorded."""
    _port(desk.open(layout_id), port_id)
    count = _recorded(desk, layout_id, form)
    settled = desk.settle(layout_id, port_id) if form.typed.first("do") == "settle" else 0
    return _to_metering(layout_id, form, port_id, noted=str(count), settled=str(settled))


@router.post("/{layout_id}/readings/{port_id}/clear")
def clear(desk: Layouts, layout_id: str, port_id: str, form: ReadingForm) -> Response:
    """Away with the readings of one port; what was typed at the others is written down."""
    _port(desk.open(layout_id), port_id)
    noted = _recorded(desk, layout_id, form, without=port_id) if "entry" in form.typed.values else 0
    cleared = desk.clear(layout_id, port_id)
    return _to_metering(layout_id, form, port_id, cleared=str(cleared), noted=str(noted))


@router.post("/{layout_id}/imported")
def adopt_imported(desk: Layouts, layout_id: str, form: ReadingForm) -> Response:
    """Readings that came with a file count from now on: they were taken on this very supply."""
    same = form.reader().ticked("same_supply")
    noted = _recorded(desk, layout_id, form) if same else 0
    done = desk.adopt_imported(layout_id, same_supply=same)
    told = {"counted": str(done.counted), "kept": str(done.measured_here), "noted": str(noted)}
    return _to_metering(layout_id, form, "", **told)


@router.post("/{layout_id}/imported/drop")
def drop_imported(desk: Layouts, layout_id: str, form: ReadingForm) -> Response:
    """Away with the readings that came with a file and do not count."""
    noted = _recorded(desk, layout_id, form)
    dropped = desk.drop_imported(layout_id)
    return _to_metering(layout_id, form, "", dropped=str(dropped), noted=str(noted))


# ---- what a form asks for ------------------------------------------------------------------------------------------


def _changed(
    desk: LayoutDesk, layout_id: str, form: Posted, *, at: str = "", add: bool = False, without: str = ""
) -> Response:
    """Saves what the page of ports showed, as one version, and leads back to the port that was worked at."""
    read = form.reader()
    base = read.base()
    made_from = desk.open(layout_id, base)
    if at or without:
        _port(made_from, at or without)
    facts, entries = facts_of(read), ports_of(read, made_from.layout)
    new = new_port_of(read) if add else None
    read.done()
    opened = desk.change(layout_id, base, facts=facts, ports=entries, new=new, without=without)
    waiting = {} if add else {key: form.typed.values[key] for key in NEW_PORT if any(form.typed.values.get(key, ()))}
    return _to_ports(opened, form, base, opened.layout.ports[-1].id if add else at, waiting)


def _recorded(desk: LayoutDesk, layout_id: str, form: Posted, without: str = "") -> int:
    """Writes down what was typed on the worksheet and says at how many cavities, leaving one port out if named."""
    read, opened = form.reader(), desk.open(layout_id)
    shown = desk.readings_at(layout_id, _entry(read))
    now = {(each.port, each.cavity): each for each in opened.layout.readings}
    ports = [port for port in opened.layout.ports if port.id != without]
    return desk.record(layout_id, readings_of(read, ports, shown, now))


# ---- answers -------------------------------------------------------------------------------------------------------


def _list(request: Request, typed: Typed | None = None, status: int = 200) -> Response:
    desk, query = desk_of(request), request.query_params
    deleted = query.get("deleted", "")
    undo = Undo(query.get("name", "the layout"), f"/layouts/{deleted}/restore") if _is_id(deleted) else None
    view = layouts_page(desk.list(), desk.deleted(), Fields(typed), undo)
    return rendering.page("pages/layouts.html", status=status, view=view)


def _page(
    request: Request,
    opened: OpenedLayout,
    name: str,
    *,
    typed: Typed | None = None,
    status: int = 200,
    message: str = "",
    conflict: Change | None = None,
) -> Response:
    fields, use = Fields(typed), _use(request, opened, typed)
    view: object
    if name == "metering":
        entry = typed.first("entry") if typed else ""
        view = metering_panel(opened, fields, int(entry) if _is_number(entry) else None, use)
    elif name == "layout_versions":
        view = layout_versions(opened, desk_of(request).versions(opened.layout.id))
    else:
        view = layout_panel(opened, fields)
    page = layout_frame(opened, name, fields, message, conflict, use)
    base = typed.first("revision") if typed and not conflict else ""
    if _is_number(base):
        page = replace(page, base=int(base))
    return rendering.page("pages/layout.html", status=status, page=page, view=view)


def _use(request: Request, opened: OpenedLayout, typed: Typed | None) -> LayoutUse | None:
    """What the build that the page was opened from uses of the layout, if it was opened from one that still does."""
    build_id = (typed.first("build") if typed else "") or request.query_params.get("build", "")
    if not _is_id(build_id):
        return None
    try:
        return layout_use(request.app.state.desk.open(build_id), opened.layout.id)
    except NotFoundError:
        return None


def _refused(request: Request, error: InvalidInputError) -> Response:
    """The page that asked, with what was typed and each message beside its field."""
    form: Posted | None = getattr(request.state, "posted", None)
    typed = (form.typed if form else Typed()).with_problems(error.problems)
    layout_id = request.path_params.get("layout_id")
    if not layout_id or not form:
        return _list(request, typed, 422)
    opened = desk_of(request).open(layout_id)
    if request.url.path.endswith("/ports"):
        typed = typed.with_problems(_about_new_port(error.problems, opened))
    return _page(request, opened, _panel(request), typed=typed, status=422, message=REFUSED)


def _about_new_port(problems: tuple[Problem, ...], opened: OpenedLayout) -> tuple[Problem, ...]:
    """Problems of the port that was to be added, beside the fields that it was typed in."""
    moved = []
    for problem in problems:
        last = problem.field.rpartition(".")[2]
        there = any(problem.field.startswith(f"ports.{port.id}.") for port in opened.layout.ports)
        new = problem.field.startswith("ports.") and last in ("label", "housing", "feeds") and not there
        moved.append(Problem(f"new.{last}" if new or problem.field == "housing" else problem.field, problem.message))
    return tuple(moved)


def _conflict(request: Request, error: ConflictError) -> Response:
    """The newest version with what was typed on top, and what was saved meanwhile."""
    form: Posted = request.state.posted
    if _panel(request) == "layout_versions":
        # There is nothing typed to bring along: the page shows what is new.
        said = f"Not gone back: version {error.latest} was saved meanwhile."
        opened = desk_of(request).open(str(request.path_params["layout_id"]))
        return _page(request, opened, "layout_versions", status=409, message=said)
    desk, layout_id = desk_of(request), str(request.path_params["layout_id"])
    opened, base = desk.open(layout_id), form.typed.first("revision")
    now, before = Fields(), Fields()
    layout_panel(opened, now)
    layout_panel(desk.open(layout_id, int(base)), before)
    merged = merge(before.made, now.made, form.typed)
    change = Change(error.latest, error.changes, merged.mine, merged.lost)
    message = f"Not saved: version {error.latest} was saved meanwhile."
    return _page(request, opened, "layout_ports", typed=merged.typed, status=409, message=message, conflict=change)


def _panel(request: Request) -> str:
    """The panel that a form stands on, by the address that it was sent to."""
    _, _, rest = request.url.path.removeprefix("/layouts/").partition("/")
    return {"readings": "metering", "imported": "metering", "versions": "layout_versions"}.get(
        rest.partition("/")[0], "layout_ports"
    )


def _to_ports(
    opened: OpenedLayout,
    form: Posted,
    base: int,
    port_id: str = "",
    waiting: Mapping[str, tuple[str, ...]] | None = None,
) -> Response:
    """The way back to the ports; says what was saved, or that nothing was changed since the version ``base``."""
    told = {"same" if opened.latest == base else "saved": str(opened.latest)}
    return _to(opened, port_id, **_build(form), **told, **(waiting or {}))


def _to(opened: OpenedLayout, port_id: str = "", /, **told: str | tuple[str, ...]) -> Response:
    where = f"#{anchor(port_id)}" if port_id else ""
    return RedirectResponse(f"/layouts/{opened.layout.id}?{urlencode(told, doseq=True)}{where}", status_code=303)


def _to_metering(layout_id: str, form: Posted, port_id: str, **told: str) -> Response:
    where = f"#{anchor(port_id)}" if port_id else ""
    query = urlencode({**_build(form), **told})
    return RedirectResponse(f"/layouts/{layout_id}/metering?{query}{where}", status_code=303)


def _build(form: Posted) -> dict[str, str]:
    """The build that the page was opened from, to stay in the address."""
    build = form.typed.first("build")
    return {"build": build} if _is_id(build) else {}


def _arrived(request: Request) -> str:
    """What to say after the way back from an accepted form."""
    query = request.query_params
    return arrival_words({key: int(query[key]) for key in ARRIVALS if _is_number(query.get(key, ""))})


def _port(opened: OpenedLayout, port_id: str) -> Port:
    for port in opened.layout.ports:
        if port.id == port_id:
            return port
    raise NotFoundError("The layout has no such port.")


def _entry(read: Reader) -> int:
    text = read.word("entry")
    if not _is_number(text):
        raise InvalidInputError((Problem("entry", "This form does not say which readings it changes: reload."),))
    return int(text)


def _is_number(text: str) -> bool:
    return text.isascii() and text.isdigit() and len(text) < 13


def _is_id(text: str) -> bool:
    return bool(text) and all(letter.isalnum() or letter in "-_." for letter in text)
