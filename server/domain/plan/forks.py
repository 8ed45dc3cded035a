"""A fork: several part plugs of one run, each wired straight from the sources, solved together.

At the part end the plugs lie side by side across the ribbon, so that they are one wide plug to the wiring, and its
search stays exact over all of them at once.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import permutations

from server.domain.plan.resolve import ResolvedRun
from server.domain.plugs import part_plug
from server.domain.wiring import (
    Assignment,
    PartPlug,
    Shortage,
    SourcePlug,
    assign,
    pin_problems,
    ribbon_position,
    shortages,
)

ORDERS_TRIED = 3
"""Up to so many part plugs every order side by side is tried; more keep the order in which they were entered."""


@dataclass(frozen=True, slots=True)
class Fork:
    """The best wiring of a fork, and the wide plug that it was found for."""

    assignment: Assignment
    """Its links name cavities of the wide plug."""
    plug: PartPlug
    places: Mapping[str, tuple[int, str]]
    """Part plug and cavity, by cavity of the wide plug."""
    order: tuple[int, ...]
    """Part plugs from left to right, seen from above with their latches up."""


def end_place(resolved: ResolvedRun, cavity: str) -> tuple[int, str]:
    """Part plug and cavity that a link of the first stretch means.

    Args:
        resolved: The run.
        cavity: Cavity as the link names it: of the wide plug for a fork, else of the first part plug.
    """
    if resolved.kind != "fork":
        return 0, cavity
    index, _, name = cavity.partition("/")
    return int(index), name


def fork_plugs(
    resolved: ResolvedRun,
    order: Sequence[int] = (),
    pinned: Mapping[str, tuple[int, str]] | None = None,
) -> tuple[PartPlug, Mapping[str, tuple[int, str]]]:
    """All part plugs of a fork side by side as one wide plug.

    Args:
        resolved: The run.
        order: Part plugs from left to right; empty for the order in which they were entered.
        pinned: Pins of the first part plug; ``None`` takes those of the run.

    Returns:
        The wide plug, each part plug with its own pitch, and what its cavities mean: part plug and cavity.
    """
    pins = resolved.pinned if pinned is None else pinned
    order = tuple(order) or tuple(range(len(resolved.ends)))
    width = sum(end.housing.columns * end.family.pitch_mm for end in resolved.ends)
    left, demands, laid = -width / 2, [], []
    places: dict[str, tuple[int, str]] = {}
    for index in order:
        end = resolved.ends[index]
        pitch = end.family.pitch_mm
        own = part_plug(end.facts, resolved.optional_at(index), {} if index else pins)
        for demand in own.demands:
            column, row = ribbon_position(end.housing, demand.cavity, at_source=False, latch_down=False)
            name = f"{index}/{demand.cavity}"
            demands.append(replace(demand, cavity=name))
            laid.append((name, round((left + (column + 0.5) * pitch) * 100), row))
            places[name] = index, demand.cavity
        left += end.housing.columns * pitch
    first = resolved.ends[0]
    return PartPlug(first.housing, tuple(demands), first.family.pitch_mm, tuple(laid)), places


def fork_shortages(sources: tuple[SourcePlug, ...], resolved: ResolvedRun) -> tuple[Shortage, ...]:
    """Nets of which the sources carry too little for all part plugs of a fork together.

    Args:
        sources: Plugs that give, without forbidden cavities.
        resolved: The run.
    """
    return shortages(sources, fork_plugs(resolved)[0])


def fork_of(sources: tuple[SourcePlug, ...], resolved: ResolvedRun, *, without_pin: str = "") -> Fork:
    """The best wiring of a fork: every order of up to three part plugs side by side is tried.

    Pins that cannot hold are left out, as for a single part plug. Equal costs are broken towards the order in which the
    plugs were entered.

    Args:
        sources: Plugs that give, without forbidden cavities.
        resolved: The run.
        without_pin: Cavity of the first part plug whose pin is let go of.

    Raises:
        ValueError: a net falls short; ask ``fork_shortages`` first.
    """
    pins = resolved.pinned
    first = part_plug(resolved.ends[0].facts, resolved.optional_at(0), pins)
    wrong = {cavity for cavity, _ in pin_problems(sources, first)}
    good = {cavity: where for cavity, where in pins.items() if cavity not in wrong and cavity != without_pin}
    tried = []
    for order in _orders(resolved, good):
        plug, places = fork_plugs(resolved, order, good)
        tried.append(Fork(assign(sources, plug), plug, places, order))
    return min(tried, key=lambda fork: fork.assignment.cost)


def _orders(resolved: ResolvedRun, pinned: Mapping[str, tuple[int, str]]) -> tuple[tuple[int, ...], ...]:
    """Orders of the part plugs worth trying, as entered first; plugs that are alike need not change places."""
    entered = tuple(range(len(resolved.ends)))
    if len(entered) > ORDERS_TRIED:
        return (entered,)
    plugs = [part_plug(end.facts, resolved.optional_at(i), {} if i else pinned) for i, end in enumerate(resolved.ends)]
    looks: dict[tuple[PartPlug, ...], tuple[int, ...]] = {}
    for order in permutations(entered):
        looks.setdefault(tuple(plugs[i] for i in order), order)
    return tuple(looks.values())
