"""Findings of voltage drop: what the wires of a run lose out and back, against what they may."""

import math
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from server.domain.electrical import DROP_SHARE, SUPPLY_NODE, Branch, drops_v, loss_w, net_volts, wire_ohm
from server.domain.lengths import chain_route_mm
from server.domain.materials.contacts import wire_of
from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import PlannedWire
from server.domain.output_limits import RAILS, levels
from server.domain.plan.checks.suits import suited_gauges
from server.domain.plan.checks.told import Told, loaded_wires, stops_of
from server.domain.plan.resolve import draw_of
from server.domain.plan.runs import PlannedRun

LAW = (
    f"Ohm's law, greatest resistance of the listed wire at 20 C; {DROP_SHARE * 100:g} % for the wires: common practice"
)


@dataclass(frozen=True, slots=True)
class _Drop:
    """What one net loses on the way to the part plug where it loses most."""

    net: str
    volts: float
    out_v: float
    back_v: float
    plug: int

    @property
    def both_v(self) -> float:
        return self.out_v + self.back_v

    @property
    def limit_v(self) -> float:
        return self.volts * DROP_SHARE

    @property
    def too_much(self) -> bool:
        return self.both_v > self.limit_v * (1 + 1e-9)


def drop_findings(planned: PlannedRun, catalogue: Catalogue) -> Iterator[Told]:
    """Nets that lose more on the way out and back than common practice allows the wires of a run.

    Args:
        planned: The run.
        catalogue: Reference data.

    Source:
        Nodal analysis of the loaded wires, plug by plug, at the greatest load of every part.
    """
    drops, lost_w = _losses(planned, catalogue)
    wrong = [drop for drop in drops if drop.too_much]
    if not wrong:
        return
    way_out = _instead(planned, wrong, catalogue)
    for drop in wrong:
        place = planned.plan.ends[drop.plug].place
        ways = f"{drop.out_v:.3f} V out, {drop.back_v:.3f} V back" if drop.back_v else "out, its way back not counted"
        text = (
            f"at the greatest load {drop.net} loses {drop.both_v:.3f} V in the wires to {place} ({ways}), "
            f"{drop.both_v / drop.volts * 100:.1f} % of {drop.volts:g} V where {drop.limit_v:.3f} V are allowed; the "
            f"run's wires turn {lost_w:.1f} W into heat."
        )
        yield Told("warn", "voltage_drop", text, _source(drop.net), way_out)


def _source(net: str) -> str:
    if net not in RAILS:
        return LAW
    wanted = levels(net, "strict")
    least = min((span.low_v, span.high_v)[span.low_v < 0] for span in wanted.on)
    return f"{LAW}. {wanted.source} wants {least:.2f} V at the plug, supply and contacts included"


def _losses(
    planned: PlannedRun, catalogue: Catalogue, awg: int | None = None, plugs: int | None = None
) -> tuple[list[_Drop], float]:
    """The greatest drop of every loaded net, and the power lost in all wires. [W]

    ``awg`` takes all wires of that gauge; ``plugs`` loads only so many part plugs, the first ones.
    """
    branches = _branches(planned, catalogue, awg)
    ends = planned.resolved.ends[:plugs]
    load_a: dict[str, dict[int, float]] = defaultdict(dict)
    for index, end in enumerate(ends):
        drawn: dict[str, float] = defaultdict(float)
        for net, current in draw_of(end).items():
            if net != "COM" and net_volts(net) is not None:
                load_a[net][index] = current
                # What a net below COM takes flows the other way and spares the return.
                drawn[_return_of(net)] += 0.0 if net.startswith("-") else current
        for net, current in drawn.items():
            load_a[net][index] = current
    solved = {}
    for net, loads in load_a.items():
        reached = {branch.end for branch in branches.get(net, ())}
        if reached:
            solved[net] = drops_v(branches[net], {plug: a for plug, a in loads.items() if plug in reached})
    lost_w = sum(loss_w(branches[net], drops) for net, drops in solved.items())
    found = []
    for net, drops in solved.items():
        volts, back = net_volts(net), solved.get(_return_of(net), {})
        fed = [plug for plug in load_a[net] if plug in drops]
        if volts is not None and fed:
            worst = max(fed, key=lambda plug: drops[plug] + back.get(plug, 0.0))
            found.append(_Drop(net, volts, drops[worst], back.get(worst, 0.0), worst))
    return found, lost_w


def _return_of(net: str) -> str:
    return net.replace("USB_5V", "USB_COM") if net.startswith("USB_5V") else "COM"


def _branches(planned: PlannedRun, catalogue: Catalogue, awg: int | None) -> dict[str, list[Branch]]:
    """Loaded wires by net, each stretch between two plugs a resistor; only what a wire from the supply reaches."""
    found: dict[str, list[Branch]] = defaultdict(list)
    for wire in loaded_wires(planned):
        stock = wire_of(catalogue, wire.awg if awg is None else awg, wire.insulation)
        if stock is None or not wire.buy_mm + wire.own_mm:
            continue
        before = wire.source.plug if wire.source_at_end else SUPPLY_NODE
        for plug, length_mm in _stretches(planned, wire):
            if plug != before and length_mm > 0:
                found[wire.net].append(Branch(before, plug, wire_ohm(stock.ohm_per_km, length_mm)))
            before = plug
    return {net: _fed(branches) for net, branches in found.items()}


def _stretches(planned: PlannedRun, wire: PlannedWire) -> list[tuple[int, float]]:
    """Part plugs that a wire passes, each with the length of wire up to it. [mm]"""
    whole = float(wire.own_mm + wire.buy_mm)
    if planned.plan.method == "extension" and not wire.source_at_end:
        whole += planned.resolved.run.own_cable_mm or 0.0
    plugs = [stop.plug for stop in stops_of(wire)]
    spacing = planned.resolved.run.route.spacing_mm
    between = [chain_route_mm(0.0, spacing, one, other) for one, other in pairwise(plugs)]
    return list(zip(plugs, [whole - sum(between), *between], strict=True))


def _fed(branches: list[Branch]) -> list[Branch]:
    reached, before = {SUPPLY_NODE}, 0
    while len(reached) > before:
        before = len(reached)
        reached |= {branch.end for branch in branches if branch.start in reached}
    return [branch for branch in branches if branch.start in reached]


def _instead(planned: PlannedRun, wrong: list[_Drop], catalogue: Catalogue) -> str:
    """The thinnest gauge that would do; else how many plugs; else how short, or how many wires."""
    style, ends = planned.resolved.style, planned.resolved.ends
    for awg in reversed(suited_gauges(planned, catalogue, style.insulation)):
        if awg < style.awg and not any(drop.too_much for drop in _losses(planned, catalogue, awg=awg)[0]):
            return f"Take {awg} AWG for this run."
    for plugs in range(len(ends) - 1, 0, -1):
        if not any(drop.too_much for drop in _losses(planned, catalogue, plugs=plugs)[0]):
            return f"Put {plugs} plug{'s' if plugs > 1 else ''} at most on this run, and the others on another."
    worst = max(wrong, key=lambda drop: drop.both_v / drop.limit_v)
    too_long = worst.both_v / worst.limit_v
    wires = [wire for wire in loaded_wires(planned) if wire.net == worst.net and not wire.source_at_end]
    longest = max(wire.own_mm + wire.buy_mm for wire in wires)
    wanted = math.ceil(round(len(wires) * too_long, 9))
    return (
        f"Shorten its wires to {math.floor(longest / too_long)} mm: at {longest} mm it would take {wanted} wires of "
        f"{worst.net} instead of {len(wires)}, and as many more back."
    )
