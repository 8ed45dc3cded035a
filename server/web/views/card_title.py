"""The title block of a cable card: who, what, which issue, as a drawing office writes it."""

from dataclasses import dataclass

from server.domain.model.plan import RunPlan
from server.services.opened import Opened
from server.web.views import formats
from server.web.views.pieces import run_title

_ID_DIGITS = 8


@dataclass(frozen=True, slots=True)
class TitleField:
    """One field of a title block; an empty value is a line to be written on with a pen."""

    name: str
    value: str
    key: str = ""
    """Short word for its place in the block."""


@dataclass(frozen=True, slots=True)
class TitleBlock:
    """The fields of one card, in the two rows of its block.

    Source:
        ISO 7200:2004, from memory: mandatory are legal owner, identification number, date of issue, segment or sheet
        number, title, approval person, creator and document type; revision index, number of sheets and supplementary
        title are optional. Lengths from memory: identification number 16 characters, revision index 2.
    """

    upper: tuple[TitleField, ...]
    lower: tuple[TitleField, ...]

    @property
    def fields(self) -> tuple[TitleField, ...]:
        """All of them."""
        return (*self.upper, *self.lower)


def title_block(run: RunPlan, opened: Opened) -> TitleBlock:
    """The title block of one run's card.

    A build knows for whom it is made, not whose the drawing is, who made it or who approves it: those fields are lines
    to write on.

    Args:
        run: The planned run.
        opened: The build as it stands.
    """
    upper = (
        TitleField("legal owner", "", "owner"),
        TitleField("title", run_title(run), "title"),
        TitleField("build", opened.build.name, "build"),
        TitleField("client", opened.build.client, "client"),
        TitleField("document type", "cable card", "kind"),
    )
    lower = (
        TitleField("creator", "", "creator"),
        TitleField("approved by", "", "approved"),
        TitleField("number", f"{opened.build_id[:_ID_DIGITS].upper()}-{run.number:02d}", "number"),
        TitleField("revision", str(opened.revision), "revision"),
        TitleField("date of issue", formats.day(opened.saved_at), "date"),
        TitleField("sheet", "1/1", "sheet"),
    )
    return TitleBlock(upper, lower)
