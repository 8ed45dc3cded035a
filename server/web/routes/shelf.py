"""The shelf that all builds share: lots, receiving, keeping for builds, counting and throwing away."""

import re
from collections.abc import Callable, Coroutine, Mapping
from typing import Annotated, Any
from urllib.parse import urlencode

from fastapi import APIRouter, Query, Request
from fastapi.responses import RedirectResponse, Response
from fastapi.routing import APIRoute

from server.domain import ledger
from server.domain.errors import InvalidInputError, NotFoundError, Problem
from server.domain.model.bench import Lot, Undo
from server.web import rendering
from server.web.forms import Typed
from server.web.reading.shelf import adjusted_of, kept_of, received_of, released_of, scrapped_of
from server.web.reading.stocktaking import CountedShelf, confirmed_counts, counts_in_file, typed_counts
from server.web.routes.exports import file_of
from server.web.screen import Bench, Posted, bench_of, desk_of, posted
from server.web.views.counting import count_page, count_review
from server.web.views.export_stock import shelf_sheet
from server.web.views.lot import lot_page
from server.web.views.shelf import Taken, chosen_lots, material_name, shelf_page

MOST_UNDONE = 500
"""Entries taken back by one press of a button."""


class _ShelfRoute(APIRoute):
    """A route whose refused form is answered by its own page, with what was typed and each message beside its field."""

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        inner = super().get_route_handler()

        async def handler(request: Request) -> Response:
            try:
                return await inner(request)
            except InvalidInputError as error:
                return _refused(request, error)

        return handler


router = APIRouter(prefix="/shelf", route_class=_ShelfRoute)
Form = Annotated[Posted, posted("shelf")]
Chosen = Annotated[str, Query(alias="material", max_length=120)]


# ---- the shelf -----------------------------------------------------------------------------------------------------


@router.get("")
def shelf(request: Request, material: Chosen = "") -> Response:
    """Every lot, or those of one material."""
    return _shelf(request, material)


@router.post("")
def receive(request: Request, bench: Bench, form: Form) -> Response:
    """Lots that come onto the shelf by hand."""
    read = form.reader()
    entries = received_of(read, desk_of(request).catalogue(), _builds(request))
    return _to("/shelf", bench.write_all(entries, base=_base(form)), material=form.typed.first("shown_material"))


@router.post("/undo")
def undo(bench: Bench, form: Form) -> Response:
    """Entries taken back, the last first; all or none."""
    numbers = [int(text) for text in re.findall(r"[0-9]{1,9}", form.typed.first("entries"))][:MOST_UNDONE]
    if not numbers:
        raise InvalidInputError((Problem("", "Nothing to take back."),))
    bench.write_all([Undo(number) for number in sorted(numbers, reverse=True)])
    return RedirectResponse(f"{_way_back(form)}?{urlencode({'undone': len(numbers)})}", status_code=303)


@router.post("/release")
def release_all(bench: Bench, form: Form) -> Response:
    """Everything that is kept for one build, free again; the build may be put away meanwhile."""
    build = form.reader().word("build")
    return _to("/shelf", bench.release_all(build) if build else ())


@router.get("/export.{kind}")
def export(request: Request, bench: Bench, kind: str, material: Chosen = "") -> Response:
    """The shelf as a list to keep, or to count with and bring back."""
    held = bench.bench()
    lots, catalogue = chosen_lots(held, material), desk_of(request).catalogue()
    return file_of([shelf_sheet(lots, catalogue, bench.build_names(), held.entries)], kind, "shelf")


# ---- stock-taking --------------------------------------------------------------------------------------------------


@router.get("/count")
def counting(request: Request, material: Chosen = "") -> Response:
    """The form to count with."""
    return _counting(request, material)


@router.post("/count")
def count(request: Request, bench: Bench, form: Form) -> Response:
    """What was counted: it is shown before anything is written."""
    held = bench.bench()
    counts = typed_counts(form.reader(), held, bench.build_names())
    view = count_review(counts, held, desk_of(request).catalogue())
    return rendering.page("pages/counted.html", view=view)


@router.post("/count/file")
def count_in_file(request: Request, bench: Bench, form: Form) -> Response:
    """A list that came back: it is shown before anything is written."""
    if "file" not in form.files:
        raise InvalidInputError((Problem("file", "Choose the list first."),))
    state, catalogue = bench.state(), desk_of(request).catalogue()
    held = state.bench
    names = {lot.material: material_name(lot.material, catalogue) for lot in held.lots.values()}

    def changed_since(number: int) -> set[int]:
        later = (ledger.concerns(stored.number, stored.entry, state.entries) for stored in state.stored[number:])
        return {int(which) for things in later for kind, which in things if kind == "lot"}

    shelf = CountedShelf(held, names, bench.build_names(), changed_since)
    counts = counts_in_file(form.files["file"], shelf, form.reader().word("reason"))
    return rendering.page("pages/counted.html", view=count_review(counts, held, catalogue))


@router.post("/count/apply")
def apply_counts(bench: Bench, form: Form) -> Response:
    """What was shown, written: all of it or nothing."""
    entries = confirmed_counts(form.reader(), bench.bench())
    return _to("/shelf", bench.write_all(entries, base=_base(form)) if entries else ())


# ---- one lot -------------------------------------------------------------------------------------------------------


@router.get("/{lot}")
def look(request: Request, lot: str) -> Response:
    """One lot."""
    return _lot(request, lot)


@router.post("/{lot}/keep")
def keep(request: Request, bench: Bench, lot: str, form: Form) -> Response:
    """Some of a lot kept for a build."""
    held = _held(request, lot)
    entry = kept_of(form.reader(), held.id, _builds(request), by_length=held.material.by_length)
    return _to(f"/shelf/{held.id}", (bench.write(entry, base=_base(form)),))


@router.post("/{lot}/release")
def release(request: Request, bench: Bench, lot: str, form: Form) -> Response:
    """Some of what is kept, free again."""
    held = _held(request, lot)
    entry = released_of(form.reader(), held.id, by_length=held.material.by_length)
    return _to(f"/shelf/{held.id}", (bench.write(entry, base=_base(form)),))


@router.post("/{lot}/adjust")
def adjust(request: Request, bench: Bench, lot: str, form: Form) -> Response:
    """What is really there."""
    held = _held(request, lot)
    entry = adjusted_of(form.reader(), held.id, by_length=held.material.by_length)
    return _to(f"/shelf/{held.id}", (bench.write(entry, base=_base(form)),))


@router.post("/{lot}/scrap")
def scrap(request: Request, bench: Bench, lot: str, form: Form) -> Response:
    """Some of a lot thrown away."""
    held = _held(request, lot)
    entry = scrapped_of(form.reader(), held.id, by_length=held.material.by_length)
    return _to(f"/shelf/{held.id}", (bench.write(entry, base=_base(form)),))


# ---- answers -------------------------------------------------------------------------------------------------------


def _builds(request: Request) -> dict[str, str]:
    """Builds that something can be kept for, the newest first."""
    return {build.build_id: build.name for build in desk_of(request).list_builds()}


def _base(form: Posted) -> int:
    """The ledger's last number as the form's maker saw it.

    Raises:
        InvalidInputError: the form does not say.
    """
    text = form.typed.first("base").strip()
    if not re.fullmatch(r"[0-9]{1,9}", text):
        raise InvalidInputError((Problem("", "This form does not say what it was made from: load the page again."),))
    return int(text)


def _held(request: Request, number: str) -> Lot:
    """A lot by its number in the address.

    Raises:
        NotFoundError: there is no such lot.
    """
    found = bench_of(request).bench().lots.get(int(number)) if re.fullmatch(r"[0-9]{1,9}", number) else None
    if found is None:
        raise NotFoundError("The shelf has no such lot.")
    return found


def _to(where: str, numbers: tuple[int, ...], **more: str) -> Response:
    """The way to a page that says what was written and offers to take it back."""
    query = {**{key: text for key, text in more.items() if text}, "wrote": ",".join(map(str, numbers[:MOST_UNDONE]))}
    return RedirectResponse(f"{where}?{urlencode(query)}", status_code=303)


def _way_back(form: Posted) -> str:
    """The page that the button stood on, if it is one of the shelf's that is still there."""
    back = form.typed.first("back")
    return back if re.fullmatch(r"/shelf/[0-9]{1,9}", back) and back[7:] not in _numbers(form) else "/shelf"


def _numbers(form: Posted) -> list[str]:
    return form.typed.first("entries").split(",")


def _taken(request: Request) -> Taken | None:
    """What the way back from a form says was written."""
    undone = request.query_params.get("undone", "")
    if re.fullmatch(r"[0-9]{1,4}", undone):
        return Taken("Taken back.", "")
    wrote = request.query_params.get("wrote")
    if wrote is None:
        return None
    known, last = bench_of(request).bench(), bench_of(request).bench().entries
    numbers = [text for text in re.findall(r"[0-9]{1,9}", wrote) if 0 < int(text) <= last]
    standing = [text for text in numbers if int(text) not in known.undone]
    return Taken("Written in the ledger." if numbers else "Nothing differed: nothing was written.", ",".join(standing))


def _refused(request: Request, error: InvalidInputError) -> Response:
    """The page of the form that was refused, with what was typed."""
    form: Posted = request.state.posted
    last = request.url.path.rpartition("/")[2]
    of_lot = last in ("keep", "release", "adjust", "scrap")
    prefix = {"release": f"release.{form.typed.first('build')}"}.get(last, last)
    problems = tuple(_beside(problem, prefix if of_lot else "") for problem in error.problems)
    typed = form.typed.with_problems(problems)
    if of_lot:
        return _lot(request, str(request.path_params["lot"]), typed)
    if "/count" in request.url.path:
        return _counting(request, request.query_params.get("material", ""), typed)
    back = _way_back(form)
    if last == "undo" and back != "/shelf":
        return _lot(request, back.rpartition("/")[2], typed)
    return _shelf(request, form.typed.first("shown_material"), typed)


def _beside(problem: Problem, form: str) -> Problem:
    """A problem with the field of the form that it belongs to."""
    if not form or problem.field.startswith((f"{form}.", "release.")):
        return problem
    if form.startswith("release."):
        return Problem(form, problem.message)
    return Problem(f"{form}.{problem.field}", problem.message)


def _shelf(request: Request, chosen: str, typed: Typed | None = None) -> Response:
    desk, bench = desk_of(request), bench_of(request)
    names = _all_names(request)
    taken = None if typed else _taken(request)
    view = shelf_page(bench.bench(), desk.catalogue(), names, _builds(request), chosen=chosen, typed=typed, taken=taken)
    return rendering.page("pages/shelf.html", status=422 if typed else 200, view=view)


def _lot(request: Request, number: str, typed: Typed | None = None) -> Response:
    bench, names = bench_of(request), _all_names(request)
    taken = None if typed else _taken(request)
    state = bench.bench()
    view = lot_page(
        _held(request, number),
        state,
        bench.entries(),
        desk_of(request).catalogue(),
        names,
        _builds(request),
        typed=typed,
        taken=taken,
    )
    return rendering.page("pages/lot.html", status=422 if typed else 200, view=view)


def _counting(request: Request, chosen: str, typed: Typed | None = None) -> Response:
    view = count_page(
        bench_of(request).bench(), desk_of(request).catalogue(), _all_names(request), chosen=chosen, typed=typed
    )
    return rendering.page("pages/count.html", status=422 if typed else 200, view=view)


def _all_names(request: Request) -> Mapping[str, str]:
    """Names of builds by id, those put away included."""
    return bench_of(request).build_names()
