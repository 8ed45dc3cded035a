"""A cable on the bench with one fault put in on purpose, and a meter: an own simulation for the tests of the diagnosis.

It shares nothing with the diagnosis but the words for cavities: wires are read from the plan afresh, and what is joined
is found by walking from contact to contact.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations

from server.domain.continuity import Spot
from server.domain.model.catalogue import Housing
from server.domain.model.plan import RunPlan
from server.domain.test_sheet import Readings, TestSheet

Ends = dict[tuple[str, int], Spot | None]
"""By wire and place along it, the cavity that its contact is in; nothing for an end that touches none."""


@dataclass(frozen=True)
class PutIn:
    """A fault that was put in."""

    kind: str
    spots: frozenset[Spot]
    ends: tuple[tuple[tuple[str, int], Spot | None], ...]
    bridges: tuple[tuple[Spot, Spot], ...] = ()


def ends_of(run: RunPlan) -> Ends:
    found: Ends = {}
    for wire in run.wires:
        found[wire.label, 0] = Spot("end" if wire.source_at_end else "source", wire.source.plug, wire.source.cavity)
        for place, end in enumerate((*wire.taps, wire.target), start=1):
            found[wire.label, place] = Spot("end", end.plug, end.cavity)
    return found


def reads(sheet: TestSheet, put_in: PutIn, *, pick: int = 0) -> Readings:
    """What the meter says, check by check; where several cavities sound in a row, one of them is written down."""
    ends = dict(put_in.ends)

    def sounds(one: Spot, other: Spot) -> bool:
        return other in _reached(one, ends, put_in.bridges)

    heard = {row.key: [touch.group for touch in row.touches if sounds(row.held, touch.spot)] for row in sheet.rows}
    return Readings(
        {check.key: sounds(check.one, check.other) for check in sheet.joins},
        {key: groups[pick % len(groups)] if groups else "" for key, groups in heard.items()},
    )


def _reached(start: Spot, ends: Ends, bridges: tuple[tuple[Spot, Spot], ...]) -> set[Spot]:
    """Every cavity that a current from one cavity reaches; nothing from one without a contact."""
    if start not in ends.values() and all(start not in bridge for bridge in bridges):
        return set()
    seen, todo = {start}, [start]
    while todo:
        here = todo.pop()
        wires = {label for (label, _), spot in ends.items() if spot == here}
        beside = {spot for (label, _), spot in ends.items() if label in wires and spot is not None}
        for one, other in bridges:
            beside |= {other} if here == one else {one} if here == other else set()
        todo += beside - seen
        seen |= beside
    return seen


def every_fault(run: RunPlan, housings: Mapping[str, Housing]) -> Iterator[PutIn]:
    """Single faults of a run: opens, exchanges, contacts in empty cavities, touching neighbours and wires, mirrors."""
    ends = ends_of(run)
    whole = tuple(ends.items())
    spots = list(dict.fromkeys(spot for spot in ends.values() if spot is not None))
    for end, spot in ends.items():
        assert spot is not None
        yield PutIn("open", frozenset({spot}), tuple({**ends, end: None}.items()))
    for one, other in combinations(spots, 2):
        if one[:2] == other[:2]:
            swapped = {one: other, other: one}
            yield PutIn("exchanged", frozenset({one, other}), _renamed(ends, swapped))
            if _neighbours(_housing(run, one, housings), one.cavity, other.cavity):
                yield PutIn("short", frozenset({one, other}), whole, ((one, other),))
    for side, index in dict.fromkeys(spot[:2] for spot in spots):
        used = [spot for spot in spots if spot[:2] == (side, index)]
        housing = _housing(run, used[0], housings)
        for name in _names(housing):
            empty = Spot(side, index, name)
            if empty not in used:
                for spot in used:
                    yield PutIn("misplaced", frozenset({spot, empty}), _renamed(ends, {spot: empty}))
        mirror = {spot: Spot(side, index, _mirrored(housing, spot.cavity)) for spot in used}
        if housing.numbering != "twelve_plus_four" and any(spot != other for spot, other in mirror.items()):
            yield PutIn("turned", frozenset(used), _renamed(ends, mirror))


def _renamed(ends: Ends, names: Mapping[Spot, Spot]) -> tuple[tuple[tuple[str, int], Spot | None], ...]:
    return tuple((end, names.get(spot, spot) if spot else None) for end, spot in ends.items())


def _housing(run: RunPlan, spot: Spot, housings: Mapping[str, Housing]) -> Housing:
    return housings[(run.sources if spot.side == "source" else run.ends)[spot.plug].housing]


def _names(housing: Housing) -> list[str]:
    power = 12 if housing.numbering == "twelve_plus_four" else housing.positions
    return [str(n + 1) for n in range(power)] + [f"S{n + 1}" for n in range(housing.positions - power)]


def _place(housing: Housing, name: str) -> tuple[int, int] | None:
    """(column, row) of a cavity by its number alone, counted from cavity 1; nothing for a signal cavity."""
    if name.startswith("S"):
        return None
    n, columns = int(name) - 1, 6 if housing.numbering == "twelve_plus_four" else housing.columns
    return (n // 2, n % 2) if housing.numbering == "odd_even" else (n % columns, n // columns)


def _neighbours(housing: Housing, one: str, other: str) -> bool:
    here, there = _place(housing, one), _place(housing, other)
    return bool(here and there) and abs(here[0] - there[0]) + abs(here[1] - there[1]) == 1  # type: ignore[index]


def _mirrored(housing: Housing, name: str) -> str:
    place = _place(housing, name)
    if place is None:
        return name
    column, row = housing.columns - 1 - place[0], place[1]
    return str((2 * column + row if housing.numbering == "odd_even" else row * housing.columns + column) + 1)


def visible(sheet: TestSheet, readings: Readings) -> bool:
    """Whether anything does not read as on a sound cable."""
    return not all(readings.joined.values()) or any(readings.sounds.values())
