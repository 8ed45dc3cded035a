"""What changed at the bench: pieces trimmed, kept, used for another wire or thrown away."""

from typing import Annotated, get_args

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from server.domain.errors import ConflictError, InvalidInputError, Problem
from server.domain.model.bench import Assign, Entry, ScrapPiece, Shelve, Trim
from server.domain.model.plan import ChangeState, WireChange
from server.services.builds import BuildDesk
from server.services.opened import Opened
from server.web.forms import Reader
from server.web.screen import Bench, Desk, Outcome, Posted, Scene, address, panel, posted, show, wants_panel
from server.web.views.changes import ChangesPanel, Deed, changes_panel, uses_of

router = APIRouter(prefix="/builds/{build_id}/changes")

ENTRY_MOST = 999_999_999
IDLE: tuple[ChangeState, ...] = ("too_short", "not_needed")


@panel("changes")
def changes(scene: Scene) -> ChangesPanel:
    """The view of the panel."""
    since = scene.desk.since_named(scene.opened)
    return changes_panel(scene.opened, scene.base, scene.fields, since, inches=scene.inches)


@router.post("")
def settle(
    request: Request, desk: Desk, bench: Bench, build_id: str, form: Annotated[Posted, posted("changes")]
) -> Response:
    """One piece, or all of a group, dealt with as the button says."""
    read = form.reader()
    opened, deed = _still_so(desk, build_id, read.base()), read.one_of("do", get_args(Deed))
    ledger = read.whole("ledger", 0, ENTRY_MOST)
    read.done()
    if deed == "cut":
        piece = _those(opened, read, IDLE)[0].piece
        numbers = bench.cut_layout(build_id, opened.revision, "piece", piece, base=ledger)
    else:
        numbers = bench.write_all(_entries(deed, opened, read), base=ledger)
    after = desk.open(build_id)
    if not wants_panel(request):
        return RedirectResponse(address(request, after, "changes"), status_code=303)
    return show(request, after, "changes", Outcome(message=_written(numbers)))


def _written(numbers: tuple[int, ...]) -> str:
    if len(numbers) == 1:
        return f"Written as entry {numbers[0]} of the bench ledger."
    return f"Written as entries {numbers[0]} to {numbers[-1]} of the bench ledger."


def _still_so(desk: BuildDesk, build_id: str, base: int) -> Opened:
    """The build, where the plan is still the one that the form was made from.

    Raises:
        ConflictError: it is not.
    """
    opened = desk.open(build_id)
    if opened.revision != base:
        later = [found for found in desk.revisions(build_id) if found.number > base]
        raise ConflictError(opened.revision, tuple(word for found in reversed(later) for word in found.words))
    return opened


def _entries(deed: Deed, opened: Opened, read: Reader) -> tuple[Entry, ...]:
    """What a button writes.

    Raises:
        InvalidInputError: the piece is not in a state for it, or something is left out.
    """
    if deed == "trim_all":
        return tuple(Trim(change.piece, change.cut_mm) for change in opened.plan.changes if change.state == "trim")
    if deed == "keep_all":
        return tuple(Shelve(change.piece) for change in opened.plan.changes if change.state == "not_needed")
    if deed == "trim":
        return tuple(Trim(change.piece, change.cut_mm) for change in _those(opened, read, ("trim",)))
    held = _those(opened, read, IDLE)
    if deed == "keep":
        return tuple(Shelve(change.piece) for change in held)
    if deed == "use":
        return (_assigned(held[0], opened, read),)
    reason = read.word(f"reason.{held[0].piece}")
    if not reason:
        read.problem(f"reason.{held[0].piece}", "Say why it is thrown away.")
    read.done()
    return tuple(ScrapPiece(change.piece, reason) for change in held)


def _those(opened: Opened, read: Reader, states: tuple[ChangeState, ...]) -> tuple[WireChange, ...]:
    """The pieces that a form is about, every one of them in one of these states.

    Raises:
        InvalidInputError: one of them is not, or the form names none.
    """
    there = {str(change.piece): change for change in opened.plan.changes if change.piece and change.state in states}
    named = tuple(dict.fromkeys(read.chosen("piece"))) or ("",)
    if wrong := [number for number in named if number not in there]:
        told = f"there is nothing of the kind to do about piece {wrong[0][:12] or 'none'} now"
        raise InvalidInputError((Problem("piece", told),))
    return tuple(there[number] for number in named)


def _assigned(change: WireChange, opened: Opened, read: Reader) -> Assign:
    """A piece given to another wire."""
    name = f"use.{change.piece}"
    wanted = read.typed.first(name)
    for other in uses_of(change, opened.plan.changes):
        if other.id == wanted:
            return Assign(change.piece, other.id, other.label, other.run)
    raise InvalidInputError((Problem(name, "Pick a wire of the list."),))
