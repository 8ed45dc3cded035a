"""Papers of a build read back from the PDF: numbers, sizes, bookmarks, fonts, and where pages break."""

import re
from collections.abc import Iterator
from dataclasses import dataclass

import pypdfium2
import pytest
from fastapi.testclient import TestClient

from server.domain.edits import RouteEntry
from server.domain.model.bench import Bench
from server.domain.model.build import Route
from server.services.builds import BuildDesk
from server.services.opened import Opened
from server.web.paper_binding import Binder
from server.web.paper_sections import Order, run_papers
from server.web.views.bought import Shop
from tests.web import paper_reading as reading

ADDRESS = "http://127.0.0.1:8765"
NOTHING = Shop(Bench(), {}, {}, {})
FOOT_MM = 20.0
"""Above this from the lower edge nothing but the margin's words stands."""


@dataclass(frozen=True)
class Set:
    """A build with its papers."""

    opened: Opened
    file: pypdfium2.PdfDocument

    def of(self, name: str) -> list[pypdfium2.PdfPage]:
        """The sheets of one paper, told by the margin."""
        return [page for page in self.file if re.search(rf"{name}, sheet \d+ of \d+", reading.text(page))]


def bound(opened: Opened, paper: str, *parts: str) -> Set:
    binder = Binder(opened, NOTHING, Order(paper, parts, ADDRESS))
    return Set(opened, reading.opened(binder.bind(lambda done, word: None)))


@pytest.fixture(scope="module")
def desk(pages: TestClient) -> BuildDesk:
    held: BuildDesk = pages.app.state.desk  # type: ignore[attr-defined]
    return held


@pytest.fixture(scope="module")
def large(desk: BuildDesk) -> Set:
    return bound(desk.create_example("large"), "A5", "cuts", "buys", "tools")


@pytest.fixture(scope="module")
def small(desk: BuildDesk) -> Opened:
    """A drive chain is left without a length; the board's route is the one of the worked example."""
    made = desk.create("Walnut desk case")
    made = desk.choose_supply(made.build_id, made.revision, "one-24")
    made = desk.add_parts(made.build_id, made.revision, "board-small", 1)
    made = desk.add_parts(made.build_id, made.revision, "drive-sata", 2)
    main = made.plan.runs[0]
    return desk.set_routes(made.build_id, made.revision, {main.id: RouteEntry(Route(length_mm=540.0))})


@pytest.fixture(scope="module")
def papers(small: Opened) -> Set:
    return bound(small, "A4", "harness", "cuts", "rolls", "buys", "tools", "tests")


def body(page: pypdfium2.PdfPage) -> Iterator[reading.Line]:
    """What stands above the margin."""
    return (line for line in reading.lines(page) if line.top_mm < page.get_height() * reading.MM - FOOT_MM / 2)


def test_the_cut_list_on_paper_has_the_length_worked_out_by_hand(papers: Set) -> None:
    # By hand, as DEVELOPERS.md does: 540 + 8 + 8 + 5 + 5 = 566 mm, cut in steps of 5: 570 mm.
    said = " ".join(reading.text(page) for page in papers.of("Cut list"))
    rows = re.findall(r"\b570 (\d+) ((?:1-\d\d(?:, )?)+)", said)
    labels = [label for _, listed in rows for label in re.findall(r"1-\d\d", listed)]
    # By hand: of the 24 positions of a board's main inlet one is not connected.
    assert len(labels) == len(set(labels)) == sum(int(count) for count, _ in rows) == 23


def test_every_label_and_length_of_the_plan_stands_in_its_row_of_the_cut_list(large: Set) -> None:
    said = re.sub(r",\s+", ", ", " ".join(" ".join(ln.text for ln in body(page)) for page in large.of("Cut list")))
    for group in large.opened.plan.cuts:
        for line in group.lines:
            assert f"{line.cut_mm} {line.count} {', '.join(line.labels)}" in said


def test_every_sheet_is_a_whole_a5_and_says_build_revision_and_which_sheet_of_how_many(large: Set) -> None:
    # Published: ISO 216, A5 is 148 by 210 mm.
    assert {reading.size_mm(page) for page in large.file} == {(148.0, 210.0)}
    for name in ("Cut list", "Buy list", "Tools"):
        sheets = large.of(name)
        assert sheets
        for number, page in enumerate(sheets, start=1):
            said = reading.text(page)
            assert f"{name}, sheet {number} of {len(sheets)}" in said
            assert f"{large.opened.build.name}, revision {large.opened.revision}" in said


def test_the_heads_of_a_table_are_repeated_on_every_sheet_and_no_row_is_split(large: Set) -> None:
    _, *rest = large.of("Cut list")
    assert rest
    for page in rest:
        held = [line.text for line in body(page)]
        heads = held.index("cut cut, mm pieces label") if "cut cut, mm pieces label" in held else -1
        assert heads in (0, 1)
        # A row begins with its length and its number of pieces; one that was split would go on with labels.
        assert re.match(r"\d{2,4} \d+ \d+-\d\d", held[heads + 1])


def test_no_heading_stands_alone_at_the_foot_of_a_sheet(large: Set) -> None:
    for page in (*large.of("Cut list"), *large.of("Buy list")):
        last = [line.text for line in body(page)][-1]
        assert not re.search(
            r"\d+ AWG, |^(wire|sleeve|heat-shrink|contacts|housings|combs|caps)$|pieces label$|price$", last
        )


def test_nothing_reaches_into_the_margins(large: Set, papers: Set) -> None:
    for held in (large, papers):
        for page in held.file:
            wide = page.get_width()
            textpage = page.get_textpage()
            boxes = [textpage.get_rect(n) for n in range(textpage.count_rects())]
            assert min(box[0] for box in boxes) * reading.MM > 8.5
            assert (wide - max(box[2] for box in boxes)) * reading.MM > 8.5


def test_bookmarks_lead_from_the_build_to_its_papers_and_runs(papers: Set) -> None:
    marks = reading.marks(papers.file)
    names = [(level, name) for level, name, _ in marks if level < 2]
    assert names == [
        (0, "Walnut desk case"),
        (1, "Harness drawing"),
        (1, "Cut list"),
        (1, "Roll plan"),
        (1, "Buy list"),
        (1, "Tools"),
        (1, "Test sheets"),
    ]
    runs = [name for level, name, _ in marks if level == 2]
    assert [name.split(",")[0] for name in runs] == [f"Run {run.number}" for run in papers.opened.plan.runs]
    for _, name, page in marks:
        if name in ("Cut list", "Roll plan", "Buy list", "Tools"):
            assert f"{name}, sheet 1 of" in reading.text(papers.file[page])


def test_the_contents_name_the_page_on_which_each_paper_begins(papers: Set) -> None:
    cover = reading.text(papers.file[0])
    for _, name, page in reading.marks(papers.file):
        if name in ("Harness drawing", "Cut list", "Roll plan", "Buy list", "Tools", "Test sheets"):
            assert re.search(rf"{name} \d+ sheets? {page + 1}\b", cover)


def test_the_cover_has_a_title_block_not_metered_and_the_cautions(papers: Set) -> None:
    cover = reading.text(papers.file[0])
    # From memory: the fields that ISO 7200 makes mandatory.
    for name in (
        "legal owner",
        "creator",
        "approval person",
        "document type",
        "identification number",
        "date of issue",
    ):
        assert name in cover
    assert "NOT METERED" in cover
    assert all(caution in cover for caution in papers.opened.plan.cautions)
    assert f"A4, {len(papers.file)} pages" in cover


def test_not_metered_stands_on_every_first_sheet(papers: Set) -> None:
    for _, _, page in reading.marks(papers.file):
        said = reading.text(papers.file[page])
        assert "NOT METERED" in said or "Voltages" in said


def test_fonts_are_embedded_and_the_file_has_its_title(papers: Set) -> None:
    assert reading.fonts_embedded(papers.file) == {1}
    assert papers.file.get_metadata_dict()["Title"].startswith("Walnut desk case, revision ")


def test_what_has_nothing_in_it_is_left_out_with_a_word(desk: BuildDesk) -> None:
    held = bound(desk.create("Nothing yet"), "Letter", "cuts", "tests", "tools", "harness")
    cover = reading.text(held.file[0])
    assert [name for _, name, _ in reading.marks(held.file)] in (["Nothing yet"], ["Nothing yet", "Tools"])
    assert "Cut list: no run has a measured length" in cover
    assert "Harness drawing: no cable is planned yet" in cover
    # Published: ANSI/ASME Y14.1, size A, 8.5 by 11 inches.
    assert reading.size_mm(held.file[0]) == (215.9, 279.4)


def test_the_papers_of_one_run_are_its_card_and_its_test_sheet(small: Opened) -> None:
    run = small.plan.runs[0]
    held = reading.opened(run_papers(small, run.id, Order("A4", (), ADDRESS)))
    names = [name for _, name, _ in reading.marks(held)]
    assert names == ["Card of run 1", "Test sheet of run 1"]
    card, test = reading.text(held[0]), reading.text(held[reading.marks(held)[1][2]])
    assert "570" in card
    assert all(wire.label in card and wire.label in test for wire in run.wires)


def test_a_page_in_the_file_and_a_sheet_of_its_paper_are_counted_apart(papers: Set) -> None:
    last = papers.of("Test sheet of run 1")
    assert [re.search(r"sheet (\d+) of (\d+)", reading.text(page)).groups() for page in last] == [
        (str(n), str(len(last))) for n in range(1, len(last) + 1)
    ]
