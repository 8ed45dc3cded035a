"""Checks of single values in a build document, each with the path of its value: ids, text, counts, ranges, amounts."""

import re
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from decimal import Decimal

from server.domain.errors import Problem
from server.domain.limits import NAME_MOST
from server.domain.reference import LENGTH_MOST_MM

LONGEST_NAME = NAME_MOST
MOST_ENTRIES = 256
"""Entries read of a pattern, or of what is decided by hand on one run."""
LONGEST_ROUTE_MM = LENGTH_MOST_MM
GREATEST_AMOUNT = Decimal(10_000_000)

CAVITY = re.compile(r"[A-Za-z0-9]{1,8}")
COLOUR = re.compile(r"[A-Z][A-Z0-9]{1,3}")
CURRENCY = re.compile(r"[A-Z]{3}")
_ID = re.compile(r"[a-z0-9][a-z0-9-]{0,63}")
# Ids that the catalogue gave: a port carries the letters printed on the supply, such as M1.
_REFERENCE = re.compile(r"[A-Za-z0-9_][A-Za-z0-9_.-]{0,63}")
# Characters that no drawing, label or workbook can show; a tab or a new line is allowed in the notes.
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ufffe\uffff]")
_LINE_BREAK = re.compile(r"[\t\n\r]")

Problems = Iterator[Problem]


def check_id(path: str, value: str) -> Problems:
    """An id that the build gave."""
    if not _ID.fullmatch(value):
        yield Problem(path, "Must be an id: small letters, digits and hyphens, at most 64, a letter or digit first.")


def check_reference(path: str, value: str) -> Problems:
    """An id that the catalogue gave; whether the catalogue has it is not looked at."""
    if not _REFERENCE.fullmatch(value):
        yield Problem(path, "Must be an id of the catalogue: letters, digits, hyphens and points, at most 64.")


def check_name(path: str, value: str) -> Problems:
    """One line of text."""
    yield from check_text(path, value, LONGEST_NAME)
    if _LINE_BREAK.search(value):
        yield Problem(path, "Must be one line.")


def check_text(path: str, value: str, longest: int) -> Problems:
    """Text that can be shown, of at most ``longest`` characters."""
    if len(value) > longest:
        yield Problem(path, f"Must be at most {longest} characters.")
    if _CONTROL.search(value):
        yield Problem(path, "Holds a character that cannot be shown.")


def check_each(path: str, values: tuple[str, ...], pattern: re.Pattern[str], message: str) -> Problems:
    """A list of short words, each of one pattern."""
    yield from check_count(path, values, MOST_ENTRIES)
    for index, value in enumerate(values[:MOST_ENTRIES]):
        if not pattern.fullmatch(value):
            yield Problem(f"{path}.{index}", message)


def check_count(path: str, values: Sequence[object], most: int) -> Problems:
    """A list of at most ``most`` entries."""
    if len(values) > most:
        yield Problem(path, f"At most {most} entries are read here.")


def check_once(path: str, field: str, values: Iterable[object]) -> Problems:
    """Values of ``field`` along a list, each of which may stand once."""
    seen: Counter[object] = Counter()
    for index, value in enumerate(values):
        seen[value] += 1
        if seen[value] == 2:
            yield Problem(f"{path}.{index}.{field}", f"{str(value)[:80]} is used twice.")


def check_between(path: str, value: float, least: float, greatest: float) -> Problems:
    """A number within its range."""
    if not least <= value <= greatest:
        yield Problem(path, f"Must be from {least:g} to {_figure(greatest)}.")


def check_amount(path: str, value: Decimal, greatest: Decimal = GREATEST_AMOUNT) -> Problems:
    """An amount of money or a percentage, written plainly."""
    exponent = value.as_tuple().exponent
    if not value.is_finite() or not 0 <= value <= greatest:
        yield Problem(path, f"Must be from 0 to {greatest}.")
    elif not isinstance(exponent, int) or not -6 <= exponent <= 7:
        # An exponent far beyond the amount itself ("0E+9999999") would be written out as that many digits.
        yield Problem(path, "Must be written plainly, with at most 6 digits after the point.")


_figure: Callable[[float], str] = "{:.0f}".format
