"""The sheet: the harness drawing of a build, every run a link."""

from collections.abc import Callable

from server.drawing.harness import TitleBlock, harness_svg
from server.services.opened import Opened
from server.web.views import formats


def sheet_svg(opened: Opened, href: Callable[[int], str], selected: int | None = None) -> str:
    """The harness drawing with its title block.

    Args:
        opened: The build as it stands.
        href: Gives the address of a run by its number.
        selected: Number of the run that is open.
    """
    plan = opened.plan
    block = TitleBlock(
        title=opened.build.name,
        revision=str(opened.revision),
        date=formats.day(opened.saved_at),
        sheet="harness, supply at the left",
        runs=len(plan.runs),
        wires=plan.summary.wires,
    )
    return harness_svg(plan, opened.catalogue, href=href, selected=selected, title_block=block)
