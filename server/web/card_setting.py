"""A cable card as a page of a PDF: set as roomily as one sheet of its paper holds."""

from functools import lru_cache

from server.config import ROOT
from server.documents.pdf import PAPERS, Typeset, style_sheets, typeset
from server.services.opened import Opened
from server.web import rendering
from server.web.views.card_density import SHEETS, page_css
from server.web.views.card_paper import card_sheet, likely_level

STATIC = ROOT / "static"
_SHEETS = ("css/papers.css", "css/papers-card.css")


def set_card(opened: Opened, run_id: str, address: str, paper: str) -> Typeset:
    """One run's card on one sheet: from a likely density towards roomier ones, or closer ones, until it just fits.

    Args:
        opened: The build as it stands.
        run_id: The run.
        address: Where the planner is reached, for the code that opens the run on the bench screen.
        paper: A key of ``PAPERS``.

    Returns:
        One page; more only if not even the closest density holds what the card says.

    Raises:
        NotFoundError: there is no such run.
        KeyError: no such paper.
        PapersError: the library that sets PDFs is missing.
    """
    level, last = likely_level(opened, run_id, paper), len(SHEETS[paper].densities) - 1
    made = _set(opened, run_id, address, paper, level)
    if made.pages == 1:
        while level > 0 and (roomier := _set(opened, run_id, address, paper, level - 1)).pages == 1:
            level, made = level - 1, roomier
    while made.pages > 1 and level < last:
        level += 1
        made = _set(opened, run_id, address, paper, level)
    return made


def _set(opened: Opened, run_id: str, address: str, paper: str, level: int) -> Typeset:
    """The card at one density."""
    sheet = SHEETS[paper]
    html = rendering.text("papers/card.html", sheet=card_sheet(opened, run_id, address, paper, level))
    return typeset(html, (*_css(), page_css(PAPERS[paper], sheet, sheet.densities[level])), STATIC)


@lru_cache(maxsize=1)
def _css() -> tuple[str, ...]:
    """The style sheets of a card; they do not change under a planner that runs."""
    return style_sheets(STATIC, _SHEETS)
