"""Findings of currents: the busiest contact of each net against its rating."""

import math
from collections import Counter
from collections.abc import Iterator

from server.domain.electrical import ContactLoad, contact_loads, rating_for
from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import PlannedWire
from server.domain.plan.checks.suits import suited_gauges
from server.domain.plan.checks.told import Told, loaded_wires, stops_of
from server.domain.plan.resolve import draw_of
from server.domain.plan.runs import PlannedRun


def load_findings(planned: PlannedRun, catalogue: Catalogue) -> Iterator[Told]:
    """Greatest current of a contact against its rating, at every source plug and at every part plug.

    Args:
        planned: The run.
        catalogue: Reference data.
    """
    live = [wire for wire in loaded_wires(planned) if not wire.source_at_end]
    whole: Counter[str] = Counter()
    for plug in planned.resolved.ends:
        whole.update(draw_of(plug))
    yield from _at_parts(planned, catalogue)
    wires = Counter(wire.net for wire in live)
    awg = {net: max(wire.awg for wire in live if wire.net == net) for net in wires}
    for index, source in enumerate(planned.plan.sources):
        held = Counter((w.net, w.source.cavity) for w in live if w.source.plug == index)
        contacts = {net: tuple(n for (of, _), n in held.items() if of == net) for net in wires}
        family = catalogue.housings[source.housing].family
        loads = contact_loads(catalogue, family, load_a=dict(whole), wires=wires, contacts=contacts, awg_by_net=awg)
        for load in filter(_over, loads):
            way_out = _at_source_instead(planned, load, whole[load.net], family, awg[load.net], catalogue)
            yield _told(load, f"supply end, {source.socket},", way_out)


def _at_parts(planned: PlannedRun, catalogue: Catalogue) -> Iterator[Told]:
    """Along a chain the wires carry the sum, but each plug's contacts pass only what its own part draws."""
    told = set()
    live = loaded_wires(planned)
    for index, end in enumerate(planned.resolved.ends):
        pinout = end.facts.pinout
        if pinout is None or (pinout.id in told and planned.plan.kind == "chain"):
            continue
        told.add(pinout.id)
        here = [wire for wire in live if any(stop.plug == index for stop in stops_of(wire))]
        wires = Counter(_cavities(here, index).values())
        awg = {net: max(wire.awg for wire in here if wire.net == net) for net in wires}
        contacts = {net: (1,) * count for net, count in wires.items()}
        found = contact_loads(
            catalogue, end.family.id, load_a=draw_of(end), wires=wires, contacts=contacts, awg_by_net=awg
        )
        for load in filter(_over, found):
            thicker = _thicker(planned, load, end.family.id, awg[load.net], catalogue)
            most = load.rated_a * wires[load.net]
            way_out = thicker or f"Hold what {end.facts.place} draws from {load.net} to {most:.1f} A, in its settings."
            yield _told(load, "part end", way_out)


def _cavities(wires: list[PlannedWire], plug: int) -> dict[str, str]:
    """Net by cavity, of the cavities of one part plug that these wires stop at."""
    return {stop.cavity: wire.net for wire in wires for stop in stops_of(wire) if stop.plug == plug}


def _over(load: ContactLoad) -> bool:
    return load.current_a > load.rated_a * (1 + 1e-9)


def _told(load: ContactLoad, at: str, way_out: str) -> Told:
    text = (
        f"at the greatest load a {load.net} contact at the {at} carries {load.current_a:.1f} A and is rated "
        f"{load.rated_a:.1f} A ({load.excess_percent:.0f} % over)."
    )
    return Told("warn", "contact_current", text, load.rating.source, way_out)


def _thicker(planned: PlannedRun, load: ContactLoad, family: str, awg: int, catalogue: Catalogue) -> str:
    """A thicker gauge whose rating carries the current; empty when there is none."""
    gauges = [g for g in suited_gauges(planned, catalogue, planned.resolved.style.insulation) if g < awg]
    for gauge in reversed(gauges):
        rating = rating_for(catalogue, family, awg=gauge, loaded=load.rating.loaded_from, signal=False)
        if rating is not None and rating.current_a >= load.current_a:
            return f"Take {gauge} AWG for this run: the contact is rated {rating.current_a:.1f} A with it."
    return ""


def _at_source_instead(
    planned: PlannedRun, load: ContactLoad, whole_a: float, family: str, awg: int, catalogue: Catalogue
) -> str:
    if thicker := _thicker(planned, load, family, awg, catalogue):
        return thicker
    ends = planned.resolved.ends
    allowed, carried, plugs = whole_a * load.rated_a / load.current_a, 0.0, 0
    for end in ends:
        carried += draw_of(end).get(load.net, 0.0)
        if carried > allowed * (1 + 1e-9):
            break
        plugs += 1
    if len(ends) > 1 and plugs:
        return f"Put {plugs} plug{'s' if plugs > 1 else ''} at most on this run, and the others on another."
    contacts = math.ceil(round(whole_a / load.rated_a, 9))
    return f"Spread {load.net} over {contacts} contacts with one wire each: add a source plug that carries it."
