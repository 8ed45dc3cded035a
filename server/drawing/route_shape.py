"""A route by legs and bends, drawn to scale: the ribbon as it lies, from above, from the side and from behind.

The ribbon is a flat bar that follows the steps; every piece of it is drawn face by face, the nearest last, so that what
lies over what can be seen. Its latch face is plain, its back is hatched: a twist shows.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from server.domain.model.route import RouteStep
from server.drawing import svg
from server.drawing.route_labels import Labels
from server.drawing.route_walk import Station, Vector, add, cross, dot, half_way, minus, stations, times

WIDE = 520.0
TALL = 470.0
"""Greatest height of all views together, their margins not counted. [px]"""
MARGIN, HEAD, FOOT = 34.0, 20.0, 26.0
SCALE_MOST = 2.5
"""Scale of a very short route; larger would show nothing more. [px/mm]"""
PLUG_MM, PLUG_RIM_MM = 14.0, 2.0
STATIONS_MOST = 3000
"""Places along the ribbon at which it is drawn; a longer row of bends is drawn with coarser arcs."""
SUPPLY_PLUG, PART_PLUG = -1, -2
"""Stand for the plugs where other pieces have the index of their step."""
NUMBERS_MOST = 40
"""Steps that are numbered on one drawing; of more, every second, third and so on."""
WIRES_UP_TO = 60
"""More steps than this are drawn without a line between the wires."""
PIECES = 200
"""Pieces of ribbon, at least, that are told apart when one lies over another."""


@dataclass(frozen=True, slots=True)
class RibbonSize:
    """What the ribbon is made of, as it lies at the part plug."""

    offsets_mm: tuple[float, ...]
    """Where its columns lie, from the middle to the right. [mm]"""
    heights_mm: tuple[float, ...]
    """Where its rows lie, from the middle upward. [mm]"""
    wire_mm: float
    """Diameter of the thickest wire. [mm]"""

    @property
    def edges_mm(self) -> tuple[float, float]:
        """Left and right edge. [mm]"""
        return min(self.offsets_mm) - self.wire_mm / 2, max(self.offsets_mm) + self.wire_mm / 2

    @property
    def faces_mm(self) -> tuple[float, float]:
        """Lower and upper face. [mm]"""
        return min(self.heights_mm) - self.wire_mm / 2, max(self.heights_mm) + self.wire_mm / 2


@dataclass(frozen=True, slots=True)
class _View:
    """One way to look at the route."""

    name: str
    right: Vector
    down: Vector
    toward: Vector
    """From the route to the eye."""

    def flat(self, point: Vector) -> tuple[float, float]:
        """A point on the view, before scaling. [mm]"""
        return dot(point, self.right), dot(point, self.down)


TOP = _View("top view", (1, 0, 0), (0, -1, 0), (0, 0, 1))
SIDE = _View("side view, from the right", (1, 0, 0), (0, 0, -1), (0, -1, 0))
BEHIND = _View("from behind, looking ahead", (0, -1, 0), (0, 0, -1), (-1, 0, 0))

Corner = tuple[Vector, Vector, Vector, Vector]
"""The ribbon's corners at one place: upper left, upper right, lower right, lower left."""


@dataclass(frozen=True, slots=True)
class _Piece:
    """One step of the ribbon, or a plug at its end."""

    step: int
    """Index of the step; less than zero for a plug."""
    stations: tuple[Station, ...]
    corners: tuple[Corner, ...]


@dataclass(frozen=True, slots=True)
class _Placed:
    """A view with its place on the sheet."""

    view: _View
    x: float
    y: float
    scale: float
    top: float
    """Upper edge of its part of the sheet. [px]"""

    def at(self, point: Vector) -> tuple[float, float]:
        """A point on the sheet. [px]"""
        x, y = self.view.flat(point)
        return self.x + x * self.scale, self.y + y * self.scale


def route_shape_svg(
    steps: Sequence[RouteStep],
    ribbon: RibbonSize,
    prefix: str,
    *,
    length: Callable[[float], str],
    tight: frozenset[int] = frozenset(),
    rows: Sequence[int] = (),
) -> str:
    """The ribbon as it lies along its steps, to one scale in every view.

    Args:
        steps: Legs, bends and twists from the source plug on; every bend with its radius.
        ribbon: Size of the ribbon.
        prefix: Start of every id in the drawing.
        length: Words for a length given in mm, with its unit.
        tight: Indices of the bends that are too tight.
        rows: Number of each step as the table shows it; counted from 1 when left out.

    Returns:
        An ``svg`` element; an empty text for a route without steps.
    """
    if not steps:
        return ""
    pieces = _pieces(stations(steps, _chord_deg(steps)), ribbon)
    views = [TOP, SIDE] + ([BEHIND] if any(_best(p, steps, (TOP, SIDE, BEHIND)) == 2 for p in pieces) else [])
    placed, tall = _lay_out(pieces, views)
    numbers = rows or range(1, len(steps) + 1)
    labels = Labels(WIDE, tall)
    body = [svg.rect(0, 0, WIDE, tall, cls="sheet"), _definitions(prefix)]
    bottoms = [*(look.top for look in placed[1:]), tall - FOOT]
    for look, bottom in zip(placed, bottoms, strict=True):
        labels.within(look.top, bottom)
        body += _ribbon(look, pieces, ribbon, prefix, wires=len(steps) <= WIRES_UP_TO)
        body += _heading(look, pieces, labels)
    every = math.ceil(len(steps) / NUMBERS_MOST)
    for piece in pieces[1:-1]:
        if piece.step in tight or piece.step % every == 0:
            best = _best(piece, steps, views)
            look = placed[best]
            labels.within(look.top, bottoms[best])
            said = _Said(steps[piece.step], str(numbers[piece.step]), piece.step in tight)
            body.append(_labelled(labels, look, piece, said, length))
    body.append(_foot(placed[0].scale, tall, length, every))
    title = f"The ribbon as it lies, {len(steps)} steps, {' and '.join(view.name.split(',')[0] for view in views)}"
    return svg.document(f"{prefix}-path", "route-shape", (WIDE, tall), (title, _told(steps, numbers, length)), body)


def _chord_deg(steps: Sequence[RouteStep]) -> float:
    """Turn between two places of an arc: fine, and coarser where there are very many bends. [deg]"""
    return max(5.0, sum(abs(step.angle_deg) for step in steps) / STATIONS_MOST)


def _pieces(found: Sequence[tuple[Station, ...]], ribbon: RibbonSize) -> list[_Piece]:
    """The ribbon step by step between its two plugs."""
    pieces = [_piece(step, held, ribbon, 0.0) for step, held in enumerate(found)]
    first, last = found[0][0], found[-1][-1]
    supply, part = (first.moved(-PLUG_MM), first), (last, last.moved(PLUG_MM))
    return [_piece(SUPPLY_PLUG, supply, ribbon, PLUG_RIM_MM), *pieces, _piece(PART_PLUG, part, ribbon, PLUG_RIM_MM)]


def _piece(step: int, held: tuple[Station, ...], ribbon: RibbonSize, rim: float) -> _Piece:
    (left, right), (low, high) = ribbon.edges_mm, ribbon.faces_mm
    left, right, low, high = left - rim, right + rim, low - rim, high + rim
    corners = tuple((s.at(left, high), s.at(right, high), s.at(right, low), s.at(left, low)) for s in held)
    return _Piece(step, held, corners)


def _best(piece: _Piece, steps: Sequence[RouteStep], views: Sequence[_View]) -> int:
    """Index of the view that shows a step best: a bend open, a leg at its full length."""
    if piece.step < 0:
        return 0
    start, end = piece.stations[0], piece.stations[-1]
    way = minus(end.point, start.point)
    seen = [math.hypot(*view.flat(way)) for view in views]
    if steps[piece.step].kind not in ("leg", "twist"):
        flat = cross(minus(half_way(piece.stations), start.point), minus(end.point, half_way(piece.stations)))
        if math.hypot(*flat) > 1e-9:
            seen = [abs(dot(flat, view.toward)) for view in views]
    # A hair's breadth is no reason to leave the first view.
    return next(i for i, value in enumerate(seen) if value >= max(seen) * 0.98)


def _lay_out(pieces: Sequence[_Piece], views: Sequence[_View]) -> tuple[list[_Placed], float]:
    """Scale and place of every view, one below the other; the first two line up along the route."""
    boxes = []
    for view in views:
        flat = [view.flat(point) for piece in pieces for corner in piece.corners for point in corner]
        xs, ys = [x for x, _ in flat], [y for _, y in flat]
        boxes.append((min(xs), max(xs), min(ys), max(ys)))
    wide = max(high - low for low, high, _, _ in boxes)
    tall = sum(bottom - top for _, _, top, bottom in boxes)
    scale = min(SCALE_MOST, (WIDE - 2 * MARGIN) / max(wide, 1e-6), TALL / max(tall, 1e-6))
    placed, y = [], 0.0
    for view, (left, right, top, bottom) in zip(views, boxes, strict=True):
        placed.append(_Placed(view, (WIDE - (left + right) * scale) / 2, y + HEAD + MARGIN - top * scale, scale, y))
        y += HEAD + (bottom - top) * scale + 2 * MARGIN
    return placed, round(y + FOOT, 1)


def _definitions(prefix: str) -> str:
    """The hatching of the ribbon's back."""
    lines = svg.path("M-1 5l4 -4M1 7l4 -4", "line thin muted")
    return (
        f'<defs><pattern id="{prefix}-path-back" width="4" height="4" patternUnits="userSpaceOnUse">'
        f"{svg.rect(0, 0, 4, 4, cls='paper')}{lines}</pattern></defs>"
    )


SIDES = (("face", 0, 1), ("edge-face", 1, 2), ("back", 2, 3), ("edge-face", 3, 0))
"""Faces of the bar between two of its corners."""


def _ribbon(look: _Placed, pieces: Sequence[_Piece], ribbon: RibbonSize, prefix: str, *, wires: bool) -> list[str]:
    """All pieces of the ribbon, the farthest first."""
    depth = {p.step: sum(dot(s.point, look.view.toward) for s in p.stations) / len(p.stations) for p in pieces}
    order = sorted(pieces, key=lambda piece: depth[piece.step])
    together = max(1, len(pieces) // PIECES)
    drawn: list[str] = []
    for start in range(0, len(order), together):
        fills: dict[str, list[str]] = {}
        edges: list[str] = []
        lines: list[str] = []
        for piece in order[start : start + together]:
            for name, first, second in SIDES:
                shown = f"plug {name}" if piece.step < 0 else name
                for low, high in _facing(look.view, piece, first, second):
                    one = [look.at(piece.corners[i][first]) for i in range(low, high + 1)]
                    other = [look.at(piece.corners[i][second]) for i in range(low, high + 1)]
                    fills.setdefault(shown, []).append(_line([*one, *reversed(other)]) + "z")
                    edges.append(_line(one) + _line(other))
                    if piece.step < 0:
                        edges.append(_line([one[0], other[0]]) + _line([one[-1], other[-1]]))
            if piece.step < 0:
                for corner, outward in _caps(piece):
                    if dot(outward, look.view.toward) > 1e-9:
                        d = _line([look.at(point) for point in corner]) + "z"
                        fills.setdefault("plug", []).append(d)
                        edges.append(d)
            if wires and piece.step >= 0:
                lines += _wire_lines(look, piece, ribbon)
        drawn += [_filled(name, "".join(parts), prefix) for name, parts in fills.items()]
        if lines:
            drawn.append(svg.path("".join(lines), "line wire-line"))
        drawn.append(svg.path("".join(edges), "line thin"))
    return drawn


def _caps(piece: _Piece) -> tuple[tuple[Corner, Vector], tuple[Corner, Vector]]:
    """Both ends of a plug, each with the direction that it looks to."""
    ahead = piece.stations[0].ahead
    return (piece.corners[0], times(ahead, -1)), (piece.corners[-1], ahead)


def _filled(name: str, d: str, prefix: str) -> str:
    """A face of the bar in its fill."""
    if name == "back":
        return f'<path d="{d}" fill="url(#{prefix}-path-back)"/>'
    return svg.shape(d, {"face": "paper", "edge-face": "rim"}.get(name, "plug"))


def _facing(view: _View, piece: _Piece, first: int, second: int) -> list[tuple[int, int]]:
    """Stretches of one face that look to the eye, each as its first and last station."""
    outward = ((0, 1), (1, 0), (0, -1), (-1, 0))[first]
    runs: list[tuple[int, int]] = []
    for i in range(len(piece.stations) - 1):
        a, b = piece.stations[i], piece.stations[i + 1]
        normal = add(a.across(*outward), b.across(*outward))
        if dot(normal, view.toward) <= 1e-9:
            continue
        if runs and runs[-1][1] == i:
            runs[-1] = (runs[-1][0], i + 1)
        else:
            runs.append((i, i + 1))
    return runs


def _wire_lines(look: _Placed, piece: _Piece, ribbon: RibbonSize) -> list[str]:
    """Lines between neighbouring wires, on the faces that look to the eye."""
    (low, high) = ribbon.faces_mm
    found = []
    for side, height in ((0, high), (2, low)):
        for first, last in _facing(look.view, piece, side, side + 1):
            held = piece.stations[first : last + 1]
            for a, b in pairwise(ribbon.offsets_mm):
                if abs(b - a) * look.scale >= 2.5:
                    found.append(_line([look.at(s.at((a + b) / 2, height)) for s in held]))
    return found


def _line(points: Sequence[tuple[float, float]]) -> str:
    """A line through points, to a tenth of a pixel."""
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points)


@dataclass(frozen=True, slots=True)
class _Said:
    """What is written at one step."""

    step: RouteStep
    number: str
    tight: bool


def _labelled(labels: Labels, look: _Placed, piece: _Piece, said: _Said, length: Callable[[float], str]) -> str:
    """Number of a step in its balloon, with its measure: along a leg as a dimension, else beside the balloon."""
    start, end = ([look.at(point) for point in piece.corners[i]] for i in (0, -1))
    middle = look.at(half_way(piece.stations))
    words = step_words(said.step, length)
    if said.step.kind == "leg":
        drawn = labels.dimension(start, end, words)
        if drawn:
            return drawn + labels.number(middle, said.number)
    return labels.balloon(middle, said.number, words, tight=said.tight)


def step_words(step: RouteStep, length: Callable[[float], str]) -> str:
    """The measure of one step: ``220 mm``, ``90° R 40 mm``, ``180° in 60 mm``."""
    if step.kind == "leg":
        return length(step.length_mm)
    if step.kind == "twist":
        return f"twist {svg.num(step.angle_deg)}° in {length(step.length_mm)}"
    return f"{svg.num(step.angle_deg)}° R {length(step.radius_mm)}"


def _heading(look: _Placed, pieces: Sequence[_Piece], labels: Labels) -> list[str]:
    """The name of a view with its eye at its upper left, and which plug is which; labels are kept off both."""
    name = look.view.name
    drawn = [svg.line(0, look.top, WIDE, look.top, "line thin hairline")] if look.top else []
    drawn += [svg.eye(12, look.top + 15), svg.text(34, look.top + 19, name, "muted")]
    labels.take((8, look.top + 4, 38 + svg.width(name), look.top + 24))
    for piece in pieces:
        labels.keep_clear([look.at(station.point) for station in piece.stations])
    for piece, word in ((pieces[0], "supply"), (pieces[-1], "part")):
        points = [look.at(point) for corner in piece.corners for point in corner]
        xs, ys = [x for x, _ in points], [y for _, y in points]
        half = svg.width(word) / 2 + 3
        x = min(max((min(xs) + max(xs)) / 2, half + 4), WIDE - half - 4)
        y = labels.below((x - half, x + half), (min(ys), max(ys)))
        drawn.append(svg.text(x, y, word, "heading haloed", anchor="middle"))
    return drawn


def _foot(scale: float, tall: float, length: Callable[[float], str], every: int) -> str:
    """A bar of a round length, at the lower left, and what else is to be known of the drawing."""
    room = 150 / scale
    size = 10.0 ** math.floor(math.log10(room))
    size = next(size * by for by in (5, 2, 1) if size * by <= room)
    y, half = tall - 9, size * scale / 2
    note = "one scale in all views" + (f"; of every {every} steps one is numbered" if every > 1 else "")
    return "".join(
        (
            svg.rect(12, y - 5, half, 5, cls="solid"),
            svg.rect(12 + half, y - 5, half, 5, cls="paper edge"),
            svg.text(20 + 2 * half, y, length(size), "ink"),
            svg.text(WIDE - 12, y, note, "muted", anchor="end", size=svg.SMALL),
        )
    )


def _told(steps: Sequence[RouteStep], numbers: Sequence[int], length: Callable[[float], str]) -> str:
    """The first steps in words, for who cannot see the drawing."""
    said = [
        f"{number}: {'' if step.kind == 'twist' else f'{step.kind} '}{step_words(step, length)}"
        for number, step in zip(numbers[:12], steps[:12], strict=False)
    ]
    more = f" and {len(steps) - 12} more" if len(steps) > 12 else ""
    return f"From the supply's plug to the part's: {'; '.join(said)}{more}."
