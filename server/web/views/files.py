"""Everything of a build that can be saved as a file: lists as tables, drawings as SVG."""

from dataclasses import dataclass
from itertools import groupby

from server.services.opened import Opened
from server.web.views.drawings import DrawingLink, drawing_links
from server.web.views.exports import book_href, export_links


@dataclass(frozen=True, slots=True)
class ListFiles:
    """One list, as two kinds of file."""

    name: str
    csv: str
    xlsx: str


@dataclass(frozen=True, slots=True)
class DrawingFiles:
    """Drawings that belong together: those of the build, or of one run."""

    name: str
    links: tuple[DrawingLink, ...]


@dataclass(frozen=True, slots=True)
class FilesPanel:
    """Lists and drawings."""

    book: str
    """Address of the workbook that holds every list."""
    lists: tuple[ListFiles, ...]
    drawings: tuple[DrawingFiles, ...]


def files_panel(opened: Opened) -> FilesPanel:
    """The view of everything that can be saved.

    Args:
        opened: The build as it stands.
    """
    groups = groupby(drawing_links(opened), key=lambda link: (link.run, link.run_name))
    return FilesPanel(
        book_href(opened),
        tuple(ListFiles(*link) for link in export_links(opened)),
        tuple(
            DrawingFiles(f"Run {run}, {name}" if run is not None else "Whole build", tuple(links))
            for (run, name), links in groups
        ),
    )
