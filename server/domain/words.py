"""What changed between two revisions of a build, in words."""

from collections.abc import Iterator
from dataclasses import fields

from server.domain.finish_words import allowance_changes, finish_changes, shown
from server.domain.model.build import Branching, Build, Method, PlugRef, Run
from server.domain.model.catalogue import Catalogue
from server.domain.route_words import route_changes
from server.domain.sockets import SocketFacts, every_socket, key, layout_of

MOST_LINES = 40
METHOD_NAMES: dict[Method, str] = {
    "scratch": "a new cable",
    "rework": "the supply's own cable reworked",
    "extension": "an extension of the supply's own cable",
}
BRANCHING_NAMES: dict[Branching, str] = {
    "chain": "goes from plug to plug",
    "fork": "forks, each plug by wires of its own",
}


def changes_in_words(before: Build, after: Build, catalogue: Catalogue) -> tuple[str, ...]:
    """Sentences that tell how ``after`` differs from ``before``: supply, parts, runs, routes, finish, the rest.

    Args:
        before: The earlier build.
        after: The later one.
        catalogue: For names of layouts and sockets.

    Returns:
        At least one sentence when the two differ; empty when they are the same.
    """
    if before == after:
        return ()
    lines = list(_all(before, after, catalogue)) or ["small changes"]
    if len(lines) > MOST_LINES:
        lines = [*lines[:MOST_LINES], f"and {len(lines) - MOST_LINES} more changes"]
    return tuple(lines)


def _all(before: Build, after: Build, catalogue: Catalogue) -> Iterator[str]:
    if before.name != after.name:
        yield f"renamed from '{before.name}' to '{after.name}'"
    if before.client != after.client:
        yield "client changed"
    if before.notes != after.notes:
        yield "notes changed"
    if before.supply != after.supply:
        layout = layout_of(after, catalogue)
        yield f"supply: {layout.name if layout else after.supply or 'none'}"
    elif before.supply_version != after.supply_version:
        yield f"supply layout taken at version {after.supply_version}"
    yield from _parts(before, after)
    yield from _runs(before, after, catalogue)
    for words in finish_changes(before.finish, after.finish, catalogue):
        yield f"finish: {words}"
    yield from allowance_changes(before.allowances, after.allowances, catalogue)
    for field in fields(after.rates):
        if getattr(before.rates, field.name) != getattr(after.rates, field.name):
            yield f"estimate: {field.name.replace('_', ' ')} {shown(getattr(after.rates, field.name))}"
    if before.prices != after.prices:
        yield "prices changed"


def _parts(before: Build, after: Build) -> Iterator[str]:
    old = {part.id: part for part in before.parts}
    new = {part.id: part for part in after.parts}
    added = [part.name for ident, part in new.items() if ident not in old]
    removed = [part.name for ident, part in old.items() if ident not in new]
    if added:
        yield f"added {', '.join(added)}"
    if removed:
        yield f"removed {', '.join(removed)}"
    for ident, part in new.items():
        if ident in old and old[ident].name != part.name:
            yield f"part '{old[ident].name}' is now '{part.name}'"
        elif ident in old and old[ident] != part:
            yield f"sockets of {part.name} changed"


def _runs(before: Build, after: Build, catalogue: Catalogue) -> Iterator[str]:
    sockets = every_socket(after, catalogue)
    old = {run.id: run for run in before.runs}
    new = {run.id: run for run in after.runs}
    added = [str(run.number) for ident, run in new.items() if ident not in old]
    removed = [str(run.number) for ident, run in old.items() if ident not in new]
    if added:
        yield f"added run{'s' if len(added) > 1 else ''} {', '.join(added)}"
    if removed:
        yield f"removed run{'s' if len(removed) > 1 else ''} {', '.join(removed)}"
    for ident, run in new.items():
        if ident in old and old[ident] != run:
            yield from _run(old[ident], run, sockets, catalogue)


def _run(before: Run, after: Run, sockets: dict[tuple[str, str], SocketFacts], catalogue: Catalogue) -> Iterator[str]:
    number = after.number
    yield from _path(before, after, sockets)
    if before.name != after.name:
        yield f"run {number} is called '{after.name}'" if after.name else f"run {number} has lost its name"
    if before.finish != after.finish:
        yield f"run {number}, finish: {', '.join(finish_changes(before.finish, after.finish, catalogue))}"
    if before.pins != after.pins or before.forbidden != after.forbidden:
        pins = ", ".join(f"{pin.cavity} from {pin.source_cavity}" for pin in after.pins) or "none"
        banned = ", ".join(f"{f.socket} {f.cavity}" for f in after.forbidden)
        yield f"run {number}: wires pinned {pins}{f'; forbidden {banned}' if banned else ''}"
    if before.shared != after.shared:
        chosen = ", ".join(f"{c.socket} {c.cavity} {c.remedy.replace('_', ' ')}" for c in after.shared)
        yield f"run {number}: shared contacts {chosen or 'as usual'}"
    if (before.method, before.own_cable_mm) != (after.method, after.own_cable_mm):
        own = f", own cable {after.own_cable_mm:g} mm" if after.own_cable_mm else ""
        yield f"run {number}: {METHOD_NAMES[after.method]}{own}"
    if before.optional != after.optional:
        yield f"run {number}: optional cavities wired {', '.join(after.optional) or 'none'}"


def _path(before: Run, after: Run, sockets: dict[tuple[str, str], SocketFacts]) -> Iterator[str]:
    """Where a run goes and how far."""
    number = after.number
    if [key(s) for s in before.sources] != [key(s) for s in after.sources]:
        yield f"run {number} starts from {_places(after.sources, sockets) or 'no port'}"
    else:
        yield from _reaches(number, "supply", before.sources, after.sources)
    if [key(e) for e in before.ends] != [key(e) for e in after.ends]:
        yield f"run {number} ends at {_places(after.ends, sockets)}"
    else:
        yield from _reaches(number, "part", before.ends, after.ends)
    if before.branching != after.branching:
        yield f"run {number} {BRANCHING_NAMES[after.branching]}"
    if before.route != after.route:
        yield f"run {number}: {'; '.join(route_changes(before.route, after.route))}"


def _places(plugs: tuple[PlugRef, ...], sockets: dict[tuple[str, str], SocketFacts]) -> str:
    names = []
    for plug in plugs:
        facts = sockets.get(key(plug))
        if facts is None:
            names.append(plug.socket)
        else:
            names.append(f"{facts.place}, {facts.label}" if facts.pinout else facts.label)
    return " + ".join(names)


def _reaches(number: int, side: str, before: tuple[PlugRef, ...], after: tuple[PlugRef, ...]) -> Iterator[str]:
    if [plug.extra_mm for plug in before] != [plug.extra_mm for plug in after]:
        yield f"run {number}: extra reach at the {side} end {' and '.join(f'{plug.extra_mm:g} mm' for plug in after)}"
    if [plug.tail_mm for plug in before] != [plug.tail_mm for plug in after]:
        tails = ("usual" if plug.tail_mm is None else f"{plug.tail_mm:g} mm" for plug in after)
        yield f"run {number}: tails at the {side} end {' and '.join(tails)}"
