"""One paper from its view to laid-out pages: the template, its style sheets and the size of the page."""

from server.config import ROOT
from server.documents.pdf import PAPERS, Typeset, page_rule, style_sheets, typeset
from server.web import rendering

STATIC = ROOT / "static"
"""The only folder that a paper may read."""
SHEETS = ("css/papers.css", "css/papers-lists.css")
SMALL, SMALL_BELOW_MM = "css/papers-small.css", 180.0
"""What is set after them on narrow paper, and how narrow that is. [mm]"""


def set_paper(
    name: str, view: object, paper: str, *, sheets: tuple[str, ...] = SHEETS, lying: bool = False, before: int = 0
) -> Typeset:
    """Lay out one paper.

    Args:
        name: Its template below ``papers/``, without the ending.
        view: What the template calls ``paper``.
        paper: Which size, a key of ``PAPERS``.
        sheets: Its style sheets below the static folder.
        lying: Whether the long side lies.
        before: Pages that stand before it in the whole file.

    Raises:
        PapersError: WeasyPrint or Pango is missing.
    """
    html = rendering.text(f"papers/{name}.html", paper=view)
    named = (*sheets, SMALL) if PAPERS[paper][0] < SMALL_BELOW_MM else sheets
    return typeset(html, [*style_sheets(STATIC, named), page_rule(paper, lying=lying, before=before)], STATIC)
