"""Where a route is straight, as seen from the part plug: the only places where a comb sits."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from server.domain.lengths import middle_mm
from server.domain.materials.combs import Stretch
from server.domain.model.plan import CombPlace
from server.domain.model.route import RouteStep
from server.domain.reference import COMBS_APART_MM


def off_bends(
    places: Sequence[CombPlace], stretch: Stretch, steps: Sequence[RouteStep], reach_mm: float = 0.0
) -> tuple[CombPlace, ...]:
    """Combs of one stretch with those that would sit inside a bend or a twist moved to the nearest straight place.

    Args:
        places: Combs of the stretch.
        stretch: Where the ribbon is seen; no comb leaves it.
        steps: Legs, bends and twists, from the source plug to the part plug.
        reach_mm: The part plug's own reach beyond the end of the route, which is straight. [mm]

    Returns:
        The combs from the part plug on, without those for which no straight place is free: two combs stand at least
        ``COMBS_APART_MM`` apart.

    Source:
        A comb holds a flat, straight ribbon; inside a bend or a twist it kinks the wires (common practice).
    """
    straight = [
        (max(low, math.ceil(round(stretch.start_mm, 6))), min(high, math.floor(round(stretch.end_mm, 6))))
        for low, high in _straight(steps, reach_mm)
    ]
    kept = [place for place in places if any(low <= place.at_mm <= high for low, high in straight)]
    for place in places:
        if place in kept:
            continue
        free = [at for low, high in straight for at in _free(low, high, [other.at_mm for other in kept], place.at_mm)]
        if free:
            kept.append(replace(place, at_mm=min(free, key=lambda at: (abs(at - place.at_mm), at))))
    return tuple(sorted(kept, key=lambda place: place.at_mm))


def _straight(steps: Sequence[RouteStep], reach_mm: float) -> Iterator[tuple[int, int]]:
    """Legs in whole millimetres from the part plug's face, both ends included. [mm]"""
    at, start = reach_mm, 0.0
    for step in reversed(steps):
        if step.kind != "leg":
            yield math.ceil(round(start, 6)), math.floor(round(at, 6))
            start = at + middle_mm([step])
            at = start
        else:
            at += step.length_mm
    yield math.ceil(round(start, 6)), math.floor(round(at, 6))


def _free(low: int, high: int, taken: Sequence[int], wanted: int) -> Iterator[int]:
    """Places of one straight stretch next to the wanted one and to the combs that stand already. [mm]"""
    apart = math.ceil(COMBS_APART_MM)
    for at in (min(max(wanted, low), high), *(other + side * apart for other in taken for side in (-1, 1))):
        if low <= at <= high and all(abs(at - other) >= apart for other in taken):
            yield at
