"""Where labels lie on a sheet: positions worked by hand, and what holds for every sheet that can be printed."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.domain.label_sheet import LabelSheet, Spot, sheet_problems, spots

SMALL = LabelSheet(100, 80, left_mm=5, top_mm=4, columns=2, rows=3, label_width_mm=40, label_height_mm=20,
                   gap_across_mm=3, gap_down_mm=1.5)  # fmt: skip
"""By hand: 5 + 40 + 3 + 40 = 88, 12 left of 100; 4 + 3 x 20 + 2 x 1.5 = 67, 13 left of 80."""


def test_positions_row_by_row_from_the_first_free_label_on() -> None:
    # By hand: column 2 begins at 5 + 40 + 3 = 48; rows at 4, 4 + 21.5 = 25.5 and 4 + 43 = 47.
    assert spots(SMALL, 4, first=4) == (
        Spot(0, 3, 48, 25.5),
        Spot(0, 4, 5, 47),
        Spot(0, 5, 48, 47),
        Spot(1, 0, 5, 4),
    )


def test_what_is_left_of_the_page() -> None:
    assert (SMALL.right_mm, SMALL.bottom_mm) == (12, 13)
    # By hand for the sheet to start with: 210 - 11 - 5 x 36 - 4 x 2 = 11; 297 - 17.5 - 12 x 20 - 11 x 2 = 17.5.
    assert (LabelSheet().right_mm, LabelSheet().bottom_mm) == (11, 17.5)
    assert sheet_problems(LabelSheet()) == ()


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"columns": 3}, "columns"),
        ({"rows": 4}, "rows"),
        ({"label_width_mm": 46.1}, "columns"),
        ({"top_mm": 17.1}, "rows"),
        ({"gap_across_mm": -1.0}, "gap_across_mm"),
        ({"left_mm": -1.0}, "left_mm"),
        ({"label_height_mm": 4.9}, "label_height_mm"),
        ({"columns": 0}, "columns"),
        ({"rows": 81}, "rows"),
        ({"page_width_mm": 1201.0}, "page_width_mm"),
    ],
)
def test_measures_that_make_no_sheet_are_named(change: dict[str, float], field: str) -> None:
    assert [problem.field for problem in sheet_problems(replace(SMALL, **change))] == [field]


def test_the_message_says_by_how_much_labels_do_not_fit() -> None:
    # By hand: three columns take 5 + 3 x 40 + 2 x 3 = 131 mm of 100.
    assert "31 mm wider" in sheet_problems(replace(SMALL, columns=3))[0].message


@pytest.mark.parametrize("change", [{"label_width_mm": 46.0}, {"top_mm": 17.0}])
def test_labels_may_reach_the_very_edge_of_the_page(change: dict[str, float]) -> None:
    assert sheet_problems(replace(SMALL, **change)) == ()


tenths = st.integers(0, 600).map(lambda value: value / 10)
sheets = st.builds(
    LabelSheet,
    page_width_mm=st.integers(200, 4000).map(lambda value: value / 10),
    page_height_mm=st.integers(200, 4000).map(lambda value: value / 10),
    left_mm=tenths,
    top_mm=tenths,
    columns=st.integers(1, 12),
    rows=st.integers(1, 20),
    label_width_mm=tenths,
    label_height_mm=tenths,
    gap_across_mm=tenths,
    gap_down_mm=tenths,
)


def fitted(sheet: LabelSheet) -> LabelSheet:
    """The same with as many labels as its page holds, so that most sheets drawn at random can be printed."""
    while sheet.columns > 1 and sheet.right_mm < 0:
        sheet = replace(sheet, columns=sheet.columns - 1)
    while sheet.rows > 1 and sheet.bottom_mm < 0:
        sheet = replace(sheet, rows=sheet.rows - 1)
    return sheet


@given(sheets, st.integers(1, 80), st.data())
def test_no_label_of_a_good_sheet_overlaps_another_or_leaves_the_page(
    sheet: LabelSheet, count: int, data: st.DataObject
) -> None:
    sheet = fitted(sheet)
    if sheet_problems(sheet):
        return
    first = data.draw(st.integers(1, sheet.per_sheet))
    placed = spots(sheet, count, first)
    assert len({(spot.sheet, spot.place) for spot in placed}) == count
    assert (placed[0].sheet, placed[0].place) == (0, first - 1)
    hair = 0.01
    for spot in placed:
        assert min(spot.left_mm, spot.top_mm) >= -hair
        assert spot.left_mm + sheet.label_width_mm <= sheet.page_width_mm + hair
        assert spot.top_mm + sheet.label_height_mm <= sheet.page_height_mm + hair
    for one in placed:
        for other in placed:
            if one.sheet == other.sheet and one.place < other.place:
                beside = other.left_mm - one.left_mm >= sheet.label_width_mm - hair
                beside |= one.left_mm - other.left_mm >= sheet.label_width_mm - hair
                assert beside or other.top_mm - one.top_mm >= sheet.label_height_mm - hair
