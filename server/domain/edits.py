"""Changes a builder makes to a build: pure, each returns the build as it is afterwards."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from itertools import accumulate, pairwise

from server.domain.errors import InvalidInputError, NotFoundError, Problem
from server.domain.limits import FORK_MOST
from server.domain.model.build import (
    Branching,
    Build,
    Part,
    PartKind,
    PlugRef,
    Route,
    Run,
    Socket,
)
from server.domain.model.catalogue import Catalogue
from server.domain.model.route import RouteStep
from server.domain.proposing import propose
from server.domain.recipes import recipe
from server.domain.reference import CHAIN_LENGTH_MOST, LOOM_LIMIT_PARTS
from server.domain.sockets import every_socket, key


@dataclass(frozen=True, slots=True)
class RouteEntry:
    """What was entered for one run's route, its plugs' extra reach and tails included.

    An empty tuple leaves all plugs of that end as they are.
    """

    route: Route
    source_extra_mm: tuple[float, ...] = ()
    end_extra_mm: tuple[float, ...] = ()
    source_tail_mm: tuple[float | None, ...] = ()
    end_tail_mm: tuple[float | None, ...] = ()


def choose_supply(build: Build, catalogue: Catalogue, layout: str) -> Build:
    """Take another supply layout; runs whose port it lacks, or that it cannot feed there, are given new ports."""
    newest = catalogue.supplies.get(layout)
    # A layout that was put away has no newest version; a build that uses it keeps the one it has.
    version = newest.version if newest else build.supply_version if build.supply == layout else 1
    return propose(replace(build, supply=layout, supply_version=version), catalogue)


def add_parts(build: Build, catalogue: Catalogue, recipe_id: str, count: int, name: str) -> Build:
    """Add parts by recipe and propose their runs; chained parts go up to four to a run.

    Raises:
        InvalidInputError: no such recipe, or a count out of range.
    """
    chosen = recipe(recipe_id)
    if chosen is None:
        raise InvalidInputError((Problem("recipe", f"no part is called '{recipe_id}'"),))
    room = LOOM_LIMIT_PARTS - len(build.parts)
    if not 1 <= count <= room:
        raise InvalidInputError((Problem("count", f"add 1 to {room} parts, not {count}"),))
    parts = []
    for index in range(count):
        number = build.next_part + index
        label = name.strip() or chosen.name
        chain = f"chain{build.next_part}-{index // CHAIN_LENGTH_MOST + 1}" if chosen.chained else ""
        sockets = tuple(Socket(ident, pinout) for ident, pinout in chosen.sockets)
        parts.append(Part(f"p{number}", chosen.kind, label if count == 1 else f"{label} {index + 1}", sockets, chain))
    grown = replace(build, parts=(*build.parts, *parts), next_part=build.next_part + count)
    return propose(grown, catalogue)


def add_custom_part(
    build: Build, catalogue: Catalogue, kind: PartKind, name: str, pinouts: tuple[str, ...], chain: str
) -> Build:
    """Add a part with sockets of the builder's own choice and propose its runs."""
    sockets = tuple(Socket(f"s{i + 1}", pinout) for i, pinout in enumerate(pinouts))
    part = Part(f"p{build.next_part}", kind, name, sockets, chain)
    return propose(replace(build, parts=(*build.parts, part), next_part=build.next_part + 1), catalogue)


def rename_part(build: Build, part_id: str, name: str) -> Build:
    """Give a part another name."""
    _part(build, part_id)
    return replace(build, parts=tuple(replace(p, name=name) if p.id == part_id else p for p in build.parts))


def remove_part(build: Build, part_id: str) -> Build:
    """Take a part out, with the run ends and sources on it; a run left without ends goes too."""
    _part(build, part_id)
    runs = []
    for run in build.runs:
        ends = tuple(end for end in run.ends if end.part != part_id)
        if not ends:
            continue
        sources = run.sources
        if any(source.part == part_id for source in sources):
            sources = ()
        runs.append(replace(run if ends == run.ends else _run_without(run, ends), sources=sources))
    parts = tuple(part for part in build.parts if part.id != part_id)
    return replace(build, parts=parts, runs=tuple(runs))


def _run_without(run: Run, ends: tuple[PlugRef, ...]) -> Run:
    """A run after some of its plugs were taken off."""
    if run.branching == "chain":
        return replace(run, ends=ends, route=_route_without(run, ends))
    # The plugs of a fork have nothing to do with one another, so that the ribbon is as long as before; but pins name
    # cavities of the first plug, which may be another one now.
    pins = run.pins if ends[0] == run.ends[0] else ()
    return replace(run, ends=ends, pins=pins, branching=_branching_for(run.branching, ends))


def _branching_for(wanted: Branching, ends: tuple[PlugRef, ...]) -> Branching:
    """A run with one plug is no fork any more."""
    return wanted if len(ends) > 1 else "chain"


def _route_without(run: Run, ends: tuple[PlugRef, ...]) -> Route:
    """Route of a chain after plugs left it: stretches on both sides of a gap are joined.

    When the first plug goes, the stretch behind it belongs to the route. Where a spacing is not known, what would have
    to be added is not known either.
    """
    route = run.route
    if len(route.spacing_mm) < len(run.ends) - 1:
        return Route() if ends[0] != run.ends[0] else replace(route, spacing_mm=())
    places = list(accumulate(route.spacing_mm, initial=0.0))
    kept = [place for place, end in zip(places, run.ends, strict=True) if end in ends]
    more = kept[0]
    return Route(
        length_mm=_longer(route.length_mm, more),
        low_mm=_longer(route.low_mm, more),
        likely_mm=_longer(route.likely_mm, more),
        high_mm=_longer(route.high_mm, more),
        steps=_stretched(route.steps, more),
        spacing_mm=tuple(b - a for a, b in pairwise(kept)),
    )


def _stretched(steps: tuple[RouteStep, ...], more_mm: float) -> tuple[RouteStep, ...]:
    """Legs and bends that go straight on for a stretch. [mm]"""
    if not steps or not more_mm:
        return steps
    last = steps[-1]
    if last.kind == "leg":
        return (*steps[:-1], replace(last, length_mm=last.length_mm + more_mm))
    return (*steps, RouteStep("leg", length_mm=more_mm))


def _longer(length_mm: float | None, more_mm: float) -> float | None:
    return None if length_mm is None else length_mm + more_mm


def move_run(build: Build, catalogue: Catalogue, run_id: str, sources: tuple[tuple[str, str], ...]) -> Build:
    """Start a run from other sockets; each of them must give, and be free.

    Raises:
        InvalidInputError: a socket is missing, takes instead of gives, or feeds another run.
    """
    found = run_of(build, run_id)
    sockets = every_socket(build, catalogue)
    users = {(s.part, s.socket): r.number for r in build.runs if r.id != run_id for s in r.sources}
    wrong = []
    for where in sources:
        facts = sockets.get(where)
        if facts is None or facts.role != "outlet":
            wrong.append(Problem(f"runs.{run_id}.sources", f"there is no port or header '{' '.join(where)}'"))
        elif where in users:
            wrong.append(Problem(f"runs.{run_id}.sources", f"{facts.label} already feeds run {users[where]}"))
        elif where[0] in {end.part for end in found.ends}:
            wrong.append(Problem(f"runs.{run_id}.sources", f"{facts.place} cannot feed itself"))
    if len(set(sources)) < len(sources):
        wrong.append(Problem(f"runs.{run_id}.sources", "the same port is named twice"))
    if not sources:
        wrong.append(Problem(f"runs.{run_id}.sources", "choose a port or header"))
    if wrong:
        raise InvalidInputError(tuple(wrong))
    kept = {(s.part, s.socket): s for s in found.sources}
    plugs = tuple(kept.get(where, PlugRef(*where)) for where in sources)
    return with_run(build, run_id, lambda run: staying(replace(run, sources=plugs)))


def split_chain(build: Build, catalogue: Catalogue, run_id: str, keep: int) -> Build:
    """Cut a chain or a fork in two behind its first ``keep`` plugs; the rest becomes a run of its own.

    Raises:
        InvalidInputError: the run has one plug, or nothing would be left on one side.
    """
    found = run_of(build, run_id)
    if not 1 <= keep < len(found.ends):
        most = len(found.ends) - 1
        text = f"keep 1 to {most} plugs on it" if most else "this run has one plug; there is nothing to split"
        raise InvalidInputError((Problem(f"runs.{run_id}.keep", text),))
    first = replace(
        found,
        ends=found.ends[:keep],
        route=replace(found.route, spacing_mm=found.route.spacing_mm[: keep - 1]),
        branching=_branching_for(found.branching, found.ends[:keep]),
    )
    number = build.next_number
    rest = Run(
        f"r{number}",
        number,
        (),
        found.ends[keep:],
        route=Route(spacing_mm=found.route.spacing_mm[keep:]),
        finish=found.finish,
        optional=found.optional,
        branching=_branching_for(found.branching, found.ends[keep:]),
    )
    runs = (*(first if run.id == run_id else run for run in build.runs), rest)
    return propose(replace(build, runs=runs, next_number=number + 1), catalogue)


def set_branching(build: Build, run_id: str, branching: Branching) -> Build:
    """Choose how the part plugs of a run hang on it: one after the other, or each by wires of its own.

    A fork has no spacing, so that what was entered is dropped; it is unknown where a fork becomes a chain.

    Raises:
        InvalidInputError: the run has one part plug, or more than a fork may have.
        NotFoundError: the build has no such run.
    """
    found = run_of(build, run_id)
    plugs = len(found.ends)
    if plugs < 2:
        raise InvalidInputError((Problem(f"runs.{run_id}.branching", "this run has one plug; nothing can branch off"),))
    if branching == "fork" and plugs > FORK_MOST:
        text = f"a fork has at most {FORK_MOST} plugs, and this run has {plugs}: split it first"
        raise InvalidInputError((Problem(f"runs.{run_id}.branching", text),))
    route = found.route if branching == "chain" else replace(found.route, spacing_mm=())
    return with_run(build, run_id, lambda run: replace(run, branching=branching, route=route))


def add_run(
    build: Build,
    source: tuple[str, str] | None,
    ends: tuple[tuple[str, str], ...],
    name: str,
    branching: Branching = "chain",
) -> Build:
    """Add a run of the builder's own; without a source it is sleeved only, or waits for one.

    With a single part plug the branching is of no account.
    """
    number = build.next_number
    sources = (PlugRef(*source),) if source else ()
    plugs = tuple(PlugRef(*end) for end in ends)
    hangs = _branching_for(branching, plugs)
    run = Run(f"r{number}", number, sources, plugs, name=name.strip(), branching=hangs)
    return replace(build, runs=(*build.runs, run), next_number=number + 1)


def remove_run(build: Build, run_id: str) -> Build:
    """Take a run out; its number is never used again."""
    run_of(build, run_id)
    return replace(build, runs=tuple(run for run in build.runs if run.id != run_id))


def change_run(build: Build, run_id: str, **fields: object) -> Build:
    """Replace fields of one run."""
    return with_run(build, run_id, lambda run: replace(run, **fields))  # type: ignore[arg-type]


def set_routes(build: Build, entries: Mapping[str, RouteEntry]) -> Build:
    """Take routes and extra reach for several runs at once."""
    for run_id, entry in entries.items():
        build = with_run(build, run_id, lambda run, e=entry: _routed(run, e))  # type: ignore[misc]
    return build


def _routed(run: Run, entry: RouteEntry) -> Run:
    return replace(
        run,
        route=entry.route,
        sources=_reaching(run.sources, entry.source_extra_mm, entry.source_tail_mm),
        ends=_reaching(run.ends, entry.end_extra_mm, entry.end_tail_mm),
    )


def _reaching(
    plugs: tuple[PlugRef, ...], extra_mm: tuple[float, ...], tail_mm: tuple[float | None, ...]
) -> tuple[PlugRef, ...]:
    """Plugs with the extra reach and the tails entered for them; 0, and the usual tail, where too few are given."""
    count = len(plugs)
    if extra_mm:
        plugs = tuple(replace(p, extra_mm=e) for p, e in zip(plugs, (*extra_mm, *(0.0,) * count), strict=False))
    if tail_mm:
        plugs = tuple(replace(p, tail_mm=t) for p, t in zip(plugs, (*tail_mm, *(None,) * count), strict=False))
    return plugs


def run_of(build: Build, run_id: str) -> Run:
    """The run of an id.

    Raises:
        NotFoundError: the build has no such run.
    """
    found = next((run for run in build.runs if run.id == run_id), None)
    if found is None:
        raise NotFoundError(f"this build has no run '{run_id}'")
    return found


def _part(build: Build, part_id: str) -> Part:
    found = next((part for part in build.parts if part.id == part_id), None)
    if found is None:
        raise NotFoundError(f"this build has no part '{part_id}'")
    return found


def with_run(build: Build, run_id: str, change: Callable[[Run], Run]) -> Build:
    """The build with one of its runs changed.

    Raises:
        NotFoundError: the build has no such run.
    """
    run_of(build, run_id)
    return replace(build, runs=tuple(change(run) if run.id == run_id else run for run in build.runs))


def staying(run: Run) -> Run:
    """A run without pins, bans and choices that name a source it no longer has."""
    places = {key(source) for source in run.sources}
    return replace(
        run,
        pins=tuple(p for p in run.pins if (p.part, p.socket) in places),
        forbidden=tuple(f for f in run.forbidden if (f.part, f.socket) in places),
        shared=tuple(c for c in run.shared if (c.part, c.socket) in places),
    )
