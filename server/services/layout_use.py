"""What one build uses of a supply layout, for the worksheet that was opened from it."""

from dataclasses import dataclass

from server.domain.metering import Progress
from server.domain.plan.trust import cavities_used
from server.services.layout_records import Place
from server.services.opened import Opened
from server.services.supply_state import supply_state


@dataclass(frozen=True, slots=True)
class LayoutUse:
    """A build's use of a layout."""

    build_id: str
    name: str
    places: frozenset[Place]
    """Port and cavity of every contact that a wire of the build starts from."""
    progress: Progress
    """Metered ones among them."""
    version: int
    """Version of the layout that the build was planned with."""


def layout_use(opened: Opened, layout_id: str) -> LayoutUse | None:
    """What a build uses of a layout; ``None`` where it has another supply.

    Args:
        opened: The build as it stands.
        layout_id: Id of the layout.
    """
    state = supply_state(opened)
    if state is None or state.layout.id != layout_id:
        return None
    places = frozenset(cavities_used(opened.plan.runs))
    return LayoutUse(opened.build_id, opened.build.name, places, state.used, state.layout.version)
