"""The first screen: builds at hand, examples to start from, and a way to bring one in."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Protocol

from server.web.views import formats
from server.web.views.fields import Field, Fields, Trouble


class Summary(Protocol):
    """A build, as the desk lists it."""

    @property
    def build_id(self) -> str:
        """Its id."""

    @property
    def name(self) -> str:
        """Its name."""

    @property
    def revision(self) -> int:
        """Its newest revision."""

    @property
    def saved_at(self) -> str:
        """When that was saved. [ISO 8601 UTC]"""


class Example(Protocol):
    """An example build, as the desk lists it."""

    @property
    def id(self) -> str:
        """Its id."""

    @property
    def name(self) -> str:
        """Its name."""

    @property
    def text(self) -> str:
        """What it shows."""


@dataclass(frozen=True, slots=True)
class BuildLine:
    """One build and what can be done with it."""

    href: str
    name: str
    revision: int
    saved: str
    saved_iso: str
    rename: Field


@dataclass(frozen=True, slots=True)
class ExampleLine:
    """One example to start from."""

    href: str
    name: str
    text: str


@dataclass(frozen=True, slots=True)
class Undo:
    """A build deleted this moment, and the way back."""

    name: str
    href: str


@dataclass(frozen=True, slots=True)
class HomePage:
    """The first screen."""

    search: str
    found: str
    builds: tuple[BuildLine, ...]
    examples: tuple[ExampleLine, ...]
    name: Field
    file: Field
    undo: Undo | None
    message: str
    troubles: tuple[Trouble, ...]


def home_page(
    builds: Iterable[Summary],
    examples: Iterable[Example],
    fields: Fields,
    *,
    search: str = "",
    undo: Undo | None = None,
    message: str = "",
) -> HomePage:
    """The view of the first screen.

    Args:
        builds: Builds that match the search, newest first.
        examples: Examples to start from.
        fields: Makes the fields with what was typed last.
        search: What was searched for.
        undo: A build deleted this moment.
        message: What the last step came to.
    """
    lines = tuple(
        BuildLine(
            f"/builds/{build.build_id}",
            build.name,
            build.revision,
            formats.clock(build.saved_at),
            build.saved_at,
            fields.text(f"rename.{build.build_id}", f"New name for {build.name}", build.name),
        )
        for build in builds
    )
    return HomePage(
        search=search,
        found=formats.count(len(lines), "build") + (f" with “{search}” in the name" if search else ""),
        builds=lines,
        examples=tuple(ExampleLine(f"/examples/{example.id}", example.name, example.text) for example in examples),
        name=fields.text("name", "Name of the new build", ""),
        file=fields.text("file", "Build file (JSON)", ""),
        undo=undo,
        message=message,
        troubles=fields.troubles(),
    )
