"""What would suit a run instead: gauges and insulations that every plug of it takes."""

from server.domain.housings import signal_cavities
from server.domain.materials.contacts import fitting_contact, insulation_fits, shared_contact, two_fit, wire_of
from server.domain.model.catalogue import Catalogue, Housing, Insulation, Wire
from server.domain.plan.checks.told import ends_of
from server.domain.plan.runs import PlannedRun

INSULATION_WORDS: dict[Insulation, str] = {
    "plain": "plain",
    "high_temperature": "high-temperature",
    "clear": "clear",
}


def suited_gauges(planned: PlannedRun, catalogue: Catalogue, insulation: str) -> tuple[int, ...]:
    """Listed gauges of an insulation that every power contact of a run takes and grips, thickest first.

    Args:
        planned: The run with its wires.
        catalogue: Reference data.
        insulation: Insulation of the wire.
    """
    housings: dict[str, Housing] = {}
    for wire in planned.plan.wires:
        for end, plug in ends_of(planned, wire):
            if end.crimped and end.cavity not in signal_cavities(plug.housing):
                housings[plug.housing.id] = plug.housing
    listed = sorted(wire.awg for wire in catalogue.wires.values() if wire.insulation == insulation)
    return tuple(awg for awg in listed if all(_takes(h, awg, insulation, catalogue) for h in housings.values()))


def _takes(housing: Housing, awg: int, insulation: str, catalogue: Catalogue) -> bool:
    contact = fitting_contact(catalogue, housing, awg=awg, signal=False)
    wire = wire_of(catalogue, awg, insulation)
    return contact is not None and wire is not None and insulation_fits(contact, wire)


def nearest(wanted: int, gauges: tuple[int, ...]) -> int | None:
    """The gauge nearest to another, the thicker of two equally near; ``None`` when there is none."""
    return min(gauges, key=lambda awg: (abs(awg - wanted), awg), default=None)


def thinner_together(
    planned: PlannedRun, housing: Housing, together: list[Wire], catalogue: Catalogue
) -> tuple[int, list[Wire]] | None:
    """A thinner gauge for a run with which the wires of one contact fit it, and what is then in it.

    Args:
        planned: The run.
        housing: Housing of the contact.
        together: Wires that share it; those of the run's own gauge would change.
        catalogue: Reference data.
    """
    style = planned.resolved.style
    for awg in suited_gauges(planned, catalogue, style.insulation):
        stock = wire_of(catalogue, awg, style.insulation)
        if awg <= style.awg or stock is None:
            continue
        changed = [stock if wire.awg == style.awg else wire for wire in together]
        contact = shared_contact(catalogue, housing, changed, signal=False)
        if contact is not None and two_fit(contact, changed, catalogue):
            return awg, changed
    return None
