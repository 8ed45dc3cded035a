"""The sheet: the harness drawing of a build, every run a link."""

from collections.abc import Callable

from server.drawing.harness import TitleBlock, harness_svg
from server.services.bench_work import Work, work_of
from server.services.opened import Opened
from server.web.views import formats
from server.web.views.progress import finished


def sheet_svg(
    opened: Opened,
    href: Callable[[int], str],
    selected: int | None = None,
    *,
    card_href: Callable[[int], str] | None = None,
) -> str:
    """The harness drawing with its title block and, where it leads to cards, how far each run is.

    Args:
        opened: The build as it stands.
        href: Gives the address of a run by its number.
        selected: Number of the run that is open.
        card_href: Gives the address of a run's card by its number; ``None`` for who has no cards, such as a client.
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
    progress = progress_of(opened) if card_href else {}
    return harness_svg(
        plan,
        opened.catalogue,
        href=href,
        card_href=card_href,
        progress=progress,
        selected=selected,
        title_block=block,
    )


def progress_of(opened: Opened) -> dict[int, str]:
    """How far the work on each run is, in a few words; nothing for a run of which nothing is cut.

    Args:
        opened: The build as it stands.
    """
    by_run: dict[int, list[Work]] = {}
    for item in work_of(opened):
        by_run.setdefault(item.run, []).append(item)
    told = {number: _told(work) for number, work in by_run.items()}
    return {number: words for number, words in told.items() if words}


def _told(work: list[Work]) -> str:
    """``done``, or how many of the wires are cut; of a cable that is only sleeved, of the sleeve."""
    if finished(work):
        return "done"
    counted = [item for item in work if item.material.kind == "wire"] or work
    cut = sum(item.state == "cut" for item in counted)
    if not cut:
        return ""
    return "all cut" if cut == len(counted) else f"{cut} of {len(counted)} cut"
