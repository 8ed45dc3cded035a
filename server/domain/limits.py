"""What a build may hold: every number in its range, every name that it refers to known."""

from collections import Counter
from collections.abc import Iterator, Mapping
from decimal import Decimal

from server.domain.errors import Problem
from server.domain.model.build import SUPPLY, Build, PlugRef, Route, Run
from server.domain.model.catalogue import Catalogue
from server.domain.reference import LENGTH_MOST_MM, LOOM_LIMIT_PARTS
from server.domain.sockets import SocketFacts, every_socket, key, layout_of

Sockets = Mapping[tuple[str, str], SocketFacts]

NAME_MOST = 200
NOTES_MOST = 5000
CHAIN_MOST = 12
SOURCES_MOST = 4
EXTRA_MOST_MM = 1000.0
PATTERN_MOST = 48
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
        *_finish(build, catalogue),
        *_allowances(build),
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
        if wrong := length_problem(run.own_cable_mm):
            yield Problem(f"{field}.own_cable", wrong)
        yield from _run_finish(run, catalogue, field)


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
    for name, value in (("length", route.length_mm), ("low", route.low_mm), ("high", route.high_mm)):
        if wrong := length_problem(value):
            yield Problem(f"{field}.{name}", wrong)
    if route.length_mm is not None and (route.low_mm is not None or route.high_mm is not None):
        yield Problem(f"{field}.length", "give one length, or a range, not both")
    if (route.low_mm is None) != (route.high_mm is None):
        yield Problem(f"{field}.{'low' if route.low_mm is None else 'high'}", "a range needs both ends")
    elif route.low_mm is not None and route.high_mm is not None and route.low_mm > route.high_mm:
        yield Problem(f"{field}.high", "the range ends below where it begins")
    if len(route.spacing_mm) > max(0, len(run.ends) - 1):
        yield Problem(f"{field}.spacing", f"{len(route.spacing_mm)} spacings for {len(run.ends)} plugs")
    for spacing in route.spacing_mm:
        if wrong := length_problem(spacing):
            yield Problem(f"{field}.spacing", wrong)
    for side, plugs in (("sources", run.sources), ("ends", run.ends)):
        for index, plug in enumerate(plugs):
            yield from _extra(plug, f"{field}.{side}.{index}.extra")


def _extra(plug: PlugRef, field: str) -> Iterator[Problem]:
    if not 0 <= plug.extra_mm <= EXTRA_MOST_MM:
        yield Problem(field, f"extra reach runs from 0 to {EXTRA_MOST_MM:g} mm, not {plug.extra_mm:g}")


def _run_finish(run: Run, catalogue: Catalogue, field: str) -> Iterator[Problem]:
    own = run.finish
    if own.awg is not None and own.awg not in _gauges(catalogue):
        yield Problem(f"{field}.finish.awg", f"no {own.awg} AWG wire is listed")
    if own.pattern is not None:
        yield from _pattern(own.pattern, f"{field}.finish.pattern", catalogue, sleeve=False)
    if own.sleeve_pattern is not None:
        yield from _pattern(own.sleeve_pattern, f"{field}.finish.sleeve_pattern", catalogue, sleeve=True)
    if own.sleeve and own.sleeve not in catalogue.sleeves:
        yield Problem(f"{field}.finish.sleeve", f"no sleeve is called '{own.sleeve}'")


def _finish(build: Build, catalogue: Catalogue) -> Iterator[Problem]:
    finish = build.finish
    for use, awg in finish.awg_by_use.items():
        if awg not in _gauges(catalogue):
            yield Problem(f"finish.awg.{use}", f"no {awg} AWG wire is listed")
    yield from _pattern(finish.pattern, "finish.pattern", catalogue, sleeve=False)
    yield from _pattern(finish.sleeve_pattern, "finish.sleeve_pattern", catalogue, sleeve=True)
    if finish.sleeve and finish.sleeve not in catalogue.sleeves:
        yield Problem("finish.sleeve", f"no sleeve is called '{finish.sleeve}'")


def _gauges(catalogue: Catalogue) -> set[int]:
    return {wire.awg for wire in catalogue.wires.values()}


def _pattern(codes: tuple[str, ...], field: str, catalogue: Catalogue, *, sleeve: bool) -> Iterator[Problem]:
    if not codes:
        yield Problem(field, "pick at least one colour")
    if len(codes) > PATTERN_MOST:
        yield Problem(field, f"{len(codes)} colours; at most {PATTERN_MOST}")
    for code in dict.fromkeys(codes):
        colour = catalogue.colours.get(code)
        if colour is None:
            yield Problem(field, f"'{code}' is no colour code of the list")
        elif not (colour.sleeve if sleeve else colour.insulations):
            yield Problem(field, f"no {'sleeve' if sleeve else 'wire'} is listed in {colour.name}")


def _allowances(build: Build) -> Iterator[Problem]:
    allowances = build.allowances
    for name, value, low, high in (
        ("per_wire", allowances.per_wire_mm, 0.0, 500.0),
        ("step", allowances.step_mm, 1.0, 100.0),
        ("spare_contacts_percent", allowances.spare_contacts_percent, 0.0, 500.0),
        ("spare_contacts_least", float(allowances.spare_contacts_least), 0.0, 1000.0),
        ("spare_combs", float(allowances.spare_combs_per_run), 0.0, 50.0),
    ):
        if not low <= value <= high:
            yield Problem(f"allowances.{name}", f"runs from {low:g} to {high:g}, not {value:g}")


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
