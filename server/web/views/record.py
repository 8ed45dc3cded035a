"""What is kept of a build: its revisions, its share links, its name and notes."""

from dataclasses import dataclass
from typing import Protocol

from server.services.opened import Opened
from server.web.views import formats
from server.web.views.fields import Field, Fields


class Revision(Protocol):
    """A stored revision, as the desk lists it."""

    @property
    def number(self) -> int:
        """Its number."""

    @property
    def saved_at(self) -> str:
        """When it was saved. [ISO 8601 UTC]"""

    @property
    def words(self) -> tuple[str, ...]:
        """What it changed, one sentence each."""


class Link(Protocol):
    """A share link, as the desk lists it."""

    @property
    def id(self) -> str:
        """Its id, which is not its secret."""

    @property
    def created_at(self) -> str:
        """When it was made. [ISO 8601 UTC]"""


@dataclass(frozen=True, slots=True)
class RevisionLine:
    """One revision in words."""

    number: int
    saved: str
    saved_iso: str
    words: tuple[str, ...]
    href: str
    current: bool


@dataclass(frozen=True, slots=True)
class HistoryPanel:
    """Every revision, newest first."""

    base: int
    revisions: tuple[RevisionLine, ...]


@dataclass(frozen=True, slots=True)
class LinkLine:
    """One share link."""

    created: str
    href: str


@dataclass(frozen=True, slots=True)
class SharePanel:
    """Share links of a build."""

    href: str
    base: int
    made: str
    """Address made this moment; it is shown once and never stored."""
    links: tuple[LinkLine, ...]


@dataclass(frozen=True, slots=True)
class DetailsPanel:
    """Name, client and notes."""

    href: str
    base: int
    name: Field
    client: Field
    notes: Field
    export: str
    document: str


def history_panel(opened: Opened, base: int, revisions: tuple[Revision, ...]) -> HistoryPanel:
    """The view of the history.

    Args:
        opened: The build as it stands.
        base: Revision that going back changes.
        revisions: Stored revisions, newest first.
    """
    return HistoryPanel(
        base,
        tuple(
            RevisionLine(
                revision.number,
                formats.clock(revision.saved_at),
                revision.saved_at,
                revision.words,
                f"/builds/{opened.build_id}/history/{revision.number}",
                revision.number == opened.revision,
            )
            for revision in revisions
        ),
    )


def share_panel(opened: Opened, base: int, links: tuple[Link, ...], made: str) -> SharePanel:
    """The view of the share links.

    Args:
        opened: The build as it stands.
        base: Revision of the page.
        links: Links that stand.
        made: The address of a link made this moment, or nothing.
    """
    href = f"/builds/{opened.build_id}/share"
    return SharePanel(
        href, base, made, tuple(LinkLine(formats.clock(link.created_at), f"{href}/{link.id}/revoke") for link in links)
    )


def details_panel(opened: Opened, base: int, fields: Fields) -> DetailsPanel:
    """The view of the build's details.

    Args:
        opened: The build as it stands.
        base: Revision that the form changes.
        fields: Makes the fields with what was typed last.
    """
    build = opened.build
    return DetailsPanel(
        f"/builds/{opened.build_id}/details",
        base,
        fields.text("name", "Name of the build", build.name),
        fields.text("client", "Client", build.client),
        fields.text("notes", "Notes", build.notes, "Colours agreed, deadlines, what the client said."),
        f"/builds/{opened.build_id}/export",
        "The whole build as one JSON file, to keep or to import elsewhere.",
    )
