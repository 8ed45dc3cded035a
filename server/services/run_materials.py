"""What each run of a build takes, material by material."""

from dataclasses import dataclass

from server.domain.model.bench import Material
from server.domain.plan.lists import used_by
from server.services.opened import Opened


@dataclass(frozen=True, slots=True)
class RunMaterial:
    """One material of one run, without reserve."""

    run: int
    """Number of the run."""
    material: Material
    count: int
    """Pieces, cut or counted."""
    length_mm: int
    """Of all its pieces together; 0 for what is counted. [mm]"""


def materials_by_run(opened: Opened) -> tuple[RunMaterial, ...]:
    """Wire, sleeve, heat-shrink and counted things, run by run in the plan's order.

    Args:
        opened: The build as it stands.
    """
    made: list[RunMaterial] = []
    for run in opened.plan.runs:
        used = used_by(run, opened.catalogue)
        made += (RunMaterial(run.number, Material(*item), len(held), sum(held)) for item, held in used.pieces.items())
        made += (RunMaterial(run.number, Material(*item), count, 0) for item, count in used.counts.items())
    return tuple(made)
