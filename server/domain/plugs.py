"""A socket as the wiring sees it: the plug that gives, the plug that takes."""

from collections.abc import Mapping

from server.domain.sockets import SocketFacts
from server.domain.wiring import Demand, PartPlug, SourcePlug


def source_plug(facts: SocketFacts, forbidden: frozenset[str] = frozenset()) -> SourcePlug:
    """The plug of a port or header, with what each cavity carries; a forbidden cavity counts as not connected."""
    nets = tuple((cavity, "" if cavity in forbidden else net) for cavity, net in facts.nets.items())
    return SourcePlug(facts.housing, nets, facts.family.pitch_mm)


def part_plug(
    facts: SocketFacts, optional: tuple[str, ...] = (), pinned: Mapping[str, tuple[int, str]] | None = None
) -> PartPlug:
    """The plug of an inlet, with the cavities that get a wire.

    Args:
        facts: An inlet.
        optional: Optional cavities that the builder wants wired.
        pinned: Source plug (index) and cavity chosen by hand, by part cavity.
    """
    chosen = pinned or {}
    demands = tuple(
        Demand(pin.cavity, pin.accepts, pin.carries_current, pin.sensed_by, chosen.get(pin.cavity))
        for pin in facts.wanted_pins(optional)
    )
    return PartPlug(facts.housing, demands, facts.family.pitch_mm)
