"""A build as a JSON document: the planner's own open format, for keeping, sending and the API.

The document is an object ``{"format": "loomwright-build", "version": 1, "build": {...}}`` whose ``build`` follows the
dataclasses of ``server.domain.model.build`` field by field. Lengths are in mm; amounts of money are decimal numbers
written as text. Writing the same build gives the same bytes.
"""

from dataclasses import replace
from typing import Literal

from pydantic import BaseModel, ConfigDict, ValidationError

from server.documents.build_checks import build_problems
from server.documents.document_problems import MOST_PROBLEMS, check_envelope, problems_of
from server.documents.json_text import document_text
from server.documents.strict_json import decode, parse_object
from server.domain.errors import InvalidInputError
from server.domain.model.build import Build

FORMAT = "loomwright-build"
VERSION = 1


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
    check_envelope(parse_object(decoded), FORMAT, VERSION, "build")
    try:
        build = BuildDocument.model_validate_json(decoded).build
    except ValidationError as error:
        raise InvalidInputError(problems_of(error, "build")) from error
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


def _check(build: Build) -> None:
    problems = build_problems(build)
    if problems:
        raise InvalidInputError(problems[:MOST_PROBLEMS])


def _with_sorted_maps(build: Build) -> Build:
    # The order of keys in a file must not show in the plan.
    finish = replace(build.finish, awg_by_use=dict(sorted(build.finish.awg_by_use.items())))
    return replace(build, finish=finish, prices=dict(sorted(build.prices.items())))
