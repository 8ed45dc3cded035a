"""A build as a JSON document: the planner's own open format, for keeping, sending and the API.

The document is an object ``{"format": "loomwright-build", "version": 1, "build": {...}}`` whose ``build`` follows the
dataclasses of ``server.domain.model.build`` field by field. Lengths are in mm; amounts of money are decimal numbers
written as text. Writing the same build gives the same bytes.
"""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, ValidationError
from pydantic_core import ErrorDetails

from server.documents.build_checks import build_problems
from server.documents.json_text import document_text
from server.documents.strict_json import decode, parse_object, refuse
from server.domain.errors import InvalidInputError, Problem
from server.domain.model.build import Build

FORMAT = "loomwright-build"
VERSION = 1
_MOST_PROBLEMS = 50


class BuildDocument(BaseModel):
    """The envelope; pydantic carries its settings on into the plain dataclasses below it."""

    model_config = ConfigDict(extra="forbid", strict=True, allow_inf_nan=False)

    format: Literal["loomwright-build"]
    version: Literal[1]
    build: Build


def read_build(text: bytes | str) -> Build:
    """The build that a document holds.

    Args:
        text: The document, UTF-8, at most 2 MB.

    Raises:
        InvalidInputError: every problem found, with the path of the value inside ``build``.
    """
    decoded = decode(text)
    _check_envelope(parse_object(decoded))
    try:
        build = BuildDocument.model_validate_json(decoded).build
    except ValidationError as error:
        raise InvalidInputError(_problems(error)) from error
    build = _with_sorted_maps(build)
    _check(build)
    return build


def write_build(build: Build) -> str:
    """The document of a build: keys of maps sorted, fields in the order of the model, a newline at the end.

    Raises:
        InvalidInputError: the build holds something that could not be read back, such as a control character in a name.
    """
    _check(build)
    return document_text(FORMAT, VERSION, build=build)


def _check_envelope(document: Mapping[str, Any]) -> None:
    if document.get("format") != FORMAT:
        raise refuse("format", f'This is not a Loomwright build: "format" must be "{FORMAT}".')
    version = document.get("version")
    if not isinstance(version, int) or isinstance(version, bool) or version < 1:
        raise refuse("version", f'"version" must be a whole number; this planner reads version {VERSION}.')
    if version > VERSION:
        raise refuse("version", f"The document has version {version}; this planner reads version {VERSION}.")


def _check(build: Build) -> None:
    problems = build_problems(build)
    if problems:
        raise InvalidInputError(problems[:_MOST_PROBLEMS])


def _with_sorted_maps(build: Build) -> Build:
    # The order of keys in a file must not show in the plan.
    finish = replace(build.finish, awg_by_use=dict(sorted(build.finish.awg_by_use.items())))
    return replace(build, finish=finish, prices=dict(sorted(build.prices.items())))


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


def _problems(error: ValidationError) -> tuple[Problem, ...]:
    return tuple(_problem(detail) for detail in error.errors(include_url=False)[:_MOST_PROBLEMS])


def _problem(detail: ErrorDetails) -> Problem:
    path = [str(step)[:80] for step in detail["loc"]]
    if path[:1] == ["build"] and len(path) > 1:
        path = path[1:]
    message = _MESSAGES.get(detail["type"], "")
    if detail["type"] == "literal_error":
        message = f"Must be one of: {detail.get('ctx', {}).get('expected', '')}.".replace(" or ", ", ")
    return Problem(".".join(path), message or f"{detail['msg']}.")
