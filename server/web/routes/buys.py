"""The buy list: ticking what was bought, prices of packs, suppliers."""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from decimal import Decimal
from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from server.domain.errors import InvalidInputError, Problem
from server.domain.model.bench import Undo
from server.services.bench import BenchDesk
from server.services.stock import StockDesk
from server.web.forms import Reader, Typed
from server.web.reading.buys import bought_of, line_of, lines_of, suppliers_of
from server.web.screen import Bench, Desk, Outcome, Posted, Scene, Stock, panel, posted, saved, show, wants_panel
from server.web.views.bought import Shop
from server.web.views.buys import BuysPanel, buys_panel, keeping, line_key

router = APIRouter(prefix="/builds/{build_id}")
BuysForm = Annotated[Posted, posted("buys")]
DEAREST = Decimal(100_000)
UNDONE_MOST = 1_000
TOLD = {"undone": "Taken back.", "suppliers": "Suppliers saved.", "kept": "Kept for this build."}
"""What to say after the way back from an accepted form."""


@panel("buys")
def buys(scene: Scene) -> BuysPanel:
    """The view of the panel."""
    return buys_panel(scene.opened, scene.base, scene.fields, shop_of(scene.bench, scene.stock))


def shop_of(bench: BenchDesk, stock: StockDesk) -> Shop:
    """What a buy list shows beside the plan.

    Args:
        bench: For ledger and shelf.
        stock: For the builder's own words for suppliers.
    """
    state = bench.state()
    moments = {stored.number: stored.at for stored in state.stored}
    return Shop(state.bench, moments, bench.build_names(), stock.suppliers())


@router.get("/buys")
def look(request: Request, desk: Desk, build_id: str) -> Response:
    """The panel, with what was just bought where the address names it."""
    bought = _span(request.query_params.get("bought", ""))
    told = TOLD.get(request.query_params.get("told", ""), "")
    return show(request, desk.open(build_id), "buys", _outcome(bought, told) if bought or told else None)


@router.post("/buys/bought")
def bought(request: Request, desk: Desk, bench: Bench, build_id: str, form: BuysForm) -> Response:
    """A line ticked as bought: it goes onto the shelf, kept for this build."""
    read = form.reader()
    revision, key = read.base(), line_of(read)
    packs, prices = bought_of(read)
    with _beside_line(read, packs):
        numbers = bench.buy(build_id, revision, key, packs or None, prices, base=_base(read))
    return _done(request, desk, build_id, bought=f"{numbers[0]}-{numbers[-1]}")


@router.post("/buys/all")
def bought_together(request: Request, desk: Desk, bench: Bench, build_id: str, form: BuysForm) -> Response:
    """Several lines ticked at once, as the list has them: what one order brought."""
    read = form.reader()
    revision, keys = read.base(), lines_of(read)
    with _on_top():
        numbers = bench.buy_listed(build_id, revision, keys, base=_base(read))
    return _done(request, desk, build_id, bought=f"{numbers[0]}-{numbers[-1]}")


@router.post("/buys/keep")
def keep(request: Request, desk: Desk, bench: Bench, build_id: str, form: BuysForm) -> Response:
    """What the plan takes from the shelf for a line, kept for this build so that no other takes it."""
    read = form.reader()
    revision, key, opened = read.base(), line_of(read), desk.open(build_id)
    if revision != opened.revision:
        raise InvalidInputError((Problem("", "The build was changed meanwhile: look at the list, then keep it."),))
    line = next((line for line in opened.plan.buys if line_key(line) == "/".join(key)), None)
    if line is None:
        raise InvalidInputError((Problem("", "The buy list has no such line: load the page again."),))
    with _on_top():
        bench.write_all(keeping(line, opened), base=_base(read))
    return _done(request, desk, build_id, told="kept")


@router.post("/buys/undo")
def undo(request: Request, desk: Desk, bench: Bench, build_id: str, form: BuysForm) -> Response:
    """Something bought taken back off the shelf; all of it or nothing."""
    read = form.reader()
    first, _, last = _span(read.word("entry")).partition("-")
    if not first or not 0 <= int(last) - int(first) < UNDONE_MOST:
        raise InvalidInputError((Problem("entry", "Nothing to take back: load the page again."),))
    bench.write_all([Undo(number) for number in range(int(last), int(first) - 1, -1)], base=_base(read))
    return _done(request, desk, build_id, told="undone")


@router.post("/suppliers")
def suppliers(request: Request, desk: Desk, stock: Stock, build_id: str, form: BuysForm) -> Response:
    """Where each item is bought, in the builder's own words; it holds for every build."""
    try:
        stock.set_suppliers(suppliers_of(form.reader()))
    except InvalidInputError as error:
        beside = tuple(Problem(f"supplier.{problem.field}", problem.message) for problem in error.problems)
        raise InvalidInputError(beside) from error
    return _done(request, desk, build_id, told="suppliers")


@router.post("/prices/{pack_id}")
def price(request: Request, desk: Desk, build_id: str, pack_id: str, form: BuysForm) -> Response:
    """An own price for a pack, or the usual one again."""
    read = form.reader()
    name = f"prices.{pack_id}"
    own = read.number(name, DEAREST) if read.word(name) else None
    read.done()
    return saved(request, desk.set_price(build_id, read.base(), pack_id, own), form)


def _base(read: Reader) -> int:
    """The ledger's last number as the page knew it."""
    base = read.whole("base", 0, 999_999_999)
    read.done()
    return base


def _span(text: str) -> str:
    """Numbers of the first and last entry of one purchase, or nothing where the text is none."""
    return text if re.fullmatch(r"[0-9]{1,9}-[0-9]{1,9}", text) else ""


@contextmanager
def _beside_line(read: Reader, packs: dict[str, int]) -> Iterator[None]:
    """Put the message of a refusal beside the first pack of the line that was ticked."""
    try:
        yield
    except InvalidInputError as error:
        place = f"packs.{read.word('line')}.{next(iter(packs), '')}"
        moved = (Problem(place if problem.field != "base" else "", problem.message) for problem in error.problems)
        raise InvalidInputError(tuple(moved)) from error


@contextmanager
def _on_top() -> Iterator[None]:
    """Put the message of a refusal on top of the panel: what was pressed has no field of its own."""
    try:
        yield
    except InvalidInputError as error:
        raise InvalidInputError(tuple(Problem("", problem.message) for problem in error.problems)) from error


def _outcome(bought: str, told: str) -> Outcome:
    message = "Bought, and on the shelf for this build." if bought else told
    return Outcome(typed=Typed({"bought": (bought,)}) if bought else None, message=message)


def _done(request: Request, desk: Desk, build_id: str, *, bought: str = "", told: str = "") -> Response:
    """The answer to what was done: the panel as it stands now, or the way to it."""
    if wants_panel(request):
        return show(request, desk.open(build_id), "buys", _outcome(bought, TOLD.get(told, "")))
    query = urlencode({key: text for key, text in (("bought", bought), ("told", told)) if text})
    return RedirectResponse(f"/builds/{build_id}/buys?{query}", status_code=303)
