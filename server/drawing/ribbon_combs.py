"""Combs on the flat drawing of a run, and the same in words."""

from itertools import pairwise

from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import CombPlace, PlannedWire, RunPlan
from server.drawing import svg
from server.drawing.plugs import is_bridge, tail_mm
from server.drawing.ribbon_layout import Flat, height_at
from server.drawing.ribbon_measures import Measure, running


def in_tail(run: RunPlan, place: CombPlace) -> bool:
    """True for a comb on the wires of one plug of a fork, before they lie in the common ribbon."""
    return run.kind == "fork" and (place.plug > 0 or place.at_mm < tail_mm(run, place.plug, at_source=False))


def comb_words(run: RunPlan, catalogue: Catalogue) -> tuple[str, ...]:
    """Combs by size and plug, with their places: ``comb, 24 ways: 40, 160 mm from the part plug``."""
    # Several plugs of one part are told apart by their sockets.
    names = [plug.place for plug in run.ends]
    if len(set(names)) < len(names):
        names = [plug.socket for plug in run.ends]
    alike: dict[tuple[int, str, bool], list[int]] = {}
    for place in run.combs:
        alike.setdefault((place.plug, place.comb, in_tail(run, place)), []).append(place.at_mm)
    return tuple(
        f"{_comb_name(comb, catalogue)}: {', '.join(map(str, places))} mm from "
        + (names[plug] if len(names) > 1 else "the part plug")
        + (", on its tail" if tail else "")
        for (plug, comb, tail), places in alike.items()
    )


def _comb_name(comb: str, catalogue: Catalogue) -> str:
    known = catalogue.combs.get(comb)
    return known.name if known else comb


def combs_svg(flat: Flat) -> str:
    """Combs across the wires that they hold; only drawn where the drawing is to scale.

    A closed comb is a bar; an open one is a back with teeth, its open side towards the part plug.
    """
    if not flat.px_per_mm or not flat.lane_y:
        return ""
    return "".join(_comb(flat, place) for place in flat.run.combs)


def _comb(flat: Flat, place: CombPlace) -> str:
    x, heights = comb_x(flat, place), _heights(flat, place)
    if not heights:
        return ""
    half, bar = flat.sizes.lane / 2, flat.sizes.bar
    top, bottom = heights[0] - half - 3, heights[-1] + half + 3
    if not _open(flat, place) or flat.sizes.small:
        return svg.rect(x - bar / 2, top, bar, bottom - top, cls="paper edge", data_comb=str(place.at_mm))
    return open_comb(x - bar / 2, top, bottom, heights, str(place.at_mm))


def open_comb(x: float, top: float, bottom: float, heights: list[float], at: str) -> str:
    """The back of an open comb, and a tooth on either side of each wire, pointing to the right."""
    between = [(a + b) / 2 for a, b in pairwise(heights)]
    num = svg.num
    teeth = "".join(f"M{num(x + 2.5)} {num(y)}h6" for y in (top + 1, *between, bottom - 1))
    back = svg.rect(x, top, 2.5, bottom - top, cls="paper edge", data_comb=at, data_open="yes")
    return back + svg.path(teeth, "line heavy")


def comb_x(flat: Flat, place: CombPlace) -> float:
    """Where a comb lies along the drawing. [px]"""
    return flat.faces[place.plug] - place.at_mm * flat.px_per_mm


def _heights(flat: Flat, place: CombPlace) -> list[float]:
    """Heights of the wires where the comb holds them, from the top. [px]"""
    x, held = comb_x(flat, place), _held(flat, place)
    return sorted(flat.lane_y[wire.id] if flat.chained else height_at(flat, wire, x) for wire in held)


def _held(flat: Flat, place: CombPlace) -> list[PlannedWire]:
    """Wires that lie in the ribbon where the comb is."""
    laid = [wire for wire in flat.run.wires if not is_bridge(wire)]
    if in_tail(flat.run, place):
        return [wire for wire in laid if wire.target.plug == place.plug]
    if not flat.chained:
        return laid
    return [wire for wire in laid if (wire.source.plug if wire.source_at_end else -1) < place.plug <= wire.target.plug]


def _open(flat: Flat, place: CombPlace) -> bool:
    comb = flat.catalogue.combs.get(place.comb)
    return comb is not None and comb.kind == "open"


def comb_measures(flat: Flat) -> list[Measure]:
    """Distance of each comb of the ribbon from the face of its part plug; none where it is not drawn to scale."""
    shown = [place for place in flat.run.combs if not in_tail(flat.run, place)]
    if not flat.px_per_mm or not flat.lane_y or not shown:
        return []
    kind = "open " if all(_open(flat, place) for place in shown) else ""
    count = f"{len(shown)} {kind}comb{'s' if len(shown) != 1 else ''}"
    where = "from each plug" if flat.chained else "from the part plug"
    label: tuple[str, ...] = (count,) if flat.sizes.small else (f"{count}, mm", where)
    found = []
    for plug in sorted({place.plug for place in shown}):
        top, high = flat.end_boxes[plug]
        held = sorted((place for place in shown if place.plug == plug), key=lambda place: place.at_mm)
        places = [(comb_x(flat, place), str(place.at_mm), _lower_edge(flat, place)) for place in held]
        found.append(running(flat, flat.faces[plug], places, foot=top + high, label=label))
        label = ()
    return found


def _lower_edge(flat: Flat, place: CombPlace) -> float:
    """Where a comb ends below. [px]"""
    heights = _heights(flat, place)
    return heights[-1] + flat.sizes.lane / 2 + 3 if heights else flat.lowest
