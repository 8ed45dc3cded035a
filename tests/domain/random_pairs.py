"""Layouts and inlets at random, made fast: one supply that nobody sells, one or a few parts, one run to them.

Seeded numbers instead of hypothesis, because ten thousand plans are wanted in well under a minute. Nets are dealt over
the cavities of one to three ports so that every wanted net is carried, often by few contacts, often by more than
enough, with idle cavities and remote-sense lines between.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from random import Random

from server.domain.model.build import SUPPLY, Branching, Build, Part, PlugRef, Route, Run, Socket
from server.domain.model.catalogue import Catalogue, Pin, Pinout, Port, PortPin, SupplyLayout
from server.domain.output_limits import SUPPLY_NETS
from tests.domain.scenes import INVENTED, with_layout

CHAINED = {"sata-15": 4, "peripheral-4": 4}
"""Inlets that are chained, and how many at most."""
SENSES = ("+12V_SENSE", "+5V_SENSE", "+3.3V_SENSE", "COM_SENSE")
STRAY = ("+12V", "COM", "+5V", "-12V", "+5VSB", "")


def pairs(catalogue: Catalogue, count: int, seed: int) -> Iterator[tuple[Build, Catalogue]]:
    """So many builds of one run each, with the catalogue that holds the layout made for it."""
    rng = Random(seed)
    inlets = [p for p in catalogue.pinouts.values() if p.role == "inlet" and p.rewired]
    for _ in range(count):
        yield pair(catalogue, rng.choice(inlets), rng)


def pair(catalogue: Catalogue, inlet: Pinout, rng: Random) -> tuple[Build, Catalogue]:
    """A build of one run to one inlet, or to a chain of them, from ports or headers of its own.

    Nets that no supply has (signals of fans, lights, panels) come from a part with headers instead. Sense lines in
    chains have a test of their own.
    """
    plugs = rng.randint(1, CHAINED[inlet.id]) if inlet.id in CHAINED else 1
    optional = tuple(p.cavity for p in inlet.pins if p.need == "optional" and rng.random() < 0.5)
    nets = _nets(inlet, optional, rng)
    nets += [net for net in rng.sample(SENSES, 1) if plugs == 1 and rng.random() < 0.15]
    return pair_of(catalogue, [inlet] * plugs, _ports(catalogue, inlet, nets, rng), optional, rng)


def forks(catalogue: Catalogue, count: int, seed: int) -> Iterator[tuple[Build, Catalogue]]:
    """So many builds of one run that forks to two or three inlets, alike or not, some with a remote-sense line."""
    rng = Random(seed)
    inlets = [p for p in catalogue.pinouts.values() if p.role == "inlet" and p.rewired]
    for _ in range(count):
        first = rng.choice(inlets)
        others = [p for p in inlets if p.use == first.use] if rng.random() < 0.7 else inlets
        ends = [first, *(rng.choice(others) for _ in range(rng.randint(1, 2)))]
        chosen = {p.cavity for end in ends for p in end.pins if p.need == "optional" and rng.random() < 0.3}
        optional = tuple(sorted(chosen))
        nets = [net for end in ends for net in _nets(end, optional, rng)]
        nets += [net for net in rng.sample(SENSES, 1) if rng.random() < 0.3]
        yield pair_of(catalogue, ends, _ports(catalogue, first, nets, rng), optional, rng, branching="fork")


def mixed_chain(catalogue: Catalogue, seed: int) -> tuple[Build, Catalogue]:
    """A chain of two to four plugs, pressed and crimped ones in any order."""
    rng = Random(seed)
    ends = [catalogue.pinouts[rng.choice(sorted(CHAINED))] for _ in range(rng.randint(2, 4))]
    nets = [net for end in ends[:2] for net in _nets(end, (), rng)]
    return pair_of(catalogue, ends, _ports(catalogue, ends[0], nets, rng), (), rng)


def pair_of(
    catalogue: Catalogue,
    inlets: Sequence[Pinout],
    ports: tuple[Port, ...],
    optional: tuple[str, ...],
    rng: Random,
    *,
    branching: Branching = "chain",
) -> tuple[Build, Catalogue]:
    """A build of one run from these ports to parts with these inlets."""
    known = with_layout(catalogue, SupplyLayout("pair", "Layout of a pair", "", INVENTED, ports))
    plugs = len(inlets)
    parts = [Part(f"p{i + 1}", "other", f"Part {i + 1}", (Socket("in", pin.id),)) for i, pin in enumerate(inlets)]
    place = SUPPLY
    if any(pin.net not in ("", *SUPPLY_NETS) for port in ports for pin in port.pins):
        headers = {port.id: _header(port) for port in ports}
        known = replace(catalogue, pinouts={**catalogue.pinouts, **headers})
        place = "h"
        parts.append(Part(place, "other", "Headers", tuple(Socket(name, name) for name in headers)))
    run = Run(
        "r1",
        1,
        tuple(PlugRef(place, port.id) for port in ports),
        tuple(PlugRef(f"p{i + 1}", "in") for i in range(plugs)),
        route=Route(
            length_mm=float(rng.randint(80, 900)),
            spacing_mm=(100.0,) * (plugs - 1) if branching == "chain" else (),
        ),
        optional=optional,
        branching=branching,
    )
    supply = "pair" if place == SUPPLY else ""
    return Build("Pair", supply=supply, parts=tuple(parts), runs=(run,), next_number=2, next_part=plugs + 1), known


def chain_with_sense_line(catalogue: Catalogue, inlet_id: str, sense: str, seed: int) -> tuple[Build, Catalogue]:
    """A chain of two to four plugs from ports that bring a remote-sense line of one of its nets."""
    rng = Random(seed)
    inlet = catalogue.pinouts[inlet_id]
    ports = _ports(catalogue, inlet, [*_nets(inlet, (), rng), sense], rng)
    return pair_of(catalogue, [inlet] * rng.randint(2, 4), ports, (), rng)


def _header(port: Port) -> Pinout:
    """A port as a header of a part."""
    pins = tuple(
        Pin(p.cavity, p.net, p.net, (p.net,), "required" if p.net else "not_connected", True, "", "", INVENTED)
        for p in port.pins
    )
    return Pinout(port.id, port.label, "outlet", port.feeds[0], port.housing, True, {}, 0.0, 0.0, INVENTED, pins)


def _nets(inlet: Pinout, optional: tuple[str, ...], rng: Random) -> list[str]:
    """Nets of the contacts: of each wanted net half as many as wires, or more, and strays."""
    wanted = [p.accepts for p in inlet.pins if p.need == "required" or (p.need == "optional" and p.cavity in optional)]
    nets: list[str] = []
    for accepts in wanted:
        # A net is carried once where it is not yet, and about three times out of four from then on.
        net = rng.choice(accepts)
        short = 2 * nets.count(net) < sum(net in other for other in wanted)
        if short or rng.random() < 0.75:
            nets.append(net)
    return nets + [rng.choice(STRAY) for _ in range(rng.choice((0, 0, 1, 3)))]


def _ports(catalogue: Catalogue, inlet: Pinout, nets: list[str], rng: Random) -> tuple[Port, ...]:
    """Ports over which these nets are dealt."""
    plugs = [h for h in catalogue.housings.values() if h.half == "plug" and h.gender == "socket"]
    if rng.random() < 0.7:
        plugs = [h for h in plugs if h.family == "p42"]
    housings = []
    while sum(h.positions for h in housings) < len(nets):
        left = len(nets) - sum(h.positions for h in housings)
        one = len(housings) == 2 or rng.random() < 0.6
        housings.append(rng.choice([h for h in plugs if not one or h.positions >= left] or plugs))
    nets = nets + [""] * (sum(h.positions for h in housings) - len(nets))
    rng.shuffle(nets)
    ports = []
    for number, housing in enumerate(housings):
        names = [str(i + 1) for i in range(housing.positions)]
        if housing.numbering == "twelve_plus_four":
            names = [str(i + 1) for i in range(12)] + ["S1", "S2", "S3", "S4"]
        pins = tuple(PortPin(name, nets.pop()) for name in names)
        ports.append(Port(f"x{number + 1}", f"Port {number + 1}", housing.id, (inlet.use,), pins))
    return tuple(ports)


def with_run(build: Build, **changed: object) -> Build:
    """The build with its only run changed."""
    return replace(build, runs=(replace(build.runs[0], **changed),))  # type: ignore[arg-type]
