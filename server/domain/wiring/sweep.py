"""The exact search: one sweep over the source columns for a fixed order and latch.

Sweep the source columns from left to right. Wires that want the same net and carry the same share of current are
interchangeable: undoing a crossing between two of them never adds another (exchange argument), so they meet their
targets in order across the ribbon, and *how many* of each kind have been placed says all about the past. A new wire
crosses exactly those placed before it whose target lies further right, which follows from the counts. Costs only add
up, so the best way to each state is kept and the rest forgotten (dynamic programming). A remote-sense line may end in
any contact of the net it senses; its target is part of the state. A pinned wire has one place and is put there when
the sweep comes by. The number of states is the product of the choices a supply really leaves open, usually a handful.
"""

from bisect import bisect_right
from collections import Counter, defaultdict
from collections.abc import Sequence

from server.domain.reference import sensed_net
from server.domain.wiring.frame import Place, Target
from server.domain.wiring.words import WIRES_PER_CONTACT, Cost

_Wires = list[tuple[Place, Target, bool]]
_State = tuple[tuple[int, ...], tuple[str, ...], tuple[int, ...], tuple[int, ...]]
"""Wires placed per kind, targets taken by sense lines, doubles and free contacts still to be spent per net."""
_Trail = tuple["_Trail | None", _Wires]
_States = dict[_State, tuple[Cost, _Trail | None]]
_NOTHING = Cost(0, 0, 0, 0, 0)


class Sweep:
    """One sweep over the source columns."""

    def __init__(self, places: Sequence[Place], targets: Sequence[Target]) -> None:
        """Sort wires into kinds, places into columns, and count what each net has to spare.

        Args:
            places: Live source cavities from left to right.
            targets: Part cavities that want a wire; the nets must suffice.
        """
        self.targets = targets
        self.x_of = {t.cavity: t.x for t in targets}
        self.pinned: dict[tuple[int, str], list[Target]] = defaultdict(list)
        for target in targets:
            if target.pinned is not None:
                self.pinned[target.pinned].append(target)
        free = [t for t in targets if t.pinned is None]
        kinds = sorted({(t.net, t.weight) for t in free})
        self.lists = [[t for t in free if (t.net, t.weight) == kind] for kind in kinds]
        self.xs = [[t.x for t in members] for members in self.lists]
        self.kinds_of_net = {net: [k for k, kind in enumerate(kinds) if kind[0] == net] for net, _ in kinds}
        self.columns: list[list[Place]] = []
        for place in places:
            if self.columns and self.columns[-1][0].x == place.x:
                self.columns[-1].append(place)
            else:
                self.columns.append([place])
        nets = sorted({p.net for p in places})
        self.slot = {net: i for i, net in enumerate(nets)}
        supplied = Counter(p.net for p in places if (p.plug, p.cavity) not in self.pinned)
        demanded = Counter(t.net for t in free)
        self.doubles_left = tuple(max(0, demanded[net] - supplied[net]) for net in nets)
        self.skips_left = tuple(max(0, supplied[net] - demanded[net]) for net in nets)
        self.sense_targets = {net: self._sense_targets(net) for net in nets if sensed_net(net)}

    def run(self) -> _Wires:
        """The cheapest complete wiring."""
        start: _State = ((0,) * len(self.lists), (), self.doubles_left, self.skips_left)
        states: _States = {start: (_NOTHING, None)}
        passed: list[tuple[Place, Target]] = []
        for column in self.columns:
            following: _States = {}
            for before, (cost, trail) in states.items():
                for after, step, wires in self._column(before, column, passed):
                    total = _sum(cost, step)
                    known = following.get(after)
                    if known is None or total < known[0]:
                        following[after] = (total, (trail, wires))
            states = following
            passed += [(place, t) for place in column for t in self.pinned.get((place.plug, place.cavity), ())]
        done = [
            (cost, trail)
            for (counts, _, _, _), (cost, trail) in states.items()
            if all(count == len(members) for count, members in zip(counts, self.lists, strict=True))
        ]
        _, trail = min(done, key=lambda entry: entry[0])
        chosen: _Wires = []
        while trail is not None:
            trail, wires = trail
            chosen[:0] = wires
        return chosen

    def _sense_targets(self, net: str) -> list[Target]:
        named = [t for t in self.targets if t.sensed_by == net]
        return named or self._same_net(net)

    def _same_net(self, net: str) -> list[Target]:
        """Contacts whose voltage a sense line of ``net`` could read."""
        return [t for t in self.targets if t.net == sensed_net(net) and t.weight]

    def _column(
        self, before: _State, column: list[Place], passed: list[tuple[Place, Target]]
    ) -> list[tuple[_State, Cost, _Wires]]:
        """Every way to use the cavities of one column; wires that start in the same column do not cross."""
        ways: list[tuple[_State, Cost, _Wires]] = [(before, _NOTHING, [])]
        for place in column:
            further = []
            for state, cost, wires in ways:
                for after, taken in self._cavity(state, place):
                    step = self._step(before, place, taken, passed)
                    further.append((after, _sum(cost, step), wires + [(place, t, sense) for t, sense in taken]))
            ways = further
        return ways

    def _cavity(self, state: _State, place: Place) -> list[tuple[_State, list[tuple[Target, bool]]]]:
        """Every way to use one cavity: left free, one wire, or two where doubles are needed at all."""
        counts, senses, doubles, skips = state
        if place.net in self.sense_targets:
            # A contact holds two wires, so a sense line takes one that no other sense line has; else it ends nowhere.
            options = [t for t in self.sense_targets[place.net] if t.cavity not in senses]
            options = options or [t for t in self._same_net(place.net) if t.cavity not in senses]
            if not options:
                return [(state, [])]
            return [((counts, (*senses, t.cavity), doubles, skips), [(t, True)]) for t in options]
        fixed = [(t, False) for t in self.pinned.get((place.plug, place.cavity), ())]
        kinds = self.kinds_of_net.get(place.net, [])
        i = self.slot[place.net]
        found: list[tuple[_State, list[tuple[Target, bool]]]] = []
        for picked in _pickings(kinds, len(fixed), doubles[i]):
            new = list(counts)
            taken = list(fixed)
            for k in picked:
                if new[k] < len(self.lists[k]):
                    taken.append((self.lists[k][new[k]], False))
                    new[k] += 1
            if len(taken) == len(fixed) + len(picked):
                left = doubles[i] - (len(picked) - (0 if fixed else 1))
                found.append(((tuple(new), senses, (*doubles[:i], left, *doubles[i + 1 :]), skips), taken))
        if fixed:
            found.append((state, fixed))
        elif not kinds:
            found.append((state, []))
        elif skips[i]:
            found.append(((counts, senses, doubles, (*skips[:i], skips[i] - 1, *skips[i + 1 :])), []))
        return found

    def _step(
        self, before: _State, place: Place, taken: list[tuple[Target, bool]], passed: list[tuple[Place, Target]]
    ) -> Cost:
        load = sum(t.weight for t, sense in taken if not sense)
        return Cost(
            max(0, len(taken) - 1) + sum(1 for _, sense in taken if sense),
            load * load,
            sum(self._crossed(before, t.x) + sum(p.x > t.x for _, p in passed) for t, _ in taken),
            sum(abs(place.x - t.x) for t, _ in taken),
            sum(place.row != t.row for t, _ in taken),
        )

    def _crossed(self, before: _State, x: int) -> int:
        """Free wires already placed, all further left at the source, whose target lies further right than ``x``."""
        counts, senses, _, _ = before
        placed = sum(max(0, count - bisect_right(xs, x)) for count, xs in zip(counts, self.xs, strict=True))
        return placed + sum(self.x_of[cavity] > x for cavity in senses)


def _pickings(kinds: list[int], fixed: int, doubles: int) -> list[tuple[int, ...]]:
    """Kinds of wire that may be added to a contact: one, two where doubles are left to spend, none beyond its hold."""
    one: list[tuple[int, ...]] = [(k,) for k in kinds]
    if fixed:
        return one if doubles and fixed < WIRES_PER_CONTACT else []
    return one + ([(a, b) for a in kinds for b in kinds if a <= b] if doubles else [])


def _sum(one: Cost, other: Cost) -> Cost:
    return Cost(
        one.doubles + other.doubles,
        one.unevenness + other.unevenness,
        one.crossings + other.crossings,
        one.shift + other.shift,
        one.row_changes + other.row_changes,
    )
