"""Which single fault explains what a test sheet read: each fault's readings are worked out and held against them.

Faults that no reading of the sheet tells apart are told together. Those that contradict the fewest readings come first,
and among them those that mix up neighbours.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Final

from server.domain.cable_faults import CableFault, FaultKind, Strands, cable_faults
from server.domain.continuity import Spot, leads_of, name_of
from server.domain.model.catalogue import Edition, Housing
from server.domain.model.plan import RunPlan
from server.domain.output_limits import RAILS, SUPPLY_NETS, Span, levels, sensed
from server.domain.test_sheet import Readings, TestSheet, VoltCheck

FAULTS_MOST: Final = 5
NOMINAL_V: Final[Mapping[str, float]] = {
    "+12V": 12.0,
    "+5V": 5.0,
    "+3.3V": 3.3,
    "-12V": -12.0,
    "+5VSB": 5.0,
    "COM": 0.0,
}
"""Nominal voltage of what a supply delivers. [V] Source: desktop supply design guide, table of DC outputs."""
_WIDE: Final = 0.10
"""Share by which a voltage of another net than expected may lie off its nominal value. Source: common practice."""
_NOTHING: Final = Span(-0.4, 0.4)
_LIVE: Final = frozenset(NOMINAL_V)


@dataclass(frozen=True, slots=True)
class Fault:
    """One likely cause of what was read."""

    kind: FaultKind
    words: str
    advice: str
    spots: tuple[Spot, ...]
    contradicts: int
    """How many readings speak against it."""
    near: int
    also: tuple["Fault", ...] = ()
    """Other faults that would read the very same on every check of the sheet."""


@dataclass(frozen=True, slots=True)
class _Case:
    """One fault with what the meter would say."""

    fault: Fault
    joined: frozenset[str]
    """Keys of joins that sound."""
    sounds: Mapping[str, frozenset[str]]
    """By row, the groups that sound; rows that stay silent are left out."""
    volts: Mapping[str, tuple[Span, ...]]

    @property
    def alike(self) -> tuple[object, ...]:
        """The same for faults that no reading tells apart."""
        return self.joined, tuple(sorted(self.sounds.items())), tuple(self.volts.items())


@dataclass(slots=True)
class _Bench:
    """The sheet, ready to be read for one cable after the other."""

    run: RunPlan
    sheet: TestSheet
    edition: Edition
    carried: dict[Spot, str] = field(default_factory=dict)
    """What every cavity of the source plugs carries, wired or not."""

    def case(self, fault: Fault, strands: Strands, carried: Mapping[Spot, str] | None = None) -> _Case:
        """What a cable with these strands reads."""
        of = _nodes(strands)
        joined = frozenset(check.key for check in self.sheet.joins if _together(of, check.one, check.other))
        sounds = {}
        for row in self.sheet.rows:
            heard = frozenset(touch.group for touch in row.touches if _together(of, row.held, touch.spot))
            if heard:
                sounds[row.key] = heard
        return _Case(fault, joined, sounds, self._volts(of, carried or self.carried))

    def _volts(self, of: Mapping[Spot, int], carried: Mapping[Spot, str]) -> Mapping[str, tuple[Span, ...]]:
        if not self.sheet.volts:
            return {}
        nets: dict[object, set[str]] = defaultdict(set)
        for spot, net in carried.items():
            if net:
                nets[of.get(spot, spot)].add(sensed(net) or net)
        tripped = any(len(held & _LIVE) > 1 for held in nets.values())
        return {
            check.key: self._volt(check, nets[of.get(check.spot, check.spot)], self._black(check, of, nets), tripped)
            for check in self.sheet.volts
        }

    @staticmethod
    def _black(check: VoltCheck, of: Mapping[Spot, int], nets: Mapping[object, set[str]]) -> set[str]:
        if check.black is None:
            return {"COM"}
        return nets.get(of.get(check.black, check.black), set())

    def _volt(self, check: VoltCheck, red: set[str], black: set[str], tripped: bool) -> tuple[Span, ...]:
        """Ranges that a reading may lie in; none for what is not judged by its volts."""
        if check.kind == "ground":
            return ()
        if not red or not black:
            return (_NOTHING,)
        if tripped:
            # Standby has a limit of its own and may live on.
            return (_NOTHING, *check.spans) if check.net in ("+5VSB", "PS_ON#") else (_NOTHING,)
        if "COM" in black:
            return self._at(check, red)
        zero = NOMINAL_V.get(next((net for net in black if net in NOMINAL_V), ""), 0.0)
        high = NOMINAL_V.get(next((net for net in red if net in NOMINAL_V), ""), 0.0)
        room = _WIDE * (abs(high) + abs(zero)) + _NOTHING.high_v
        return (Span(high - zero - room, high - zero + room),)

    def _at(self, check: VoltCheck, red: set[str]) -> tuple[Span, ...]:
        if check.net in red and not red & _LIVE - {check.net}:
            return check.spans
        net = next((net for net in NOMINAL_V if net in red), next(iter(sorted(red))))
        if check.kind == "standby" and net != "+5VSB":
            return (_NOTHING,)
        if net not in SUPPLY_NETS:
            return ()
        if net in NOMINAL_V:
            room = abs(NOMINAL_V[net]) * _WIDE or _NOTHING.high_v
            return (Span(NOMINAL_V[net] - room, NOMINAL_V[net] + room),)
        return levels(net, self.edition).on


def likely_faults(
    run: RunPlan,
    sheet: TestSheet,
    readings: Readings,
    housings: Mapping[str, Housing],
    edition: Edition = "strict",
) -> tuple[Fault, ...]:
    """The likeliest single faults behind what was read; readings that are not there yet say nothing.

    Args:
        run: The planned run.
        sheet: Its test sheet.
        readings: What was read so far.
        housings: The catalogue's housings.
        edition: Whose output limits hold.

    Returns:
        At most five, the likeliest first, none that explains less than a sound cable does: empty where everything reads
        as expected, or where more than one thing must be wrong.
    """
    bench = _Bench(run, sheet, edition)
    bench.carried = {
        Spot("source", index, cavity): net
        for index, plug in enumerate(run.sources)
        for cavity, net in plug.nets.items()
    }
    whole = tuple(lead.spots for lead in leads_of(run))
    sound = bench.case(Fault("open", "", "", (), 0, 0), whole)
    wrong = _contradicted(sound, readings)
    if not wrong:
        return ()
    alike: dict[tuple[object, ...], list[_Case]] = {}
    for case in _cases(bench, whole, housings, sound):
        if case.alike != sound.alike:
            alike.setdefault(case.alike, []).append(case)
    ranked: list[Fault] = []
    for cases in alike.values():
        against = _contradicted(cases[0], readings)
        if against < wrong:
            ranked.append(_told(cases, against))
    return tuple(sorted(ranked, key=lambda fault: (fault.contradicts, fault.near))[:FAULTS_MOST])


def _told(cases: list[_Case], against: int) -> Fault:
    """Faults that read alike, the one that mixes up the nearest cavities for all of them."""
    first, *rest = sorted((case.fault for case in cases), key=lambda fault: fault.near)
    return Fault(first.kind, first.words, first.advice, first.spots, against, first.near, tuple(rest))


def _contradicted(case: _Case, readings: Readings) -> int:
    """How many readings speak against a fault."""
    against = sum(1 for key, value in readings.joined.items() if value != (key in case.joined))
    for key, heard in readings.sounds.items():
        expected = case.sounds.get(key, frozenset())
        against += bool(expected) if not heard else heard not in expected
    for key, volts in readings.volts.items():
        spans = case.volts.get(key, ())
        against += bool(spans) and not any(span.holds(volts) for span in spans)
    return against


def _cases(bench: _Bench, whole: Strands, housings: Mapping[str, Housing], sound: _Case) -> Iterator[_Case]:
    for fault in cable_faults(bench.run, housings):
        yield bench.case(_plain(fault), fault.strands)
    if bench.sheet.volts:
        yield from _supply_cases(bench, whole, sound)


def _plain(fault: CableFault) -> Fault:
    return Fault(fault.kind, fault.words, fault.advice, fault.spots, 0, fault.near)


# ---- what may be wrong beside the cable ----------------------------------------------------------------------------


def _supply_cases(bench: _Bench, whole: Strands, sound: _Case) -> Iterator[_Case]:
    """The cable is good; the supply is off, an output is off its limits, or the meter is held the wrong way round."""
    off = {check.key: (_NOTHING,) for check in bench.sheet.volts if check.kind == "on" and check.net != "+5VSB"}
    yield _other(sound, off, "the supply is not switched on", "Look at the link from PS_ON# to COM and at its switch.")
    dead = {check.key: (_NOTHING,) for check in bench.sheet.volts if check.kind != "ground"}
    yield _other(sound, dead, "the supply has no mains, or its switch is off", "Look at the cord and its switch.")
    around = {
        key: tuple(Span(-span.high_v, -span.low_v) for span in spans) for key, spans in sound.volts.items() if spans
    }
    words = "the two probes are exchanged: every reading has the other sign"
    yield _other(sound, around, words, "Exchange the probes and measure again.", "meter")
    for net in dict.fromkeys(check.net for check in bench.sheet.volts if check.net in RAILS):
        yield from _rail_cases(bench, sound, net)
    yield from _port_cases(bench, whole)


def _rail_cases(bench: _Bench, sound: _Case, net: str) -> Iterator[_Case]:
    """One output of the supply lies off its limits wherever it is measured."""
    checks = [check for check in bench.sheet.volts if check.net == net and check.kind == "on"]
    spans = checks[0].spans
    least, most = min(span.low_v for span in spans), max(span.high_v for span in spans)
    bands = {"low": Span(0.4, least), "high": Span(most, most + 2.5)}
    if most < 0:
        bands = {"low": Span(most, -0.4), "high": Span(least - 2.5, least)}
    for word, span in bands.items():
        band = {check.key: (span,) for check in checks}
        words = f"the supply's {net} output itself is too {word}: without a load no wire can lose or add that"
        advice = f"Measure {net} at the supply's own socket. If it reads the same there, do not use this supply."
        yield _other(sound, band, words, advice)


def _port_cases(bench: _Bench, whole: Strands) -> Iterator[_Case]:
    """The supply's socket carries something else at one cavity than the layout records."""
    for spot in dict.fromkeys(spot for strand in whole for spot in strand if spot.side == "source"):
        recorded = bench.carried.get(spot, "")
        for net in ("", *NOMINAL_V):
            if net == (sensed(recorded) or recorded):
                continue
            name = name_of(bench.run, spot)
            words = f"the supply carries {net or 'nothing'} at {name}, where {recorded} is recorded"
            advice = f"Cord out. Meter {name} at the supply's own socket and plug nothing in before it is settled."
            fault = Fault("supply", words, advice, (spot,), 0, 50 if net else 4)
            yield bench.case(fault, whole, {**bench.carried, spot: net})


def _other(
    sound: _Case, volts: Mapping[str, Iterable[Span]], words: str, advice: str, kind: FaultKind = "supply"
) -> _Case:
    changed = {key: tuple(volts.get(key, spans)) for key, spans in sound.volts.items()}
    return _Case(Fault(kind, words, advice, (), 0, 1), sound.joined, sound.sounds, changed)


def _together(of: Mapping[Spot, int], one: Spot, other: Spot) -> bool:
    """Whether two cavities are joined; one that holds nothing is joined to none."""
    return one in of and of[one] == of.get(other)


def _nodes(strands: Strands) -> dict[Spot, int]:
    """By cavity, the number of what it is joined with."""
    of: dict[Spot, int] = {}
    inside: dict[int, list[Spot]] = {}
    for own, strand in enumerate(strands):
        met = {of[spot] for spot in strand if spot in of}
        number = min(met, default=own)
        spots = dict.fromkeys(spot for spot in strand if spot not in of)
        inside[number] = [*inside.get(number, ()), *spots]
        for other in met - {number}:
            inside[number] += inside.pop(other)
        for spot in inside[number]:
            of[spot] = number
    return of
