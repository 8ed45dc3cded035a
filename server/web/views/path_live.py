"""The drawing of legs and bends and its figures, as they follow while the rows are written."""

from collections.abc import Sequence
from dataclasses import dataclass

from server.domain.lengths import TightBend
from server.domain.model.plan import Severity
from server.domain.model.route import RouteStep
from server.domain.plan.drafts import RouteDraft
from server.domain.reference import BEND_WANTED
from server.domain.twists import TightTwist
from server.drawing.route_shape import RibbonSize, route_shape_svg
from server.web.reading.path import ReadSteps
from server.web.views import formats
from server.web.views.fields import sentence

LINES_MOST = 20
"""Lines of a list beside the drawing; more are counted in one."""


@dataclass(frozen=True, slots=True)
class BendLine:
    """What one bend or twist makes of the outermost wires."""

    number: int
    words: str
    outside: str
    inside: str


@dataclass(frozen=True, slots=True)
class TightLine:
    """A bend or a twist that is too tight, as grave as the findings of the run say."""

    severity: Severity
    mark: str
    words: str


@dataclass(frozen=True, slots=True)
class PathLive:
    """The drawing and its figures: what follows while the rows are written."""

    svg: str
    figures: tuple[tuple[str, str], ...]
    bends: tuple[BendLine, ...]
    bends_more: int
    tight: tuple[TightLine, ...]
    tight_more: int
    taken: tuple[str, ...]
    """Radii that were left open, in sentences."""
    unread: tuple[str, ...]
    """What could not be read and is left out, and why."""
    unit: str


def path_live(draft: RouteDraft, read: ReadSteps, prefix: str, *, inches: bool) -> PathLive:
    """The drawing of some legs and bends, with what they come to.

    Args:
        draft: The steps and what follows from them.
        read: The rows that they were read from.
        prefix: Start of every id in the drawing.
        inches: Whether lengths are shown in inches.
    """
    numbers = [row + 1 for row in read.rows]

    def length(value: float) -> str:
        return formats.length(value, inches=inches)

    too_tight: list[TightBend | TightTwist] = [*draft.tight, *draft.twists]
    svg = route_shape_svg(
        draft.steps,
        ribbon_size(draft),
        prefix,
        length=length,
        tight=frozenset(found.step for found in too_tight),
        rows=numbers,
    )
    bends = tuple(
        BendLine(
            numbers[bend.step],
            ", ".join(filter(None, (_turn(draft.steps[bend.step]), bend.lies))),
            signed(bend.outside_mm, inches=inches),
            signed(bend.inside_mm, inches=inches),
        )
        for bend in draft.bends
    )
    tight = tuple(
        TightLine(
            found.severity, formats.MARKS[found.severity], _tight_words(found, numbers[found.step], inches=inches)
        )
        for found in sorted(too_tight, key=lambda found: found.step)
    )
    named: dict[str, list[str]] = {}
    for problem in read.problems:
        _, _, side, index, part = problem.field.split(".")
        where = f"Row {int(index) + 1}" if side == "steps" else f"Own {'reach' if part == 'extra' else part}"
        named.setdefault(where, []).append(problem.message)
    return PathLive(
        svg=svg,
        figures=_figures(draft, inches=inches) if draft.steps else (),
        bends=bends[:LINES_MOST],
        bends_more=max(0, len(bends) - LINES_MOST),
        tight=tight[:LINES_MOST],
        tight_more=max(0, len(tight) - LINES_MOST),
        taken=_capped([taken_words(numbers[i], draft.steps[i].radius_mm, inches=inches) for i in draft.suggested]),
        unread=_capped([f"{row}: {' '.join(map(sentence, messages))}" for row, messages in named.items()]),
        unit="in" if inches else "mm",
    )


def taken_words(number: int, radius_mm: float, *, inches: bool) -> str:
    """In words, which radius was taken where none was written."""
    return (
        f"Step {number}: radius {formats.length(radius_mm, inches=inches)} taken, the smallest that keeps every wire "
        f"at {BEND_WANTED:g} times its diameter or more."
    )


def ribbon_size(draft: RouteDraft) -> RibbonSize:
    """What the drawing needs to know of a ribbon."""
    places = draft.ribbon.places
    return RibbonSize(
        tuple(sorted({round(offset, 3) for offset, _ in places})),
        tuple(sorted({round(height, 3) for _, height in places})),
        draft.ribbon.wire_mm,
    )


def signed(value_mm: float, *, inches: bool) -> str:
    """A length that is added or taken away, without its unit."""
    text = formats.bare_length(abs(value_mm), inches=inches)
    return text if text == "0" else f"{'−' if value_mm < 0 else '+'}{text}"


def _figures(draft: RouteDraft, *, inches: bool) -> tuple[tuple[str, str], ...]:
    """Length of the middle, of the longest and the shortest wire, and what is cut."""

    def length(value: float) -> str:
        return formats.length(value, inches=inches)

    found = [("length of the ribbon's middle", length(draft.middle_mm))]
    labels, terms = draft.ribbon.labels, draft.terms_mm
    if labels and len(terms) > 1:
        high, low = max(terms), min(terms)
        longest, shortest = labels[terms.index(high)], labels[terms.index(low)]
        found.append(("longest wire along it", f"{length(draft.middle_mm + high)}, {longest}"))
        found.append(("shortest wire along it", f"{length(draft.middle_mm + low)}, {shortest}"))
        found.append(("they differ by", length(high - low)))
    found += _cuts(draft, inches=inches)
    return tuple(found)


def _cuts(draft: RouteDraft, *, inches: bool) -> list[tuple[str, str]]:
    """Lengths at which the wires are cut once these steps are saved, the longest first."""
    if not draft.wires:
        return [("cut at, once saved", "nothing: the run has no wires to cut")]
    groups: dict[int, list[str]] = {}
    for wire in draft.wires:
        if wire.cut_mm is not None:
            groups.setdefault(wire.cut_mm, []).append(wire.label)
    if not groups:
        return [("cut at, once saved", "waits: see the run's findings")]
    shown = [f"{len(labels)} × {formats.length(cut, inches=inches)}" for cut, labels in sorted(groups.items())[::-1]]
    return [("cut at, once saved", formats.listed(shown))]


def _turn(step: RouteStep) -> str:
    return f"{step.kind} {formats.number(step.angle_deg, 2)}°"


def _tight_words(tight: TightBend | TightTwist, number: int, *, inches: bool) -> str:
    """In words, how tight a bend or a twist is and what would do."""

    def length(value: float) -> str:
        return formats.length(value, inches=inches)

    if isinstance(tight, TightTwist):
        radius, where = tight.radius_mm, f"the tightest wire is wound to a radius of {length(tight.radius_mm)}"
        way_out = f"A twist over {length(tight.length_mm)} would do."
    else:
        radius, where = tight.inner_mm, f"radius {length(tight.inner_mm)} at the innermost wire"
        if radius < 0:
            where = f"the innermost wire has no room left: {length(-radius)} beyond the centre"
        way_out = f"A radius of {length(tight.radius_mm)} would do."
    least = "below the least" if radius < tight.least_mm else "above the least"
    return (
        f"Step {number}: {where}, {least} of {length(tight.least_mm)} and below the {length(tight.wanted_mm)} wanted "
        f"for good. {way_out}"
    )


def _capped(lines: Sequence[str]) -> tuple[str, ...]:
    """The first lines, and how many more there are."""
    more = len(lines) - LINES_MOST
    return (*lines[:LINES_MOST], *((f"And {more} more.",) if more > 0 else ()))
