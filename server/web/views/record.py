"""What is kept of a build: its revisions, its share links, its name and notes."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Protocol

from server.services.opened import Opened
from server.services.revisions import Comparison
from server.web.views import formats
from server.web.views.differences import Effect, effect
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
    name: str
    """What the builder calls it; empty for most."""
    rename: Field
    effect: Effect | None
    """What it did to wires, money and hours; ``None`` while that is not worked out."""
    compare: str
    """Address that holds it against the revision before it; empty for the first."""


@dataclass(frozen=True, slots=True)
class ComparedLine:
    """Two revisions held against each other."""

    title: str
    words: tuple[str, ...]
    effect: Effect


@dataclass(frozen=True, slots=True)
class HistoryPanel:
    """Revisions, newest first, and any two of them held against each other."""

    base: int
    compare: str
    first: Field
    second: Field
    compared: ComparedLine | None
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


def history_panel(
    opened: Opened,
    base: int,
    fields: Fields,
    revisions: tuple[Revision, ...],
    names: Mapping[int, str],
    effects: Mapping[int, Effect],
    compared: ComparedLine | None,
) -> HistoryPanel:
    """The view of the history.

    Args:
        opened: The build as it stands.
        base: Revision that going back changes.
        fields: Makes the fields with what was typed last.
        revisions: Stored revisions, newest first.
        names: What the builder calls some of them, by number.
        effects: What some of them did, by number.
        compared: Two of them held against each other, if two were chosen.
    """
    href = f"/builds/{opened.build_id}/history"
    options = [
        (
            str(r.number),
            f"{r.number}, {f'‘{names[r.number]}’, ' if r.number in names else ''}{formats.clock(r.saved_at)}",
        )
        for r in revisions
    ]
    named = [number for number in names if number < opened.revision]
    return HistoryPanel(
        base,
        f"{href}/compare",
        fields.choice("first", "From revision", str(named[-1] if named else max(opened.revision - 1, 1)), options),
        fields.choice("second", "to revision", str(opened.revision), options),
        compared,
        tuple(
            RevisionLine(
                revision.number,
                formats.clock(revision.saved_at),
                revision.saved_at,
                revision.words,
                f"{href}/{revision.number}",
                revision.number == opened.revision,
                names.get(revision.number, ""),
                fields.text(f"names.{revision.number}", f"Name of revision {revision.number}", ""),
                effects.get(revision.number),
                f"{href}/compare?first={revision.number - 1}&second={revision.number}" if revision.number > 1 else "",
            )
            for revision in revisions
        ),
    )


def compared_line(found: Comparison, names: Mapping[int, str]) -> ComparedLine:
    """Two revisions held against each other, in words.

    Args:
        found: The comparison.
        names: What the builder calls some revisions, by number.
    """

    def named(number: int) -> str:
        return f"{number} ‘{names[number]}’" if number in names else str(number)

    return ComparedLine(
        f"From revision {named(found.first)} to revision {named(found.second)}",
        found.words,
        effect(found.difference),
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
