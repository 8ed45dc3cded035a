"""A socket as the wiring sees it: the plug that gives, the plug that takes."""

from server.domain.sockets import SocketFacts
from server.domain.wiring import Demand, PartPlug, SourcePlug


def source_plug(facts: SocketFacts) -> SourcePlug:
    """The plug of a port or header, with what each cavity carries."""
    return SourcePlug(facts.housing, tuple(facts.nets.items()), facts.family.pitch_mm)


def part_plug(facts: SocketFacts, optional: tuple[str, ...] = ()) -> PartPlug:
    """The plug of an inlet, with the cavities that get a wire.

    Args:
        facts: An inlet.
        optional: Optional cavities that the builder wants wired.
    """
    demands = tuple(
        Demand(pin.cavity, pin.accepts, pin.carries_current, pin.sensed_by) for pin in facts.wanted_pins(optional)
    )
    return PartPlug(facts.housing, demands, facts.family.pitch_mm)
