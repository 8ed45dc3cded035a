"""The face of a plug for the bench screen: light enough to be sent for every plug of a build at once.

It shows what the large face shows of places: the shell, its latch, every cavity with its number and the colour of the
wire in it, and from which side it is seen. A page marks the cavity that is meant by its ``data-cavity``. The hatching
is that of the page (``paint.pattern_store``), so that no face carries it again; ``drawing.css`` colours the numbers.
"""

from collections.abc import Iterable

from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import RunPlan
from server.drawing import svg
from server.drawing.face_frame import TITLES, blanks
from server.drawing.paint import Paints
from server.drawing.plugs import Cell, View, cells, latch_side, plug_of, visible_colour, wires_by_cavity

PITCH, CELL, SIGNAL_CELL = 40, 36, 28
RIM, LATCH, FOOT = 6, 12, 22
PATTERNS = "bench"
"""Start of the ids of the page's hatchings."""
_VIEW: View = "wire"


def light_face(run: RunPlan, plug_index: int, at_source: bool, catalogue: Catalogue) -> str:
    """A light picture of a plug's wire side; a plug whose latch points down is turned by half a turn, as it is held.

    Args:
        run: The planned run.
        plug_index: Index into the run's ``sources`` or ``ends``.
        at_source: True for a plug of ``sources``.
        catalogue: Reference data with housings and colours.

    Returns:
        An ``svg`` element; each cavity is a group with ``data-cavity``, its box the first thing in it. Assistive tools
        pass over it: the page tells in words beside it which cavity is meant and where it lies.

    Raises:
        IndexError: the run has no such plug.
        KeyError: the catalogue has no such housing.
    """
    plug = plug_of(run, plug_index, at_source)
    housing = catalogue.housings[plug.housing]
    shown = cells(housing, turned=plug.latch_down, mirrored=False)
    wires = wires_by_cavity(run, plug_index, at_source)
    paints = Paints(PATTERNS, catalogue)
    groups: dict[str, list[Cell]] = {}
    for cell in shown:
        held = wires.get(cell.name)
        paint = f'fill="{paints.hatched(visible_colour(held[0]))}"' if held else 'class="paper"'
        groups.setdefault('class="solid"' if cell.name in blanks(housing) else paint, []).append(cell)
    side, rows = latch_side(housing, turned=plug.latch_down), max(cell.row for cell in shown) + 1
    top = 2 + (LATCH if side == "top" else 0)
    broad, high = housing.columns * PITCH + 2 * RIM, rows * PITCH + 2 * RIM
    foot = top + high + (LATCH if side == "bottom" else 0)
    body = [
        svg.rect(2, top, broad, high, cls="paper edge"),
        _latch(side, top - LATCH if side == "top" else top + high, broad),
        f'<g class="edge">{"".join(f"<g {paint}>{_boxes(held, top)}</g>" for paint, held in groups.items())}</g>',
        svg.eye(4, foot + 12),
        f'<text x="68" y="{foot + 17}">{TITLES[_VIEW]}</text>',
    ]
    wide, tall = max(broad + 4, 110), foot + FOOT
    head = f'xmlns="http://www.w3.org/2000/svg" class="drawing light" aria-hidden="true" viewBox="0 0 {wide} {tall}"'
    return f"<svg {head}>{''.join(body)}</svg>"


def _latch(side: str, y: float, broad: float) -> str:
    """The latch on its side; nothing for a housing without one."""
    if side == "none":
        return ""
    wide = min(72, broad - 4)
    return svg.rect(2 + (broad - wide) / 2, y, wide, LATCH, cls="solid", data_latch=side)


def _boxes(held: Iterable[Cell], top: float) -> str:
    """Cavities, each a group with its box and its number."""
    return "".join(_box(cell, top) for cell in held)


def _box(cell: Cell, top: float) -> str:
    wide = SIGNAL_CELL if cell.signal else CELL
    x, y = 2 + RIM + (cell.column + 0.5) * PITCH, top + RIM + (cell.row + 0.5) * PITCH
    left, upper, name = svg.num(x - wide / 2), svg.num(y - CELL / 2), svg.esc(cell.name)
    box = f'<rect x="{left}" y="{upper}" width="{wide}" height="{CELL}"/>'
    return f'<g data-cavity="{name}">{box}<text x="{svg.num(x)}" y="{svg.num(y + 5)}">{name}</text></g>'
