"""A build as a JSON document: the planner's own open format, for keeping, sending and the API.

The document is an object ``{"format": "loomwright-build", "version": 2, "build": {...}}`` whose ``build`` follows the
dataclasses of ``server.domain.model.build`` field by field. Lengths are in mm; amounts of money are decimal numbers
written as text. Writing the same build gives the same bytes. Documents of version 1 are read too and never written.
"""

from collections.abc import Mapping
from dataclasses import replace
from typing import Literal, TypeVar

from pydantic import BaseModel, ConfigDict, ValidationError

from server.documents.build_checks import build_problems
from server.documents.build_version_1 import BuildDocument1, lifted, problems_1
from server.documents.document_problems import MOST_PROBLEMS, check_envelope, problems_of
from server.documents.json_text import document_text
from server.documents.strict_json import decode, parse_object
from server.domain.errors import InvalidInputError, Problem
from server.domain.model.build import Build

FORMAT = "loomwright-build"
VERSION = 2

_Key = TypeVar("_Key", bound=str)
_Value = TypeVar("_Value")
_Document = TypeVar("_Document", bound=BaseModel)


class BuildDocument(BaseModel):
    """The envelope; pydantic carries its settings on into the plain dataclasses below it."""

    model_config = ConfigDict(extra="forbid", strict=True, allow_inf_nan=False)

    format: Literal["loomwright-build"]
    version: Literal[2]
    build: Build


def read_build(text: bytes | str) -> Build:
    """The build that a document of version 1 or 2 holds.

    Args:
        text: The document, UTF-8, at most 2 MB.

    Raises:
        InvalidInputError: every problem found, with the path of the value inside ``build``.
    """
    decoded = decode(text)
    whole = parse_object(decoded)
    check_envelope(whole, FORMAT, VERSION, "build")
    if whole["version"] == 1:
        earlier = _validated(BuildDocument1, decoded).build
        _refuse(tuple(problems_1(earlier)))
        build = lifted(earlier)
    else:
        build = _validated(BuildDocument, decoded).build
    build = _with_sorted_maps(build)
    _refuse(build_problems(build))
    return build


def write_build(build: Build) -> str:
    """The document of a build: keys of maps sorted, fields in the order of the model, a newline at the end.

    Raises:
        InvalidInputError: the build holds something that could not be read back, such as a control character in a
            name, or so many steps of routes that the document would be larger than 2 MB.
    """
    _refuse(build_problems(build))
    text = document_text(FORMAT, VERSION, build=build)
    # What is too large to be read back, or is no text, must not be stored as a revision.
    decode(text)
    return text


def _validated(shape: type[_Document], text: str) -> _Document:
    try:
        return shape.model_validate_json(text)
    except ValidationError as error:
        raise InvalidInputError(problems_of(error, "build")) from error


def _refuse(problems: tuple[Problem, ...]) -> None:
    if problems:
        raise InvalidInputError(problems[:MOST_PROBLEMS])


def _with_sorted_maps(build: Build) -> Build:
    # The order of keys in a file must not show in the plan.
    given = build.allowances
    allowances = replace(
        given,
        depth_mm=_sorted(given.depth_mm),
        strip_mm=_sorted(given.strip_mm),
        recrimp_by_family=_sorted(given.recrimp_by_family),
        spares=_sorted(given.spares),
    )
    finish = replace(build.finish, awg_by_use=_sorted(build.finish.awg_by_use))
    return replace(build, finish=finish, allowances=allowances, prices=_sorted(build.prices))


def _sorted(values: Mapping[_Key, _Value]) -> dict[_Key, _Value]:
    return dict(sorted(values.items()))
