"""What fits what: contacts to gauges, sleeve to wire, combs to ribbons; and how much of each a run takes."""

import math
from collections.abc import Sequence

from server.domain.model.catalogue import Cap, Catalogue, Comb, Contact, Family, Housing, Sleeve, Wire

JAM_SLACK = 1e-9
"""A braid whose strands lie across has no length left; rounding must not open it further."""


def fitting_contact(catalogue: Catalogue, housing: Housing, *, awg: int, signal: bool) -> Contact | None:
    """The contact of a housing that takes one wire of a gauge.

    Args:
        catalogue: Reference data.
        housing: Housing whose cavity is filled.
        awg: Gauge of the wire; a larger number is a thinner wire.
        signal: True for a small signal cavity.

    Returns:
        The contact with the narrowest range that takes the gauge, file order breaking ties; ``None`` when none does.
    """
    takes = [
        contact
        for contact in catalogue.contacts.values()
        if contact.family == housing.family
        and contact.gender == housing.gender
        and contact.signal == signal
        and contact.awg_thickest <= awg <= contact.awg_thinnest
    ]
    return min(takes, key=lambda c: c.awg_thinnest - c.awg_thickest, default=None)


def shared_contact(catalogue: Catalogue, housing: Housing, wires: Sequence[Wire], *, signal: bool) -> Contact | None:
    """The contact for several wires crimped together.

    Args:
        catalogue: Reference data.
        housing: Housing whose cavity is filled.
        wires: The wires, at least one.
        signal: True for a small signal cavity.

    Returns:
        The smallest contact that takes their copper together, or the largest there is when none does; ``None`` when the
        housing has no contact for the thickest of them.

    Source:
        Two conductors in one crimp are judged by their common area (common practice).
    """
    thickest = min((wire.awg for wire in wires), default=0)
    takes = [
        contact
        for contact in catalogue.contacts.values()
        if contact.family == housing.family
        and contact.gender == housing.gender
        and contact.signal == signal
        and contact.awg_thickest <= thickest
    ]
    area = round(sum(wire.conductor_mm2 for wire in wires), 6)
    takes.sort(key=lambda contact: -contact.awg_thickest)
    large = [contact for contact in takes if conductor_limit_mm2(contact, catalogue) >= area]
    return large[0] if large else takes[-1] if takes else None


def thinner_awg(catalogue: Catalogue, housing: Housing, *, awg: int, insulation: str) -> int | None:
    """The thickest gauge that shares a contact with one wire of ``awg``; ``None`` when no listed wire is thin enough.

    Args:
        catalogue: Reference data.
        housing: Housing whose contact is shared.
        awg: Gauge of the wire that stays as it is.
        insulation: Insulation of both wires.
    """
    first = wire_of(catalogue, awg, insulation)
    thinner = sorted(w.awg for w in catalogue.wires.values() if w.insulation == insulation and w.awg > awg)
    for candidate in thinner:
        second = wire_of(catalogue, candidate, insulation)
        if first is None or second is None:
            continue
        contact = shared_contact(catalogue, housing, (first, second), signal=False)
        if contact is not None and two_fit(contact, (first, second), catalogue):
            return candidate
    return None


def two_fit(contact: Contact, wires: Sequence[Wire], catalogue: Catalogue) -> bool:
    """True when a contact takes the copper and the insulation of all of these wires together.

    Source:
        Copper: common area against that of the thickest gauge the contact takes. Insulation: the round of equal area
        against the greatest diameter that the grip takes. Both common practice.
    """
    copper = round(sum(wire.conductor_mm2 for wire in wires), 6)
    return (
        len(wires) <= contact.wires_max
        and copper <= conductor_limit_mm2(contact, catalogue)
        and together_mm(wires) <= contact.insulation_max_mm
    )


def together_mm(wires: Sequence[Wire]) -> float:
    """Diameter of the round that has the area of these wires, insulation included. [mm]"""
    return math.sqrt(sum(wire.outside_mm**2 for wire in wires))


def gauges_taken(catalogue: Catalogue, housing: Housing, *, signal: bool) -> tuple[int, int] | None:
    """Thickest and thinnest gauge that any contact of a housing takes; ``None`` when it has no contacts."""
    found = [
        c
        for c in catalogue.contacts.values()
        if c.family == housing.family and c.gender == housing.gender and c.signal == signal
    ]
    if not found:
        return None
    return min(c.awg_thickest for c in found), max(c.awg_thinnest for c in found)


def insulation_fits(contact: Contact, wire: Wire) -> bool:
    """True when the contact's insulation grip takes the wire's outside diameter."""
    return contact.insulation_min_mm <= wire.outside_mm <= contact.insulation_max_mm


def conductor_limit_mm2(contact: Contact, catalogue: Catalogue) -> float:
    """Copper area of the thickest gauge a contact takes, the measure for two wires in it. [mm2]

    Source:
        Two conductors in one crimp are judged by their common area (common practice). Where the catalogue sells no wire
        of that gauge, the area follows from the ASTM B258 diameter.
    """
    sold = [w.conductor_mm2 for w in catalogue.wires.values() if w.awg == contact.awg_thickest]
    return max(sold) if sold else awg_area_mm2(contact.awg_thickest)


def awg_area_mm2(awg: int) -> float:
    """Copper area of a solid round wire. [mm2]

    Args:
        awg: Gauge number, 0 to 40.

    Raises:
        ValueError: the gauge lies outside that range.

    Source:
        ASTM B258: d = 0.127 mm x 92^((36 - n) / 39).

    Example:
        >>> round(awg_area_mm2(18), 3)
        0.823
    """
    if not 0 <= awg <= 40:
        raise ValueError(f"AWG {awg} lies outside 0 to 40")
    diameter_mm = 0.127 * float(92 ** ((36 - awg) / 39))
    return math.pi * diameter_mm**2 / 4


def wire_of(catalogue: Catalogue, awg: int, insulation: str) -> Wire | None:
    """The wire of one gauge and insulation, or ``None``."""
    return next((w for w in catalogue.wires.values() if w.awg == awg and w.insulation == insulation), None)


def braid_factor(sleeve: Sleeve, wire_mm: float) -> float:
    """Relaxed length of braid that covers one unit of wire.

    Args:
        sleeve: Braid by its relaxed diameter and angle.
        wire_mm: Diameter that it is drawn over. [mm]

    Returns:
        ``cos a0 / cos a1``, with ``sin a1 = (D1 / D0) sin a0``; 1 where the braid hangs loose. [1]

    Raises:
        ValueError: the braid cannot open that far.

    Source:
        Biaxial braid of inextensible filaments: filament length is kept.
    """
    if wire_mm <= sleeve.relaxed_mm:
        return 1.0
    relaxed = math.radians(sleeve.braid_angle_deg)
    sine = wire_mm / sleeve.relaxed_mm * math.sin(relaxed)
    if wire_mm > sleeve.greatest_mm or sine > 1 - JAM_SLACK:
        raise ValueError(f"{sleeve.name} does not open to {wire_mm} mm")
    return math.cos(relaxed) / math.cos(math.asin(sine))


def sleeve_cut_mm(sleeve: Sleeve, wire_mm: float, covered_mm: float) -> int:
    """Relaxed length of sleeve cut for one stretch, in whole millimetres. [mm]

    Args:
        sleeve: The braid.
        wire_mm: Diameter that it is drawn over. [mm]
        covered_mm: Length to cover. [mm]

    Raises:
        ValueError: the braid cannot open that far.
    """
    return math.ceil(round(covered_mm * braid_factor(sleeve, wire_mm), 6))


def comb_for(catalogue: Catalogue, wires: int) -> Comb | None:
    """The smallest comb that holds so many wires, file order breaking ties; ``None`` for fewer than two or too many."""
    if wires < 2:
        return None
    return min((c for c in catalogue.combs.values() if c.ways >= wires), key=lambda c: c.ways, default=None)


def comb_positions_mm(length_mm: float, spacing_mm: float) -> tuple[int, ...]:
    """Where combs sit on the visible half of a run, measured from the part plug.

    Args:
        length_mm: Length of the run. [mm]
        spacing_mm: Stretch of visible ribbon that one comb holds. [mm]

    Returns:
        One position for each started stretch of the visible half, in the middle of its share of it. [mm]

    Source:
        Half the run is visible, one comb per 100 mm of it (common practice).

    Example:
        >>> comb_positions_mm(540, 100)
        (45, 135, 225)
    """
    visible = length_mm / 2
    count = math.ceil(round(visible / spacing_mm, 6))
    return tuple(round((i + 0.5) * visible / count) for i in range(count))


def cap_for(catalogue: Catalogue, family: Family, *, last: bool) -> Cap | None:
    """The cap of an insulation-displacement plug: a through cap on all but the last, an end cap on the last."""
    wanted = "end" if last else "through"
    return next((c for c in catalogue.caps.values() if c.family == family.id and c.position == wanted), None)
