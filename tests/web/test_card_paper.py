"""Cable cards as PDF: one sheet on every paper, read back from the file, words large enough and nothing cut off."""

import ctypes
import re
from collections.abc import Iterator
from functools import lru_cache

import pypdfium2
import pypdfium2.raw as pdfium
import pytest
import zxingcpp
from fastapi.testclient import TestClient

from server.documents.pdf import PAPERS, joined
from server.domain.model.plan import RunPlan
from server.services.opened import Opened
from server.web.card_setting import set_card
from server.web.views.bench_settings import pull_words
from server.web.views.card_materials import material_lines
from server.web.views.card_title import title_block
from tests.web.test_cards import Bench, built, graphics, shared

__all__ = ["graphics"]

ADDRESS = "http://192.168.1.20:8765"
MM = 72 / 25.4
# The smallest words that may stand on each paper, by the requirement, less a hundredth for rounding in the file.
LEAST_PT = {"A5": 5.99, "A4": 6.99, "Letter": 6.99}


@pytest.fixture(scope="module")
def examples(pages: TestClient) -> dict[str, Opened]:
    found = {}
    for name in ("compact", "large"):
        answer = pages.post(f"/examples/{name}", headers={"Origin": "http://127.0.0.1"})
        build = re.search(r"/builds/(\w+)", answer.headers["location"])
        assert build is not None
        found[name] = pages.app.state.desk.open(build[1])  # type: ignore[attr-defined]
    return found


def document(held: Opened, run: RunPlan, paper: str) -> pypdfium2.PdfDocument:
    return pypdfium2.PdfDocument(_file(held.build_id, run.id, paper, lambda: set_card(held, run.id, ADDRESS, paper)))


_made: dict[tuple[str, str, str], bytes] = {}


def _file(build: str, run: str, paper: str, make) -> bytes:  # type: ignore[no-untyped-def]
    if (build, run, paper) not in _made:
        _made[build, run, paper] = joined([make()], "card")
    return _made[build, run, paper]


def tight_of(words: str) -> str:
    """Words without spaces and hyphens: a line may end at either, and then the file holds another sign there."""
    return re.sub(r"[\s\-\u00ad\ufffe\x02]", "", words)


def text_of(made: pypdfium2.PdfDocument) -> str:
    """All words of the first page, every space alike."""
    return " ".join(made[0].get_textpage().get_text_bounded().split())


def sizes(page: pypdfium2.PdfPage) -> Iterator[tuple[str, float, tuple[float, float, float, float]]]:
    """Each character with its size on paper and its box, both in points."""
    words = page.get_textpage()
    matrix = pdfium.FS_MATRIX()
    for index in range(words.count_chars()):
        letter = chr(pdfium.FPDFText_GetUnicode(words.raw, index))
        if letter.isspace() or pdfium.FPDFText_IsGenerated(words.raw, index) == 1:
            continue
        assert pdfium.FPDFText_GetMatrix(words.raw, index, ctypes.byref(matrix))
        scale = (matrix.c**2 + matrix.d**2) ** 0.5
        yield letter, pdfium.FPDFText_GetFontSize(words.raw, index) * scale, words.get_charbox(index)


@lru_cache(maxsize=1)
def fullest() -> tuple[int, ...]:
    """Runs of the large example: main from two ports, doubled contact with findings, 12+4, chains, audio, range."""
    return (1, 4, 10, 11, 31, 20)


def cards(examples: dict[str, Opened], paper: str) -> Iterator[tuple[Opened, RunPlan]]:
    compact, large = examples["compact"], examples["large"]
    # Letter is wider than A4 and only a little lower: its fullest cards tell.
    yield from ((compact, run) for run in compact.plan.runs if paper != "Letter")
    yield from ((large, run) for run in large.plan.runs if run.number in fullest())


@pytest.mark.parametrize("paper", PAPERS)
def test_every_card_is_one_sheet_with_readable_words_inside_its_frame(examples: dict[str, Opened], paper: str) -> None:
    wide, high = (side * MM for side in PAPERS[paper])
    edge = 4.2 * MM
    for held, run in cards(examples, paper):
        made = document(held, run, paper)
        assert len(made) == 1, (run.number, len(made))
        assert made[0].get_size() == pytest.approx((wide, high), abs=0.1)
        for letter, size, (left, low, right, top) in sizes(made[0]):
            assert size >= LEAST_PT[paper], (run.number, letter, size)
            assert left >= edge - 1, (run.number, letter)
            assert low >= edge - 1, (run.number, letter)
            assert right <= wide - edge + 1, (run.number, letter)
            assert top <= high - edge + 1, (run.number, letter)


@pytest.mark.parametrize("paper", PAPERS)
def test_a_card_says_what_the_plan_says(examples: dict[str, Opened], paper: str) -> None:
    for held, run in cards(examples, paper):
        text = text_of(document(held, run, paper))
        tight = tight_of(text)
        assert "NOT METERED" in text
        for wire in run.wires:
            assert wire.label in text
            assert wire.cut_mm is None or re.search(rf"\b{wire.cut_mm}\b", text), wire.label
        for use in run.crimps:
            assert not use.die or tight_of(use.die) in tight
            assert not use.strip_mm or f"strip{use.strip_mm:g}mm" in tight
        for line in material_lines(run, held.catalogue):
            assert tight_of(line.name) in tight
            assert tight_of(line.length) in tight
        for field in title_block(run, held).fields:
            assert field.name in text
            assert tight_of(field.value) in tight
        # The last caution stands last: where it stands whole, nothing before it was cut off.
        assert tight_of(held.plan.cautions[-1]) in tight
        assert (run.state == "measured") == ("Do not cut yet" not in text)


def test_the_pull_test_names_the_force_of_the_published_table(examples: dict[str, Opened]) -> None:
    run = examples["compact"].plan.runs[0]
    text = text_of(document(examples["compact"], run, "A4"))
    # UL 486A: 133.5 N for 16 AWG, the gauge of a board's main by default.
    assert {wire.awg for wire in run.wires} == {16}
    assert "Pull test one of each set-up on a scrap end." in text
    assert "hold 133.5 N (UL 486A)" in text


def test_the_longest_sleeve_adds_up_as_braid_does(examples: dict[str, Opened]) -> None:
    # By hand, strands of constant length (Chou and Hannaford, 1996): a braid of 0.8 mm and 13 degrees opened by a wire
    # of 2.4 mm lies at asin(3 sin 13) = 42.44 degrees, so it takes cos 13 / cos 42.44 = 1.320 of its length:
    # 410 x 1.320 + 2 x 5 = 551.3, cut 552 mm.
    held = examples["compact"]
    text = text_of(document(held, held.plan.runs[1], "A4"))
    assert "410 covered × 1.32 (braid shortens where it opens) + 2 × 5 frayed, cut 552 mm" in text


def test_the_sleeve_of_a_run_without_a_length_waits_as_its_wires_do(examples: dict[str, Opened]) -> None:
    held = examples["compact"]
    run = next(run for run in held.plan.runs if run.state == "range")
    text = text_of(document(held, run, "A4"))
    assert text.count("waits") >= 2 * len(run.wires)
    assert f"sleeve at most {run.sleeve_pieces[0].cut_mm}" in text
    assert "sleeve cut" not in text


def test_a_function_that_begins_with_its_net_is_not_told_twice(examples: dict[str, Opened]) -> None:
    # Of a drive's power inlet the contact of 12 V serves the blades 13 to 15.
    held = examples["compact"]
    tight = tight_of(text_of(document(held, held.plan.runs[4], "A4")))
    assert "+12VtoP13P15" in tight
    assert "+12V+12V" not in tight


def test_a_gauge_that_the_table_lacks_is_told_instead_of_a_number() -> None:
    # The table holds 14 to 28 AWG, even gauges only.
    assert pull_words(12) == "no force in the table for 12 AWG"


@pytest.mark.parametrize("paper", PAPERS)
def test_the_square_code_opens_the_run_on_the_bench_screen(examples: dict[str, Opened], paper: str) -> None:
    held = examples["large"]
    run = next(run for run in held.plan.runs if run.number == 1)
    # As a phone sees it: 150 dots an inch, in grey.
    seen = document(held, run, paper)[0].render(scale=150 / 72, grayscale=True).to_pil()
    assert [code.text for code in zxingcpp.read_barcodes(seen)] == [f"{ADDRESS}/bench/{held.build_id}?run={run.id}"]


def test_a_code_that_only_this_computer_can_follow_says_so(examples: dict[str, Opened]) -> None:
    held = examples["compact"]
    run = held.plan.runs[5]
    local = pypdfium2.PdfDocument(joined([set_card(held, run.id, "http://127.0.0.1:8765", "A5")], "card"))
    assert "Phones reach it only with --phones" in text_of(local)
    assert "--phones" not in text_of(document(held, run, "A5"))


@pytest.mark.parametrize("way", ["rework", "extension", "splice"])
def test_other_ways_to_build_a_run_fit_one_sheet_too(graphics: Bench, way: str) -> None:
    held = shared(graphics, "splice") if way == "splice" else built(graphics, way, 380.0)  # type: ignore[arg-type]
    run = held.plan.runs[0]
    made = document(held, run, "A5")
    assert len(made) == 1
    text = text_of(made)
    assert all(wire.label in text for wire in run.wires)
    assert {"rework": "Unplug the supply's own cable", "extension": "Leave the supply's own cable", "splice": "Join"}[
        way
    ] in text
