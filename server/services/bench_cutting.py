"""Ledger entries for what the roll plan cuts."""

from collections.abc import Sequence

from server.domain.bench_steps import refused
from server.domain.model.bench import Assign, Cut, Entry, Piece, Shelve, Trim
from server.domain.model.plan import RollPiece
from server.services.opened import Opened


def pieces_to_cut(there: Sequence[RollPiece], ids: Sequence[str]) -> tuple[RollPiece, ...]:
    """What is cut now, in cutting order.

    Args:
        there: Pieces of the roll plan.
        ids: Those that are wanted; everything that is ready when none is named.

    Raises:
        InvalidInputError: one of them is not in the roll plan or not measured, or nothing is left.
    """
    if unknown := set(ids) - {piece.id for piece in there}:
        raise refused("pieces", f"'{min(unknown)[:80]}' is not to be cut there: cut already, or other material")
    chosen = tuple(piece for piece in there if (piece.id in ids if ids else piece.ready))
    if late := [piece.label for piece in chosen if not piece.ready]:
        raise refused("pieces", f"{late[0]} waits for the length of its run: measure it first")
    if not chosen:
        raise refused("pieces", "nothing of it can be cut yet: its runs are not measured")
    return chosen


def cuts_of(pieces: Sequence[RollPiece], lot: int, opened: Opened) -> list[Entry]:
    """One cut for each piece, from a lot.

    Args:
        pieces: Pieces of the roll plan, in cutting order.
        lot: Number of the lot.
        opened: The build.
    """
    loss = opened.build.allowances.cut_loss_mm
    return [
        Cut(lot, opened.build_id, piece.id, piece.label, _run(piece, opened), piece.length_mm, loss) for piece in pieces
    ]


def worked(pieces: Sequence[RollPiece], old: Piece, opened: Opened, last: int) -> list[Entry]:
    """What becomes of a piece that no longer serves the wire it was cut for; its stages are forgotten either way.

    Args:
        pieces: What the roll plan cuts from it.
        old: The piece.
        opened: The build.
        last: Last number of the ledger; the piece's lot, if it goes onto the shelf, gets the next one.
    """
    first = pieces[0]
    over = old.length_mm - first.length_mm
    if len(pieces) > 1 or over >= opened.build.allowances.remnant_least_mm:
        return [Shelve(old.id), *cuts_of(pieces, last + 1, opened)]
    taken = Assign(old.id, first.id, first.label, _run(first, opened))
    return [Trim(old.id, first.length_mm), taken] if over else [taken]


def _run(piece: RollPiece, opened: Opened) -> int:
    """Number of the run that a piece is cut for."""
    run_id = piece.id.split("/", 1)[0]
    return next((run.number for run in opened.plan.runs if run.id == run_id), 0)
