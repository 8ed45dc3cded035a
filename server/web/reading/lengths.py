"""Lengths as people of the trade write them, in millimetres or inches, one alone or several side by side."""

import re
import unicodedata

from server.domain.reference import LENGTH_MOST_MM
from server.web.views.formats import MM_PER_INCH

_MM_PER_UNIT = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": MM_PER_INCH, "ft": 12 * MM_PER_INCH}
_UNIT_WORDS = {
    **{word: word for word in _MM_PER_UNIT},
    **dict.fromkeys(("inch", "inches", '"', "''"), "in"),
    **dict.fromkeys(("foot", "feet", "'"), "ft"),
    **dict.fromkeys(("millimetre", "millimetres", "millimeter", "millimeters"), "mm"),
    **dict.fromkeys(("centimetre", "centimetres", "centimeter", "centimeters"), "cm"),
    **dict.fromkeys(("metre", "metres", "meter", "meters"), "m"),
}
_MARKS = str.maketrans({"′": "'", "’": "'", "″": '"', "”": '"', "“": '"', "⁄": "/"})
_NUMBER = r"\d+(?:[.,]\d+)*|[.,]\d+"
_WORDS = "|".join(re.escape(word) for word in sorted(_UNIT_WORDS, key=len, reverse=True))
_INCH_WORDS = "|".join(re.escape(word) for word in ("inches", "inch", "in", '"', "''"))


def _quantity(name: str) -> str:
    """Pattern of a fraction, or a number with a fraction behind it or none."""
    return rf"(?P<{name}>\d+/\d+|(?:{_NUMBER})(?:[ -]\d+/\d+)?)"


_MEASURE = re.compile(
    rf"(?P<feet>{_NUMBER}) ?(?:feet|foot|ft|')(?![a-z']) ?{_quantity('inches')} ?(?:{_INCH_WORDS})(?![a-z])"
    rf"|{_quantity('value')}(?: ?(?P<unit>{_WORDS})(?![a-z]))?",
    re.ASCII,
)
_BETWEEN = re.compile(r" ?[,;]? ?")
NO_LENGTH = "Write a length such as 612 mm or 24 in."
TOO_LONG = "Longer than {:g} m: check the number and its unit."


def length_mm(text: str, *, inches: bool = False, most_mm: float = LENGTH_MOST_MM) -> float | str:
    """A length in millimetres, or the words that say why the text is none.

    Args:
        text: Such as ``612``, ``61,2 cm``, ``24 in``, ``24½"``, ``2' 3"``.
        inches: Whether a bare number means inches.
        most_mm: A longer one is taken for a slip; by default the longest route. [mm]

    Returns:
        The length [mm], 0 included, or a message.
    """
    cleaned = _cleaned(text)
    match = _MEASURE.fullmatch(cleaned)
    return _measured(match, inches=inches, most_mm=most_mm) if match else _no_length(cleaned)


def lengths_mm(text: str, *, inches: bool = False) -> tuple[float, ...] | str:
    """Several lengths side by side, or the words that say what is wrong with them.

    A fraction and a unit belong to the number before them. Blanks, semicolons and commas separate; a comma between two
    digits is a decimal comma.

    Args:
        text: Such as ``95 95 110``, ``95, 95, 110``, ``4 1/2" 4" 4"``.
        inches: Whether a bare number means inches.

    Returns:
        The lengths [mm], 0 included, or a message that names the piece.
    """
    left = _cleaned(text)
    if re.fullmatch(r"\d+(?:,\d+){2,}", left, re.ASCII):
        # No number has two decimal commas, so these separate.
        left = left.replace(",", " ")
    found: list[float] = []
    units: set[str] = set()
    while left:
        match = _MEASURE.match(left)
        value = _measured(match, inches=inches) if match else _no_length(left)
        if match is None or isinstance(value, str):
            return f"“{(match.group() if match else left)[:24]}”: {value}"
        found.append(value)
        units.add(match["unit"] or ("ft" if match["feet"] else ""))
        left = _BETWEEN.sub("", left[match.end() :], count=1)
    own = "in" if inches else "mm"
    # 4 4 4" is not 4 mm, 4 mm and 4 in: bare numbers stand beside no other unit than their own.
    mixed = "" in units and any(_UNIT_WORDS[unit] != own for unit in units if unit)
    return "Write the unit behind every length." if mixed else tuple(found)


def _cleaned(text: str) -> str:
    """Small letters, single blanks, plain marks for feet and inches, and fractions written out: ``24½`` is 24 1/2."""
    written = []
    for letter in text:
        shape = unicodedata.decomposition(letter)
        if shape.startswith("<fraction>"):
            letter = " " + unicodedata.normalize("NFKC", letter)  # noqa: PLW2901
        written.append(letter)
    return " ".join("".join(written).translate(_MARKS).split()).casefold()


def _no_length(text: str) -> str:
    return "A length cannot be negative." if text.startswith(("-", "−", "–")) else NO_LENGTH


def _measured(match: re.Match[str], *, inches: bool, most_mm: float = LENGTH_MOST_MM) -> float | str:
    """The length of one measure, feet with inches behind them included. [mm]"""
    if match["feet"]:
        feet, more = _number(match["feet"], "ft"), _number(match["inches"], "in")
        if isinstance(feet, str) or isinstance(more, str):
            return feet if isinstance(feet, str) else more
        return _in_range(12 * feet + more, "in", most_mm) if more < 12 else "Write less than 12 in behind feet."
    unit = _UNIT_WORDS[match["unit"]] if match["unit"] else "in" if inches else "mm"
    value = _number(match["value"], unit)
    return value if isinstance(value, str) else _in_range(value, unit, most_mm)


def _in_range(value: float, unit: str, most_mm: float) -> float | str:
    length = value * _MM_PER_UNIT[unit]
    return TOO_LONG.format(most_mm / 1000) if length > most_mm else round(length, 4)


def _number(text: str, unit: str) -> float | str:
    """A number, whole, decimal or with a fraction of an inch."""
    number, _, fraction = re.sub(r"^(?=\d+/)", "0 ", text).replace("-", " ").partition(" ")
    if re.fullmatch(r"\d{1,3}(?:,\d{3})+", number, re.ASCII):
        return "Write thousands without a comma."
    if not re.fullmatch(r"\d*[.,]?\d+", number, re.ASCII):
        return NO_LENGTH
    value = float(number.replace(",", "."))
    if fraction:
        top, bottom = (float(half) for half in fraction.split("/"))
        if not 0 < top < bottom or unit != "in" or not number.isdecimal():
            return "Write a fraction of an inch such as 24 1/2 in."
        value += top / bottom
    return value
