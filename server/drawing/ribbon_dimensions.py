"""Measures below the flat drawing of a run: combs, length and spacings, tails, tap marks."""

from server.domain.model.plan import RunPlan, TapMark
from server.drawing import svg
from server.drawing.plugs import length_words, tail_mm
from server.drawing.ribbon_combs import comb_measures, comb_words
from server.drawing.ribbon_layout import WHOLE, Flat
from server.drawing.ribbon_measures import Measure, dimension, foot, in_rows, running
from server.drawing.ribbon_sleeves import sleeve_measures


def tap_words(run: RunPlan) -> tuple[str, ...]:
    """Tap marks by plug: ``386 mm for Drive 1``."""
    marks: dict[int, list[int]] = {}
    for mark in run.tap_marks:
        marks.setdefault(mark.plug, []).append(mark.from_end_mm)
    return tuple(f"{_span(places)} mm for {run.ends[plug].place}" for plug, places in sorted(marks.items()))


def dimensions(flat: Flat) -> tuple[str, float]:
    """Measures below the ribbon, from the shortest outwards: combs, tails, sleeve, tap marks, length, and all of it.

    Args:
        flat: The run as laid out.

    Returns:
        Elements, and the height of the whole drawing. [px]
    """
    small = flat.sizes.small
    measures = [*comb_measures(flat), *_tail_measures(flat), *sleeve_measures(flat), *_mark_measures(flat)]
    measures += [*_length(flat), *_overall(flat)]
    drawn, y = in_rows(flat, measures, flat.bottom - (2 if small else 0))
    if small:
        return drawn + _view(flat, y), y + 6
    y += 22
    parts = [drawn, _view(flat, y)]
    told = comb_words(flat.run, flat.catalogue)
    if told and not (flat.px_per_mm and len(told) == 1):
        lines = svg.wrapped("combs: " + "; ".join(told), WHOLE.wide - 360, svg.SMALL)
        parts += [svg.text(346, y + i * 12, words, "muted", size=svg.SMALL) for i, words in enumerate(lines)]
        y += (len(lines) - 1) * 12
    return "".join(parts), y + 12


def _view(flat: Flat, y: float) -> str:
    """From where the ribbon is seen, with the eye; a small drawing says it left of its last row."""
    sizes = flat.sizes
    if sizes.small:
        told = "from above" if flat.px_per_mm else "no scale"
        return svg.text(sizes.left, y + 3, told, "muted", size=sizes.small_text)
    words = f"seen from above, part's latch up{_scale_words(flat)}"
    return svg.eye(sizes.left, y - 3) + svg.text(sizes.left + 20, y, words, "muted", size=sizes.small_text)


def _length(flat: Flat) -> list[Measure]:
    """The length to the first part plug, and a chain's spacings in line with it."""
    run, known = flat.run, flat.run.state == "measured"
    route = run.length_mm or run.high_mm
    start = flat.start
    end = (
        start + route * flat.px_per_mm if route and flat.px_per_mm else min(flat.faces, default=start + flat.sizes.span)
    )
    words = length_words(run)
    feet = [foot(flat, -1), *([foot(flat, 0)] if run.ends else [])]
    found = [
        dimension(flat, start, end, words, short=words.removesuffix(", not measured"), cls="ink" if known else "warn",
                  dashed=not known, feet=feet)
    ]  # fmt: skip
    for i in range(len(run.ends) - 1 if flat.chained else 0):
        words = f"{svg.num(run.spacing_mm[i])} mm" if i < len(run.spacing_mm) else "not measured"
        short = words.removesuffix(" mm") if i < len(run.spacing_mm) else "?"
        feet = [foot(flat, i), foot(flat, i + 1)]
        found.append(dimension(flat, flat.faces[i], flat.faces[i + 1], words, short=short, feet=feet))
    return found


def _overall(flat: Flat) -> list[Measure]:
    """The whole way: to the last plug of a chain, or to each plug of a fork that lies farther than the route."""
    run, start = flat.run, flat.start
    if run.state != "measured" or not run.length_mm or not flat.px_per_mm or len(run.ends) < 2:
        return []
    if flat.chained and flat.sizes.small:
        # Spacings and length stand in one row right below; there is no room for their sum.
        return []
    if flat.chained:
        last = len(run.ends) - 1
        words = f"{svg.num(round(run.length_mm + sum(run.spacing_mm[:last])))} mm in all"
        return [dimension(flat, start, flat.faces[last], words, feet=(foot(flat, -1), foot(flat, last)))]
    found = []
    for i, plug in enumerate(run.ends):
        if plug.ref.extra_mm:
            words = f"{svg.num(round(run.length_mm + plug.ref.extra_mm, 1))} mm"
            feet = (foot(flat, -1), foot(flat, i))
            found.append(dimension(flat, start, flat.faces[i], f"{words} to {plug.socket}", short=words, feet=feet))
    return found


def _tails(flat: Flat) -> tuple[list[tuple[float, float, float]], list[tuple[float, float, float]]]:
    """Tails behind the sources and before the part plugs: from and to along the drawing, and length. [px, px, mm]"""
    run = flat.run
    behind = [(flat.start, x, tail_mm(run, i, at_source=True)) for i, x in enumerate(flat.joins)]
    before = [(x, flat.faces[i], tail_mm(run, i, at_source=False)) for i, x in enumerate(flat.leaves)]
    if flat.chained:
        before = []
    return [tail for tail in dict.fromkeys(behind) if tail[2]], [tail for tail in dict.fromkeys(before) if tail[2]]


def _true(flat: Flat, tail: tuple[float, float, float]) -> bool:
    """True for a tail that is drawn to scale: some are too short or too long for it."""
    return abs(tail[1] - tail[0] - tail[2] * flat.px_per_mm) < 0.5


def _tail_measures(flat: Flat) -> list[Measure]:
    """Tails that are drawn to scale, each length once: those behind the sources, and those before the part plugs."""
    found = []
    for i, side in enumerate(_tails(flat)):
        for x, other_x, mm in (tail for tail in side if _true(flat, tail)):
            plug = -1 if not i else next((n for n, face in enumerate(flat.faces) if face == other_x), -1)
            ends = (foot(flat, plug), (other_x if not i else x, flat.lowest))
            found.append(dimension(flat, x, other_x, f"tail {svg.num(mm)} mm", short=f"tail {svg.num(mm)}", feet=ends))
    return found


def tails_to_scale(flat: Flat) -> bool:
    """True when every tail is as long on the drawing as it is, so that its dimension can stand below it."""
    return bool(flat.px_per_mm) and all(_true(flat, tail) for side in _tails(flat) for tail in side)


def _scale_words(flat: Flat) -> str:
    if not flat.px_per_mm:
        return "; not to scale"
    return "" if tails_to_scale(flat) else "; tails not to scale"


def _marks_by_start(run: RunPlan) -> dict[int, dict[int, list[int]]]:
    """Distances of the marks by plug, for each place where marked wires start: -1 for the sources."""
    starts = {wire.label: wire.source.plug if wire.source_at_end else -1 for wire in run.wires}
    found: dict[int, dict[int, list[int]]] = {}
    for mark in run.tap_marks:
        found.setdefault(_start(mark, starts), {}).setdefault(mark.plug, []).append(mark.from_end_mm)
    return dict(sorted(found.items()))


def _start(mark: TapMark, starts: dict[str, int]) -> int:
    return starts.get(mark.labels[0], -1) if mark.labels else -1


def _mark_measures(flat: Flat) -> list[Measure]:
    """Tap marks as running dimensions from the crimped end of their wires."""
    label = ("tap marks",) if flat.sizes.small else ("tap marks, mm", "from the crimped end")
    found = []
    for start, marks in _marks_by_start(flat.run).items():
        origin, below = foot(flat, start)
        places = [(*_swapped(foot(flat, plug), _span(at)),) for plug, at in sorted(marks.items())]
        found.append(running(flat, origin, places, foot=below, label=label))
    return found


def _swapped(place: tuple[float, float], words: str) -> tuple[float, str, float]:
    return place[0], words, place[1]


def _span(places: list[int]) -> str:
    low, high = min(places), max(places)
    return str(low) if low == high else f"{low}–{high}"
