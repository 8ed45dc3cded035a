"""Whether the contacts carry what the part may draw."""

from collections.abc import Mapping
from dataclasses import dataclass

from server.domain.model.catalogue import Catalogue, Rating


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
