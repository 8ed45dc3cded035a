"""What changed in a route, in words."""

from collections.abc import Iterator

from server.domain.lengths import middle_mm
from server.domain.model.build import Route


def route_changes(before: Route, after: Route) -> tuple[str, ...]:
    """How a run's route was changed: what is known of it now, then what else was set anew.

    Args:
        before: The earlier route.
        after: The later one; differs from ``before``.
    """
    return tuple(_changes(before, after))


def _changes(before: Route, after: Route) -> Iterator[str]:
    measured = (before.length_mm, before.steps) != (after.length_mm, after.steps)
    ranged = (before.low_mm, before.likely_mm, before.high_mm) != (after.low_mm, after.likely_mm, after.high_mm)
    if measured:
        yield _measured(before, after)
    if ranged:
        yield _range(after)
    if before.spacing_mm != after.spacing_mm:
        yield f"spacing {' '.join(f'{s:g}' for s in after.spacing_mm)} mm" if after.spacing_mm else "no spacing"


def _measured(before: Route, after: Route) -> str:
    if after.steps:
        words = f"measured at {_shown(middle_mm(after.steps))} mm by {_counted(after)}"
        if not before.steps:
            return f"legs and bends entered, {words}"
        return f"legs and bends changed, {words}"
    if after.length_mm is not None:
        dropped = "legs and bends taken out, " if before.steps else ""
        return f"{dropped}measured at {_shown(after.length_mm)} mm"
    return f"{'legs and bends' if before.steps else 'measured length'} taken out, not measured"


def _counted(route: Route) -> str:
    legs = sum(step.kind == "leg" for step in route.steps)
    twists = sum(step.kind == "twist" for step in route.steps)
    bends = len(route.steps) - legs - twists
    counts = ((legs, "leg"), (bends, "bend"), (twists, "twist"))
    said = [f"{count} {name}{'s' if count != 1 else ''}" for count, name in counts if count]
    return said[0] if len(said) == 1 else f"{', '.join(said[:-1])} and {said[-1]}"


def _range(route: Route) -> str:
    if route.low_mm is None or route.high_mm is None:
        return "no range"
    likely = f", most likely {_shown(route.likely_mm)} mm" if route.likely_mm is not None else ""
    return f"expected {_shown(route.low_mm)} to {_shown(route.high_mm)} mm{likely}"


def _shown(mm: float) -> str:
    """A length to a tenth of a millimetre, the sum of legs and bends being seldom whole."""
    return f"{round(mm, 1):g}"
