"""Combs of a ribbon, caps of displacement plugs."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from server.domain.model.catalogue import Cap, Catalogue, Comb, CombKind, Family
from server.domain.model.plan import CombPlace

STRETCH_LEAST_MM = 40.0
"""A shorter stretch of ribbon takes no comb of its own: plug and comb hold it. [mm] Source: common practice."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """A visible stretch of ribbon along which the same wires lie side by side."""

    start_mm: float
    """From the wire-side face of the part plug ``plug``. [mm]"""
    end_mm: float
    wires: int
    rows: int
    plug: int
    """Index of the part plug that the stretch counts from."""
    columns: int = 0
    """Wires in the fullest row; 0 where they can be spread over the rows as they please."""


def comb_for(catalogue: Catalogue, wires: int, rows: int, kind: CombKind, columns: int = 0) -> Comb | None:
    """The smallest comb that holds so many wires in so many rows.

    Args:
        catalogue: Reference data.
        wires: Wires side by side and above each other.
        rows: Rows of the ribbon; a comb of another number of rows would pull it out of shape.
        kind: Closed, with holes to thread, or open, to press wires into from the side.
        columns: Wires in the fullest row, where they cannot be spread over the rows.

    Returns:
        The comb with the fewest ways, file order breaking ties; ``None`` for fewer than two wires, or when none holds
        them.
    """
    if wires < 2:
        return None
    takes = [
        comb
        for comb in catalogue.combs.values()
        if comb.kind == kind and comb.rows == rows and comb.ways >= wires and comb.columns >= columns
    ]
    return min(takes, key=lambda comb: comb.ways, default=None)


def comb_places(
    catalogue: Catalogue, stretches: Sequence[Stretch], kind: CombKind, spacing_mm: float
) -> tuple[CombPlace, ...]:
    """Where combs sit along the visible stretches of a run, and which.

    Args:
        catalogue: Reference data.
        stretches: Visible stretches in order from the part plugs, each with what is left of the ribbon there.
        kind: Closed or open combs.
        spacing_mm: Stretch of visible ribbon that one comb holds. [mm], more than 0

    Returns:
        One place for each started spacing of a stretch, in the middle of its share of it. None for a stretch under
        ``STRETCH_LEAST_MM``, of fewer than two wires, or of wires that no comb holds (``comb_for`` tells which).

    Raises:
        ValueError: the spacing is not more than 0.

    Source:
        Half the run is visible, one comb per 100 mm of it (common practice).
    """
    if not spacing_mm > 0:
        raise ValueError("combs must stand more than 0 mm apart")
    places: list[CombPlace] = []
    for stretch in stretches:
        comb = comb_for(catalogue, stretch.wires, stretch.rows, kind, stretch.columns)
        length = stretch.end_mm - stretch.start_mm
        if comb is None or round(length, 6) < STRETCH_LEAST_MM:
            continue
        count = math.ceil(round(length / spacing_mm, 6))
        for i in range(count):
            at_mm = math.floor(round(stretch.start_mm + (i + 0.5) * length / count, 6) + 0.5)
            places.append(CombPlace(comb.id, at_mm, stretch.plug, stretch.wires))
    return tuple(places)


def cap_for(catalogue: Catalogue, family: Family, *, last: bool) -> Cap | None:
    """The cap of an insulation-displacement plug: a through cap on all but the last, an end cap on the last."""
    wanted = "end" if last else "through"
    return next((c for c in catalogue.caps.values() if c.family == family.id and c.position == wanted), None)
