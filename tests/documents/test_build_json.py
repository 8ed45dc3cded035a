"""A build document is read strictly, refused plainly, and written the same way every time."""

import contextlib
import json
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from server.documents.build_json import read_build, write_build
from server.domain.errors import InvalidInputError
from server.domain.model.build import Build, Part, PlugRef, Route, Run, Socket
from tests.documents.build_strategies import builds

SMALL = Build(
    name="Walnut desk case",
    parts=(Part("board", "board", "Board", (Socket("main", "main-24"),)),),
    runs=(Run("r1", 1, (PlugRef("supply", "M1"),), (PlugRef("board", "main", 3.5),), route=Route(length_mm=612.0)),),
    prices={"pack-b": Decimal("1.50"), "pack-a": Decimal(3)},
    next_number=2,
)


def document(change: Callable[[dict[str, Any]], object] = lambda build: None) -> str:
    """The small build's document after a change to its ``build`` object."""
    whole = json.loads(write_build(SMALL))
    change(whole["build"])
    return json.dumps(whole)


def refusal(text: bytes | str) -> list[tuple[str, str]]:
    """Field and message of every problem for which the document is refused."""
    with pytest.raises(InvalidInputError) as caught:
        read_build(text)
    return [(problem.field, problem.message) for problem in caught.value.problems]


@given(builds())
@settings(max_examples=60, deadline=None)
def test_a_written_build_reads_back_as_the_same_build(build: Build) -> None:
    # Property: reading undoes writing.
    assert read_build(write_build(build)) == build


@given(builds())
@settings(max_examples=40, deadline=None)
def test_a_build_read_back_is_written_to_the_same_bytes(build: Build) -> None:
    # Property: writing is a function of the build alone.
    text = write_build(build)
    assert write_build(read_build(text)) == text


def test_the_order_of_prices_does_not_show_in_the_document() -> None:
    # Property: equal builds, equal bytes; a map has no order.
    turned = replace(SMALL, prices=dict(reversed(SMALL.prices.items())))
    assert write_build(turned) == write_build(SMALL)


def test_a_whole_length_is_written_alike_however_it_was_typed() -> None:
    # Property: 612 mm and 612.0 mm are equal.
    whole = replace(SMALL, runs=(replace(SMALL.runs[0], route=Route(length_mm=612)),))
    assert write_build(whole) == write_build(SMALL)


def test_money_is_written_as_text_so_that_no_reader_rounds_it() -> None:
    # The document says amounts are decimal text; 1.50 keeps its zero.
    assert json.loads(write_build(SMALL))["build"]["prices"] == {"pack-a": "3", "pack-b": "1.50"}


def test_the_document_names_its_format_and_version_first() -> None:
    # The format as documented.
    assert list(json.loads(write_build(SMALL)))[:2] == ["format", "version"]


def test_a_document_of_a_name_alone_is_a_build_with_every_default() -> None:
    # Fields of the model have defaults; a document may leave them out.
    text = '{"format": "loomwright-build", "version": 2, "build": {"name": "Empty"}}'
    assert read_build(text) == Build(name="Empty")


def test_a_byte_order_mark_before_the_document_is_passed_over() -> None:
    # Editors on some systems write one; it says nothing.
    assert read_build(b"\xef\xbb\xbf" + write_build(SMALL).encode()) == SMALL


def test_an_unknown_field_is_refused_by_name() -> None:
    assert refusal(document(lambda build: build.update(colour="red"))) == [
        ("colour", "This planner knows no such field.")
    ]


def test_an_unknown_field_deep_inside_is_refused_with_its_path() -> None:
    found = refusal(document(lambda build: build["runs"][0]["route"].update(legs=[1])))
    assert found == [("runs.0.route.legs", "This planner knows no such field.")]


def test_a_field_beside_the_build_is_refused_by_name() -> None:
    whole = {**json.loads(write_build(SMALL)), "plan": {}}
    assert refusal(json.dumps(whole)) == [("plan", "This planner knows no such field.")]


def test_every_wrong_field_is_listed_at_once() -> None:
    def spoil(build: dict[str, Any]) -> None:
        build["finish"]["insulation"] = "silk"
        build["finish"]["combs"] = "yes"
        build["runs"][0]["number"] = 1.5

    fields = [field for field, _ in refusal(document(spoil))]
    assert fields == ["runs.0.number", "finish.insulation", "finish.combs"]


@pytest.mark.parametrize("typed", ["612", True, [612], {"mm": 612}])
def test_a_length_that_is_no_number_is_refused(typed: object) -> None:
    found = refusal(document(lambda build: build["runs"][0]["route"].update(length_mm=typed)))
    assert found == [("runs.0.route.length_mm", "Must be a number.")]


@pytest.mark.parametrize("word", ["NaN", "Infinity", "-Infinity"])
def test_a_number_that_is_not_finite_is_refused(word: str) -> None:
    assert refusal(write_build(SMALL).replace("612", word))[0][1] == f"{word} is not a number that a document may hold."


def test_a_number_too_large_for_arithmetic_is_refused() -> None:
    # 1e999 is beyond binary64 and would become infinity.
    found = refusal(write_build(SMALL).replace("612", "1e999"))
    assert found == [("runs.0.route.length_mm", "Must be a finite number.")]


@pytest.mark.parametrize("amount", ["NaN", "-1", "1e9", "0.0000001", "0E+9999999", "twelve"])
def test_an_amount_outside_its_range_is_refused(amount: str) -> None:
    found = refusal(document(lambda build: build["rates"].update(hourly=amount)))
    assert [field for field, _ in found] == ["rates.hourly"]


def test_a_later_version_is_refused_with_the_version_that_is_read() -> None:
    whole = {**json.loads(write_build(SMALL)), "version": 3, "new": 1}
    assert refusal(json.dumps(whole)) == [("version", "The document has version 3; this planner reads version 1 or 2.")]


@pytest.mark.parametrize("version", [0, -1, True, "2", 2.0, None])
def test_a_version_that_is_no_whole_number_is_refused(version: object) -> None:
    whole = {**json.loads(write_build(SMALL)), "version": version}
    assert [field for field, _ in refusal(json.dumps(whole))] == ["version"]


@pytest.mark.parametrize("whole", [{}, {"format": "other"}, {"format": "loomwright-plan", "version": 1}])
def test_a_document_of_another_kind_is_refused(whole: dict[str, object]) -> None:
    assert refusal(json.dumps(whole))[0][0] == "format"


@given(st.integers(min_value=1, max_value=len(write_build(SMALL)) - 2))
@settings(max_examples=60, deadline=None)
def test_a_document_cut_short_anywhere_is_refused_with_line_and_column(end: int) -> None:
    # Property: no beginning of a JSON object but the whole is JSON.
    cut = write_build(SMALL)[:end]
    message = refusal(cut)[0][1]
    assert f"line {cut.rstrip().count(chr(10)) + 1}," in message or "cut short" in message


def test_broken_json_is_refused_with_the_place() -> None:
    # Hand count: the colon is missing behind the key that ends at column 5.
    assert refusal('{\n "a" 1}')[0][1].startswith("Not valid JSON at line 2, column 6:")


def test_a_key_that_stands_twice_is_refused() -> None:
    text = '{"format": "loomwright-build", "version": 2, "build": {"name": "a", "name": "b"}}'
    assert refusal(text) == [("name", "This key appears twice in one object.")]


@pytest.mark.parametrize("text", ["[]", '"build"', "1", "null"])
def test_a_document_that_is_no_object_is_refused(text: str) -> None:
    assert refusal(text) == [("", "The document must be a JSON object.")]


@pytest.mark.parametrize("text", ["[" * 100_000, '{"a":' * 100_000, "[" * 65 + "]" * 65])
def test_a_document_nested_too_deep_is_refused(text: str) -> None:
    assert refusal(text) == [("", "The document nests deeper than 64 levels.")]


def test_brackets_inside_text_do_not_count_as_nesting() -> None:
    notes = "[{" * 200 + '\\"' * 3
    assert read_build(write_build(replace(SMALL, notes=notes))).notes == notes


def test_a_document_of_more_than_two_megabytes_is_refused() -> None:
    assert refusal(b" " * 2_000_001) == [("", "The document is larger than 2 MB.")]


def test_text_in_another_encoding_is_refused() -> None:
    assert "not UTF-8" in refusal(write_build(SMALL).encode("utf-16"))[0][1]


def test_half_a_character_is_refused() -> None:
    # A lone surrogate is not a character of Unicode text.
    assert refusal('{"format": "loomwright-build", "version": 2, "build": {"name": "\\ud800"}}')


def test_an_empty_document_is_refused() -> None:
    assert refusal("  \n") == [("", "The document is empty.")]


def test_a_number_of_thousands_of_digits_is_refused() -> None:
    assert "too large" in refusal(write_build(SMALL).replace("612", "9" * 5000))[0][1]


@pytest.mark.parametrize("bad", ["R1", "", "-r", "r" * 65, "r 1", "../r", "r1\n"])
def test_an_id_outside_its_pattern_is_refused(bad: str) -> None:
    found = refusal(document(lambda build: build["runs"][0].update(id=bad)))
    assert [field for field, _ in found] == ["runs.0.id"]


def test_a_name_of_more_than_two_hundred_characters_is_refused() -> None:
    assert refusal(document(lambda build: build.update(name="x" * 201))) == [
        ("name", "Must be at most 200 characters.")
    ]


def test_a_name_with_a_control_character_is_refused() -> None:
    assert refusal(document(lambda build: build.update(name="a\u0000b"))) == [
        ("name", "Holds a character that cannot be shown.")
    ]


def test_a_blank_name_is_refused() -> None:
    assert refusal(document(lambda build: build.update(name=" "))) == [("name", "A build needs a name.")]


def test_a_run_to_a_part_that_is_not_in_the_build_is_refused() -> None:
    found = refusal(document(lambda build: build["runs"][0]["ends"][0].update(part="ghost")))
    assert found == [("runs.0.ends.0.part", 'The build has no part "ghost".')]


def test_a_run_to_a_socket_that_the_part_lacks_is_refused() -> None:
    found = refusal(document(lambda build: build["runs"][0]["ends"][0].update(socket="cpu")))
    assert found == [("runs.0.ends.0.socket", 'The part has no socket "cpu".')]


def test_two_runs_of_one_number_are_refused() -> None:
    def double(build: dict[str, Any]) -> None:
        build["runs"].append({**build["runs"][0], "id": "r2"})

    assert refusal(document(double)) == [("runs.1.number", "1 is used twice.")]


def test_a_next_number_that_a_run_already_has_is_refused() -> None:
    # Numbers stand on labels and are never given again.
    found = refusal(document(lambda build: build.update(next_number=1)))
    assert [field for field, _ in found] == ["next_number"]


def test_a_range_whose_high_end_lies_below_its_low_end_is_refused() -> None:
    def turn(build: dict[str, Any]) -> None:
        build["runs"][0]["route"].update(length_mm=None, low_mm=400, high_mm=300)

    assert refusal(document(turn)) == [("runs.0.route.high_mm", "The high end lies below the low end.")]


@pytest.mark.parametrize("length", [0, -5, 20_001])
def test_a_route_outside_what_a_computer_holds_is_refused(length: int) -> None:
    found = refusal(document(lambda build: build["runs"][0]["route"].update(length_mm=length)))
    assert [field for field, _ in found] == ["runs.0.route.length_mm"]


def test_a_build_of_too_many_parts_is_refused() -> None:
    def crowd(build: dict[str, Any]) -> None:
        build["parts"] += [{**build["parts"][0], "id": f"p{n}"} for n in range(500)]

    assert ("parts", "At most 500 entries are read here.") in refusal(document(crowd))


@given(
    st.sampled_from((1, 2)),
    st.recursive(
        st.none() | st.booleans() | st.floats() | st.text(),
        lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner),
        max_leaves=12,
    ),
)
@settings(max_examples=100, deadline=None)
def test_whatever_stands_in_a_build_is_read_or_refused_but_never_a_fault(version: int, value: object) -> None:
    # Property: the only failure of reading is a refusal.
    whole = {"format": "loomwright-build", "version": version, "build": value}
    with contextlib.suppress(InvalidInputError):
        assert isinstance(read_build(json.dumps(whole)), Build)
