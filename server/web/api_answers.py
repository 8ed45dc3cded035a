"""How the API reads a request and answers with documents: bodies, tags of states, and what is unchanged."""

import re
from hashlib import sha256
from typing import Annotated

from fastapi import Depends, Header, HTTPException, Request, Response


async def _body(request: Request) -> bytes:
    return await request.body()


def _base(
    if_match: Annotated[
        str | None, Header(alias="If-Match", description='Tag of the state built on, such as "rev-3".')
    ] = None,
) -> int:
    """Revision or version that an ``If-Match`` header names."""
    if if_match is None:
        raise HTTPException(428, 'Send If-Match with the ETag of the revision you changed, such as "rev-3".')
    # A layout's tag also counts its readings, which no later version undoes; they are not compared.
    found = re.fullmatch(r'\s*"rev-([0-9]{1,9})(?:\.[0-9]{1,12})?"\s*', if_match)
    if found is None:
        raise HTTPException(400, 'If-Match must be one tag of the form "rev-3".')
    return int(found.group(1))


Body = Annotated[bytes, Depends(_body)]
Base = Annotated[int, Depends(_base)]
Known = Annotated[str | None, Header(alias="If-None-Match", description="Tag of the state already known.")]


def content_tag(text: str) -> str:
    """Tag of an answer that has no number of its own."""
    return f'"{sha256(text.encode()).hexdigest()[:32]}"'


def document(text: str, tag: str, known: str | None) -> Response:
    """A document, or the word that it has not changed since the tag that the client knows."""
    headers = {"ETag": tag, "Cache-Control": "no-cache"}
    tags = {each.strip().removeprefix("W/") for each in (known or "").split(",")}
    if tag in tags or "*" in tags:
        return Response(status_code=304, headers=headers)
    return Response(text, media_type="application/json", headers=headers)
