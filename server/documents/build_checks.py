"""What a build document must hold to be whole: ids, lengths of text and lists, ranges, and references within itself.

References into the catalogue (layouts, pinouts, sleeves) are not looked at here: a document stays readable when the
catalogue changes.
"""

import re
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from decimal import Decimal
from typing import get_args

from server.domain.errors import Problem
from server.domain.limits import NAME_MOST, NOTES_MOST
from server.domain.model.build import SUPPLY, Build, Finish, Part, PlugRef, Rates, Route, Run, RunFinish
from server.domain.model.catalogue import Use
from server.domain.reference import LENGTH_MOST_MM

LONGEST_NAME = NAME_MOST
LONGEST_NOTES = NOTES_MOST
MOST_PARTS = 500
MOST_RUNS = 500
MOST_SOCKETS = 64
MOST_PLUGS = 64
MOST_PATTERN = 256
MOST_MAP = 2_000
LONGEST_ROUTE_MM = LENGTH_MOST_MM
GREATEST_AMOUNT = Decimal(10_000_000)
GREATEST_NUMBER = 1_000_000

_ID = re.compile(r"[a-z0-9][a-z0-9-]{0,63}")
# Ids that the catalogue gave: a port carries the letters printed on the supply, such as M1.
_REFERENCE = re.compile(r"[A-Za-z0-9_][A-Za-z0-9_.-]{0,63}")
_CAVITY = re.compile(r"[A-Za-z0-9]{1,8}")
_COLOUR = re.compile(r"[A-Z][A-Z0-9]{1,3}")
_CURRENCY = re.compile(r"[A-Z]{3}")
# Characters that no drawing, label or workbook can show; a tab or a new line is allowed in the notes.
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ufffe\uffff]")
_LINE_BREAK = re.compile(r"[\t\n\r]")

_Problems = Iterator[Problem]


def build_problems(build: Build) -> tuple[Problem, ...]:
    """Everything that makes a build unfit to be kept, in the order of the document; empty when it is whole."""
    return tuple(_build(build))


def _build(build: Build) -> _Problems:
    if not build.name.strip():
        yield Problem("name", "A build needs a name.")
    yield from _name("name", build.name)
    yield from _name("client", build.client)
    yield from _text("notes", build.notes, LONGEST_NOTES)
    if build.supply:
        yield from _reference("supply", build.supply)
    yield from _count("parts", build.parts, MOST_PARTS)
    yield from _count("runs", build.runs, MOST_RUNS)
    for index, part in enumerate(build.parts[:MOST_PARTS]):
        yield from _part(f"parts.{index}", part)
    for index, run in enumerate(build.runs[:MOST_RUNS]):
        yield from _run(f"runs.{index}", run)
    yield from _once("parts", "id", (part.id for part in build.parts))
    yield from _once("runs", "id", (run.id for run in build.runs))
    yield from _once("runs", "number", (run.number for run in build.runs))
    yield from _references(build)
    yield from _finish("finish", build.finish)
    yield from _allowances(build)
    yield from _rates("rates", build.rates)
    yield from _prices(build)
    yield from _counters(build)


def _part(path: str, part: Part) -> _Problems:
    yield from _id(f"{path}.id", part.id)
    if part.id == SUPPLY:
        yield Problem(f"{path}.id", f'"{SUPPLY}" stands for the supply itself.')
    yield from _name(f"{path}.name", part.name)
    yield from _name(f"{path}.chain", part.chain)
    yield from _count(f"{path}.sockets", part.sockets, MOST_SOCKETS)
    for index, socket in enumerate(part.sockets[:MOST_SOCKETS]):
        yield from _id(f"{path}.sockets.{index}.id", socket.id)
        yield from _reference(f"{path}.sockets.{index}.pinout", socket.pinout)
    yield from _once(f"{path}.sockets", "id", (socket.id for socket in part.sockets))


def _run(path: str, run: Run) -> _Problems:
    yield from _id(f"{path}.id", run.id)
    yield from _between(f"{path}.number", run.number, 1, GREATEST_NUMBER)
    yield from _name(f"{path}.name", run.name)
    for side, plugs in (("sources", run.sources), ("ends", run.ends)):
        # A run may wait for its source: its part was taken out, or no port is free yet.
        if side == "ends" and not plugs:
            yield Problem(f"{path}.{side}", "A run needs at least one plug here.")
        yield from _count(f"{path}.{side}", plugs, MOST_PLUGS)
        for index, plug in enumerate(plugs[:MOST_PLUGS]):
            yield from _plug(f"{path}.{side}.{index}", plug)
    yield from _route(f"{path}.route", run.route)
    yield from _run_finish(f"{path}.finish", run.finish)
    yield from _each(f"{path}.optional", run.optional, _CAVITY, "Must be a cavity, such as 12 or S1.")
    yield from _by_hand(path, run)


def _by_hand(path: str, run: Run) -> _Problems:
    """Pins, forbidden cavities and choices for shared contacts: places that can be written down at all."""
    places = [
        *(("pins", i, p.part, p.socket, p.source_cavity) for i, p in enumerate(run.pins)),
        *(("forbidden", i, f.part, f.socket, f.cavity) for i, f in enumerate(run.forbidden)),
        *(("shared", i, c.part, c.socket, c.cavity) for i, c in enumerate(run.shared)),
    ]
    for field, index, part, socket, cavity in places:
        yield from _id(f"{path}.{field}.{index}.part", part)
        yield from _reference(f"{path}.{field}.{index}.socket", socket)
        if not _CAVITY.fullmatch(cavity):
            yield Problem(f"{path}.{field}.{index}.cavity", "Must be a cavity, such as 12 or S1.")
    pinned = tuple(pin.cavity for pin in run.pins)
    yield from _each(f"{path}.pins", pinned, _CAVITY, "Must be a cavity, such as 12 or S1.")
    if len(set(pinned)) < len(pinned):
        yield Problem(f"{path}.pins", "A part cavity is pinned twice.")
    for field, items in (("pins", run.pins), ("forbidden", run.forbidden), ("shared", run.shared)):
        yield from _count(f"{path}.{field}", items, MOST_PATTERN)
    own = run.own_cable_mm
    if own is not None and not 0 < own <= LONGEST_ROUTE_MM:
        yield Problem(f"{path}.own_cable_mm", f"Must be more than 0 and at most {LONGEST_ROUTE_MM:.0f} mm.")


def _plug(path: str, plug: PlugRef) -> _Problems:
    yield from _id(f"{path}.part", plug.part)
    yield from _reference(f"{path}.socket", plug.socket)
    yield from _between(f"{path}.extra_mm", plug.extra_mm, 0, LONGEST_ROUTE_MM)


def _route(path: str, route: Route) -> _Problems:
    for field in ("length_mm", "low_mm", "high_mm"):
        value = getattr(route, field)
        if value is not None and not 0 < value <= LONGEST_ROUTE_MM:
            yield Problem(f"{path}.{field}", f"Must be more than 0 and at most {LONGEST_ROUTE_MM:.0f} mm.")
    if (route.low_mm is None) != (route.high_mm is None):
        missing = "low_mm" if route.low_mm is None else "high_mm"
        yield Problem(f"{path}.{missing}", "A range needs both its low and its high end.")
    if route.low_mm is not None and route.high_mm is not None and route.low_mm > route.high_mm:
        yield Problem(f"{path}.high_mm", "The high end lies below the low end.")
    if route.length_mm is not None and (route.low_mm is not None or route.high_mm is not None):
        yield Problem(f"{path}.length_mm", "A route has a length or a range, not both.")
    yield from _count(f"{path}.spacing_mm", route.spacing_mm, MOST_PLUGS)
    for index, spacing in enumerate(route.spacing_mm[:MOST_PLUGS]):
        yield from _between(f"{path}.spacing_mm.{index}", spacing, 0, LONGEST_ROUTE_MM)


def _run_finish(path: str, finish: RunFinish) -> _Problems:
    if finish.awg is not None:
        yield from _between(f"{path}.awg", finish.awg, 1, 50)
    if finish.sleeve:
        yield from _reference(f"{path}.sleeve", finish.sleeve)
    yield from _pattern(f"{path}.pattern", finish.pattern or ())
    yield from _pattern(f"{path}.sleeve_pattern", finish.sleeve_pattern or ())


def _finish(path: str, finish: Finish) -> _Problems:
    uses = get_args(Use)
    for use, awg in finish.awg_by_use.items():
        if use not in uses:
            yield Problem(f"{path}.awg_by_use.{use[:80]}", f"Must be one of: {', '.join(uses)}.")
        yield from _between(f"{path}.awg_by_use.{use[:80]}", awg, 1, 50)
    if finish.sleeve:
        yield from _reference(f"{path}.sleeve", finish.sleeve)
    yield from _pattern(f"{path}.pattern", finish.pattern)
    yield from _pattern(f"{path}.sleeve_pattern", finish.sleeve_pattern)


def _pattern(path: str, pattern: tuple[str, ...]) -> _Problems:
    yield from _count(path, pattern, MOST_PATTERN)
    yield from _each(path, pattern[:MOST_PATTERN], _COLOUR, "Must be a colour code, such as BK.")


def _allowances(build: Build) -> _Problems:
    given = build.allowances
    yield from _between("allowances.per_wire_mm", given.per_wire_mm, 0, 1_000)
    if not 0 < given.step_mm <= 1_000:
        yield Problem("allowances.step_mm", "Must be more than 0 and at most 1000.")
    yield from _between("allowances.spare_contacts_percent", given.spare_contacts_percent, 0, 1_000)
    yield from _between("allowances.spare_contacts_least", given.spare_contacts_least, 0, 10_000)
    yield from _between("allowances.spare_combs_per_run", given.spare_combs_per_run, 0, 1_000)


def _rates(path: str, rates: Rates) -> _Problems:
    if not _CURRENCY.fullmatch(rates.currency):
        yield Problem(f"{path}.currency", "Must be a currency code of three capital letters, such as EUR.")
    yield from _amount(f"{path}.hourly", rates.hourly)
    for field in ("overhead_percent", "margin_percent", "tax_percent"):
        yield from _amount(f"{path}.{field}", getattr(rates, field), Decimal(1_000))


def _prices(build: Build) -> _Problems:
    if len(build.prices) > MOST_MAP:
        yield Problem("prices", f"At most {MOST_MAP} entries are read here.")
    for pack, price in list(build.prices.items())[:MOST_MAP]:
        yield from _reference(f"prices.{pack[:80]}", pack)
        yield from _amount(f"prices.{pack[:80]}", price)


def _references(build: Build) -> _Problems:
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


def _counters(build: Build) -> _Problems:
    highest = max((run.number for run in build.runs), default=0)
    if not highest < build.next_number <= GREATEST_NUMBER + 1:
        yield Problem("next_number", f"Must be above every run's number ({highest}).")
    yield from _between("next_part", build.next_part, 1, GREATEST_NUMBER)


def _id(path: str, value: str) -> _Problems:
    if not _ID.fullmatch(value):
        yield Problem(path, "Must be an id: small letters, digits and hyphens, at most 64, a letter or digit first.")


def _reference(path: str, value: str) -> _Problems:
    if not _REFERENCE.fullmatch(value):
        yield Problem(path, "Must be an id of the catalogue: letters, digits, hyphens and points, at most 64.")


def _name(path: str, value: str) -> _Problems:
    yield from _text(path, value, LONGEST_NAME)
    if _LINE_BREAK.search(value):
        yield Problem(path, "Must be one line.")


def _text(path: str, value: str, longest: int) -> _Problems:
    if len(value) > longest:
        yield Problem(path, f"Must be at most {longest} characters.")
    if _CONTROL.search(value):
        yield Problem(path, "Holds a character that cannot be shown.")


def _each(path: str, values: tuple[str, ...], pattern: re.Pattern[str], message: str) -> _Problems:
    yield from _count(path, values, MOST_PATTERN)
    for index, value in enumerate(values[:MOST_PATTERN]):
        if not pattern.fullmatch(value):
            yield Problem(f"{path}.{index}", message)


def _count(path: str, values: tuple[object, ...], most: int) -> _Problems:
    if len(values) > most:
        yield Problem(path, f"At most {most} entries are read here.")


def _once(path: str, field: str, values: Iterable[object]) -> _Problems:
    seen: Counter[object] = Counter()
    for index, value in enumerate(values):
        seen[value] += 1
        if seen[value] == 2:
            yield Problem(f"{path}.{index}.{field}", f"{str(value)[:80]} is used twice.")


def _between(path: str, value: float, least: float, greatest: float) -> _Problems:
    if not least <= value <= greatest:
        yield Problem(path, f"Must be from {least:g} to {_figure(greatest)}.")


def _amount(path: str, value: Decimal, greatest: Decimal = GREATEST_AMOUNT) -> _Problems:
    exponent = value.as_tuple().exponent
    if not value.is_finite() or not 0 <= value <= greatest:
        yield Problem(path, f"Must be from 0 to {greatest}.")
    elif not isinstance(exponent, int) or not -6 <= exponent <= 7:
        # An exponent far beyond the amount itself ("0E+9999999") would be written out as that many digits.
        yield Problem(path, "Must be written plainly, with at most 6 digits after the point.")


_figure: Callable[[float], str] = "{:.0f}".format
