"""What one state of a build costs beyond another: wires, parts, money and hours. A question of two plans."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from server.domain.model.plan import Plan, PlannedWire


@dataclass(frozen=True, slots=True)
class WireFacts:
    """What tells one wire from another when it is cut."""

    label: str
    length_mm: int
    """To cut, or to buy for while its run is a range; 0 while unknown. [mm]"""
    colour: str
    awg: int
    insulation: str


@dataclass(frozen=True, slots=True)
class Digest:
    """What is kept of a plan to hold it against others."""

    runs: Mapping[str, int]
    """Number of each run by its id."""
    wires: Mapping[str, WireFacts]
    """By the wire's identity."""
    materials: Decimal
    minutes: Decimal
    total: Decimal
    currency: str
    complete: bool


@dataclass(frozen=True, slots=True)
class Difference:
    """What became of a build between two states of it; money is ``None`` where the currencies differ."""

    runs_added: tuple[int, ...]
    """Numbers of the runs."""
    runs_gone: tuple[int, ...]
    new: tuple[str, ...]
    """Labels of wires; likewise below."""
    gone: tuple[str, ...]
    longer: tuple[str, ...]
    shorter: tuple[str, ...]
    recoloured: tuple[str, ...]
    regauged: tuple[str, ...]
    """Of another gauge or insulation."""
    wire_mm: int
    """How much more of it. [mm]"""
    materials: Decimal | None
    total: Decimal | None
    minutes: Decimal
    currency: str
    complete: bool
    """False when some price or length is missing on either side."""

    @property
    def nothing(self) -> bool:
        """True when neither wires nor money nor hours differ."""
        lists = (self.runs_added, self.runs_gone, self.new, self.gone, self.longer, self.shorter)
        wires = any((*lists, self.recoloured, self.regauged)) or bool(self.wire_mm)
        return not (wires or self.minutes or self.materials is None or self.materials or self.total)


NOTHING = Digest({}, {}, Decimal(0), Decimal(0), Decimal(0), "", complete=True)
"""Before the first revision."""


def digest(plan: Plan) -> Digest:
    """What is kept of a plan.

    Args:
        plan: The plan; its estimate counts the whole build, what was bought for it included.
    """
    estimate = plan.estimate
    return Digest(
        {run.id: run.number for run in plan.runs},
        {wire.id: _facts(wire) for run in plan.runs for wire in run.wires},
        estimate.materials,
        estimate.minutes,
        estimate.total,
        estimate.currency,
        estimate.complete,
    )


def _facts(wire: PlannedWire) -> WireFacts:
    return WireFacts(wire.label, wire.cut_mm or wire.buy_mm, wire.colour, wire.awg, wire.insulation)


def difference(before: Digest, after: Digest) -> Difference:
    """What ``after`` has, takes and costs beyond ``before``.

    Args:
        before: The earlier state.
        after: The later one.

    Returns:
        The difference. A wire is the same while its identity is; one that changes its length and its colour is told
        under both.
    """
    old, new = before.wires, after.wires
    kept = [(old[ident], wire) for ident, wire in new.items() if ident in old]
    alike = not before.currency or before.currency == after.currency
    return Difference(
        runs_added=tuple(sorted(n for ident, n in after.runs.items() if ident not in before.runs)),
        runs_gone=tuple(sorted(n for ident, n in before.runs.items() if ident not in after.runs)),
        new=tuple(wire.label for ident, wire in new.items() if ident not in old),
        gone=tuple(wire.label for ident, wire in old.items() if ident not in new),
        longer=tuple(now.label for was, now in kept if now.length_mm > was.length_mm),
        shorter=tuple(now.label for was, now in kept if now.length_mm < was.length_mm),
        recoloured=tuple(now.label for was, now in kept if now.colour != was.colour),
        regauged=tuple(now.label for was, now in kept if (now.awg, now.insulation) != (was.awg, was.insulation)),
        wire_mm=_total_mm(after) - _total_mm(before),
        materials=after.materials - before.materials if alike else None,
        total=after.total - before.total if alike else None,
        minutes=after.minutes - before.minutes,
        currency=after.currency,
        complete=before.complete and after.complete,
    )


def _total_mm(held: Digest) -> int:
    return sum(wire.length_mm for wire in held.wires.values())
