"""A supply layout as a JSON document: the planner's own open format, for keeping, sending and the API.

The document is an object ``{"format": "loomwright-layout", "version": 1, "layout": {...}}`` whose ``layout`` follows
``SupplyLayout`` field by field, the readings taken included. Voltages are in V, currents in A; an empty net means not
connected. Writing the same layout gives the same bytes.
"""

import math
import re
from collections.abc import Iterator
from dataclasses import replace
from typing import Literal, TypeVar

from pydantic import BaseModel, ConfigDict, ValidationError

from server.documents.document_problems import MOST_PROBLEMS, check_envelope, problems_of
from server.documents.json_text import document_text
from server.documents.strict_json import decode, parse_object
from server.domain.errors import InvalidInputError, Problem
from server.domain.layout_places import place_in_document, with_place
from server.domain.layout_rules import LABEL_MOST, NAME_MOST, NOTE_MOST, PORTS_MOST
from server.domain.model.catalogue import Port, Reading, SupplyLayout

FORMAT = "loomwright-layout"
VERSION = 1
MOST_CAVITIES = 64
"""Cavities read for one port; the largest housing has 24."""
MOST_READINGS = PORTS_MOST * MOST_CAVITIES
GREATEST_VERSION = 1_000_000

_ID = re.compile(r"[A-Za-z0-9_][A-Za-z0-9_.-]{0,63}")
_CAVITY = re.compile(r"[A-Za-z0-9]{1,8}")
_NET = re.compile(r"[A-Za-z0-9+.#_-]{0,24}")
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ufffe\uffff]")
_LINE_BREAK = re.compile(r"[\t\n\r]")

_Problems = Iterator[Problem]
_Document = TypeVar("_Document", bound="LayoutDocument")


class LayoutDocument(BaseModel):
    """The envelope; pydantic carries its settings on into the plain dataclasses below it."""

    model_config = ConfigDict(extra="forbid", strict=True, allow_inf_nan=False)

    format: Literal["loomwright-layout"]
    version: Literal[1]
    layout: SupplyLayout


class SentLayout(LayoutDocument):
    """A layout as a program sends it in: the document, and whose supply its readings were taken on."""

    same_supply: bool = False
    """True only where the readings were taken on this very supply: the same type and the same unit."""


class ReadingsDocument(BaseModel):
    """Readings alone, as a meter's program would send them."""

    model_config = ConfigDict(extra="forbid", strict=True, allow_inf_nan=False)

    readings: tuple[Reading, ...]


def read_readings(text: bytes | str) -> tuple[Reading, ...]:
    """Readings sent without their layout: ``{"readings": [{"port": ..., "cavity": ..., "on_v": ...}]}``.

    Raises:
        InvalidInputError: every problem found, with the path of the value.
    """
    decoded = decode(text)
    parse_object(decoded)
    try:
        readings = ReadingsDocument.model_validate_json(decoded).readings
    except ValidationError as error:
        raise InvalidInputError(problems_of(error, "")) from error
    problems = (
        *_count("readings", readings, MOST_READINGS),
        *(problem for index, each in enumerate(readings[:MOST_READINGS]) for problem in _reading_at(index, each)),
    )
    if problems:
        raise InvalidInputError(problems[:MOST_PROBLEMS])
    return readings


def read_layout(text: bytes | str) -> SupplyLayout:
    """The layout that a document holds, readings included.

    Args:
        text: The document, UTF-8, at most 2 MB.

    Raises:
        InvalidInputError: every problem found, with the path of the value inside ``layout``.
    """
    return _read(text, LayoutDocument).layout


def read_sent_layout(text: bytes | str) -> tuple[SupplyLayout, bool]:
    """The layout that a program sends, and whether its readings are said to be of this very supply.

    Args:
        text: The document, which may hold ``"same_supply": true`` beside ``layout``; a file never says so of itself.

    Raises:
        InvalidInputError: as ``read_layout``.
    """
    sent = _read(text, SentLayout)
    return sent.layout, sent.same_supply


def _read(text: bytes | str, model: type[_Document]) -> _Document:
    decoded = decode(text)
    check_envelope(parse_object(decoded), FORMAT, VERSION, "layout")
    try:
        found = model.model_validate_json(decoded)
    except ValidationError as error:
        raise InvalidInputError(problems_of(error, "layout")) from error
    # The order of keys in a file must not show.
    found.layout = replace(found.layout, limits_a=dict(sorted(found.layout.limits_a.items())))
    _check(found.layout)
    return found


def write_layout(layout: SupplyLayout) -> str:
    """The document of a layout: keys of maps sorted, fields in the order of the model, a newline at the end.

    Raises:
        InvalidInputError: the layout holds something that could not be read back.
    """
    _check(layout)
    return document_text(FORMAT, VERSION, layout=layout)


def _check(layout: SupplyLayout) -> None:
    problems = tuple(with_place(each, place_in_document(each.field, layout)) for each in _layout(layout))
    if problems:
        raise InvalidInputError(problems[:MOST_PROBLEMS])


def _layout(layout: SupplyLayout) -> _Problems:
    """What makes a document whole; whether its sockets and nets are known is looked at where it is saved."""
    yield from _matches("id", layout.id, _ID, "Must be an id: letters, digits, hyphens and points, at most 64.")
    if not layout.name.strip():
        yield Problem("name", "A layout needs a name.")
    yield from _line("name", layout.name, NAME_MOST)
    yield from _text("note", layout.note, NOTE_MOST)
    yield from _text("source", layout.source, NOTE_MOST)
    if not 1 <= layout.version <= GREATEST_VERSION:
        yield Problem("version", f"Must be from 1 to {GREATEST_VERSION}.")
    yield from _count("ports", layout.ports, PORTS_MOST)
    for index, port in enumerate(layout.ports[:PORTS_MOST]):
        yield from _port(f"ports.{index}", port)
    yield from _count("readings", layout.readings, MOST_READINGS)
    for index, reading in enumerate(layout.readings[:MOST_READINGS]):
        yield from _reading_at(index, reading)
    for net, limit in layout.limits_a.items():
        yield from _matches(f"limits_a.{net[:24]}", net, _NET, "Must be a net, such as +12V.")
        yield from _finite(f"limits_a.{net[:24]}", limit)


def _port(path: str, port: Port) -> _Problems:
    yield from _matches(f"{path}.id", port.id, _ID, "Must be an id: letters, digits, hyphens and points, at most 64.")
    yield from _line(f"{path}.label", port.label, LABEL_MOST)
    yield from _matches(f"{path}.housing", port.housing, _ID, "Must be the id of a housing of the catalogue.")
    yield from _count(f"{path}.pins", port.pins, MOST_CAVITIES)
    for index, pin in enumerate(port.pins[:MOST_CAVITIES]):
        yield from _matches(f"{path}.pins.{index}.cavity", pin.cavity, _CAVITY, "Must be a cavity, such as 12 or S1.")
        yield from _matches(f"{path}.pins.{index}.net", pin.net, _NET, "Must be a net, such as +12V, or empty.")


def _reading_at(index: int, reading: Reading) -> _Problems:
    path = f"readings.{index}"
    yield from _matches(f"{path}.port", reading.port, _ID, "Must be the id of a port.")
    yield from _matches(f"{path}.cavity", reading.cavity, _CAVITY, "Must be a cavity, such as 12 or S1.")
    yield from _matches(f"{path}.settled", reading.settled, _NET, "Must be a net, such as +12V, or empty.")
    for name, volts in (("on_v", reading.on_v), ("standby_v", reading.standby_v)):
        if volts is not None:
            yield from _finite(f"{path}.{name}", volts)


def _matches(path: str, value: str, pattern: re.Pattern[str], message: str) -> _Problems:
    if not pattern.fullmatch(value):
        yield Problem(path, message)


def _line(path: str, value: str, longest: int) -> _Problems:
    yield from _text(path, value, longest)
    if _LINE_BREAK.search(value):
        yield Problem(path, "Must be one line.")


def _text(path: str, value: str, longest: int) -> _Problems:
    if len(value) > longest:
        yield Problem(path, f"Must be at most {longest} characters.")
    if _CONTROL.search(value):
        yield Problem(path, "Holds a character that cannot be shown.")


def _count(path: str, values: tuple[object, ...], most: int) -> _Problems:
    if len(values) > most:
        yield Problem(path, f"At most {most} entries are read here.")


def _finite(path: str, value: float) -> _Problems:
    if not math.isfinite(value) or abs(value) > 1e6:
        yield Problem(path, "Must be a number of a sensible size.")
