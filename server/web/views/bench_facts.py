"""What a run needs beside its wires, in lines of name and value: pieces, crimps, combs, sleeve, and its longest sum."""

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from server.domain.materials.sleeves import shrink_cut_mm
from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import CombPlace, CrimpUse, PlannedWire, Plug, RunPlan, SleevePiece
from server.services.opened import Opened
from server.web.views import formats
from server.web.views.bench_words import source_end
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


def end_facts(run: RunPlan, catalogue: Catalogue) -> tuple[Fact, ...]:
    """What is bought and crimped at each end: housings, caps, contacts with strip length and die.

    Nothing is bought for the source end of the supply's own cable.
    """
    if run.kind == "sleeved":
        return ()
    sources = () if run.method == "rework" else run.sources
    facts: list[Fact] = []
    first = ""
    for name, at_end, plugs in ((source_end(run), False, sources), ("part end", True, run.ends)):
        words = [*_piece_words(plugs, catalogue, caps=at_end)]
        contacts = "; ".join(
            _crimp_words(use, count, run, catalogue, at_end=at_end) for use, count in _crimps_at(run, at_end=at_end)
        )
        if contacts:
            words.append(f"contacts as at the {source_end(run)}" if contacts == first else f"contacts {contacts}")
        first = contacts
        if words:
            facts.append((name, "; ".join(words)))
    return tuple(facts)


def _piece_words(plugs: tuple[Plug, ...], catalogue: Catalogue, *, caps: bool) -> Iterator[str]:
    """Housings of one end, and the caps on them."""
    housings = Counter(catalogue.housings[plug.housing].name for plug in plugs)
    if housings:
        yield f"housing {formats.listed(f'{times} × {name}' for name, times in housings.items())}"
    on: dict[str, list[str]] = {}
    for index, plug in enumerate(plugs):
        if caps and plug.cap:
            on.setdefault(catalogue.caps[plug.cap].name, []).append(letter(index))
    for name, letters in on.items():
        yield f"cap {len(letters)} × {name}, on {formats.listed(letters)}"


def _crimps_at(run: RunPlan, *, at_end: bool) -> Iterator[tuple[CrimpUse, int]]:
    """Contacts of one end that are crimped or pressed alike, and how many of each."""
    counts = Counter(
        (contact, tuple(sorted(wire.awg for wire in wires)))
        for (at, _, _, contact), wires in wires_in_contacts(run).items()
        if at == at_end
    )
    for use in run.crimps:
        if count := counts[use.contact, use.gauges]:
            yield use, count


def wires_in_contacts(run: RunPlan) -> dict[tuple[bool, int, str, str], list[PlannedWire]]:
    """Wires in each contact that is crimped or pressed, by end (true for the part end), plug, cavity and contact.

    Args:
        run: The planned run.
    """
    inside: dict[tuple[bool, int, str, str], list[PlannedWire]] = {}
    for wire in run.wires:
        for at_end, end in ((wire.source_at_end, wire.source), *((True, e) for e in (*wire.taps, wire.target))):
            if end.crimped and end.contact:
                inside.setdefault((at_end, end.plug, end.cavity, end.contact), []).append(wire)
    return inside


def _crimp_words(use: CrimpUse, count: int, run: RunPlan, catalogue: Catalogue, *, at_end: bool) -> str:
    contact = catalogue.contacts.get(use.contact)
    name = contact.name if contact else use.contact
    together = len(use.gauges) > 1
    gauges = " with ".join(str(awg) for awg in use.gauges)
    wires = f"two wires, {gauges} AWG" if together else f"{gauges} AWG"
    strip = f"strip {formats.number(use.strip_mm)} mm" if use.strip_mm else "no strip"
    held = f" for {formats.listed(_shared_places(use, run, at_end=at_end))}" if together else ""
    return f"{count} × {name}{held}: {wires}, {strip}, {use.die or 'no die listed: try one on scrap'}"


def _shared_places(use: CrimpUse, run: RunPlan, *, at_end: bool) -> tuple[str, ...]:
    """Cavities of one end whose contact takes several wires of these gauges."""
    places = []
    for (at, plug, cavity, contact), wires in wires_in_contacts(run).items():
        if at == at_end and contact == use.contact and tuple(sorted(wire.awg for wire in wires)) == use.gauges:
            of = f"the part plug {letter(plug)}" if len(run.ends) > 1 else "the part plug"
            of = of if at_end else socket_name(run.sources, plug)
            places.append(f"cavity {cavity} of {of}")
    return tuple(places)


def comb_facts(run: RunPlan, catalogue: Catalogue) -> tuple[Fact, ...]:
    """Combs with their places; smaller ones are named after the point where wires leave."""
    groups: dict[tuple[str, int, int], list[CombPlace]] = {}
    for place in run.combs:
        groups.setdefault((place.comb, place.plug, place.wires), []).append(place)
    facts: list[Fact] = []
    most = max((place.wires for place in run.combs), default=0)
    for (comb, plug, wires), places in groups.items():
        at = formats.listed(str(place.at_mm) for place in places)
        start = f"plug {letter(plug)}" if len(run.ends) > 1 else "the part plug"
        left = f", where {wires} of {most} wires are left" if wires < most else ""
        found = catalogue.combs[comb]
        kind = "" if found.kind in found.name else f"{found.kind} "
        seen = "" if facts else ", on the visible half, at the part end"
        facts.append((f"{len(places)} × {kind}{found.name}", f"at {at} mm from {start}{left}{seen}"))
    return tuple(facts)


def sleeve_facts(run: RunPlan, opened: Opened) -> tuple[Fact, ...]:
    """Sleeve with what frays, and every piece of heat-shrink, those over joints included.

    Piece by piece with cut and covered length; only the sum of each colour where the wire table has every length.
    """
    catalogue, fray = opened.catalogue, opened.build.allowances.fray_mm
    frays = f"; {formats.number(fray)} mm frays at each end, trimmed" if fray else ""
    in_table = any(wire.sleeve_mm for wire in run.wires)
    name = "sleeve in all" if in_table else "sleeve, cut (covers), mm"
    facts = [
        (name, f"{catalogue.sleeves[sleeve].name}: {words}{frays}")
        for sleeve, words in _sleeve_pieces(run, in_all=in_table)
    ]
    shrinks = _shrink_words(run, catalogue)
    return (*facts, *((("heat-shrink", formats.listed(shrinks)),) if shrinks else ()))


def sleeve_sum(run: RunPlan, opened: Opened) -> tuple[Fact, ...]:
    """How the longest piece of sleeve adds up: ``359.7 covered × 1.32 + 2 × 5 frayed, cut 485 mm``."""
    longest = max(run.sleeve_pieces, key=lambda piece: piece.cut_mm, default=None)
    if longest is None or not longest.covered_mm:
        return ()
    fray = opened.build.allowances.fray_mm
    # As it is cut, which is rounded up to a whole millimetre.
    factor = (longest.cut_mm - 2 * fray) / longest.covered_mm
    words = f"{formats.number(longest.covered_mm)} covered × {factor:.2f} (braid shortens where it opens)"
    frayed = f" + 2 × {formats.number(fray)} frayed" if fray else ""
    return (("longest sleeve", f"{words}{frayed}, cut {longest.cut_mm} mm"),)


def _shrink_words(run: RunPlan, catalogue: Catalogue) -> tuple[str, ...]:
    """Pieces of heat-shrink over sleeve ends, then those over joints."""
    words = []
    if run.shrink and run.shrink_count:
        use = "taken off again" if run.sleeve_end == "melted" else "over the ends"
        words.append(f"{run.shrink_count} × {run.shrink_cut_mm} mm {catalogue.shrinks[run.shrink].name}, {use}")
    tubes = Counter(joint.shrink for joint in run.joints if joint.shrink in catalogue.shrinks)
    for tube, count in tubes.items():
        shrink = catalogue.shrinks[tube]
        where = "the joint" if count == 1 else "the joints"
        words.append(f"{count} × {shrink_cut_mm(shrink)} mm {shrink.name}, over {where}")
    return tuple(words)


def _sleeve_pieces(run: RunPlan, *, in_all: bool) -> tuple[tuple[str, str], ...]:
    """By sleeve, the pieces colour by colour: ``BK 12 × 548 (600)``, or in all ``BK 12 pieces, 6.6 m``."""
    sleeves: dict[str, dict[str, list[SleevePiece]]] = {}
    for piece in run.sleeve_pieces:
        sleeves.setdefault(piece.sleeve, {}).setdefault(piece.colour, []).append(piece)
    return tuple(
        (sleeve, "; ".join(f"{colour} {_pieces_words(held, in_all=in_all)}" for colour, held in colours.items()))
        for sleeve, colours in sleeves.items()
    )


def _pieces_words(pieces: list[SleevePiece], *, in_all: bool) -> str:
    if in_all:
        total = sum(piece.count * piece.cut_mm for piece in pieces)
        return f"{formats.count(sum(piece.count for piece in pieces), 'piece')}, {formats.metres(total)}"
    return formats.listed(f"{piece.count} × {piece.cut_mm} ({piece.covered_mm:.0f})" for piece in pieces)


def insulation_facts(run: RunPlan) -> tuple[Fact, ...]:
    """What the hardness of the new wires' insulation means."""
    kinds = dict.fromkeys(wire.insulation for wire in run.wires if not as_made(run, wire))
    return tuple(("insulation", insulation_words(kind).removesuffix(".")) for kind in kinds)


def spare_facts(run: RunPlan) -> tuple[Fact, ...]:
    """Source cavities that no wire uses, plug by plug, those of the return apart: ``Main B · 1, 3, 6, live``."""
    kinds: dict[tuple[int, bool], list[str]] = {}
    for plug, cavity in run.spare_cavities:
        kinds.setdefault((plug, run.sources[plug].nets.get(cavity, "") == "COM"), []).append(cavity)
    if not kinds:
        return ()
    spare = "; ".join(
        f"{socket_name(run.sources, plug)} · {formats.listed(cavities)}, {'COM' if common else 'live'}"
        for (plug, common), cavities in sorted(kinds.items())
    )
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
