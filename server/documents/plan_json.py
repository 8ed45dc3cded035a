"""A plan as a JSON document: what the API answers and the command line prints, alike to the byte.

The document is an object ``{"format": "loomwright-plan", "version": 1, "plan": {...}}`` whose ``plan`` follows the
dataclasses of ``server.domain.model.plan`` field by field. It is written only: a plan is computed, never read back.
"""

from typing import Literal

from pydantic import BaseModel

from server.documents.json_text import document_text
from server.domain.model.plan import Plan

FORMAT = "loomwright-plan"
VERSION = 1


class PlanDocument(BaseModel):
    """The shape of the document, for the API's description."""

    format: Literal["loomwright-plan"]
    version: Literal[1]
    plan: Plan


def write_plan(plan: Plan) -> str:
    """The document of a plan; the same plan gives the same text."""
    return document_text(FORMAT, VERSION, plan=plan)
