"""Changes to a supply layout of the builder's own, each as a pure step from one layout to the next."""

import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field, replace

from server.domain.errors import InvalidInputError, NotFoundError, Problem
from server.domain.housings import cavities
from server.domain.model.catalogue import Catalogue, Edition, Port, PortPin, SupplyLayout, Use


@dataclass(frozen=True, slots=True)
class Facts:
    """What is known of the supply as a whole."""

    name: str
    note: str
    edition: Edition
    limits_a: Mapping[str, float]
    """Greatest current by net, from the supply's label. [A]"""


@dataclass(frozen=True, slots=True)
class PortEntry:
    """What is written down about one port; what is not given stays."""

    label: str | None = None
    feeds: tuple[Use, ...] | None = None
    nets: Mapping[str, str] = field(default_factory=dict)
    """By cavity."""


@dataclass(frozen=True, slots=True)
class NewPort:
    """A port to be added, with every cavity not connected yet."""

    label: str
    housing: str
    feeds: tuple[Use, ...] = ()


def with_facts(layout: SupplyLayout, facts: Facts) -> SupplyLayout:
    """The layout with other facts."""
    limits = dict(sorted(facts.limits_a.items()))
    return replace(layout, name=facts.name.strip(), note=facts.note.strip(), edition=facts.edition, limits_a=limits)


def with_port(layout: SupplyLayout, port_id: str, entry: PortEntry) -> SupplyLayout:
    """The layout with another name, other uses or other nets of one port.

    Raises:
        NotFoundError: it has no such port.
    """
    port = port_of(layout, port_id)
    changed = replace(
        port,
        label=port.label if entry.label is None else entry.label.strip(),
        feeds=port.feeds if entry.feeds is None else entry.feeds,
        pins=tuple(PortPin(pin.cavity, entry.nets.get(pin.cavity, pin.net)) for pin in port.pins),
    )
    return replace(layout, ports=tuple(changed if each.id == port_id else each for each in layout.ports))


def with_new_port(layout: SupplyLayout, catalogue: Catalogue, new: NewPort, taken: Collection[str]) -> SupplyLayout:
    """The layout with one more port behind the others.

    Args:
        layout: The layout.
        catalogue: For its housings.
        new: The port to add.
        taken: Ids that ports of earlier versions have had; the new port gets none of them.

    Raises:
        InvalidInputError: no plug housing is called so.
    """
    shell = catalogue.housings.get(new.housing)
    if shell is None or shell.half != "plug":
        raise InvalidInputError((Problem("housing", "pick a housing of the list"),))
    pins = tuple(PortPin(cavity.name, "") for cavity in cavities(shell))
    ident = _free_id(new.label, {*taken, *(port.id for port in layout.ports)})
    return replace(layout, ports=(*layout.ports, Port(ident, new.label.strip(), new.housing, new.feeds, pins)))


def without_port(layout: SupplyLayout, port_id: str) -> SupplyLayout:
    """The layout without one port.

    Raises:
        NotFoundError: it has no such port.
    """
    port_of(layout, port_id)
    return replace(layout, ports=tuple(port for port in layout.ports if port.id != port_id))


def port_of(layout: SupplyLayout, port_id: str) -> Port:
    """A port by its id.

    Raises:
        NotFoundError: the layout has no such port.
    """
    for port in layout.ports:
        if port.id == port_id:
            return port
    raise NotFoundError(f"the layout has no port {port_id[:64]}")


def _free_id(label: str, taken: set[str]) -> str:
    """An id for a new port: the first letter of its label and a number that no port of this layout has ever had."""
    letters = re.sub(r"[^A-Za-z]", "", label)[:1].upper() or "X"
    number = 1
    while f"{letters}{number}" in taken:
        number += 1
    return f"{letters}{number}"
