"""Small layouts of one's own to meter."""

from server.domain.model.catalogue import Edition, Port, PortPin, Reading, SupplyLayout


def port(*nets: str, ident: str = "M1", label: str = "Main", housing: str = "p42-4-plug") -> Port:
    """A port whose cavities 1, 2, 3 ... carry these nets."""
    pins = tuple(PortPin(str(number), net) for number, net in enumerate(nets, start=1))
    return Port(ident, label, housing, ("main",), pins)


def layout(*ports: Port, readings: tuple[Reading, ...] = (), edition: Edition = "strict") -> SupplyLayout:
    """An own layout of these ports."""
    return SupplyLayout("own-1", "Bench supply", "", "", ports, own=True, readings=readings, edition=edition)


def reading(
    cavity: str = "1",
    on: float | None = None,
    standby: float | None = None,
    ground: bool | None = None,
    settled: str = "",
) -> Reading:
    """A reading at the main port."""
    return Reading("M1", cavity, on, standby, ground, settled)
