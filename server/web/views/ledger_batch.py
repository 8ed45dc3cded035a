"""A batch of the bench: a run, or everything of one material and colour, wire by wire and stage by stage."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from server.domain.model.bench import STAGES, Material, Stage
from server.services.bench_work import Work, alike, work_of
from server.services.opened import Opened
from server.web.views import formats
from server.web.views.fields import Field, Fields
from server.web.views.ledger_words import item_words, material_words
from server.web.views.pieces import Swatch, run_title, swatch
from server.web.views.progress import StageCount, counts_of

TICKS: dict[Stage, str] = {"crimped": "Crimp", "sleeved": "Sleeve", "fitted": "Fit", "tested": "Test"}
"""What the button of a stage says; a run is tested by its sheet, so that its button leads there."""
WAITS = {
    "waits": "waits for its length",
    "no_roll": "no roll is known for it",
}


@dataclass(frozen=True, slots=True)
class Step:
    """One stage of one wire."""

    name: str
    state: str
    """``done``, ``open`` (can be ticked), ``sheet`` (by the test sheet whose address ``do`` is), ``before`` (not before
    what comes first), ``buy``, ``later`` or ``none``."""
    words: str
    do: str = ""
    """What the button sends."""
    press: str = ""


@dataclass(frozen=True, slots=True)
class WorkRow:
    """One wire, sleeve or tube with its stages."""

    label: str
    material: str
    colour: Swatch | None
    note: str
    cut: Step
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class Batch:
    """What is open to be ticked: a run, or everything of one material and colour."""

    of: str
    number: int
    name: str
    counts: tuple[StageCount, ...]
    rows: tuple[WorkRow, ...]
    mixed: bool
    """Whether its pieces are of several materials, so that each says its own."""
    material: str
    staged: bool
    """Whether any of it goes through stages."""
    every: tuple[Step, ...]
    """Buttons for everything that can be ticked now: cut, then each stage."""
    before: tuple[str, str]
    after: tuple[str, str]
    buy: bool
    """Whether something of it has to be bought first."""
    hand: tuple[Field, Field] | None
    scrap: tuple[Field, Field] | None
    test_href: str
    """Address of the run's test sheet, where it has wires that are fitted and not tested; empty otherwise."""
    take: str
    """What the run still takes of contacts, housings, caps and combs; empty for none."""
    taken: str


def batches_of(opened: Opened) -> dict[str, tuple[Work, ...]]:
    """What can be ticked together, by key: every run, then every material and colour.

    Args:
        opened: The build as it stands.
    """
    return opened.once("bench batches", lambda: _batches(opened))


def _batches(opened: Opened) -> dict[str, tuple[Work, ...]]:
    made: dict[str, list[Work]] = {}
    ids = {run.number: run.id for run in opened.plan.runs}
    for item in work_of(opened):
        made.setdefault(f"run:{ids[item.run]}", []).append(item)
    for item in sorted(work_of(opened), key=lambda item: ("wire", "sleeve", "shrink").index(item.material.kind)):
        made.setdefault(material_key(item.material), []).append(item)
    return {key: tuple(held) for key, held in made.items()}


def material_key(material: Material) -> str:
    """Key of a material's batch."""
    return ":".join((material.kind, material.item, material.colour))


def named(of: str, work: Sequence[Work], opened: Opened) -> tuple[int, str, Swatch | None]:
    """Number (of a run; 0 for a material), name and colour of a batch.

    Args:
        of: Its key.
        work: What is in it.
        opened: The build as it stands.
    """
    if of.startswith("run:"):
        run = next(run for run in opened.plan.runs if run.number == work[0].run)
        return run.number, run_title(run), None
    material = work[0].material
    colour = swatch(opened.catalogue, material.colour) if material.colour else None
    return 0, material_words(material, opened.catalogue), colour


def batch_view(
    of: str,
    batches: Mapping[str, tuple[Work, ...]],
    opened: Opened,
    parts: Mapping[Material, int],
    fields: Fields,
) -> Batch:
    """The view of the batch that is open.

    Args:
        of: Its key.
        batches: All of them.
        opened: The build as it stands.
        parts: Counted things that the run still takes; nothing for a material.
        fields: Makes the fields with what was typed last.
    """
    work = batches[of]
    number, name, _ = named(of, work, opened)
    kin = [key for key in batches if key.startswith("run:") == of.startswith("run:")]
    at = kin.index(of)
    materials = {item.material for item in work}
    taken = [
        f"{n} × {material_words(material, opened.catalogue)}"
        for (run, material), n in opened.on_hand.takes.items()
        if run == number
    ]
    missing = parts if number else {}
    return Batch(
        of=of,
        number=number,
        name=name,
        counts=counts_of(work),
        rows=tuple(_row(held, opened) for held in alike(work)),
        mixed=len(materials) > 1,
        material=material_words(next(iter(materials)), opened.catalogue) if len(materials) == 1 else "",
        staged=any(item.stages for item in work),
        every=_every(work),
        before=_neighbour(kin, at - 1, batches, opened),
        after=_neighbour(kin, at + 1, batches, opened),
        buy=any(item.state == "buy" for item in work),
        hand=_hand(work, opened, fields),
        scrap=_scrap(work, fields),
        test_href=_test_href(of, work, opened),
        take=formats.listed(f"{n} × {material_words(held, opened.catalogue)}" for held, n in missing.items()),
        taken=formats.listed(taken),
    )


def _test_href(of: str, work: Sequence[Work], opened: Opened) -> str:
    """Address of the test sheet of a run whose wires can be tested now."""
    if not of.startswith("run:") or not any("tested" in item.open_stages() for item in work):
        return ""
    return f"/builds/{opened.build_id}/runs/{of.removeprefix('run:')}/test"


def _neighbour(kin: Sequence[str], at: int, batches: Mapping[str, tuple[Work, ...]], opened: Opened) -> tuple[str, str]:
    """Address and name of the batch before or behind; empty at the ends."""
    if not 0 <= at < len(kin):
        return "", ""
    number, name, _ = named(kin[at], batches[kin[at]], opened)
    return f"/builds/{opened.build_id}/ledger?of={kin[at]}", f"Run {number}" if number else name


def _row(held: Sequence[Work], opened: Opened) -> WorkRow:
    """One wire, or sleeves or tubes that are alike."""
    item = held[0]
    colour = swatch(opened.catalogue, item.material.colour) if item.material.colour else None
    ids = {run.number: run.id for run in opened.plan.runs}
    sheet_href = f"/builds/{opened.build_id}/runs/{ids[item.run]}/test"
    steps = tuple(_step(item, stage, sheet_href) for stage in STAGES) if item.stages else ()
    label = formats.spans(piece.label for piece in held)
    material = item_words(item.material, opened.catalogue)
    return WorkRow(label, material, colour, _note(item), _cut_step(item, len(held)), steps)


def _note(item: Work) -> str:
    """What is to be said of a piece: its wiring, or its length."""
    if item.rewired:
        return "wired otherwise now: fit it again by the new card"
    if item.off_mm > 0:
        return f"{item.off_mm} mm too long"
    return f"what was cut is {-item.off_mm} mm too short" if item.off_mm < 0 else ""


def _cut_step(item: Work, count: int) -> Step:
    """The cutting of one thing, or of several that are alike."""
    times = f"{count} × " if count > 1 else ""
    if item.piece is not None:
        return Step("cut", "done", f"{times}{item.piece.length_mm} mm, lot {item.piece.lot}")
    if item.state in ("shelf", "piece"):
        place = f"{'lot' if item.state == 'shelf' else 'piece'} {item.source}"
        return Step(
            "cut", "open", f"from {place}", f"cut.{item.state}.{item.source}.{item.id}", f"Cut {times}{item.cut_mm}"
        )
    if item.state == "buy":
        return Step("cut", "buy", f"{times}{item.cut_mm} mm: buy first")
    return Step("cut", "later", f"{times}{WAITS[item.state]}")


def _step(item: Work, stage: Stage, sheet_href: str) -> Step:
    if stage not in item.stages:
        return Step(stage, "none", "not needed")
    if item.piece is None:
        return Step(stage, "before", "cut it first")
    if stage in item.done_stages():
        return Step(stage, "done", stage)
    again = " again" if item.rewired and stage in ("fitted", "tested") else ""
    if first := item.missing(stage):
        return Step(stage, "before", f"not before it is {first}{again}")
    if stage == "tested":
        again = " again" if item.rewired or item.untested else ""
        return Step(stage, "sheet", "", sheet_href, f"{TICKS[stage]}{again}")
    return Step(stage, "open", "", f"{stage}.{item.piece.id}", f"{TICKS[stage]}{again}")


def _every(work: Sequence[Work]) -> tuple[Step, ...]:
    """One button for each stage that can be ticked on several pieces now."""
    there = sum(1 for item in work if item.state == "shelf")
    made = [Step("cut", "open", "", "cut.all", f"Cut all {there}")] if there else []
    for stage in (stage for stage in STAGES if stage != "tested"):
        count = sum(1 for item in work if stage in item.open_stages())
        if count:
            made.append(Step(stage, "open", "", f"{stage}.all", f"{TICKS[stage]} all {count}"))
    return tuple(made)


def _hand(work: Sequence[Work], opened: Opened, fields: Fields) -> tuple[Field, Field] | None:
    """Fields to cut from a lot of one's own choice: what, and from which lot that has enough for it."""
    ready = [item for item in work if item.state in ("shelf", "piece", "buy", "no_roll") and item.cut_mm]
    shortest: dict[Material, int] = {}
    for item in ready:
        shortest[item.material] = min(item.cut_mm, shortest.get(item.material, item.cut_mm))
    lots = [
        (str(lot.id), f"lot {lot.id}: {free} mm of {material_words(lot.material, opened.catalogue)}")
        for lot in opened.on_hand.lots
        if (free := lot.free_for(opened.build_id)) >= shortest.get(lot.material, free + 1)
    ]
    if not lots:
        return None
    there = {lot.material for lot in opened.on_hand.lots}
    what = [(item.id, f"{item.label}, {item.cut_mm} mm") for item in ready if item.material in there]
    if len(what) > 1 and len(shortest) == 1:
        what.insert(0, ("all", f"all {len(what)} that are not cut"))
    return (
        fields.choice("wire", "What", fields.typed("wire", ""), what),
        fields.choice("lot", "From", fields.typed("lot", ""), lots),
    )


def _scrap(work: Sequence[Work], fields: Fields) -> tuple[Field, Field] | None:
    """Fields to throw a piece away: which, and why."""
    pieces = [
        (str(item.piece.id), f"{item.label}, {item.piece.length_mm} mm") for item in work if item.piece is not None
    ]
    if not pieces:
        return None
    return (
        fields.choice("piece", "Piece", fields.typed("piece", ""), pieces),
        fields.text("reason", "Why", "", "Such as: nicked, crimped crooked."),
    )
