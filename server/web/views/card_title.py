"""The title block of a cable card: who, what, which issue, as a drawing office writes it."""

from dataclasses import dataclass

from server.domain.model.plan import RunPlan
from server.drawing.svg import fitted, width
from server.services.opened import Opened
from server.web.views import formats
from server.web.views.pieces import run_title

COLUMNS = 20
_ID_DIGITS = 8
_TITLE_MOST, _BUILD_MOST, _CLIENT_MOST = 54, 44, 26
"""Longer names are shortened in the block, where they would run into the next field. [character cells]"""


@dataclass(frozen=True, slots=True)
class TitleField:
    """One field of a title block; an empty value is a line to be written on with a pen."""

    name: str
    value: str
    span: int = 3
    """Width in columns of the block, of which a row has ``COLUMNS``."""


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
    columns: tuple[int, ...] = tuple(range(COLUMNS))

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
        TitleField("legal owner", ""),
        TitleField("title", _fitted(run_title(run), _TITLE_MOST), 6),
        TitleField("build", _fitted(opened.build.name, _BUILD_MOST), 5),
        TitleField("client", _fitted(opened.build.client, _CLIENT_MOST)),
        TitleField("document type", "cable card"),
    )
    lower = (
        TitleField("creator", "", 4),
        TitleField("approved by", "", 4),
        TitleField("number", f"{opened.build_id[:_ID_DIGITS].upper()}-{run.number:02d}", 4),
        TitleField("revision", str(opened.revision), 2),
        TitleField("date of issue", formats.day(opened.saved_at)),
        TitleField("sheet", "1/1"),
    )
    return TitleBlock(upper, lower)


def _fitted(words: str, most: int) -> str:
    return fitted(words, width("m", 1.0) * most, 1.0)
