"""The harness drawing: the supply on the left, parts on the right, every run a ribbon drawn wire by wire."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from server.domain.model.build import SUPPLY
from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import Plan, PlannedWire, RunPlan
from server.drawing import svg
from server.drawing.harness_layout import Layout, lay_out
from server.drawing.harness_pieces import (
    BALLOON,
    BUS,
    BUS_INSET,
    CELL_RIM,
    LABEL_GAP,
    LABEL_LINE,
    LATCH,
    MARGIN,
    RIGHT_INSET,
    RIGHT_WIDE,
    SOURCE_LABEL,
    WIRE,
    Box,
    Branch,
    Hop,
    Key,
    Slot,
    branch_words,
    face_size,
    label_lines,
    source_label,
    turn_radius,
)
from server.drawing.paint import Paints
from server.drawing.plugs import cells, latch_side, length_words, run_name, visible_colour, wire_words

DASHES = "8 5"


@dataclass(frozen=True, slots=True)
class TitleBlock:
    """Fields of the sheet's title block.

    Source:
        Choice of fields in the manner of ISO 7200 (title, revision, date, sheet), with two counts of our own.
    """

    title: str
    revision: str
    date: str
    """Date of issue, ISO 8601."""
    sheet: str
    """What this sheet shows, such as ``harness``."""
    runs: int
    wires: int


def harness_svg(
    plan: Plan,
    catalogue: Catalogue,
    *,
    href: Callable[[int], str],
    selected: int | None = None,
    title_block: TitleBlock | None = None,
) -> str:
    """The whole harness; every run is a link.

    Args:
        plan: The plan.
        catalogue: Reference data with housings, families, pinouts and colours.
        href: Address for a run's number.
        selected: Number of the run that is open; its balloon and plugs take the accent.
        title_block: Fields at the bottom right; ``None`` leaves the block out.

    Returns:
        An ``svg`` element. Its role is ``group``, because ``img`` would hide the links from assistive tools.
    """
    layout = lay_out(plan, catalogue)
    paints = Paints("harness", catalogue)
    block_top = layout.bottom + 20
    tall = block_top + (TITLE_HIGH if title_block else 0) + MARGIN
    # The open run is drawn last, so that it lies over the ribbons it crosses.
    runs = sorted(plan.runs, key=lambda run: (run.number == selected, run.number))
    body = [
        _grid(layout.wide, tall),
        *(_box(box, plan) for box in (*layout.left, *layout.right)),
        *(_slot(slot, catalogue, source=True) for box in layout.left for slot in box.slots if slot.run is None),
        *(_slot(slot, catalogue, source=False) for box in layout.right for slot in box.slots if slot.reason),
        *(
            _run(run, layout, catalogue, paints, address=href(run.number), selected=run.number == selected)
            for run in runs
        ),
    ]
    if title_block:
        body.append(_title_block(title_block, layout.wide - MARGIN, block_top))
    title = f"Harness of {svg.name(plan.build_name)}"
    told = f"{len(plan.runs)} runs from the supply and headers on the left to the parts on the right."
    if not plan.metered:
        told += " The supply layout is NOT METERED."
    if plan.unfed:
        told += f" {len(plan.unfed)} inlets are not fed."
    return svg.document("harness", "harness", (layout.wide, tall), (title, told), body, role="group")


def _grid(wide: float, tall: float) -> str:
    fine = '<pattern id="harness-grid" width="24" height="24" patternUnits="userSpaceOnUse">'
    fine += f"{svg.path('M24 0H0V24', 'grid')}</pattern>"
    coarse = '<pattern id="harness-grid-120" width="120" height="120" patternUnits="userSpaceOnUse">'
    coarse += f"{svg.path('M120 0H0V120', 'grid heavy')}</pattern>"
    sheet = svg.rect(0, 0, wide, tall, cls="sheet")
    fills = "".join(svg.rect(0, 0, wide, tall, fill=f"url(#{key})") for key in ("harness-grid", "harness-grid-120"))
    return f'<defs>{fine}{coarse}</defs>{sheet}<g class="grid-lines" aria-hidden="true">{fills}</g>'


def _box(box: Box, plan: Plan) -> str:
    """Outline and name of the supply or a part."""
    parts = [svg.rect(box.x, box.y, box.broad, box.high, cls="paper edge" + (" heavy" if box.is_source else ""))]
    # The bus of a chain comes down where the name would stand, so that the name moves right of it.
    x = min(slot.x for slot in box.slots) if box.slots and not box.is_source else box.x + 12
    room = box.x + box.broad - 12 - x
    if box.part == SUPPLY and box.is_source:
        words = f"Supply: {box.title}" if box.title else "Supply: none chosen"
    else:
        words = f"{box.title}, headers" if box.is_source else box.title
    parts.append(svg.text(x, box.y + 19, svg.fitted(words, room, svg.HEADING), "heading", size=svg.HEADING, full=words))
    if box.part == SUPPLY and box.is_source and box.title:
        if plan.metered:
            parts.append(svg.text(x, box.y + 37, "metered", "done"))
        else:
            parts.append(svg.triangle(x, box.y + 37, 11, "solid stop"))
            parts.append(svg.text(x + 17, box.y + 37, "NOT METERED", "heading stop"))
    return "".join(parts)


def _slot(slot: Slot, catalogue: Catalogue, *, source: bool) -> str:
    """A socket's small face with its name, and for an inlet that is not fed the reason."""
    warn = " warn" if slot.reason else " muted" if source and slot.run is None else ""
    _, high, _, _ = face_size(slot.housing, catalogue)
    parts = [_face(slot, catalogue, warn), _label(slot, catalogue, warn.strip() or "ink", source=source)]
    if slot.reason:
        below = slot.y + max(high / 2 + LATCH, LABEL_LINE + 1)
        parts.append(svg.triangle(slot.x - 16, slot.y + 4, 9, "solid warn"))
        for i, words in enumerate(svg.wrapped(f"not fed: {slot.reason}", RIGHT_WIDE - BUS_INSET - RIGHT_INSET)):
            parts.append(svg.text(slot.x, below + 10 + i * 13, words, "warn"))
    return "".join(parts)


def _label(slot: Slot, catalogue: Catalogue, cls: str, *, source: bool) -> str:
    """A socket's name beside its face, on the side away from the ribbon, in one line or two."""
    wide, _, _, _ = face_size(slot.housing, catalogue)
    whole = source_label(slot.label, slot.run) if source else slot.label
    room = SOURCE_LABEL if source else slot.label_room
    lines = label_lines(whole, room)
    x, anchor = (slot.x - LABEL_GAP, "end") if source else (slot.x + wide + LABEL_GAP, None)
    top = slot.y + 4 - (len(lines) - 1) * LABEL_LINE / 2
    return "".join(
        svg.text(x, top + i * LABEL_LINE, line, cls, anchor=anchor, full=whole if i == 0 else "")
        for i, line in enumerate(lines)
    )


def _face(slot: Slot, catalogue: Catalogue, cls: str) -> str:
    """Shell, latch and cavities of a housing, drawn from its geometry."""
    wide, high, pitch, row_pitch = face_size(slot.housing, catalogue)
    x, y = slot.x, slot.y - high / 2
    parts = [svg.rect(x, y, wide, high, cls=f"paper edge heavy{cls}")]
    if slot.housing is None:
        return parts[0]
    side = latch_side(slot.housing, turned=slot.turned)
    if side != "none":
        broad = min(16.0, wide / 2)
        at = y - LATCH if side == "top" else y + high
        parts.append(svg.rect(x + (wide - broad) / 2, at, broad, LATCH, cls=f"paper edge{cls}"))
    strokes = []
    for cell in cells(slot.housing, turned=slot.turned, mirrored=False):
        size = (pitch if not cell.signal else pitch * 0.75) - 3
        left = x + CELL_RIM + (cell.column + 0.5) * pitch - size / 2
        top = y + CELL_RIM + (cell.row + 0.5) * row_pitch - size / 2
        strokes.append(f"M{svg.num(left)} {svg.num(top)}h{svg.num(size)}v{svg.num(size)}h{svg.num(-size)}z")
    parts.append(svg.path("".join(strokes), f"edge{cls}"))
    return "".join(parts)


def _run(run: RunPlan, layout: Layout, catalogue: Catalogue, paints: Paints, *, address: str, selected: bool) -> str:
    """A run with its plugs, ribbon, balloon and length, as one link."""
    spoken = f"Run {run.number}, {svg.name(run_name(run))}, {_spoken_length(run)}, {wire_words(run)}"
    link = svg.attributes(
        href=address,
        cls="run selected" if selected else "run",
        aria_label=spoken,
        aria_current="true" if selected else None,
        data_run=str(run.number),
    )
    place = {wire.id: i for i, wire in enumerate(run.wires)}
    branches = [(i, branch) for i, branch in enumerate(layout.branches) if branch.run == run.number]
    ways: list[tuple[PlannedWire, str]] = []
    for i, branch in branches:
        ways += _branch_ways(branch, layout, layout.lanes.get(i), run, place)
    hops = [hop for hop in layout.hops if hop.run == run.number]
    onward = [way for hop in hops for way in _hop_ways(hop, layout)]
    accent = " accent" if selected else ""
    ends = {(plug.ref.part, plug.ref.socket) for plug in run.ends}
    sources = {(plug.ref.part, plug.ref.socket) for plug in run.sources}
    faces = [
        _named_slot(slot, catalogue, accent, source=side)
        for (side, key), slot in layout.slots.items()
        if key in (sources if side else ends) and not slot.reason and slot.run == run.number
    ]
    parts = [
        f"<title>{svg.esc(spoken)}</title>",
        _ribbon(ways, onward, run, paints),
        *faces,
        *(_spacing(hop, layout) for hop in hops),
        *(_branch_balloon(held, run, layout, selected) for held in _by_source([branch for _, branch in branches])),
        "" if branches else _lone_balloon(run, layout, selected),
    ]
    return f"<a{link}>{''.join(parts)}</a>"


def _spoken_length(run: RunPlan) -> str:
    return length_words(run).replace("–", " to ")


def _named_slot(slot: Slot, catalogue: Catalogue, accent: str, *, source: bool) -> str:
    return _face(slot, catalogue, accent) + _label(slot, catalogue, accent.strip() or "muted", source=source)


def _ribbon(
    ways: Sequence[tuple[PlannedWire, str]], onward: Sequence[tuple[PlannedWire, str]], run: RunPlan, paints: Paints
) -> str:
    """All wires of a run: a halo that parts it from ribbons below, its outline in ink, and one path to a colour."""
    both = [d for _, d in (*ways, *onward)]
    if not both:
        return ""
    dashes = None if run.state == "measured" else DASHES
    whole = "".join(both)
    parts = [
        # Wider than the wires, so that a thin ribbon is as easy to hit as a broad one.
        svg.path(whole, "hit", stroke_width=WIRE + 8),
        svg.path(whole, "halo", stroke_width=WIRE + 4),
        svg.path(whole, "outline", stroke_width=WIRE + 0.9, stroke_dasharray=dashes),
    ]
    for found, label in ((ways, "data_wires"), (onward, "data_onward")):
        by_colour: dict[str, list[tuple[PlannedWire, str]]] = {}
        for wire, d in found:
            by_colour.setdefault(visible_colour(wire), []).append((wire, d))
        for code, held in by_colour.items():
            more = {label: " ".join(wire.label for wire, _ in held)}
            d = "".join(way for _, way in held)
            parts.append(
                svg.path(d, stroke=paints.plain(code), stroke_width=WIRE - 0.7, stroke_dasharray=dashes, **more)
            )
    return "".join(parts)


def _branch_ways(
    branch: Branch, layout: Layout, lane: float | None, run: RunPlan, place: dict[str, int]
) -> list[tuple[PlannedWire, str]]:
    """Way of each wire: level from the source, upright in its lane, level to the part, with round corners."""
    source, end = layout.slots[(True, branch.source)], layout.slots[(False, branch.end)]
    count = len(branch.wires)
    shared = [b for b in layout.branches if b.run == run.number and b.end == branch.end]
    at_end = sorted((wire for b in shared for wire in b.wires), key=lambda wire: place[wire.id])
    rank = {wire.id: i for i, wire in enumerate(at_end)}
    # Where a ribbon forks, what goes to the upper plug lies uppermost at the source.
    forked = [b for b in layout.branches if b.run == run.number and b.source == branch.source]
    forked.sort(key=lambda b: layout.slots[(False, b.end)].y)
    lies = {wire.id: i for i, wire in enumerate(wire for b in forked for wire in b.wires)}
    course = _Course(source.x + source.broad, end.x, lane, end.y - source.y, count)
    ways = []
    for i, wire in enumerate(branch.wires):
        offset = (i - (count - 1) / 2) * WIRE
        final = end.y + (rank[wire.id] - (len(at_end) - 1) / 2) * WIRE
        start = source.y + (lies[wire.id] - (len(lies) - 1) / 2) * WIRE
        ways.append((wire, _way(course, start, final, offset)))
    return ways


@dataclass(frozen=True, slots=True)
class _Course:
    """What the wires of one branch have in common."""

    x1: float
    x2: float
    lane: float | None
    """Middle of the upright stretch; ``None`` for a branch that runs level. [px]"""
    fall: float
    """How far the middle of the ribbon sinks. [px]"""
    wires: int


def _way(course: _Course, y1: float, y2: float, offset: float) -> str:
    """One wire of a branch; ``offset`` is its distance below the ribbon's middle at the source."""
    x1, x2, lane, fall, count = course.x1, course.x2, course.lane, course.fall, course.wires
    num = svg.num
    radius = turn_radius(count)
    start = f"M{num(x1)} {num(y1)}"
    if lane is None or abs(fall) < 2 * radius + abs(y2 - y1 - fall) + 2:
        if abs(y2 - y1) < 0.01:
            return f"{start}H{num(x2)}"
        middle = lane if lane is not None else x2 - 3 * radius
        reach = max(radius, 10.0)
        return (
            f"{start}H{num(middle - reach)}C{num(middle)} {num(y1)} {num(middle)} {num(y2)} "
            f"{num(middle + reach)} {num(y2)}H{num(x2)}"
        )
    down = 1.0 if fall > 0 else -1.0
    x = lane - down * offset
    first, second = radius - down * offset, radius + down * offset
    sweep = 1 if down > 0 else 0
    return (
        f"{start}H{num(x - first)}A{num(first)} {num(first)} 0 0 {sweep} {num(x)} {num(y1 + down * first)}"
        f"V{num(y2 - down * second)}A{num(second)} {num(second)} 0 0 {1 - sweep} {num(x + second)} {num(y2)}H{num(x2)}"
    )


def _hop_ways(hop: Hop, layout: Layout) -> list[tuple[PlannedWire, str]]:
    """Way of each wire from one plug of a chain down (or up) to the next, beside the faces."""
    start, end = layout.slots[(False, hop.start)], layout.slots[(False, hop.end)]
    box_x = min(box.x for box in layout.right)
    count = len(hop.wires)
    down = 1.0 if end.y > start.y else -1.0
    radius = turn_radius(count)
    # A later hop begins where the ribbon before it still hangs straight, so that the bus shows no gap.
    later = any(h.run == hop.run and h.end == hop.start for h in layout.hops)
    back = down * (radius + count * WIRE / 2) if later else 0.0
    ways = []
    for i, wire in enumerate(hop.wires):
        offset = (i - (count - 1) / 2) * WIRE
        x, y = box_x + BUS - down * offset, end.y + offset
        turn = max(radius + down * offset, 1.0)
        d = f"M{svg.num(x)} {svg.num(start.y - back if later else start.y + offset)}V{svg.num(y - down * turn)}"
        sweep = 0 if down > 0 else 1
        d += f"A{svg.num(turn)} {svg.num(turn)} 0 0 {sweep} {svg.num(x + turn)} {svg.num(y)}H{svg.num(end.x)}"
        ways.append((wire, d))
    return ways


def _spacing(hop: Hop, layout: Layout) -> str:
    """Distance between two plugs of a chain, beside the wires that it measures."""
    start, end = layout.slots[(False, hop.start)], layout.slots[(False, hop.end)]
    if hop.spacing_mm is None:
        return ""
    x = min(box.x for box in layout.right) + BUS - len(hop.wires) * WIRE / 2 - 5
    return svg.text(x, (start.y + end.y) / 2 + 4, svg.num(hop.spacing_mm), "ink", anchor="end")


def _by_source(branches: Sequence[Branch]) -> list[list[Branch]]:
    """Branches of a run by the plug that they start from."""
    found: dict[Key, list[Branch]] = {}
    for branch in branches:
        found.setdefault(branch.source, []).append(branch)
    return list(found.values())


def _branch_balloon(held: Sequence[Branch], run: RunPlan, layout: Layout, selected: bool) -> str:
    """Balloon of what starts from one plug on its leader line, with the run's length beside the first."""
    source = layout.slots[(True, held[0].source)]
    above = source.y - sum(len(branch.wires) for branch in held) * WIRE / 2 - BALLOON - 3
    point = (layout.balloon_x + 16, source.y)
    return _balloon(run, (layout.balloon_x, above), point, selected=selected, told=any(b.first for b in held))


def _lone_balloon(run: RunPlan, layout: Layout, selected: bool) -> str:
    """Balloon of a run that has lost its source, beside the first plug that is left."""
    for side, plugs in ((False, run.ends), (True, run.sources)):
        for plug in plugs:
            slot = layout.slots.get((side, (plug.ref.part, plug.ref.socket)))
            if slot:
                x = layout.balloon_x if side else slot.x - svg.width(branch_words(run)) - 120
                point = (slot.x + (slot.broad if side else 0), slot.y)
                return _balloon(run, (x, slot.y - 12), point, selected=selected, told=True)
    return ""


def _balloon(run: RunPlan, at: tuple[float, float], to: tuple[float, float], *, selected: bool, told: bool) -> str:
    """Item balloon on a leader line, with the length beside it when it is ``told``."""
    (x, y), (to_x, to_y) = at, to
    accent = " accent" if selected else ""
    parts = [
        svg.line(x + 6, y + 7, to_x, to_y, f"line thin{accent}"),
        svg.circle(to_x, to_y, 2.6, "dot"),
        svg.circle(x, y, BALLOON, "balloon"),
        svg.text(x, y + 4, str(run.number), "balloon-number", anchor="middle"),
    ]
    if told:
        whole = run.kind == "sleeved" or (run.sources and run.ends)
        cls = (accent.strip() or "ink") if run.state == "measured" and whole else "warn"
        parts.append(svg.text(x + BALLOON + 8, y + 3, branch_words(run), cls))
    return "".join(parts)


TITLE_HIGH, TITLE_WIDE = 68.0, 430.0


def _title_block(block: TitleBlock, right: float, top: float) -> str:
    """Two rows of fields with their names, at the bottom right."""
    left = right - TITLE_WIDE
    columns = (left, left + 250, left + 330, right)
    fields = (
        (("title", block.title), ("revision", block.revision), ("date", block.date)),
        (("sheet", block.sheet), ("runs", str(block.runs)), ("wires", str(block.wires))),
    )
    half = TITLE_HIGH / 2
    parts = [svg.rect(left, top, TITLE_WIDE, TITLE_HIGH, cls="paper edge heavy")]
    parts.append(svg.line(left, top + half, right, top + half, "line thin hairline"))
    parts += [svg.line(x, top, x, top + TITLE_HIGH, "line thin hairline") for x in columns[1:3]]
    for row, held in enumerate(fields):
        for i, (label, words) in enumerate(held):
            y = top + row * half
            room = columns[i + 1] - columns[i] - 14
            parts.append(svg.text(columns[i] + 7, y + 12, label, "muted", size=svg.SMALL))
            parts.append(svg.text(columns[i] + 7, y + 27, svg.fitted(words, room), "ink", full=words))
    return f'<g class="title-block">{"".join(parts)}</g>'
