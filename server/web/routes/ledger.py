"""The bench: ticking what is done, and the ledger."""

from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from server.domain.errors import ConflictError, InvalidInputError, Problem
from server.domain.model.bench import STAGES, ScrapPiece, Undo
from server.services.bench import BenchDesk
from server.services.bench_work import Work, alike, planned_cuts
from server.services.builds import BuildDesk
from server.services.opened import Opened
from server.web.forms import Reader, Typed, beside
from server.web.screen import Bench, Desk, Outcome, Posted, Scene, panel, posted, show, wants_panel
from server.web.views.ledger import LedgerPanel, Records, ledger_panel, opened_batch, told_of
from server.web.views.ledger_batch import batches_of

router = APIRouter(prefix="/builds/{build_id}")
LedgerForm = Annotated[Posted, posted("ledger")]
ENTRIES_MOST = 5_000
"""Entries taken back in one go."""


@panel("ledger")
def ledger(scene: Scene) -> LedgerPanel:
    """The view of the panel."""
    state, opened = scene.bench.state(), scene.opened
    of = opened_batch(opened, told_of(scene.fields.sent))
    run_id = of.removeprefix("run:") if of.startswith("run:") else ""
    records = Records(
        state.bench,
        {stored.number: stored.entry for stored in state.stored},
        scene.bench.entries(opened.build_id),
        scene.bench.build_names(),
        scene.bench.run_parts(opened, run_id) if run_id else {},
    )
    return ledger_panel(opened, records, scene.fields)


@router.get("/ledger")
def look(request: Request, desk: Desk, build_id: str) -> Response:
    """The panel, with the run or material that the address names."""
    query = request.query_params
    typed = Typed({name: (query[name],) for name in ("of", "page", "written") if name in query})
    return show(request, desk.open(build_id), "ledger", Outcome(typed=typed, message=_message(typed)))


@router.post("/ledger/tick")
def tick(request: Request, desk: Desk, bench: Bench, build_id: str, form: LedgerForm) -> Response:
    """A stage done on one piece, or on all of a batch that can be ticked; cutting is the first of them."""
    read = form.reader()
    done, _, which = form.typed.first("do").partition(".")
    # Lengths and wiring are those that the person saw; crimping and sleeving do not hang on either.
    seen = done in ("cut", "fitted", "tested")
    opened = _as_seen(desk, build_id, read) if seen else desk.open(build_id)
    work = batches_of(opened).get(read.word("of"), ())
    if done == "cut":
        return _written(request, desk, form, build_id, _cut(bench, opened, work, which, _base(read)))
    return _written(request, desk, form, build_id, _staged(bench, opened, work, (done, which), _base(read)))


@router.post("/ledger/cut")
def cut(request: Request, desk: Desk, bench: Bench, build_id: str, form: LedgerForm) -> Response:
    """Cut from a lot of one's own choice."""
    read = form.reader()
    opened = _as_seen(desk, build_id, read)
    lot, wire = read.whole("lot", 1, 999_999_999), read.word("wire")
    read.done()
    work = batches_of(opened).get(read.word("of"), ())
    open_ = [item.id for item in work if item.piece is None and item.cut_mm]
    with beside({"quantity": "lot", "pieces": "wire"}):
        numbers = bench.cut(build_id, opened.revision, open_ if wire == "all" else [wire], lot, base=_base(read))
    return _written(request, desk, form, build_id, numbers)


@router.post("/ledger/scrap")
def scrap(request: Request, desk: Desk, bench: Bench, build_id: str, form: LedgerForm) -> Response:
    """A piece thrown away."""
    read = form.reader()
    piece = read.whole("piece", 1, 999_999_999)
    read.done()
    _check_own(desk.open(build_id), piece)
    numbers = (bench.write(ScrapPiece(piece, read.word("reason")), base=_base(read)),)
    return _written(request, desk, form, build_id, numbers)


@router.post("/ledger/take")
def take(request: Request, desk: Desk, bench: Bench, build_id: str, form: LedgerForm) -> Response:
    """Contacts, housings, caps and combs of a run, taken from the shelf."""
    read = form.reader()
    run_id = read.word("of").removeprefix("run:")
    numbers = bench.take_run(build_id, desk.open(build_id).revision, run_id, base=_base(read))
    return _written(request, desk, form, build_id, numbers)


@router.post("/ledger/undo")
def undo(request: Request, desk: Desk, bench: Bench, build_id: str, form: LedgerForm) -> Response:
    """Entries taken back by new ones, the last first."""
    read = form.reader()
    first, last = _span(read)
    with beside({"entry": f"entry.{first}"}):
        numbers = bench.write_all([Undo(number) for number in range(last, first - 1, -1)], base=_base(read))
    return _written(request, desk, form, build_id, numbers)


def _cut(bench: BenchDesk, opened: Opened, work: tuple[Work, ...], which: str, base: int) -> tuple[int, ...]:
    """Cut all of a batch as the roll plan says, or one thing from the lot or piece that its button named."""
    if which == "all":
        chosen = [item.id for item in work if item.state == "shelf"]
        return bench.write_all(planned_cuts(opened, chosen), base=base)
    state, _, rest = which.partition(".")
    number, _, first = rest.partition(".")
    ids = next(([item.id for item in held] for held in alike(work) if held[0].id == first), [])
    if not ids or not number.isascii() or not number.isdecimal() or len(number) > 9:
        raise InvalidInputError((Problem("do", "choose what was cut"),))
    if state == "piece":
        return bench.cut_layout(opened.build_id, opened.revision, "piece", int(number), ids, base=base)
    return bench.cut(opened.build_id, opened.revision, ids, int(number), base=base)


def _staged(
    bench: BenchDesk, opened: Opened, work: tuple[Work, ...], tick: tuple[str, str], base: int
) -> tuple[int, ...]:
    """Mark a stage on one piece, or on all of a batch that it is still open on."""
    word, which = tick
    stage = next((stage for stage in STAGES if stage == word), None)
    if stage is None:
        raise InvalidInputError((Problem("do", "choose what was done"),))
    if stage == "tested":
        # A tick would say nothing of what was read: a run is tested as a whole, and its sheet ticks its wires.
        raise InvalidInputError((Problem("base", "a run is tested by its test sheet: open it from there"),))
    pieces = [item.piece.id for item in work if item.piece is not None and stage in item.open_stages()]
    if which != "all":
        pieces = [int(which)] if which.isascii() and which.isdecimal() and len(which) < 10 else []
    return bench.stage(opened.build_id, pieces, stage, revision=opened.revision, base=base)


def _as_seen(desk: BuildDesk, build_id: str, read: Reader) -> Opened:
    """The build, if it is still at the revision that the page showed: another one may want other lengths.

    Raises:
        ConflictError: it was changed since.
    """
    opened, seen = desk.open(build_id), read.base()
    if opened.revision != seen:
        since = [found for found in desk.revisions(build_id) if found.number > seen]
        raise ConflictError(opened.revision, tuple(word for found in reversed(since) for word in found.words))
    return opened


def _check_own(opened: Opened, piece: int) -> None:
    """Refuse a piece that was not cut for this build."""
    if all(held.id != piece for held in opened.on_hand.pieces):
        raise InvalidInputError((Problem("piece", f"piece {piece} is not one of this build, or is gone already"),))


def _base(read: Reader) -> int:
    """The ledger's last number as the page knew it."""
    base = read.whole("base", 0, 999_999_999)
    read.done()
    return base


def _span(read: Reader) -> tuple[int, int]:
    """First and last of the entries to take back."""
    first, _, last = read.word("entry").partition("-")
    numbers = [int(text) for text in (first, last or first) if text.isascii() and text.isdecimal() and len(text) < 10]
    if len(numbers) != 2 or not 0 <= numbers[1] - numbers[0] < ENTRIES_MOST:
        raise InvalidInputError((Problem("entry", "choose an entry of the ledger"),))
    return numbers[0], numbers[1]


def _written(request: Request, desk: Desk, form: Posted, build_id: str, numbers: tuple[int, ...]) -> Response:
    """The answer to what was written: the panel as it stands now, with the same batch open, or the way to it."""
    told = {"of": form.typed.first("of"), "written": f"{numbers[0]}-{numbers[-1]}"}
    if not wants_panel(request):
        return RedirectResponse(f"/builds/{build_id}/ledger?{urlencode(told)}#ledger-batch", status_code=303)
    typed = Typed({name: (text,) for name, text in {**told, "page": form.typed.first("page", "1")}.items()})
    return show(request, desk.open(build_id), "ledger", Outcome(typed=typed, message=_message(typed)))


def _message(typed: Typed) -> str:
    """What was written, by its numbers."""
    numbers = told_of(typed).written
    if not numbers:
        return ""
    which = f"entry {numbers[0]}" if len(numbers) == 1 else f"entries {numbers[0]} to {numbers[-1]}"
    return f"Written as {which}."
