"""What a supply layout of the builder's own may hold: names, sockets, nets, limits and readings."""

import re
from collections import Counter
from collections.abc import Iterator

from server.domain.errors import Problem
from server.domain.housings import cavities
from server.domain.model.catalogue import Catalogue, Port, Reading, SupplyLayout
from server.domain.output_limits import EDITION_NAMES, RAILS, READING_MOST_V, SUPPLY_NETS
from server.domain.reference import USE_NAMES

NAME_MOST = 120
NOTE_MOST = 2000
LABEL_MOST = 60
PORTS_MOST = 40
LIMIT_MOST_A = 500.0
"""A greater current is taken for a slip: no desktop supply gives it. [A]"""

_PORT_ID = re.compile(r"[A-Za-z0-9_][A-Za-z0-9_.-]{0,63}")
_CONTROL = re.compile(r"[\x00-\x1f\x7f\ufffe\uffff]")


def layout_problems(layout: SupplyLayout, catalogue: Catalogue) -> tuple[Problem, ...]:
    """Everything that keeps a layout from being saved, each with the path of its field.

    Args:
        layout: The layout as it would be saved.
        catalogue: For its housings.

    Returns:
        The problems, ports named by their ids; empty when there are none. A sheet on which no net has been recorded
        yet is fine; one that records nets must record a ground.
    """
    return (*_words(layout), *_ports(layout, catalogue), *_ground(layout), *_limits(layout), *_readings(layout))


def reading_problem(volts: float) -> str:
    """What is wrong with a voltage as a reading of a supply, in words; empty when nothing is. [V]"""
    if abs(volts) <= READING_MOST_V:
        return ""
    hint = _hint(volts)
    return f"{volts:g} V is no output of a desktop supply: write volts{hint}. If the meter says so, stop and unplug."


def _hint(volts: float) -> str:
    """The same digits with the point where an output would have it."""
    for divisor in (10, 100, 1000, 10_000):
        if abs(volts / divisor) <= 13.5:
            return f", such as {volts / divisor:.2f}"
    return ", such as 12.05"


def _words(layout: SupplyLayout) -> Iterator[Problem]:
    if not layout.name.strip():
        yield Problem("name", "give the layout a name")
    for field, text, most in (("name", layout.name, NAME_MOST), ("note", layout.note, NOTE_MOST)):
        if len(text) > most:
            yield Problem(field, f"{len(text)} characters; at most {most}")
        if _CONTROL.search(text.replace("\n", " ").replace("\t", " ") if field == "note" else text):
            yield Problem(field, "holds a character that cannot be shown")
    if layout.edition not in EDITION_NAMES:
        yield Problem("edition", f"'{layout.edition}' is no edition of the design guide")


def _ports(layout: SupplyLayout, catalogue: Catalogue) -> Iterator[Problem]:
    if len(layout.ports) > PORTS_MOST:
        yield Problem("ports", f"{len(layout.ports)} ports; at most {PORTS_MOST}")
    # Ids that differ in a sign only would be one id on a page.
    for ident, count in Counter(re.sub(r"[^A-Za-z0-9]+", "-", port.id) for port in layout.ports).items():
        if count > 1:
            yield Problem("ports", f"port id '{ident[:64]}' stands {count} times")
    for label, count in Counter(port.label.strip().casefold() for port in layout.ports).items():
        if count > 1 and label:
            yield Problem("ports", f"{count} ports are called '{label[:LABEL_MOST]}'; tell them apart")
    for port in layout.ports[:PORTS_MOST]:
        yield from _port(port, catalogue)


def _port(port: Port, catalogue: Catalogue) -> Iterator[Problem]:
    field = f"ports.{port.id}"
    if not _PORT_ID.fullmatch(port.id):
        yield Problem("ports", f"'{port.id[:64]}' is no id: letters, digits, hyphens and points, at most 64")
        return
    if not port.label.strip():
        yield Problem(f"{field}.label", "give the port the name that stands beside the socket")
    elif len(port.label) > LABEL_MOST:
        yield Problem(f"{field}.label", f"{len(port.label)} characters; at most {LABEL_MOST}")
    elif _CONTROL.search(port.label):
        yield Problem(f"{field}.label", "holds a character that cannot be shown")
    for use in port.feeds:
        if use not in USE_NAMES:
            yield Problem(f"{field}.feeds", f"'{use}' is no use of a port")
    if len(set(port.feeds)) < len(port.feeds):
        yield Problem(f"{field}.feeds", "a use stands twice")
    yield from _pins(port, catalogue)


def _pins(port: Port, catalogue: Catalogue) -> Iterator[Problem]:
    """Cavities: each of the housing's once, with a known net."""
    field = f"ports.{port.id}"
    housing = catalogue.housings.get(port.housing)
    if housing is None or housing.half != "plug":
        yield Problem(f"{field}.housing", f"no plug housing is called '{port.housing[:64]}'")
        return
    wanted = [cavity.name for cavity in cavities(housing)]
    for cavity, count in Counter(pin.cavity for pin in port.pins).items():
        if count > 1:
            yield Problem(f"{field}.pins", f"cavity {cavity[:8]} stands {count} times")
        if cavity not in wanted:
            yield Problem(f"{field}.pins", f"{housing.name} has no cavity {cavity[:8]}")
    missing = [name for name in wanted if name not in {pin.cavity for pin in port.pins}]
    if missing:
        yield Problem(f"{field}.pins", f"cavities missing: {', '.join(missing)}")
    for pin in port.pins:
        if pin.net and pin.net not in SUPPLY_NETS:
            yield Problem(f"{field}.{pin.cavity}", f"'{pin.net[:24]}' is no net of a supply")


def _ground(layout: SupplyLayout) -> Iterator[Problem]:
    nets = {pin.net for port in layout.ports for pin in port.pins} - {""}
    if nets and "COM" not in nets:
        yield Problem("ports", "no cavity carries COM: a supply without a ground feeds nothing")


def _limits(layout: SupplyLayout) -> Iterator[Problem]:
    for net, limit in layout.limits_a.items():
        if net not in RAILS:
            yield Problem(f"limits.{net[:24]}", f"'{net[:24]}' is no output with a greatest current")
        elif not 0 < limit <= LIMIT_MOST_A:
            yield Problem(f"limits.{net}", f"must be more than 0 and at most {LIMIT_MOST_A:g} A")


def _readings(layout: SupplyLayout) -> Iterator[Problem]:
    places = {(port.id, pin.cavity) for port in layout.ports for pin in port.pins}
    for place, count in Counter((reading.port, reading.cavity) for reading in layout.readings).items():
        if count > 1:
            yield Problem("readings", f"{count} readings of {place[0][:64]}, cavity {place[1][:8]}")
    for reading in layout.readings:
        yield from reading_problems(reading, places)


def reading_problems(reading: Reading, places: set[tuple[str, str]]) -> Iterator[Problem]:
    """Everything wrong with one reading; ``places`` are the ports and cavities there are."""
    field = f"readings.{reading.port}.{reading.cavity}"
    if (reading.port, reading.cavity) not in places:
        yield Problem("readings", f"there is no port {reading.port[:64]} with a cavity {reading.cavity[:8]}")
        return
    for name, volts in (("on", reading.on_v), ("standby", reading.standby_v)):
        if volts is not None and (wrong := reading_problem(volts)):
            yield Problem(f"{field}.{name}", wrong)
    if reading.settled and reading.settled not in SUPPLY_NETS:
        yield Problem(f"{field}.settled", f"'{reading.settled[:24]}' is no net of a supply")
