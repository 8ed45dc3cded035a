"""Every task of one run, each with those that come directly before it, as ``bench_task_rows`` puts them in order."""

from collections.abc import Iterator, Mapping

from server.domain.model.bench import Material, WireSide
from server.domain.model.plan import PlannedWire, RunPlan
from server.domain.plan.wiring import wiring_of
from server.drawing.svg import num
from server.services.bench_crimps import CrimpWork, is_pressed
from server.services.bench_places import task_plug
from server.services.bench_task_cuts import cover_cuts, cover_id, joint_cuts, wire_cut
from server.services.bench_task_rows import RunRows, crimped_by, done_by
from server.services.bench_task_types import Task, TaskPlug, TaskState
from server.services.bench_task_words import (
    colour_of,
    crimp_lines,
    crimp_tool,
    joint_lines,
    letter,
    mark_lines,
    place_words,
    press_tool,
    sleeve_words,
    wire_words,
)
from server.services.bench_work import Work
from server.services.cable_words import comb_lines, finish_lines
from server.services.opened import Opened
from server.services.test_sheets import sheet_for
from server.services.testing import state_of

OWN = "the supply's own wires are in no lot, so that the ledger does not follow them: go by the card"


class RunTasks:
    """The tasks of one run in the making."""

    def __init__(self, run: RunPlan, work: Mapping[str, Work], taking: Task | None, opened: Opened) -> None:
        """Make the tasks of ``run``.

        What the ledger says comes with ``work`` and ``taking``, and with the test of the run, so that they are made
        anew only when one of these changes.

        Args:
            run: The planned run.
            work: What the bench knows of everything that is cut for it, by id.
            taking: The taking of its counted parts.
            opened: The build as it stands.
        """
        self._run, self._work, self._taking, self._opened, self._catalogue = run, work, taking, opened, opened.catalogue
        self._rows = RunRows(run, work, opened.catalogue)

    def tasks(self) -> Iterator[Task]:
        """Every task of the run, roughly in the order of the work."""
        if self._taking is not None:
            yield self._taking
        for wire in self._run.wires:
            if wire.id in self._work:
                yield wire_cut(wire, self._work[wire.id], self._run, self._opened)
        yield from cover_cuts(self._run, self._work, self._opened)
        yield from (self._crimping(crimp) for crimp in self._rows.crimps if crimp.ends[0][1] == self._rows.first)
        yield from self._sleeves()
        yield from (self._crimping(crimp) for crimp in self._rows.crimps if crimp.ends[0][1] == self._rows.second)
        yield from (self._fit(wire) for wire in self._run.wires)
        if self._run.wires and sheet_for(self._opened, self._run.id).joins:
            yield self._test()

    # ---- crimping ----------------------------------------------------------------------------------------------

    def _crimping(self, crimp: CrimpWork) -> Task:
        run, wires = self._run, [wire for wire, _ in crimp.ends]
        labels = " and ".join(wire.label for wire in wires)
        place = place_words(run, crimp.plug, at_end=crimp.at_end)
        tool, words = crimp_tool(crimp, self._catalogue)
        after = dict.fromkeys(ident for wire in wires for ident in self._rows.before(wire, crimp.id))
        joined = dict.fromkeys(line for wire in wires for line in joint_lines(run, wire, self._catalogue))
        if crimp.ends[0][1] == self._rows.first and not any(self._rows.soldered_first(wire) for wire in wires):
            after |= dict.fromkeys(
                ident for wire in wires for ident in joint_cuts(self._run, wire, self._work, self._catalogue)
            )
        else:
            joined = {}
        held = [self._work.get(wire.id) for wire in wires]
        done = [crimped_by(item, side) for item, (_, side) in zip(held, crimp.ends, strict=True)]
        is_done = all(entry is not None for entry in done)
        own = any(item is None for item in held)
        pieces = [item.piece.id for item in held if item is not None and item.piece is not None]
        tick: dict[str, int | str] = {"contact": crimp.contact}
        if len(pieces) == len(wires):
            tick["pieces"] = " ".join(map(str, pieces))
        return Task(
            id=crimp.id,
            kind="crimp",
            run=run.id,
            label=labels,
            title=f"Crimp {labels}{' together' if len(wires) > 1 else ''}, {place}",
            # The title tells the end already; what is set by hand is read from across the room.
            big=f"strip {num(crimp.use.strip_mm)} mm" if crimp.use and crimp.use.strip_mm else place,
            colour=None if own else colour_of(wires[0].colour, self._catalogue),
            lines=(
                *(wire_words(wire, own=item is None) for wire, item in zip(wires, held, strict=True)),
                *joined,
                *(comb_lines(run, self._catalogue) if crimp.ends[0][1] == self._rows.last else ()),
                *crimp_lines(
                    run, crimp, self._rows.first, alone=bool(wires[0].sleeve_colour) and not self._rows.together
                ),
            ),
            tool=f"crimp/{tool}",
            tool_words=words,
            after=tuple(after),
            plugs=self._places([(crimp.at_end, crimp.plug, crimp.cavity, wires[0].net)]),
            state="blocked" if own else "done" if is_done else "open",
            why=OWN if own else "",
            href=self._card if own else "",
            tick=None if own else tick,
            entry=max((entry or 0 for entry in done), default=0) if is_done else 0,
        )

    # ---- sleeving ----------------------------------------------------------------------------------------------

    def _sleeves(self) -> Iterator[Task]:
        run = self._run
        if not run.sleeve_pieces:
            return
        if run.kind == "sleeved" or self._rows.together:
            yield self._sleeve_whole()
            return
        for wire in run.wires:
            if wire.sleeve_colour:
                yield self._sleeve(wire)

    def _sleeve(self, wire: PlannedWire) -> Task:
        """One wire in its own sleeve, in one piece or several."""
        run, rows, item = self._run, self._rows, self._work.get(wire.id)
        kinds = {(piece.colour, piece.cut_mm): piece.sleeve for piece in run.sleeve_pieces}
        cuts = [
            cover_id(run.id, Material("sleeve", kinds[wire.sleeve_colour, mm], wire.sleeve_colour), mm)
            for mm in dict.fromkeys(wire.sleeve_mm)
            if (wire.sleeve_colour, mm) in kinds
        ]
        entry = done_by(item, "sleeved")
        joined = joint_cuts(self._run, wire, self._work, self._catalogue) if rows.soldered_first(wire) else []
        big = " + ".join(map(str, wire.sleeve_mm)) + " mm" if wire.sleeve_mm else wire.sleeve_colour
        return self._sleeving(
            f"sleeve/{wire.id}", wire.label, f"Sleeve {wire.label}", big, wire.sleeve_colour,
            (*rows.before(wire, f"sleeve/{wire.id}"), *cuts, *self._tube_cut(), *joined), entry, own=item is None,
            pieces=len(wire.sleeve_mm),
            before=rows.first if run.method != "rework" and rows.is_crimped(wire, rows.second) else "",
            more=(
                *(f"before the sleeve is on, {line}" for line in mark_lines(run, wire)),
                *(joint_lines(run, wire, self._catalogue) if rows.soldered_first(wire) else ()),
            ),
        )  # fmt: skip

    def _sleeve_whole(self) -> Task:
        """One sleeve over all wires of a run, or over a cable that stays as it was bought."""
        run, ident = self._run, f"sleeve/{self._run.id}"
        colours = {piece.colour for piece in run.sleeve_pieces}
        cuts = [
            cover_id(run.id, Material("sleeve", piece.sleeve, piece.colour), piece.cut_mm)
            for piece in run.sleeve_pieces
        ]
        before = dict.fromkeys(ident for wire in run.wires for ident in self._rows.before(wire, f"sleeve/{run.id}"))
        over = [wire.id for wire in run.wires if wire.sleeve_colour]
        if run.kind == "sleeved":
            over = [
                item.id for item in self._work.values() if item.run == run.number and item.material.kind == "sleeve"
            ]
        held = [self._work.get(name) for name in over]
        entries = [done_by(item, "sleeved") for item in held]
        entry = max((n or 0 for n in entries), default=0) if entries and None not in entries else None
        big = " + ".join(f"{piece.count} × {piece.cut_mm}" for piece in run.sleeve_pieces).replace("1 × ", "") + " mm"
        what = "the cable" if run.kind == "sleeved" else "all wires together"
        return self._sleeving(
            ident, f"run {run.number}", f"Sleeve {what}, run {run.number}", big, min(colours),
            (*before, *cuts, *self._tube_cut()), entry, own=run.kind != "sleeved" and None in held,
            pieces=sum(piece.count for piece in run.sleeve_pieces),
        )  # fmt: skip

    def _sleeving(
        self, ident: str, label: str, title: str, big: str, colour: str, after: tuple[str, ...], entry: int | None, *,
        own: bool, pieces: int, before: WireSide = "", more: tuple[str, ...] = (),
    ) -> Task:  # fmt: skip
        run, names = self._run, {piece.sleeve for piece in self._run.sleeve_pieces}
        known = [self._catalogue.sleeves[name].name for name in sorted(names) if name in self._catalogue.sleeves]
        return Task(
            id=ident,
            kind="sleeve",
            run=run.id,
            label=label,
            title=title,
            big=big,
            colour=colour_of(colour, self._catalogue),
            lines=(f"{', '.join(known)}, {colour}", *more),
            tool=f"sleeve/{run.sleeve_end}/{run.shrink}",
            tool_words=sleeve_words(run, self._catalogue, before=before),
            times=2 * pieces,
            after=tuple(dict.fromkeys(after)),
            state="blocked" if own else "open" if entry is None else "done",
            why=OWN if own else "",
            href=self._card if own else "",
            tick=None if own else {"colour": colour},
            entry=entry or 0,
        )

    def _tube_cut(self) -> tuple[str, ...]:
        run = self._run
        return (cover_id(run.id, Material("shrink", run.shrink), run.shrink_cut_mm),) if run.shrink_count else ()

    # ---- fitting and testing -----------------------------------------------------------------------------------

    def _fit(self, wire: PlannedWire) -> Task:
        run, item = self._run, self._work.get(wire.id)
        entry = done_by(item, "fitted")
        tool, words = press_tool(wire, run, self._catalogue)
        ends = [(wire.source_at_end, wire.source)] if wire.source.crimped else []
        ends += [(True, end) for end in (*wire.taps, wire.target)]
        pressed = [end for at_end, end in ends if at_end and is_pressed(end, self._catalogue)]
        onto = f"plug{'s' if len(pressed) > 1 else ''} {', '.join(letter(end.plug) for end in pressed)}"
        onto = onto if len(run.ends) > 1 else "the plug"
        from_cavity = [wire.source.cavity] if wire.source.crimped else []
        onto_cavities = dict.fromkeys(end.cavity for end in (*wire.taps, wire.target))
        cavities = " → ".join([*from_cavity, *onto_cavities])
        places = self._places([(at_end, end.plug, end.cavity, wire.net) for at_end, end in ends])
        again = ("wired otherwise than it was fitted: fit it again",) if item is not None and item.rewired else ()
        tick: dict[str, int | str] = {"wiring": wiring_of(run, wire)}
        if item is not None and item.piece is not None:
            tick["piece"] = item.piece.id
        return Task(
            id=f"fit/{wire.id}",
            kind="fit",
            run=run.id,
            label=wire.label,
            title=f"Press {wire.label} onto {onto}" if pressed else f"Fit {wire.label}",
            big=cavities,
            colour=None if item is None else colour_of(wire.sleeve_colour or wire.colour, self._catalogue),
            lines=(
                wire.net,
                *again,
                *(mark_lines(run, wire) if pressed else ()),
                *finish_lines(run, self._catalogue, pressed=bool(pressed)),
            ),
            tool=tool,
            tool_words=words,
            times=0 if pressed else len(ends),
            after=tuple(self._rows.before(wire, f"fit/{wire.id}")),
            plugs=places,
            state="blocked" if item is None else "open" if entry is None else "done",
            why=OWN if item is None else "",
            href=self._card if item is None else "",
            tick=None if item is None else tick,
            entry=entry or 0,
        )

    def _test(self) -> Task:
        run, state = self._run, state_of(self._opened, self._run.id)
        told = {
            "failed": "the last test failed: mend it and test it again",
            "stale": "what was tested is wired otherwise now: test it again",
            "cold": "the cable is good by itself; its voltages are still to be read",
        }
        done: TaskState = "done" if state == "passed" else "open"
        return Task(
            id=f"test/{run.id}",
            kind="test",
            run=run.id,
            label=f"run {run.number}",
            title=f"Test run {run.number} by its sheet",
            big=f"run {run.number}",
            lines=(told[state],) if state in told else (),
            after=tuple(f"fit/{wire.id}" for wire in run.wires if wire.id in self._work),
            state=done,
            href=f"/builds/{self._opened.build_id}/runs/{run.id}/test",
        )

    @property
    def _card(self) -> str:
        return f"/builds/{self._opened.build_id}/cards#card-{self._run.number}"

    def _places(self, where: list[tuple[bool, int, str, str]]) -> tuple[TaskPlug, ...]:
        return tuple(
            task_plug(self._run, plug, cavity, net, self._catalogue, at_end=at_end)
            for at_end, plug, cavity, net in where
        )
