"""The list of supply layouts: samples to copy, and those of one's own."""

from collections.abc import Iterable
from dataclasses import dataclass

from server.services.layouts import LayoutEntry
from server.web.views import formats
from server.web.views.fields import Field, Fields, Trouble
from server.web.views.home import Undo

SAME_SUPPLY = "this"
"""Value of the choice by which readings of a file count at once."""
READINGS_OF = (
    ("other", "Another supply, or I am not sure: keep them for comparison, and do not count them"),
    (SAME_SUPPLY, "This very supply, the same maker's type and the same unit: count them"),
)


@dataclass(frozen=True, slots=True)
class LayoutLine:
    """One layout and what can be done with it."""

    href: str
    name: str
    note: str
    ports: str
    version: int
    metered: str
    mark: str
    imported: str
    """How many readings came with a file and do not count; empty when there are none."""
    saved: str
    saved_iso: str


@dataclass(frozen=True, slots=True)
class LayoutsPage:
    """The list of layouts."""

    own: tuple[LayoutLine, ...]
    samples: tuple[LayoutLine, ...]
    away: tuple[LayoutLine, ...]
    """Own layouts that were put away."""
    name: Field
    file: Field
    readings_of: Field
    undo: Undo | None
    message: str
    troubles: tuple[Trouble, ...]


def layouts_page(
    entries: Iterable[LayoutEntry], away: Iterable[LayoutEntry], fields: Fields, undo: Undo | None = None
) -> LayoutsPage:
    """The view of the list.

    Args:
        entries: Samples and own layouts.
        away: Own layouts that were put away.
        fields: Makes the fields with what was typed last.
        undo: A layout put away this moment.
    """
    found = tuple(entries)
    return LayoutsPage(
        own=tuple(_line(entry) for entry in found if entry.layout.own),
        samples=tuple(_line(entry) for entry in found if not entry.layout.own),
        away=tuple(_line(entry) for entry in away),
        name=fields.text("name", "Name of the new layout", "", "Such as the supply's place and its label"),
        file=fields.text("file", "Layout file (JSON)", ""),
        readings_of=fields.choice("readings_of", "Readings in the file were taken on", READINGS_OF[0][0], READINGS_OF),
        undo=undo,
        message="",
        troubles=fields.troubles(),
    )


def metered_words(metered: int, cavities: int) -> tuple[str, str]:
    """How far something is metered: a mark and words."""
    if cavities and metered == cavities:
        return "✓", f"metered: all {cavities} cavities"
    return "▲", f"{metered} of {cavities} cavities metered"


def _line(entry: LayoutEntry) -> LayoutLine:
    layout, done = entry.layout, entry.progress
    mark, words = metered_words(done.metered, done.cavities) if layout.own else ("▲", "sample, never metered")
    saved = formats.clock(entry.saved_at) if entry.saved_at else ""
    ports = formats.count(len(layout.ports), "port")
    return LayoutLine(
        href=f"/layouts/{layout.id}",
        name=layout.name,
        note=layout.note,
        ports=ports,
        version=layout.version,
        metered=words,
        mark=mark,
        imported=imported_words(entry.imported),
        saved=saved,
        saved_iso=entry.saved_at,
    )


def imported_words(count: int) -> str:
    """That readings came with a file and do not count; empty when there are none."""
    if not count:
        return ""
    return f"{formats.count(count, 'reading')} of an imported file: not counted"
