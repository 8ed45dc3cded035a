"""Small views that several panels share: swatches, wires, plugs and findings."""

import re
from dataclasses import dataclass
from itertools import groupby

from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import Finding, Joint, PlannedWire, Plug, RunPlan, RunState, WireEnd
from server.domain.plan.names import beyond_net
from server.domain.reference import BUNDLED_USES, LAP_MM
from server.web.views import formats

STATES: dict[RunState, str] = {"measured": "measured", "range": "range", "unmeasured": "not measured"}
_UNKNOWN_HEX = "#808080"
_RUNS = re.compile(r"\b[Rr]uns? (\d+(?:(?:,| and| to) \d+)*)")
_ROW = re.compile(r"(\d+)(?: to (\d+))?")


@dataclass(frozen=True, slots=True)
class Swatch:
    """A colour as code, word and how the screen shows it."""

    code: str
    name: str
    hex: str


@dataclass(frozen=True, slots=True)
class FindingLine:
    """One finding in words, with its mark and the address of the run it speaks of."""

    severity: str
    mark: str
    text: str
    way_out: str
    source: str
    run: str
    href: str


@dataclass(frozen=True, slots=True)
class WireLine:
    """One wire of a run, end by end."""

    label: str
    source: str
    target: str
    net: str
    function: str
    gauge: str
    insulation: str
    colour: Swatch | None
    """``None`` for a wire of the supply's own cable, which stays as its maker made it."""
    sleeve: Swatch | None
    cut: str
    sleeve_cut: str
    """Length of its own piece of sleeve, or of several along a chain; empty for none."""
    doubled: str
    joined: str
    """Where it is joined to another wire instead of a contact, in words; empty for most."""


@dataclass(frozen=True, slots=True)
class WireTable:
    """The wires of a run; what all of them have in common is said once above."""

    caption: str
    common: str
    lines: tuple[WireLine, ...]
    unit: str
    gauge: bool
    """Whether gauge and insulation need a column, because they differ."""
    sleeve: bool
    """Whether the sleeve needs a column, because it is not simply the wire's colour."""
    sleeve_cut: bool
    """Whether any wire has a piece of sleeve of its own, whose length needs a column."""


def swatch(catalogue: Catalogue, code: str) -> Swatch:
    """The swatch of a colour code; an unknown code keeps its code as its name."""
    colour = catalogue.colours.get(code)
    return Swatch(code, colour.name, colour.hex) if colour else Swatch(code, code, _UNKNOWN_HEX)


def finding_lines(findings: tuple[Finding, ...], build_id: str, runs: tuple[RunPlan, ...]) -> tuple[FindingLine, ...]:
    """Findings with the address of their run, in the plan's order."""
    ids = {run.number: run.id for run in runs}
    return tuple(
        FindingLine(
            formats.SEVERITIES[finding.severity],
            formats.MARKS[finding.severity],
            finding.text,
            finding.way_out,
            finding.source,
            f"run {finding.run}" if finding.run is not None else "",
            f"/builds/{build_id}/runs/{ids[finding.run]}" if finding.run in ids and build_id else "",
        )
        for finding in findings
    )


def findings_of_run(findings: tuple[Finding, ...], number: int) -> tuple[Finding, ...]:
    """Findings that speak of a run alone, or name it among several.

    Args:
        findings: All findings of the plan.
        number: The run's number.
    """
    return tuple(
        finding
        for finding in findings
        if finding.run == number or (finding.run is None and _named(finding.text, number))
    )


def _named(text: str, number: int) -> bool:
    """Whether a text names a run among several: ``Runs 2, 3 and 5 to 9``."""
    rows = (row for said in _RUNS.findall(text) for row in _ROW.findall(said))
    return any(int(first) <= number <= int(last or first) for first, last in rows)


def run_title(run: RunPlan) -> str:
    """What a run is called: its own name, or where it ends."""
    return run.name or formats.listed(dict.fromkeys(plug.place for plug in run.ends)) or f"run {run.number}"


def plugs_text(plugs: tuple[Plug, ...]) -> str:
    """Plugs in words: ``Large board, main 24``; places of equal sockets are named together, equal plugs counted."""
    places: dict[str, list[str]] = {}
    for plug in plugs:
        places.setdefault(plug.socket, []).append("" if plug.at_supply_end else plug.place)
    return "; ".join(_places_text(socket, held) for socket, held in places.items())


def _places_text(socket: str, places: list[str]) -> str:
    """One socket with the places it is at."""
    words = [
        place if (times := places.count(place)) == 1 else f"{place} ×{times}"
        for place in dict.fromkeys(places)
        if place
    ]
    if words:
        return f"{formats.listed(words)}, {socket}" if len(words) == 1 else f"{formats.listed(words)}: {socket}"
    return socket if len(places) == 1 else f"{socket} ×{len(places)}"


def source_text(run: RunPlan) -> str:
    """Where a run starts; a moulded cable is sleeved as it is, whatever it starts from."""
    if run.sources:
        return plugs_text(run.sources)
    return "the cable as bought" if run.kind == "sleeved" else "no source yet"


def target_text(run: RunPlan) -> str:
    """Where a run ends, unless its title says so already."""
    text = plugs_text(run.ends)
    return "" if text == run_title(run) else text


def route_text(run: RunPlan, *, inches: bool = False) -> str:
    """The length of a run as known, chain spacing behind it."""
    if run.length_mm is not None:
        base = formats.bare_length(run.length_mm, inches=inches)
    elif run.low_mm is not None and run.high_mm is not None:
        base = formats.bare_span(run.low_mm, run.high_mm, inches=inches)
    else:
        return "not measured"
    spaces = (formats.bare_length(space, inches=inches) for space in run.spacing_mm)
    # The unit stands once, behind the whole sum.
    return f"{' + '.join((base, *spaces))} {'in' if inches else 'mm'}"


def cut_text(wire: PlannedWire, *, inches: bool = False) -> str:
    """The length to cut, what the supply's own wire is shortened to, or that it waits for a measured route."""
    if wire.own_mm:
        own = f"own {formats.bare_length(wire.own_mm, inches=inches)}"
        return own if wire.cut_mm is None else f"{own} + {formats.bare_length(wire.cut_mm, inches=inches)}"
    return "waits" if wire.cut_mm is None else formats.bare_length(wire.cut_mm, inches=inches)


def sleeve_text(wire: PlannedWire, *, inches: bool = False) -> str:
    """Lengths of a wire's own pieces of sleeve from its source on, equal neighbours counted: ``469 + 3 × 101``.

    They wait with the wire for a measured route, since braid that was cut for the longest is no use on a shorter one.
    """
    if wire.sleeve_mm and wire.cut_mm is None and not wire.own_mm:
        return "waits"
    told = []
    for piece, alike in groupby(wire.sleeve_mm):
        times = len(tuple(alike))
        told.append(f"{times} × " * (times > 1) + formats.bare_length(piece, inches=inches))
    return " + ".join(told)


def wire_lines(run: RunPlan, catalogue: Catalogue, *, inches: bool = False) -> tuple[WireLine, ...]:
    """The wires of a run in ribbon order."""
    return tuple(
        WireLine(
            wire.label,
            "" if _splice_of(run, wire) else _end_text(run, wire.source, at_source=not wire.source_at_end),
            " → ".join(_end_text(run, end, at_source=False) for end in (*wire.taps, wire.target)),
            wire.net,
            beyond_net(wire.net, wire.function),
            f"{wire.awg} AWG",
            formats.INSULATIONS[wire.insulation],
            None if as_made(run, wire) else swatch(catalogue, wire.colour),
            swatch(catalogue, wire.sleeve_colour) if wire.sleeve_colour else None,
            cut_text(wire, inches=inches),
            sleeve_text(wire, inches=inches),
            _doubled(wire),
            _joined(run, wire),
        )
        for wire in run.wires
    )


def as_made(run: RunPlan, wire: PlannedWire) -> bool:
    """Whether a wire is wholly the supply's own: colour, gauge and insulation are its maker's, and nothing is bought.

    Args:
        run: The run.
        wire: One of its wires.
    """
    return run.method == "rework" and not wire.source.crimped and not wire.buy_mm and not _splice_of(run, wire)


def _splice_of(run: RunPlan, wire: PlannedWire) -> Joint | None:
    """The joint that a wire starts at, where it starts at one instead of a contact."""
    if wire.source.crimped:
        return None
    return next((joint for joint in run.joints if joint.kind == "splice" and wire.label in joint.labels), None)


def _joined(run: RunPlan, wire: PlannedWire) -> str:
    """To which wire it is joined, how far from the housing, and with what overlap."""
    joint = _splice_of(run, wire)
    if joint is None:
        return ""
    others = formats.listed(label for label in joint.labels if label != wire.label)
    return f"joined to {others} at {formats.number(joint.distance_mm)} mm, {formats.number(LAP_MM)} mm overlap"


def wire_table(run: RunPlan, catalogue: Catalogue, *, inches: bool = False) -> WireTable:
    """The wires of a run as a table with as few columns as they need.

    Args:
        run: The planned run.
        catalogue: Reference data.
        inches: Whether lengths are shown in inches.
    """
    lines = wire_lines(run, catalogue, inches=inches)
    bought = [line for line in lines if line.colour is not None]
    kinds = {(line.gauge, line.insulation) for line in bought}
    alike = all(line.sleeve is None for line in lines) or all(line.sleeve == line.colour for line in lines)
    words = [f"{gauge}, {insulation} insulation" for gauge, insulation in kinds] if len(kinds) == 1 else []
    together = run.use in BUNDLED_USES and len(lines) > 1
    if together and lines[0].sleeve:
        alike = True
        words.append(f"all in one sleeve, {lines[0].sleeve.code} {lines[0].sleeve.name}")
    elif lines and alike:
        words.append("each sleeved in its own colour" if lines[0].sleeve else "bare, no sleeve")
    own = run.method == "rework" and any(as_made(run, wire) or wire.own_mm for wire in run.wires)
    which = "New pieces of wire" if own and bought else "All wires"
    common = f"{which} {'; '.join(words)}." if words else ""
    if own:
        common = f"{common} The supply's own wires stay as their maker made them.".strip()
    return WireTable(
        caption=f"Wires of run {run.number}",
        common=common,
        lines=lines,
        unit="in" if inches else "mm",
        gauge=len(kinds) > 1,
        sleeve=not alike,
        sleeve_cut=any(line.sleeve_cut for line in lines),
    )


def _end_text(run: RunPlan, end: WireEnd, *, at_source: bool) -> str:
    """One end of a wire: the socket only where the run has several plugs on that side."""
    if at_source:
        return f"{socket_name(run.sources, end.plug)}·{end.cavity}" if len(run.sources) > 1 else end.cavity
    return f"{letter(end.plug)}·{end.cavity}" if len(run.ends) > 1 else end.cavity


def socket_name(plugs: tuple[Plug, ...], index: int) -> str:
    """What the drawings call a plug's socket; its id, or its part, tells apart several that are called the same.

    Args:
        plugs: All plugs of that side of the run.
        index: Which of them.
    """
    plug = plugs[index]
    alike = [other.ref.socket for other in plugs if other.socket == plug.socket]
    if len(alike) < 2:
        return plug.socket
    return f"{plug.socket} {plug.ref.socket if len(set(alike)) == len(alike) else plug.place}"


def letter(index: int) -> str:
    """The letter of a plug of a chain: A for the first."""
    return chr(ord("A") + index) if index < 26 else str(index + 1)


def _doubled(wire: PlannedWire) -> str:
    """In words, which other wires share a contact with this one."""
    shared = dict.fromkeys((*wire.source.shared_with, *wire.target.shared_with))
    return f"in one contact with {formats.listed(shared)}" if shared else ""
