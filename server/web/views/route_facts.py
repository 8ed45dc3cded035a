"""A route by legs and bends as a cable's card tells it: its steps in one line, the outermost wires, a small drawing."""

from server.domain.model.plan import RunPlan
from server.domain.model.route import RouteStep
from server.domain.plan.drafts import Ribbon, ribbon_of
from server.drawing.route_shape import RibbonSize, route_shape_svg
from server.services.opened import Opened
from server.web.views import formats
from server.web.views.bench_words import source_end

STEPS_MOST = 24
"""More legs and bends than this are counted on the card and shown on the run's own page."""
DRAWN_MOST = 10
"""Of more steps than this a small drawing shows nothing."""


def route_facts(run: RunPlan, opened: Opened) -> tuple[tuple[str, str], ...]:
    """Legs, bends and twists in one line, and which wires lie outermost; nothing for a route measured at once.

    Args:
        run: The planned run.
        opened: The build as it stands.
    """
    if not run.steps:
        return ()
    words = steps_line(run.steps)
    facts = [(f"legs and bends from the {source_end(run)}, mm", words)]
    edges = _edges(ribbon_of(opened.build, opened.catalogue, run.id))
    if edges:
        facts.append(("outermost wires", f"{edges}, looking along it"))
    return tuple(facts)


def steps_line(steps: tuple[RouteStep, ...]) -> str:
    """Steps in one line: ``50 leg, 90° left R 40, 90° twist over 80``.

    Args:
        steps: Legs, bends and twists, from the source plug on.
    """
    words = formats.listed(map(_step, steps[:STEPS_MOST]))
    more = len(steps) - STEPS_MOST
    return f"{words} and {formats.count(more, 'more step')}" if more > 0 else words


def _step(step: RouteStep) -> str:
    if step.kind == "leg":
        return f"{formats.number(step.length_mm)} leg"
    angle = f"{formats.number(step.angle_deg).replace('-', '−')}°"
    if step.kind == "twist":
        return f"{angle} twist over {formats.number(step.length_mm)}"
    return f"{angle} {step.kind} R {formats.number(step.radius_mm)}"


def _edges(ribbon: Ribbon) -> str:
    """The wires at the ribbon's left and right edge; empty where all lie above each other."""
    if not ribbon.labels:
        return ""
    offsets = [round(offset, 3) for offset, _ in ribbon.places]
    left, right = min(offsets), max(offsets)
    if left == right:
        return ""
    told = []
    for side, edge in (("left", left), ("right", right)):
        labels = (label for label, offset in zip(ribbon.labels, offsets, strict=True) if offset == edge)
        told.append(f"{side} {formats.listed(labels)}")
    return "; ".join(told)


def route_svg(run: RunPlan, opened: Opened) -> str:
    """A small drawing of a route by legs and bends; empty where there is none, or too much of it for a small one.

    Args:
        run: The planned run.
        opened: The build as it stands.
    """
    if not 1 < len(run.steps) <= DRAWN_MOST:
        return ""
    ribbon = ribbon_of(opened.build, opened.catalogue, run.id)
    size = RibbonSize(
        tuple(sorted({round(offset, 3) for offset, _ in ribbon.places})),
        tuple(sorted({round(height, 3) for _, height in ribbon.places})),
        ribbon.wire_mm,
    )
    return route_shape_svg(run.steps, size, f"card-{run.number}", length=formats.length)
