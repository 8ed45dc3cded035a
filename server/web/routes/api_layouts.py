"""The programming interface to supply layouts: documents in and out, versions by ETag, readings and verdicts."""

from typing import Annotated

from fastapi import APIRouter, Depends, Query, Request, Response
from fastapi import Path as PathParameter
from fastapi.responses import JSONResponse

from server.documents.layout_json import ReadingsDocument, read_readings, write_layout
from server.documents.strict_json import decode, parse_object, refuse
from server.services.layouts import LayoutDesk, LayoutEntry, OpenedLayout
from server.web import api_schema
from server.web.api_answers import Base, Body, Known, content_tag, document
from server.web.api_schema import answers, body

router = APIRouter(prefix="/layouts")


def _desk(request: Request) -> LayoutDesk:
    desk: LayoutDesk = request.app.state.layouts
    return desk


Desk = Annotated[LayoutDesk, Depends(_desk)]
LayoutId = Annotated[str, PathParameter(description="Id of a layout, from the list of layouts.", max_length=64)]
VersionNumber = Annotated[int | None, Query(description="An older version; the newest without it.", ge=1, le=10**9)]


@router.get(
    "",
    summary="List the supply layouts",
    description="The samples, then the builder's own that are not deleted, with how far each is metered.",
    responses=answers(200, "LayoutList", "The layouts.", 422),
)
def list_layouts(desk: Desk) -> Response:
    """Lists layouts."""
    return JSONResponse(api_schema.LayoutList(layouts=[_listed(each) for each in desk.list()]).model_dump())


@router.post(
    "",
    status_code=201,
    summary="Make a supply layout",
    description=(
        'Takes a layout document, or {"name": "...", "copy_of": "..."} for a copy; without copy_of, no ports. Readings '
        'in a document count only with "same_supply": true beside "layout": they were taken on this very supply, the '
        "same type and the same unit. Otherwise they are kept for comparison."
    ),
    responses=answers(201, "LayoutEntry", "The new layout, at version 1.", 403, 404, 413, 422),
    openapi_extra=body("SentLayout", "NewLayout"),
)
def create_layout(desk: Desk, text: Body) -> Response:
    """Makes a layout from a document, a name or another layout."""
    return _entry(_created(desk, text), 201)


@router.get(
    "/{layout_id}",
    summary="Read a supply layout",
    description="The layout document at its newest or a named version, with every reading; samples can be read too.",
    responses=answers(200, "LayoutDocument", "The layout.", 304, 404, 422),
)
def read_layout_document(
    desk: Desk, layout_id: LayoutId, version: VersionNumber = None, known: Known = None
) -> Response:
    """Answers a layout document."""
    if version is None and any(each.layout.id == layout_id and not each.layout.own for each in desk.list()):
        text = desk.export_json(layout_id)
        return document(text, content_tag(text), known)
    opened = desk.open(layout_id, version)
    return document(write_layout(opened.layout), _tag(opened), known)


@router.put(
    "/{layout_id}",
    summary="Change a supply layout",
    description=(
        "Saves the document as the next version; none is made when nothing changed. Readings in it that differ are "
        'written down only with "same_supply": true beside "layout", and are kept for comparison otherwise; cavities '
        "that it does not mention keep theirs."
    ),
    responses=answers(200, "LayoutEntry", "The layout at its new version.", 403, 404, 412, 413, 422, 428),
    openapi_extra=body("SentLayout"),
)
def put_layout(desk: Desk, layout_id: LayoutId, base: Base, text: Body) -> Response:
    """Saves a layout document."""
    return _entry(desk.put_document(layout_id, base, text), 200)


@router.delete(
    "/{layout_id}",
    status_code=204,
    summary="Delete a supply layout",
    description="It can be restored; builds that use it keep their version.",
    responses=answers(204, "", "Deleted.", 403, 404, 422),
)
def delete_layout(desk: Desk, layout_id: LayoutId) -> Response:
    """Deletes a layout."""
    desk.delete(layout_id)
    return Response(status_code=204)


@router.post(
    "/{layout_id}/restore",
    summary="Restore a deleted supply layout",
    description="Brings a deleted layout back with all its versions and readings.",
    responses=answers(200, "LayoutEntry", "The layout.", 403, 404, 422),
)
def restore_layout(desk: Desk, layout_id: LayoutId) -> Response:
    """Restores a deleted layout."""
    return _entry(desk.restore(layout_id), 200)


@router.get(
    "/{layout_id}/versions",
    summary="List the versions of a supply layout",
    description="Newest first, each with what it changed in words.",
    responses=answers(200, "VersionList", "The versions.", 404, 422),
)
def list_versions(desk: Desk, layout_id: LayoutId) -> Response:
    """Lists versions."""
    entries = [
        api_schema.VersionEntry(number=each.number, name=each.name, saved_at=each.saved_at, words=list(each.words))
        for each in desk.versions(layout_id)
    ]
    return JSONResponse(api_schema.VersionList(versions=entries).model_dump())


@router.get(
    "/{layout_id}/verdicts",
    summary="Read what the readings say",
    description="The verdict on every cavity of a layout at its newest or a named version.",
    responses=answers(200, "VerdictList", "The verdicts.", 404, 422),
)
def list_verdicts(desk: Desk, layout_id: LayoutId, version: VersionNumber = None) -> Response:
    """Answers the verdicts on a layout."""
    return _verdicts(desk.open(layout_id, version))


@router.post(
    "/{layout_id}/readings",
    summary="Write down readings",
    description="Adds readings to the layout's record; the newest of a cavity holds, one without values clears it.",
    responses=answers(200, "VerdictList", "The verdicts that follow.", 403, 404, 413, 422),
    openapi_extra=body("ReadingsDocument"),
)
def record_readings(desk: Desk, layout_id: LayoutId, text: Body) -> Response:
    """Writes down readings."""
    desk.record(layout_id, read_readings(text))
    return _verdicts(desk.open(layout_id))


@router.delete(
    "/{layout_id}/readings",
    summary="Clear readings",
    description="Clears the readings of one port, or of the whole layout; the record keeps what was there.",
    responses=answers(200, "VerdictList", "The verdicts that follow.", 403, 404, 422),
)
def clear_readings(
    desk: Desk,
    layout_id: LayoutId,
    port: Annotated[str, Query(description="Id of a port; every port without it.", max_length=64)] = "",
) -> Response:
    """Clears readings."""
    desk.clear(layout_id, port)
    return _verdicts(desk.open(layout_id))


@router.get(
    "/{layout_id}/imported",
    summary="Read readings that do not count",
    description="Readings that came with a document and were not said to be of this very supply.",
    responses=answers(200, "ReadingsDocument", "The readings.", 404, 422),
)
def list_imported(desk: Desk, layout_id: LayoutId) -> Response:
    """Answers the readings kept for comparison."""
    found = ReadingsDocument(readings=tuple(desk.open(layout_id).imported.values()))
    return JSONResponse(found.model_dump(), headers={"Cache-Control": "no-cache"})


@router.post(
    "/{layout_id}/imported",
    summary="Let them count",
    description=(
        'Takes {"same_supply": true}: the readings were taken on this very supply, the same type and the same unit. A '
        "cavity that was measured here keeps its own reading."
    ),
    responses=answers(200, "VerdictList", "The verdicts that follow.", 403, 404, 413, 422),
    openapi_extra=body("SameSupply"),
)
def adopt_imported(desk: Desk, layout_id: LayoutId, text: Body) -> Response:
    """Counts the readings kept for comparison."""
    sent = parse_object(decode(text))
    if not set(sent) <= {"same_supply"} or not isinstance(sent.get("same_supply", False), bool):
        raise refuse("same_supply", 'Send {"same_supply": true} and nothing else.')
    desk.adopt_imported(layout_id, same_supply=sent.get("same_supply", False))
    return _verdicts(desk.open(layout_id))


@router.delete(
    "/{layout_id}/imported",
    summary="Drop readings that do not count",
    description="Those that came with a document and were not said to be of this very supply.",
    responses=answers(200, "VerdictList", "The verdicts, which stay as they are.", 403, 404, 422),
)
def drop_imported(desk: Desk, layout_id: LayoutId) -> Response:
    """Drops the readings kept for comparison."""
    desk.drop_imported(layout_id)
    return _verdicts(desk.open(layout_id))


def _created(desk: LayoutDesk, text: bytes) -> OpenedLayout:
    sent = parse_object(decode(text))
    if "name" not in sent or not set(sent) <= {"name", "copy_of"}:
        return desk.import_sent(text)
    for key, value in sent.items():
        if not isinstance(value, str):
            raise refuse(key, "Must be text.")
    return desk.copy(sent["copy_of"], sent["name"]) if sent.get("copy_of") else desk.start(sent["name"])


def _listed(entry: LayoutEntry) -> api_schema.LayoutEntry:
    layout, done = entry.layout, entry.progress
    return api_schema.LayoutEntry(
        id=layout.id,
        name=layout.name,
        own=layout.own,
        version=layout.version,
        saved_at=entry.saved_at,
        ports=len(layout.ports),
        cavities=done.cavities,
        metered=done.metered,
        imported=entry.imported,
    )


def _entry(opened: OpenedLayout, status: int) -> Response:
    entry = _listed(LayoutEntry(opened.layout, opened.saved_at, opened.progress, len(opened.imported)))
    headers = {"ETag": _tag(opened)}
    if status == 201:
        headers["Location"] = f"/api/layouts/{opened.layout.id}"
    return JSONResponse(entry.model_dump(), status_code=status, headers=headers)


def _verdicts(opened: OpenedLayout) -> Response:
    nets = {(port.id, pin.cavity): pin.net for port in opened.layout.ports for pin in port.pins}
    entries = [
        api_schema.VerdictEntry(
            port=port,
            cavity=cavity,
            net=nets[port, cavity],
            state=verdict.state,
            fits=list(verdict.fits),
            text=verdict.text,
        )
        for (port, cavity), verdict in opened.verdicts.items()
    ]
    done = opened.progress
    found = api_schema.VerdictList(metered=done.metered, cavities=done.cavities, verdicts=entries)
    return JSONResponse(found.model_dump(), headers={"Cache-Control": "no-cache"})


def _tag(opened: OpenedLayout) -> str:
    return f'"rev-{opened.layout.version}.{opened.entry}"'
