"""What one tick of the bench screen writes into the ledger, held against the bench as it is at that moment.

A tick may have waited on a device for hours. So it is not the plan of then that counts: each thing that the task showed
(lot, length, contact, colour, wiring, piece) is compared with what is there and wanted now, and refused in words where
it is another.
"""

from collections.abc import Callable, Mapping, Sequence
from typing import NoReturn

from server.domain.bench_steps import refused
from server.domain.changes import Needed
from server.domain.model.bench import Bench, Cut, Done, Entry, Material, Piece
from server.domain.model.plan import PlannedWire, RunPlan
from server.domain.plan.wiring import wiring_of
from server.services.bench_crimps import CrimpWork, crimp_entry, crimps_of, in_one_sleeve, sides_of, wires_of
from server.services.bench_live import held_now, needs_by_id, open_needs, piece_of, sleeves_of
from server.services.bench_taking import missing_parts, takes_of
from server.services.bench_task_cuts import cover_id
from server.services.bench_task_words import material_words, place_words
from server.services.bench_work import done_now, stages_of
from server.services.opened import Opened

Sent = Mapping[str, int | str]
Written = tuple[Sequence[Entry], str]
"""Entries to write, and what was done in words."""


def _refuse(words: str) -> NoReturn:
    raise refused("task", words)


class TickSteps:
    """Makes the entries of ticks for one build at one moment."""

    def __init__(self, opened: Opened, bench: Bench) -> None:
        """Go by the plan of ``opened``, and by ``bench``, which may be further on than the plan knows."""
        self._opened, self._bench = opened, bench

    def do(self, task: str, sent: Sent) -> Written:
        """The entries for a task that was done.

        Args:
            task: Id of the task.
            sent: What the task gave to be sent back.

        Raises:
            InvalidInputError: it cannot be written now, with the reason.
        """
        kind, _, rest = task.partition("/")
        steps: dict[str, Callable[[str, Sent], Written]] = {
            "take": self._take,
            "cut": self._cut,
            "crimp": self._crimp,
            "sleeve": self._sleeve,
            "fit": self._fit,
        }
        if kind == "test":
            _refuse("a run is tested by its test sheet: fill it in there")
        if kind not in steps:
            _refuse("there is no such task")
        return steps[kind](rest, sent)

    # ---- looking up --------------------------------------------------------------------------------------------

    def _wire(self, ident: str) -> tuple[RunPlan, PlannedWire]:
        wires = self._opened.lasting("bench wires", lambda: wires_of(self._opened.plan.runs))
        if ident not in wires:
            _refuse("the plan has no such wire any more: load the tasks again")
        run, wire = wires[ident]
        _check_proved(run)
        return run, wire

    def _run(self, ident: str) -> RunPlan:
        run = next((run for run in self._opened.plan.runs if run.id == ident), None)
        if run is None:
            _refuse("the build has no such run any more: load the tasks again")
        _check_proved(run)
        return run

    def _piece(self, wire: PlannedWire) -> tuple[Piece, bool]:
        """The piece that serves a wire now, and whether it is fitted otherwise than the plan wires it now."""
        need = needs_by_id(self._opened).get(wire.id)
        if need is None:
            _refuse(f"{wire.label} is the supply's own wire, of which the ledger has no piece")
        piece, change = piece_of(need, self._bench, self._opened)
        if piece is None:
            none = "it is not cut, or it was thrown away meanwhile"
            why = "what was cut is too short now" if change.piece else none
            _refuse(f"no piece that serves {wire.label} is there: {why}")
        return piece, change.rewired

    # ---- from the shelf ----------------------------------------------------------------------------------------

    def _take(self, rest: str, sent: Sent) -> Written:
        run = self._run(rest)
        missing = missing_parts(run, self._bench, self._opened)
        if not missing:
            _refuse(f"run {run.number} has everything that is counted already")
        entries = takes_of(missing, run, self._bench, self._opened.build_id)
        count = sum(entry.quantity for entry in entries)
        if not count:
            _refuse(f"nothing of what run {run.number} still takes is on the shelf")
        if count != (told := _number(sent, "quantity")):
            _refuse(f"run {run.number} takes {count} parts from the shelf now, not {told}: look again")
        return entries, f"{count} counted parts taken for run {run.number}"

    def _cut(self, rest: str, sent: Sent) -> Written:
        need = needs_by_id(self._opened).get(rest)
        if need is None or need.material.kind != "wire":
            return self._cover(f"cut/{rest}", sent)
        run, wire = self._wire(rest)
        length = _number(sent, "length")
        if need.cut_mm is None:
            _refuse(f"run {run.number} is not measured now: {wire.label} waits for its length")
        if need.cut_mm != length:
            _refuse(f"{wire.label} is to be cut to {need.cut_mm} mm now, not {length} mm: look at the task again")
        piece, _ = piece_of(need, self._bench, self._opened)
        if piece is not None:
            _refuse(f"{wire.label} is cut already: piece {piece.id}, {piece.length_mm} mm")
        lot = _number(sent, "lot")
        self._check_lot(lot, need.material, length)
        return (self._entry(need, lot, length),), f"{wire.label} cut, {length} mm, from lot {lot}"

    def _cover(self, task: str, sent: Sent) -> Written:
        """Pieces of sleeve or tube, from one lot or several."""
        found = self._opened.lasting("bench covers", self._covers).get(task)
        if found is None:
            _refuse("the plan wants no such piece any more: load the tasks again")
        run, material, length = found
        _check_proved(run)
        lots = _lots(sent)
        if length != _number(sent, "length"):
            _refuse(f"these are to be cut to {length} mm now: look at the task again")
        left = list(
            open_needs(run.number, material, length, held_now(run.number, self._bench, self._opened), self._opened)
        )
        name = material_words(material, self._opened.catalogue)
        count = sum(n for _, n in lots)
        if not left:
            _refuse(f"all pieces of {name} at {length} mm of run {run.number} are cut already, or it is not measured")
        if count > len(left):
            _refuse(f"run {run.number} wants only {len(left)} more of {name} at {length} mm, not {count}: look again")
        entries = []
        for lot, number in lots:
            self._check_lot(lot, material, length)
            entries += [self._entry(left.pop(0), lot, length) for _ in range(number)]
        return entries, f"{count} × {length} mm of {name} cut for run {run.number}"

    def _covers(self) -> Mapping[str, tuple[RunPlan, Material, int]]:
        runs = {run.number: run for run in self._opened.plan.runs}
        return {
            cover_id(runs[need.run].id, need.material, need.buy_mm): (runs[need.run], need.material, need.buy_mm)
            for need in needs_by_id(self._opened).values()
            if need.material.kind != "wire"
        }

    def _check_lot(self, number: int, material: Material, length: int) -> None:
        lot, catalogue = self._bench.lots.get(number), self._opened.catalogue
        if lot is None:
            _refuse(f"the shelf has no lot {number} any more")
        if lot.material != material:
            told = material_words(lot.material, catalogue)
            _refuse(f"lot {number} is {told}, and {material_words(material, catalogue)} is wanted")
        if (free := lot.free_for(self._opened.build_id)) < length:
            _refuse(f"lot {number} has only {free} mm left for this build, and {length} mm are wanted")

    def _entry(self, need: Needed, lot: int, length: int) -> Cut:
        loss = self._opened.build.allowances.cut_loss_mm
        return Cut(lot, self._opened.build_id, need.id, need.label, need.run, length, loss)

    # ---- on the bench ------------------------------------------------------------------------------------------

    def _crimp(self, rest: str, sent: Sent) -> Written:
        found = self._opened.lasting("bench crimps", self._crimps).get(f"crimp/{rest}")
        if found is None:
            _refuse("nothing is crimped there now: the plan was changed; load the tasks again")
        run, crimp = found
        _check_proved(run)
        labels = " and ".join(wire.label for wire, _ in crimp.ends)
        if crimp.contact != sent.get("contact"):
            _refuse(f"{labels} takes another contact now: look at the task again")
        pieces = [self._piece(wire)[0] for wire, _ in crimp.ends]
        numbers = " ".join(str(piece.id) for piece in pieces)
        if sent.get("pieces", numbers) != numbers:
            _refuse(f"{labels} was cut anew meanwhile: what was crimped serves no more")
        made = [
            crimp_entry(run, wire, side, piece, self._opened.catalogue)
            for (wire, side), piece in zip(crimp.ends, pieces, strict=True)
        ]
        place = place_words(run, crimp.plug, at_end=crimp.at_end)
        entries = [entry for entry in made if entry is not None]
        if not entries:
            _refuse(f"{labels} is crimped already: {place}")
        return entries, f"{labels} crimped, {place}"

    def _crimps(self) -> Mapping[str, tuple[RunPlan, CrimpWork]]:
        opened = self._opened
        return {crimp.id: (run, crimp) for run in opened.plan.runs for crimp in crimps_of(run, opened.catalogue)}

    def _sleeve(self, rest: str, sent: Sent) -> Written:
        run = next((run for run in self._opened.plan.runs if run.id == rest), None)
        if run is not None and run.kind == "sleeved":
            return self._sleeve_moulded(run, sent)
        if run is None:
            run, wire = self._wire(rest)
            wires = [wire]
        else:
            _check_proved(run)
            wires = [wire for wire in run.wires if wire.sleeve_colour]
        labels = wires[0].label if run.id != rest else f"run {run.number}"
        together = in_one_sleeve(run)
        colours = {wire.sleeve_colour for wire in wires}
        if together != (run.id == rest) or colours != {sent.get("colour")}:
            _refuse(f"{labels} is sleeved otherwise now: look at the task again")
        pieces = [self._piece(wire)[0] for wire in wires]
        entries = [done_now(piece, "sleeved", self._opened) for piece in pieces if "sleeved" not in piece.stages]
        if not entries:
            _refuse(f"{labels} is sleeved already")
        return entries, f"{labels} sleeved"

    def _sleeve_moulded(self, run: RunPlan, sent: Sent) -> Written:
        """A cable that keeps its plugs: what is written is that its sleeve is on."""
        _check_proved(run)
        if sent.get("colour") not in {piece.colour for piece in run.sleeve_pieces}:
            _refuse(f"run {run.number} is sleeved otherwise now: look at the task again")
        pieces = sleeves_of(run, self._bench, self._opened)
        if pieces is None:
            _refuse(f"the sleeve of run {run.number} is not cut yet, or it was thrown away meanwhile")
        entries = [Done(piece.id, "sleeved") for piece in pieces if "sleeved" not in piece.stages]
        if not entries:
            _refuse(f"run {run.number} is sleeved already")
        return entries, f"run {run.number} sleeved"

    def _fit(self, rest: str, sent: Sent) -> Written:
        run, wire = self._wire(rest)
        if wiring_of(run, wire) != sent.get("wiring"):
            _refuse(f"{wire.label} is wired otherwise now: look at the new card before it is fitted")
        piece, rewired = self._piece(wire)
        if sent.get("piece", piece.id) != piece.id:
            _refuse(f"{wire.label} was cut anew meanwhile: what was fitted serves no more")
        if "fitted" in piece.stages and not rewired:
            _refuse(f"{wire.label} is fitted already")
        entries: list[Entry] = []
        pressed = not sides_of(wire, self._opened.catalogue)
        if pressed and "crimped" in stages_of(wire) and "crimped" not in piece.stages:
            # Its contacts are blades alone, and they are pressed on as it is fitted.
            entries.append(done_now(piece, "crimped", self._opened))
        entries.append(done_now(piece, "fitted", self._opened))
        return entries, f"{wire.label} fitted"


def _check_proved(run: RunPlan) -> None:
    if not run.proved:
        _refuse(f"run {run.number} is held back: the proof found a fault in its wiring")


def _number(sent: Sent, name: str) -> int:
    value = sent.get(name)
    if not isinstance(value, int) or isinstance(value, bool):
        _refuse(f"the tick does not say its {name}: load the tasks again")
    return value


def _lots(sent: Sent) -> list[tuple[int, int]]:
    """Lots, and how many pieces come from each: ``12:20 13:4``."""
    told = str(sent.get("lots", "")).split()
    pairs = [word.partition(":") for word in told]
    if not pairs or not all(_counts(lot) and _counts(number) for lot, _, number in pairs):
        _refuse("the tick does not say its lots: load the tasks again")
    return [(int(lot), int(number)) for lot, _, number in pairs]


def _counts(text: str) -> bool:
    return text.isascii() and text.isdecimal() and len(text) < 10 and int(text) > 0
