"""From the forms of a layout to values."""

import re
from collections.abc import Mapping

from server.domain.layout_rules import LIMIT_MOST_A
from server.domain.model.catalogue import Edition, Port, Use
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


def feeds_of(read: Reader, name: str) -> tuple[Use, ...]:
    """Uses ticked, in the order of the list."""
    chosen = read.chosen(name)
    return tuple(use for use in USES if use in chosen)


def nets_of(read: Reader, port: Port) -> Mapping[str, str]:
    """Net by cavity, for the cavities that the form showed."""
    names = {pin.cavity: f"ports.{port.id}.{pin.cavity}" for pin in port.pins}
    return {cavity: read.word(name) for cavity, name in names.items() if name in read.typed.values}
