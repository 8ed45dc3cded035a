"""What a build document may say about lengths: routes by number or by legs and bends, plugs, allowances and spares."""

from collections.abc import Mapping

from server.documents.value_checks import (
    LONGEST_ROUTE_MM,
    Problems,
    check_between,
    check_count,
    check_id,
    check_reference,
)
from server.domain.errors import Problem
from server.domain.finish_limits import CUT_LOSS_MOST_MM, REMNANT_MOST_MM
from server.domain.model.build import Allowances, PlugRef, Route
from server.domain.model.route import RouteStep, StepKind
from server.domain.reference import STEPS_MOST

MOST_SPACINGS = 64
MOST_BY_ID = 500
"""Entries read of what is set by connector family or by contact."""
LONGEST_TAIL_MM = 1_000.0
GREATEST_ALLOWANCE_MM = 500.0
GREATEST_STEP_MM = 1_000.0
GREATEST_PERCENT = 1_000.0
GREATEST_SPARE = 10_000
GREATEST_RADIUS_MM = 1_000.0
GREATEST_BEND_DEG = 360.0
GREATEST_TWIST_DEG = 720.0

_FIELDS: Mapping[StepKind, tuple[str, ...]] = {"leg": ("length_mm",), "twist": ("angle_deg", "length_mm")}
_BEND_FIELDS = ("angle_deg", "radius_mm")


def plug_problems(path: str, plug: PlugRef) -> Problems:
    """A plug: where it goes, its extra reach and its tail."""
    yield from check_id(f"{path}.part", plug.part)
    yield from check_reference(f"{path}.socket", plug.socket)
    yield from check_between(f"{path}.extra_mm", plug.extra_mm, 0, LONGEST_ROUTE_MM)
    if plug.tail_mm is not None:
        yield from check_between(f"{path}.tail_mm", plug.tail_mm, 0, LONGEST_TAIL_MM)


def route_problems(path: str, route: Route) -> Problems:
    """A route: measured one way at most, its range whole and in order."""
    for field in ("length_mm", "low_mm", "likely_mm", "high_mm"):
        value = getattr(route, field)
        if value is not None:
            yield from _above(f"{path}.{field}", value, LONGEST_ROUTE_MM, " mm")
    if route.length_mm is not None and route.steps:
        yield Problem(f"{path}.length_mm", "A route has one length, or legs and bends, not both.")
    yield from _range(path, route)
    yield from check_count(f"{path}.steps", route.steps, STEPS_MOST)
    for index, step in enumerate(route.steps[:STEPS_MOST]):
        yield from _step(f"{path}.steps.{index}", step)
    yield from check_count(f"{path}.spacing_mm", route.spacing_mm, MOST_SPACINGS)
    for index, spacing in enumerate(route.spacing_mm[:MOST_SPACINGS]):
        yield from check_between(f"{path}.spacing_mm.{index}", spacing, 0, LONGEST_ROUTE_MM)


def _range(path: str, route: Route) -> Problems:
    low, likely, high = route.low_mm, route.likely_mm, route.high_mm
    if (low is None) != (high is None):
        missing = "low_mm" if low is None else "high_mm"
        yield Problem(f"{path}.{missing}", "A range needs both its low and its high end.")
    elif low is None or high is None:
        if likely is not None:
            yield Problem(f"{path}.likely_mm", "A most likely value needs a low and a high end beside it.")
    elif low > high:
        yield Problem(f"{path}.high_mm", "The high end lies below the low end.")
    elif likely is not None and not low <= likely <= high:
        yield Problem(f"{path}.likely_mm", "The most likely value lies outside its range.")


def _step(path: str, step: RouteStep) -> Problems:
    wanted = _FIELDS.get(step.kind, _BEND_FIELDS)
    for field in ("length_mm", "angle_deg", "radius_mm"):
        value = getattr(step, field)
        if field not in wanted:
            if value != 0:
                yield Problem(f"{path}.{field}", f"Must be 0: {_named(step.kind)} has none.")
        elif field == "length_mm":
            yield from _above(f"{path}.{field}", value, LONGEST_ROUTE_MM, " mm")
        elif field == "radius_mm":
            yield from _above(f"{path}.{field}", value, GREATEST_RADIUS_MM, " mm")
        elif step.kind != "twist":
            yield from _above(f"{path}.{field}", value, GREATEST_BEND_DEG, " degrees")
        elif value == 0 or not abs(value) <= GREATEST_TWIST_DEG:
            most = f"{GREATEST_TWIST_DEG:.0f}"
            yield Problem(f"{path}.{field}", f"Must be from -{most} to {most} degrees and not 0.")


def _named(kind: StepKind) -> str:
    return {"leg": "a leg", "twist": "a twist"}.get(kind, "a bend")


def _above(path: str, value: float, most: float, unit: str) -> Problems:
    if not 0 < value <= most:
        yield Problem(path, f"Must be more than 0 and at most {most:.0f}{unit}.")


def allowance_problems(path: str, given: Allowances) -> Problems:
    """What is added to every wire and bought beyond the count."""
    for field in ("recrimp_mm", "slack_mm", "fray_mm"):
        yield from check_between(f"{path}.{field}", getattr(given, field), 0, GREATEST_ALLOWANCE_MM)
    yield from check_between(f"{path}.cut_loss_mm", given.cut_loss_mm, 0, CUT_LOSS_MOST_MM)
    yield from check_between(f"{path}.remnant_least_mm", given.remnant_least_mm, 0, REMNANT_MOST_MM)
    yield from _above(f"{path}.step_mm", given.step_mm, GREATEST_STEP_MM, "")
    for field in ("depth_mm", "strip_mm", "recrimp_by_family"):
        values: Mapping[str, float] = getattr(given, field)
        if len(values) > MOST_BY_ID:
            yield Problem(f"{path}.{field}", f"At most {MOST_BY_ID} entries are read here.")
        for ident, value in list(values.items())[:MOST_BY_ID]:
            yield from check_reference(f"{path}.{field}.{ident[:80]}", ident)
            yield from check_between(f"{path}.{field}.{ident[:80]}", value, 0, GREATEST_ALLOWANCE_MM)
    for of, spare in given.spares.items():
        yield from check_between(f"{path}.spares.{of}.percent", spare.percent, 0, GREATEST_PERCENT)
        yield from check_between(f"{path}.spares.{of}.least", spare.least, 0, GREATEST_SPARE)
