"""What comes before what in a run at the bench, and how far each of its wires has come.

A new wire is cut, crimped at the part end, sleeved, crimped at the source end and fitted. Where plugs are pressed onto
wires that run through, the source end is crimped first, since every mark is measured from it. The supply's own wire is
sleeved, then crimped at its part end alone. What is not done on a wire is left out of that row.
"""

from collections.abc import Mapping

from server.domain.model.bench import WireSide
from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import PlannedWire, RunPlan
from server.services.bench_crimps import crimps_of, first_and_second, in_one_sleeve
from server.services.bench_work import Work


class RunRows:
    """The rows of work of one run, a row for each wire."""

    def __init__(self, run: RunPlan, work: Mapping[str, Work], catalogue: Catalogue) -> None:
        """Go by the plan of ``run``, and by what the bench knows of everything that is cut for it, by id."""
        self._run, self._work = run, work
        self.first, self.second = first_and_second(run, catalogue)
        """The end of its wires that is crimped first, and the other."""
        self.last = self.first if run.method == "rework" else self.second
        """The end that is crimped last: the supply's own wires are crimped at one end alone."""
        self.crimps = crimps_of(run, catalogue)
        self._crimp = {(wire.id, side): crimp for crimp in self.crimps for wire, side in crimp.ends}
        self.together = in_one_sleeve(run)
        """Whether one sleeve is drawn over all wires."""

    def before(self, wire: PlannedWire, ident: str) -> list[str]:
        """Id of the task before one of a wire's own; nothing for its first, and for one that it has no part in."""
        row = self._row(wire)
        at = row.index(ident) if ident in row else 0
        return row[at - 1 : at] if at else []

    def is_crimped(self, wire: PlannedWire, side: WireSide) -> bool:
        """Whether one end of a wire is to be crimped."""
        return (wire.id, side) in self._crimp

    def soldered_first(self, wire: PlannedWire) -> bool:
        """Whether a wire is soldered on before its sleeve is drawn over the joint, and crimped only then."""
        return self._run.method == "rework" and bool(wire.sleeve_colour) and not self.together

    def _row(self, wire: PlannedWire) -> list[str]:
        """Ids of the tasks of one wire, in order."""
        cut = [f"cut/{wire.id}"] if wire.id in self._work else []
        crimps = [
            self._crimp[wire.id, side].id if self.is_crimped(wire, side) else "" for side in (self.first, self.second)
        ]
        sleeve = self._sleeve_id(wire)
        own = self._run.method == "rework"
        row = [*cut, sleeve, *crimps] if own else [*cut, crimps[0], sleeve, crimps[1]]
        return [ident for ident in (*row, f"fit/{wire.id}") if ident]

    def _sleeve_id(self, wire: PlannedWire) -> str:
        if not wire.sleeve_colour:
            return ""
        return f"sleeve/{self._run.id}" if self.together else f"sleeve/{wire.id}"


def crimped_by(item: Work | None, side: WireSide) -> int | None:
    """Entry by which one end is crimped, 0 where that is not known; ``None`` while it is not.

    Args:
        item: What the bench knows of the wire; ``None`` for the supply's own.
        side: The end.
    """
    piece = item.piece if item is not None else None
    if piece is None or not ("crimped" in piece.stages or side in piece.crimped_ends):
        return None
    return max((n for stage, end, n in piece.marks if stage == "crimped" and end in ("", side)), default=0)


def done_by(item: Work | None, stage: str) -> int | None:
    """Entry by which a stage is done on a piece, 0 where that is not known; ``None`` while it is open.

    Args:
        item: What the bench knows of the wire, sleeve or tube; ``None`` for the supply's own wire.
        stage: The stage.
    """
    piece = item.piece if item is not None else None
    if item is None or piece is None or stage not in (item.done_stages() if item.stages else piece.stages):
        return None
    return max((n for done, _, n in piece.marks if done == stage), default=0)
