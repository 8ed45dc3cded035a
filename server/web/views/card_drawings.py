"""The drawings of a paper card: each at the size at which its smallest words can still be read."""

import re
from dataclasses import dataclass, replace

from server.domain.model.build import SUPPLY
from server.domain.model.plan import RunPlan
from server.drawing.face import plug_face_svg
from server.drawing.face_words import face_words
from server.drawing.joints import joint_groups, joint_svg
from server.drawing.ribbon import ribbon_svg
from server.drawing.standalone import standalone
from server.services.opened import Opened
from server.web.views import formats
from server.web.views.bench_words import source_end
from server.web.views.card_density import MM_PER_PT, Density, SheetSize
from server.web.views.pieces import letter

_SIZE = re.compile(r'\bfont-size="([\d.]+)"')
_TEXT = re.compile(r"<text\b.*?</text>", re.DOTALL)
_WORDLESS_PT = 3.0
"""Scale of a ribbon without words: that at which its smallest would be so large. [pt]"""
_ROOT = re.compile(r'^(<svg\b[^>]*?) width="([\d.]+)" height="([\d.]+)"')


@dataclass(frozen=True, slots=True)
class Figure:
    """A drawing with the words above it."""

    svg: str
    title: str = ""
    more: str = ""
    option: str = ""
    """Last word of them, which is not broken."""
    below: bool = False
    """Whether its words stand below it."""
    code: bool = False
    """Whether it is the square code."""
    wide: float = 0.0
    """Width of the drawing. [mm]"""


def sized(figure: Figure, least_pt: float, wanted_pt: float, room_mm: float) -> Figure:
    """A standing drawing with a true size: its smallest words as large as wanted, or as the room allows.

    Args:
        figure: Its drawing is a standing ``svg`` element whose size is in pixels.
        least_pt: Its words are never set smaller, even if that takes more room. [pt]
        wanted_pt: Size of its smallest words where there is room. [pt]
        room_mm: Width that it may take. [mm]

    Returns:
        The same with its width and height in mm.

    Raises:
        ValueError: the drawing has no size.
    """
    root = _ROOT.match(figure.svg)
    if root is None:
        raise ValueError("a drawing without a size")
    wide, high = float(root[2]), float(root[3])
    words = min(float(size) for size in (*_SIZE.findall(figure.svg), "11"))
    scale = min(wanted_pt * MM_PER_PT / words, room_mm / wide)
    scale = max(scale, least_pt * MM_PER_PT / words)
    size = f'{root[1]} width="{wide * scale:.3f}mm" height="{high * scale:.3f}mm"'
    return replace(figure, svg=_ROOT.sub(size, figure.svg, count=1), wide=wide * scale)


def in_rows(figures: tuple[Figure, ...], room_mm: float) -> list[list[Figure]]:
    """Figures in rows, in their order.

    Args:
        figures: With their widths.
        room_mm: Width of a row. [mm]
    """
    rows: list[list[Figure]] = []
    for figure in figures:
        if rows and _width(rows[-1]) + figure.wide <= room_mm:
            rows[-1].append(figure)
        else:
            rows.append([figure])
    return rows


def row_with_room(rows: list[list[Figure]], figure: Figure, room_mm: float) -> list[Figure] | None:
    """The first row that one more figure fits into; ``None`` where there is none.

    Args:
        rows: Figures in rows.
        figure: The one more.
        room_mm: Width of a row. [mm]
    """
    return next((row for row in rows if _width(row) + figure.wide <= room_mm), None)


def _width(row: list[Figure]) -> float:
    return sum(figure.wide for figure in row)


def faces(run: RunPlan, opened: Opened, *, nets: bool) -> tuple[Figure, ...]:
    """Every plug from its wire side, those at the source first; the middle plugs of a chain of equals are only named.

    Args:
        run: The planned run.
        opened: The build as it stands.
        nets: Whether nets stand beside the cavities.
    """
    shown = list(range(len(run.ends)))
    middle: list[int] = []
    if len(shown) > 2 and len({plug.housing for plug in run.ends}) == 1:
        shown, middle = [0, len(run.ends) - 1], shown[1:-1]
    alike = formats.listed(f"plug {letter(index)}" for index in middle)
    made = [_face(run, index, True, opened, nets) for index in range(len(run.sources))]
    for index in shown:
        face = _face(run, index, False, opened, nets)
        if index == 0 and alike:
            face = Figure(face.svg, face.title, f"{face.more}{'; ' if face.more else ''}{alike}: wired alike")
        made.append(face)
    return tuple(made)


def _face(run: RunPlan, index: int, at_source: bool, opened: Opened, nets: bool) -> Figure:
    words = face_words(run, index, at_source, opened.catalogue)
    plug = (run.sources if at_source else run.ends)[index]
    svg = standalone(plug_face_svg(run, index, at_source, opened.catalogue, captions=False, nets=nets))
    return Figure(svg, plug.socket if plug.ref.part == SUPPLY else words.title, words.more)


def marks(run: RunPlan, opened: Opened) -> tuple[str, ...]:
    """What the marks on the faces of a run mean, each once.

    Args:
        run: The planned run.
        opened: The build as it stands.
    """
    plugs = [(True, i) for i in range(len(run.sources))] + [(False, i) for i in range(len(run.ends))]
    found = (face_words(run, index, at_source, opened.catalogue).marks for at_source, index in plugs)
    return tuple(dict.fromkeys(mark for told in found for mark in told))


def ribbon(run: RunPlan, opened: Opened, sheet: SheetSize, density: Density) -> tuple[Figure, ...]:
    """The run laid out flat, small; no figure where the density has none.

    Args:
        run: The planned run.
        opened: The build as it stands.
        sheet: How a card uses the paper.
        density: How closely it is set.
    """
    if density.ribbon == "none":
        return ()
    drawn = Figure(standalone(ribbon_svg(run, opened.catalogue, small=True, measures=density.ribbon == "measured")))
    if density.ribbon != "wordless":
        return (sized(drawn, sheet.least_pt, max(sheet.least_pt, density.size_pt), sheet.room(density)),)
    # Names too small to read are left out; the words above it say which end is which.
    plain = Figure(_TEXT.sub("", drawn.svg), more=f"from above, {source_end(run)} at the left")
    return (sized(plain, 0.0, _WORDLESS_PT, sheet.room(density)),)


def joints(run: RunPlan, opened: Opened) -> tuple[tuple[str, tuple[int, ...]], ...]:
    """Every kind of joint of a run, drawn, with the places of its joints among those of the run.

    Args:
        run: The planned run.
        opened: The build as it stands.
    """
    return tuple((standalone(joint_svg(run, group[0], opened.catalogue)), group) for group in joint_groups(run))
