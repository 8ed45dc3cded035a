"""JSON text from outside, refused before it can do harm: size, encoding, nesting, duplicate keys, missing ends."""

import json
import re
from typing import Any

from server.domain.errors import InvalidInputError, Problem

MOST_BYTES = 2_000_000
"""Greatest size of a document. [byte]"""
DEEPEST = 64
"""Greatest nesting of lists and objects; a build needs eight."""

# Possessive repeats keep the scan linear however the text was prepared; an unclosed string runs to the end.
_STRING = re.compile(r'"(?:[^"\\]++|\\.)*+"?', re.DOTALL)
_BRACKET = re.compile(r"[\[\]{}]")


def refuse(field: str, message: str) -> InvalidInputError:
    """One problem as the error to raise; half a character in a field's name, which no answer holds, becomes ``?``."""
    return InvalidInputError((Problem(field.encode("utf-8", "replace").decode(), message),))


def decode(text: bytes | str) -> str:
    """Text of a document, after its size and encoding were checked.

    Raises:
        InvalidInputError: the document is larger than ``MOST_BYTES``, empty, or not UTF-8.
    """
    if isinstance(text, str):
        try:
            text = text.encode("utf-8")
        except UnicodeEncodeError as error:
            raise refuse("", "The document holds half a character and cannot be written as UTF-8.") from error
    if len(text) > MOST_BYTES:
        raise refuse("", f"The document is larger than {MOST_BYTES // 1_000_000} MB.")
    try:
        decoded = text.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise refuse("", f"The document is not UTF-8 text: byte {error.start + 1} does not fit.") from error
    if not decoded.strip():
        raise refuse("", "The document is empty.")
    return decoded


def parse_object(text: str) -> dict[str, Any]:
    """A JSON object, strictly read.

    Raises:
        InvalidInputError: the text nests deeper than ``DEEPEST``, is not JSON (line and column are named), repeats a
            key, uses ``NaN`` or ``Infinity``, or is not an object.
    """
    _check_nesting(text)
    try:
        value = json.loads(text, object_pairs_hook=_pairs, parse_constant=_no_constant, parse_int=_whole_number)
    except json.JSONDecodeError as error:
        raise refuse(
            "", f"Not valid JSON at line {error.lineno}, column {error.colno}: {_reason(error, text)}"
        ) from error
    if not isinstance(value, dict):
        raise refuse("", "The document must be a JSON object.")
    return value


def _check_nesting(text: str) -> None:
    depth = 0
    for bracket in _BRACKET.finditer(_STRING.sub("", text)):
        depth += 1 if bracket.group() in "[{" else -1
        if depth > DEEPEST:
            raise refuse("", f"The document nests deeper than {DEEPEST} levels.")


def _reason(error: json.JSONDecodeError, text: str) -> str:
    cut_short = error.pos >= len(text.rstrip()) or error.msg.startswith("Unterminated string")
    if cut_short:
        return "the document ends too early; it may have been cut short."
    return f"{error.msg[:1].lower()}{error.msg[1:]}."


def _pairs(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key, value in pairs:
        if key in found:
            raise refuse(key[:80], "This key appears twice in one object.")
        found[key] = value
    return found


def _no_constant(word: str) -> None:
    raise refuse("", f"{word} is not a number that a document may hold.")


def _whole_number(digits: str) -> int:
    # Python itself refuses numbers of several thousand digits with an error of its own; no field needs more than these.
    if len(digits) > 20:
        raise refuse("", f"The number {digits[:12]}... is too large.")
    return int(digits)
