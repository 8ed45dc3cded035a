"""Labels as files: sheets as PDF, and one row for each label for label printers."""

from server.config import ROOT
from server.documents.labels import labels_pdf
from server.documents.tables import Column, Sheet
from server.domain.labels import NO_BREAK
from server.services.label_records import LabelJob
from server.services.opened import Opened

STATIC = ROOT / "static"
ENDS = {"source": "source end", "part": "part end"}


def label_pages(opened: Opened, job: LabelJob) -> bytes:
    """Labels as PDF.

    Args:
        opened: The build as it stands.
        job: Its labels, at least one.

    Raises:
        PapersError: the library that sets PDFs is missing.
    """
    title = f"Wire labels, {opened.build.name}, revision {opened.revision}"
    return labels_pdf(job.placed, job.settings.sheet, job.settings.form, title, STATIC)


def label_table(job: LabelJob) -> Sheet:
    """One row for each label, in the order in which they are printed.

    Nothing is marked as a text here: a label printer prints what it is given.

    Args:
        job: The labels.
    """
    most = max((len(label.lines) for label in job.labels), default=0)
    names = ("label", "end", "plug", "cavity", "net", "colour", *(f"line {number + 1}" for number in range(most)))
    rows = tuple(
        (
            label.wire,
            ENDS[label.end],
            label.plug,
            label.cavity,
            label.net,
            label.colour,
            *(line.replace(NO_BREAK, " ") for line in label.lines),
            *((None,) * (most - len(label.lines))),
        )
        for label in job.labels
    )
    return Sheet("Wire labels", tuple(Column(name, as_is=True) for name in names), rows)
