"""Findings of how a run is wired: where it starts, what its source carries, what was asked for and cannot be."""

import math
from collections.abc import Iterator, Mapping
from functools import cached_property

from server.domain.model.build import Build
from server.domain.model.catalogue import Catalogue
from server.domain.plan.checks.told import RULE, Told, counted, ends_of
from server.domain.plan.resolve import draw_of
from server.domain.plan.runs import PlannedRun
from server.domain.proposing import Place, places_by_run
from server.domain.reference import USE_NAMES, sensed_net
from server.domain.sockets import SocketFacts, every_socket
from server.domain.wiring import WIRES_PER_CONTACT, Shortage

EQUAL_NETS = "a wire may only join equal nets"
SENSING = "desktop supply design guide, remote sensing"


class FreePlaces:
    """Ports and headers that no run uses, looked up once and only when a finding asks for one."""

    def __init__(self, build: Build, catalogue: Catalogue) -> None:
        self._build, self._catalogue = build, catalogue

    @cached_property
    def _by_run(self) -> Mapping[str, tuple[Place, ...]]:
        return places_by_run(self._build, self._catalogue)

    @cached_property
    def _sockets(self) -> Mapping[tuple[str, str], SocketFacts]:
        return every_socket(self._build, self._catalogue)

    def for_run(self, planned: PlannedRun, *, meant: bool = False) -> str:
        """The first free place that a run could start from instead; empty when there is none.

        Args:
            planned: The run.
            meant: Only places whose legend names the run's use.
        """
        here = {(plug.ref.part, plug.ref.socket) for plug in planned.resolved.sources}
        for place in self._by_run[planned.plan.id]:
            fits = not meant or all(planned.resolved.use in self._sockets[where].uses for where in place.keys)
            if place.free and fits and not set(place.keys) & here:
                return place.label
        return ""


def wiring_findings(planned: PlannedRun, free: FreePlaces) -> Iterator[Told]:
    """What stands in the way of a run's wiring.

    Args:
        planned: The run.
        free: What it could start from instead.
    """
    resolved = planned.resolved
    if resolved.kind == "sleeved":
        return
    if not resolved.sources:
        place = free.for_run(planned)
        way_out = (
            f"Move it to {place}, which is free and carries all it wants."
            if place
            else "Free a port that carries all it wants: none is free."
        )
        yield Told("stop", "no_source", "it starts from no port.", RULE, way_out)
    for cavity, reason in planned.made.impossible_pins:
        text = f"the pin of part cavity {cavity} cannot hold: {reason}. It is solved without."
        yield Told("stop", "pin_impossible", text, RULE, _pin_better(planned, cavity), cavity)
    if resolved.refused:
        text = f"it is planned as a new cable: {resolved.refused}."
        way_out = "Choose 'new cable' as the way to build it, so that plan and choice agree."
        yield Told("warn", "method_refused", text, RULE, way_out)
    yield from (_short(planned, short, free) for short in planned.made.shortages)
    yield from _other_use(planned, free)
    yield from _sense_unused(planned)
    yield from _full_power(planned)


def _pin_better(planned: PlannedRun, cavity: str) -> str:
    """A pin that would hold: to an unused source cavity with a net that the part cavity takes."""
    pins = planned.resolved.ends[0].facts.wanted_pins(planned.resolved.optional)
    accepts = next((pin.accepts for pin in pins if pin.cavity == cavity), ())
    for index, spare in planned.plan.spare_cavities:
        source = planned.plan.sources[index]
        if source.nets[spare] in accepts:
            return f"Pin it to cavity {spare} of {source.socket}, which is free and carries {source.nets[spare]}."
    return f"Take the pin off cavity {cavity}: no free contact carries {' or '.join(accepts) or 'its net'}."


def _short(planned: PlannedRun, short: Shortage, free: FreePlaces) -> Told:
    if planned.made.assignment is not None:
        text = (
            f"{short.wanted} wires take {short.net} on along the chain, but only {short.contacts} contacts of the plug "
            "before pass it on, one wire each."
        )
        way_out = f"Let the run fork, so that each plug has {short.net} wires of its own from the source."
        return Told("stop", "net_short", text, EQUAL_NETS, way_out)
    carrying = counted(short.contacts, "contact")
    text = f"{short.wanted} wires want {short.net}, but only {carrying} can carry it, two wires each."
    more = math.ceil(short.wanted / WIRES_PER_CONTACT) - short.contacts
    place = free.for_run(planned)
    way_out = (
        f"Start it from {place}, which carries enough."
        if place
        else f"Add a source plug with at least {more} more {short.net} contact{'s' if more > 1 else ''}."
    )
    return Told("stop", "net_short", text, EQUAL_NETS, way_out)


def _other_use(planned: PlannedRun, free: FreePlaces) -> Iterator[Told]:
    resolved, use = planned.resolved, planned.resolved.use
    load_a = {net: sum(draw_of(end).get(net, 0.0) for end in resolved.ends) for net in draw_of(resolved.ends[0])}
    net = max((n for n in load_a if n != "COM"), key=lambda n: load_a[n], default="")
    for plug in resolved.sources:
        if use in plug.facts.uses:
            continue
        meant = ", ".join(USE_NAMES[own] for own in plug.facts.uses) or "no use that is recorded"
        drawn = f"; at the greatest load {load_a[net]:.1f} A of {net} are drawn" if net else ""
        text = f"{plug.facts.label} is meant for {meant}, not for {USE_NAMES[use]}{drawn}."
        place = free.for_run(planned, meant=True)
        way_out = (
            f"Move it to {place}, which is free and meant for it."
            if place
            else f"Check in the supply's manual that {plug.facts.label} carries the current."
        )
        yield Told("warn", "other_use", text, "legend of the supply layout", way_out)


def _sense_unused(planned: PlannedRun) -> Iterator[Told]:
    for index, cavity in planned.plan.spare_cavities:
        spare = planned.plan.sources[index]
        if base := sensed_net(spare.nets[cavity]):
            text = f"the sense line of {spare.socket}, cavity {cavity}, finds no free {base} contact to end in."
            way_out = f"Leave cavity {cavity} empty, and meter {base} at the part's plug under load before it is used."
            yield Told("warn", "sense_unused", text, SENSING, way_out, cavity)


def _full_power(planned: PlannedRun) -> Iterator[Told]:
    """A 12+4 inlet whose sense lines both end in COM promises the card the full 600 W."""
    tied = {
        wire.function
        for wire in planned.plan.wires
        for _, plug in list(ends_of(planned, wire))[-1:]
        if wire.function in ("SENSE0", "SENSE1") and wire.net == "COM" and plug.housing.numbering == "twelve_plus_four"
    }
    if len(tied) == 2:
        yield Told(
            "warn",
            "full_power_told",
            "SENSE0 and SENSE1 both end in COM: the card is told that it may draw 600 W, which is 50 A at 12 V.",
            "desktop supply design guide, sense coding of 12+4 (from memory)",
            "Make sure in the supply's manual that the ports of this run may carry 50 A of +12V together.",
            "S3",
        )
