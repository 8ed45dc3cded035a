"""From the forms of a layout to values."""

import re
from collections.abc import Mapping

from server.domain.layout_edits import Facts, NewPort, PortEntry
from server.domain.layout_rules import LIMIT_MOST_A
from server.domain.model.catalogue import Edition, Port, SupplyLayout, Use
from server.domain.output_limits import EDITION_NAMES, RAILS
from server.web.forms import Reader
from server.web.views.formats import USES

_AMPERES = re.compile(r"([0-9]{1,4}(?:[.,][0-9]{1,3})?)\s*a?")


def limit_name(net: str) -> str:
    """Name of the field for the greatest current of a net; a sign that an element's id cannot hold is spelled out."""
    return f"limits.{net.replace('-', 'minus ')}"


def edition_of(read: Reader) -> Edition:
    """The edition picked; the stricter of both when none was."""
    return read.one_of("edition", tuple(EDITION_NAMES))


def limits_of(read: Reader) -> Mapping[str, float]:
    """Greatest current by net, nets without an entry left out. [A]"""
    limits = {}
    for net in RAILS:
        text = read.word(limit_name(net)).casefold()
        if not text:
            continue
        found = _AMPERES.fullmatch(text)
        value = float(found[1].replace(",", ".")) if found else 0.0
        if 0 < value <= LIMIT_MOST_A:
            limits[net] = value
        else:
            read.problem(limit_name(net), f"Write amperes, at most {LIMIT_MOST_A:g}, or leave it empty.")
    return limits


def facts_of(read: Reader) -> Facts | None:
    """Name, notes, edition and greatest currents; nothing where the form did not show them."""
    if "name" not in read.typed.values:
        return None
    return Facts(read.word("name"), read.text("note"), edition_of(read), limits_of(read))


def ports_of(read: Reader, layout: SupplyLayout) -> Mapping[str, PortEntry]:
    """By port id, what the form says about each port that it showed.

    Args:
        read: The form's reader.
        layout: The version that the form was made from.
    """
    shown = (port for port in layout.ports if f"ports.{port.id}.label" in read.typed.values)
    return {port.id: _entry_of(read, port) for port in shown}


def new_port_of(read: Reader) -> NewPort:
    """The port to be added; what is missing is noted as a problem."""
    label, housing = read.word("new.label"), read.word("new.housing")
    if not housing:
        read.problem("new.housing", "Pick the plug that fits the socket.")
    if not label:
        read.problem("new.label", "Give the port the name that stands beside the socket.")
    return NewPort(label, housing, feeds_of(read, "new.feeds"))


def feeds_of(read: Reader, name: str) -> tuple[Use, ...]:
    """Uses ticked, in the order of the list."""
    chosen = read.chosen(name)
    return tuple(use for use in USES if use in chosen)


def _entry_of(read: Reader, port: Port) -> PortEntry:
    path = f"ports.{port.id}"
    names = {pin.cavity: f"{path}.{pin.cavity}" for pin in port.pins}
    told = f"{path}.feeds" in read.typed.values or f"{path}.feeds" in read.typed.values.get("shown", ())
    return PortEntry(
        label=read.word(f"{path}.label"),
        feeds=feeds_of(read, f"{path}.feeds") if told else None,
        nets={cavity: read.word(name) for cavity, name in names.items() if name in read.typed.values},
    )
