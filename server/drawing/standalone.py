"""A drawing that stands on its own: every colour concrete, for files, for other programs and for printed papers.

On a page the classes of a drawing are coloured by ``static/css/drawing.css``. Here each class becomes presentation
attributes, which every viewer and the PDF maker know, in black ink on white paper. What a viewer may not know is put
in plainer words: a paint with a second choice keeps its first, a hatched stroke becomes its outline with a hatched
fill, a halo becomes a text of its own below its words.
"""

import xml.etree.ElementTree as ET
from dataclasses import dataclass
from typing import Literal

from server.drawing.outlines import outline

SVG = "http://www.w3.org/2000/svg"
FONT = "'DejaVu Sans Mono', monospace"
INK, MUTED, HAIRLINE, GRID, PAPER, SHADE = "#000000", "#3a3a3a", "#8a8a8a", "#dddddd", "#ffffff", "#dddddd"


@dataclass(frozen=True, slots=True)
class _Rule:
    """What a class means on paper; a later rule goes over an earlier one."""

    classes: frozenset[str]
    """All of them must be there."""
    attributes: dict[str, str]
    kind: str = ""
    """Second class of the drawing, such as ``route-shape``; empty for every drawing."""


def _rule(classes: str, kind: str = "", **attributes: str) -> _Rule:
    return _Rule(frozenset(classes.split()), {k.replace("_", "-"): v for k, v in attributes.items()}, kind)


_TEXT = (
    _rule("muted", fill=MUTED),
    _rule("heading", font_weight="700"),
    _rule("balloon-number", font_weight="700"),
)
_SHAPES = (
    _rule("line", stroke=INK, fill="none"),
    _rule("line muted", stroke=MUTED),
    _rule("line hairline", stroke=HAIRLINE),
    _rule("line look", stroke_width="3"),
    _rule("thin", stroke_width="1"),
    _rule("heavy", stroke_width="1.4"),
    _rule("edge", stroke=INK, stroke_width="1"),
    _rule("edge heavy", stroke_width="1.4"),
    _rule("edge muted", stroke=MUTED),
    _rule("paper", fill=PAPER),
    _rule("sheet", fill=PAPER),
    _rule("solid", fill=INK),
    _rule("shade", fill=SHADE),
    _rule("open", stroke=INK),
    _rule("grid", stroke=GRID, stroke_width="0.6", fill="none"),
    _rule("outline", stroke=INK),
    _rule("halo", stroke=PAPER),
    _rule("balloon", fill=PAPER, stroke=INK, stroke_width="1.4"),
    _rule("balloon", "route-shape", stroke_width="1"),
    _rule("balloon tight", "route-shape", stroke_width="2.4"),
    _rule("dot", fill=PAPER, stroke=INK, stroke_width="1"),
    _rule("none", fill="none"),
    _rule("lead", stroke_width="1.3"),
    _rule("meeting", fill=PAPER, stroke=INK, stroke_width="1.2"),
    _rule("rim", fill=SHADE),
    _rule("plug", fill=SHADE),
    _rule("wire-line", stroke=HAIRLINE, stroke_width="0.8"),
)
_SHAPE_TAGS = frozenset({"rect", "line", "path", "circle", "polygon", "polyline", "ellipse"})
_UNSEEN = frozenset({"hit", "pad", "screen-only"})
_DROPPED = ("data-", "hx-", "aria-", "on")


def standalone(svg: str, *, theme: Literal["paper"] = "paper") -> str:
    """A drawing as an SVG document that needs no style sheet.

    It can be saved as a file, shown by any viewer, or set into a page of a paper as it is. Links and what only answers
    a pointer or a keyboard are left out; titles of groups and the drawing's own title and description stay.

    Args:
        svg: An ``svg`` element as this room draws it.
        theme: Colours; ``paper`` is black ink on white, wires in their real colours.

    Returns:
        The text of one ``svg`` element with its namespace, without an XML declaration.

    Raises:
        ValueError: the text is not well-formed, its element is not an ``svg`` of this room, or the theme is unknown.
    """
    if theme != "paper":
        raise ValueError(f"no theme {theme!r}")
    try:
        root = ET.fromstring(svg)
    except ET.ParseError as error:
        raise ValueError(f"the drawing is not well-formed: {error}") from error
    if root.tag != f"{{{SVG}}}svg":
        raise ValueError(f"not an svg element of its namespace: {root.tag}")
    named = root.get("class", "")
    _clean(root, frozenset(named.split()))
    root.set("xmlns", SVG)
    root.set("font-family", FONT)
    root.set("class", named)
    return ET.tostring(root, encoding="unicode", short_empty_elements=True)


def _clean(element: ET.Element, kinds: frozenset[str], *, top: bool = True) -> None:
    """Make an element and all below it concrete, in place."""
    element.tag = element.tag.removeprefix(f"{{{SVG}}}")
    classes = frozenset(element.attrib.pop("class", "").split())
    if element.tag == "a":
        element.tag = "g"
        for name in ("href", "target", "download"):
            element.attrib.pop(name, None)
    _plain_attributes(element, top=top)
    if element.tag in {"text", "tspan"}:
        _text_colours(element, classes)
    elif element.tag in _SHAPE_TAGS:
        _coloured(element, classes, kinds)
    children: list[ET.Element] = []
    for child in list(element):
        inner = frozenset(child.get("class", "").split())
        if inner & _UNSEEN or (element.tag == "text" and child.tag.endswith("}title")):
            _keep_tail(element, child, children)
            continue
        _clean(child, kinds, top=False)
        if child.tag == "text" and "haloed" in inner:
            children.append(_halo(child))
        children.append(child)
    element[:] = children


def _keep_tail(element: ET.Element, child: ET.Element, before: list[ET.Element]) -> None:
    """Words that follow a child which is left out."""
    if before:
        before[-1].tail = (before[-1].tail or "") + (child.tail or "") or None
    else:
        element.text = (element.text or "") + (child.tail or "") or None


def _plain_attributes(element: ET.Element, *, top: bool) -> None:
    """Attributes that mean something off the page, and each paint with its first choice only."""
    for name in list(element.attrib):
        spoken = top and name in {"aria-labelledby", "aria-describedby"}
        if name == "tabindex" or (name == "role" and not top) or (name.startswith(_DROPPED) and not spoken):
            del element.attrib[name]
    fill, stroke = element.get("fill", ""), element.get("stroke", "")
    if fill.startswith("url("):
        element.set("fill", _first(fill))
    if stroke.startswith("url("):
        _fill_for_stroke(element, stroke)


def _first(paint: str) -> str:
    """A paint without the second choice behind it, which not every viewer knows."""
    return paint[: paint.index(")") + 1]


def _fill_for_stroke(element: ET.Element, paint: str) -> None:
    """The outline of a hatched stroke, filled; its second choice where there is no outline."""
    dashes = [float(value) for value in element.get("stroke-dasharray", "").replace(",", " ").split()]
    try:
        shape = outline(element.get("d", ""), float(element.get("stroke-width", "1")), dashes)
    except ValueError:
        element.set("stroke", paint[paint.index(")") + 1 :].strip() or INK)
        return
    for name in ("stroke", "stroke-width", "stroke-dasharray"):
        element.attrib.pop(name, None)
    element.attrib |= {"d": shape, "fill": _first(paint)}


def _text_colours(element: ET.Element, classes: frozenset[str]) -> None:
    """Ink for words without a paint of their own."""
    painted = "fill" in element.attrib
    if element.tag == "text" and not painted:
        element.set("fill", INK)
    for rule in _TEXT:
        if rule.classes <= classes:
            element.attrib.update({k: v for k, v in rule.attributes.items() if not (painted and k == "fill")})


def _coloured(element: ET.Element, classes: frozenset[str], kinds: frozenset[str]) -> None:
    """Presentation attributes of the classes; as in a style sheet, a class goes over an attribute of the drawing."""
    for rule in _SHAPES:
        if rule.classes <= classes and (not rule.kind or rule.kind in kinds):
            element.attrib.update(rule.attributes)


def _halo(words: ET.Element) -> ET.Element:
    """A white copy below words that lie over lines."""
    found = ET.Element("text", dict(words.attrib))
    found.text = "".join(words.itertext())
    found.attrib |= {"fill": PAPER, "stroke": PAPER, "stroke-width": "3", "stroke-linejoin": "round"}
    return found
