"""The programming interface under ``/api``: builds, supply layouts, the plans that follow, and the catalogue.

It is an application of its own, mounted by ``server.app``, so that its failures are JSON and its description
(``/api/openapi.json``) lists nothing but itself.
"""

from typing import Annotated

from fastapi import APIRouter, Depends, FastAPI, Query, Request, Response
from fastapi import Path as PathParameter
from fastapi.responses import JSONResponse

from server.documents.build_json import write_build
from server.documents.catalogue_json import write_catalogue, write_table
from server.documents.plan_json import write_plan
from server.documents.strict_json import decode, parse_object, refuse
from server.services.builds import BuildDesk
from server.services.layouts import LayoutDesk
from server.services.opened import Opened
from server.web import api_errors
from server.web.api_answers import Base, Body, Known, content_tag, document
from server.web.api_schema import BuildEntry, BuildList, RevisionEntry, RevisionList, answers, body, describe
from server.web.routes import api_layouts

router = APIRouter()


def api_application(desk: BuildDesk, layouts: LayoutDesk) -> FastAPI:
    """The API as an application to mount at ``/api``."""
    api = FastAPI(
        title="Loomwright",
        version="1",
        summary="Plans hand-made cables: builds in, plans out.",
        description=(
            "Lengths are in mm, currents in A, times in minutes; amounts of money are decimal numbers written as text. "
            'A build is saved as numbered revisions: its ETag is "rev-N", and PUT needs it in If-Match. '
            "Supply layouts of the builder's own are saved as versions in the same way; their readings are only added."
        ),
        docs_url=None,
        redoc_url=None,
        openapi_url="/openapi.json",
    )
    api.state.desk = desk
    api.state.layouts = layouts
    api.include_router(router)
    api.include_router(api_layouts.router)
    api_errors.install(api)
    describe(api)
    return api


def _desk(request: Request) -> BuildDesk:
    desk: BuildDesk = request.app.state.desk
    return desk


Desk = Annotated[BuildDesk, Depends(_desk)]
BuildId = Annotated[str, PathParameter(description="Id of a build, from the list of builds.", max_length=64)]
RevisionNumber = Annotated[int | None, Query(description="An older revision; the latest without it.", ge=1, le=10**9)]


@router.get(
    "/builds",
    summary="List the builds",
    description="Every build that is not deleted, with its latest revision.",
    responses=answers(200, "BuildList", "The builds.", 422),
)
def list_builds(
    desk: Desk, search: Annotated[str, Query(description="Words that the name holds.", max_length=200)] = ""
) -> Response:
    """Lists builds."""
    entries = [
        BuildEntry(id=each.build_id, name=each.name, revision=each.revision, saved_at=each.saved_at)
        for each in desk.list_builds(search)
    ]
    return JSONResponse(BuildList(builds=entries).model_dump())


@router.post(
    "/builds",
    status_code=201,
    summary="Make a build",
    description='Takes a build document, or {"name": "..."} for an empty build.',
    responses=answers(201, "BuildEntry", "The new build, at revision 1.", 403, 413, 422),
    openapi_extra=body("BuildDocument", "NewBuild"),
)
def create_build(desk: Desk, text: Body) -> Response:
    """Makes a build from a document or a name."""
    return _entry(_created(desk, text), 201)


@router.get(
    "/builds/{build_id}",
    summary="Read a build",
    description="The build document at its latest or a named revision.",
    responses=answers(200, "BuildDocument", "The build.", 304, 404, 422),
)
def read_build_document(
    desk: Desk, build_id: BuildId, revision: RevisionNumber = None, known: Known = None
) -> Response:
    """Answers a build document."""
    opened = desk.open(build_id, revision)
    return document(write_build(opened.build), _tag(opened), known)


@router.put(
    "/builds/{build_id}",
    summary="Change a build",
    description="Saves the document as the next revision; none is made when nothing changed.",
    responses=answers(200, "BuildEntry", "The build at its new revision.", 403, 404, 412, 413, 422, 428),
    openapi_extra=body("BuildDocument"),
)
def put_build(desk: Desk, build_id: BuildId, base: Base, text: Body) -> Response:
    """Saves a build document."""
    return _entry(desk.put_document(build_id, base, text), 200)


@router.delete(
    "/builds/{build_id}",
    status_code=204,
    summary="Delete a build",
    description="It can be restored.",
    responses=answers(204, "", "Deleted.", 403, 404, 422),
)
def delete_build(desk: Desk, build_id: BuildId) -> Response:
    """Deletes a build."""
    desk.delete(build_id)
    return Response(status_code=204)


@router.post(
    "/builds/{build_id}/restore",
    summary="Restore a deleted build",
    description="Brings a deleted build back with all its revisions.",
    responses=answers(200, "BuildEntry", "The build.", 403, 404, 409, 422),
)
def restore_build(desk: Desk, build_id: BuildId) -> Response:
    """Restores a deleted build."""
    return _entry(desk.restore(build_id), 200)


@router.get(
    "/builds/{build_id}/plan",
    summary="Plan a build",
    description="The plan that follows from the build at its latest or a named revision.",
    responses=answers(200, "PlanDocument", "The plan.", 304, 404, 422),
)
def read_plan(desk: Desk, build_id: BuildId, revision: RevisionNumber = None, known: Known = None) -> Response:
    """Answers the plan of a build."""
    text = write_plan(desk.open(build_id, revision).plan)
    return document(text, content_tag(text), known)


@router.get(
    "/builds/{build_id}/revisions",
    summary="List the revisions of a build",
    description="Newest first, each with what it changed in words.",
    responses=answers(200, "RevisionList", "The revisions.", 404, 422),
)
def list_revisions(desk: Desk, build_id: BuildId) -> Response:
    """Lists revisions."""
    entries = [
        RevisionEntry(number=each.number, saved_at=each.saved_at, words=list(each.words))
        for each in desk.revisions(build_id)
    ]
    return JSONResponse(RevisionList(revisions=entries).model_dump())


@router.post(
    "/plan",
    summary="Plan a document",
    description="Takes a build document and answers its plan; nothing is stored.",
    responses=answers(200, "PlanDocument", "The plan.", 403, 413, 422),
    openapi_extra=body("BuildDocument"),
)
def plan_document(desk: Desk, text: Body) -> Response:
    """Answers the plan of a document."""
    answer = write_plan(desk.plan_document(text).plan)
    return document(answer, content_tag(answer), None)


@router.get(
    "/catalogue",
    summary="Read the catalogue",
    description="All reference data, with the builder's own values in place of the shipped ones.",
    responses=answers(200, "CatalogueDocument", "The catalogue.", 304, 422),
)
def read_catalogue(desk: Desk, known: Known = None) -> Response:
    """Answers the catalogue."""
    text = write_catalogue(desk.catalogue())
    return document(text, content_tag(text), known)


@router.get(
    "/catalogue/{table}",
    summary="Read one table of the catalogue",
    description="The same shape as the whole catalogue, with one table in it.",
    responses=answers(200, "CatalogueTable", "The table.", 304, 404, 422),
)
def read_catalogue_table(
    desk: Desk, table: Annotated[str, PathParameter(description="Name of a table, such as wires.")], known: Known = None
) -> Response:
    """Answers one table of the catalogue."""
    text = write_table(desk.catalogue(), table)
    return document(text, content_tag(text), known)


def _created(desk: BuildDesk, text: bytes) -> Opened:
    sent = parse_object(decode(text))
    if set(sent) != {"name"}:
        return desk.import_json(text)
    if not isinstance(sent["name"], str):
        raise refuse("name", "Must be text.")
    return desk.create(sent["name"])


def _tag(opened: Opened) -> str:
    return f'"rev-{opened.revision}"'


def _entry(opened: Opened, status: int) -> Response:
    entry = BuildEntry(id=opened.build_id, name=opened.build.name, revision=opened.revision, saved_at=opened.saved_at)
    headers = {"ETag": _tag(opened)}
    if status == 201:
        headers["Location"] = f"/api/builds/{opened.build_id}"
    return JSONResponse(entry.model_dump(), status_code=status, headers=headers)
