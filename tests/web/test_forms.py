"""Text to values. Expected values by hand: 1 in = 25.4 mm exactly (the international inch), 1 cm = 10 mm."""

import pytest

from server.domain.errors import InvalidInputError
from server.domain.reference import LENGTH_MOST_MM
from server.web.forms import Reader, Typed
from server.web.reading.lengths import length_mm


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
        ('24½"', 622.3),
        ("24½ in", 622.3),
        ('24-1/2"', 622.3),
        ("½ in", 12.7),
        ("2 ft", 609.6),
        ("2'", 609.6),
        ("2' 3\"", 685.8),
        ("2 ft 3 1/2 in", 698.5),
        ("2′ 3″", 685.8),
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
        "2' 14\"",
        "24.5 1/2 in",
        "٣",
    ],
)
def test_what_is_no_length_is_answered_in_words(text: str) -> None:
    assert isinstance(length_mm(text), str)


@pytest.mark.parametrize("text", ["5001", "5.001 m", "197 in", "9" * 30, "9" * 400, "1" * 400 + " in"])
def test_a_length_beyond_the_greatest_is_told_that_it_is_too_long(text: str) -> None:
    assert LENGTH_MOST_MM == 5000
    assert str(length_mm(text)).startswith("Longer than 5 m")


def test_the_greatest_length_itself_is_a_length() -> None:
    assert length_mm("5000") == LENGTH_MOST_MM


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


@pytest.mark.parametrize(
    "text", ["95 95 110", "95, 95, 110", "95;95;110", "95,95,110", "95 mm 95 mm 110 mm", "9.5cm 9.5cm 11cm"]
)
def test_chain_spacing_is_read_however_it_is_separated(text: str) -> None:
    assert Reader(Typed({"spacing": (text,)})).lengths("spacing") == pytest.approx((95.0, 95.0, 110.0))


@pytest.mark.parametrize(
    "text", ['4 1/2" 4" 4"', '4 1/2", 4", 4"', '4½"; 4"; 4"', '4 1/2",4",4"', "4 1/2 in 4 in 4 in"]
)
def test_a_fraction_and_its_unit_belong_to_the_number_before_them(text: str) -> None:
    # By hand: 4.5 in = 114.3 mm, 4 in = 101.6 mm.
    assert Reader(Typed({"spacing": (text,)})).lengths("spacing") == pytest.approx((114.3, 101.6, 101.6))


def test_a_fraction_among_bare_inches_is_no_spacing_of_its_own() -> None:
    assert Reader(Typed({"spacing": ("4 1/2 4 4",)})).lengths("spacing", inches=True) == (114.3, 101.6, 101.6)


@pytest.mark.parametrize("text", ["4 1/2 4 4", '4 4 4"', "95 x 95", "95 -5", "2' 3", "1,200 95"])
def test_spacings_that_could_be_read_in_two_ways_are_refused_beside_their_field(text: str) -> None:
    read = Reader(Typed({"spacing": (text,)}))
    read.lengths("spacing")
    with pytest.raises(InvalidInputError) as refused:
        read.done()
    assert [problem.field for problem in refused.value.problems] == ["spacing"]


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
