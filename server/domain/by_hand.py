"""What the builder decides by hand about the wires of one run: pins, bans, shared contacts, the way to build it."""

from collections.abc import Iterator, Mapping
from dataclasses import replace

from server.domain.edits import run_of, with_run
from server.domain.errors import InvalidInputError, Problem
from server.domain.model.build import Build, Forbidden, Method, Pinned, Remedy, Run, SharedChoice
from server.domain.model.catalogue import Catalogue
from server.domain.plan.forks import fork_shortages
from server.domain.plan.resolve import resolve
from server.domain.plugs import part_plug, source_plug
from server.domain.sockets import SocketFacts, every_socket, key
from server.domain.wiring import pin_problems, shortages


def set_pins(
    build: Build, catalogue: Catalogue, run_id: str, pins: tuple[Pinned, ...], forbidden: tuple[Forbidden, ...]
) -> Build:
    """Put wires by hand and forbid source cavities; the rest is solved around them.

    Raises:
        InvalidInputError: a pin or a ban breaks a rule, with the rule beside its cavity.
    """
    found = run_of(build, run_id)
    changed = replace(found, pins=pins, forbidden=forbidden)
    sockets = every_socket(build, catalogue)
    if wrong := tuple(_pin_problems(changed, build, catalogue, sockets)):
        raise InvalidInputError(wrong)
    return with_run(build, run_id, lambda run: replace(run, pins=pins, forbidden=forbidden))


def _pin_problems(
    run: Run, build: Build, catalogue: Catalogue, sockets: Mapping[tuple[str, str], SocketFacts]
) -> Iterator[Problem]:
    field = f"runs.{run.id}"
    index = {key(source): i for i, source in enumerate(run.sources)}
    facts = [sockets[key(source)] for source in run.sources if key(source) in sockets]
    end = sockets.get(key(run.ends[0]))
    if end is None or len(facts) < len(run.sources):
        yield Problem(f"{field}.pins", "this run has no source to pin its wires to")
        return
    wanted = {pin.cavity for pin in end.wanted_pins(run.optional)}
    pinned = {}
    for pin in run.pins:
        if pin.cavity not in wanted:
            yield Problem(f"{field}.pins.{pin.cavity}", f"the part plug has no wire in cavity {pin.cavity}")
        elif (pin.part, pin.socket) not in index:
            yield Problem(f"{field}.pins.{pin.cavity}", "this run does not start there")
        else:
            pinned[pin.cavity] = index[pin.part, pin.socket], pin.source_cavity
    banned = {where: frozenset(f.cavity for f in run.forbidden if (f.part, f.socket) == where) for where in index}
    for ban in run.forbidden:
        if (ban.part, ban.socket) not in index:
            yield Problem(f"{field}.forbidden", f"this run does not start at {ban.socket}")
    sources = tuple(source_plug(f, banned[f.part, f.socket]) for f in facts)
    plug = part_plug(end, run.optional, pinned)
    for cavity, reason in pin_problems(sources, plug):
        yield Problem(f"{field}.pins.{cavity}", reason)
    resolved = resolve(run, build, catalogue, sockets)
    # The plugs of a fork draw on the same contacts; along a chain only the first one does.
    forked = resolved if resolved is not None and resolved.kind == "fork" else None
    for short in fork_shortages(sources, forked) if forked else shortages(sources, plug):
        text = f"then {short.wanted} wires want {short.net} and only {short.contacts} contacts may give it"
        yield Problem(f"{field}.forbidden", text)


def set_shared(build: Build, run_id: str, where: tuple[str, str, str], remedy: Remedy) -> Build:
    """Choose what is done with one source contact (part, socket, cavity) that would hold two wires."""
    choice = SharedChoice(*where, remedy)

    def change(run: Run) -> Run:
        others = tuple(c for c in run.shared if (c.part, c.socket, c.cavity) != where)
        return replace(run, shared=(*others, choice))

    return with_run(build, run_id, change)


def set_method(build: Build, catalogue: Catalogue, run_id: str, method: Method, own_cable_mm: float | None) -> Build:
    """Choose how a run is built.

    Raises:
        InvalidInputError: the run cannot be built that way, or the own cable's length is out of range.
    """
    changed = with_run(build, run_id, lambda run: replace(run, method=method, own_cable_mm=own_cable_mm))
    resolved = resolve(run_of(changed, run_id), changed, catalogue, every_socket(changed, catalogue))
    if resolved is not None and resolved.refused:
        raise InvalidInputError((Problem(f"runs.{run_id}.method", resolved.refused),))
    return changed
