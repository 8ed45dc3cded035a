"""Where on a supply something is said to be wrong: the path of a field, as its port and cavity."""

import re
from collections.abc import Iterable
from dataclasses import replace

from server.domain.errors import Problem
from server.domain.model.catalogue import SupplyLayout

_LISTED = re.compile(r"(ports|readings)\.(\d+)(?:\.(?:pins\.(\d+)\.)?(\w+))?")
"""Path of a value in a document, where ports, pins and readings are numbered from 0."""
_WORDS = {
    "label": "name",
    "housing": "socket",
    "feeds": "uses",
    "on": "on",
    "on_v": "on",
    "standby": "standby",
    "standby_v": "standby",
    "ground": "continuity to ground",
    "to_ground": "continuity to ground",
    "settled": "settled",
}


def place_of(field: str, layout: SupplyLayout) -> str:
    """Port, cavity and value that a field is about, such as ``Main, cavity 3, standby``; empty for any other field.

    Args:
        field: A path as ``layout_problems`` and the forms name it: ``ports.M1.3``, ``readings.M1.3.on``.
        layout: The layout that it is a path in.
    """
    for port in layout.ports:
        for kind in ("ports", "readings"):
            start = f"{kind}.{port.id}."
            if not field.startswith(start):
                continue
            first, _, rest = field.removeprefix(start).partition(".")
            if first in {pin.cavity for pin in port.pins}:
                return _joined(port.label, first, _WORDS.get(rest, ""))
            return _joined(port.label, "", _WORDS.get(first, ""))
    return field.removeprefix("limits.") if field.startswith("limits.") else ""


def place_in_document(field: str, layout: SupplyLayout) -> str:
    """The same for a path in a layout's document: ``ports.0.pins.3.net``, ``readings.5.on_v``."""
    found = _LISTED.fullmatch(field)
    if not found:
        return ""
    kind, index, pin, what = found[1], int(found[2]), found[3], _WORDS.get(found[4] or "", "")
    if kind == "ports" and index < len(layout.ports):
        port = layout.ports[index]
        cavity = port.pins[int(pin)].cavity if pin is not None and int(pin) < len(port.pins) else ""
        return _joined(port.label, cavity, what)
    if kind == "readings" and index < len(layout.readings):
        reading = layout.readings[index]
        labels = {port.id: port.label for port in layout.ports}
        return _joined(labels.get(reading.port, f"port {reading.port[:64]}"), reading.cavity[:8], what)
    return ""


def placed(problems: Iterable[Problem], layout: SupplyLayout) -> tuple[Problem, ...]:
    """The problems of a layout, each with its port and cavity in front of its words."""
    return tuple(with_place(problem, place_of(problem.field, layout)) for problem in problems)


def with_place(problem: Problem, place: str) -> Problem:
    """A problem with its place in front of its words, where there is one."""
    return replace(problem, message=f"{place}: {problem.message}") if place else problem


def _joined(port: str, cavity: str, what: str) -> str:
    return ", ".join(word for word in (port, f"cavity {cavity}" if cavity else "", what) if word)
