"""What went beyond the plan at the bench, and the spares that would have covered it.

Three kinds of things are lost at the bench, and the ledger knows how:

- *with wires*: a wire that was crimped or sleeved and was then thrown away, cut shorter, put back or taken for another
  (a contact that is crimped again is one of these: its wire is cut shorter first). Its share of the run's contacts or
  tubes is gone, rounded up for each run.
- *beyond the plan*: what was taken or cut for a run beyond what its plan uses. What replaced things lost with wires is
  among it, so that of both only the larger counts.
- *from stock*: what was thrown away off the shelf, with a reason. What was merely missing at stock-taking does not
  count: it may have replaced something that counts already, or the first count was wrong.

The suggestion is twice the measured share, rounded up to a whole percent: half of all builds lose more than the mean,
and rare mishaps scatter by about the square root of their number, so that twice the mean covers all but one build in
fifty once four mishaps are expected (a Poisson count of mean 4 is at most 8 in 97.9 % of cases). The least number is
what the worst single run lost. Neither is ever less than what the trade gives those who do it every day. Source: common
practice.

A worked example, by hand. Two runs took 96 contacts into cables that stand. In one of them two crimped wires were
thrown away, with 2 contacts each: 4; from the bag 2 were thrown away as bent: 6 lost on 96 = 6.25 %. Twice that is
12.5 %, so 13 %; the worst run lost 4, so at least 4.
"""

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final, Literal

from server.domain.finish_limits import PERCENT_MOST, SPARE_MOST
from server.domain.materials.sleeves import shrink_cut_mm
from server.domain.model.bench import Bench, Entry, Material, Piece, ScrapStock
from server.domain.model.build import Allowances, Spare, SpareOf
from server.domain.model.catalogue import Catalogue, ItemKind
from server.domain.model.plan import RunPlan
from server.domain.plan.lists import counted_by
from server.domain.reference import SPARES

USED_LEAST: Final = 50
"""Fewer used up say nothing yet: of fewer, a single mishap moves the suggestion by more than four percent, which is
about what tells one skill's spares from the next. Source: common practice."""
TIMES_THE_MEAN: Final = 2
LEAST_SPARES: Final[Mapping[SpareOf, Spare]] = SPARES["every_day"]
"""Nothing below these is suggested, however little was lost."""

KINDS: Final[Mapping[SpareOf, ItemKind]] = {"contacts": "contact", "shrink": "shrink", "combs": "comb"}
LossState = Literal["few", "agrees", "differs"]
"""Too few were used; the build's spares are those; others are suggested."""


@dataclass(frozen=True, slots=True)
class Loss:
    """What became of one kind of thing, added up."""

    used: int = 0
    """In cables that stand."""
    with_wires: int = 0
    beyond: int = 0
    """Beyond the plan, less what is told by ``with_wires`` already."""
    thrown: int = 0
    """From stock."""
    worst: int = 0
    """The most that a single run lost."""
    runs: int = 0
    """Runs that were begun."""

    @property
    def lost(self) -> int:
        """Everything that is gone."""
        return self.with_wires + self.beyond + self.thrown

    def plus(self, other: "Loss") -> "Loss":
        """Both together."""
        return Loss(
            self.used + other.used,
            self.with_wires + other.with_wires,
            self.beyond + other.beyond,
            self.thrown + other.thrown,
            max(self.worst, other.worst),
            self.runs + other.runs,
        )


@dataclass(frozen=True, slots=True)
class MeasuredLoss:
    """One kind of spare as it was measured, beside what the build counts with."""

    of: SpareOf
    loss: Loss
    now: Spare
    spare: Spare
    """What is suggested."""
    percent: float
    """Lost, of what was used. [%]"""
    state: LossState


def measured_loss(of: SpareOf, loss: Loss, allowances: Allowances) -> MeasuredLoss | None:
    """What is suggested for one kind of spare; ``None`` where nothing of the kind was used or lost yet.

    Args:
        of: The kind.
        loss: What became of it in all builds.
        allowances: Of the build, for the spares that it counts with.
    """
    seen = loss.used + loss.lost
    if not seen:
        return None
    now, floor = allowances.spares.get(of) or SPARES[allowances.skill][of], LEAST_SPARES[of]
    share = Fraction(100 * loss.lost, max(1, loss.used))
    percent = min(PERCENT_MOST, max(floor.percent, math.ceil(TIMES_THE_MEAN * share)))
    spare = Spare(float(percent), min(SPARE_MOST[of], max(floor.least, loss.worst)))
    near = abs(spare.percent - now.percent) < 1 and spare.least == now.least
    state: LossState = "few" if seen < USED_LEAST else "agrees" if near else "differs"
    return MeasuredLoss(of, loss, now, spare, float(share), state)


def losses_of(runs: Iterable[RunPlan], bench: Bench, build: str, catalogue: Catalogue) -> Mapping[SpareOf, Loss]:
    """What became of contacts, heat-shrink and combs in the runs of one build that are begun.

    Args:
        runs: The runs as they are planned.
        bench: Stock and pieces.
        build: Id of the build.
        catalogue: Reference data.
    """
    standing, lost = _by_run(bench, build)
    taken: dict[int, Counter[Material]] = {}
    for (owner, number, material), quantity in bench.takes.items():
        if owner == build:
            taken.setdefault(number, Counter())[material] += quantity
    found: dict[SpareOf, Loss] = {of: Loss() for of in KINDS}
    for run in runs:
        run_taken = taken.get(run.number, Counter())
        here, gone = standing.get(run.number, []), lost.get(run.number, [])
        wanted = {Material(*item): quantity for item, quantity in counted_by(run, catalogue).items()}
        found["contacts"] = found["contacts"].plus(_contacts(run, here, gone, _of_kind(wanted, "contact"), run_taken))
        found["shrink"] = found["shrink"].plus(_shrink(run, here, gone))
        found["combs"] = found["combs"].plus(_combs(_of_kind(wanted, "comb"), run_taken))
    return found


def thrown_away(entries: Sequence[Entry], bench: Bench, catalogue: Catalogue) -> Mapping[SpareOf, Loss]:
    """What was thrown away from stock with a reason: contacts and combs by the piece, tube by the piece it would make.

    Args:
        entries: The ledger, first to last.
        bench: What follows from it.
        catalogue: For the length of a tube.
    """
    found: Counter[SpareOf] = Counter()
    for number, entry in enumerate(entries, start=1):
        if isinstance(entry, ScrapStock) and number not in bench.undone:
            material = bench.lots[entry.lot].material
            of = next((of for of, kind in KINDS.items() if kind == material.kind), None)
            if of is not None:
                tube = catalogue.shrinks.get(material.item) if of == "shrink" else None
                found[of] += entry.quantity // shrink_cut_mm(tube) if tube else entry.quantity
    return {of: Loss(thrown=number) for of, number in found.items()}


def _by_run(bench: Bench, build: str) -> tuple[dict[int, list[Piece]], dict[int, list[Piece]]]:
    """Pieces in cables, and pieces or work that is gone, by run number."""
    standing: dict[int, list[Piece]] = {}
    lost: dict[int, list[Piece]] = {}
    for piece in (*bench.pieces.values(), *bench.spoilt):
        # Work that is gone stands there with a length of 0; a piece on the shelf has no work on it any more.
        if piece.build == build and piece.whereabouts != "shelf":
            gone = piece.whereabouts == "scrap" or not piece.length_mm
            (lost if gone else standing).setdefault(piece.run, []).append(piece)
    return standing, lost


def _of_kind(wanted: Mapping[Material, int], kind: ItemKind) -> dict[Material, int]:
    return {material: quantity for material, quantity in wanted.items() if material.kind == kind}


def _contacts(
    run: RunPlan,
    standing: Iterable[Piece],
    lost: Iterable[Piece],
    wanted: Mapping[Material, int],
    taken: Mapping[Material, int],
) -> Loss:
    """Contacts of one run: a crimped wire has its share of them, one with a single end crimped half of that."""
    share = Fraction(sum(wanted.values()), len(run.wires)) if run.wires else Fraction(0)
    used = math.floor(share * sum(map(_crimped, standing)))
    with_wires = math.ceil(share * sum(map(_crimped, lost)))
    return _run_loss(used, with_wires, _beyond(wanted, taken))


def _crimped(piece: Piece) -> Fraction:
    return Fraction(1) if "crimped" in piece.stages else Fraction(len(piece.crimped_ends), 2)


def _shrink(run: RunPlan, standing: Iterable[Piece], lost: Sequence[Piece]) -> Loss:
    """Tubes of one run: a sleeved wire has its share of them stuck to it, unless its ends are melted."""
    planned = run.shrink_count + sum(1 for joint in run.joints if joint.shrink)
    tubes = sum(1 for piece in standing if piece.material.kind == "shrink")
    scrapped = sum(1 for piece in lost if piece.material.kind == "shrink")
    sleeved = sum(1 for wire in run.wires if wire.sleeve_mm)
    share = Fraction(run.shrink_count, sleeved) if sleeved and run.sleeve_end != "melted" else Fraction(0)
    stuck = math.ceil(share * sum(1 for piece in lost if "sleeved" in piece.stages and piece.material.kind == "wire"))
    cut = tubes + scrapped
    with_wires = min(cut, max(stuck, scrapped))
    beyond = max(0, cut - planned) if planned else 0
    return _run_loss(cut - max(with_wires, beyond), with_wires, beyond)


def _combs(wanted: Mapping[Material, int], taken: Mapping[Material, int]) -> Loss:
    """Combs of one run, of the sorts that its plan has."""
    return _run_loss(sum(min(n, taken.get(m, 0)) for m, n in wanted.items()), 0, _beyond(wanted, taken))


def _beyond(wanted: Mapping[Material, int], taken: Mapping[Material, int]) -> int:
    """What was taken beyond the plan; things that the plan has no more were changed by a decision, not lost."""
    return sum(max(0, taken.get(material, 0) - number) for material, number in wanted.items())


def _run_loss(used: int, with_wires: int, beyond: int) -> Loss:
    worst = max(with_wires, beyond)
    return Loss(used, with_wires, worst - with_wires, 0, worst, 1 if used or worst else 0)
