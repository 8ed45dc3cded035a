"""Supply layouts of the builder's own: the list, the ports with their sockets, the metering worksheet, the versions."""

from collections.abc import Callable, Coroutine
from dataclasses import replace
from typing import Annotated, Any
from urllib.parse import urlencode

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import RedirectResponse, Response
from fastapi.routing import APIRoute

from server.domain.errors import ConflictError, InvalidInputError, NotFoundError, Problem
from server.domain.model.catalogue import Port
from server.services.layouts import LayoutDesk, OpenedLayout
from server.web import rendering
from server.web.forms import Reader, Typed
from server.web.merging import merge
from server.web.reading.layout import edition_of, feeds_of, limits_of, nets_of
from server.web.reading.metering import readings_of
from server.web.screen import Posted, posted
from server.web.views.fields import Fields
from server.web.views.home import Undo
from server.web.views.layout import Change, anchor, layout_frame, layout_panel, layout_versions
from server.web.views.layouts import layouts_page
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
Version = Annotated[int | None, Query(ge=1, le=10**9)]


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
    """A layout from a JSON file."""
    if not form.files.get("file"):
        raise InvalidInputError((Problem("file", "Choose a layout file first."),))
    return _to(desk.import_json(form.files["file"]), saved="1")


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
    return _page(request, desk.open(layout_id), "layout_ports", message=_arrived(request))


@router.get("/{layout_id}/metering")
def metering(request: Request, desk: Layouts, layout_id: str) -> Response:
    """The worksheet of a layout."""
    return _page(request, desk.open(layout_id), "metering", message=_arrived(request))


@router.get("/{layout_id}/versions")
def versions(request: Request, desk: Layouts, layout_id: str) -> Response:
    """The history of a layout."""
    return _page(request, desk.open(layout_id), "layout_versions")


@router.post("/{layout_id}")
def describe(desk: Layouts, layout_id: str, form: Form) -> Response:
    """Name, notes, edition and greatest currents."""
    read = form.reader()
    base, edition, limits = read.base(), edition_of(read), limits_of(read)
    read.done()
    opened = desk.describe(
        layout_id, base, name=read.word("name"), note=read.text("note"), edition=edition, limits_a=limits
    )
    return _to(opened, saved=str(opened.latest))


@router.post("/{layout_id}/ports")
def add_port(desk: Layouts, layout_id: str, form: Form) -> Response:
    """One more port."""
    read = form.reader()
    if not read.word("new.housing"):
        read.problem("new.housing", "Pick the plug that fits the socket.")
    if not read.word("new.label"):
        read.problem("new.label", "Give the port the name that stands beside the socket.")
    base = read.base()
    read.done()
    opened = desk.add_port(
        layout_id,
        base,
        label=read.word("new.label"),
        housing=read.word("new.housing"),
        feeds=feeds_of(read, "new.feeds"),
    )
    return _to(opened, opened.layout.ports[-1].id, saved=str(opened.latest))


@router.post("/{layout_id}/ports/{port_id}")
def change_port(desk: Layouts, layout_id: str, port_id: str, form: Form) -> Response:
    """Name, uses and nets of one port."""
    read, port = form.reader(), _port(desk.open(layout_id), port_id)
    opened = desk.change_port(
        layout_id,
        read.base(),
        port_id,
        label=read.word(f"ports.{port_id}.label"),
        feeds=feeds_of(read, f"ports.{port_id}.feeds"),
        nets=nets_of(read, port),
    )
    return _to(opened, port_id, saved=str(opened.latest))


@router.post("/{layout_id}/ports/{port_id}/remove")
def remove_port(desk: Layouts, layout_id: str, port_id: str, form: Form) -> Response:
    """Away with one port; an earlier version keeps it."""
    opened = desk.remove_port(layout_id, form.reader().base(), port_id)
    return _to(opened, saved=str(opened.latest))


@router.post("/{layout_id}/readings/{port_id}")
def record(desk: Layouts, layout_id: str, port_id: str, form: ReadingForm) -> Response:
    """What the meter said at one port."""
    read, opened = form.reader(), desk.open(layout_id)
    shown = desk.readings_at(layout_id, _entry(read))
    now = {(each.port, each.cavity): each for each in opened.layout.readings}
    count = desk.record(layout_id, readings_of(read, _port(opened, port_id), shown, now))
    settled = desk.settle(layout_id, port_id) if read.word("do") == "settle" else 0
    return _to_metering(layout_id, port_id, noted=str(count), settled=str(settled))


@router.post("/{layout_id}/readings/{port_id}/clear")
def clear(desk: Layouts, layout_id: str, port_id: str, form: ReadingForm) -> Response:
    """Away with the readings of one port."""
    return _to_metering(layout_id, port_id, cleared=str(desk.clear(layout_id, port_id)))


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
    fields = Fields(typed)
    view: object
    if name == "metering":
        entry = typed.first("entry") if typed else ""
        view = metering_panel(opened, fields, int(entry) if _is_number(entry) else None)
    elif name == "layout_versions":
        view = layout_versions(opened, desk_of(request).versions(opened.layout.id))
    else:
        view = layout_panel(opened, fields)
    page = layout_frame(opened, name, fields, message, conflict)
    base = typed.first("revision") if typed and not conflict else ""
    if _is_number(base):
        page = replace(page, base=int(base))
    return rendering.page("pages/layout.html", status=status, page=page, view=view)


def _refused(request: Request, error: InvalidInputError) -> Response:
    """The page that asked, with what was typed and each message beside its field."""
    form: Posted | None = getattr(request.state, "posted", None)
    typed = (form.typed if form else Typed()).with_problems(error.problems)
    layout_id = request.path_params.get("layout_id")
    if not layout_id or not form:
        return _list(request, typed, 422)
    if request.url.path.endswith("/ports"):
        typed = typed.with_problems(_about_new_port(error.problems))
    opened = desk_of(request).open(layout_id)
    return _page(
        request, opened, _panel(request), typed=typed, status=422, message="Not saved: look at what is marked."
    )


def _about_new_port(problems: tuple[Problem, ...]) -> tuple[Problem, ...]:
    """Problems of the port that was to be added, beside the fields that it was typed in."""
    moved = []
    for problem in problems:
        last = problem.field.rpartition(".")[2]
        new = problem.field.startswith("ports.") and last in ("label", "housing", "feeds")
        moved.append(Problem(f"new.{last}" if new or problem.field == "housing" else problem.field, problem.message))
    return tuple(moved)


def _conflict(request: Request, error: ConflictError) -> Response:
    """The newest version with what was typed on top, and what was saved meanwhile."""
    form: Posted = request.state.posted
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
    return "metering" if "/readings/" in request.url.path else "layout_ports"


def _to(opened: OpenedLayout, port_id: str = "", **told: str) -> Response:
    where = f"#{anchor(port_id)}" if port_id else ""
    return RedirectResponse(f"/layouts/{opened.layout.id}?{urlencode(told)}{where}", status_code=303)


def _to_metering(layout_id: str, port_id: str, **told: str) -> Response:
    return RedirectResponse(f"/layouts/{layout_id}/metering?{urlencode(told)}#{anchor(port_id)}", status_code=303)


def _arrived(request: Request) -> str:
    """What to say after the way back from an accepted form."""
    query = request.query_params
    counts = {
        key: int(query[key]) for key in ("saved", "noted", "settled", "cleared") if _is_number(query.get(key, ""))
    }
    if "saved" in counts:
        return f"Saved as version {counts['saved']}."
    if "cleared" in counts:
        return f"Readings of {counts['cleared']} cavities cleared."
    if "noted" in counts:
        settled = f" {counts['settled']} settled as recorded." if counts.get("settled") else ""
        return f"Readings of {counts['noted']} cavities written down.{settled}"
    return ""


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
