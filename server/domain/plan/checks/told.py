"""What the checks of one run have in common: the shape of their answers, and where the ends of a wire go."""

from collections.abc import Iterator
from typing import NamedTuple

from server.domain.model.plan import PlannedWire, Severity, WireEnd
from server.domain.plan.resolve import RunPlug
from server.domain.plan.runs import PlannedRun
from server.domain.reference import sensed_net

RULE = "common practice"


class Told(NamedTuple):
    """One finding of a run, before the run's number stands in front of it."""

    severity: Severity
    code: str
    text: str
    source: str
    way_out: str
    cavity: str = ""


def ends_of(planned: PlannedRun, wire: PlannedWire) -> Iterator[tuple[WireEnd, RunPlug]]:
    """Every end and tap of a wire, with the plug it is in, the source end first."""
    resolved = planned.resolved
    order = [plug.ref for plug in planned.plan.sources]
    sources = {plug.ref: plug for plug in resolved.sources}
    start = resolved.ends[wire.source.plug] if wire.source_at_end else sources[order[wire.source.plug]]
    yield wire.source, start
    for end in (*wire.taps, wire.target):
        yield end, resolved.ends[end.plug]


def stops_of(wire: PlannedWire) -> tuple[WireEnd, ...]:
    """The part contacts that a wire passes, the one it ends in last."""
    return (*wire.taps, wire.target)


def loaded_wires(planned: PlannedRun) -> tuple[PlannedWire, ...]:
    """Wires that carry current: neither signals, nor sense lines, nor bridges."""
    live = [
        {pin.cavity for pin in end.facts.pinout.pins if pin.carries_current} if end.facts.pinout else set()
        for end in planned.resolved.ends
    ]
    return tuple(
        wire
        for wire in planned.plan.wires
        if not sensed_net(wire.net) and stops_of(wire)[0].cavity in live[stops_of(wire)[0].plug]
    )


def counted(number: int, one: str, more: str = "") -> str:
    """A number with its word: ``1 wire``, ``2 wires``."""
    return f"{number} {one}" if number == 1 else f"{number} {more or one + 's'}"


def gauge_words(thickest: int, thinnest: int) -> str:
    """A range of gauges in words."""
    return f"{thickest} AWG only" if thickest == thinnest else f"{thickest} to {thinnest} AWG"
