"""The stock page: own measurements, packs, prices and minutes in place of the shipped ones."""

from collections.abc import Callable, Coroutine
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Request
from fastapi.responses import RedirectResponse, Response
from fastapi.routing import APIRoute

from server.domain.errors import InvalidInputError, NotFoundError
from server.services.learning import TABLE
from server.services.stock import StockDesk, StockRow
from server.web import rendering
from server.web.forms import Typed
from server.web.reading.learning import minutes_of
from server.web.reading.stock import in_page_words, values_of
from server.web.screen import Learning, Posted, desk_of, learning_of, posted, wants_panel
from server.web.stock_lists import LISTS, StockList, columns_of, list_named, pack_columns
from server.web.views.learning import StockNote, stock_notes
from server.web.views.stock import (
    StockAfter,
    StockPage,
    Told,
    add_pack_form,
    item_names,
    line_id,
    lost_values,
    packs_of,
    stock_line,
    stock_table,
    stock_tabs,
)


class _StockRoute(APIRoute):
    """A route whose refused input is answered by the same row or form, with what was typed."""

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        inner = super().get_route_handler()

        async def handler(request: Request) -> Response:
            try:
                return await inner(request)
            except InvalidInputError as error:
                return _refused(request, error)

        return handler


router = APIRouter(prefix="/stock", route_class=_StockRoute)


def _stock_of(request: Request) -> StockDesk:
    desk: StockDesk = request.app.state.stock
    return desk


Stock = Annotated[StockDesk, Depends(_stock_of)]
StockForm = Annotated[Posted, posted("stock")]


@router.get("")
def first_list() -> Response:
    """The first list."""
    return RedirectResponse("/stock/wire", status_code=307)


@router.get("/{name}")
def stock(request: Request, name: str) -> Response:
    """One list."""
    told = Told(request.query_params.get("saved", ""), "Saved.")
    return _page(request, list_named(name), told)


@router.post("/{name}/packs")
def add_pack(request: Request, stock: Stock, name: str, form: StockForm) -> Response:
    """A pack of one's own."""
    entry = list_named(name)
    values = values_of(_texts(form), pack_columns(entry))
    if entry.kind is None:
        return _page(request, entry, Told(), status=404)
    made = stock.add_pack(entry.kind, form.typed.first("item"), values.get("quantity", ""), values.get("price", ""))
    return _done(request, entry, "packs", made, "Added.")


@router.post("/{name}/packs/{row_id}/remove")
def remove_pack(request: Request, stock: Stock, name: str, row_id: str, form: StockForm) -> Response:
    """Away with a pack of one's own."""
    stock.remove_pack(row_id)
    return _done(request, list_named(name), "packs", row_id, "Removed.")


@router.post("/{name}/{table}/{row_id}")
def save_row(request: Request, stock: Stock, name: str, table: str, row_id: str, form: StockForm) -> Response:
    """Own values for one row."""
    entry = list_named(name)
    values = values_of(_texts(form), columns_of(entry, table))
    stock.set_values(_table(entry, table), row_id, values)
    return _row_done(request, entry, table, row_id, "Saved.")


@router.post("/{name}/{table}/{row_id}/reset")
def reset_value(request: Request, stock: Stock, name: str, table: str, row_id: str, form: StockForm) -> Response:
    """The shipped value back in place of one's own."""
    entry = list_named(name)
    columns_of(entry, table)
    stock.clear_value(_table(entry, table), row_id, form.typed.first("column"))
    return _row_done(request, entry, table, row_id, "Reset.")


@router.post("/{name}/{table}/{row_id}/measured")
def take_measured(
    request: Request, learning: Learning, name: str, table: str, row_id: str, form: StockForm
) -> Response:
    """What the bench measured in place of the value that counts."""
    entry = list_named(name)
    columns_of(entry, table)
    if _table(entry, table) != TABLE:
        raise NotFoundError("Nothing of this list is measured with a stopwatch.")
    learning.take_minutes(row_id, minutes_of(form.reader(), "measured"))
    return _row_done(request, entry, table, row_id, "Taken from your bench.")


def _table(entry: StockList, table: str) -> str:
    return "packs" if table == "packs" else entry.table


def _texts(form: Posted) -> dict[str, str]:
    return {name: texts[0] for name, texts in form.typed.values.items() if texts}


def _row_done(request: Request, entry: StockList, table: str, row_id: str, message: str) -> Response:
    if not wants_panel(request):
        return _done(request, entry, table, row_id, message)
    return _row(request, entry, table, row_id, Told(line_id(table, row_id), message))


def _done(request: Request, entry: StockList, table: str, row_id: str, message: str) -> Response:
    line = line_id(table, row_id)
    if not wants_panel(request):
        anchor = f"stock-{table}" if message == "Removed." else line
        return RedirectResponse(f"/stock/{entry.name}?saved={line}#{anchor}", status_code=303)
    return _panel(request, entry, Told(line, message))


def _refused(request: Request, error: InvalidInputError) -> Response:
    """The row, or the form that adds a pack, with what was typed and each message beside its field."""
    entry = list_named(str(request.path_params["name"]))
    form: Posted = request.state.posted
    row_id = str(request.path_params.get("row_id", ""))
    table = str(request.path_params.get("table", "packs"))
    problems = in_page_words(error, columns_of(entry, table))
    if not row_id:
        typed = form.typed.with_problems(problems)
        if wants_panel(request):
            return _panel(request, entry, Told(), status=422, typed=typed)
        return _page(request, entry, Told(), status=422, typed=typed)
    told = Told(line_id(table, row_id), "Not saved.", _texts(form), problems)
    if wants_panel(request):
        return _row(request, entry, table, row_id, told, status=422)
    return _page(request, entry, told, status=422)


def _names(request: Request, entry: StockList) -> dict[str, str]:
    return item_names(desk_of(request).catalogue(), entry.kind) if entry.kind else {}


def _row(request: Request, entry: StockList, table: str, row_id: str, told: Told, *, status: int = 200) -> Response:
    rows = _rows(_stock_of(request))
    row = _stock_of(request).row(_table(entry, table), row_id)
    view = stock_line(entry, table, row, _names(request, entry), told, _notes(request, entry))
    after = StockAfter(stock_tabs(entry, rows), view.message)
    return rendering.page("panels/stock_row.html", status=status, view=view, after=after)


def _notes(request: Request, entry: StockList) -> dict[str, StockNote]:
    """What the bench measured of the list's rows."""
    return stock_notes(learning_of(request).times()) if entry.table == TABLE else {}


def _rows(desk: StockDesk) -> dict[str, tuple[StockRow, ...]]:
    return {table: desk.rows(table) for table in ("packs", *(entry.table for entry in LISTS.values() if entry.table))}


def _view(request: Request, entry: StockList, told: Told, typed: Typed | None) -> StockPage:
    desk, names = _stock_of(request), _names(request, entry)
    rows = _rows(desk)
    return StockPage(
        title=entry.title,
        about=entry.about,
        tabs=stock_tabs(entry, rows),
        facts=stock_table(entry, "facts", rows[entry.table], names, told, _notes(request, entry))
        if entry.table
        else None,
        packs=stock_table(entry, "packs", packs_of(entry, rows["packs"]), names, told) if entry.kind else None,
        add=add_pack_form(entry, names, typed) if entry.kind else None,
        lost=lost_values(desk.lost_edits()),
        message=told.message if told.row else "",
    )


def _panel(
    request: Request, entry: StockList, told: Told, *, status: int = 200, typed: Typed | None = None
) -> Response:
    view = _view(request, entry, told, typed)
    after = StockAfter(view.tabs, view.message or "Not saved.")
    return rendering.page("panels/stock_packs.html", status=status, view=view, after=after)


def _page(request: Request, entry: StockList, told: Told, *, status: int = 200, typed: Typed | None = None) -> Response:
    return rendering.page("pages/stock.html", status=status, view=_view(request, entry, told, typed), after=None)
