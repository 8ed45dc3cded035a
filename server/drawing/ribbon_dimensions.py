"""Measures below the flat drawing of a run: combs, length and spacings, tails, tap marks."""

from server.domain.model.plan import RunPlan, TapMark
from server.drawing import svg
from server.drawing.plugs import length_words, tail_mm
from server.drawing.ribbon_combs import comb_words, in_tail, ordinates
from server.drawing.ribbon_layout import LEFT, START, WIDE, Flat


def tap_words(run: RunPlan) -> tuple[str, ...]:
    """Tap marks by plug: ``386 mm for Drive 1``."""
    marks: dict[int, list[int]] = {}
    for mark in run.tap_marks:
        marks.setdefault(mark.plug, []).append(mark.from_end_mm)
    return tuple(f"{_span(places)} mm for {run.ends[plug].place}" for plug, places in sorted(marks.items()))


def dimensions(flat: Flat) -> tuple[str, float]:
    """Combs from the part plug, the length with a chain's spacings, tails and tap marks, one row below the other.

    Args:
        flat: The run as laid out.

    Returns:
        Elements, and the height of the whole drawing. [px]
    """
    run, y = flat.run, flat.bottom + 8
    parts = []
    if flat.px_per_mm and any(not in_tail(run, place) for place in run.combs):
        parts.append(ordinates(flat, y))
        y += 40
    y += 16
    parts.append(_length(flat, y))
    for row in _tail_rows(flat):
        y += 20
        parts += [svg.dimension(x, other_x, y, words) for x, other_x, words in row]
    for start, marks in _marks_by_start(run).items():
        y += 26
        parts.append(_tap_marks(flat, y, start, marks))
    y += 22
    parts.append(svg.text(LEFT, y, f"seen from above, part's latch up{_scale_words(flat)}", "muted", size=svg.SMALL))
    told = comb_words(run, flat.catalogue)
    if told and not (flat.px_per_mm and len(told) == 1):
        whole = "combs: " + "; ".join(told)
        lines = svg.wrapped(whole, WIDE - 360, svg.SMALL)
        parts += [svg.text(LEFT + 330, y + i * 12, words, "muted", size=svg.SMALL) for i, words in enumerate(lines)]
        y += (len(lines) - 1) * 12
    return "".join(parts), y + 12


def _length(flat: Flat, y: float) -> str:
    """The length to the first part plug, and a chain's spacings in line with it."""
    run, known = flat.run, flat.run.state == "measured"
    route = run.length_mm or run.high_mm
    end = START + route * flat.px_per_mm if route and flat.px_per_mm else min(flat.faces, default=WIDE - START)
    parts = [svg.dimension(START, end, y, length_words(run), "ink" if known else "warn", dashed=not known)]
    for i in range(len(run.ends) - 1 if flat.chained else 0):
        words = f"{svg.num(run.spacing_mm[i])} mm" if i < len(run.spacing_mm) else "not measured"
        room = flat.faces[i + 1] - flat.faces[i]
        fitting = words if svg.width(words) < room else words.removesuffix(" mm")
        parts.append(svg.dimension(flat.faces[i], flat.faces[i + 1], y, svg.fitted(fitting, room)))
    return "".join(parts)


def _tails(flat: Flat) -> tuple[list[tuple[float, float, float]], list[tuple[float, float, float]]]:
    """Tails behind the sources and before the part plugs: from and to along the drawing, and length. [px, px, mm]"""
    run = flat.run
    behind = [(START, x, tail_mm(run, i, at_source=True)) for i, x in enumerate(flat.joins)]
    before = [(x, flat.faces[i], tail_mm(run, i, at_source=False)) for i, x in enumerate(flat.leaves)]
    if flat.chained:
        before = []
    return [tail for tail in dict.fromkeys(behind) if tail[2]], [tail for tail in dict.fromkeys(before) if tail[2]]


def _true(flat: Flat, tail: tuple[float, float, float]) -> bool:
    """True for a tail that is drawn to scale: some are too short or too long for it."""
    return abs(tail[1] - tail[0] - tail[2] * flat.px_per_mm) < 0.5


def _tail_rows(flat: Flat) -> list[list[tuple[float, float, str]]]:
    """Tails that are drawn to scale, each length once: those behind the sources, and those before the part plugs."""
    rows: list[list[tuple[float, float, str]]] = []
    for side in _tails(flat):
        for i, (x, other_x, mm) in enumerate(tail for tail in side if _true(flat, tail)):
            if i == len(rows):
                rows.append([])
            words = f"tail {svg.num(mm)} mm"
            rows[i].append((x, other_x, words if svg.width(words) < other_x - x else svg.num(mm)))
    return rows


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


def _tap_marks(flat: Flat, y: float, start: int, marks: dict[int, list[int]]) -> str:
    """One line from the crimped end through all marks, with the distance from that end at each of them."""
    origin = START if start < 0 else flat.faces[start]
    last = max(flat.faces[plug] for plug in marks)
    ticks = "".join(f"M{svg.num(flat.faces[plug])} {svg.num(y - 5)}v10" for plug in marks)
    parts = [svg.circle(origin, y, 2.5, "dot"), svg.line(origin + 2.5, y, last, y), svg.path(ticks, "line heavy")]
    before = origin
    for plug, places in sorted(marks.items()):
        x = flat.faces[plug]
        # Each distance is read at the end of its own stretch, where it cannot be taken for a spacing.
        words = svg.fitted(_span(places), x - before - 4)
        parts.append(svg.text(x - 4, y - 4, words, "ink", anchor="end", full=_span(places)))
        before = x
    parts.append(svg.text(LEFT, y - 8, "tap marks, mm from", "muted", size=svg.SMALL))
    parts.append(svg.text(LEFT, y + 4, "the crimped end", "muted", size=svg.SMALL))
    return "".join(parts)


def _span(places: list[int]) -> str:
    low, high = min(places), max(places)
    return str(low) if low == high else f"{low}–{high}"
