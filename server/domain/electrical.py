"""Whether the contacts carry what the part may draw, and what the wires lose on the way."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from server.domain.model.catalogue import Catalogue, Rating
from server.domain.reference import COPPER_RESISTIVITY_OHM_MM2_PER_M

DROP_SHARE: Final = 0.03
"""Share of a net's voltage that the wires of one run may lose, out and back together. Source: common practice."""

SUPPLY_NODE: Final = -1
"""The end that gives, in a network of wires; part plugs count from 0."""

_PIVOT_LEAST: Final = 1e-12


@dataclass(frozen=True, slots=True)
class Branch:
    """One wire, or the stretch of it between two plugs, as a resistor."""

    start: int
    """``SUPPLY_NODE`` or the index of a part plug."""
    end: int
    ohm: float
    """More than 0. [ohm]"""


@dataclass(frozen=True, slots=True)
class ContactLoad:
    """Current of the busiest contact of one net in one plug, against its rating."""

    net: str
    current_a: float
    rated_a: float
    rating: Rating

    @property
    def excess_percent(self) -> float:
        """How far the current lies above the rating; negative below it. [%]"""
        return (self.current_a / self.rated_a - 1) * 100


def rating_for(catalogue: Catalogue, family: str, *, awg: int, loaded: int, signal: bool) -> Rating | None:
    """Rating of one contact.

    Args:
        catalogue: Reference data.
        family: Connector family id.
        awg: Gauge of the wire in it.
        loaded: Circuits of the housing that carry current, at least 1.
        signal: True for a small signal contact.

    Returns:
        The rating of the same gauge, or of the next thinner one that is listed, which is the careful side; ``None``
        when the family lists none.
    """
    fitting = [
        r
        for r in catalogue.ratings
        if r.family == family and r.signal == signal and r.awg >= awg and r.loaded_from <= loaded <= r.loaded_to
    ]
    return min(fitting, key=lambda r: r.awg, default=None)


def contact_loads(
    catalogue: Catalogue,
    family: str,
    *,
    load_a: Mapping[str, float],
    wires: Mapping[str, int],
    contacts: Mapping[str, tuple[int, ...]],
    awg_by_net: Mapping[str, int],
) -> tuple[ContactLoad, ...]:
    """Current of the busiest contact of each net in one plug.

    Equal wires share a net's current equally; a contact with two of them carries twice the share.

    Args:
        catalogue: Reference data.
        family: Connector family of the plug.
        load_a: Current that passes, by net, over all plugs at this end. [A]
        wires: Current-carrying wires of each net, over all plugs at this end.
        contacts: For each net, how many of those wires each contact of this plug holds.
        awg_by_net: Thinnest gauge used for the net.

    Returns:
        One entry per net that has a load, a wire in this plug and a rating, in the order of ``load_a``.

    Source:
        Kirchhoff's current law with equal resistances; ratings as each rating's own source says.
    """
    loaded = sum(1 for held in contacts.values() for count in held if count)
    found = []
    for net, current in load_a.items():
        held = contacts.get(net, ())
        if not any(held):
            continue
        rating = rating_for(catalogue, family, awg=awg_by_net[net], loaded=loaded, signal=False)
        if rating is not None:
            found.append(ContactLoad(net, current * max(held) / wires[net], rating.current_a, rating))
    return tuple(found)


def copper_ohm_per_km(area_mm2: float) -> float:
    """Resistance of annealed copper at 20 C. [ohm/km]

    Args:
        area_mm2: Copper area. [mm2], more than 0

    Raises:
        ValueError: the area is not more than 0.

    Source:
        R = rho l / A with the resistivity of IEC 60028.

    Example:
        >>> round(copper_ohm_per_km(0.823), 2)
        20.95
    """
    if not area_mm2 > 0:
        raise ValueError(f"a conductor has more than 0 mm2 of copper, not {area_mm2}")
    return COPPER_RESISTIVITY_OHM_MM2_PER_M / area_mm2 * 1000


def wire_ohm(ohm_per_km: float, length_mm: float) -> float:
    """Resistance of one wire. [ohm]

    Args:
        ohm_per_km: Resistance by length. [ohm/km], more than 0
        length_mm: Length from contact to contact. [mm], 0 or more

    Raises:
        ValueError: a value lies outside its stated range.

    Example:
        >>> round(wire_ohm(20.95, 600), 5)
        0.01257
    """
    if not ohm_per_km > 0 or not length_mm >= 0:
        raise ValueError("a wire has a resistance of more than 0 and a length of 0 or more")
    return ohm_per_km * length_mm / 1e6


def drops_v(branches: Sequence[Branch], load_a: Mapping[int, float]) -> dict[int, float]:
    """How far the voltage at each part plug lies below that of the supply. [V]

    Contacts of one net in one plug are joined by the part, or by the supply, behind the plug, so that a plug is one
    node; wires in parallel share by their conductances, and the first stretch of a chain carries the sum.

    Args:
        branches: Wires of one net, stretch by stretch.
        load_a: Current drawn at each part plug; plugs without an entry draw nothing. [A]

    Returns:
        The drop by part plug, in ascending order; for a return net, how far it lies above the supply's.

    Raises:
        ValueError: a resistance is not more than 0, or no wire leads from the supply to a plug.

    Source:
        Nodal analysis: Kirchhoff's current law at every plug, with conductances.

    Example:
        >>> {plug: round(drop, 3) for plug, drop in drops_v([Branch(SUPPLY_NODE, 0, 0.01)], {0: 6}).items()}
        {0: 0.06}
    """
    if not all(branch.ohm > 0 for branch in branches):
        raise ValueError("every wire has a resistance of more than 0")
    nodes = sorted({node for branch in branches for node in (branch.start, branch.end)} | load_a.keys())
    nodes = [node for node in nodes if node != SUPPLY_NODE]
    place = {node: i for i, node in enumerate(nodes)}
    matrix = [[0.0] * len(nodes) for _ in nodes]
    for branch in branches:
        ends = [place[node] for node in (branch.start, branch.end) if node != SUPPLY_NODE]
        for one in ends:
            matrix[one][one] += 1 / branch.ohm
        if len(ends) == 2:
            # A bridge from a plug to itself adds as much as it takes away.
            matrix[ends[0]][ends[1]] -= 1 / branch.ohm
            matrix[ends[1]][ends[0]] -= 1 / branch.ohm
    found = _solved(matrix, [load_a.get(node, 0.0) for node in nodes])
    return dict(zip(nodes, found, strict=True))


def loss_w(branches: Sequence[Branch], drops: Mapping[int, float]) -> float:
    """Power that the wires of one net turn into heat. [W]

    Args:
        branches: Wires of one net, stretch by stretch.
        drops: What ``drops_v`` answered for them. [V]

    Source:
        P = U^2 / R for every stretch.
    """
    held = {**drops, SUPPLY_NODE: 0.0}
    return sum((held[branch.end] - held[branch.start]) ** 2 / branch.ohm for branch in branches)


def net_volts(net: str) -> float | None:
    """Nominal voltage of a net by its name; ``None`` for a return, a signal or a sense line. [V]

    Example:
        >>> net_volts("+3.3V"), net_volts("+5VSB"), net_volts("USB_5V_1"), net_volts("COM")
        (3.3, 5.0, 5.0, None)
    """
    found = re.search(r"(\d+(?:\.\d+)?)V", net)
    return float(found[1]) if found and not net.endswith("_SENSE") else None


def _solved(matrix: list[list[float]], right: list[float]) -> list[float]:
    """Unknowns of a symmetric set of equations, by elimination; conductances need no exchange of rows."""
    rows = [[*row, value] for row, value in zip(matrix, right, strict=True)]
    size = len(rows)
    for i in range(size):
        if rows[i][i] <= _PIVOT_LEAST * max(1.0, matrix[i][i]):
            raise ValueError("no wire leads from the supply to a plug")
        for below in rows[i + 1 :]:
            factor = below[i] / rows[i][i]
            for column in range(i, size + 1):
                below[column] -= factor * rows[i][column]
    found = [0.0] * size
    for i in reversed(range(size)):
        rest = sum(rows[i][column] * found[column] for column in range(i + 1, size))
        found[i] = (rows[i][size] - rest) / rows[i][i]
    return found
