"""Which contact takes which wire, alone or two together, and how it is crimped."""

import math
from collections.abc import Mapping, Sequence

from server.domain.model.catalogue import Catalogue, Contact, Crimp, Housing, Wire


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
    return _copper_mm2(catalogue, contact.awg_thickest)


def _copper_mm2(catalogue: Catalogue, awg: int) -> float:
    sold = [w.conductor_mm2 for w in catalogue.wires.values() if w.awg == awg]
    return max(sold) if sold else awg_area_mm2(awg)


def crimp_of(catalogue: Catalogue, contact_id: str, awg: int) -> Crimp | None:
    """How one wire of a gauge is crimped, or pressed, into a contact; ``None`` when the contact does not take it."""
    return next((c for c in catalogue.crimps if c.contact == contact_id and c.awg == awg), None)


def crimp_for_wires(catalogue: Catalogue, contact_id: str, wires: Sequence[Wire]) -> Crimp | None:
    """How one wire, or several together, are crimped into a contact.

    Args:
        catalogue: Reference data.
        contact_id: Id of the contact.
        wires: The wires that share it.

    Returns:
        For one wire the crimp of its gauge. For several the crimp of the thinnest gauge whose copper is no less than
        theirs together. ``None`` when the contact does not take them, or there are none.

    Source:
        Two conductors in one crimp are judged by their common area (common practice).
    """
    if len(wires) == 1:
        return crimp_of(catalogue, contact_id, wires[0].awg)
    area = round(sum(wire.conductor_mm2 for wire in wires), 6)
    takes = [c for c in catalogue.crimps if c.contact == contact_id and _copper_mm2(catalogue, c.awg) >= area > 0]
    return max(takes, key=lambda crimp: crimp.awg, default=None)


def strip_mm(catalogue: Catalogue, own: Mapping[str, float], contact_id: str, awg: int) -> float:
    """Length of insulation taken off a wire for a contact. [mm]

    Args:
        catalogue: Reference data.
        own: The builder's own strip lengths by contact, which go before those of the catalogue. [mm]
        contact_id: Id of the contact.
        awg: Gauge of the wire.

    Returns:
        The strip length of that gauge; that of the nearest gauge where the contact does not list it, as for the thinner
        of two wires in one crimp; 0 for insulation displacement, for a moulded plug and for an unknown contact.
    """
    crimps = [crimp for crimp in catalogue.crimps if crimp.contact == contact_id]
    contact = catalogue.contacts.get(contact_id)
    if contact is None or not crimps or catalogue.families[contact.family].termination == "displacement":
        return 0.0
    if contact_id in own:
        return own[contact_id]
    return min(crimps, key=lambda crimp: (abs(crimp.awg - awg), crimp.awg)).strip_mm


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
