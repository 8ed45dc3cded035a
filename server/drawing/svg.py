"""Small pieces of SVG text: escaping, numbers, lines, words. Strings in, strings out.

Nothing here writes a ``style`` attribute or a script, because the pages run under a policy that forbids both. Themed
parts carry classes (listed in ``server.drawing``); real wire colours are presentation attributes.
"""

import re
import unicodedata
from xml.sax.saxutils import escape

CHARACTER = 0.6
"""Width of one character of a monospaced face, as a part of its size."""
TEXT = 11.0
SMALL = 9.5
HEADING = 13.0
FONT = "ui-monospace, 'DejaVu Sans Mono', Menlo, Consolas, monospace"

# XML 1.0 knows no form, escaped or not, for these characters, so that they are shown as the replacement mark.
_FORBIDDEN = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
_ISOLATE, _RELEASE = "\u2068", "\u2069"
_STRAY_BIDI = re.compile("[\u202a-\u202e\u2066-\u2069]")


def esc(words: str) -> str:
    """Words made safe for SVG text and for double-quoted attributes."""
    return escape(_FORBIDDEN.sub("\ufffd", words), {'"': "&quot;"})


def name(words: str) -> str:
    """A name as typed, kept from turning the words beside it around.

    Names of right-to-left scripts are wrapped in Unicode isolates, which work in text, titles and accessible names
    alike. Direction marks inside the name are taken out, because they could reach beyond it.
    """
    plain = " ".join(_STRAY_BIDI.sub("", words).split())
    return plain if plain.isascii() else f"{_ISOLATE}{plain}{_RELEASE}"


def cells(words: str) -> int:
    """Character cells that the words take in a monospaced face; wide characters and emoji take two."""
    return sum(_cell(character) for character in words)


def _cell(character: str) -> int:
    if unicodedata.category(character) in {"Mn", "Me", "Cf"}:
        return 0
    return 2 if unicodedata.east_asian_width(character) in {"W", "F"} else 1


def width(words: str, size: float = TEXT) -> float:
    """Estimated width of the words. [px]"""
    return cells(words) * size * CHARACTER


def fitted(words: str, room: float, size: float = TEXT) -> str:
    """The words, cut with an ellipsis when they would not fit the room. [px]"""
    plain = " ".join(_STRAY_BIDI.sub("", words).split())
    if width(plain, size) <= room:
        return plain
    kept, left = "", int(room / (size * CHARACTER)) - 1
    for character in plain:
        left -= _cell(character)
        if left < 0:
            break
        kept += character
    return kept.rstrip() + "…"


def wrapped(words: str, room: float, size: float = TEXT) -> tuple[str, ...]:
    """The words in lines that fit the room; a single word that is too long is cut. [px]"""
    lines: list[str] = []
    for word in words.split():
        if lines and width(f"{lines[-1]} {word}", size) <= room:
            lines[-1] = f"{lines[-1]} {word}"
        else:
            lines.append(fitted(word, room, size))
    return tuple(lines)


def num(value: float) -> str:
    """A coordinate or a measure with at most two decimals."""
    words = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if words == "-0" else words


def attributes(**values: str | float | None) -> str:
    """Attributes in the order given; an underscore stands for a hyphen, ``cls`` for ``class``."""
    parts = []
    for key, value in values.items():
        if value is None:
            continue
        shown = num(value) if isinstance(value, (int, float)) else esc(value)
        parts.append(f' {"class" if key == "cls" else key.replace("_", "-")}="{shown}"')
    return "".join(parts)


def rect(x: float, y: float, w: float, h: float, **more: str | float | None) -> str:
    """A rectangle with square corners."""
    return f"<rect{attributes(x=x, y=y, width=w, height=h, **more)}/>"


def line(x1: float, y1: float, x2: float, y2: float, cls: str = "line thin", **more: str | float | None) -> str:
    """A straight line."""
    return f"<line{attributes(x1=x1, y1=y1, x2=x2, y2=y2, cls=cls, **more)}/>"


def path(d: str, cls: str | None = None, **more: str | float | None) -> str:
    """A path that is stroked and not filled, unless a ``fill`` is given."""
    more.setdefault("fill", "none")
    return f"<path{attributes(cls=cls, d=d, **more)}/>"


def shape(d: str, cls: str) -> str:
    """A path that is filled by its class."""
    return f"<path{attributes(cls=cls, d=d)}/>"


def circle(x: float, y: float, r: float, cls: str) -> str:
    """A circle."""
    return f"<circle{attributes(cx=x, cy=y, r=r, cls=cls)}/>"


def text(
    x: float,
    y: float,
    words: str,
    cls: str = "ink",
    *,
    size: float = TEXT,
    anchor: str | None = None,
    upward: bool = False,
    fill: str | None = None,
    full: str = "",
) -> str:
    """Words on their baseline, or turned to read upward; ``full`` is the uncut form, told on hovering."""
    shown = name(words)
    more = attributes(
        x=x,
        y=y,
        cls=None if fill else cls,
        font_size=None if size == TEXT else size,
        text_anchor=anchor,
        fill=fill,
        transform=f"rotate(-90 {num(x)} {num(y)})" if upward else None,
    )
    tip = f"<title>{esc(name(full))}</title>" if full and full != words else ""
    return f"<text{more}>{tip}{esc(shown)}</text>"


def dimension(x1: float, x2: float, y: float, words: str, cls: str = "ink", *, dashed: bool = False) -> str:
    """A horizontal dimension: the line between two oblique strokes, with the measure above its middle."""
    ticks = "".join(f"M{num(x - 3)} {num(y + 3)}l6 -6M{num(x)} {num(y - 5)}v10" for x in (x1, x2))
    return "".join(
        (
            line(x1, y, x2, y, stroke_dasharray="6 4" if dashed else None),
            path(ticks, "line thin"),
            text((x1 + x2) / 2, y - 5, words, cls, anchor="middle"),
        )
    )


def eye(x: float, y: float) -> str:
    """A small eye, looking at the view that is named beside it."""
    lids = f"M{num(x)} {num(y)}q8 -9 16 0q-8 9 -16 0z"
    return path(lids, "line thin") + circle(x + 8, y, 2.4, "solid")


def triangle(x: float, y: float, size: float = 9.0, cls: str = "solid") -> str:
    """A warning triangle standing on its baseline."""
    return shape(f"M{num(x)} {num(y)}h{num(size)}l{num(-size / 2)} {num(-size * 0.9)}z", cls)


def document(
    prefix: str, kind: str, size: tuple[float, float], words: tuple[str, str], body: list[str], *, role: str = "img"
) -> str:
    """One drawing.

    Args:
        prefix: Start of every id in the drawing, unique within a page.
        kind: Second class of the drawing, such as ``face``.
        size: Width and height of the drawing. [px]
        words: Accessible name and description.
        body: Elements of the drawing.
        role: ``img``, or ``group`` for a drawing with links, which ``img`` would hide from assistive tools.

    Returns:
        An ``svg`` element as text.
    """
    (w, h), (title, desc) = size, words
    head = attributes(
        xmlns="http://www.w3.org/2000/svg",
        cls=f"drawing {kind}",
        role=role,
        aria_labelledby=f"{prefix}-title",
        aria_describedby=f"{prefix}-desc",
        width=w,
        height=h,
        font_family=FONT,
        font_size=TEXT,
        direction="ltr",
    )
    return "".join(
        (
            f'<svg{head} viewBox="0 0 {num(w)} {num(h)}">',
            f'<title id="{prefix}-title">{esc(title)}</title><desc id="{prefix}-desc">{esc(desc)}</desc>',
            *body,
            "</svg>",
        )
    )
