"""Where everything stands on a crossing diagram: the source's columns on the left, the part's on the right."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from server.domain.model.build import Run
from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import PlannedWire, Plug, RunPlan
from server.drawing import svg
from server.drawing.plugs import cells, is_bridge, joined, stops

LANE = 14.0
"""From one wire to the next, so that its label can be read. [px]"""
LEAST_COLUMN = 22.0
CELL = 36.0
"""Width of a cavity on the drawing, along the ribbon. [px]"""
PLATE_TEXT = 10.5
TOP, SIDE, FIELD, GAP = 62.0, 22.0, 190.0, 7.0
LEAST_WIDE = 430.0


@dataclass(frozen=True, slots=True)
class Way:
    """One wire of the stretch, from source cavity to part cavity."""

    label: str
    net: str
    colour: str
    """Code of the colour that the finished wire shows."""
    plug: int
    """Index into the run's ``sources``."""
    source_cavity: str
    end_plug: int
    """Index into the run's ``ends``."""
    cavity: str
    source_x: int
    """Across the ribbon from its middle, in hundredths of a millimetre."""
    end_x: int
    source_y: float
    """Height on the drawing. [px]"""
    end_y: float
    pinned: bool
    joined_to: str = ""
    """Label of the wire in the contact that this one is joined to behind the source plug; empty for most."""


@dataclass(frozen=True, slots=True)
class Bridge:
    """A wire from one cavity of the part plug to another, beside the ribbon."""

    label: str
    net: str
    colour: str
    plug: int
    """Index into the run's ``ends``."""
    first: str
    """The cavity that the ribbon feeds."""
    second: str


@dataclass(frozen=True, slots=True)
class Spot:
    """One cavity of a plug on the drawing."""

    cavity: str
    x: float
    """Left edge. [px]"""
    y: float
    """Middle. [px]"""
    high: float
    net: str
    wires: int
    forbidden: bool


@dataclass(frozen=True, slots=True)
class PlugPlace:
    """One plug on the drawing."""

    plug: Plug
    index: int
    """Index into the run's ``sources`` or ``ends``."""
    at_source: bool
    latch: str
    """Side of the ribbon's upper face that its latch is on: ``up``, ``down`` or ``none``."""
    x: float
    y: float
    """Upper edge. [px]"""
    broad: float
    high: float
    spots: tuple[Spot, ...]


@dataclass(frozen=True, slots=True)
class Meeting:
    """The point where two wires cross."""

    first: str
    second: str
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Sheet:
    """The whole diagram."""

    ways: tuple[Way, ...]
    """In ribbon order at the part end."""
    bridges: tuple[Bridge, ...]
    plugs: tuple[PlugPlace, ...]
    meetings: tuple[Meeting, ...]
    plate: float
    """Width of a wire's label. [px]"""
    left: float
    """Ribbon-side edge of the source plugs. [px]"""
    right: float
    """Ribbon-side edge of the part plugs. [px]"""
    wide: float
    bottom: float

    @property
    def fan(self) -> tuple[float, float]:
        """Where the wires leave their labels, left and right. [px]"""
        return self.left + 2 * GAP + self.plate, self.right - 2 * GAP - self.plate


@dataclass(frozen=True, slots=True)
class _Join:
    """One wire before it has its height."""

    wire: PlannedWire
    net: str
    plug: int
    source_cavity: str
    end_plug: int
    cavity: str


@dataclass(frozen=True, slots=True)
class _Frame:
    """Both ends in the common frame of the ribbon."""

    source_x: Mapping[tuple[int, str], int]
    end_x: Mapping[tuple[int, str], int]
    source_pitch: Mapping[int, float]
    end_pitch: Mapping[int, float]


def lay_out(run: RunPlan, catalogue: Catalogue, *, plain: bool, entered: Run | None) -> Sheet:
    """Place both ends and every wire of the run's first stretch.

    Args:
        run: The planned run, with at least one source and one part plug.
        catalogue: Reference data with housings and families.
        plain: True for the cavity-by-cavity wiring.
        entered: The run as the builder entered it, for pins and forbidden cavities.
    """
    joins = _plain_joins(run) if plain else _planned_joins(run)
    order = run.plain.order if plain and run.plain else tuple(range(len(run.sources)))
    fork = _end_order(run, plain=plain)
    down = {i: plug.latch_down and not plain for i, plug in enumerate(run.sources)}
    frame = _frame(run, catalogue, order, fork, down)
    scale = _scale(joins, frame)
    heights = _heights(joins, frame, scale)
    words = max((svg.width(f"{j.wire.label} {j.net}", PLATE_TEXT) for j in joins), default=40.0)
    plate = words + 8
    source_rows = max(_rows(plug, catalogue) for plug in run.sources)
    left = SIDE + source_rows * CELL
    end_rows = max(_rows(run.ends[i], catalogue) for i in fork)
    right = max(left + 4 * GAP + 2 * plate + FIELD, LEAST_WIDE - SIDE - end_rows * CELL)
    half = max(_half(run.sources, catalogue), _half([run.ends[i] for i in fork], catalogue)) * scale
    middle = TOP + half
    pins = {pin.cavity for pin in entered.pins} if entered else {cost.cavity for cost in run.pin_costs}
    elsewhere = {} if plain else joined(run)
    ways = tuple(
        Way(
            j.wire.label, j.net, j.wire.sleeve_colour or j.wire.colour, j.plug, j.source_cavity, j.end_plug, j.cavity,
            frame.source_x[j.plug, j.source_cavity], frame.end_x[j.end_plug, j.cavity],
            middle + heights[i][0], middle + heights[i][1],
            not plain and not j.end_plug and j.cavity in pins, elsewhere.get(j.wire.label, ""),
        )
        for i, j in enumerate(joins)
    )  # fmt: skip
    bridges = tuple(
        Bridge(wire.label, wire.net, wire.colour, wire.target.plug, wire.source.cavity, wire.target.cavity)
        for wire in run.wires
        if is_bridge(wire) and wire.target.plug in fork and not plain
    )
    forbidden = {(f.part, f.socket, f.cavity) for f in entered.forbidden} if entered and not plain else set()
    plugs = [
        _source_place(run, i, ways, catalogue, frame, scale, (left, middle), down=down[i], forbidden=forbidden)
        for i in order
    ]
    plugs += [_end_place(run, i, ways, bridges, catalogue, frame, scale, (right, middle)) for i in fork]
    edges = (left + 2 * GAP + plate, right - 2 * GAP - plate)
    return Sheet(
        ways,
        bridges,
        tuple(plugs),
        _meetings(ways, edges),
        plate,
        left,
        right,
        right + end_rows * CELL + SIDE,
        middle + half,
    )


def _end_order(run: RunPlan, *, plain: bool) -> tuple[int, ...]:
    """Part plugs of the first stretch from left to right: one, or all those of a fork in the order of their wires."""
    if run.kind != "fork":
        return (0,)
    entered = tuple(range(len(run.ends)))
    laid = () if plain else (wire.target.plug for wire in run.wires if not is_bridge(wire))
    return tuple(dict.fromkeys((*laid, *entered)))


def _planned_joins(run: RunPlan) -> list[_Join]:
    """The wires of the first stretch, with the part plug and cavity that each meets first."""
    joins = []
    for wire in run.wires:
        first = stops(wire)[0]
        if wire.source_at_end or (first and run.kind != "fork"):
            continue
        met = next(end for end in (*wire.taps, wire.target) if end.plug == first)
        joins.append(_Join(wire, wire.net, wire.source.plug, wire.source.cavity, first, met.cavity))
    return joins


def _plain_joins(run: RunPlan) -> list[_Join]:
    """The cavity-by-cavity wiring, each wire with the label and colour that its part cavity has in the plan."""
    planned: dict[tuple[int, str], PlannedWire] = {}
    for wire in run.wires:
        for end in (*wire.taps, wire.target):
            # A sense line stands behind the wire it is doubled with, so that it never takes that wire's place.
            planned.setdefault((end.plug, end.cavity), wire)
    links = run.plain.links if run.plain else ()
    ends = run.plain.ends if run.plain and run.plain.ends else (0,) * len(links)
    return [
        _Join(planned[end, cavity], run.sources[plug].nets.get(source, ""), plug, source, end, cavity)
        for (plug, source, cavity), end in zip(links, ends, strict=True)
        if (end, cavity) in planned
    ]


def _frame(
    run: RunPlan, catalogue: Catalogue, order: Iterable[int], ends: Iterable[int], down: Mapping[int, bool]
) -> _Frame:
    """Places across the ribbon seen from above with the part's latch up: plugs side by side, both ends centred."""
    # Both plugs face each other, so that the source's columns run the other way unless it is turned over.
    sources = [(i, run.sources[i], down[i], True) for i in order]
    source_x, source_pitch = _side_by_side(sources, catalogue)
    end_x, end_pitch = _side_by_side([(i, run.ends[i], False, False) for i in ends], catalogue)
    return _Frame(source_x, end_x, source_pitch, end_pitch)


def _side_by_side(
    plugs: Sequence[tuple[int, Plug, bool, bool]], catalogue: Catalogue
) -> tuple[dict[tuple[int, str], int], dict[int, float]]:
    """Place of every cavity across the ribbon, in hundredths of a millimetre, and each plug's pitch. [mm]

    Args:
        plugs: Index, plug, whether it is turned over and whether its columns are mirrored, from left to right.
        catalogue: Reference data.
    """
    left = -_half([plug for _, plug, _, _ in plugs], catalogue)
    places, pitches = {}, {}
    for i, plug, turned, mirrored in plugs:
        housing = catalogue.housings[plug.housing]
        pitches[i] = catalogue.families[housing.family].pitch_mm
        for cell in cells(housing, turned=turned, mirrored=mirrored):
            places[i, cell.name] = round((left + (cell.column + 0.5) * pitches[i]) * 100)
        left += housing.columns * pitches[i]
    return places, pitches


def _half(plugs: Iterable[Plug], catalogue: Catalogue) -> float:
    """Half the width of plugs side by side. [mm]"""
    housings = [catalogue.housings[plug.housing] for plug in plugs]
    return sum(h.columns * catalogue.families[h.family].pitch_mm for h in housings) / 2


def _rows(plug: Plug, catalogue: Catalogue) -> int:
    return max(cell.row for cell in cells(catalogue.housings[plug.housing], turned=False, mirrored=False)) + 1


def _scale(joins: list[_Join], frame: _Frame) -> float:
    """The least scale at which every column has room for the labels of its wires. [px/mm]"""
    at_source = Counter(frame.source_x[j.plug, j.source_cavity] for j in joins)
    at_end = Counter(frame.end_x[j.end_plug, j.cavity] for j in joins)
    needs = [LEAST_COLUMN / pitch for pitch in (*frame.source_pitch.values(), *frame.end_pitch.values())]
    for j in joins:
        needs.append(at_source[frame.source_x[j.plug, j.source_cavity]] * LANE / frame.source_pitch[j.plug])
        needs.append(at_end[frame.end_x[j.end_plug, j.cavity]] * LANE / frame.end_pitch[j.end_plug])
    return max(needs)


def _heights(joins: list[_Join], frame: _Frame, scale: float) -> list[tuple[float, float]]:
    """Heights of each wire at both ends, from the middle of the ribbon. [px]

    Wires of one column lie beside each other in the order of their other ends, so that none crosses another that only
    shares its column: such wires can be laid either way on the bench, and count as no crossing.
    """
    places = [(frame.source_x[j.plug, j.source_cavity], frame.end_x[j.end_plug, j.cavity]) for j in joins]
    heights = [[0.0, 0.0] for _ in joins]
    for side in (0, 1):
        columns: dict[int, list[int]] = {}
        for i, place in enumerate(places):
            columns.setdefault(place[side], []).append(i)
        for x, held in columns.items():
            held.sort(key=lambda i: (places[i][1 - side], i))
            for k, i in enumerate(held):
                heights[i][side] = x / 100 * scale + (k - (len(held) - 1) / 2) * LANE
    return [(a, b) for a, b in heights]


def _meetings(ways: tuple[Way, ...], edges: tuple[float, float]) -> tuple[Meeting, ...]:
    """Where wires cross: exactly those pairs whose order at one end is reversed at the other."""
    found = []
    for i, a in enumerate(ways):
        for b in ways[i + 1 :]:
            if (a.source_x - b.source_x) * (a.end_x - b.end_x) < 0:
                part = (b.source_y - a.source_y) / ((a.end_y - a.source_y) - (b.end_y - b.source_y))
                y = a.source_y + part * (a.end_y - a.source_y)
                found.append(Meeting(a.label, b.label, edges[0] + part * (edges[1] - edges[0]), y))
    return tuple(found)


def _source_place(
    run: RunPlan, index: int, ways: tuple[Way, ...], catalogue: Catalogue, frame: _Frame, scale: float,
    at: tuple[float, float], *, down: bool, forbidden: set[tuple[str, str, str]],
) -> PlugPlace:  # fmt: skip
    """A source plug, unfolded to the left of the ribbon: its upper row lies outermost."""
    plug, (edge, middle) = run.sources[index], at
    housing = catalogue.housings[plug.housing]
    held = Counter(way.source_cavity for way in ways if way.plug == index and not way.joined_to)
    rows = _rows(plug, catalogue)
    high = frame.source_pitch[index] * scale
    spots = tuple(
        Spot(
            cell.name, edge - (rows - cell.row) * CELL, middle + frame.source_x[index, cell.name] / 100 * scale, high,
            plug.nets.get(cell.name, ""), held[cell.name], (plug.ref.part, plug.ref.socket, cell.name) in forbidden,
        )
        for cell in cells(housing, turned=down, mirrored=True)
    )  # fmt: skip
    top = min(spot.y for spot in spots) - high / 2
    latch = "none" if housing.latch == "none" else "down" if down == (housing.latch == "top") else "up"
    return PlugPlace(plug, index, True, latch, edge - rows * CELL, top, rows * CELL, housing.columns * high, spots)


def _end_place(
    run: RunPlan, index: int, ways: tuple[Way, ...], bridges: tuple[Bridge, ...], catalogue: Catalogue, frame: _Frame,
    scale: float, at: tuple[float, float],
) -> PlugPlace:  # fmt: skip
    """A part plug, unfolded to the right of the ribbon: its upper row lies outermost."""
    plug, (edge, middle) = run.ends[index], at
    housing = catalogue.housings[plug.housing]
    held = Counter(way.cavity for way in ways if way.end_plug == index)
    held.update(cavity for bridge in bridges if bridge.plug == index for cavity in (bridge.first, bridge.second))
    rows, high = _rows(plug, catalogue), frame.end_pitch[index] * scale
    spots = tuple(
        Spot(
            cell.name, edge + (rows - 1 - cell.row) * CELL, middle + frame.end_x[index, cell.name] / 100 * scale, high,
            plug.nets.get(cell.name, ""), held[cell.name], False,
        )
        for cell in cells(housing, turned=False, mirrored=False)
    )  # fmt: skip
    top = min(spot.y for spot in spots) - high / 2
    latch = {"top": "up", "bottom": "down", "none": "none"}[housing.latch]
    return PlugPlace(plug, index, False, latch, edge, top, rows * CELL, housing.columns * high, spots)
