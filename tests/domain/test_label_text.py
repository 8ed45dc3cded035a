"""Text on labels: nothing is cut off, it is as large as it can be, and it stands where its form wants it."""

from itertools import pairwise

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from server.domain.label_text import LabelForm, SetLabel, form_problems, set_label

EM_WIDE = 0.602
"""Published: every glyph of DejaVu Sans Mono is 1233 of 2048 units wide."""
MM = 25.4 / 72
WORDS = st.lists(st.text("ABCab+-·019_ ", min_size=1, max_size=24).filter(str.strip), min_size=1, max_size=5)


def words(label: SetLabel) -> list[str]:
    return [line.words for line in label.lines]


def test_a_short_label_is_set_in_the_greatest_size_in_the_middle() -> None:
    # By hand: 12 pt; a capital is 0.729 em = 3.086 mm high, so it stands on 10 + 1.543 mm.
    label = set_label(("4-05",), 36, 20, LabelForm())
    assert label.size_pt == 12
    (line,) = label.lines
    assert (line.middle_mm, line.strong) == (18, True)
    assert line.base_mm == pytest.approx(11.543, abs=0.002)


def test_the_width_of_the_longest_word_gives_the_size() -> None:
    # By hand: 20 characters on 36 - 1.6 = 34.4 mm: 34.4 / (20 x 0.60205) = 2.8569 mm = 8.098 pt, so 8.0.
    assert set_label(("ABCDEFGHIJKLMNOPQRST",), 36, 20, LabelForm()).size_pt == 8.0


def test_the_height_gives_the_size_of_many_lines() -> None:
    # By hand: words too wide to share a line; 18.4 mm / (5 lines x 1.2) = 3.067 mm = 8.69 pt, so 8.6.
    lines = tuple(letter * 13 for letter in "ABCDE")
    assert set_label(lines, 36, 20, LabelForm()).size_pt == 8.6


def test_neighbours_share_a_line_only_where_that_makes_the_text_larger() -> None:
    assert words(set_label(("4-05", "+12V"), 36, 20, LabelForm())) == ["4-05", "+12V"]
    # 5 mm of height: two lines in 3.4 / 2.4 = 1.417 mm = 4.0 pt, one of 11 characters in 3.4 / 1.2 mm = 8.0 pt.
    low = set_label(("4-05", "+12V"), 36, 5, LabelForm())
    assert (words(low), low.size_pt) == (["4-05 | +12V"], 8.0)


def test_a_line_breaks_between_words_but_not_at_a_no_break_space() -> None:
    # On 20 mm: 18.4 mm hold 7 characters at 12 pt (7 x 2.5487 = 17.84).
    assert words(set_label(("board main\u00a08",), 20, 20, LabelForm())) == ["board", "main\u00a08"]


def test_text_below_the_least_size_is_set_whole_and_marked() -> None:
    label = set_label(("A" * 60,), 20, 10, LabelForm())
    assert label.small
    assert words(label) == ["A" * 60]
    # By hand: 18.4 / (60 x 0.60205) = 0.5094 mm = 1.44 pt, so 1.4.
    assert label.size_pt == 1.4


def test_wrapped_text_stands_as_often_as_asked_evenly_spaced() -> None:
    label = set_label(("4-05",), 36, 20, LabelForm("wrap", repeats=4))
    assert words(label) == ["4-05"] * 4
    # By hand: 18.4 mm of height for four: 4.6 mm from one to the next.
    bases = [line.base_mm for line in label.lines]
    assert [b - a for a, b in pairwise(bases)] == pytest.approx([4.6] * 3)


def test_a_flag_has_its_text_in_the_middle_of_each_half() -> None:
    # By hand: 36 - 8 leaves 14 mm each; the edge keeps 0.8 free, so the middles are at (0.8 + 14) / 2 and 36 - 7.4.
    label = set_label(("4-05",), 36, 20, LabelForm("flag", fold_mm=8))
    assert [line.middle_mm for line in label.lines] == pytest.approx([7.4, 28.6])


@example(["0", "0"], 10.0, 11.0, "plain", 2)
@given(WORDS, st.floats(10, 80), st.floats(5, 50), st.sampled_from(("plain", "wrap", "flag")), st.integers(2, 6))
def test_no_text_leaves_its_label_or_the_half_of_its_flag(
    lines: list[str], wide: float, high: float, form: str, repeats: int
) -> None:
    asked = LabelForm(form, repeats, fold_mm=wide / 10)  # type: ignore[arg-type]
    if form_problems(asked, wide):
        return
    label = set_label(tuple(lines), wide, high, asked)
    kept = "".join("".join(lines).split())
    times = {"plain": 1, "wrap": repeats, "flag": 2}[form]
    assert "".join("".join(words(label)).replace("|", "").split()) == kept * times
    if label.size_pt <= 0.1:
        return
    for line in label.lines:
        half = len(line.words) * EM_WIDE * label.size_pt * MM / 2
        left, right = line.middle_mm - half, line.middle_mm + half
        assert left >= 0.79
        assert right <= wide - 0.79
        # Capitals reach 0.729 em up, tails 0.236 em down.
        assert line.base_mm - 0.729 * label.size_pt * MM >= 0.79
        assert line.base_mm + 0.236 * label.size_pt * MM <= high - 0.79
        if form == "flag":
            assert right <= wide / 2 - asked.fold_mm / 2 + 0.01 or left >= wide / 2 + asked.fold_mm / 2 - 0.01


@pytest.mark.parametrize(
    ("form", "field"),
    [
        (LabelForm("wrap", repeats=1), "repeats"),
        (LabelForm("wrap", repeats=9), "repeats"),
        # By hand: 20 - 2 x (4 + 0.8) = 10.4 mm at most.
        (LabelForm("flag", fold_mm=10.5), "fold_mm"),
        (LabelForm("flag", fold_mm=0), "fold_mm"),
    ],
)
def test_forms_that_cannot_be_made_are_named(form: LabelForm, field: str) -> None:
    assert [problem.field for problem in form_problems(form, 20)] == [field]
    assert form_problems(LabelForm("flag", fold_mm=10.4), 20) == ()
