"""The cover of a build's papers, and the harness drawing behind it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from server.documents.pdf import PAPERS
from server.drawing.standalone import standalone
from server.drawing.tiles import size_of, strips
from server.services.opened import Opened
from server.web.views import formats
from server.web.views.papers_head import PaperHead, paper_head
from server.web.views.pieces import route_text, run_title
from server.web.views.sheet import sheet_svg

SIDES_MM, ENDS_MM = 26.0, 40.0
"""What the margins take of a sheet, with the heading of the drawing and a line below it."""
LETTER_MM = 1.5
"""Height of the drawing's letters below which the sheet is laid on its long side."""
LETTER_PX = 12.0


@dataclass(frozen=True, slots=True)
class Filed:
    """One section that has been set: what it is called and where it stands."""

    key: str
    """``cuts``, ``rolls`` and so on; for cards and test sheets with the run: ``cards/r4``."""
    name: str
    anchor: str
    """Id of an element on its first page."""
    pages: int
    first: int
    """Number of its first page in the whole file."""


@dataclass(frozen=True, slots=True)
class ContentsLine:
    """One paper of the contents."""

    name: str
    href: str
    sheets: str
    page: str


@dataclass(frozen=True, slots=True)
class RunLine:
    """One run of the contents, with the pages of its card and its test sheet."""

    number: int
    title: str
    length: str
    wires: int
    card: str
    card_href: str
    test: str
    test_href: str


@dataclass(frozen=True, slots=True)
class PaperCover:
    """The cover."""

    head: PaperHead
    paper: str
    sheets: str
    """How many sheets the whole file has."""
    facts: tuple[tuple[str, str], ...]
    contents: tuple[ContentsLine, ...]
    runs: tuple[RunLine, ...]
    cards: bool
    tests: bool
    left_out: tuple[str, ...]
    cautions: tuple[str, ...]
    notes: str


@dataclass(frozen=True, slots=True)
class DrawnStrip:
    """One sheet of a drawing."""

    svg: str
    part: str
    """Which part of it, where it takes several sheets; empty for the whole."""


@dataclass(frozen=True, slots=True)
class HarnessPaper:
    """The harness drawing."""

    head: PaperHead
    lying: bool
    strips: tuple[DrawnStrip, ...]


def harness_paper(opened: Opened, paper: str) -> HarnessPaper:
    """The harness drawing, on as many sheets as keep its words readable.

    Args:
        opened: The build at the revision that is set.
        paper: Which size.
    """
    svg = standalone(sheet_svg(opened, lambda number: f"#run-{number}"))
    short, long = PAPERS[paper]
    lying = (short - SIDES_MM) / size_of(svg)[0] * LETTER_PX < LETTER_MM
    wide, high = (long - SIDES_MM, short - ENDS_MM) if lying else (short - SIDES_MM, long - ENDS_MM)
    found = strips(svg, wide, high)
    head = paper_head(opened, "Harness drawing", "harness drawing", "HARNESS", "supply at the left, seen as built")
    named = [f"part {n} of {len(found)}, from the top" if len(found) > 1 else "" for n in range(1, len(found) + 1)]
    return HarnessPaper(head, lying, tuple(DrawnStrip(held, part) for held, part in zip(found, named, strict=True)))


def cover_paper(opened: Opened, paper: str, filed: Sequence[Filed], left_out: Sequence[str], pages: int) -> PaperCover:
    """The cover.

    Args:
        opened: The build at the revision that is set.
        paper: Which size.
        filed: Every section in its order.
        left_out: What was asked for and has nothing in it, in words.
        pages: How many pages the whole file has, the cover's own included.
    """
    plan, by_key = opened.plan, {held.key: held for held in filed}
    summary = plan.summary
    facts = [
        ("cables", str(len(plan.runs))),
        ("wires", str(summary.wires)),
        ("wire", formats.metres(summary.wire_mm)),
        ("bench time", formats.hours(summary.minutes)),
        ("findings", _findings(summary.stops, summary.warns, summary.notes)),
    ]
    cards = any(key.startswith("cards/") for key in by_key)
    tests = any(key.startswith("tests/") for key in by_key)
    return PaperCover(
        head=paper_head(opened, "Papers for the bench", "set of papers", "SET"),
        paper=paper,
        sheets=formats.count(pages, "page"),
        facts=tuple(facts),
        contents=_contents(filed),
        runs=tuple(_run_line(opened, place, by_key) for place in range(len(plan.runs))) if cards or tests else (),
        cards=cards,
        tests=tests,
        left_out=tuple(left_out),
        cautions=plan.cautions,
        notes=opened.build.notes,
    )


def _findings(stops: int, warns: int, notes: int) -> str:
    counted = ((stops, "stop"), (warns, "warn"), (notes, "note"))
    return formats.listed(formats.count(number, word) for number, word in counted if number) or "none"


def _contents(filed: Sequence[Filed]) -> tuple[ContentsLine, ...]:
    """Lists one by one; cards and test sheets as one line each, with their runs in a table of their own."""
    lines: dict[str, list[Filed]] = {}
    for held in filed:
        lines.setdefault(held.key.partition("/")[0], []).append(held)
    return tuple(
        ContentsLine(
            group[0].name,
            f"#{group[0].anchor}",
            formats.count(sum(held.pages for held in group), "sheet"),
            str(group[0].first),
        )
        for group in lines.values()
    )


def _run_line(opened: Opened, place: int, by_key: Mapping[str, Filed]) -> RunLine:
    run = opened.plan.runs[place]
    card, test = by_key.get(f"cards/{run.id}"), by_key.get(f"tests/{run.id}")
    return RunLine(
        run.number,
        run_title(run),
        route_text(run),
        len(run.wires),
        str(card.first) if card else "–",
        f"#{card.anchor}" if card else "",
        str(test.first) if test else "–",
        f"#{test.anchor}" if test else "",
    )
