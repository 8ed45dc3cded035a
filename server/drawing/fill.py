"""The face of a plug as it is looked at from across the room: one cavity to fill, the others stepped back.

The drawing is made once for a plug as it lies; the mark is moved onto a cavity by ``data-fill`` places, so that one
drawing serves every wire of the plug, on a page without its planner too.
"""

from collections.abc import Sequence

from server.domain.model.catalogue import Housing
from server.drawing import svg
from server.drawing.plugs import Cell, cells, latch_side

PITCH = 44.0
"""One pitch of the housing on the drawing. [px]"""
HOLE, SMALL_HOLE = 36.0, 27.0
RIM = 6.0
ROOM = 40.0
"""Room above and below the shell, for the arrow and the latch. [px]"""
SIDE = 22.0
LATCH_HEIGHT, LATCH_WIDTH = 13.0, 76.0
NUMBER = 18.0


def fill_face_svg(
    housing: Housing, prefix: str, title: str, *, latch_down: bool, fill: str = "", full: Sequence[str] = ()
) -> str:
    """A plug seen from its wire side, large and bare, with the mark on the cavity to fill.

    Every cavity is a group with its name in ``data-cavity`` and its place in ``data-x`` and ``data-y``; the one group
    ``fill-mark`` holds ring and arrow, drawn around the origin with the arrow coming from above.

    Args:
        housing: A catalogue housing.
        prefix: Start of every id, unique within a page.
        title: Accessible name.
        latch_down: True for a plug that lies with its latch down.
        fill: Name of the cavity to fill; empty leaves the mark hidden.
        full: Names of cavities that are filled already.

    Returns:
        An ``svg`` element.

    Raises:
        ValueError: the housing's numbering does not go with its size.
    """
    shown = cells(housing, turned=latch_down, mirrored=False)
    rows = max(cell.row for cell in shown) + 1
    broad, high = housing.columns * PITCH + 2 * RIM, rows * PITCH + 2 * RIM
    places = {cell.name: _place(cell) for cell in shown}
    body = [
        svg.rect(SIDE, ROOM, broad, high, cls="shell"),
        _latch(latch_side(housing, turned=latch_down), broad, high),
        *(_hole(cell, places[cell.name], full=cell.name in full, here=cell.name == fill) for cell in shown),
        _mark(places.get(fill), rows),
    ]
    words = f"Cavity {fill} is to be filled." if fill else f"{housing.positions} cavities."
    size = (broad + 2 * SIDE, high + 2 * ROOM)
    return svg.document(prefix, "fill-face", size, (f"{title}, seen from the wire side", words), body)


def _place(cell: Cell) -> tuple[float, float]:
    """Middle of a cavity. [px]"""
    return SIDE + RIM + (cell.column + 0.5) * PITCH, ROOM + RIM + (cell.row + 0.5) * PITCH


def _hole(cell: Cell, place: tuple[float, float], *, full: bool, here: bool) -> str:
    """One cavity with its number."""
    x, y = place
    broad = SMALL_HOLE if cell.signal else HOLE
    state = "hole" + (" full" if full else "") + (" here" if here else "")
    size = NUMBER if len(cell.name) < 3 else NUMBER - 4
    inner = svg.rect(x - broad / 2, y - HOLE / 2, broad, HOLE)
    inner += svg.text(x, y + size * 0.36, cell.name, "", size=size, anchor="middle")
    return f"<g{svg.attributes(cls=state, data_cavity=cell.name, data_x=x, data_y=y)}>{inner}</g>"


def _mark(place: tuple[float, float] | None, rows: int) -> str:
    """Ring and arrow. In the lower half the arrow comes from below, so that it covers no other cavity."""
    ring = svg.rect(-HOLE / 2 - 4, -HOLE / 2 - 4, HOLE + 8, HOLE + 8, cls="ring")
    tip = -HOLE / 2 - 8
    arrow = svg.shape(f"M0 {svg.num(tip)}l-15 -18h9v-16h12v16h9z", "arrow")
    turn = fill_turn(place, rows)
    return f"<g{svg.attributes(cls='fill-mark', data_rows=rows, transform=turn)}>{ring}{arrow}</g>"


def fill_turn(place: tuple[float, float] | None, rows: int) -> str | None:
    """Where the mark goes, as a ``transform``: turned over where the cavity lies below the middle of the plug.

    Args:
        place: Middle of the cavity; ``None`` while none is marked. [px]
        rows: Rows of the plug.
    """
    if place is None:
        return None
    below = place[1] > ROOM + RIM + rows * PITCH / 2
    return f"translate({svg.num(place[0])} {svg.num(place[1])}){' scale(1 -1)' if below else ''}"


def _latch(side: str, broad: float, high: float) -> str:
    """The latch on its side."""
    if side == "none":
        return ""
    wide = min(LATCH_WIDTH, broad - 8)
    y = ROOM - LATCH_HEIGHT if side == "top" else ROOM + high
    box = svg.rect(SIDE + (broad - wide) / 2, y, wide, LATCH_HEIGHT, cls="shell latch", data_latch=side)
    words = svg.text(SIDE + broad / 2, y + 10.5, "latch", "", size=11, anchor="middle")
    return f'<g class="latch-words">{box}{words}</g>'
