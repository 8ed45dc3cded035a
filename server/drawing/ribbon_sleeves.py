"""Sleeve and heat-shrink on the flat drawing of a run, to scale, with the lengths that are cut."""

from itertools import pairwise

from server.domain.model.plan import PlannedWire, RunPlan
from server.drawing import svg
from server.drawing.plugs import is_bridge, stops
from server.drawing.ribbon_layout import Flat
from server.drawing.ribbon_measures import Measure, dimension, foot

TUBE = "#1b1b1d"
LEAST_BAND = 2.0

Stretch = tuple[int, int]
"""From one part plug to a later one by their index; -1 for the sources."""


def stretches(wire: PlannedWire) -> tuple[Stretch, ...]:
    """The stretches of a wire in order from the supply; each has a piece of sleeve of its own."""
    reached = stops(wire) if wire.source_at_end else (-1, *stops(wire))
    return tuple(pairwise(reached))


def banded(run: RunPlan) -> bool:
    """True when heat-shrink is seen over the ends of the sleeve; with melted ends it is taken off again."""
    return bool(run.shrink) and run.sleeve_end == "shrink"


def bands(flat: Flat, thick: float) -> str:
    """Heat-shrink over both ends of each piece of sleeve, as long as it is after shrinking.

    Args:
        flat: The run as laid out.
        thick: Thickness of a wire. [px]
    """
    run, shrink = flat.run, flat.catalogue.shrinks.get(flat.run.shrink)
    if not banded(run) or shrink is None or not flat.px_per_mm:
        return ""
    long = max(shrink.piece_mm * flat.px_per_mm, LEAST_BAND)
    parts: list[tuple[float, float]] = []
    if run.kind == "sleeved":
        for (top, tall), x in zip(flat.end_boxes, flat.faces, strict=True):
            parts += [(flat.start, top + tall / 2), (x - long, top + tall / 2)]
    for wire in run.wires:
        if not wire.sleeve_colour or is_bridge(wire):
            continue
        lane, end_y = flat.lane_y[wire.id], flat.end_y[wire.id]
        for start, end in stretches(wire):
            from_x = flat.start if start < 0 else flat.faces[start] + flat.sizes.plug
            from_y = flat.source_y[wire.id] if start < 0 else lane
            to_y = lane if flat.chained else end_y
            parts += [(from_x, from_y), (flat.faces[end] - long, to_y)]
    high = thick + (1.6 if not flat.sizes.small else 0.0)
    # One path for all: they look alike, and a cable of 24 wires has 48 of them.
    d = "".join(f"M{svg.num(x)} {svg.num(y - high / 2)}h{svg.num(long)}v{svg.num(high)}h{svg.num(-long)}z"
                for x, y in parts)  # fmt: skip
    # Between two dark sleeves the light rim is what shows where the tube begins.
    return f'<path d="{d}" fill="{TUBE}" stroke="#ffffff" stroke-width="0.8" data-bands="{len(parts)}"/>' if d else ""


def sleeve_measures(flat: Flat) -> list[Measure]:
    """Cut length of the sleeve on each stretch, and of the heat-shrink over its ends."""
    run = flat.run
    if not run.sleeve_pieces:
        return []
    cuts: dict[Stretch, list[int]] = {}
    for wire in run.wires:
        for stretch, cut in zip(stretches(wire), wire.sleeve_mm, strict=False):
            cuts.setdefault(stretch, []).append(cut)
    label = _label(flat)
    found = []
    for (start, end), held in sorted(cuts.items()):
        left = flat.start if start < 0 else flat.faces[start]
        words = _span(held)
        if len(cuts) == 1:
            words = f"{_limit(run)}{words} mm, covers {_span([round(p.covered_mm) for p in run.sleeve_pieces])} mm"
        found.append(dimension(flat, left, _right(flat, end), words, short=_span(held), label=label,
                               feet=(foot(flat, start), foot(flat, end))))  # fmt: skip
        label = ()
    if not cuts:
        covered = _span([round(piece.covered_mm) for piece in run.sleeve_pieces])
        colours = "/".join(dict.fromkeys(piece.colour for piece in run.sleeve_pieces))
        words = f"{colours} {_limit(run)}{_span([piece.cut_mm for piece in run.sleeve_pieces])} mm, covers {covered} mm"
        found.append(dimension(flat, flat.start, max(flat.faces, default=flat.start), words, label=label,
                               feet=(foot(flat, -1), foot(flat, len(run.ends) - 1))))  # fmt: skip
    return [*found, *_shrink(flat)]


def _limit(run: RunPlan) -> str:
    """What the length of a sleeve is, of a run that may still come out shorter only a limit."""
    return "sleeve cut " if run.state == "measured" else "sleeve at most "


def _right(flat: Flat, end: int) -> float:
    """Where the sleeve of a stretch ends; the plugs of a fork are at different distances and the farthest counts."""
    return flat.faces[end] if flat.chained else max(flat.faces)


def _label(flat: Flat) -> tuple[str, ...]:
    """What stands left of the sleeve's row; a small drawing has no row of its own for the heat-shrink."""
    limit = _limit(flat.run).rstrip()
    if not flat.sizes.small:
        return ("sleeve as cut, mm" if flat.run.state == "measured" else f"{limit}, mm",)
    return (limit, f"shrink {flat.run.shrink_cut_mm}") if flat.run.shrink_count else (limit,)


def _shrink(flat: Flat) -> list[Measure]:
    """One piece of heat-shrink: how long it is cut, and how much of it shows; drawn where it lies at the source."""
    run, shrink = flat.run, flat.catalogue.shrinks.get(flat.run.shrink)
    if shrink is None or not run.shrink_count or not flat.px_per_mm or flat.sizes.small:
        return []
    words = f"{run.shrink_count} × shrink cut {run.shrink_cut_mm} mm"
    words += f", shows {svg.num(shrink.piece_mm)} mm" if banded(run) else ", taken off again"
    long = max(shrink.piece_mm * flat.px_per_mm, LEAST_BAND) if banded(run) else 0.0
    return [dimension(flat, flat.start, flat.start + long, words, label=("shrink as cut",))]


def _span(values: list[int]) -> str:
    low, high = min(values), max(values)
    return str(low) if low == high else f"{low}–{high}"
