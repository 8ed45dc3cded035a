"""Text to values. Expected values by hand: 1 in = 25.4 mm exactly (the international inch), 1 cm = 10 mm."""

import pytest

from server.domain.errors import InvalidInputError
from server.web.forms import Reader, Typed, length_mm


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("612", 612.0),
        ("612mm", 612.0),
        (" 61.2 cm ", 612.0),
        ("61,2 cm", 612.0),
        ("0.6 m", 600.0),
        ("24 in", 609.6),
        ('24"', 609.6),
        ("12.5in", 317.5),
        ("24 1/2 in", 622.3),
        ('1/2"', 12.7),
        ("0", 0.0),
    ],
)
def test_a_length_is_read_in_the_unit_it_is_written_in(text: str, expected: float) -> None:
    assert length_mm(text) == pytest.approx(expected)


def test_a_bare_number_is_in_the_unit_that_the_form_shows() -> None:
    assert length_mm("24", inches=True) == pytest.approx(609.6)


@pytest.mark.parametrize(
    "text",
    [
        "twelve",
        "nan",
        "inf",
        "1e3",
        "-5",
        "−5",
        "12 parsecs",
        "1,200",
        "5 1/2 mm",
        "3/0 in",
        "1/2",
        "99999",
        "1..2",
        "٣",
    ],
)
def test_what_is_no_length_is_answered_in_words(text: str) -> None:
    assert isinstance(length_mm(text), str)


def test_nothing_at_all_is_no_length_yet() -> None:
    assert Reader(Typed({"length": ("  ",)})).length("length") is None


def test_a_length_of_zero_is_refused_beside_its_field() -> None:
    read = Reader(Typed({"length": ("0",)}))
    read.length("length")
    with pytest.raises(InvalidInputError) as refused:
        read.done()
    assert [problem.field for problem in refused.value.problems] == ["length"]


def test_every_problem_of_a_form_is_named_at_once() -> None:
    read = Reader(Typed({"a": ("x",), "b": ("-1",)}))
    read.length("a")
    read.length("b")
    with pytest.raises(InvalidInputError) as refused:
        read.done()
    assert [problem.field for problem in refused.value.problems] == ["a", "b"]


@pytest.mark.parametrize("text", ["95 95 110", "95, 95, 110", "95;95;110", "95 mm 95 mm 110 mm", "9.5cm 9.5cm 11cm"])
def test_chain_spacing_is_read_however_it_is_separated(text: str) -> None:
    assert Reader(Typed({"spacing": (text,)})).lengths("spacing") == pytest.approx((95.0, 95.0, 110.0))


@pytest.mark.parametrize("text", ["bk tq wh", "BK,TQ,WH", "BK-TQ-WH", " BK  TQ / WH "])
def test_a_colour_pattern_is_read_however_it_is_separated(text: str) -> None:
    assert Reader(Typed({"pattern": (text,)})).codes("pattern") == ("BK", "TQ", "WH")


@pytest.mark.parametrize("text", ["", "x", "-1", "1.5", "999", "1e1"])
def test_a_form_without_a_readable_base_is_refused(text: str) -> None:
    if text == "999":
        assert Reader(Typed({"revision": (text,)})).base() == 999
    else:
        with pytest.raises(InvalidInputError):
            Reader(Typed({"revision": (text,)})).base()
