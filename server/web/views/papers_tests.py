"""The test sheet of one run on paper."""

from dataclasses import dataclass

from server.services.opened import Opened
from server.web.views.papers_head import PaperHead, paper_head
from server.web.views.test import SheetView, sheet_view


@dataclass(frozen=True, slots=True)
class TestPaper:
    """One test sheet."""

    __test__ = False

    head: PaperHead
    sheet: SheetView


def sheet_paper(opened: Opened, run_id: str) -> TestPaper:
    """The test sheet of a run.

    Args:
        opened: The build at the revision that is set.
        run_id: The run.

    Raises:
        NotFoundError: the build has no such run.
    """
    sheet = sheet_view(opened, run_id)
    head = paper_head(opened, f"Test sheet of run {sheet.number}", "test sheet", f"TEST-{sheet.number:02d}")
    return TestPaper(head, sheet)
