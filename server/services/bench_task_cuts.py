"""Tasks that take things from the shelf: cutting wires, sleeve and tube, and taking what is counted."""

from collections import Counter
from collections.abc import Mapping, Sequence

from server.domain.changes import Needed
from server.domain.model.bench import Material
from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import PlannedWire, RunPlan
from server.services.bench_live import needs_by_id
from server.services.bench_taking import missing_of
from server.services.bench_task_types import Task
from server.services.bench_task_words import colour_of, joint_tubes, material_words, span_words, wire_words
from server.services.bench_work import Work, WorkState
from server.services.opened import Opened

_BLOCKS: Mapping[WorkState, tuple[str, str]] = {
    "buy": ("buy {what} first", "buys"),
    "waits": ("run {run} is not measured yet: measure it first", "routes"),
    "no_roll": ("no roll is known that {what} could be cut from: see the buy list", "buys"),
    "piece": ("cut it from piece {source}, which serves nothing now: see what changed", "changes"),
}
"""Why something cannot be cut at the bench now, and the panel where that is dealt with."""


def blocked(state: WorkState, item: Work | None, run: RunPlan, what: str, opened: Opened) -> tuple[str, str]:
    """Why something cannot be cut now, and the address where that is dealt with.

    Args:
        state: What has to happen first.
        item: The thing as the roll plan has it.
        run: Its run.
        what: Its material in words.
        opened: The build as it stands.
    """
    words, panel = _BLOCKS[state]
    why = words.format(what=what, run=run.number, source=item.source if item else 0)
    return why, f"/builds/{opened.build_id}/{panel}"


def wire_cut(wire: PlannedWire, item: Work, run: RunPlan, opened: Opened) -> Task:
    """The cutting of one wire, from the lot that the roll plan names.

    Args:
        wire: The wire.
        item: What the bench knows of it.
        run: Its run.
        opened: The build as it stands.
    """
    what = wire_words(wire)
    length = f"{item.cut_mm} mm" if item.cut_mm else "not measured"
    made = _Cut(f"cut/{wire.id}", run.id, item.material, what, opened)
    title = f"Cut {wire.label} to {length}" if item.cut_mm else f"Cut {wire.label}"
    if item.piece is not None:
        off = (f"{item.off_mm} mm longer than wanted now",) if item.off_mm > 0 else ()
        lines = (what, f"piece {item.piece.id}, {item.piece.length_mm} mm, from lot {item.piece.lot}", *off)
        return made.task(
            wire.label,
            title,
            length,
            lines,
            tick={"lot": item.piece.lot, "length": item.cut_mm},
            state="done",
            entry=item.piece.id,
        )
    short = (f"what was cut is {-item.off_mm} mm too short",) if item.off_mm < 0 else ()
    if item.state != "shelf":
        why, href = blocked(item.state, item, run, what, opened)
        return made.task(wire.label, title, length, (what, *short), state="blocked", why=why, href=href)
    lines = (what, f"from lot {item.source}", "write the label on both ends", *short)
    return made.task(wire.label, title, length, lines, tick={"lot": item.source, "length": item.cut_mm})


class _Cut:
    """One cutting task in the making: what every state of it has in common."""

    def __init__(self, ident: str, run_id: str, material: Material, what: str, opened: Opened) -> None:
        self._ident, self._run, self._material, self._what, self._opened = ident, run_id, material, what, opened

    def task(
        self, label: str, title: str, big: str, lines: tuple[str, ...], *, state: str = "open", why: str = "",
        href: str = "", tick: Mapping[str, int | str] | None = None, entry: int = 0,
    ) -> Task:  # fmt: skip
        return Task(
            id=self._ident,
            kind="cut",
            run=self._run,
            label=label,
            title=title,
            big=big,
            colour=colour_of(self._material.colour, self._opened.catalogue),
            lines=lines,
            tool=f"cut/{self._material.kind}/{self._material.item}/{self._material.colour}",
            tool_words=self._what,
            times=1 if self._material.kind == "wire" else 0,
            state="done" if state == "done" else "blocked" if state == "blocked" else "open",
            why=why,
            href=href,
            tick=tick,
            entry=entry,
        )


def cover_id(run_id: str, material: Material, length_mm: int) -> str:
    """Id of the task that cuts all pieces of a run of one sleeve or tube to one length.

    Args:
        run_id: The run.
        material: The sleeve or tube.
        length_mm: Length of each piece. [mm]
    """
    of = f"sleeve/{material.colour}" if material.kind == "sleeve" else f"shrink/{material.item}"
    return f"cut/{run_id}/{of}/{length_mm}mm"


def joint_cuts(run: RunPlan, wire: PlannedWire, work: Mapping[str, Work], catalogue: Catalogue) -> list[str]:
    """Tasks that cut what is joined to a wire before it is crimped: other wires, and the tube over the joint.

    Args:
        run: The planned run.
        wire: One of its wires.
        work: What the bench knows of everything that is cut, by id.
        catalogue: Reference data with heat-shrink.
    """
    splices = [joint.labels for joint in run.joints if joint.kind == "splice" and wire.label in joint.labels]
    labels = {label for found in splices for label in found}
    wires = [f"cut/{w.id}" for w in run.wires if w.label in labels - {wire.label} and w.id in work]
    return [*wires, *(cover_id(run.id, tube, length) for tube, length in joint_tubes(run, wire, catalogue))]


def cover_cuts(run: RunPlan, work: Mapping[str, Work], opened: Opened) -> tuple[Task, ...]:
    """The cutting of sleeve and tube of a run: pieces of one material and length are one task.

    Args:
        run: The planned run.
        work: What the bench knows of everything that is cut, by id.
        opened: The build as it stands.
    """
    groups: dict[tuple[Material, int], list[Needed]] = {}
    for need in needs_by_id(opened).values():
        if need.run == run.number and need.material.kind != "wire":
            groups.setdefault((need.material, need.buy_mm), []).append(need)
    return tuple(_cover_cut(run, *key, needs, work, opened) for key, needs in groups.items())


def _cover_cut(
    run: RunPlan, material: Material, length_mm: int, needs: Sequence[Needed], work: Mapping[str, Work], opened: Opened
) -> Task:
    name = material_words(material, opened.catalogue)
    made = _Cut(cover_id(run.id, material, length_mm), run.id, material, name, opened)
    held = [work.get(need.id) for need in needs]
    pieces = [item.piece for item in held if item is not None and item.piece is not None]
    cut = [piece.id for piece in pieces]
    lots = Counter(item.source for item in held if item is not None and item.piece is None and item.state == "shelf")
    left, there = len(needs) - len(cut), lots.total()
    label = span_words([need.label for need in needs])
    big = f"{length_mm} mm"
    times = there or left or len(needs)
    title = f"Cut {f'{times} pieces' if times > 1 else '1 piece'} of {material.kind.replace('shrink', 'tube')} to {big}"
    if not left:
        return made.task(
            label,
            title,
            big,
            (name,),
            tick=_from(length_mm, Counter(piece.lot for piece in pieces)),
            state="done",
            entry=max(cut),
        )
    done = (f"{len(cut)} of {len(needs)} are cut",) if cut else ()
    if not there:
        first = next((item for item in held if item is not None and item.piece is None), None)
        why, href = blocked(first.state if first else "no_roll", first, run, name, opened)
        return made.task(label, title, big, (name, *done), state="blocked", why=why, href=href)
    rest = (f"{left - there} more cannot be cut yet",) if left > there else ()
    lots_words = ", ".join(f"{n} from lot {lot}" for lot, n in lots.items())
    return made.task(label, title, big, (name, lots_words, *done, *rest), tick=_from(length_mm, lots))


def _from(length_mm: int, lots: Mapping[int, int]) -> dict[str, int | str]:
    """What a tick sends back: the length of each piece, and how many come from which lot."""
    return {"length": length_mm, "lots": " ".join(f"{lot}:{count}" for lot, count in lots.items())}


def _on_shelf(opened: Opened) -> Counter[Material]:
    """How much of each material the build may use."""
    free: Counter[Material] = Counter()
    for lot in opened.on_hand.lots:
        free[lot.material] += lot.free_for(opened.build_id)
    return free


def take_task(run: RunPlan, opened: Opened) -> Task | None:
    """The taking of contacts, housings, caps and combs of a run from the shelf; ``None`` where it takes none.

    Args:
        run: The planned run.
        opened: The build as it stands.
    """
    wanted = missing_of(run, {}, opened)
    if not wanted:
        return None
    missing = missing_of(run, opened.on_hand.takes, opened)
    free = opened.once("bench shelf", lambda: _on_shelf(opened))
    there = {m: min(n, free[m]) for m, n in missing.items() if free[m]}
    shown = there or missing or wanted
    count = sum(shown.values())
    lines = [f"{n} × {material_words(m, opened.catalogue)}" for m, n in shown.items()]
    short = sum(missing.values()) - sum(there.values())
    return Task(
        id=f"take/{run.id}",
        kind="take",
        run=run.id,
        label=f"run {run.number}",
        title=f"Take the counted parts of run {run.number} from the shelf",
        big=f"{count} part{'' if count == 1 else 's'}",
        lines=tuple(lines) if not (there and short) else (*lines, f"{short} more have to be bought"),
        state="done" if not missing else "open" if there else "blocked",
        tick=None if missing and not there else {"quantity": count},
        entry=0 if missing else opened.on_hand.last_takes.get(run.number, 0),
        why="" if there or not missing else "none of it is on the shelf: buy it first",
        href="" if there or not missing else f"/builds/{opened.build_id}/buys",
    )
