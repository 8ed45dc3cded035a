"""What the finish and the allowances of a build may hold: every number in its range, every name known."""

from collections.abc import Container, Iterator, Mapping

from server.domain.errors import Problem
from server.domain.model.build import Allowances, Finish, RunFinish, SpareOf
from server.domain.model.catalogue import Catalogue
from server.domain.reference import SPARES

PATTERN_MOST = 48
ALLOWANCE_MOST_MM = 500.0
"""Of re-crimp reserve, slack and fray. [mm]"""
DEPTH_MOST_MM = 100.0
"""Of insertion depth and strip length; no housing and no contact is longer. [mm]"""
CUT_LOSS_MOST_MM = 20.0
"""At one cut; a wider one is no cut. [mm]"""
REMNANT_MOST_MM = 2000.0
"""Least useful remnant; whoever throws away more keeps none. [mm]"""
PERCENT_MOST = 500.0
SPARE_MOST: Mapping[SpareOf, int] = {"contacts": 1000, "shrink": 1000, "combs": 50}


def run_finish_problems(own: RunFinish, catalogue: Catalogue, field: str) -> Iterator[Problem]:
    """What is wrong with the finish of one run.

    Args:
        own: What the run does otherwise than the build.
        catalogue: Reference data.
        field: Path of the run's finish.
    """
    if own.awg is not None and own.awg not in _gauges(catalogue):
        yield Problem(f"{field}.awg", f"no {own.awg} AWG wire is listed")
    if own.pattern is not None:
        yield from _pattern(own.pattern, f"{field}.pattern", catalogue, sleeve=False)
    if own.sleeve_pattern is not None:
        yield from _pattern(own.sleeve_pattern, f"{field}.sleeve_pattern", catalogue, sleeve=True)
    yield from _sizes(own.sleeve or "", own.shrink_size or "", catalogue, field)


def finish_problems(finish: Finish, catalogue: Catalogue) -> Iterator[Problem]:
    """What is wrong with the finish of the build."""
    for use, awg in finish.awg_by_use.items():
        if awg not in _gauges(catalogue):
            yield Problem(f"finish.awg.{use}", f"no {awg} AWG wire is listed")
    yield from _pattern(finish.pattern, "finish.pattern", catalogue, sleeve=False)
    yield from _pattern(finish.sleeve_pattern, "finish.sleeve_pattern", catalogue, sleeve=True)
    yield from _sizes(finish.sleeve, finish.shrink_size, catalogue, "finish")


def _sizes(sleeve: str, shrink: str, catalogue: Catalogue, field: str) -> Iterator[Problem]:
    if sleeve and sleeve not in catalogue.sleeves:
        yield Problem(f"{field}.sleeve", f"no sleeve is called '{sleeve}'")
    if shrink and shrink not in catalogue.shrinks:
        yield Problem(f"{field}.shrink_size", f"no heat-shrink is called '{shrink}'")


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


def allowance_problems(given: Allowances, catalogue: Catalogue) -> Iterator[Problem]:
    """What is wrong with the allowances and spares of a build."""
    field = "allowances"
    for name, value, low, high in (
        ("recrimp", given.recrimp_mm, 0.0, ALLOWANCE_MOST_MM),
        ("slack", given.slack_mm, 0.0, ALLOWANCE_MOST_MM),
        ("step", given.step_mm, 1.0, 100.0),
        ("fray", given.fray_mm, 0.0, ALLOWANCE_MOST_MM),
        ("cut_loss", given.cut_loss_mm, 0.0, CUT_LOSS_MOST_MM),
        ("remnant_least", given.remnant_least_mm, 0.0, REMNANT_MOST_MM),
    ):
        yield from _between(f"{field}.{name}", value, low, high)
    yield from _by_id(f"{field}.depth", given.depth_mm, catalogue.families, "connector family", DEPTH_MOST_MM)
    yield from _by_id(
        f"{field}.recrimp", given.recrimp_by_family, catalogue.families, "connector family", ALLOWANCE_MOST_MM
    )
    yield from _by_id(f"{field}.strip", given.strip_mm, catalogue.contacts, "contact", DEPTH_MOST_MM)
    if given.skill not in SPARES:
        yield Problem(f"{field}.skill", f"no skill is called '{given.skill}'; pick one of the list")
    for of, spare in given.spares.items():
        if of not in SPARE_MOST:
            yield Problem(f"{field}.spares.{of}", f"no spares are kept of '{of}'")
            continue
        yield from _between(f"{field}.spares.{of}.percent", spare.percent, 0.0, PERCENT_MOST)
        yield from _between(f"{field}.spares.{of}.least", spare.least, 0, SPARE_MOST[of])


def _by_id(field: str, values: Mapping[str, float], known: Container[str], what: str, most: float) -> Iterator[Problem]:
    for ident, value in values.items():
        if ident not in known:
            yield Problem(f"{field}.{ident}", f"no {what} is called '{ident}'")
        else:
            yield from _between(f"{field}.{ident}", value, 0.0, most)


def _between(field: str, value: float, low: float, high: float) -> Iterator[Problem]:
    if not low <= value <= high:
        yield Problem(field, f"runs from {low:g} to {high:g}, not {value:g}")
