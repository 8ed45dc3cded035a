"""The layout document: everything comes back, and nothing strange comes in."""

import json
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.documents.layout_json import read_layout, read_readings, write_layout
from server.domain.errors import InvalidInputError
from server.domain.model.catalogue import Reading
from tests.domain.layout_scenes import layout, port, reading

LAYOUT = replace(
    layout(port("COM", "COM", "+12V", ""), readings=(reading("3", on=12.05, standby=0.0, ground=False),)),
    limits_a={"+5V": 20.0, "+12V": 62.5},
)


def document(**changes: Any) -> str:
    """A good document with parts of its layout replaced."""
    whole = json.loads(write_layout(LAYOUT))
    whole["layout"].update(changes)
    return json.dumps(whole)


def refusal(text: str) -> str:
    with pytest.raises(InvalidInputError) as refused:
        read_layout(text)
    return str(refused.value)


def test_a_layout_comes_back_with_its_readings() -> None:
    assert read_layout(write_layout(LAYOUT)) == replace(LAYOUT, limits_a={"+12V": 62.5, "+5V": 20.0})


def test_writing_twice_gives_the_same_bytes() -> None:
    # Property: the order in which limits were entered does not show.
    turned = replace(LAYOUT, limits_a={"+12V": 62.5, "+5V": 20.0})
    assert write_layout(turned) == write_layout(LAYOUT)


VOLTS = st.none() | st.floats(-20, 20, allow_nan=False).map(lambda volts: round(volts, 4) + 0.0)


@given(st.tuples(VOLTS, VOLTS, st.none() | st.booleans(), st.sampled_from(["", "+12V", "COM"])))
def test_every_reading_comes_back_exactly(values: tuple[float | None, float | None, bool | None, str]) -> None:
    taken = replace(LAYOUT, readings=(Reading("M1", "3", *values),))
    assert read_layout(write_layout(taken)).readings == taken.readings


def test_the_format_is_named_and_numbered() -> None:
    whole = json.loads(write_layout(LAYOUT))
    assert (whole["format"], whole["version"]) == ("loomwright-layout", 1)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "empty"),
        ("[]", "JSON object"),
        ('{"format": "loomwright-build", "version": 1, "build": {}}', "format"),
        ('{"format": "loomwright-layout", "version": 2, "layout": {}}', "reads version 1"),
        ('{"format": "loomwright-layout", "version": 1, "layout": {}, "layout": {}}', "twice"),
        ('{"format": "loomwright-layout", "version": 1, "layout": {}, "more": 1}', "no such field"),
        ('{"format": "loomwright-layout", "version": 1, "layout": {"id": "a"', "cut short"),
        ('{"format": "loomwright-layout", "version": 1}', "missing"),
        ("[" * 100 + "]" * 100, "nests deeper"),
        ('{"format": "loomwright-layout", "version": 1, "layout": {"id": "a", "version": NaN}}', "NaN"),
    ],
)
def test_a_document_of_another_shape_is_refused_with_the_reason(text: str, said: str) -> None:
    assert said in refusal(text)


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"name": ""}, "name"),
        ({"name": "a\u0000b"}, "name"),
        ({"name": "x" * 500}, "name"),
        ({"id": "../../etc/passwd"}, "id"),
        ({"id": "a" * 65}, "id"),
        ({"version": 0}, "version"),
        ({"version": "1"}, "version"),
        ({"own": "yes"}, "own"),
        ({"edition": "4.0"}, "edition"),
        ({"limits_a": {"+12V": "62"}}, "limits_a.+12V"),
        ({"limits_a": {"<b>": 1}}, "limits_a.<b>"),
        ({"limits_a": {"+12V": 1e300}}, "limits_a.+12V"),
        ({"ports": "M1"}, "ports"),
        ({"ports": [{}] * 3000}, "ports"),
        ({"readings": [{"port": "M1", "cavity": "3", "on_v": "12"}]}, "readings.0.on_v"),
        ({"readings": [{"port": "M1", "cavity": "3", "to_ground": 1}]}, "readings.0.to_ground"),
        ({"readings": [{"port": "M1", "cavity": "3 or more"}]}, "readings.0.cavity"),
        ({"readings": [{"port": "M1", "cavity": "3", "colour": "red"}]}, "readings.0"),
    ],
)
def test_a_value_that_no_layout_has_is_refused_at_its_place(changes: dict[str, Any], field: str) -> None:
    assert field in refusal(document(**changes))


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"id": "a/b"}, "ports.0.id"),
        ({"label": "two\nlines"}, "ports.0.label"),
        ({"housing": "<script>"}, "ports.0.housing"),
        ({"feeds": ["kettle"]}, "ports.0.feeds.0"),
        ({"pins": [{"cavity": "1", "net": "x" * 25}]}, "ports.0.pins.0.net"),
        ({"pins": [{"cavity": "1"}]}, "ports.0.pins.0.net"),
    ],
)
def test_a_port_of_another_shape_is_refused_at_its_place(changes: dict[str, Any], field: str) -> None:
    whole = json.loads(write_layout(LAYOUT))
    whole["layout"]["ports"][0].update(changes)
    assert field in refusal(json.dumps(whole))


def test_a_document_larger_than_two_megabytes_is_refused_unread() -> None:
    assert "larger than" in refusal(" " * 2_000_001)


@given(st.text(max_size=200) | st.binary(max_size=200))
def test_whatever_is_sent_is_read_or_refused(text: str | bytes) -> None:
    # Property: nothing but a refusal comes out of a text that is no layout.
    with pytest.raises(InvalidInputError):
        read_layout(text)


def test_readings_can_be_sent_alone() -> None:
    assert read_readings('{"readings": [{"port": "M1", "cavity": "1", "on_v": 12}]}') == (Reading("M1", "1", 12.0),)


@pytest.mark.parametrize(
    "text", ["{}", '{"readings": {}}', '{"readings": [{"port": "M1"}]}', '{"readings": [], "a": 1}']
)
def test_readings_of_another_shape_are_refused(text: str) -> None:
    with pytest.raises(InvalidInputError):
        read_readings(text)
