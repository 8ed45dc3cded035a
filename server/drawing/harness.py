"""The harness drawing: the supply on the left, parts on the right, every run a ribbon drawn wire by wire."""

from collections.abc import Callable, Mapping, Sequence

from server.domain.model.build import SUPPLY
from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import Plan, PlannedWire, RunPlan
from server.drawing import svg
from server.drawing.harness_foot import LEGEND_HIGH, TITLE_HIGH, TitleBlock, legend_svg, title_block_svg
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
    run_words,
    source_label,
)
from server.drawing.harness_ways import branch_ways, hop_ways
from server.drawing.paint import Paints
from server.drawing.plugs import cells, latch_side, length_words, run_name, visible_colour, wire_words

__all__ = ["TitleBlock", "harness_svg"]

DASHES = "8 5"


def harness_svg(
    plan: Plan,
    catalogue: Catalogue,
    *,
    href: Callable[[int], str],
    card_href: Callable[[int], str] | None = None,
    progress: Mapping[int, str] | None = None,
    selected: int | None = None,
    title_block: TitleBlock | None = None,
) -> str:
    """The whole harness; every run is a link, and its length another one to its card.

    Args:
        plan: The plan.
        catalogue: Reference data with housings, families, pinouts and colours.
        href: Address for a run's number.
        card_href: Address of the card for a run's number; ``None`` where there are no cards to go to.
        progress: How far the work on a run is, by its number and in a few words, such as ``3 of 8 cut``.
        selected: Number of the run that is open; its balloon and plugs take the accent.
        title_block: Fields at the bottom right; ``None`` leaves the block out.

    Returns:
        An ``svg`` element. Its role is ``group``, because ``img`` would hide the links from assistive tools.
    """
    told = progress or {}
    layout = lay_out(plan, catalogue, told)
    paints = Paints("harness", catalogue)
    block_top = layout.bottom + 20
    tall = block_top + (TITLE_HIGH if title_block else LEGEND_HIGH) + MARGIN
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
        *(_length(run, layout, told, card_href, selected=run.number == selected) for run in runs),
        legend_svg(MARGIN, block_top + 16, cards=card_href is not None),
    ]
    if title_block:
        body.append(title_block_svg(title_block, layout.wide - MARGIN, block_top))
    title = f"Harness of {svg.name(plan.build_name)}"
    spoken = f"{len(plan.runs)} runs from the supply and headers on the left to the parts on the right."
    if not plan.metered:
        spoken += " The supply layout is NOT METERED."
    if plan.unfed:
        spoken += f" {len(plan.unfed)} inlets are not fed."
    return svg.document("harness", "harness", (layout.wide, tall), (title, spoken), body, role="group")


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
        ways += branch_ways(branch, layout, layout.lanes.get(i), run, place)
    hops = [hop for hop in layout.hops if hop.run == run.number]
    onward = [way for hop in hops for way in hop_ways(hop, layout)]
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
    above = source.y - _ribbon_high(held) / 2 - BALLOON - 3
    point = (layout.balloon_x + 16, source.y)
    return _balloon(run, (layout.balloon_x, above), point, selected=selected)


def _lone_balloon(run: RunPlan, layout: Layout, selected: bool) -> str:
    """Balloon of a run that has lost its source, beside the first plug that is left."""
    found = _lone_slot(run, layout)
    if found is None:
        return ""
    slot, side = found
    point = (slot.x + (slot.broad if side else 0), slot.y)
    return _balloon(run, (_lone_x(run, layout, slot, side=side), slot.y - 12), point, selected=selected)


def _lone_slot(run: RunPlan, layout: Layout) -> tuple[Slot, bool] | None:
    """The first plug that is left of a run without branches, and whether it is at the source."""
    for side, plugs in ((False, run.ends), (True, run.sources)):
        for plug in plugs:
            slot = layout.slots.get((side, (plug.ref.part, plug.ref.socket)))
            if slot:
                return slot, side
    return None


def _lone_x(run: RunPlan, layout: Layout, slot: Slot, *, side: bool) -> float:
    return layout.balloon_x if side else slot.x - svg.width(branch_words(run)) - 120


def _balloon(run: RunPlan, at: tuple[float, float], to: tuple[float, float], *, selected: bool) -> str:
    """Item balloon on a leader line."""
    (x, y), (to_x, to_y) = at, to
    accent = " accent" if selected else ""
    return "".join(
        (
            svg.line(x + 6, y + 7, to_x, to_y, f"line thin{accent}"),
            svg.circle(to_x, to_y, 2.6, "dot"),
            svg.circle(x, y, BALLOON, "balloon"),
            svg.text(x, y + 4, str(run.number), "balloon-number", anchor="middle"),
        )
    )


def _length(
    run: RunPlan, layout: Layout, told: Mapping[int, str], card_href: Callable[[int], str] | None, *, selected: bool
) -> str:
    """Length and state of a run beside its balloon, as the link to its card where there are cards."""
    at = _label_at(run, layout)
    if at is None:
        return ""
    x, y = at
    whole = run.kind == "sleeved" or (run.sources and run.ends)
    measured = run.state == "measured" and whole
    words = run_words(run, told)
    drawn = svg.text(x, y, words, ("accent" if selected else "ink") if measured else "warn")
    if card_href is None:
        return drawn
    spoken = f"Card of run {run.number}, {svg.name(run_name(run))}"
    link = svg.attributes(href=card_href(run.number), cls="card-link", aria_label=spoken, data_card=str(run.number))
    pad = svg.rect(x - 3, y - 15, svg.width(words) + 6, 22, cls="pad")
    rule = svg.line(x, y + 3, x + svg.width(words), y + 3, "line thin hairline")
    return f"<a{link}><title>{svg.esc(spoken)}</title>{pad}{rule}{drawn}</a>"


def _label_at(run: RunPlan, layout: Layout) -> tuple[float, float] | None:
    """Where the length of a run is written: behind the balloon of its first source, or its lone one."""
    branches = [branch for branch in layout.branches if branch.run == run.number]
    for held in _by_source(branches):
        if any(branch.first for branch in held):
            above = layout.slots[(True, held[0].source)].y - _ribbon_high(held) / 2 - BALLOON - 3
            return layout.balloon_x + BALLOON + 8, above + 3
    found = None if branches else _lone_slot(run, layout)
    if found is None:
        return None
    slot, side = found
    return _lone_x(run, layout, slot, side=side) + BALLOON + 8, slot.y - 9


def _ribbon_high(held: Sequence[Branch]) -> float:
    return sum(len(branch.wires) for branch in held) * WIRE
