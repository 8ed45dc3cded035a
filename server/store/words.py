"""Kinds of value that a catalogue row may hold, with the rules each must keep.

Every rule is stated once, here or in ``records``; the loader and the builder's edits both go through it.
"""

import re
from decimal import Decimal
from typing import Annotated

from pydantic import AfterValidator, BeforeValidator, Field
from sqlalchemy import Dialect, String, TypeDecorator


class DecimalText(TypeDecorator[Decimal]):
    """A decimal kept as text, because SQLite would otherwise store a binary fraction."""

    impl = String
    cache_ok = True

    def process_bind_param(self, value: Decimal | None, dialect: Dialect) -> str | None:
        """Write the decimal as text."""
        return None if value is None else str(value)

    def process_result_value(self, value: str | None, dialect: Dialect) -> Decimal | None:
        """Read the decimal back, to the last digit."""
        return None if value is None else Decimal(value)


def _yes_or_no(value: object) -> bool:
    if isinstance(value, bool):
        return value
    if value in ("yes", "no"):
        return value == "yes"
    raise ValueError("must be yes or no")


def _plain_digits(value: object) -> object:
    # Python reads "1_000" and full-width digits as numbers; in a catalogue file they are slips of the pen.
    if isinstance(value, str) and not re.fullmatch(r"-?[0-9]+(\.[0-9]+)?", value.strip()):
        raise ValueError("must be a number written with digits and a decimal point")
    return value


def _slug(value: str) -> str:
    if not re.fullmatch(r"[a-z0-9_][a-z0-9_.-]*", value):
        raise ValueError("must be a short id of small letters, digits, hyphens and underscores")
    return value


def _net(value: str) -> str:
    if not re.fullmatch(r"[A-Za-z0-9+\-._#]*", value):
        raise ValueError("must be the name of one net, without spaces")
    return value


def _one_line(value: str) -> str:
    if re.search(r"[\x00-\x1f]", value):
        raise ValueError("must be one line of text")
    return value


# The length is checked before the wording, so that an empty value is told as such.
Id = Annotated[str, Field(min_length=1, max_length=60), AfterValidator(_slug)]
PackId = Annotated[str, Field(min_length=1, max_length=120), AfterValidator(_slug)]
Net = Annotated[str, Field(max_length=40), AfterValidator(_net)]
Text = Annotated[str, Field(min_length=1, max_length=300), AfterValidator(_one_line)]
MaybeText = Annotated[str, Field(max_length=300), AfterValidator(_one_line)]
Cavity = Annotated[str, Field(pattern=r"^S?[1-9][0-9]?$")]
ColourCode = Annotated[str, Field(pattern=r"^[A-Z]{2,4}$")]
Number = BeforeValidator(_plain_digits)
Millimetre = Annotated[float, Number, Field(ge=0, le=1000, allow_inf_nan=False)]
Awg = Annotated[int, Number, Field(ge=10, le=32)]
Count = Annotated[int, Number, Field(ge=1, le=100)]
Quantity = Annotated[int, Number, Field(ge=1, le=1_000_000)]
Ampere = Annotated[float, Number, Field(gt=0, le=100, allow_inf_nan=False)]
YesNo = Annotated[bool, BeforeValidator(_yes_or_no)]


def loads_from_text(text: str) -> dict[str, float]:
    """Read greatest currents per net, such as ``+12V=13.5 +5V=2``.

    Args:
        text: Net, equals sign and current of each, separated by spaces. [A]

    Returns:
        Current per net in the order written. [A]

    Raises:
        ValueError: an entry is not ``net=current``, a net stands twice, or a current lies outside 0 to 100 A.
    """
    loads: dict[str, float] = {}
    for entry in text.split():
        net, equals, amount = entry.rpartition("=")
        if not equals or not net or not re.fullmatch(r"[0-9]+(\.[0-9]+)?", amount):
            raise ValueError(f"must be written as net=current, not {entry}")
        if _net(net) in loads:
            raise ValueError(f"names {net} twice")
        loads[net] = float(amount)
        if not 0 < loads[net] <= 100:
            raise ValueError(f"the current of {net} must be above 0 and at most 100 A")
    return loads


def words_from_text(text: str, allowed: tuple[str, ...] | None = None) -> tuple[str, ...]:
    """Split a list that is separated by spaces.

    Args:
        text: The list as written in one column.
        allowed: The words that may stand in it; anything when left out.

    Returns:
        The words in the order written.

    Raises:
        ValueError: a word is not allowed or stands twice.
    """
    words = tuple(text.split())
    for word in words:
        if allowed is not None and word not in allowed:
            raise ValueError(f"{word} is not one of {', '.join(allowed)}")
    if len(set(words)) != len(words):
        raise ValueError("names the same word twice")
    return words
