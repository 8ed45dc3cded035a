"""Which runs a build needs, and which port each of them best starts from."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from server.domain.model.build import SUPPLY, Build, Part, PlugRef, Run
from server.domain.model.catalogue import Catalogue, Use
from server.domain.plugs import part_plug, source_plug
from server.domain.sockets import SocketFacts, every_socket, key
from server.domain.wiring import assign, shortages

MOST_SOURCES = 3
"""Greatest number of ports proposed for one inlet."""

USE_ORDER: tuple[Use, ...] = ("main", "graphics", "cpu", "drive", "fan", "light", "panel", "usb", "audio", "data")
"""Inlets are served in this order; of one use, those that want the most nets and wires come first."""

SocketKey = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Place:
    """A set of source sockets that could feed a run."""

    keys: tuple[SocketKey, ...]
    label: str
    free: bool


def propose(build: Build, catalogue: Catalogue) -> Build:
    """Add a run for every inlet that none feeds, where a free port can feed it.

    Runs that exist keep everything but a source they have lost: when their layout changed under them they are given new
    ports, and keep their route, finish and number.

    Args:
        build: The build.
        catalogue: Reference data.

    Returns:
        The build with the proposed runs behind its own; inlets that cannot be fed are left as they are.
    """
    sockets = every_socket(build, catalogue)
    runs = [_without_lost_sources(run, sockets) for run in build.runs]
    for index in sorted(range(len(runs)), key=lambda i: _priority(runs[i].ends[0], sockets)):
        if not runs[index].sources and _is_wired(runs[index].ends, sockets):
            chosen = _best(runs[index].ends, sockets, _used(runs))
            runs[index] = replace(runs[index], sources=tuple(PlugRef(*k) for k in chosen))
    return _with_new_runs(build, sockets, runs, _unfed_groups(build, sockets, runs))


def propose_for(build: Build, catalogue: Catalogue, parts: frozenset[str]) -> Build:
    """Add a run for every unfed inlet of some parts, where a free port can feed it; every other run stays as it is.

    Args:
        build: The build.
        catalogue: Reference data.
        parts: Ids of the parts.

    Returns:
        The build with the proposed runs behind its own; inlets that cannot be fed are left as they are.
    """
    sockets = every_socket(build, catalogue)
    groups = [ends for ends in _unfed_groups(build, sockets, build.runs) if all(end.part in parts for end in ends)]
    return _with_new_runs(build, sockets, build.runs, groups)


def _with_new_runs(
    build: Build, sockets: Mapping[SocketKey, SocketFacts], runs: Sequence[Run], groups: Iterable[tuple[PlugRef, ...]]
) -> Build:
    """The build with these runs, and new ones behind them for the groups of part plugs that something can feed."""
    number = build.next_number
    added: list[Run] = []
    for ends in groups:
        chosen = _best(ends, sockets, _used([*runs, *added]))
        if chosen or not _is_wired(ends, sockets):
            optional = _optional(ends, chosen, sockets)
            added.append(Run(f"r{number}", number, tuple(PlugRef(*k) for k in chosen), ends, optional=optional))
            number += 1
    return replace(build, runs=(*runs, *added), next_number=number)


def places_by_run(build: Build, catalogue: Catalogue) -> dict[str, tuple[Place, ...]]:
    """Ports and headers that each run could start from: single ones, or several together where no single one suffices.

    Args:
        build: The build.
        catalogue: Reference data.

    Returns:
        By run id, places that carry every net wanted, in the order of the sockets; ``free`` says that no other run uses
        them. Several together are looked for only among sockets meant for the use.
    """
    sockets = every_socket(build, catalogue)
    users = {key(source): run.id for run in build.runs for source in run.sources}
    return {run.id: _places(run, sockets, users) for run in build.runs}


def _places(run: Run, sockets: Mapping[SocketKey, SocketFacts], users: Mapping[SocketKey, str]) -> tuple[Place, ...]:
    outlets = [facts for facts in sockets.values() if _may_feed(facts, run.ends)]
    use = sockets[key(run.ends[0])].uses[0]
    for count in range(1, MOST_SOURCES + 1):
        found = [
            Place(
                _keys(group),
                " + ".join(f.label if f.part == SUPPLY else f"{f.place}, {f.label}" for f in group),
                all(users.get((f.part, f.socket), run.id) == run.id for f in group),
            )
            for group in combinations(outlets, count)
            if _feeds(group, run.ends, sockets)
        ]
        if found:
            return tuple(found)
        outlets = [facts for facts in outlets if use in facts.uses]
    return ()


def why_unfed(ref: PlugRef, build: Build, catalogue: Catalogue) -> str:
    """Reason, in words, why no run feeds an inlet.

    Args:
        ref: An inlet that no run ends at.
        build: The build.
        catalogue: Reference data.

    Returns:
        One sentence that names what is missing.
    """
    sockets = every_socket(build, catalogue)
    facts = sockets[key(ref)]
    wanted_from_supply = facts.uses[0] in ("main", "cpu", "graphics", "drive")
    if wanted_from_supply and not build.supply:
        return "no supply layout is chosen yet"
    fitting = [
        f
        for f in sockets.values()
        if _may_feed(f, (ref,)) and set(f.uses) & set(facts.uses) and (f.part == SUPPLY or _carries_all(f, facts))
    ]
    used = _used(build.runs)
    what = "port of this supply" if wanted_from_supply else "header"
    if not fitting:
        return f"no {what} feeds {facts.label}"
    free = [f for f in fitting if (f.part, f.socket) not in used]
    if not free:
        names = ", ".join(f"{f.label}" if f.part == SUPPLY else f"{f.place} {f.socket}" for f in fitting)
        return f"every {what} that feeds {facts.label} is in use: {names}"
    if missing := shortages(tuple(source_plug(f) for f in free), part_plug(facts)):
        nets = ", ".join(f"{m.net} ({m.wanted} wires, {m.contacts} contacts)" for m in missing)
        return f"the free ports together carry too little of {nets}"
    names = ", ".join(f.label if f.part == SUPPLY else f"{f.place} {f.socket}" for f in free)
    return f"no run is planned for it, though {names} could feed it"


def _carries_all(header: SocketFacts, inlet: SocketFacts) -> bool:
    """True when a header carries every net that an inlet wants; a 12 V light header does not serve a 5 V light."""
    return all(header.carried & set(pin.accepts) for pin in inlet.wanted_pins())


def unfed_inlets(build: Build, catalogue: Catalogue) -> tuple[SocketFacts, ...]:
    """Inlets of parts that no run ends at, in the order of the parts."""
    fed = {key(end) for run in build.runs for end in run.ends}
    return tuple(
        facts for where, facts in every_socket(build, catalogue).items() if facts.role == "inlet" and where not in fed
    )


def _without_lost_sources(run: Run, sockets: Mapping[SocketKey, SocketFacts]) -> Run:
    """A run whose sources all exist and still carry what it wants, or the same run without any source."""
    if not run.sources or not _is_wired(run.ends, sockets):
        return run
    found = [sockets[key(source)] for source in run.sources if key(source) in sockets]
    complete = len(found) == len(run.sources) and _feeds(found, run.ends, sockets)
    return run if complete else replace(run, sources=(), pins=(), forbidden=(), shared=())


def _used(runs: Iterable[Run]) -> set[SocketKey]:
    return {key(source) for run in runs for source in run.sources}


def _priority(ref: PlugRef, sockets: Mapping[SocketKey, SocketFacts]) -> tuple[int, int]:
    facts = sockets[key(ref)]
    return USE_ORDER.index(facts.uses[0]), -len(facts.nets)


def _unfed_groups(
    build: Build, sockets: Mapping[SocketKey, SocketFacts], runs: Sequence[Run]
) -> list[tuple[PlugRef, ...]]:
    """Part plugs of each run still to be proposed: inlets one by one, chained parts together."""
    fed = {key(end) for run in runs for end in run.ends}
    groups: dict[str, list[PlugRef]] = {}
    for part in build.parts:
        for socket in part.sockets:
            facts = sockets.get((part.id, socket.id))
            if facts is not None and facts.role == "inlet" and (part.id, socket.id) not in fed:
                groups.setdefault(_group(part, socket.pinout, socket.id), []).append(PlugRef(part.id, socket.id))
    return sorted((tuple(group) for group in groups.values()), key=lambda group: _priority(group[0], sockets))


def _group(part: Part, pinout: str, socket: str) -> str:
    return f"chain {part.chain} {pinout}" if part.chain else f"part {part.id} {socket}"


def _is_wired(ends: tuple[PlugRef, ...], sockets: Mapping[SocketKey, SocketFacts]) -> bool:
    facts = sockets.get(key(ends[0]))
    return facts is not None and facts.rewired


def _may_feed(facts: SocketFacts, ends: tuple[PlugRef, ...]) -> bool:
    """True for a socket that gives, on another part than those it would feed."""
    return facts.role == "outlet" and facts.part not in {end.part for end in ends}


def _feeds(group: Sequence[SocketFacts], ends: tuple[PlugRef, ...], sockets: Mapping[SocketKey, SocketFacts]) -> bool:
    """True when a group of sockets carries all that the first part plug wants, and each of them gives something."""
    facts = sockets.get(key(ends[0]))
    if facts is None or not facts.rewired:
        return False
    carried = [f.carried for f in group]
    pins = facts.wanted_pins()
    if not all(any(net in nets for nets in carried for net in pin.accepts) for pin in pins):
        return False
    wanted = {net for pin in pins for net in pin.accepts}
    return all(wanted & nets for nets in carried) and not shortages(
        tuple(source_plug(f) for f in group), part_plug(facts)
    )


def _best(
    ends: tuple[PlugRef, ...], sockets: Mapping[SocketKey, SocketFacts], used: set[SocketKey]
) -> tuple[SocketKey, ...]:
    """Free sockets that feed a run: as few as can be, meant for its use, fewest doubles, least left unused.

    Returns:
        Their keys; empty when none will do, or when the run takes no source.
    """
    facts = sockets[key(ends[0])]
    use = facts.uses[0]
    # A socket that carries nothing wanted can be in no group, and a group of few is found sooner among few.
    wanted = {net for pin in facts.wanted_pins() for net in pin.accepts}
    outlets = [
        f
        for f in sockets.values()
        if _may_feed(f, ends) and use in f.uses and (f.part, f.socket) not in used and wanted & f.carried
    ]
    crowded: tuple[SocketFacts, ...] = ()
    for count in range(1, MOST_SOURCES + 1):
        groups = [group for group in combinations(outlets, count) if _feeds(group, ends, sockets)]
        if not groups:
            continue
        best = min(groups, key=lambda group: _merit(group, facts, use))
        if not _merit(best, facts, use)[0]:
            return _keys(best)
        crowded = crowded or best
    return _keys(crowded)


def _keys(group: Sequence[SocketFacts]) -> tuple[SocketKey, ...]:
    return tuple((f.part, f.socket) for f in group)


def _merit(group: Sequence[SocketFacts], facts: SocketFacts, use: Use) -> tuple[int, int, int, int, int]:
    """How well a group suits an inlet, least first.

    Contacts that two loaded wires would share; the legend's order of uses; a connector family unlike the inlet's, since
    a native port is wanted by its own kind; doubles of sense wires; cavities left unused.
    """
    plug = part_plug(facts)
    cost = assign(tuple(source_plug(f) for f in group), plug).cost
    loaded = sum(demand.carries_current for demand in plug.demands)
    live = sum(1 for f in group for net in f.nets.values() if net)
    unlike = sum(f.family.id != facts.family.id for f in group)
    legend = sum(f.uses.index(use) for f in group)
    return cost.unevenness - loaded, legend, unlike, cost.doubles, max(0, live - len(plug.demands))


def _optional(
    ends: tuple[PlugRef, ...], keys: Sequence[SocketKey], sockets: Mapping[SocketKey, SocketFacts]
) -> tuple[str, ...]:
    """Optional cavities that a new run wires: those its sources can feed, but never a drive's +3.3V.

    A drive that knows power-disable stays off while +3.3V reaches it, and hardly any drive needs it (common practice).
    """
    facts = sockets[key(ends[0])]
    if facts.pinout is None or "drive" in facts.uses:
        return ()
    carried = {net for k in keys for net in sockets[k].nets.values()}
    return tuple(p.cavity for p in facts.pinout.pins if p.need == "optional" and carried & set(p.accepts))
