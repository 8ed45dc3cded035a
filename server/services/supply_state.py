"""How a build stands to its supply layout: which version it uses, what is newer, and how much of it is metered."""

from dataclasses import dataclass

from server.domain.layout_words import layout_changes
from server.domain.metering import Progress, verdicts
from server.domain.model.catalogue import SupplyLayout
from server.domain.plan.trust import cavities_used
from server.domain.sockets import layout_of
from server.services.opened import Opened


@dataclass(frozen=True, slots=True)
class SupplyState:
    """The layout of one build."""

    layout: SupplyLayout
    """At the version that the build was planned with."""
    newest: int
    """Number of the newest version there is; that of the build where the layout was put away."""
    changes: tuple[str, ...]
    """What lies between the build's version and the newest, in words."""
    used: Progress
    """Metered cavities among those that the build's wires start from."""
    gone: bool
    """True where the layout has been put away: the build keeps its version, no other build can choose it."""


def supply_state(opened: Opened) -> SupplyState | None:
    """How a build stands to its supply layout; ``None`` when none is chosen.

    Args:
        opened: The build as it stands.
    """
    layout = layout_of(opened.build, opened.catalogue)
    if layout is None:
        return None
    newest = opened.catalogue.supplies.get(layout.id)
    used = cavities_used(opened.plan.runs)
    found = verdicts(layout)
    metered = sum(1 for place in used if place in found and found[place].state == "metered")
    return SupplyState(
        layout=layout,
        newest=newest.version if newest else layout.version,
        changes=layout_changes(layout, newest) if newest else (),
        used=Progress(metered, len(used)),
        gone=newest is None,
    )
