"""What every document of the planner's own is held to, and how a broken rule is told."""

from collections.abc import Mapping
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from server.documents.strict_json import refuse
from server.domain.errors import Problem

MOST_PROBLEMS = 50
"""Problems told of one document."""


def check_envelope(document: Mapping[str, Any], name: str, newest: int, content: str) -> None:
    """Refuse a document of another format or of a later version.

    Args:
        document: The document as parsed.
        name: Name of the format wanted.
        newest: Latest version that this planner reads.
        content: What the document holds, in one word.

    Raises:
        InvalidInputError: it is another format, or a version that this planner does not read.
    """
    if document.get("format") != name:
        raise refuse("format", f'This is not a Loomwright {content}: "format" must be "{name}".')
    version = document.get("version")
    if not isinstance(version, int) or isinstance(version, bool) or version < 1:
        raise refuse("version", f'"version" must be a whole number; this planner reads version {_versions(newest)}.')
    if version > newest:
        raise refuse("version", f"The document has version {version}; this planner reads version {_versions(newest)}.")


def _versions(newest: int) -> str:
    return " or ".join(str(version) for version in range(1, newest + 1))


_MESSAGES: Mapping[str, str] = {
    "missing": "This field is missing.",
    "extra_forbidden": "This planner knows no such field.",
    "unexpected_keyword_argument": "This planner knows no such field.",
    "int_type": "Must be a whole number.",
    "int_from_float": "Must be a whole number.",
    "int_parsing_size": "The number is too large.",
    "float_type": "Must be a number.",
    "finite_number": "Must be a finite number.",
    "string_type": "Must be text.",
    "bool_type": "Must be true or false.",
    "tuple_type": "Must be a list.",
    "dict_type": "Must be an object.",
    "mapping_type": "Must be an object.",
    "model_type": "Must be an object.",
    "dataclass_type": "Must be an object.",
    "dataclass_exact_type": "Must be an object.",
    "decimal_type": 'Must be an amount written as text, such as "12.50".',
    "decimal_parsing": 'Must be an amount written as text, such as "12.50".',
    "is_instance_of": 'Must be an amount written as text, such as "12.50".',
}


def problems_of(error: ValidationError, content: str) -> tuple[Problem, ...]:
    """The broken rules of a document, with the path of each value inside its content.

    Args:
        error: What validation found.
        content: Key under which the document holds its content.
    """
    return tuple(_problem(detail, content) for detail in error.errors(include_url=False)[:MOST_PROBLEMS])


def _problem(detail: ErrorDetails, content: str) -> Problem:
    # "[key]" stands behind the key of a map that is itself wrong.
    path = [str(step)[:80] for step in detail["loc"] if step != "[key]"]
    if path[:1] == [content] and len(path) > 1:
        path = path[1:]
    message = _MESSAGES.get(detail["type"], "")
    if detail["type"] == "literal_error":
        message = f"Must be one of: {detail.get('ctx', {}).get('expected', '')}.".replace(" or ", ", ")
    return Problem(".".join(path), message or f"{detail['msg']}.")
