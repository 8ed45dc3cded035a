"""A build as it is handed to a screen or a program: one revision and the plan that follows from it."""

from dataclasses import dataclass

from server.domain.model.build import Build
from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import Plan


@dataclass(frozen=True, slots=True)
class Opened:
    """One build at one revision."""

    build_id: str
    revision: int
    saved_at: str
    """Moment of saving, ISO 8601 in UTC."""
    build: Build
    plan: Plan
    catalogue: Catalogue


@dataclass(frozen=True, slots=True)
class ExampleInfo:
    """An example build that can be opened as a build of one's own."""

    id: str
    name: str
    text: str


@dataclass(frozen=True, slots=True)
class ShareInfo:
    """A share link in force, without its secret."""

    id: str
    created_at: str
