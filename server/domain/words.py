"""What changed between two revisions of a build, in words."""

from collections.abc import Iterator
from dataclasses import fields

from server.domain.model.build import Build, Method, PlugRef, Route, Run
from server.domain.model.catalogue import Catalogue
from server.domain.sockets import SocketFacts, every_socket, key, layout_of

MOST_LINES = 40
METHOD_NAMES: dict[Method, str] = {
    "scratch": "a new cable",
    "rework": "the supply's own cable reworked",
    "extension": "an extension of the supply's own cable",
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
    for field in fields(after.finish):
        if getattr(before.finish, field.name) != getattr(after.finish, field.name):
            yield f"finish: {field.name.replace('_', ' ')} {_shown(getattr(after.finish, field.name))}"
    for field in fields(after.allowances):
        if getattr(before.allowances, field.name) != getattr(after.allowances, field.name):
            yield f"allowances: {field.name.replace('_', ' ')} {_shown(getattr(after.allowances, field.name))}"
    for field in fields(after.rates):
        if getattr(before.rates, field.name) != getattr(after.rates, field.name):
            yield f"estimate: {field.name.replace('_', ' ')} {_shown(getattr(after.rates, field.name))}"
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
            yield from _run(old[ident], run, sockets)


def _run(before: Run, after: Run, sockets: dict[tuple[str, str], SocketFacts]) -> Iterator[str]:
    number = after.number
    if [key(s) for s in before.sources] != [key(s) for s in after.sources]:
        yield f"run {number} starts from {_places(after.sources, sockets) or 'no port'}"
    elif before.sources != after.sources:
        yield f"run {number}: extra reach at the supply end {_extra(after.sources)}"
    if [key(e) for e in before.ends] != [key(e) for e in after.ends]:
        yield f"run {number} ends at {_places(after.ends, sockets)}"
    elif before.ends != after.ends:
        yield f"run {number}: extra reach at the part end {_extra(after.ends)}"
    if before.route != after.route:
        yield f"run {number}: {_route(after.route)}"
    if before.name != after.name:
        yield f"run {number} is called '{after.name}'" if after.name else f"run {number} has lost its name"
    if before.finish != after.finish:
        changed = [
            f"{field.name.replace('_', ' ')} {_shown(getattr(after.finish, field.name))}"
            for field in fields(after.finish)
            if getattr(before.finish, field.name) != getattr(after.finish, field.name)
        ]
        yield f"run {number}, finish: {', '.join(changed)}"
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


def _places(plugs: tuple[PlugRef, ...], sockets: dict[tuple[str, str], SocketFacts]) -> str:
    names = []
    for plug in plugs:
        facts = sockets.get(key(plug))
        if facts is None:
            names.append(plug.socket)
        else:
            names.append(f"{facts.place}, {facts.label}" if facts.pinout else facts.label)
    return " + ".join(names)


def _extra(plugs: tuple[PlugRef, ...]) -> str:
    return " and ".join(f"{plug.extra_mm:g} mm" for plug in plugs)


def _route(route: Route) -> str:
    spacing = f", spacing {' '.join(f'{s:g}' for s in route.spacing_mm)} mm" if route.spacing_mm else ""
    if route.length_mm is not None:
        return f"{route.length_mm:g} mm{spacing}"
    if route.low_mm is not None and route.high_mm is not None:
        return f"{route.low_mm:g} to {route.high_mm:g} mm, not measured{spacing}"
    return f"no length{spacing}"


def _shown(value: object) -> str:
    if value is None:
        return "as the build"
    if value is True or value is False:
        return "on" if value else "off"
    if isinstance(value, tuple):
        return " ".join(str(item) for item in value)
    if isinstance(value, dict):
        return ", ".join(f"{name} {item}" for name, item in value.items()) or "by common practice"
    return str(value) or "none"
