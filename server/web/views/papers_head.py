"""The head of every paper: which document it is, of which build and issue, as a drawing office writes it."""

from dataclasses import dataclass

from server.services.opened import Opened
from server.web.views import formats

ID_DIGITS = 8


@dataclass(frozen=True, slots=True)
class PaperHead:
    """The fields of a paper's title block, and what stands in the margin of its sheets.

    Source:
        ISO 7200:2004, from memory: legal owner, identification number, date of issue, sheet number, title, approval
        person, creator and document type are mandatory. Those that a build does not know are lines to write on.
    """

    title: str
    kind: str
    """Document type."""
    number: str
    """Identification number: the build's id, shortened, and a word for the paper."""
    build: str
    client: str
    revision: str
    date: str
    """Day on which this revision of the build was saved, ISO 8601."""
    sums: str
    """What the paper comes to, in a few words; empty for nothing."""
    metered: bool
    anchor: str
    """Id of the paper's body, to which the contents lead."""
    margin: str
    """Build and revision for the margin of every sheet."""


def paper_head(opened: Opened, title: str, kind: str, code: str, sums: str = "") -> PaperHead:
    """The head of one paper.

    Args:
        opened: The build at the revision that is set.
        title: What it is called.
        kind: Its document type.
        code: A short word that tells its number from those of the build's other papers.
        sums: What it comes to, in a few words.
    """
    return PaperHead(
        title=title,
        kind=kind,
        number=f"{opened.build_id[:ID_DIGITS].upper()}-{code}",
        build=opened.build.name,
        client=opened.build.client,
        revision=str(opened.revision),
        date=formats.day(opened.saved_at),
        sums=sums,
        metered=opened.plan.metered,
        anchor=f"paper-{code.lower()}",
        margin=f"{_shortened(opened.build.name)}, revision {opened.revision}",
    )


def _shortened(name: str, most: int = 60) -> str:
    """A name that leaves room for the sheet's number beside it."""
    return name if len(name) <= most else f"{name[: most - 1].rstrip()}…"
