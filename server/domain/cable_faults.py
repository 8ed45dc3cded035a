"""Everything that may be wrong with one finished cable, one fault at a time: what is then joined to what, in words.

A cable is a number of strands, each a set of cavities that are joined. A fault takes a cavity out of a strand, puts
another in its place, or adds a strand of its own.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations
from typing import Final, Literal

from server.domain.continuity import Group, Lead, Side, Spot, end_name, groups_of, leads_of, name_of, plug_name
from server.domain.housings import Cavity, cavities
from server.domain.model.catalogue import Housing
from server.domain.model.plan import RunPlan

FaultKind = Literal["open", "exchanged", "short", "misplaced", "turned", "supply", "meter"]
Strands = tuple[tuple[Spot, ...], ...]
FAR: Final = 100
"""How far apart two cavities of different plugs are taken to be, in pitches."""
_LOOSE: Final = "out of its cavity"
AGAIN: Final = "then test the run again from the top."


@dataclass(frozen=True, slots=True)
class CableFault:
    """One thing that may be wrong with a cable."""

    kind: FaultKind
    words: str
    advice: str
    strands: Strands
    spots: tuple[Spot, ...]
    """Cavities to look at first."""
    near: int
    """How far apart the cavities are that it concerns, in pitches: neighbours are mixed up before others."""


@dataclass(frozen=True, slots=True)
class _Cable:
    """A run with its plugs looked up."""

    run: RunPlan
    leads: tuple[Lead, ...]
    groups: tuple[Group, ...]
    places: Mapping[tuple[Side, int], Mapping[str, Cavity]]
    """By plug: its cavities where the housing is known."""

    @property
    def sound(self) -> Strands:
        return tuple(lead.spots for lead in self.leads)

    def at(self, spot: Spot) -> list[Lead]:
        """Wires that are in a cavity."""
        return [lead for lead in self.leads if spot in lead.spots]

    def who(self, spot: Spot) -> str:
        """Labels of the wires in a cavity; of a joint contact, all of them."""
        return " with ".join(lead.label for lead in self.at(spot))

    def name(self, spot: Spot) -> str:
        return name_of(self.run, spot)

    def end(self, spot: Spot) -> str:
        return end_name(self.run, spot.side, spot.plug)

    def where(self, *spots: Spot) -> str:
        """Cavities of one plug in words: ``cavities 4 and 5 of Board main power``; a letter names the plug."""
        first = spots[0]
        told = " and ".join(spot.cavity for spot in spots)
        word = "cavity" if len(spots) == 1 else "cavities"
        lettered = first.side == "end" and len(self.run.ends) > 1
        return f"{word} {told}" + ("" if lettered else f" of {plug_name(self.run, first.side, first.plug)}")

    def used(self, side: Side, plug: int) -> list[Spot]:
        """Cavities of a plug that hold wires, in the order of the wires."""
        spots = (spot for lead in self.leads for spot in lead.spots)
        return list(dict.fromkeys(spot for spot in spots if (spot.side, spot.plug) == (side, plug)))

    def apart(self, one: Spot, other: Spot) -> int:
        """Distance of two cavities in pitches; 1 for neighbours."""
        if (one.side, one.plug) != (other.side, other.plug):
            return FAR
        places = self.places[one.side, one.plug]
        if one.cavity not in places or other.cavity not in places:
            return FAR - 1
        here, there = places[one.cavity], places[other.cavity]
        # The signal cavities of 12+4 lie half a pitch beside the others, and meet both.
        return max(1, int(abs(here.column - there.column) + 0.5) + abs(here.row - there.row))

    def empty(self, side: Side, plug: int) -> list[Spot]:
        """Cavities of a plug that hold no wire."""
        used = set(self.used(side, plug))
        spots = (Spot(side, plug, name) for name in self.places[side, plug])
        return [spot for spot in spots if spot not in used]


def cable_faults(run: RunPlan, housings: Mapping[str, Housing]) -> Iterator[CableFault]:
    """Every single fault of a run's cable, those included that no reading of its sheet shows.

    Args:
        run: The planned run.
        housings: The catalogue's housings.
    """
    sides: tuple[tuple[Side, int], ...] = (
        *(("source", index) for index in range(len(run.sources))),
        *(("end", index) for index in range(len(run.ends))),
    )
    places = {}
    for side, index in sides:
        plug = (run.sources if side == "source" else run.ends)[index]
        housing = housings.get(plug.housing)
        places[side, index] = {cavity.name: cavity for cavity in cavities(housing)} if housing else {}
    cable = _Cable(run, leads_of(run), groups_of(run), places)
    for make in (_open, _unseated, _exchanged, _misplaced, _shorted, _turned):
        yield from make(cable)


def _open(cable: _Cable) -> Iterator[CableFault]:
    """A wire that makes no contact at one end or tap, or is broken between two plugs that press it."""
    for index, lead in enumerate(cable.leads):
        whole = cable.sound
        rest = (*whole[:index], *whole[index + 1 :])
        for spot in lead.spots:
            strand = tuple(other for other in lead.spots if other != spot)
            words = f"{lead.label} makes no contact at {cable.end(spot)} ({cable.where(spot)})"
            advice = (
                f"Pull gently at {lead.label}: seat the contact until it clicks, or crimp or press it anew; {AGAIN}"
            )
            yield CableFault("open", words, advice, (*rest, strand), (spot,), 0)
        for place in range(2, len(lead.spots) - 1):
            before, after = lead.spots[place - 1], lead.spots[place]
            words = f"{lead.label} is broken between {cable.end(before)} and {cable.end(after)}"
            advice = f"Look for a nick between the two plugs and replace {lead.label}; {AGAIN}"
            strands = (*rest, lead.spots[:place], lead.spots[place:])
            yield CableFault("open", words, advice, strands, (before, after), 1)


def _unseated(cable: _Cable) -> Iterator[CableFault]:
    """A contact with several wires that is not in its cavity: the wires stay joined to each other."""
    for spot in dict.fromkeys(spot for lead in cable.leads for spot in lead.spots):
        if len(cable.at(spot)) > 1:
            loose = Spot(spot.side, spot.plug, _LOOSE)
            words = f"the contact of {cable.who(spot)} is not seated at {cable.end(spot)} ({cable.where(spot)})"
            advice = f"Push it in until it clicks, and pull gently at both wires; {AGAIN}"
            yield CableFault("open", words, advice, _renamed(cable, {spot: loose}), (spot,), 0)


def _exchanged(cable: _Cable) -> Iterator[CableFault]:
    """Two contacts, or two wires of different contacts, that are exchanged at one end."""
    spots = list(dict.fromkeys(spot for lead in cable.leads for spot in lead.spots))
    pressed = {spot for lead in cable.leads if len(lead.spots) > 2 for spot in lead.spots if spot.side == "end"}
    for one, other in combinations(spots, 2):
        far = cable.apart(one, other)
        if one.side != other.side or (far == FAR and {one, other} & pressed):
            continue
        strands = _renamed(cable, {one: other, other: one})
        yield _swap(cable, (one, other), (cable.who(one), cable.who(other)), strands, far)
        if len(cable.at(one)) > 1 or len(cable.at(other)) > 1:
            for first in cable.at(one):
                for second in cable.at(other):
                    if first is not second:
                        strands = _moved(cable, {first.label: (one, other), second.label: (other, one)})
                        yield _swap(cable, (one, other), (first.label, second.label), strands, far + 1)


def _swap(cable: _Cable, spots: tuple[Spot, Spot], labels: tuple[str, str], strands: Strands, far: int) -> CableFault:
    one, other = spots
    if one.plug != other.plug:
        where = f"{cable.name(one)} and {cable.name(other)}"
        words = f"{labels[0]} and {labels[1]} are exchanged between two plugs ({where})"
    else:
        words = f"{labels[0]} and {labels[1]} are exchanged at {cable.end(one)} ({cable.where(one, other)})"
    advice = f"Free both, put {labels[0]} into {one.cavity} and {labels[1]} into {other.cavity}; {AGAIN}"
    return CableFault("exchanged", words, advice, strands, spots, far)


def _misplaced(cable: _Cable) -> Iterator[CableFault]:
    """A contact in an empty cavity of its plug, or a wire in the contact of a neighbour."""
    for side, plug in cable.places:
        empty = cable.empty(side, plug)
        used = cable.used(side, plug)
        for spot in used:
            for other in empty:
                words = _place_words(cable, cable.who(spot), spot, other, "")
                advice = f"Free it and put it into {spot.cavity}; {AGAIN}"
                strands = _renamed(cable, {spot: other})
                yield CableFault("misplaced", words, advice, strands, (spot, other), cable.apart(spot, other))
            for other in (held for held in used if held != spot and cable.apart(spot, held) == 1):
                for lead in cable.at(spot):
                    who = f", in one contact with {cable.who(other)}"
                    words = _place_words(cable, lead.label, spot, other, who)
                    advice = f"Take it out of that contact, and give {spot.cavity} a contact of its own; {AGAIN}"
                    strands = _moved(cable, {lead.label: (spot, other)})
                    yield CableFault("misplaced", words, advice, strands, (spot, other), 3)


def _place_words(cable: _Cable, label: str, spot: Spot, other: Spot, how: str) -> str:
    lettered = spot.side == "end" and len(cable.run.ends) > 1
    plug = "" if lettered else f" ({plug_name(cable.run, spot.side, spot.plug)})"
    return f"{label} is in cavity {other.cavity} instead of {spot.cavity} at {cable.end(spot)}{plug}{how}"


def _shorted(cable: _Cable) -> Iterator[CableFault]:
    """Two neighbours of a plug that touch, and any two wires that do somewhere along the cable."""
    for side, plug in cable.places:
        for one, other in combinations(cable.used(side, plug), 2):
            if cable.apart(one, other) == 1 and not set(_labels(cable, one)) & set(_labels(cable, other)):
                words = f"{cable.who(one)} and {cable.who(other)} touch at {cable.end(one)} ({cable.where(one, other)})"
                advice = f"Look for loose strands between the two contacts, cut them off or crimp anew; {AGAIN}"
                yield CableFault("short", words, advice, (*cable.sound, (one, other)), (one, other), 1)
    for first, second in combinations(cable.groups, 2):
        words = f"{first.labels[0]} and {second.labels[0]} touch somewhere along the cable"
        advice = f"Bend the cable while the meter sounds: look for cut insulation where it stops; {AGAIN}"
        spots = (first.source, second.source)
        yield CableFault("short", words, advice, (*cable.sound, spots), (first.end, second.end), 2)


def _labels(cable: _Cable, spot: Spot) -> list[str]:
    return [lead.label for lead in cable.at(spot)]


def _turned(cable: _Cable) -> Iterator[CableFault]:
    """All wires of one plug put in as in a mirror, by half a turn, or with its two rows exchanged."""
    turns: tuple[tuple[str, Callable[[float, int, float, int], tuple[float, int]]], ...] = (
        ("as in a mirror, left for right", lambda column, row, last, _rows: (last - column, row)),
        ("turned by half a turn", lambda column, row, last, rows: (last - column, rows - row)),
        ("with its two rows exchanged", lambda column, row, _last, rows: (column, rows - row)),
    )
    for (side, plug), places in cable.places.items():
        used = cable.used(side, plug)
        if len(used) < 2 or not all(spot.cavity in places for spot in used):
            continue
        columns, rows = max(c.column for c in places.values()), max(c.row for c in places.values())
        by_place = {(cavity.column, cavity.row): name for name, cavity in places.items()}
        for words, turn in turns:
            held = {
                spot: by_place.get(turn(places[spot.cavity].column, places[spot.cavity].row, columns, rows))
                for spot in used
            }
            names = {spot: Spot(side, plug, name) for spot, name in held.items() if name is not None}
            if len(names) < len(used) or all(spot == other for spot, other in names.items()):
                continue
            lettered = side == "end" and len(cable.run.ends) > 1
            name = "" if lettered else f" ({plug_name(cable.run, side, plug)})"
            told = f"all wires at {end_name(cable.run, side, plug)}{name} are put in {words}"
            advice = f"Hold it beside its face on the card, wires towards you, and put every wire in anew; {AGAIN}"
            yield CableFault("turned", told, advice, _renamed(cable, names), tuple(used), 1)


def _renamed(cable: _Cable, names: Mapping[Spot, Spot]) -> Strands:
    """Strands with whole contacts in other cavities."""
    return tuple(tuple(names.get(spot, spot) for spot in lead.spots) for lead in cable.leads)


def _moved(cable: _Cable, moves: Mapping[str, tuple[Spot, Spot]]) -> Strands:
    """Strands with single wires in other contacts: by label, from where to where."""
    made = []
    for lead in cable.leads:
        here, there = moves.get(lead.label, (None, None))
        made.append(tuple(there if there and spot == here else spot for spot in lead.spots))
    return tuple(made)
