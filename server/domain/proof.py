"""The proof of a plan: whoever makes a cable from its card joins equal nets, feeds every part, crimps what fits.

Nothing here is shared with the modules that make plans. Only the finished plan, the build and the catalogue are read,
and every cavity is looked up afresh, so that a slip in the search, the labels or the look-up cannot hide itself. It is
longer than other modules because it must not lean on them.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import Final, Literal, NamedTuple, Protocol

from server.domain.model.build import SUPPLY, Build, PlugRef, Run
from server.domain.model.catalogue import Catalogue, Housing, Pin, Role
from server.domain.model.plan import Joint, PlannedWire, RunPlan, WireEnd

Rule = Literal[
    "run", "socket", "port", "cavity", "not_connected", "optional", "forbidden", "net", "sense", "unfed", "fed_twice",
    "shared", "too_many", "joint", "contact", "gauge", "insulation", "holds", "label", "chain", "fork", "tap",
    "straight", "cap", "mark",
]  # fmt: skip
"""What is broken, as one short word; the functions below say each rule in full."""
TOLD_AS_FINDINGS: Final[frozenset[Rule]] = frozenset({"gauge", "insulation", "holds"})
"""Rules of fit that the plan tells the builder as findings of their own; they make a cable hard to build, not wrong."""

WIRES_MOST: Final = 2
"""Wires crimped into one contact. Source: common practice."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One rule that a plan breaks."""

    run: int
    """Number of the run."""
    wire: str
    """Label of the wire; empty when the fault is the run's."""
    rule: Rule
    text: str


class _Spot(NamedTuple):
    """One contact of a run."""

    at_end: bool
    """True for a part plug, False for a source plug."""
    plug: int
    cavity: str


@dataclass(frozen=True, slots=True)
class _Side:
    """One plug as the catalogue and the layout have it."""

    role: Role
    housing: Housing
    carries: Mapping[str, str]
    """Net by cavity, recorded; empty when not connected."""
    pins: Mapping[str, Pin]
    """Cavities of the pinout; none for a port of the supply."""


@dataclass(frozen=True, slots=True)
class _Case:
    """A planned run with its plugs looked up; ``None`` for a plug that meets no socket."""

    run: RunPlan
    choice: Run
    sources: tuple[_Side | None, ...]
    ends: tuple[_Side | None, ...]
    catalogue: Catalogue

    def side(self, spot: _Spot) -> _Side | None:
        """The plug that a contact is in, or ``None``."""
        plugs = self.ends if spot.at_end else self.sources
        return plugs[spot.plug] if 0 <= spot.plug < len(plugs) else None

    def carried(self, spot: _Spot) -> str:
        """Net recorded for a source cavity; empty for every other contact."""
        side = self.side(spot)
        return side.carries.get(spot.cavity, "") if side and not spot.at_end else ""

    def pin(self, spot: _Spot) -> Pin | None:
        """Cavity of a part plug as its pinout has it, if it may hold a wire at all."""
        side = self.side(spot)
        pin = side.pins.get(spot.cavity) if side and spot.at_end else None
        return None if pin is None or pin.need == "not_connected" else pin

    def sensing(self, wire: PlannedWire) -> str:
        """Net that a wire reads when it is a remote-sense line, else empty."""
        carried = self.carried(_start(wire))
        pin = self.pin(_stops(wire)[-1])
        return "" if pin is not None and carried in pin.accepts else _sensed(carried)

    def name(self, spot: _Spot) -> str:
        """A contact in words."""
        plugs = self.run.ends if spot.at_end else self.run.sources
        where = f"{plugs[spot.plug].place}, {plugs[spot.plug].socket}" if 0 <= spot.plug < len(plugs) else "no plug"
        return f"cavity {spot.cavity} of {where}"

    def crimped(self, wire: PlannedWire, end: WireEnd) -> bool:
        """False where the builder crimps nothing: the supply's own cable, or a wire that ends in a joint."""
        return end.crimped and not self.own(wire, end)

    def own(self, wire: PlannedWire, end: WireEnd) -> bool:
        """True at the source end of the supply's own wire, where its maker's contact stays."""
        return self.run.method == "rework" and end is wire.source and not wire.source_at_end and not end.contact


class Planned(Protocol):
    """Whatever holds the runs that are to be proved, such as a finished plan."""

    @property
    def runs(self) -> tuple[RunPlan, ...]:
        """The runs as they are planned."""


_Told = Iterator[tuple[str, Rule, str]]
"""Wire label, rule, text."""


def faults(plan: Planned, build: Build, catalogue: Catalogue) -> tuple[Fault, ...]:
    """Every rule that a finished plan breaks, run by run.

    Args:
        plan: The plan to prove.
        build: The build it was made from.
        catalogue: Reference data, the builder's own layouts included.

    Returns:
        The faults; empty when the plan is proved. Runs without wires have nothing to prove but their plugs.

    Example:
        Run 4 feeds a 6-position graphics inlet, whose cavity 5 takes COM. Its wire 4-05 starts in cavity 2 of the port,
        for which the layout records +12V. The proof answers ``Fault(4, "4-05", "net", "+12V from cavity 2 of … meets
        cavity 5 of …, which takes COM")``. Started in a COM cavity, nothing is answered.
    """
    choices = {run.id: run for run in build.runs}
    found = list(_plugged_twice(plan.runs)) + list(_labels(plan.runs))
    for run in plan.runs:
        choice = choices.get(run.id)
        if choice is None:
            found.append(Fault(run.number, "", "run", "the build has no such run"))
            continue
        sources = tuple(_look_up(plug.ref, build, catalogue) for plug in run.sources)
        ends = tuple(_look_up(plug.ref, build, catalogue) for plug in run.ends)
        if run.method == "extension":
            sources = tuple(_own_cable(source, ends, catalogue) for source in sources)
        case = _Case(run, choice, sources, ends, catalogue)
        found += [Fault(run.number, label, rule, text) for label, rule, text in _run(case)]
    return tuple(dict.fromkeys(found))


def _run(case: _Case) -> _Told:
    yield from _plugs(case)
    if case.run.wires:
        for prove in (_places, _meetings, _sense, _feeds, _held, _joints, _crimps, _stretches, _caps, _marks):
            yield from prove(case)


# ---- looked up afresh -----------------------------------------------------------------------------------------------


def _look_up(ref: PlugRef, build: Build, catalogue: Catalogue) -> _Side | None:
    """The socket that a plug goes into, from the layout's or the pinout's own record."""
    if ref.part == SUPPLY:
        layout = catalogue.earlier.get((build.supply, build.supply_version)) or catalogue.supplies.get(build.supply)
        port = next((p for p in layout.ports if p.id == ref.socket), None) if layout else None
        housing = catalogue.housings.get(port.housing) if port else None
        return _Side("outlet", housing, {p.cavity: p.net for p in port.pins}, {}) if port and housing else None
    pinout = next(
        (
            catalogue.pinouts.get(socket.pinout)
            for part in build.parts
            if part.id == ref.part
            for socket in part.sockets
            if socket.id == ref.socket
        ),
        None,
    )
    housing = catalogue.housings.get(pinout.housing) if pinout else None
    if pinout is None or housing is None:
        return None
    nets = {pin.cavity: "" if pin.need == "not_connected" else pin.net for pin in pinout.pins}
    return _Side(pinout.role, housing, nets, {pin.cavity: pin for pin in pinout.pins})


def _own_cable(port: _Side | None, ends: Sequence[_Side | None], catalogue: Catalogue) -> _Side | None:
    """The mating half on the supply's own cable: made for this inlet, so it carries what the inlet wants."""
    end = ends[0] if ends else None
    housing = catalogue.housings.get(end.housing.mates_with) if end else None
    return _Side("outlet", housing, end.carries, {}) if port and end and housing else None


@lru_cache(maxsize=512)
def _cavities(housing: Housing) -> frozenset[str]:
    """Names of a housing's cavities, from its kind of numbering alone.

    Example:
        A 12+4 plug has the cavities 1 to 12 and S1 to S4; a 24-position plug 1 to 24.
    """
    power = 12 if housing.numbering == "twelve_plus_four" else housing.positions
    signal = housing.positions - power
    return frozenset([str(i + 1) for i in range(power)] + [f"S{i + 1}" for i in range(signal)])


def _sensed(net: str) -> str:
    """Net that a remote-sense line reads, or an empty word.

    Example:
        >>> _sensed("+3.3V_SENSE"), _sensed("SENSE0")
        ('+3.3V', '')
    """
    base, mark, rest = net.partition("_SENSE")
    return base if mark and not rest else ""


def _start(wire: PlannedWire) -> _Spot:
    return _Spot(wire.source_at_end, wire.source.plug, wire.source.cavity)


def _stops(wire: PlannedWire) -> list[_Spot]:
    """Part contacts that a wire passes, the one it ends in last."""
    return [_Spot(True, end.plug, end.cavity) for end in (*wire.taps, wire.target)]


def _ends(wire: PlannedWire) -> list[tuple[_Spot, WireEnd]]:
    return list(zip([_start(wire), *_stops(wire)], [wire.source, *wire.taps, wire.target], strict=True))


# ---- the whole plan -------------------------------------------------------------------------------------------------


def _plugged_twice(runs: Iterable[RunPlan]) -> Iterator[Fault]:
    """A socket takes one plug."""
    seen: dict[tuple[str, str], int] = {}
    for run in runs:
        for plug in (*run.sources, *run.ends):
            where = plug.ref.part, plug.ref.socket
            if where in seen:
                text = f"{plug.place}, {plug.socket} already holds a plug of run {seen[where]}"
                yield Fault(run.number, "", "port", text)
            seen[where] = run.number


def _labels(runs: Iterable[RunPlan]) -> Iterator[Fault]:
    """No two wires of a plan are marked alike."""
    seen: set[str] = set()
    for run in runs:
        for wire in run.wires:
            for word in (wire.label, wire.id):
                if word in seen:
                    yield Fault(run.number, wire.label, "label", f"two wires are marked {word}")
            seen |= {wire.label, wire.id}


# ---- one run --------------------------------------------------------------------------------------------------------


def _plugs(case: _Case) -> _Told:
    """Every plug is one that the build asks for, meets a socket that fits it and shows the nets recorded there."""
    run, choice = case.run, case.choice
    asked = {(ref.part, ref.socket) for ref in choice.sources}
    if [(p.ref.part, p.ref.socket) for p in run.ends] != [(ref.part, ref.socket) for ref in choice.ends] or not {
        (p.ref.part, p.ref.socket) for p in run.sources
    } <= asked:
        yield "", "run", "its plugs are not those that the build asks for"
    for plugs, sides, role in ((run.sources, case.sources, "outlet"), (run.ends, case.ends, "inlet")):
        for plug, side in zip(plugs, sides, strict=True):
            where = f"{plug.place}, {plug.socket}"
            if side is None or side.role != role:
                yield "", "socket", f"{where} is no socket that {'gives' if role == 'outlet' else 'takes'}"
            elif plug.housing != side.housing.id:
                yield "", "socket", f"{where} needs the housing {side.housing.id}, not {plug.housing}"
            elif run.method != "extension" and dict(plug.nets) != side.carries:
                yield "", "socket", f"{where} is shown with other nets than are recorded for it"


def _places(case: _Case) -> _Told:
    """Both ends of every wire exist, are connected, and may be used."""
    for wire in case.run.wires:
        start, stops = _start(wire), _stops(wire)
        for spot in (start, *stops):
            side = case.side(spot)
            if side is None or spot.cavity not in _cavities(side.housing):
                yield wire.label, "cavity", f"{case.name(spot)} does not exist"
        side = case.side(start)
        if side is not None and not start.at_end and not case.carried(start):
            yield wire.label, "not_connected", f"{case.name(start)} is not connected"
        if not start.at_end and case.run.method != "extension" and 0 <= start.plug < len(case.run.sources):
            ref = case.run.sources[start.plug].ref
            if any((f.part, f.socket, f.cavity) == (ref.part, ref.socket, start.cavity) for f in case.choice.forbidden):
                yield wire.label, "forbidden", f"the build forbids {case.name(start)}"
        for spot in stops:
            pin = case.pin(spot)
            if case.side(spot) is not None and pin is None:
                yield wire.label, "not_connected", f"{case.name(spot)} is not connected"
            elif pin is not None and pin.need == "optional" and spot.cavity not in case.choice.optional:
                yield wire.label, "optional", f"{case.name(spot)} is optional and was not asked for"


def _meetings(case: _Case) -> _Told:
    """Whatever is joined, by however many wires, has one net, and every part contact in it takes that net."""
    wires = [wire for wire in case.run.wires if not case.sensing(wire)]
    for group in _joined(wires):
        inside = [wire for wire in wires if _start(wire) in group]
        roots = sorted(spot for spot in group if not spot.at_end)
        nets = {net: spot for spot in reversed(roots) if (net := case.carried(spot))}
        if not roots:
            yield inside[0].label, "chain", f"{case.name(_start(inside[0]))} is fed by no wire"
        if len(nets) > 1:
            yield inside[0].label, "net", f"{' and '.join(sorted(nets))} meet"
        for wire in inside:
            if nets and wire.net not in nets:
                yield wire.label, "net", f"it is planned as {wire.net} and joins {' and '.join(sorted(nets))}"
            for spot in _stops(wire):
                pin = case.pin(spot)
                for net, root in nets.items():
                    if pin is not None and net not in pin.accepts:
                        text = f"{net} from {case.name(root)} meets {case.name(spot)}, which takes "
                        yield wire.label, "net", text + " or ".join(pin.accepts)


def _joined(wires: Iterable[PlannedWire]) -> list[set[_Spot]]:
    """Contacts that wires join, directly or through others.

    Example:
        Wires from A to B, from B to C and from D to E join {A, B, C} and {D, E}.
    """
    groups: list[set[_Spot]] = []
    for wire in wires:
        merged = {_start(wire), *_stops(wire)}
        apart = []
        for group in groups:
            if group.isdisjoint(merged):
                apart.append(group)
            else:
                merged |= group
        groups = [*apart, merged]
    return groups


def _sense(case: _Case) -> _Told:
    """A remote-sense line ends in a contact that takes the net it reads, and says so."""
    for wire in case.run.wires:
        base, carried = case.sensing(wire), case.carried(_start(wire))
        if not base:
            continue
        if wire.net != carried:
            yield wire.label, "net", f"it is planned as {wire.net} and starts from {carried}"
        for spot in _stops(wire):
            pin = case.pin(spot)
            if pin is not None and base not in pin.accepts:
                yield wire.label, "sense", f"it reads {base}, but {case.name(spot)} takes {' or '.join(pin.accepts)}"


def _feeds(case: _Case) -> _Told:
    """Every required cavity of every part plug is fed once, no cavity twice; sense lines beside it do not count."""
    fed: dict[_Spot, list[str]] = defaultdict(list)
    for wire in case.run.wires:
        if not case.sensing(wire):
            for spot in _stops(wire):
                fed[spot].append(wire.label)
    for index, side in enumerate(case.ends):
        for cavity, pin in side.pins.items() if side else ():
            spot = _Spot(True, index, cavity)
            if pin.need == "required" and spot not in fed:
                yield "", "unfed", f"{case.name(spot)} is fed by no wire"
    for spot, labels in fed.items():
        if len(labels) > 1:
            yield labels[-1], "fed_twice", f"{case.name(spot)} is fed by {' and '.join(labels)}"


def _held(case: _Case) -> _Told:
    """A contact holds one wire, or two that name each other; joints take wires out of the contact."""
    held: dict[_Spot, list[tuple[PlannedWire, WireEnd]]] = defaultdict(list)
    for wire in case.run.wires:
        for spot, end in _ends(wire):
            if case.crimped(wire, end) or case.own(wire, end):
                held[spot].append((wire, end))
    for spot, inside in held.items():
        labels = [wire.label for wire, _ in inside]
        if len(inside) > WIRES_MOST:
            yield labels[-1], "too_many", f"{case.name(spot)} holds {len(inside)} wires"
        for index, (wire, end) in enumerate(inside):
            others = sorted(labels[:index] + labels[index + 1 :])
            if sorted(end.shared_with) != others and not case.own(wire, end):
                told = " and ".join(end.shared_with) or "nobody"
                text = f"{case.name(spot)} is shared with {' and '.join(others) or 'nobody'}, but the plan says {told}"
                yield wire.label, "shared", text
        contact = case.catalogue.contacts.get(inside[0][1].contact)
        if contact is not None and len(inside) > contact.wires_max:
            yield labels[-1], "holds", f"{case.name(spot)} holds {len(inside)} wires; its contact {contact.wires_max}"


def _joints(case: _Case) -> _Told:
    """A wire that starts without a contact is soldered to one that has it; a bridge within a plug is agreed."""
    run = case.run
    at: dict[_Spot, list[PlannedWire]] = defaultdict(list)
    for wire in run.wires:
        for spot, _ in _ends(wire):
            at[spot].append(wire)
    for joint in run.joints:
        spot = _Spot(not joint.at_source, joint.plug, joint.cavity)
        strangers = sorted(set(joint.labels) - {wire.label for wire in at[spot]})
        if strangers:
            yield strangers[0], "joint", f"the {joint.kind} at {case.name(spot)} names a wire that does not come there"
    for wire in run.wires:
        start = _start(wire)
        if wire.source_at_end and wire.source.plug == wire.target.plug and not _bridged(run.joints, wire):
            yield wire.label, "joint", f"it stays within one plug, {case.name(start)}, and no jumper is agreed"
        for spot, end in _ends(wire):
            if case.crimped(wire, end) or case.own(wire, end):
                continue
            # Somebody must hold the contact, and the joint must name both.
            holders = [other.label for other in at[spot] if other is not wire and _holds(case, other, spot)]
            if not any(_soldered(run.joints, spot, wire.label, holder) for holder in holders):
                yield wire.label, "joint", f"it has no contact at {case.name(spot)}, and no joint says where it goes"


def _holds(case: _Case, wire: PlannedWire, spot: _Spot) -> bool:
    """True when a wire is crimped into a contact."""
    return any(where == spot and case.crimped(wire, end) for where, end in _ends(wire))


def _soldered(joints: Iterable[Joint], spot: _Spot, one: str, other: str) -> bool:
    return any(
        joint.kind != "jumper"
        and _Spot(not joint.at_source, joint.plug, joint.cavity) == spot
        and {one, other} <= set(joint.labels)
        for joint in joints
    )


def _bridged(joints: Iterable[Joint], wire: PlannedWire) -> bool:
    return any(
        joint.kind == "jumper"
        and wire.label in joint.labels
        and (joint.at_source, joint.plug) == (False, wire.target.plug)
        and {joint.cavity, joint.other_cavity} == {wire.source.cavity, wire.target.cavity}
        for joint in joints
    )


def _crimps(case: _Case) -> _Told:
    """Every contact belongs into its housing's cavity and takes the wire's copper and insulation."""
    catalogue = case.catalogue
    stocks = {(stock.awg, stock.insulation): stock for stock in catalogue.wires.values()}
    for wire in case.run.wires:
        stock = stocks.get((wire.awg, wire.insulation))
        if stock is None:
            yield wire.label, "gauge", f"no {wire.awg} AWG wire of {wire.insulation} insulation is listed"
        for spot, end in _ends(wire):
            side = case.side(spot)
            if side is None or not case.crimped(wire, end):
                continue
            contact = catalogue.contacts.get(end.contact)
            if contact is None:
                rule: Rule = "contact" if end.contact else "gauge"
                yield wire.label, rule, f"no contact for {wire.awg} AWG is listed for {case.name(spot)}"
                continue
            housing = side.housing
            signal = housing.numbering == "twelve_plus_four" and spot.cavity.startswith("S")
            kind = housing.family, housing.gender, signal
            if (contact.family, contact.gender, contact.signal) != kind:
                yield wire.label, "contact", f"{contact.name} does not belong into {case.name(spot)}"
            # Two wires fill a contact together: neither may be thicker than it takes, either may be thinner.
            thinnest = max(contact.awg_thinnest, wire.awg) if end.shared_with else contact.awg_thinnest
            if not contact.awg_thickest <= wire.awg <= thinnest:
                limits = f"{contact.awg_thickest} to {contact.awg_thinnest} AWG"
                yield wire.label, "gauge", f"{wire.awg} AWG lies outside {limits} of {contact.name}"
            if stock and not contact.insulation_min_mm <= stock.outside_mm <= contact.insulation_max_mm:
                limits = f"{contact.insulation_min_mm:g} to {contact.insulation_max_mm:g} mm"
                yield wire.label, "insulation", f"{stock.outside_mm:g} mm lies outside {limits} of {contact.name}"


def _stretches(case: _Case) -> _Told:
    """A chain goes on from plug to plug; a fork starts every wire at a source; an extension goes straight through."""
    run, forked = case.run, case.choice.branching == "fork" and len(case.run.ends) > 1
    if (run.kind == "fork") != forked:
        yield "", "run", f"it is shown as {run.kind}, and its plugs are asked for as {case.choice.branching}"
    for wire in run.wires:
        if not _within_plug(wire):
            prove = _straight_from_source if forked else _onward
            yield from ((wire.label, rule, text) for rule, text in prove(case, wire))
        if run.method == "extension" and not wire.source_at_end and wire.source.cavity != wire.target.cavity:
            yield wire.label, "straight", f"cavity {wire.source.cavity} does not go straight to {wire.target.cavity}"


def _within_plug(wire: PlannedWire) -> bool:
    """True for a bridge from one cavity of a part plug to another of it, which the joints prove."""
    return wire.source_at_end and [spot.plug for spot in _stops(wire)] == [wire.source.plug]


def _straight_from_source(case: _Case, wire: PlannedWire) -> Iterator[tuple[Rule, str]]:
    """A wire of a fork starts at a source and meets one part plug."""
    if wire.source_at_end:
        yield "fork", f"it starts at {case.name(_start(wire))}, and every wire of a fork starts at a source"
    if wire.taps:
        yield "fork", f"it runs through {case.name(_stops(wire)[0])}, and a wire of a fork goes to one plug"


def _onward(case: _Case, wire: PlannedWire) -> Iterator[tuple[Rule, str]]:
    """A wire goes to the plug after its own, and on through every plug that presses it; none on its way is left out."""
    plugs = [spot.plug for spot in _stops(wire)]
    first = wire.source.plug + 1 if wire.source_at_end else 0
    through = [side is not None and _displaced(side, case.catalogue) for side in case.ends]
    if plugs[:1] != [first]:
        yield "chain", "it does not go from one plug to the next"
    elif plugs != list(range(first, first + len(plugs))):
        yield "tap", "it leaves out a plug on its way"
    if wire.source_at_end and 0 <= wire.source.plug < len(through) and through[wire.source.plug]:
        yield "chain", "it starts anew at a plug that wires run through"
    for plug in plugs[:-1]:
        if 0 <= plug < len(through) and not through[plug]:
            yield "tap", f"it runs through plug {plug + 1}, which is crimped"
    last = plugs[-1]
    if 0 <= last < len(through) - 1 and through[last]:
        fed = Counter(spot for other in case.run.wires if not case.sensing(other) for spot in _stops(other))
        if any(_wants(case, index, wire.net, fed) for index in range(last + 1, len(case.ends))):
            yield "tap", f"it ends at plug {last + 1} of {len(case.ends)}, and a later one wants {wire.net}"


def _caps(case: _Case) -> _Told:
    """A pressed plug has a cap of its own family: open to both sides where wires run on, else closed at the end."""
    run, catalogue = case.run, case.catalogue
    passed = {tap.plug for wire in run.wires for tap in wire.taps}
    sides = [(plug, side, False) for plug, side in zip(run.sources, case.sources, strict=True)]
    sides += [(plug, side, index in passed) for index, (plug, side) in enumerate(zip(run.ends, case.ends, strict=True))]
    for plug, side, goes_on in sides:
        if side is None:
            continue
        position = "through" if goes_on else "end"
        family = side.housing.family if _displaced(side, catalogue) else ""
        right = {cap.id for cap in catalogue.caps.values() if (cap.family, cap.position) == (family, position)}
        where = f"{plug.place}, {plug.socket}"
        if not family and plug.cap:
            yield "", "cap", f"{where} is crimped and takes no cap, and has {plug.cap}"
        elif family and plug.cap not in (right or {""}):
            yield "", "cap", f"{where} takes the {position} cap of its own family, not {plug.cap or 'none'}"


def _marks(case: _Case) -> _Told:
    """A piece to be cut has a mark for every plug it runs through, ascending from its cut end, and inside the wire."""
    labels = {wire.label for wire in case.run.wires}
    for mark in case.run.tap_marks:
        for label in mark.labels:
            if label not in labels:
                yield label, "mark", f"a mark for plug {mark.plug + 1} names a wire that the run does not have"
    for wire in case.run.wires:
        plugs = [spot.plug for spot in _stops(wire)]
        own = sorted((mark.plug, mark.from_end_mm) for mark in case.run.tap_marks if wire.label in mark.labels)
        marked, places = [plug for plug, _ in own], [place for _, place in own]
        if len(set(marked)) < len(marked) or not set(marked) <= set(plugs):
            yield wire.label, "mark", "it is marked twice for one plug, or for a plug that it does not come to"
        for plug in plugs[:-1]:
            if wire.cut_mm is not None and plug not in marked:
                yield wire.label, "mark", f"it has no mark for plug {plug + 1}, which it runs through"
        if any(one >= other for one, other in pairwise(places)):
            yield wire.label, "mark", f"its marks do not ascend: {', '.join(map(str, places))} mm"
        if places and wire.buy_mm and not (places[0] > 0 and places[-1] <= wire.buy_mm):
            yield wire.label, "mark", f"a mark lies outside its {wire.buy_mm} mm: {', '.join(map(str, places))} mm"


def _displaced(side: _Side, catalogue: Catalogue) -> bool:
    family = catalogue.families.get(side.housing.family)
    return family is not None and family.termination == "displacement"


def _wants(case: _Case, index: int, net: str, fed: Counter[_Spot]) -> bool:
    side = case.ends[index]
    return side is not None and any(
        pin.need == "required" and net in pin.accepts and not fed[_Spot(True, index, cavity)]
        for cavity, pin in side.pins.items()
    )
