"""Fans and lights that come last: added to a build in one move that leaves everything else as it is."""

from dataclasses import dataclass, replace
from math import ceil, floor
from statistics import median

from server.domain.errors import InvalidInputError, Problem
from server.domain.lengths import middle_mm
from server.domain.model.build import Build, Part, PlugRef, Route, Run, Socket
from server.domain.model.catalogue import Catalogue, Use
from server.domain.proposing import propose_for, why_unfed
from server.domain.recipes import RECIPES, PartRecipe
from server.domain.reference import LATE_MARGIN, LATE_ROUTE_MM, LENGTH_MOST_MM, LOOM_LIMIT_PARTS
from server.domain.sockets import every_socket, key

LATE_RECIPES = tuple(recipe for recipe in RECIPES if recipe.kind in ("fan", "light"))
"""Parts that can be added late."""
_WHOLE_MM = 10
"""A proposed range is told in whole centimetres."""


@dataclass(frozen=True, slots=True)
class LateRange:
    """The range that a late run gets as its route."""

    route: Route
    source: str
    """Where it comes from, in words."""


@dataclass(frozen=True, slots=True)
class Told:
    """What one run says of the length of another. [mm]"""

    low_mm: float
    likely_mm: float
    high_mm: float
    measured: bool


def add_late(build: Build, catalogue: Catalogue, recipe_id: str, count: int) -> Build:
    """Add fans or lights, each with a run from a free header or port and a range as its route.

    Every part, run, route and finish that the build has stays as it is, inlets that nothing feeds included.

    Args:
        build: The build.
        catalogue: Reference data.
        recipe_id: Kind of fan or light, from ``LATE_RECIPES``.
        count: How many.

    Raises:
        InvalidInputError: it is no fan or light, the count is out of range, or some find nothing free to start from.
    """
    recipe = next((entry for entry in LATE_RECIPES if entry.id == recipe_id), None)
    if recipe is None:
        raise InvalidInputError((Problem("late.recipe", f"no fan or light is called '{recipe_id}'"),))
    room = LOOM_LIMIT_PARTS - len(build.parts)
    if not 1 <= count <= room:
        raise InvalidInputError((Problem(f"late.{recipe.kind}.count", f"add 1 to {room}, not {count}"),))
    grown, added = _with_parts(build, recipe, count)
    proposed = propose_for(grown, catalogue, frozenset(part.id for part in added))
    new = proposed.runs[len(build.runs) :]
    if len(new) < count:
        raise InvalidInputError(
            (Problem(f"late.{recipe.kind}.count", _refusal(recipe, proposed, catalogue, count, len(new))),)
        )
    routes = late_ranges(build, catalogue)
    sockets = every_socket(grown, catalogue)
    ranged = tuple(replace(run, route=routes[sockets[key(run.ends[0])].uses[0]].route) for run in new)
    return replace(proposed, runs=(*build.runs, *ranged))


def late_ranges(build: Build, catalogue: Catalogue) -> dict[Use, LateRange]:
    """The range that a late run of each use gets: by the build's other runs of that use, or as is usual.

    Args:
        build: The build.
        catalogue: For the uses of its runs.

    Returns:
        By use, from the shortest to the longest of the others, most likely their median; with a margin to those that
        are measured, while the range of one that waits is as wide as it may be.
    """
    sockets = every_socket(build, catalogue)
    known: dict[Use, list[Told]] = {use: [] for use in LATE_ROUTE_MM}
    for run in build.runs:
        facts = sockets.get(key(run.ends[0]))
        told = _told(run)
        if facts is not None and facts.uses and facts.uses[0] in known and told is not None:
            known[facts.uses[0]].append(told)
    return {use: _range(use, lengths) for use, lengths in known.items()}


def _range(use: Use, known: list[Told]) -> LateRange:
    if not known:
        low, likely, high = LATE_ROUTE_MM[use]
        return LateRange(Route(low_mm=low, likely_mm=likely, high_mm=high), "common practice")
    low = min(told.low_mm for told in known)
    likely = float(median(told.likely_mm for told in known))
    high = min(max(told.high_mm for told in known), LENGTH_MOST_MM)
    source = f"the {len(known)} other {use} runs of this build" if len(known) > 1 else f"this build's other {use} run"
    margin = f", {LATE_MARGIN:.0%} either way of what is measured" if any(told.measured for told in known) else ""
    return LateRange(Route(low_mm=low, likely_mm=min(likely, high), high_mm=high), source + margin)


def _told(run: Run) -> Told | None:
    """What the length of a run says of another one like it; ``None`` while nothing is known of it."""
    route = run.route
    length = middle_mm(route.steps) if route.steps else route.length_mm
    if length is not None:
        low = _WHOLE_MM * floor(length * (1 - LATE_MARGIN) / _WHOLE_MM)
        high = _WHOLE_MM * ceil(length * (1 + LATE_MARGIN) / _WHOLE_MM)
        return Told(float(max(low, 1)), length, float(high), measured=True)
    if route.low_mm is None or route.high_mm is None:
        return None
    middle = (route.low_mm + route.high_mm) / 2
    likely = middle if route.likely_mm is None else route.likely_mm
    return Told(route.low_mm, likely, route.high_mm, measured=False)


def _with_parts(build: Build, recipe: PartRecipe, count: int) -> tuple[Build, tuple[Part, ...]]:
    """The build with so many parts of a kind behind its own, numbered on from those of the same kind."""
    sockets = tuple(Socket(ident, pinout) for ident, pinout in recipe.sockets)
    taken = {part.name for part in build.parts}
    names = (f"{recipe.name} {n}" for n in range(1, len(taken) + count + 2))
    free = [name for name in names if name not in taken][:count]
    added = tuple(Part(f"p{build.next_part + i}", recipe.kind, name, sockets) for i, name in enumerate(free))
    return replace(build, parts=(*build.parts, *added), next_part=build.next_part + count), added


def _refusal(recipe: PartRecipe, proposed: Build, catalogue: Catalogue, count: int, fed: int) -> str:
    """Why some find nothing to start from, and what would help."""
    led = {end.part for run in proposed.runs for end in run.ends}
    unfed = next(part for part in proposed.parts[-count:] if part.id not in led)
    reason = why_unfed(PlugRef(unfed.id, unfed.sockets[0].id), proposed, catalogue)
    found = f"only {fed} of {count} would find a free header or port" if fed else "no free header or port is left"
    hub = _hub_that_helps(unfed, proposed, catalogue)
    help_ = f"add a {hub.name.lower()} first ({hub.text})" if hub else "add a part that has such a header first"
    return f"{recipe.name}: {found}; {reason}. Nothing was added: {help_}"


def _hub_that_helps(part: Part, proposed: Build, catalogue: Catalogue) -> PartRecipe | None:
    """The first hub whose headers would feed a part."""
    for hub in (recipe for recipe in RECIPES if recipe.kind == "hub"):
        grown, _ = _with_parts(proposed, hub, 1)
        if len(propose_for(grown, catalogue, frozenset((part.id,))).runs) > len(proposed.runs):
            return hub
    return None
