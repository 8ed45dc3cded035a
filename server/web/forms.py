"""From typed text to values: the only place, with ``reading``, where numbers are read and other units exist.

Every problem of a form is collected before the form is refused, so that one answer names them all.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from decimal import Decimal
from typing import TypeVar

from server.domain.errors import InvalidInputError, Problem
from server.web.reading.lengths import length_mm, lengths_mm

Choice = TypeVar("Choice", bound=str)
_NUMBER = re.compile(r"\d{1,9}(?:\.\d{1,9})?|\.\d{1,9}", re.ASCII)


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
        """Several lengths with blanks, commas or semicolons between them. [mm]"""
        found = lengths_mm(self.typed.first(name), inches=inches)
        if isinstance(found, str):
            self.problem(name, found)
            return ()
        if 0 in found:
            self.problem(name, "The space between two plugs must be more than zero.")
            return ()
        return found

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


@contextmanager
def beside(names: Mapping[str, str]) -> Iterator[None]:
    """Put the message of a refusal beside the field or row of the panel that it speaks of.

    Args:
        names: That field or row, by what the refusal names.
    """
    try:
        yield
    except InvalidInputError as error:
        moved = (Problem(names.get(problem.field, problem.field), problem.message) for problem in error.problems)
        raise InvalidInputError(tuple(moved)) from error
