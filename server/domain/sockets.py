"""Which housing and which nets a plug of a run meets: ports of the supply and sockets of parts, told alike."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from server.domain.model.build import SUPPLY, Build, PlugRef
from server.domain.model.catalogue import Catalogue, Family, Housing, Pin, Pinout, Role, SupplyLayout, Use


@dataclass(frozen=True, slots=True)
class SocketFacts:
    """One socket as a cable sees it."""

    part: str
    socket: str
    place: str
    """Name of the part, or of the supply layout."""
    label: str
    role: Role
    uses: tuple[Use, ...]
    housing: Housing
    """Housing that the cable end needs."""
    family: Family
    nets: Mapping[str, str]
    """Net by cavity; empty when not connected."""
    functions: Mapping[str, str]
    pinout: Pinout | None
    """``None`` for a port of the supply."""

    @property
    def carried(self) -> frozenset[str]:
        """Nets that its cavities carry."""
        return frozenset(net for net in self.nets.values() if net)

    @property
    def rewired(self) -> bool:
        """False for a cable that is sleeved but never rewired."""
        return self.pinout is None or self.pinout.rewired

    def wanted_pins(self, optional: tuple[str, ...] = ()) -> tuple[Pin, ...]:
        """Cavities that get a wire: the required ones, and those optional ones that the builder chose."""
        pins = self.pinout.pins if self.pinout else ()
        return tuple(p for p in pins if p.need == "required" or (p.need == "optional" and p.cavity in optional))


def layout_of(build: Build, catalogue: Catalogue) -> SupplyLayout | None:
    """The supply layout of a build, at the version it was planned with.

    Args:
        build: The build.
        catalogue: Reference data, the builder's own layouts included.

    Returns:
        The layout; the newest version where the wanted one is not known; ``None`` when none is chosen or known.
    """
    wanted = catalogue.earlier.get((build.supply, build.supply_version))
    return wanted or catalogue.supplies.get(build.supply)


def every_socket(build: Build, catalogue: Catalogue) -> dict[tuple[str, str], SocketFacts]:
    """All ports and part sockets of a build, keyed by (part, socket), the supply's first.

    Args:
        build: The build; sockets whose pinout or layout the catalogue lacks are left out.
        catalogue: Reference data.

    Returns:
        Facts in the order of the layout and of the parts.
    """
    return {(facts.part, facts.socket): facts for facts in _all(build, catalogue)}


def _all(build: Build, catalogue: Catalogue) -> Iterator[SocketFacts]:
    layout = layout_of(build, catalogue)
    if layout is not None:
        for port in layout.ports:
            nets = {pin.cavity: pin.net for pin in port.pins}
            housing = catalogue.housings[port.housing]
            family = catalogue.families[housing.family]
            yield SocketFacts(
                SUPPLY, port.id, layout.name, port.label, "outlet", port.feeds, housing, family, nets, nets, None
            )
    for part in build.parts:
        for socket in part.sockets:
            pinout = catalogue.pinouts.get(socket.pinout)
            if pinout is None:
                continue
            nets = {pin.cavity: "" if pin.need == "not_connected" else pin.net for pin in pinout.pins}
            functions = {pin.cavity: pin.function for pin in pinout.pins}
            housing = catalogue.housings[pinout.housing]
            family = catalogue.families[housing.family]
            alike = sum(other.pinout == socket.pinout for other in part.sockets) > 1
            label, uses = f"{pinout.name} ({socket.id})" if alike else pinout.name, (pinout.use,)
            yield SocketFacts(
                part.id, socket.id, part.name, label, pinout.role, uses, housing, family, nets, functions, pinout
            )


def key(ref: PlugRef) -> tuple[str, str]:
    """Key of a plug's socket in ``every_socket``."""
    return ref.part, ref.socket
