"""Close-up of a ribbon's last stretch, wire by wire."""

from server.domain.model.catalogue import Catalogue, Comb
from server.domain.model.plan import PlannedWire, RunPlan
from server.drawing import svg
from server.drawing.paint import Paints
from server.drawing.plugs import cells, is_bridge, run_name, sleeve_colours, visible_colour

CLOSE, CLOSE_GAP, CLOSE_TALL, BAND = 22.0, 5.0, 74.0, 18.0
BAR = 7.0


def ribbon_end_svg(run: RunPlan, catalogue: Catalogue) -> str:
    """Close-up of the ribbon's last stretch: its wires side by side at the part end, with the pattern they make.

    Args:
        run: The planned run.
        catalogue: Reference data with housings, combs and colours.

    Returns:
        An ``svg`` element.
    """
    laid = [wire for wire in run.wires if not is_bridge(wire)]
    wires = [wire for wire in laid if not run.ends or wire.target.plug == len(run.ends) - 1]
    comb = _comb(run, catalogue)
    rows = _rows(run, wires, comb, catalogue)
    prefix = f"r{run.number}-end"
    paints = Paints(prefix, catalogue)
    step = CLOSE + CLOSE_GAP
    wide = 32 + max(max((len(row) for row in rows), default=1) * step, 190.0)
    row_tall = CLOSE_TALL + 26
    body = [paints.definitions([w.colour for w in wires if not w.sleeve_colour], sleeve_colours(run, wires))]
    for i, row in enumerate(rows):
        top = 28 + i * row_tall
        for j, wire in enumerate(row):
            body.append(_close(run, wire, paints, 16 + j * step, top))
        if comb and row:
            body.append(_bar(comb, len(row), top + 16))
    if run.kind == "sleeved":
        body.append(_close_jacket(run, paints, 28))
    last = run.ends[-1] if run.ends else None
    words = f"at {last.place}: {last.socket}" if last else run_name(run)
    body.append(svg.text(16, 17, svg.fitted(words, wide - 32), "ink", full=words))
    worded = _worded(run, wires, len(rows), comb)
    foot = 28 + len(rows) * row_tall + 6
    lines = svg.wrapped(worded, wide - 32, svg.SMALL)
    body += [svg.text(16, foot + i * 12, words, "muted", size=svg.SMALL) for i, words in enumerate(lines)]
    tall = foot + len(lines) * 12
    codes = "; ".join(", ".join(visible_colour(wire) for wire in row) for row in rows)
    title = f"Run {run.number}, {svg.name(run_name(run))}: last stretch at the part end"
    told = f"Left to right: {codes}. {worded}." if codes else f"{worded}."
    return svg.document(prefix, "ribbon-end", (wide, tall), (title, told), body)


def _comb(run: RunPlan, catalogue: Catalogue) -> Comb | None:
    """The comb that is nearest to the last part plug, if one holds the wires before it."""
    near = [place for place in run.combs if place.plug == len(run.ends) - 1]
    return catalogue.combs.get(min(near, key=lambda place: place.at_mm).comb) if near else None


def _bar(comb: Comb, wires: int, top: float) -> str:
    """A comb across one row of wires: a closed one as a bar, an open one as a back with a tooth beside each wire."""
    step = CLOSE + CLOSE_GAP
    across = wires * step - CLOSE_GAP + 6
    if comb.kind == "closed":
        return svg.rect(13, top, across, BAR, cls="paper edge")
    sides = [14.0, *(16 + i * step - CLOSE_GAP / 2 for i in range(1, wires)), 12 + across]
    teeth = "".join(f"M{svg.num(x)} {svg.num(top)}v-9" for x in sides)
    return svg.path(teeth, "line heavy") + svg.rect(13, top, across, BAR / 2, cls="paper edge", data_open="yes")


def _rows(run: RunPlan, wires: list[PlannedWire], comb: Comb | None, catalogue: Catalogue) -> list[list[PlannedWire]]:
    """Wires as the comb holds them: by the rows of the part plug, or taken in turns when that plug has one row."""
    if comb is None or comb.rows < 2 or len(wires) < 2 or not run.ends:
        return [wires]
    housing = catalogue.housings.get(run.ends[-1].housing)
    row_of = {c.name: c.row for c in cells(housing, turned=False, mirrored=False)} if housing else {}
    split = [
        [w for w in wires if row_of.get(w.target.cavity) == row] for row in range(max(row_of.values(), default=0) + 1)
    ]
    if len(split) == 2 and max(map(len, split)) <= comb.columns:
        return split
    return [wires[0::2], wires[1::2]]


def _close(run: RunPlan, wire: PlannedWire, paints: Paints, x: float, top: float) -> str:
    """One wire of the close-up, its shrink band and its code."""
    dashes = None if run.state == "measured" else "5 3"
    paint = paints.braided(wire.sleeve_colour) if wire.sleeve_colour else paints.hatched(wire.colour)
    parts = [svg.rect(x, top, CLOSE, CLOSE_TALL, fill=paint, cls="edge", stroke_dasharray=dashes, data_wire=wire.label)]
    if _banded(run) and wire.sleeve_colour:
        parts.append(svg.rect(x - 1, top + CLOSE_TALL - BAND, CLOSE + 2, BAND, cls="edge", fill="#1b1b1d"))
    parts.append(svg.text(x + CLOSE / 2, top + CLOSE_TALL + 13, visible_colour(wire), "ink", anchor="middle"))
    return "".join(parts)


def _close_jacket(run: RunPlan, paints: Paints, top: float) -> str:
    """Close-up of a moulded cable under its sleeve."""
    codes = sleeve_colours(run, ())
    wide = 2 * CLOSE
    paint = paints.braided(codes[0]) if codes else paints.plain("")
    parts = [svg.rect(16, top, wide, CLOSE_TALL, fill=paint, cls="edge")]
    if _banded(run) and codes:
        parts.append(svg.rect(15, top + CLOSE_TALL - BAND, wide + 2, BAND, cls="edge", fill="#1b1b1d"))
    parts.append(svg.text(16 + wide / 2, top + CLOSE_TALL + 13, codes[0] if codes else "bare", "ink", anchor="middle"))
    return "".join(parts)


def _banded(run: RunPlan) -> bool:
    """True when heat-shrink is seen over the ends of the sleeve; with melted ends it is taken off again."""
    return bool(run.shrink) and run.sleeve_end == "shrink"


def _sleeve_ends(run: RunPlan) -> list[str]:
    if run.sleeve_end == "loose":
        return ["loose ends"]
    if not run.shrink:
        return []
    return ["shrink at both ends"] if run.sleeve_end == "shrink" else ["ends melted on, no shrink to be seen"]


def _worded(run: RunPlan, wires: list[PlannedWire], rows: int, comb: Comb | None) -> str:
    if run.kind == "sleeved":
        covered = bool(sleeve_colours(run, ()))
        return ", ".join(["moulded cable, sleeved as it is", *(_sleeve_ends(run) if covered else [])])
    parts = [f"{len(wires)} wires" if len(wires) != 1 else "1 wire"]
    if rows > 1:
        parts.append(f"{rows} rows")
    sleeved = any(w.sleeve_colour for w in wires)
    parts.append("sleeved" if sleeved else "bare")
    if sleeved:
        parts += _sleeve_ends(run)
    if comb:
        parts.append(comb.name)
    return ", ".join(parts)
