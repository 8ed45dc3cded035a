"""From the text of the stock page to values in the catalogue's own units, and refusals back into its words."""

import re
from collections.abc import Mapping
from decimal import Decimal

from server.domain.errors import InvalidInputError, Problem
from server.web.reading.lengths import length_mm
from server.web.stock_lists import Column

_MM_PER_UNIT = {"": Decimal(1000), "m": Decimal(1000), "cm": Decimal(10), "mm": Decimal(1), "ft": Decimal("304.8")}
_PACK = re.compile(r"([0-9]{1,7}(?:[.,][0-9]{1,4})?)\s*(m|cm|mm|ft)?")
LONGEST_PACK_MM = 1_000_000


def values_of(texts: Mapping[str, str], columns: tuple[Column, ...]) -> dict[str, str]:
    """Values by column, as text in the catalogue's units.

    Args:
        texts: What was typed, by column; a column that was not sent is left as it is.
        columns: The columns of the row.

    Raises:
        InvalidInputError: a text is no value; every such column is named.
    """
    problems: list[Problem] = []
    values: dict[str, str] = {}
    for column in columns:
        if column.name not in texts:
            continue
        found = _value(texts[column.name], column)
        if isinstance(found, Problem):
            problems.append(found)
        else:
            values[column.name] = found
    if problems:
        raise InvalidInputError(tuple(problems))
    return values


def in_page_words(error: InvalidInputError, columns: tuple[Column, ...]) -> tuple[Problem, ...]:
    """Problems as sentences that name columns as the page heads them."""
    return tuple(Problem(problem.field, _sentence(problem.message, columns)) for problem in error.problems)


def _value(text: str, column: Column) -> str | Problem:
    text = " ".join(text.replace("\u00a0", " ").split())
    if not text and column.entry != "words":
        return Problem(column.name, "Write a value.")
    if column.entry == "words":
        return text
    if column.entry == "pack_length":
        return _pack_length(text, column)
    if column.entry == "length":
        found = length_mm(text)
        return Problem(column.name, found) if isinstance(found, str) else f"{found:.10g}"
    if re.fullmatch(r"-[0-9.,]+", text):
        return Problem(column.name, "Must not be negative.")
    return re.sub(r"^([0-9]*),([0-9]+)$", r"\1.\2", text)


def _pack_length(text: str, column: Column) -> str | Problem:
    match = _PACK.fullmatch(text.casefold())
    if match is None:
        return Problem(column.name, "Write a length such as 25 m or 82 ft.")
    exact = Decimal(match[1].replace(",", ".")) * _MM_PER_UNIT[match[2] or ""]
    # A roll is never counted longer than it is.
    whole = int(exact)
    if not 1 <= whole <= LONGEST_PACK_MM:
        return Problem(column.name, f"Must be more than 0 and at most {LONGEST_PACK_MM // 1000} m.")
    return str(whole)


def _sentence(message: str, columns: tuple[Column, ...]) -> str:
    for column in columns:
        message = re.sub(rf"\b{column.name}\b", f"“{column.heading}”", message)
    message = message[:1].upper() + message[1:]
    return message if message.endswith((".", "?", "!")) else f"{message}."
