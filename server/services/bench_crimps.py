"""The crimps of a run, each a task of its own: two wires in one contact are crimped together, in one go."""

from collections.abc import Mapping
from dataclasses import dataclass

from server.domain.model.bench import Done, Piece, WireSide
from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import CrimpUse, PlannedWire, RunPlan, WireEnd
from server.domain.plan.wiring import wiring_of
from server.domain.reference import BUNDLED_USES


@dataclass(frozen=True, slots=True)
class CrimpWork:
    """One contact that is crimped, and every wire end in it."""

    ends: tuple[tuple[PlannedWire, WireSide], ...]
    """In ribbon order; two where they share the contact."""
    at_end: bool
    """Whether ``plug`` is one of the part plugs."""
    plug: int
    cavity: str
    contact: str
    use: CrimpUse | None
    """Strip length and die; ``None`` where none is listed."""

    @property
    def id(self) -> str:
        """Id of its task: the first of its wires and the end of it."""
        wire, side = self.ends[0]
        return f"crimp/{wire.id}/{side}"


def is_pressed(end: WireEnd, catalogue: Catalogue) -> bool:
    """Whether a wire is pressed onto a blade there, instead of being crimped.

    Args:
        end: An end or a tap of a wire.
        catalogue: Reference data with contacts.
    """
    contact = catalogue.contacts.get(end.contact)
    return contact is not None and contact.gender == "blade"


def pressed_plugs(run: RunPlan, catalogue: Catalogue) -> frozenset[int]:
    """Part plugs of a run that are pressed onto its wires.

    Args:
        run: The planned run.
        catalogue: Reference data with contacts.
    """
    ends = (end for wire in run.wires for end in (*wire.taps, wire.target))
    return frozenset(end.plug for end in ends if is_pressed(end, catalogue))


def sides_of(wire: PlannedWire, catalogue: Catalogue) -> tuple[WireSide, ...]:
    """Ends of a wire that the builder crimps; a blade is pressed, and a splice or the supply's own end is neither.

    Args:
        wire: The wire.
        catalogue: Reference data with contacts.
    """
    ends: tuple[tuple[WireSide, WireEnd], ...] = (("part", wire.target), ("source", wire.source))
    return tuple(side for side, end in ends if end.contact and end.crimped and not is_pressed(end, catalogue))


def crimps_of(run: RunPlan, catalogue: Catalogue) -> tuple[CrimpWork, ...]:
    """Every contact of a run that is crimped, in ribbon order: the end that is crimped first, then the other.

    Args:
        run: The planned run.
        catalogue: Reference data.
    """
    inside: dict[tuple[bool, int, str, str], list[tuple[PlannedWire, WireSide]]] = {}
    for side in first_and_second(run, catalogue):
        for wire in run.wires:
            if side in sides_of(wire, catalogue):
                at_end, end = end_of(wire, side)
                inside.setdefault((at_end, end.plug, end.cavity, end.contact), []).append((wire, side))
    uses = {(use.contact, use.gauges): use for use in run.crimps}
    return tuple(
        CrimpWork(tuple(ends), *where, uses.get((where[3], tuple(sorted(wire.awg for wire, _ in ends)))))
        for where, ends in inside.items()
    )


def end_of(wire: PlannedWire, side: WireSide) -> tuple[bool, WireEnd]:
    """An end of a wire, and whether its plug is one of the part plugs.

    Args:
        wire: The wire.
        side: ``part`` or ``source``.
    """
    return (True, wire.target) if side == "part" else (wire.source_at_end, wire.source)


def first_and_second(run: RunPlan, catalogue: Catalogue) -> tuple[WireSide, WireSide]:
    """Which end of a run is crimped first: the source end where marks for pressed plugs are measured from it."""
    return ("source", "part") if pressed_plugs(run, catalogue) else ("part", "source")


def crimp_entry(run: RunPlan, wire: PlannedWire, side: WireSide, piece: Piece, catalogue: Catalogue) -> Done | None:
    """The entry for one end of a wire that was crimped; ``None`` where that is written already.

    Args:
        run: The run of the wire.
        wire: The wire.
        side: The end.
        piece: The piece that was cut for it.
        catalogue: Reference data with contacts.
    """
    if "crimped" in piece.stages or side in piece.crimped_ends:
        return None
    left = set(sides_of(wire, catalogue)) - {*piece.crimped_ends, side}
    return Done(piece.id, "crimped", wiring_of(run, wire), end=side, more=bool(left))


def in_one_sleeve(run: RunPlan) -> bool:
    """Whether one sleeve is drawn over all wires of a run, instead of one over each.

    Args:
        run: The planned run.
    """
    return run.use in BUNDLED_USES and len(run.wires) > 1 and any(wire.sleeve_colour for wire in run.wires)


def wires_of(runs: tuple[RunPlan, ...]) -> Mapping[str, tuple[RunPlan, PlannedWire]]:
    """Every wire of some runs by its id, with its run."""
    return {wire.id: (run, wire) for run in runs for wire in run.wires}
