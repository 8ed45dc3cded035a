"""What a build document must hold to be whole: ids, lengths of text and lists, ranges, and references within itself.

References into the catalogue (layouts, pinouts, sleeves) are not looked at here: a document stays readable when the
catalogue changes.
"""

from decimal import Decimal
from typing import get_args

from server.documents.length_checks import allowance_problems, plug_problems, route_problems
from server.documents.value_checks import (
    CAVITY,
    COLOUR,
    CURRENCY,
    LONGEST_ROUTE_MM,
    MOST_ENTRIES,
    Problems,
    check_amount,
    check_between,
    check_count,
    check_each,
    check_id,
    check_name,
    check_once,
    check_reference,
    check_text,
)
from server.domain.errors import Problem
from server.domain.limits import NOTES_MOST
from server.domain.model.build import SUPPLY, Build, Finish, Part, Rates, Run, RunFinish
from server.domain.model.catalogue import Use

MOST_PARTS = 500
MOST_RUNS = 500
MOST_SOCKETS = 64
MOST_PLUGS = 64
MOST_MAP = 2_000
GREATEST_NUMBER = 1_000_000


def build_problems(build: Build) -> tuple[Problem, ...]:
    """Everything that makes a build unfit to be kept, in the order of the document; empty when it is whole."""
    return tuple(_build(build))


def _build(build: Build) -> Problems:
    if not build.name.strip():
        yield Problem("name", "A build needs a name.")
    yield from check_name("name", build.name)
    yield from check_name("client", build.client)
    yield from check_text("notes", build.notes, NOTES_MOST)
    if build.supply:
        yield from check_reference("supply", build.supply)
    yield from check_count("parts", build.parts, MOST_PARTS)
    yield from check_count("runs", build.runs, MOST_RUNS)
    for index, part in enumerate(build.parts[:MOST_PARTS]):
        yield from _part(f"parts.{index}", part)
    for index, run in enumerate(build.runs[:MOST_RUNS]):
        yield from _run(f"runs.{index}", run)
    yield from check_once("parts", "id", (part.id for part in build.parts))
    yield from check_once("runs", "id", (run.id for run in build.runs))
    yield from check_once("runs", "number", (run.number for run in build.runs))
    yield from _references(build)
    yield from _finish("finish", build.finish)
    yield from allowance_problems("allowances", build.allowances)
    yield from _rates("rates", build.rates)
    yield from _prices(build)
    yield from _counters(build)


def _part(path: str, part: Part) -> Problems:
    yield from check_id(f"{path}.id", part.id)
    if part.id == SUPPLY:
        yield Problem(f"{path}.id", f'"{SUPPLY}" stands for the supply itself.')
    yield from check_name(f"{path}.name", part.name)
    yield from check_name(f"{path}.chain", part.chain)
    yield from check_count(f"{path}.sockets", part.sockets, MOST_SOCKETS)
    for index, socket in enumerate(part.sockets[:MOST_SOCKETS]):
        yield from check_id(f"{path}.sockets.{index}.id", socket.id)
        yield from check_reference(f"{path}.sockets.{index}.pinout", socket.pinout)
    yield from check_once(f"{path}.sockets", "id", (socket.id for socket in part.sockets))


def _run(path: str, run: Run) -> Problems:
    yield from check_id(f"{path}.id", run.id)
    yield from check_between(f"{path}.number", run.number, 1, GREATEST_NUMBER)
    yield from check_name(f"{path}.name", run.name)
    for side, plugs in (("sources", run.sources), ("ends", run.ends)):
        # A run may wait for its source: its part was taken out, or no port is free yet.
        if side == "ends" and not plugs:
            yield Problem(f"{path}.{side}", "A run needs at least one plug here.")
        yield from check_count(f"{path}.{side}", plugs, MOST_PLUGS)
        for index, plug in enumerate(plugs[:MOST_PLUGS]):
            yield from plug_problems(f"{path}.{side}.{index}", plug)
    yield from route_problems(f"{path}.route", run.route)
    yield from _run_finish(f"{path}.finish", run.finish)
    yield from check_each(f"{path}.optional", run.optional, CAVITY, "Must be a cavity, such as 12 or S1.")
    yield from _by_hand(path, run)


def _by_hand(path: str, run: Run) -> Problems:
    """Pins, forbidden cavities and choices for shared contacts: places that can be written down at all."""
    places = [
        *(("pins", i, p.part, p.socket, p.source_cavity) for i, p in enumerate(run.pins)),
        *(("forbidden", i, f.part, f.socket, f.cavity) for i, f in enumerate(run.forbidden)),
        *(("shared", i, c.part, c.socket, c.cavity) for i, c in enumerate(run.shared)),
    ]
    for field, index, part, socket, cavity in places:
        yield from check_id(f"{path}.{field}.{index}.part", part)
        yield from check_reference(f"{path}.{field}.{index}.socket", socket)
        if not CAVITY.fullmatch(cavity):
            yield Problem(f"{path}.{field}.{index}.cavity", "Must be a cavity, such as 12 or S1.")
    pinned = tuple(pin.cavity for pin in run.pins)
    yield from check_each(f"{path}.pins", pinned, CAVITY, "Must be a cavity, such as 12 or S1.")
    if len(set(pinned)) < len(pinned):
        yield Problem(f"{path}.pins", "A part cavity is pinned twice.")
    for field, items in (("pins", run.pins), ("forbidden", run.forbidden), ("shared", run.shared)):
        yield from check_count(f"{path}.{field}", items, MOST_ENTRIES)
    own = run.own_cable_mm
    if own is not None and not 0 < own <= LONGEST_ROUTE_MM:
        yield Problem(f"{path}.own_cable_mm", f"Must be more than 0 and at most {LONGEST_ROUTE_MM:.0f} mm.")


def _run_finish(path: str, finish: RunFinish) -> Problems:
    if finish.awg is not None:
        yield from check_between(f"{path}.awg", finish.awg, 1, 50)
    for field in ("sleeve", "shrink_size"):
        if chosen := getattr(finish, field):
            yield from check_reference(f"{path}.{field}", chosen)
    yield from _pattern(f"{path}.pattern", finish.pattern or ())
    yield from _pattern(f"{path}.sleeve_pattern", finish.sleeve_pattern or ())


def _finish(path: str, finish: Finish) -> Problems:
    uses = get_args(Use)
    for use, awg in finish.awg_by_use.items():
        if use not in uses:
            yield Problem(f"{path}.awg_by_use.{use[:80]}", f"Must be one of: {', '.join(uses)}.")
        yield from check_between(f"{path}.awg_by_use.{use[:80]}", awg, 1, 50)
    for field in ("sleeve", "shrink_size"):
        if chosen := getattr(finish, field):
            yield from check_reference(f"{path}.{field}", chosen)
    yield from _pattern(f"{path}.pattern", finish.pattern)
    yield from _pattern(f"{path}.sleeve_pattern", finish.sleeve_pattern)


def _pattern(path: str, pattern: tuple[str, ...]) -> Problems:
    yield from check_count(path, pattern, MOST_ENTRIES)
    yield from check_each(path, pattern[:MOST_ENTRIES], COLOUR, "Must be a colour code, such as BK.")


def _rates(path: str, rates: Rates) -> Problems:
    if not CURRENCY.fullmatch(rates.currency):
        yield Problem(f"{path}.currency", "Must be a currency code of three capital letters, such as EUR.")
    yield from check_amount(f"{path}.hourly", rates.hourly)
    for field in ("overhead_percent", "margin_percent", "tax_percent"):
        yield from check_amount(f"{path}.{field}", getattr(rates, field), Decimal(1_000))


def _prices(build: Build) -> Problems:
    if len(build.prices) > MOST_MAP:
        yield Problem("prices", f"At most {MOST_MAP} entries are read here.")
    for pack, price in list(build.prices.items())[:MOST_MAP]:
        yield from check_reference(f"prices.{pack[:80]}", pack)
        yield from check_amount(f"prices.{pack[:80]}", price)


def _references(build: Build) -> Problems:
    sockets = {part.id: {socket.id for socket in part.sockets} for part in build.parts}
    for number, run in enumerate(build.runs):
        for side, plugs in (("sources", run.sources), ("ends", run.ends)):
            for index, plug in enumerate(plugs):
                path = f"runs.{number}.{side}.{index}"
                if plug.part == SUPPLY:
                    if side == "ends":
                        yield Problem(f"{path}.part", "A run cannot end in the supply.")
                elif plug.part not in sockets:
                    yield Problem(f"{path}.part", f'The build has no part "{plug.part[:80]}".')
                elif plug.socket not in sockets[plug.part]:
                    yield Problem(f"{path}.socket", f'The part has no socket "{plug.socket[:80]}".')


def _counters(build: Build) -> Problems:
    highest = max((run.number for run in build.runs), default=0)
    if not highest < build.next_number <= GREATEST_NUMBER + 1:
        yield Problem("next_number", f"Must be above every run's number ({highest}).")
    yield from check_between("next_part", build.next_part, 1, GREATEST_NUMBER)
