"""What a build may hold: every number in its range, every name that it refers to known."""

from collections import Counter
from collections.abc import Iterator, Mapping
from decimal import Decimal

from server.domain.errors import Problem
from server.domain.finish_limits import allowance_problems, finish_problems, run_finish_problems
from server.domain.lengths import middle_mm
from server.domain.model.build import SUPPLY, Build, PlugRef, Route, Run
from server.domain.model.catalogue import Catalogue
from server.domain.model.route import RouteStep
from server.domain.reference import LENGTH_MOST_MM, LOOM_LIMIT_PARTS, STEPS_MOST
from server.domain.sockets import SocketFacts, every_socket, key, layout_of

Sockets = Mapping[tuple[str, str], SocketFacts]

NAME_MOST = 200
NOTES_MOST = 5000
CHAIN_MOST = 12
SOURCES_MOST = 4
EXTRA_MOST_MM = 1000.0
TAIL_MOST_MM = 1000.0
FORK_MOST = 4
RADIUS_MOST_MM = 1000.0
BEND_MOST_DEG = 360.0
TWIST_MOST_DEG = 720.0
RATE_MOST = Decimal(10_000)
PERCENT_MOST = Decimal(500)
PRICE_MOST = Decimal(1_000_000)
CURRENCY_LETTERS = 3


def problems(build: Build, catalogue: Catalogue) -> tuple[Problem, ...]:
    """Everything that keeps a build from being saved, each with the path of its field.

    A source that the chosen layout does not have is no problem but a finding: layouts change under builds.

    Args:
        build: The build as it would be saved.
        catalogue: Reference data.
    """
    return (
        *_words(build),
        *_supply(build, catalogue),
        *_parts(build, catalogue),
        *_runs(build, catalogue),
        *finish_problems(build.finish, catalogue),
        *allowance_problems(build.allowances, catalogue),
        *_rates(build),
        *_prices(build, catalogue),
    )


def length_problem(value: float | None) -> str:
    """What is wrong with a route length, in words; empty when nothing is. [mm]"""
    if value is None:
        return ""
    if not value > 0:
        return "a length must be a number greater than zero"
    if value > LENGTH_MOST_MM:
        return f"longer than {LENGTH_MOST_MM:g} mm: no route inside a computer is; check the unit"
    return ""


def _words(build: Build) -> Iterator[Problem]:
    if not build.name.strip():
        yield Problem("name", "give the build a name")
    for field, text, most in (
        ("name", build.name, NAME_MOST),
        ("client", build.client, NAME_MOST),
        ("notes", build.notes, NOTES_MOST),
    ):
        if len(text) > most:
            yield Problem(field, f"{len(text)} characters; at most {most}")


def _supply(build: Build, catalogue: Catalogue) -> Iterator[Problem]:
    if build.supply and layout_of(build, catalogue) is None:
        yield Problem("supply", f"no supply layout is called '{build.supply}'")


def _parts(build: Build, catalogue: Catalogue) -> Iterator[Problem]:
    if len(build.parts) > LOOM_LIMIT_PARTS:
        yield Problem("count", f"{len(build.parts)} parts; at most {LOOM_LIMIT_PARTS}")
    yield from _repeated("parts", [part.id for part in build.parts], "part id")
    for part in build.parts:
        field = f"parts.{part.id}"
        if part.id == SUPPLY:
            yield Problem(field, f"'{SUPPLY}' stands for the supply itself")
        if not part.name.strip():
            yield Problem(f"{field}.name", "give the part a name")
        elif len(part.name) > NAME_MOST:
            yield Problem(f"{field}.name", f"{len(part.name)} characters; at most {NAME_MOST}")
        yield from _repeated(f"{field}.sockets", [socket.id for socket in part.sockets], "socket id")
        for socket in part.sockets:
            if socket.pinout not in catalogue.pinouts:
                yield Problem(f"{field}.sockets.{socket.id}", f"no pinout is called '{socket.pinout}'")


def _repeated(field: str, ids: list[str], what: str) -> Iterator[Problem]:
    for ident, count in Counter(ids).items():
        if count > 1:
            yield Problem(field, f"{what} '{ident}' stands {count} times")


def _runs(build: Build, catalogue: Catalogue) -> Iterator[Problem]:
    sockets = every_socket(build, catalogue)
    yield from _repeated("runs", [run.id for run in build.runs], "run id")
    yield from _repeated("runs", [str(run.number) for run in build.runs], "run number")
    fed = Counter(key(end) for run in build.runs for end in run.ends)
    feeding = Counter(key(source) for run in build.runs for source in run.sources)
    for run in build.runs:
        field = f"runs.{run.id}"
        if len(run.name) > NAME_MOST:
            yield Problem(f"{field}.name", f"{len(run.name)} characters; at most {NAME_MOST}")
        if run.number >= build.next_number:
            yield Problem("next_number", f"run {run.number} exists, so the next number must be larger")
        if not 1 <= len(run.ends) <= CHAIN_MOST:
            yield Problem(f"{field}.ends", f"a run has 1 to {CHAIN_MOST} part plugs, not {len(run.ends)}")
        if len(run.sources) > SOURCES_MOST:
            yield Problem(f"{field}.sources", f"a run starts from at most {SOURCES_MOST} plugs")
        yield from _ends(run, sockets, fed)
        yield from _sources(run, sockets, feeding)
        yield from _route(run, field)
        yield from _branching(run, sockets, field)
        if wrong := length_problem(run.own_cable_mm):
            yield Problem(f"{field}.own_cable", wrong)
        yield from run_finish_problems(run.finish, catalogue, f"{field}.finish")


def _ends(run: Run, sockets: Sockets, fed: Counter[tuple[str, str]]) -> Iterator[Problem]:
    """Part plugs: each an inlet that exists and that no other plug is in."""
    for end in run.ends:
        facts = sockets.get(key(end))
        if facts is None or facts.role != "inlet":
            yield Problem(f"runs.{run.id}.ends", f"no part has an inlet '{end.part} {end.socket}'")
        elif fed[key(end)] > 1:
            yield Problem(f"runs.{run.id}.ends", f"{facts.place}, {facts.label} is fed by {fed[key(end)]} runs")


def _sources(run: Run, sockets: Sockets, feeding: Counter[tuple[str, str]]) -> Iterator[Problem]:
    """Source plugs: each a socket that gives, on another part, and that no other plug is in."""
    field = f"runs.{run.id}.sources"
    for source in run.sources:
        facts = sockets.get(key(source))
        if facts is None and source.part != SUPPLY:
            yield Problem(field, f"no part has a header '{source.part} {source.socket}'")
        elif feeding[key(source)] > 1:
            name = facts.label if facts else source.socket
            yield Problem(field, f"{name} is used {feeding[key(source)]} times; a socket holds one plug")
        elif source.part in {end.part for end in run.ends}:
            yield Problem(field, "a part cannot feed itself")
        elif facts is not None and facts.role != "outlet":
            yield Problem(field, f"{facts.label} takes power; a run cannot start there")


def _route(run: Run, field: str) -> Iterator[Problem]:
    route: Route = run.route
    for name, value in (
        ("length", route.length_mm),
        ("low", route.low_mm),
        ("likely", route.likely_mm),
        ("high", route.high_mm),
    ):
        if wrong := length_problem(value):
            yield Problem(f"{field}.{name}", wrong)
    if route.length_mm is not None and route.steps:
        yield Problem(f"{field}.length", "give one length, or legs and bends, not both")
    yield from _range(route, field)
    yield from _steps(route.steps, field)
    odd = [wrong for spacing in route.spacing_mm if (wrong := length_problem(spacing))]
    yield from (Problem(f"{field}.spacing", wrong) for wrong in odd)
    if not odd:
        yield from _chain_length(route, field)
    for side, plugs in (("sources", run.sources), ("ends", run.ends)):
        for index, plug in enumerate(plugs):
            yield from _plug(plug, f"{field}.{side}.{index}")


def _chain_length(route: Route, field: str) -> Iterator[Problem]:
    """A chain ends where its route and its spacings have led it, and that is inside a computer too."""
    try:
        first = middle_mm(route.steps) if route.steps else route.length_mm or route.high_mm or 0.0
    except ValueError:
        return  # The step that is wrong says so itself.
    whole = first + sum(route.spacing_mm)
    if route.spacing_mm and first <= LENGTH_MOST_MM < whole:
        text = (
            f"the route and the spacings of the chain add up to {whole:.0f} mm; no route inside a computer is over "
            f"{LENGTH_MOST_MM:g} mm"
        )
        yield Problem(f"{field}.spacing", text)


def _range(route: Route, field: str) -> Iterator[Problem]:
    low, likely, high = route.low_mm, route.likely_mm, route.high_mm
    if (low is None) != (high is None):
        yield Problem(f"{field}.{'low' if low is None else 'high'}", "a range needs both ends")
    elif low is None or high is None:
        if likely is not None:
            yield Problem(f"{field}.likely", "a most likely length needs the range that it lies in")
    elif low > high:
        yield Problem(f"{field}.high", "the range ends below where it begins")
    elif likely is not None and not low <= likely <= high:
        yield Problem(f"{field}.likely", f"the most likely length lies between {low:g} and {high:g} mm, not {likely:g}")


def _steps(steps: tuple[RouteStep, ...], field: str) -> Iterator[Problem]:
    if len(steps) > STEPS_MOST:
        yield Problem(f"{field}.steps", f"{len(steps)} legs and bends; at most {STEPS_MOST}")
        return
    wrong = [problem for index, step in enumerate(steps) for problem in _step(step, f"{field}.steps.{index}")]
    yield from wrong
    if steps and not wrong and (middle := middle_mm(steps)) > LENGTH_MOST_MM:
        text = f"the legs and bends add up to {middle:.0f} mm; no route inside a computer is over {LENGTH_MOST_MM:g}"
        yield Problem(f"{field}.steps", text)


def _step(step: RouteStep, field: str) -> Iterator[Problem]:
    if step.kind in {"leg", "twist"}:
        if wrong := length_problem(step.length_mm):
            yield Problem(f"{field}.length", wrong)
    elif step.length_mm != 0:
        yield Problem(f"{field}.length", "a bend has an angle and a radius, no length")
    if step.kind == "leg":
        if step.angle_deg != 0:
            yield Problem(f"{field}.angle", "a leg is straight and has no angle")
    elif step.kind == "twist":
        if step.angle_deg == 0 or not abs(step.angle_deg) <= TWIST_MOST_DEG:
            most = f"{TWIST_MOST_DEG:g}"
            yield Problem(f"{field}.angle", f"a twist runs from -{most} to {most} degrees and is not 0")
    elif not 0 < step.angle_deg <= BEND_MOST_DEG:
        yield Problem(f"{field}.angle", f"a bend turns by more than 0 and at most {BEND_MOST_DEG:g} degrees")
    if step.kind in {"leg", "twist"}:
        if step.radius_mm != 0:
            yield Problem(f"{field}.radius", f"a {step.kind} has no radius")
    elif not 0 < step.radius_mm <= RADIUS_MOST_MM:
        yield Problem(f"{field}.radius", f"a bend's radius is more than 0 and at most {RADIUS_MOST_MM:g} mm")


def _plug(plug: PlugRef, field: str) -> Iterator[Problem]:
    if not 0 <= plug.extra_mm <= EXTRA_MOST_MM:
        yield Problem(f"{field}.extra", f"extra reach runs from 0 to {EXTRA_MOST_MM:g} mm, not {plug.extra_mm:g}")
    if plug.tail_mm is not None and not 0 <= plug.tail_mm <= TAIL_MOST_MM:
        yield Problem(f"{field}.tail", f"a tail runs from 0 to {TAIL_MOST_MM:g} mm, not {plug.tail_mm:g}")


def _branching(run: Run, sockets: Sockets, field: str) -> Iterator[Problem]:
    """Spacing along a chain; plugs and pins of a fork, whose wires all leave from one place."""
    spacings, plugs = len(run.route.spacing_mm), len(run.ends)
    if run.branching == "chain":
        if spacings > max(0, plugs - 1):
            yield Problem(f"{field}.spacing", f"{spacings} spacings for {plugs} plugs")
        return
    if not 2 <= plugs <= FORK_MOST:
        yield Problem(f"{field}.ends", f"a fork has 2 to {FORK_MOST} part plugs, not {plugs}")
    if spacings:
        yield Problem(f"{field}.spacing", "the plugs of a fork have no spacing; give each its extra reach or its tail")
    first = sockets.get(key(run.ends[0])) if run.ends else None
    for pin in run.pins:
        if first is not None and pin.cavity not in first.nets:
            yield Problem(f"{field}.pins", f"cavity {pin.cavity} is not one of the fork's first plug, {first.label}")


def _rates(build: Build) -> Iterator[Problem]:
    rates = build.rates
    code = rates.currency
    if len(code) != CURRENCY_LETTERS or not (code.isascii() and code.isupper() and code.isalpha()):
        yield Problem("rates.currency", f"'{code}' is no three-letter currency code such as EUR")
    for name, value, most in (
        ("hourly", rates.hourly, RATE_MOST),
        ("overhead", rates.overhead_percent, PERCENT_MOST),
        ("margin", rates.margin_percent, PERCENT_MOST),
        ("tax", rates.tax_percent, PERCENT_MOST),
    ):
        if not (value.is_finite() and 0 <= value <= most):
            yield Problem(f"rates.{name}", f"runs from 0 to {most}, not {value}")


def _prices(build: Build, catalogue: Catalogue) -> Iterator[Problem]:
    known = {pack.id for pack in catalogue.packs}
    for pack, price in build.prices.items():
        if pack not in known:
            yield Problem(f"prices.{pack}", f"no pack is called '{pack}'")
        elif not (price.is_finite() and 0 <= price <= PRICE_MOST):
            yield Problem(f"prices.{pack}", f"a price runs from 0 to {PRICE_MOST}, not {price}")
