"""A cable card as a page of a PDF: set as roomily as one sheet of its paper holds."""

from functools import lru_cache
from pathlib import Path

from server.documents.pdf import PAPERS, Typeset, style_sheets, typeset
from server.services.opened import Opened
from server.web import rendering
from server.web.views.card_density import SHEETS, page_css
from server.web.views.card_paper import card_sheet

STATIC = Path(__file__).resolve().parents[2] / "static"
_SHEETS = ("css/papers.css", "css/papers-card.css")


def set_card(opened: Opened, run_id: str, address: str, paper: str) -> Typeset:
    """One run's card on one sheet; the densities are tried from the middle of what is still open.

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
    low, high = 0, len(SHEETS[paper].densities) - 1
    made: dict[int, Typeset] = {}
    while low < high:
        middle = (low + high) // 2
        made[middle] = _set(opened, run_id, address, paper, middle)
        low, high = (low, middle) if made[middle].pages == 1 else (middle + 1, high)
    return made.get(low) or _set(opened, run_id, address, paper, low)


def _set(opened: Opened, run_id: str, address: str, paper: str, level: int) -> Typeset:
    """The card at one density."""
    sheet = SHEETS[paper]
    html = rendering.text("papers/card.html", sheet=card_sheet(opened, run_id, address, paper, level))
    return typeset(html, (*_css(), page_css(PAPERS[paper], sheet, sheet.densities[level])), STATIC)


@lru_cache(maxsize=1)
def _css() -> tuple[str, ...]:
    """The style sheets of a card; they do not change under a planner that runs."""
    return style_sheets(STATIC, _SHEETS)
