"""Validation failures in plain words."""

from collections.abc import Callable, Mapping
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

_RULES: Mapping[str, Callable[[Mapping[str, Any]], str]] = {
    "value_error": lambda bounds: str(bounds["error"]),
    "greater_than_equal": lambda bounds: f"is out of range: must be at least {bounds['ge']}",
    "greater_than": lambda bounds: f"is out of range: must be above {bounds['gt']}",
    "less_than_equal": lambda bounds: f"is out of range: must be at most {bounds['le']}",
    "literal_error": lambda bounds: f"is an unknown word: must be one of {_word_list(bounds['expected'])}",
    "string_too_short": lambda _: "must not be empty",
    "string_too_long": lambda bounds: f"must be at most {bounds['max_length']} characters long",
    "string_pattern_mismatch": lambda bounds: f"is not written as expected ({bounds['pattern']})",
    "decimal_max_places": lambda bounds: f"must have at most {bounds['decimal_places']} decimals",
    "int_parsing": lambda _: "must be a whole number",
    "int_from_float": lambda _: "must be a whole number",
    "missing": lambda _: "is missing",
}


def _word_list(expected: str) -> str:
    return expected.replace("'", "").replace(" or ", ", ")


def plain_rule(column: str, error: ErrorDetails) -> str:
    """Say which rule a value broke.

    Args:
        column: Name of the column the value stands in.
        error: One error of a failed validation.

    Returns:
        The rule in plain words, without the column's name.
    """
    kind = error["type"]
    if column == "source" and kind == "string_too_short":
        return "every row must name its source"
    if kind in _RULES:
        return _RULES[kind](error.get("ctx", {}))
    if kind == "finite_number" or kind.endswith(("_parsing", "_type")):
        return "must be a number written with digits and a decimal point"
    return error["msg"]


def first_broken_rule(failure: ValidationError, columns: tuple[str, ...]) -> tuple[str, str]:
    """Pick the leftmost column that broke a rule.

    Args:
        failure: The failed validation of one row.
        columns: The columns in the order in which they are read.

    Returns:
        The column and the rule in plain words.
    """
    problems: dict[str, str] = {}
    for error in failure.errors():
        column = str(error["loc"][0]) if error["loc"] else ""
        problems.setdefault(column, plain_rule(column, error))
    leftmost = min(problems, key=lambda column: columns.index(column) if column in columns else len(columns))
    return leftmost, problems[leftmost]
