"""Where a cavity lies on a plug, in words that agree with how the plug's face is drawn."""

from server.domain.model.catalogue import Catalogue, Housing
from server.domain.model.plan import Plug, RunPlan
from server.drawing.plugs import cells, latch_side
from server.services.bench_task_types import TaskPlug

SEEN = "seen from the wire side"
_ROWS = {1: ("",), 2: ("upper row", "lower row"), 3: ("upper row", "middle row", "lower row")}
_NTH = (
    "first", "second", "third", "fourth", "fifth", "sixth",
    "seventh", "eighth", "ninth", "tenth", "eleventh", "twelfth",
)  # fmt: skip


def plug_key(run: RunPlan, index: int, *, at_end: bool) -> str:
    """Key of a plug's face.

    Args:
        run: The planned run.
        index: Index into its ``sources`` or ``ends``.
        at_end: Whether it is one of the ``ends``.
    """
    return f"{run.id}/{'p' if at_end else 's'}{index}"


def task_plug(run: RunPlan, index: int, cavity: str, net: str, catalogue: Catalogue, *, at_end: bool) -> TaskPlug:
    """One cavity of a task.

    Args:
        run: The planned run.
        index: Index into its ``sources`` or ``ends``.
        cavity: Name of the cavity.
        net: Net of the wire that goes there.
        catalogue: Reference data with housings.
        at_end: Whether the plug is one of the ``ends``.
    """
    plug = (run.ends if at_end else run.sources)[index]
    return TaskPlug(plug_key(run, index, at_end=at_end), cavity, net, seen_words(plug, cavity, catalogue))


def seen_words(plug: Plug, cavity: str, catalogue: Catalogue) -> str:
    """Row and position from the left of a cavity, and how the plug is held: as its face is drawn.

    Args:
        plug: The plug, with the way its latch points.
        cavity: Name of the cavity.
        catalogue: Reference data with housings.

    Returns:
        Such as ``lower row, third from the left, seen from the wire side, latch up``; empty for a cavity that the
        housing does not have.
    """
    housing = catalogue.housings[plug.housing]
    shown = cells(housing, turned=plug.latch_down, mirrored=False)
    cell = next((cell for cell in shown if cell.name == cavity), None)
    if cell is None:
        return ""
    rows = max(other.row for other in shown) + 1
    place = sum(1 for other in shown if other.row == cell.row and other.column <= cell.column)
    row = _ROWS[rows][cell.row] if rows in _ROWS else f"row {cell.row + 1} from above"
    nth = _NTH[place - 1] if place <= len(_NTH) else f"{place}th"
    return ", ".join(word for word in (row, f"{nth} from the left", SEEN, latch_way(housing, plug)) if word)


def latch_way(housing: Housing, plug: Plug) -> str:
    """How a plug is held, in two words; empty for one that looks alike without a latch."""
    side = latch_side(housing, turned=plug.latch_down)
    if side == "none":
        return "turned over" if plug.latch_down else ""
    return "latch up" if side == "top" else "latch down"
