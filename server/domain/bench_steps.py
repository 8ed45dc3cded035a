"""One entry of the bench ledger after the other, each checked before it changes anything."""

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction

from server.domain.errors import InvalidInputError, Problem
from server.domain.model.bench import (
    STAGES,
    Assign,
    Bench,
    Check,
    Checked,
    Cut,
    Done,
    Entry,
    Lot,
    Material,
    Pace,
    Piece,
    Receive,
    Recount,
    Release,
    Reserve,
    ScrapPiece,
    ScrapStock,
    Shelve,
    Stage,
    Take,
    Timed,
    Trim,
)

NEEDS: Mapping[Stage, Stage] = {"fitted": "crimped", "tested": "fitted"}
"""What a stage comes after; sleeving is free."""
SECONDS_MOST = 24 * 60 * 60
"""A whole day; a longer time is taken for a stopwatch that was left running."""
READINGS_MOST = 5_000
"""More than any test sheet has."""
QUANTITY_MOST = 10_000_000
"""Ten kilometres, or ten million pieces; a larger number is taken for a slip."""


def refused(field: str, message: str) -> InvalidInputError:
    """An entry that may not be written: which of its values, and why."""
    return InvalidInputError((Problem(field, message),))


class BenchSteps:
    """A bench being written on."""

    def __init__(self, bench: Bench, names: Mapping[str, str]) -> None:
        """Go on from a bench, which stays as it is; ``names`` are those of builds by id, for messages."""
        self._lots, self._pieces, self._takes = dict(bench.lots), dict(bench.pieces), dict(bench.takes)
        self._spoilt = list(bench.spoilt)
        self._paces, self._checks, self._last_takes = dict(bench.paces), dict(bench.checks), dict(bench.last_takes)
        self._names = names

    def bench(self, undone: frozenset[int], entries: int) -> Bench:
        """The bench as it stands."""
        return Bench(
            self._lots, self._pieces, self._takes, tuple(self._spoilt), undone, entries, self._paces, self._checks,
            self._last_takes,
        )  # fmt: skip

    def copy(self) -> "BenchSteps":
        """A second bench in the same state."""
        return BenchSteps(self.bench(frozenset(), 0), self._names)

    def apply(self, number: int, entry: Entry, *, ordered: bool = False) -> int:  # noqa: PLR0912  # One branch for each kind of entry.
        """Write one entry, or refuse it.

        Args:
            number: Number of the entry.
            entry: The entry; an undoing changes nothing here, since the undone entry is never written.
            ordered: Whether stages must come in their order; those of an old ledger were free.

        Returns:
            What it moved, in mm or pieces: on, off or about the bench; 0 where it moves nothing.

        Raises:
            InvalidInputError: the entry may not be written.
        """
        moved = 0
        match entry:
            case Receive():
                moved = self._receive(number, entry)
            case Recount():
                moved = self._recount(entry)
            case Reserve():
                self._reserve(entry)
            case Release():
                self._release(entry)
            case Cut():
                moved = self._cut(number, entry)
            case Done():
                if ordered:
                    self.check_order(entry)
                self._done(number, entry)
            case Timed():
                self._timed(entry)
            case Checked():
                self._checked(number, entry)
            case Trim():
                self._trim(entry)
            case Assign():
                self._assign(entry)
            case Shelve():
                moved = self._shelve(number, entry)
            case ScrapPiece():
                moved = self._scrap_piece(entry)
            case ScrapStock():
                moved = self._scrap_stock(entry)
            case Take():
                moved = self._take(number, entry)
            case _:
                pass
        return moved

    # ---- lots --------------------------------------------------------------------------------------------------

    def _lot(self, lot_id: int) -> Lot:
        if lot_id not in self._lots:
            raise refused("lot", f"the shelf has no lot {lot_id}")
        return self._lots[lot_id]

    def _spend(self, lot: Lot, quantity: int, build: str) -> dict[str, int]:
        """What stays kept of a lot when a build uses some of it: its own is used first, others' is not touched."""
        _check_more_than_zero(quantity)
        if quantity > lot.free_for(build):
            others = {name: amount for name, amount in lot.reserved.items() if name != build}
            raise refused("quantity", self._not_enough(lot, others))
        own = lot.reserved.get(build, 0)
        return _kept(lot, build, max(0, own - quantity)) if own else dict(lot.reserved)

    def _not_enough(self, lot: Lot, kept: Mapping[str, int]) -> str:
        told = " and ".join(f"{_amount(lot, n)} are kept for {self._names.get(b, b)}" for b, n in sorted(kept.items()))
        return f"lot {lot.id} has {_amount(lot, lot.left)} left" + (f"; {told}" if told else "")

    def _shrunk(self, lot: Lot, left: int) -> dict[str, int]:
        """What stays kept when less is left; where one build alone keeps it, that one loses what is missing."""
        over = sum(lot.reserved.values()) - left
        if over <= 0:
            return dict(lot.reserved)
        if len(lot.reserved) > 1:
            raise refused("quantity", f"{self._not_enough(lot, lot.reserved)}: release some of it first")
        return _kept(lot, next(iter(lot.reserved)), left)

    def _receive(self, number: int, entry: Receive) -> int:
        if not 0 < entry.quantity <= QUANTITY_MOST:
            raise refused("quantity", f"a quantity runs from 1 to {QUANTITY_MOST}, not {entry.quantity}")
        if not (entry.price.is_finite() and entry.price >= 0):
            raise refused("price", "a price is a number of zero or more")
        kept = {entry.build: entry.quantity} if entry.build else {}
        unit = Fraction(entry.price) / entry.quantity
        self._lots[number] = Lot(
            number, entry.material, entry.quantity, unit, entry.origin, entry.build, entry.quantity, reserved=kept
        )
        return entry.quantity

    def _recount(self, entry: Recount) -> int:
        lot = self._lot(entry.lot)
        if not 0 <= entry.quantity <= QUANTITY_MOST:
            raise refused("quantity", f"a quantity runs from 0 to {QUANTITY_MOST}, not {entry.quantity}")
        _check_reason(entry.reason, "say why the count differs")
        more = entry.quantity - lot.left
        self._lots[lot.id] = replace(
            lot,
            left=entry.quantity,
            found=lot.found + max(more, 0),
            scrapped=lot.scrapped + max(-more, 0),
            reserved=self._shrunk(lot, entry.quantity),
        )
        return more

    def _scrap_stock(self, entry: ScrapStock) -> int:
        lot = self._lot(entry.lot)
        _check_more_than_zero(entry.quantity)
        _check_reason(entry.reason, "say why it is thrown away")
        if entry.quantity > lot.left:
            raise refused("quantity", self._not_enough(lot, {}))
        left = lot.left - entry.quantity
        scrapped = lot.scrapped + entry.quantity
        self._lots[lot.id] = replace(lot, left=left, scrapped=scrapped, reserved=self._shrunk(lot, left))
        return entry.quantity

    def _reserve(self, entry: Reserve) -> None:
        lot = self._lot(entry.lot)
        _check_more_than_zero(entry.quantity)
        if not entry.build:
            raise refused("build", "say for which build")
        if entry.quantity > lot.left - sum(lot.reserved.values()):
            raise refused("quantity", self._not_enough(lot, lot.reserved))
        reserved = _kept(lot, entry.build, lot.reserved.get(entry.build, 0) + entry.quantity)
        self._lots[lot.id] = replace(lot, reserved=reserved)

    def _release(self, entry: Release) -> None:
        lot = self._lot(entry.lot)
        own = lot.reserved.get(entry.build, 0)
        if not 0 < entry.quantity <= own:
            name = self._names.get(entry.build, "this build")
            raise refused("quantity", f"{_amount(lot, own)} of lot {lot.id} are kept for {name}")
        self._lots[lot.id] = replace(lot, reserved=_kept(lot, entry.build, own - entry.quantity))

    def _take(self, number: int, entry: Take) -> int:
        lot = self._lot(entry.lot)
        if lot.material.by_length:
            raise refused("lot", f"lot {lot.id} is cut, not counted")
        reserved = self._spend(lot, entry.quantity, entry.build)
        left, taken = lot.left - entry.quantity, lot.taken + entry.quantity
        self._lots[lot.id] = replace(lot, left=left, taken=taken, reserved=reserved)
        key = entry.build, entry.run, lot.material
        self._takes[key] = self._takes.get(key, 0) + entry.quantity
        self._last_takes[entry.build, entry.run] = number
        return entry.quantity

    # ---- pieces ------------------------------------------------------------------------------------------------

    def _piece(self, piece_id: int) -> Piece:
        piece = self._pieces.get(piece_id)
        if piece is None:
            raise refused("piece", f"no piece {piece_id} was cut")
        if piece.whereabouts != "cable":
            place = "on the shelf" if piece.whereabouts == "shelf" else "thrown away"
            raise refused("piece", f"piece {piece_id} ({piece.label}) is {place}")
        return piece

    def _cut(self, number: int, entry: Cut) -> int:
        lot = self._lot(entry.lot)
        if not lot.material.by_length:
            raise refused("lot", f"lot {lot.id} is counted by the piece: nothing is cut from it")
        if entry.length_mm <= 0 or entry.loss_mm < 0:
            raise refused("length", "a piece is longer than zero, and a loss is not negative")
        # The last cut is spared where the build uses up all it may, and loses no more than what is left of that.
        loss = min(entry.loss_mm, max(0, lot.free_for(entry.build) - entry.length_mm))
        gone = entry.length_mm + loss
        reserved = self._spend(lot, gone, entry.build)
        cut, lost = lot.cut + entry.length_mm, lot.lost + loss
        self._lots[lot.id] = replace(lot, left=lot.left - gone, cut=cut, lost=lost, reserved=reserved)
        self._pieces[number] = Piece(
            number, lot.id, lot.material, entry.build, entry.wire, entry.label, entry.run, entry.length_mm
        )
        return gone

    def check_order(self, entry: Done) -> None:
        """Refuse a stage that comes before the one that it needs, or a test of what was fitted for another wiring.

        Raises:
            InvalidInputError: with what is to be done first.
        """
        piece = self._piece(entry.piece)
        before = NEEDS.get(entry.stage)
        if before and before not in piece.stages and not (before == "crimped" and entry.uncrimped):
            raise refused("stage", f"{piece.label} is not {before} yet: it is {before} before it is {entry.stage}")
        if entry.stage == "tested" and _rewired(piece, entry):
            raise refused("stage", f"{piece.label} is wired otherwise now: fit it again before it is tested")
        check = self._checks.get((piece.build, piece.wire.partition("/")[0]))
        if entry.stage == "tested" and check is not None and not check.passed:
            raise refused("stage", f"run {piece.run} failed its test: mend it and test it again")
        if entry.stage == "tested" and entry.sheet and (check is None or check.sheet != entry.sheet):
            raise refused("stage", f"{piece.label} is tested once the sheet of run {piece.run} has passed")

    def _done(self, number: int, entry: Done) -> None:
        piece = self._piece(entry.piece)
        if entry.stage not in STAGES:
            raise refused("stage", f"there is no stage '{entry.stage}'")
        again = entry.stage == "fitted" and _rewired(piece, entry)
        if entry.stage in piece.stages and not again:
            raise refused("stage", f"{piece.label} is {entry.stage} already")
        marks = (*piece.marks, (entry.stage, entry.end, number))
        if entry.more:
            self._half_crimped(replace(piece, marks=marks), entry)
            return
        # What was tested before it was fitted anew says nothing of how it is fitted now.
        kept = {*piece.stages, entry.stage} - ({"tested"} if again else set())
        stages = tuple(stage for stage in STAGES if stage in kept)
        wiring = entry.wiring if entry.stage == "fitted" else piece.wiring
        ends = () if entry.stage == "crimped" else piece.crimped_ends
        self._pieces[piece.id] = replace(piece, stages=stages, wiring=wiring, crimped_ends=ends, marks=marks)

    def _half_crimped(self, piece: Piece, entry: Done) -> None:
        """One end of a wire, the other to follow."""
        if entry.stage != "crimped" or entry.end not in ("part", "source"):
            raise refused("stage", "only an end that is crimped can be followed by another")
        if entry.end in piece.crimped_ends:
            raise refused("stage", f"{piece.label} is crimped at its {entry.end} end already")
        if piece.crimped_ends:
            raise refused("stage", f"{piece.label} has no third end to crimp")
        self._pieces[piece.id] = replace(piece, crimped_ends=(entry.end,))

    def _timed(self, entry: Timed) -> None:
        if not 0 < entry.seconds <= SECONDS_MOST:
            raise refused("seconds", f"a time runs from 1 second to a day, not {entry.seconds} s")
        if not 0 < entry.count <= QUANTITY_MOST:
            raise refused("count", "say how often it was done in that time")
        if not entry.operation:
            raise refused("operation", "say what was timed")
        key = entry.build, entry.operation
        known = self._paces.get(key, Pace())
        self._paces[key] = Pace(known.count + entry.count, known.seconds + entry.seconds)

    def _checked(self, number: int, entry: Checked) -> None:
        if not (entry.build and entry.run_id):
            raise refused("run", "say which run was tested")
        if len(entry.readings) > READINGS_MOST:
            raise refused("readings", f"a test sheet has at most {READINGS_MOST} readings")
        self._checks[entry.build, entry.run_id] = Check(number, entry.sheet, entry.passed, entry.readings)

    def _trim(self, entry: Trim) -> None:
        piece = self._piece(entry.piece)
        if not 0 < entry.length_mm < piece.length_mm:
            raise refused("length", f"{piece.label} is {piece.length_mm} mm long; trim it to less, and more than zero")
        off = piece.length_mm - entry.length_mm
        # Its contacts fall off with its end, and it comes out of its plugs for that.
        self._spoil(piece)
        self._pieces[piece.id] = replace(
            piece, length_mm=entry.length_mm, trimmed_mm=piece.trimmed_mm + off, stages=(), wiring="", crimped_ends=(),
            marks=(),
        )  # fmt: skip

    def _spoil(self, piece: Piece) -> None:
        """Remember the work on a piece whose stages are about to be cleared."""
        if piece.stages or piece.crimped_ends:
            self._spoilt.append(replace(piece, length_mm=0))

    def _assign(self, entry: Assign) -> None:
        piece = self._piece(entry.piece)
        if entry.wire != piece.wire:
            # Another wire may take other contacts, and ends elsewhere.
            self._spoil(piece)
            piece = replace(piece, stages=(), wiring="", crimped_ends=(), marks=())
        self._pieces[piece.id] = replace(piece, wire=entry.wire, label=entry.label, run=entry.run)

    def _shelve(self, number: int, entry: Shelve) -> int:
        piece = self._piece(entry.piece)
        self._spoil(piece)
        self._pieces[piece.id] = replace(piece, whereabouts="shelf", stages=(), wiring="", crimped_ends=(), marks=())
        unit = self._lots[piece.lot].unit_price
        origin = f"cut for {piece.label}"
        self._lots[number] = Lot(
            number, piece.material, piece.length_mm, unit, origin, piece.build, piece.length_mm, cut_from=piece.id
        )
        return piece.length_mm

    def _scrap_piece(self, entry: ScrapPiece) -> int:
        piece = self._piece(entry.piece)
        _check_reason(entry.reason, "say why it is thrown away")
        self._pieces[piece.id] = replace(piece, whereabouts="scrap")
        return piece.length_mm


def _rewired(piece: Piece, entry: Done) -> bool:
    """Whether a piece is fitted for another wiring than the one that an entry speaks of."""
    return "fitted" in piece.stages and piece.wiring != "" and entry.wiring not in ("", piece.wiring)


def amount(material: Material, quantity: int) -> str:
    """A quantity with its unit, where it has one."""
    return f"{quantity} mm" if material.by_length else str(quantity)


def _amount(lot: Lot, quantity: int) -> str:
    return amount(lot.material, quantity)


def _check_more_than_zero(quantity: int) -> None:
    if quantity <= 0:
        raise refused("quantity", "it must be more than zero")


def _check_reason(reason: str, message: str) -> None:
    if not reason.strip():
        raise refused("reason", message)


def _kept(lot: Lot, build: str, quantity: int) -> dict[str, int]:
    """What is kept of a lot, with a new quantity for one build."""
    kept = {**lot.reserved, build: quantity}
    return {name: amount for name, amount in sorted(kept.items()) if amount}
