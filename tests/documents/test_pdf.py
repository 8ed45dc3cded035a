"""Papers set as PDF, read back by a library that shares nothing with what wrote them."""

from pathlib import Path

import pypdfium2
import pytest
from pypdfium2 import raw

from server.documents import pdf
from server.documents.pdf import PAPERS, PapersError, Typeset, joined, page_rule, style_sheets, typeset

STATIC = Path(__file__).parents[2] / "static"
SHEETS = style_sheets(STATIC, ["css/papers.css"])
MM_PER_POINT = 25.4 / 72
PICTURE = "<svg xmlns='http://www.w3.org/2000/svg' width='10' height='10'><rect width='10' height='10'/></svg>"
PIXEL = f"data:image/svg+xml,{PICTURE}"


def set_words(body: str, paper: str = "A5", name: str = "Cut list") -> Typeset:
    html = f'<html><body data-build="Tower, revision 3" data-paper="{name}">{body}</body></html>'
    return typeset(html, [*SHEETS, page_rule(paper)], STATIC)


def read(made: bytes) -> pypdfium2.PdfDocument:
    return pypdfium2.PdfDocument(made)


def words(document: pypdfium2.PdfDocument, page: int) -> str:
    return str(document[page].get_textpage().get_text_range())


@pytest.mark.parametrize(
    # Published: ISO 216 for A4 and A5; ANSI/ASME Y14.1 for size A, 8.5 by 11 inches of 25.4 mm.
    ("paper", "width", "height"),
    [("A4", 210, 297), ("A5", 148, 210), ("Letter", 8.5 * 25.4, 11 * 25.4)],
)
def test_a_page_has_the_size_of_its_paper(paper: str, width: float, height: float) -> None:
    page = read(joined([set_words("<p>word</p>", paper)], "Papers"))[0]
    assert page.get_width() * MM_PER_POINT == pytest.approx(width, abs=0.05)
    assert page.get_height() * MM_PER_POINT == pytest.approx(height, abs=0.05)
    assert set(PAPERS) == {"A4", "A5", "Letter"}


def test_sections_follow_each_other_and_keep_their_own_sheet_numbers() -> None:
    long = set_words("".join(f"<p>line {n}</p>" for n in range(100)))
    made = read(joined([set_words("<p>cover</p>", name="Cover"), long], "Papers"))
    assert len(made) == 1 + long.pages > 2
    assert "Cover, sheet 1 of 1" in words(made, 0)
    assert f"Cut list, sheet {long.pages} of {long.pages}" in words(made, len(made) - 1)
    assert all("Tower, revision 3" in words(made, page) for page in range(len(made)))


def test_words_are_text_with_their_letters_of_every_tongue() -> None:
    assert "4-05 · Ökonom ↔ 570 mm" in words(read(joined([set_words("<p>4-05 · Ökonom ↔ 570 mm</p>")], "x")), 0)


def test_every_font_is_embedded() -> None:
    document = read(joined([set_words('<p>plain <b>bold</b> <span class="paper-code">4-05</span></p>')], "x"))
    fonts = {}
    for held in document[0].get_objects(filter=(raw.FPDF_PAGEOBJ_TEXT,)):
        font = raw.FPDFTextObj_GetFont(held.raw)
        fonts[raw.FPDFFont_GetIsEmbedded(font)] = font
    assert set(fonts) == {1}


def test_the_file_has_its_title_and_says_nothing_of_the_time() -> None:
    held = read(joined([set_words("<p>x</p>")], "Tower: papers", "A maker")).get_metadata_dict()
    assert (held["Title"], held["Author"]) == ("Tower: papers", "A maker")
    assert held["CreationDate"] == held["ModDate"] == ""


def test_the_same_paper_is_the_same_bytes() -> None:
    assert joined([set_words("<h1>One</h1>")], "x") == joined([set_words("<h1>One</h1>")], "x")


def test_headings_become_bookmarks_and_a_section_can_be_filed_under_others() -> None:
    cover = set_words("<h1>Tower</h1>")
    card = set_words("<h1>CARD</h1><h2>steps</h2>").marked((2, "Cable cards"), (3, "Run 4"))
    cuts = set_words("<h2>Cut list</h2>")
    held = list(read(joined([cover, card, cuts], "x")).get_toc())
    assert [(mark.level, mark.get_title(), mark.get_dest().get_index()) for mark in held] == [
        (0, "Tower", 0),
        (1, "Cable cards", 1),
        (2, "Run 4", 1),
        (1, "Cut list", 2),
    ]


def test_nothing_is_read_from_outside_the_static_folder_and_what_is_refused_is_left_out(tmp_path: Path) -> None:
    inside, outside = tmp_path / "static", tmp_path / "beside.svg"
    inside.mkdir()
    (inside / "in.svg").write_text(PICTURE)
    outside.write_text(PICTURE)

    def paths(source: str) -> int:
        made = joined([typeset(f'<p><img src="{source}"></p>', [page_rule("A5")], inside)], "x")
        return sum(1 for held in read(made)[0].get_objects(max_depth=8) if held.type == raw.FPDF_PAGEOBJ_PATH)

    drawn = [
        paths(source) for source in ("in.svg", PIXEL, "../beside.svg", outside.as_uri(), "http://127.0.0.1:9/a.svg")
    ]
    assert drawn == [1, 1, 0, 0, 0]


def test_a_missing_pango_is_told_in_words_that_say_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    def missing(name: str) -> object:
        raise OSError("cannot load library 'libpango-1.0-0'")

    monkeypatch.setattr(pdf, "import_module", missing)
    with pytest.raises(PapersError, match=r"Pango is missing.*libpango-1.0-0.*brew install pango"):
        set_words("<p>x</p>")


def test_a_missing_package_is_told_by_its_name(monkeypatch: pytest.MonkeyPatch) -> None:
    def missing(name: str) -> object:
        raise ModuleNotFoundError("no", name="weasyprint")

    monkeypatch.setattr(pdf, "import_module", missing)
    with pytest.raises(PapersError, match="the Python package weasyprint is missing"):
        set_words("<p>x</p>")


def test_a_file_tells_each_page_before_it_is_written_and_is_the_same_bytes_as_an_untold_one() -> None:
    section, told = set_words("".join(f"<p>line {n}</p>" for n in range(60))), []
    made = joined([section], "x", tell=lambda page, pages: told.append((page, pages)))
    assert told == [(page, section.pages) for page in range(section.pages)]
    assert made == joined([section], "x")


def test_what_the_teller_raises_stops_the_file_and_the_next_can_be_set() -> None:
    def stop(page: int, pages: int) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        joined([set_words("<p>x</p>")], "x", tell=stop)
    assert joined([set_words("<p>x</p>")], "x").startswith(b"%PDF")


def test_pages_are_counted_behind_those_that_stand_before_them() -> None:
    css = [*SHEETS, "@page { @top-left { content: counter(page) } }", page_rule("A5", before=12)]
    made = typeset(f'<html><body data-paper="Cuts">{"<p>word</p>" * 60}</body></html>', css, STATIC)
    said = [words(read(joined([made], "x")), page) for page in range(made.pages)]
    # By hand: twelve pages before, so the first is the thirteenth and the first sheet of its own paper.
    assert made.pages > 1
    assert all(f"{13 + n}" in text and f"sheet {n + 1} of {made.pages}" in text for n, text in enumerate(said))


def test_a_paper_that_lies_has_its_long_side_across() -> None:
    made = typeset("<p>x</p>", [page_rule("A4", lying=True)], STATIC)
    assert [tuple(round(side) for side in size) for size in made.sizes] == [(297, 210)]


def test_a_paper_without_sections_is_refused() -> None:
    with pytest.raises(ValueError, match="without sections"):
        joined([], "x")
