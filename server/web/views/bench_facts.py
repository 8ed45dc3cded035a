"""What a run needs beside its wires, in lines of name and value: pieces, crimps, combs, sleeve, and its longest sum."""

import math
from collections import Counter
from dataclasses import dataclass

from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import CombPlace, CrimpUse, PlannedWire, RunPlan
from server.services.opened import Opened
from server.web.views import formats
from server.web.views.finish import insulation_words
from server.web.views.pieces import as_made, letter, socket_name

Fact = tuple[str, str]


@dataclass(frozen=True, slots=True)
class TermLine:
    """One summand of the longest wire's length."""

    name: str
    mm: str
    source: str


def longest_wire(run: RunPlan) -> PlannedWire | None:
    """The wire whose terms add up to most; ``None`` while nothing is known of the length."""
    known = [wire for wire in run.wires if wire.terms and not as_made(run, wire)]
    return max(known, key=_needed, default=None)


def _needed(wire: PlannedWire) -> float:
    """Sum of a wire's terms. [mm]"""
    return math.fsum(term.mm for term in wire.terms)


def sum_words(run: RunPlan, wire: PlannedWire) -> str:
    """A wire's length added up, term by term: ``1-24: 620 route + 16 into the housing = 636, cut 640 mm``.

    Args:
        run: The run.
        wire: One of its wires, with its terms.
    """
    sums: dict[str, float] = {}
    for term in wire.terms:
        # "into the housing, part end" and "into the housing, source end" are one summand on the card.
        name = term.name.partition(",")[0].removeprefix("less: ")
        sums[name] = sums.get(name, 0.0) + term.mm
    text = ""
    for name, mm in sums.items():
        sign = "−" if mm < 0 else "+"
        text += f" {sign} " if text else "−" if mm < 0 else ""
        text += f"{formats.number(abs(mm))} {name}"
    cut = f"buy {wire.buy_mm} mm" if wire.cut_mm is None else f"cut {wire.cut_mm} mm"
    own = f", {wire.own_mm} of it the supply's own wire" if wire.own_mm else ""
    longest = ", at the longest" if run.state == "range" else ""
    return f"{text} = {formats.number(_needed(wire))}{longest}{own}, {cut}"


def term_lines(run: RunPlan) -> tuple[TermLine, ...]:
    """Every summand of the longest wire with its source."""
    wire = longest_wire(run)
    return tuple(TermLine(term.name, formats.number(term.mm), term.source) for term in wire.terms) if wire else ()


def crimp_facts(run: RunPlan, catalogue: Catalogue) -> tuple[Fact, ...]:
    """Contacts with how many of each, what they are stripped to and their die; where two wires share one, which."""
    return tuple(("contact", _crimp_words(use, run, catalogue)) for use in run.crimps)


def _crimp_words(use: CrimpUse, run: RunPlan, catalogue: Catalogue) -> str:
    contact = catalogue.contacts.get(use.contact)
    name = contact.name if contact else use.contact
    together = len(use.gauges) > 1
    gauges = " with ".join(str(awg) for awg in use.gauges)
    wires = f"two wires, {gauges} AWG" if together else f"{gauges} AWG"
    strip = f"strip {formats.number(use.strip_mm)} mm" if use.strip_mm else "no strip"
    held = f" for {formats.listed(_shared_places(use, run))}" if together else ""
    return f"{use.count} × {name}{held}: {wires}, {strip}, {use.die or 'no die listed: try one on scrap'}"


def _shared_places(use: CrimpUse, run: RunPlan) -> tuple[str, ...]:
    """Cavities whose contact takes several wires of these gauges."""
    inside: dict[tuple[bool, int, str], list[PlannedWire]] = {}
    for wire in run.wires:
        for at_end, end in ((wire.source_at_end, wire.source), (True, wire.target)):
            if end.contact == use.contact and end.crimped:
                inside.setdefault((at_end, end.plug, end.cavity), []).append(wire)
    places = []
    for (at_end, plug, cavity), wires in inside.items():
        if len(wires) > 1 and tuple(sorted(wire.awg for wire in wires)) == use.gauges:
            of = f"the part plug {letter(plug)}" if len(run.ends) > 1 else "the part plug"
            of = of if at_end else socket_name(run.sources, plug)
            places.append(f"cavity {cavity} of {of}")
    return tuple(places)


def piece_facts(run: RunPlan, catalogue: Catalogue) -> tuple[Fact, ...]:
    """Housings and caps that are bought: none of the supply's end where its own cable is reworked."""
    bought = run.ends if run.method == "rework" else (*run.sources, *run.ends)
    if run.kind == "sleeved":
        return ()
    housings = Counter(catalogue.housings[plug.housing].name for plug in bought)
    caps: dict[str, list[str]] = {}
    for index, plug in enumerate(run.ends):
        if plug.cap:
            caps.setdefault(catalogue.caps[plug.cap].name, []).append(letter(index))
    return (
        ("housing", formats.listed(f"{times} × {name}" for name, times in housings.items())),
        *(("cap", f"{len(on)} × {name}, on {formats.listed(on)}") for name, on in caps.items()),
    )


def comb_facts(run: RunPlan, catalogue: Catalogue) -> tuple[Fact, ...]:
    """Combs with their places; smaller ones are named after the point where wires leave."""
    groups: dict[tuple[str, int, int], list[CombPlace]] = {}
    for place in run.combs:
        groups.setdefault((place.comb, place.plug, place.wires), []).append(place)
    facts = []
    most = max((place.wires for place in run.combs), default=0)
    for (comb, plug, wires), places in groups.items():
        at = formats.listed(str(place.at_mm) for place in places)
        start = f"plug {letter(plug)}" if len(run.ends) > 1 else "the part plug"
        left = f", where {wires} of {most} wires are left" if wires < most else ""
        found = catalogue.combs[comb]
        kind = "" if found.kind in found.name else f"{found.kind} "
        facts.append((f"{len(places)} × {kind}{found.name}", f"at {at} mm from {start}{left}"))
    return tuple(facts)


def sleeve_facts(run: RunPlan, opened: Opened) -> tuple[Fact, ...]:
    """Pieces of sleeve with cut and covered length, what frays, and what holds their ends."""
    catalogue, fray = opened.catalogue, opened.build.allowances.fray_mm
    frays = f"; {formats.number(fray)} mm frays at each end, trimmed" if fray else ""
    facts = [
        ("sleeve, cut (covers), mm", f"{catalogue.sleeves[sleeve].name}: {words}{frays}")
        for sleeve, words in _sleeve_pieces(run)
    ]
    if run.shrink and run.shrink_count:
        use = "taken off again" if run.sleeve_end == "melted" else "over the ends"
        words = f"{run.shrink_count} × {run.shrink_cut_mm} mm {catalogue.shrinks[run.shrink].name}, {use}"
        facts.append(("heat-shrink", words))
    return tuple(facts)


def _sleeve_pieces(run: RunPlan) -> tuple[tuple[str, str], ...]:
    """By sleeve, the pieces colour by colour: ``BK 12 × 548 (600)``."""
    sleeves: dict[str, dict[str, list[str]]] = {}
    for piece in run.sleeve_pieces:
        words = f"{piece.count} × {piece.cut_mm} ({piece.covered_mm:.0f})"
        sleeves.setdefault(piece.sleeve, {}).setdefault(piece.colour, []).append(words)
    return tuple(
        (sleeve, "; ".join(f"{colour} {formats.listed(pieces)}" for colour, pieces in colours.items()))
        for sleeve, colours in sleeves.items()
    )


def insulation_facts(run: RunPlan) -> tuple[Fact, ...]:
    """What the hardness of the new wires' insulation means."""
    kinds = dict.fromkeys(wire.insulation for wire in run.wires if not as_made(run, wire))
    return tuple(("insulation", insulation_words(kind).removesuffix(".")) for kind in kinds)


def spare_facts(run: RunPlan) -> tuple[Fact, ...]:
    """Source cavities that no wire uses."""
    if not run.spare_cavities:
        return ()
    spare = formats.listed(f"{run.sources[plug].ref.socket}·{cavity}" for plug, cavity in run.spare_cavities)
    return (("left empty at the source", spare),)


def run_facts(run: RunPlan, opened: Opened) -> tuple[Fact, ...]:
    """What a run needs beside its wires, each with its name.

    Args:
        run: The planned run.
        opened: The build as it stands.
    """
    counts = (("wires", str(len(run.wires))), ("crossings", str(run.crossings)), ("doubles", str(run.doubles)))
    return (
        *(counts if run.kind != "sleeved" else ()),
        *comb_facts(run, opened.catalogue),
        *sleeve_facts(run, opened),
        *spare_facts(run),
    )
