"""From typed text to values: the only place where numbers are read and other units exist.

Every problem of a form is collected before the form is refused, so that one answer names them all.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import TypeVar

from server.domain.errors import InvalidInputError, Problem

Choice = TypeVar("Choice", bound=str)
MM_PER_INCH = 25.4
_MM_PER_UNIT = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": MM_PER_INCH}
_UNIT_WORDS = {
    **{word: word for word in _MM_PER_UNIT},
    **dict.fromkeys(("inch", "inches", '"', "″", "”", "''"), "in"),
    **dict.fromkeys(("millimetre", "millimetres", "millimeter", "millimeters"), "mm"),
    **dict.fromkeys(("centimetre", "centimetres", "centimeter", "centimeters"), "cm"),
}
_LENGTH = re.compile(
    r"(?P<number>[\d.,]*\d[\d.,]*)?(?:(?P<space>\s+|^)(?P<top>\d+)/(?P<bottom>\d+))?\s*(?P<unit>\D*)", re.ASCII
)
_NUMBER = re.compile(r"\d{1,9}(?:\.\d{1,9})?|\.\d{1,9}", re.ASCII)
LONGEST_MM = 10_000.0
"""Longer runs than this are taken for a slip of the unit: no desktop computer holds one."""


@dataclass(frozen=True, slots=True)
class Typed:
    """What a form sent, as text, and what was found wrong with it."""

    values: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    problems: tuple[Problem, ...] = ()

    def first(self, name: str, default: str = "") -> str:
        """The first text under this name, or the default when the form did not send it."""
        return self.values[name][0] if self.values.get(name) else default

    def pairs(self) -> tuple[tuple[str, str], ...]:
        """Every name with every one of its texts, as sent."""
        return tuple((name, text) for name, texts in self.values.items() for text in texts)

    def with_problems(self, problems: Sequence[Problem]) -> "Typed":
        """The same text with these problems."""
        return Typed(self.values, tuple(problems))


class Reader:
    """Reads the values of one form, and refuses it once with every problem."""

    def __init__(self, typed: Typed) -> None:
        self.typed = typed
        self._problems: list[Problem] = []

    def problem(self, name: str, message: str) -> None:
        """Note one problem beside the field of this name."""
        self._problems.append(Problem(name, message))

    def done(self) -> None:
        """Refuse the form if anything was wrong with it.

        Raises:
            InvalidInputError: with every problem noted so far.
        """
        if self._problems:
            raise InvalidInputError(tuple(self._problems))

    def base(self) -> int:
        """The revision that the form was made from.

        Raises:
            InvalidInputError: the form does not say; nothing else in it can be trusted then.
        """
        text = self.typed.first("revision").strip()
        if not re.fullmatch(r"[0-9]{1,9}", text):
            raise InvalidInputError((Problem("revision", "This form does not say which revision it changes: reload."),))
        return int(text)

    def word(self, name: str) -> str:
        """One line of text without the blanks around it."""
        return " ".join(self.typed.first(name).split())

    def text(self, name: str) -> str:
        """Several lines of text, with the line ends of one kind."""
        return self.typed.first(name).replace("\r\n", "\n").replace("\r", "\n").strip()

    def chosen(self, name: str) -> tuple[str, ...]:
        """Every text ticked or picked under this name, blanks left out."""
        return tuple(text for text in self.typed.values.get(name, ()) if text)

    def ticked(self, name: str) -> bool:
        """Whether a box was ticked."""
        return name in self.typed.values

    def one_of(self, name: str, offered: tuple[Choice, ...]) -> Choice:
        """One of the words offered; the first of them when it is none, and then a problem is noted."""
        text = self.word(name)
        for choice in offered:
            if choice == text:
                return choice
        self.problem(name, "Pick one of the list.")
        return offered[0]

    def codes(self, name: str) -> tuple[str, ...]:
        """Colour codes written one after the other, with blanks, commas or dashes between them."""
        return tuple(word for word in re.split(r"[\s,;/+-]+", self.typed.first(name).upper()) if word)

    def length(self, name: str, *, inches: bool = False, zero: bool = False) -> float | None:
        """One length, or nothing when the field is empty. [mm]

        Args:
            name: Name of the field.
            inches: Whether a bare number means inches.
            zero: Whether nothing at all (0) is a fair answer.
        """
        text = self.typed.first(name).strip()
        if not text:
            return None
        value = length_mm(text, inches=inches)
        if isinstance(value, str):
            self.problem(name, value)
            return None
        if value == 0 and not zero:
            self.problem(name, "A length must be more than zero.")
            return None
        return value

    def lengths(self, name: str, *, inches: bool = False) -> tuple[float, ...]:
        """Several lengths with blanks or semicolons between them, or commas followed by a blank. [mm]"""
        found: list[float] = []
        for piece in _pieces(self.typed.first(name)):
            value = length_mm(piece, inches=inches)
            if isinstance(value, str):
                self.problem(name, f"{piece}: {value}")
                return ()
            if value == 0:
                self.problem(name, "The space between two plugs must be more than zero.")
                return ()
            found.append(value)
        return tuple(found)

    def whole(self, name: str, least: int, most: int) -> int:
        """One whole number within a range; the least when it cannot be read, and then a problem is noted."""
        text = self.typed.first(name).strip()
        if not re.fullmatch(r"[0-9]{1,9}", text) or not least <= int(text) <= most:
            self.problem(name, f"Write a whole number from {least} to {most}.")
            return least
        return int(text)

    def number(self, name: str, most: Decimal) -> Decimal:
        """One number from 0 to ``most``; 0 when it cannot be read, and then a problem is noted."""
        text = self.typed.first(name).strip().removesuffix("%").strip().replace(",", ".")
        if not _NUMBER.fullmatch(text) or Decimal(text) > most:
            self.problem(name, f"Write a number from 0 to {most}.")
            return Decimal(0)
        return Decimal(text)


def length_mm(text: str, *, inches: bool = False) -> float | str:
    """A length in millimetres, or the words that say why the text is none.

    Args:
        text: Such as ``612``, ``61,2 cm``, ``24 in``, ``24 1/2"``.
        inches: Whether a bare number means inches.

    Returns:
        The length [mm], 0 included, or a message.
    """
    cleaned = " ".join(text.replace("\u00a0", " ").split()).casefold()
    if cleaned.startswith(("-", "−", "–")):
        return "A length cannot be negative."
    match = _LENGTH.fullmatch(cleaned)
    unit = _UNIT_WORDS.get(match["unit"]) if match and match["unit"] else ("in" if inches else "mm")
    if not match or unit is None or not (match["number"] or match["top"]):
        return "Write a length such as 612 mm or 24 in."
    number = match["number"] or "0"
    if re.fullmatch(r"\d{1,3}(?:,\d{3})+", number):
        return "Write thousands without a comma."
    number = number.replace(",", ".")
    if not _NUMBER.fullmatch(number):
        return "Write a length such as 612 mm or 24 in."
    value = float(number)
    if match["top"]:
        if int(match["bottom"]) == 0 or int(match["top"]) >= int(match["bottom"]) or unit != "in":
            return "Write a fraction of an inch such as 24 1/2 in."
        value += int(match["top"]) / int(match["bottom"])
    value *= _MM_PER_UNIT[unit]
    if value > LONGEST_MM:
        return f"Longer than {LONGEST_MM / 1000:.0f} m: check the unit."
    return round(value, 4)


def _pieces(text: str) -> list[str]:
    """Lengths written side by side; a unit that stands alone belongs to the number before it."""
    pieces: list[str] = []
    for word in re.split(r"[\s;]+|,(?=\s|$)", text.strip()):
        if word and pieces and word.casefold() in _UNIT_WORDS:
            pieces[-1] += " " + word
        elif word:
            pieces.append(word)
    return pieces
