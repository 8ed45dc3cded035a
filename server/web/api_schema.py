"""What the API's own description (OpenAPI) says beside the handlers: bodies, headers and every answer."""

from collections.abc import Mapping
from typing import Any, Literal

from fastapi import FastAPI
from pydantic import BaseModel
from pydantic.json_schema import models_json_schema

from server.documents.build_json import BuildDocument
from server.documents.build_version_1 import BuildDocument1
from server.documents.catalogue_json import CatalogueDocument
from server.documents.layout_json import LayoutDocument, ReadingsDocument, SentLayout
from server.documents.plan_json import PlanDocument

PROBLEM_TYPE = "application/problem+json"


class FieldProblem(BaseModel):
    """One thing wrong with what was sent."""

    field: str
    message: str


class Failure(BaseModel):
    """Why a request was refused."""

    detail: str
    problems: list[FieldProblem]


class Conflict(Failure):
    """A newer revision exists; ``changes`` says in words what it changed."""

    latest: int
    changes: list[str]


class BuildEntry(BaseModel):
    """A build at its latest revision, without its content."""

    id: str
    name: str
    revision: int
    saved_at: str


class BuildList(BaseModel):
    """All builds."""

    builds: list[BuildEntry]


class RevisionEntry(BaseModel):
    """One saved revision and what it changed, in words."""

    number: int
    saved_at: str
    words: list[str]


class RevisionList(BaseModel):
    """All revisions of a build, newest first."""

    revisions: list[RevisionEntry]


class CatalogueTable(BaseModel):
    """One table of the catalogue, under its own name beside ``version``."""

    format: Literal["loomwright-catalogue"]
    version: Literal[1]
    catalogue: dict[str, Any]


class NewBuild(BaseModel):
    """A new, empty build."""

    name: str


class LayoutEntry(BaseModel):
    """A supply layout at its newest version, without its content."""

    id: str
    name: str
    own: bool
    version: int
    saved_at: str
    ports: int
    cavities: int
    metered: int
    imported: int
    """Readings that came with a document and do not count: nobody has said that they are of this very supply."""


class LayoutList(BaseModel):
    """The samples, then the layouts of the builder's own."""

    layouts: list[LayoutEntry]


class NewLayout(BaseModel):
    """A new layout: without ports, or a copy of another when ``copy_of`` names one."""

    name: str
    copy_of: str = ""


class SameSupply(BaseModel):
    """The builder's word on readings that came with a document: taken on this very supply, same type and same unit."""

    same_supply: bool = False


class VersionEntry(BaseModel):
    """One saved version of a layout and what it changed, in words."""

    number: int
    name: str
    saved_at: str
    words: list[str]


class VersionList(BaseModel):
    """All versions of a layout, newest first."""

    versions: list[VersionEntry]


class VerdictEntry(BaseModel):
    """What the readings say about the net recorded at one cavity; an empty net means not connected."""

    port: str
    cavity: str
    net: str
    state: Literal["missing", "metered", "no_fit", "two_fit", "contradicts"]
    fits: list[str]
    text: str


class VerdictList(BaseModel):
    """The verdict on every cavity of a layout."""

    metered: int
    cavities: int
    verdicts: list[VerdictEntry]


_MODELS: tuple[type[BaseModel], ...] = (
    BuildDocument,
    BuildDocument1,
    PlanDocument,
    CatalogueDocument,
    CatalogueTable,
    Failure,
    Conflict,
    BuildEntry,
    BuildList,
    RevisionEntry,
    RevisionList,
    NewBuild,
    LayoutDocument,
    SentLayout,
    SameSupply,
    ReadingsDocument,
    LayoutEntry,
    LayoutList,
    NewLayout,
    VersionEntry,
    VersionList,
    VerdictEntry,
    VerdictList,
)
_EARLIER: Mapping[str, tuple[str, ...]] = {"BuildDocument": ("BuildDocument1",)}
"""Earlier versions that are read wherever the newest is."""
_REF = "#/components/schemas/{model}"


def _ref(model: str) -> dict[str, str]:
    return {"$ref": _REF.format(model=model)}


def body(*models: str) -> dict[str, Any]:
    """``openapi_extra`` of a handler that reads one of the named documents, in any version that is still read."""
    read = [version for model in models for version in (model, *_EARLIER.get(model, ()))]
    schema = _ref(read[0]) if len(read) == 1 else {"anyOf": [_ref(model) for model in read]}
    return {"requestBody": {"required": True, "content": {"application/json": {"schema": schema}}}}


_REFUSALS: Mapping[int, tuple[str, str]] = {
    400: ("Failure", "A header or the body's framing cannot be read."),
    403: ("Failure", "The request comes from a page of another site."),
    404: ("Failure", "There is no such build, revision, layout, version or table."),
    409: ("Conflict", "The build's state does not allow this."),
    412: ("Conflict", "A newer revision was saved meanwhile; the answer says what it changed."),
    413: ("Failure", "The body is larger than 2 MB."),
    421: ("Failure", "The Host header names another computer."),
    422: ("Failure", "What was sent cannot be accepted; every problem is listed with the path of its field."),
    428: ("Failure", "The If-Match header is missing."),
}
_TAG = {"ETag": {"description": "Tag of this state, for If-Match and If-None-Match.", "schema": {"type": "string"}}}
_LOCATION = {"Location": {"description": "Address of what was made.", "schema": {"type": "string"}}}


def answers(success: int, model: str, words: str, *refusals: int) -> dict[int | str, dict[str, Any]]:
    """``responses`` of a handler: its success, the refusals named, and those that every address shares."""
    described: dict[int | str, dict[str, Any]] = {success: {"description": words}}
    if model:
        described[success]["content"] = {"application/json": {"schema": _ref(model)}}
        if not model.endswith("List"):
            described[success]["headers"] = {**_TAG, **(_LOCATION if success == 201 else {})}
    for status in sorted({*refusals, 400, 421}):
        if status == 304:
            described[status] = {"description": "Unchanged since the tag in If-None-Match."}
            continue
        shape, text = _REFUSALS[status]
        described[status] = {"description": text, "content": {PROBLEM_TYPE: {"schema": _ref(shape)}}}
    return described


def describe(api: FastAPI) -> None:
    """Adds the documents' schemas to what FastAPI derives by itself."""
    derive = api.openapi

    def openapi() -> dict[str, Any]:
        if api.openapi_schema is None:
            schema = derive()
            _, definitions = models_json_schema([(model, "validation") for model in _MODELS], ref_template=_REF)
            # FastAPI lists its own error shape; every refusal here has the shape Failure instead.
            schema["components"] = {"schemas": definitions["$defs"]}
            api.openapi_schema = schema
        return api.openapi_schema

    api.openapi = openapi  # type: ignore[method-assign]  # FastAPI's documented way to extend the description.
