"""Cut list, buy list and tools on paper, to be ticked with a pen."""

from dataclasses import dataclass

from server.services.opened import Opened
from server.web.views import formats
from server.web.views.bought import Shop
from server.web.views.buys import BuyGroup, buys_panel
from server.web.views.fields import Fields
from server.web.views.lists import CutBlock, WaitingRun, cuts_panel
from server.web.views.papers_head import PaperHead, paper_head


@dataclass(frozen=True, slots=True)
class PaperCut:
    """Wires cut alike."""

    cut: str
    count: int
    labels: tuple[str, ...]
    """Each with the comma behind it, so that no line is broken within one."""


@dataclass(frozen=True, slots=True)
class PaperCuts:
    """All wires from one kind and colour of roll."""

    block: CutBlock
    rows: tuple[PaperCut, ...]


@dataclass(frozen=True, slots=True)
class CutsPaper:
    """The cut list."""

    head: PaperHead
    groups: tuple[PaperCuts, ...]
    waiting: tuple[WaitingRun, ...]


@dataclass(frozen=True, slots=True)
class BuysPaper:
    """The buy list."""

    head: PaperHead
    groups: tuple[BuyGroup, ...]
    committed: str
    spent: str
    missing: str


@dataclass(frozen=True, slots=True)
class ToolsPaper:
    """The tools, and what to mind at the bench."""

    head: PaperHead
    tools: tuple[str, ...]
    cautions: tuple[str, ...]


def cuts_paper(opened: Opened) -> CutsPaper:
    """The cut list.

    Args:
        opened: The build at the revision that is set.
    """
    panel = cuts_panel(opened)
    head = paper_head(opened, "Cut list", "cut list", "CUTS", f"{panel.total}, longest first")
    groups = tuple(
        PaperCuts(block, tuple(PaperCut(row.cut, row.count, with_commas(row.labels)) for row in block.rows))
        for block in panel.blocks
    )
    return CutsPaper(head, groups, panel.waiting)


def with_commas(listed: str) -> tuple[str, ...]:
    """The words of a list, each with the comma behind it.

    Args:
        listed: Words with a comma and a blank between them.
    """
    words = listed.split(", ")
    return (*(f"{word}," for word in words[:-1]), words[-1])


def buys_paper(opened: Opened, shop: Shop) -> BuysPaper:
    """The buy list.

    Args:
        opened: The build at the revision that is set.
        shop: Shelf, names and suppliers.
    """
    panel = buys_panel(opened, opened.revision, Fields(), shop)
    lines = formats.count(sum(len(group.rows) for group in panel.groups), "line")
    head = paper_head(opened, "Buy list", "buy list", "BUYS", f"{lines}, still to buy {panel.committed}")
    return BuysPaper(head, panel.groups, panel.committed, panel.spent, panel.missing)


def tools_paper(opened: Opened) -> ToolsPaper:
    """The tools.

    Args:
        opened: The build at the revision that is set.
    """
    head = paper_head(opened, "Tools", "tool list", "TOOLS", formats.count(len(opened.plan.tools), "tool"))
    return ToolsPaper(head, opened.plan.tools, opened.plan.cautions)
