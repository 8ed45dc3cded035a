"""The catalogue as JSON: whole, or one table of it. Written only; the catalogue's own files are CSV."""

from dataclasses import fields
from typing import Any, Literal

from pydantic import BaseModel

from server.documents.json_text import document_text
from server.domain.errors import NotFoundError
from server.domain.model.catalogue import Catalogue

FORMAT = "loomwright-catalogue"
VERSION = 1
TABLES = tuple(entry.name for entry in fields(Catalogue) if entry.name != "version")
"""Names of the catalogue's tables."""


class CatalogueDocument(BaseModel):
    """The shape of the document, for the API's description."""

    format: Literal["loomwright-catalogue"]
    version: Literal[1]
    catalogue: Catalogue


def write_catalogue(catalogue: Catalogue) -> str:
    """The document of the whole catalogue."""
    content = {entry.name: _table(catalogue, entry.name) for entry in fields(Catalogue)}
    return document_text(FORMAT, VERSION, catalogue=content)


def write_table(catalogue: Catalogue, table: str) -> str:
    """The document of one table.

    Raises:
        NotFoundError: the catalogue has no such table.
    """
    if table not in TABLES:
        raise NotFoundError(f'The catalogue has no table "{table[:80]}"; it has {", ".join(TABLES)}.')
    content = {"version": catalogue.version, table: _table(catalogue, table)}
    return document_text(FORMAT, VERSION, catalogue=content)


def _table(catalogue: Catalogue, table: str) -> Any:
    """One table; keys of two words, which JSON does not have, are written as ``id/version``."""
    if table == "earlier":
        return {f"{layout_id}/{version}": layout for (layout_id, version), layout in catalogue.earlier.items()}
    return getattr(catalogue, table)
