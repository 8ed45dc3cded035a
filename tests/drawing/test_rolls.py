"""The picture of a roll: pieces to scale in cutting order, labels that can be read, leftover and cutting loss.

Expected numbers are worked out by hand from the scenes, or are properties that hold for every roll.
"""

import re
from itertools import pairwise
from xml.etree.ElementTree import Element

import pytest

from server.domain.model.plan import RollSheet
from server.drawing.rolls import leftover_words, roll_svgs
from tests.drawing import reading, roll_scenes
from tests.drawing.scenes import catalogue

SHEETS = {
    "small": roll_scenes.small_sheet(),
    "two hundred": roll_scenes.large_sheet(),
    "tubes": roll_scenes.shrink_sheet(),
}


def drawn(sheet: RollSheet, loss_mm: int = 0, least_mm: int = 100) -> list[Element]:
    return [reading.parse(text) for text in roll_svgs(sheet, catalogue(), "r", loss_mm=loss_mm, least_mm=least_mm)]


def pieces(root: Element) -> list[tuple[str, float, float, float]]:
    """Label, left end, upper edge and width of every piece."""
    return [
        (e.get("data-piece", ""), *(float(e.get(key, "0")) for key in ("x", "y", "width")))
        for e in root.iter(f"{reading.SVG}rect")
        if e.get("data-piece")
    ]  # type: ignore[misc]


@pytest.mark.parametrize("sheet", SHEETS.values(), ids=SHEETS)
def test_every_piece_is_drawn_once_in_cutting_order_row_by_row(sheet: RollSheet):
    for layout, root in zip(sheet.layouts, drawn(sheet), strict=True):
        found = pieces(root)
        assert [label for label, *_ in found] == [piece.label for piece in layout.pieces]
        assert sorted(found, key=lambda piece: (piece[2], piece[1])) == found


@pytest.mark.parametrize("sheet", SHEETS.values(), ids=SHEETS)
def test_all_rolls_of_a_sheet_are_drawn_to_one_scale(sheet: RollSheet):
    scales = [
        width / piece.length_mm
        for layout, root in zip(sheet.layouts, drawn(sheet), strict=True)
        for piece, (_, _, _, width) in zip(layout.pieces, pieces(root), strict=True)
    ]
    # Widths are written with two decimals.
    assert max(scales) - min(scales) <= 0.01 / min(p.length_mm for held in sheet.layouts for p in held.pieces)


@pytest.mark.parametrize("sheet", SHEETS.values(), ids=SHEETS)
def test_nothing_lies_outside_the_drawing(sheet: RollSheet):
    assert [reading.outside(root) for root in drawn(sheet, loss_mm=0)] == [[] for _ in sheet.layouts]


@pytest.mark.parametrize("sheet", SHEETS.values(), ids=SHEETS)
def test_labels_of_one_line_do_not_run_into_each_other(sheet: RollSheet):
    for root in drawn(sheet):
        lines: dict[float, list[tuple[float, float]]] = {}
        for text in root.iter(f"{reading.SVG}text"):
            (left, _, _), (right, base, _) = reading.text_points(text)
            lines.setdefault(base, []).append((left, right))
        for held in lines.values():
            held.sort()
            assert all(a[1] <= b[0] + 0.01 for a, b in pairwise(held))


@pytest.mark.parametrize("sheet", SHEETS.values(), ids=SHEETS)
def test_every_piece_is_labelled_by_itself_or_within_a_group_that_says_how_many(sheet: RollSheet):
    for layout, root in zip(sheet.layouts, drawn(sheet), strict=True):
        said = [line for line in reading.words(root).split("\n") if re.match(r"\d-", line)]
        counts = [
            int(found[1]) if (found := re.search(r"\((\d+)\)\u2069?$", line)) else line.count("-") for line in said
        ]
        assert sum(counts) == len(layout.pieces)


def test_a_piece_too_short_for_its_label_is_labelled_below_it():
    root = drawn(SHEETS["small"])[1]
    ((_, x, y, width),) = [piece for piece in pieces(root) if piece[0] == "5-02"]
    (label,) = [e for e in root.iter(f"{reading.SVG}text") if "".join(e.itertext()) == "5-02"]
    assert float(label.get("y", "0")) > y + 34
    assert x <= float(label.get("x", "0")) + 12 <= x + width + 12


def test_the_leftover_is_hatched_and_as_long_as_it_is():
    # By hand: 3,420 mm less 4 x 655 mm and 240 mm leave 560 mm, as long as 560 / 655 of the first piece.
    root = drawn(SHEETS["small"])[1]
    (left,) = [e for e in root.iter() if e.get("data-left")]
    assert left.get("data-left") == "560"
    assert (left.get("fill") or "").startswith("url(#")
    assert float(left.get("width", "0")) == pytest.approx(pieces(root)[0][3] * 560 / 655, abs=0.02)


@pytest.mark.parametrize(("left", "words"), [(0, "used up"), (99, "99 mm scrap"), (100, "100 mm left")])
def test_a_leftover_below_the_least_remnant_is_scrap(left: int, words: str):
    assert leftover_words(left, 100) == words


def cuts(loss_mm: int) -> list[Element]:
    held = roll_scenes.layout("lot", 3000, roll_scenes.numbered(1, 3, 700), lot=3, loss_mm=loss_mm)
    (root,) = drawn(roll_scenes.sheet(held), loss_mm)
    return [e for e in root.iter() if e.get("data-loss")]


def test_cutting_loss_is_drawn_at_every_cut():
    assert [e.get("data-loss") for e in cuts(4)] == ["1-01", "1-02", "1-03"]


def test_without_cutting_loss_no_cut_is_marked():
    assert cuts(0) == []


def test_the_last_cut_of_a_roll_that_is_used_up_takes_only_what_is_there():
    # By hand: 3 x 700 mm and two losses of 4 mm are 2,108 mm, so that a lot of 2,109 mm has 1 mm left to lose.
    held = roll_scenes.layout("lot", 2109, roll_scenes.numbered(1, 3, 700), lot=3, loss_mm=4)
    (root,) = drawn(roll_scenes.sheet(held), 4)
    assert "used up" not in reading.words(root)
    assert [e for e in root.iter() if e.get("data-left")] == []


def test_pieces_kept_free_are_dashed_and_say_so():
    root = drawn(SHEETS["small"])[2]
    dashed = [e.get("data-piece", "") for e in root.iter() if e.get("data-piece") and e.get("stroke-dasharray")]
    assert dashed == [f"3-0{n}" for n in range(1, 7)]
    assert "free" in reading.words(root)


def test_the_picture_tells_what_is_bought_from_what_is_there_to_a_screen_reader():
    titles = [root.findtext(f"{reading.SVG}title") for root in drawn(SHEETS["small"])]
    assert [title.split(": ")[1].split(",")[0] for title in titles if title] == ["piece 27", "lot 12", "roll to buy"]


def test_a_bar_of_several_rows_breaks_off_a_long_leftover_instead_of_drawing_it():
    # Half a metre of pieces 15 mm long from 100 m: to one row's scale a piece would be a seventh of a pixel.
    held = roll_scenes.layout("roll", 100_000, roll_scenes.numbered(1, 40, 15), price="9")
    (root,) = drawn(roll_scenes.sheet(held))
    assert "99400 mm left" in reading.words(root)
    assert min(width for *_, width in pieces(root)) > 30


def test_a_scale_stands_below_the_last_roll_of_a_sheet():
    said = [reading.words(root) for root in drawn(SHEETS["small"])]
    assert ["1000 mm" in words.split("\n") for words in said] == [False, False, True]


def test_ids_of_a_sheet_are_unique_on_one_page():
    found = [i for root in drawn(SHEETS["two hundred"]) for i in reading.ids(root)]
    assert len(found) == len(set(found))
