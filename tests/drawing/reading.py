"""Reading drawings back: elements, numbers and the box that everything takes up."""

import re
import xml.etree.ElementTree as ET

SVG = "{http://www.w3.org/2000/svg}"
_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
_STEP = re.compile(r"([MmLlHhVvCcQqAaZz])([^MmLlHhVvCcQqAaZz]*)")


def parse(text: str) -> ET.Element:
    return ET.fromstring(text)


def words(element: ET.Element) -> str:
    """Every word on the drawing, without titles and descriptions."""
    return "\n".join("".join(t.itertext()) for t in element.iter(f"{SVG}text"))


def cavity_places(root: ET.Element) -> dict[str, tuple[float, float]]:
    """Middle of each cavity, from the middle of the shell."""
    shell = next(r for r in root.iter(f"{SVG}rect") if r.get("data-body"))
    middle = _middle(shell)
    found = {}
    for group in root.iter(f"{SVG}g"):
        cavity = group.get("data-cavity")
        if cavity:
            x, y = _middle(group.find(f"{SVG}rect"))
            found[cavity] = (round(x - middle[0], 2), round(y - middle[1], 2))
    return found


def latch_side(root: ET.Element) -> str:
    return next((r.get("data-latch", "") for r in root.iter(f"{SVG}rect") if r.get("data-latch")), "none")


def _middle(rect: ET.Element | None) -> tuple[float, float]:
    assert rect is not None
    x, y, w, h = (float(rect.get(key, "0")) for key in ("x", "y", "width", "height"))
    return x + w / 2, y + h / 2


def points(root: ET.Element) -> list[tuple[float, float, str]]:
    """Every point that is drawn, with what draws it; text by its estimated width."""
    found: list[tuple[float, float, str]] = []
    skipped = {id(e) for defs in root.iter(f"{SVG}defs") for e in defs.iter()}
    for element in root.iter():
        if id(element) in skipped:
            continue
        kind = element.tag.removeprefix(SVG)
        number = {key: float(element.get(key, "0")) for key in ("x", "y", "width", "height", "cx", "cy", "r")}
        if kind == "rect":
            found.append((number["x"], number["y"], kind))
            found.append((number["x"] + number["width"], number["y"] + number["height"], kind))
        elif kind == "circle":
            found.append((number["cx"] - number["r"], number["cy"] - number["r"], kind))
            found.append((number["cx"] + number["r"], number["cy"] + number["r"], kind))
        elif kind == "line":
            found += [(float(element.get(f"x{i}", "0")), float(element.get(f"y{i}", "0")), kind) for i in (1, 2)]
        elif kind == "path":
            found += [(x, y, kind) for x, y in path_points(element.get("d", ""))]
        elif kind == "text":
            found += text_points(element)
    return found


def text_points(element: ET.Element) -> list[tuple[float, float, str]]:
    """Two corners of the box that a text takes, by its estimated width."""
    x, y = float(element.get("x", "0")), float(element.get("y", "0"))
    said = _shown(element)
    size = float(element.get("font-size", "11"))
    long = len(said) * size * 0.6
    start = {"middle": -long / 2, "end": -long}.get(element.get("text-anchor", ""), 0.0)
    if element.get("transform", "").startswith("rotate(-90"):
        ends = [(x - size * 0.8, y - start), (x, y - start - long)]
    else:
        ends = [(x + start, y - size * 0.8), (x + start + long, y)]
    return [(a, b, f"text {said}") for a, b in ends]


def _shown(element: ET.Element) -> str:
    """What is seen of a text: no title, no marks of direction."""
    said = (element.text or "") + "".join(
        (c.text or "") * (c.tag != f"{SVG}title") + (c.tail or "") for c in element
    )  # fmt: skip
    return said.replace("\u2068", "").replace("\u2069", "")


def text_boxes(root: ET.Element) -> list[tuple[float, float, float, float, str]]:
    """The box that each text takes, left, top, right and bottom, by its estimated width, and what it says."""
    found = []
    for text in root.iter(f"{SVG}text"):
        (a, b, _), (c, d, _) = text_points(text)
        found.append((min(a, c), min(b, d), max(a, c), max(b, d), _shown(text)))
    return found


def path_points(d: str) -> list[tuple[float, float]]:
    """End points and handles of a path's steps."""
    x = y = 0.0
    found = []
    for letter, rest in _STEP.findall(d):
        values = [float(v) for v in _NUMBER.findall(rest)]
        size = {"m": 2, "l": 2, "h": 1, "v": 1, "c": 6, "q": 4, "a": 7, "z": 1}[letter.lower()]
        for i in range(0, len(values), size):
            step = values[i : i + size]
            base = (x, y) if letter.islower() else (0.0, 0.0)
            if letter in "hH":
                x = base[0] + step[0]
            elif letter in "vV":
                y = base[1] + step[0]
            else:
                pairs = [(base[0] + a, base[1] + b) for a, b in zip(step[0::2], step[1::2], strict=False)]
                if letter in "aA":
                    pairs = [(base[0] + step[5], base[1] + step[6])]
                found += pairs[:-1]
                x, y = pairs[-1]
            found.append((x, y))
    return found


def outside(root: ET.Element) -> list[tuple[float, float, str]]:
    """Points outside the drawing's view box."""
    left, top, wide, tall = (float(v) for v in root.get("viewBox", "").split())
    slack = 0.01
    return [
        p for p in points(root) if not (left - slack <= p[0] <= wide + slack and top - slack <= p[1] <= tall + slack)
    ]


def ids(root: ET.Element) -> list[str]:
    return [i for e in root.iter() if (i := e.get("id"))]
