"""What the bench's stopwatch says against the labour table: suggestions, which are taken by hand or not at all.

A worked example, by hand. 48 contacts were crimped in 33 min 36 s = 2016 s. 2016 / 48 = 42 s each, that is 0.70 min, a
whole number of steps of 0.05. The table says 0.60; they differ by 0.10, which is at least one step, and 48 is at least
ten, so 0.70 is suggested. A build with 156 such contacts then takes 156 x 0.10 = 15.6 min longer.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Final, Literal

from server.domain.model.bench import Pace
from server.domain.model.catalogue import Labour

STEP_MINUTES: Final = Decimal("0.05")
"""Measured minutes are rounded to this, and nothing nearer to the table is suggested. [min] Three seconds: a hand on a
stopwatch is not surer of one piece than that. Source: common practice."""

TIMED_LEAST: Final = 10
"""Fewer than these say nothing yet. One piece easily takes a third longer or shorter than the next; the mean of ten is
then good to 33 / sqrt(10), about a tenth, and that is the difference which a price notices. Source: common practice,
time over ten pieces and divide."""

TIMED_WITH: Final[Mapping[str, tuple[str, ...]]] = {"crimp": ("strip",), "sleeve_end": ("shrink", "melt")}
"""What a stopwatch cannot tell from an operation, since the hands do both in one go."""

TimeState = Literal["few", "agrees", "differs"]
"""Too few were timed; the table says the same within a step; other minutes are suggested."""


@dataclass(frozen=True, slots=True)
class MeasuredTime:
    """One operation as it was timed, beside what the labour table says of it."""

    operation: str
    name: str
    now: Decimal
    """What the table counts. [min]"""
    shipped: Decimal
    """What it counted before the builder set anything. [min]"""
    timed: Pace
    """In all builds together."""
    here: Pace
    """In this build alone."""
    minutes: Decimal
    """What one took on average, rounded. [min]"""
    state: TimeState

    @property
    def missing(self) -> int:
        """How many more have to be timed before anything is suggested; 0 for none."""
        return max(0, TIMED_LEAST - self.timed.count)


def measured_minutes(timed: Pace) -> Decimal:
    """What one took on average, rounded half up to the step, and never less than one step. [min]

    Args:
        timed: How many were done in how many seconds; at least one in at least one second.

    Example:
        >>> measured_minutes(Pace(48, 2016))
        Decimal('0.70')
    """
    each = Fraction(timed.seconds, 60 * timed.count)
    steps = (each / Fraction(STEP_MINUTES) + Fraction(1, 2)).__floor__()
    return max(1, steps) * STEP_MINUTES


def shared_seconds(
    operations: Sequence[str], seconds: int, labour: Mapping[str, Labour]
) -> tuple[tuple[str, int], ...]:
    """One time of several operations done in one go, shared as the labour table weighs them.

    Args:
        operations: What was done, each as often as the others; the first of them takes what rounding leaves.
        seconds: Of all of them together; at least 1.
        labour: The labour table.

    Returns:
        Seconds by operation, adding up to ``seconds``; none of less than one.

    Example:
        Strip 0.3 and crimp 0.6 min: of 90 s, 30 are stripping and 60 crimping.
    """
    whole = sum((Fraction(labour[name].minutes) for name in operations), Fraction(0))
    left, rest = seconds, []
    for name in operations[1:] if whole else ():
        held = min(left - 1, round(seconds * Fraction(labour[name].minutes) / whole))
        left -= held
        rest.append((name, held))
    return tuple((name, held) for name, held in ((operations[0], left), *rest) if held > 0)


def measured_times(
    paces: Mapping[tuple[str, str], Pace],
    labour: Mapping[str, Labour],
    shipped: Mapping[str, Decimal],
    build: str = "",
) -> tuple[MeasuredTime, ...]:
    """Every operation of the labour table that was timed at all, in the table's order.

    Args:
        paces: What was measured, by build and operation; all builds are added up, since it is the same bench.
        labour: The labour table as plans use it.
        shipped: Its minutes as shipped, by operation. [min]
        build: The build whose own times are told apart; empty for none.
    """
    found = []
    for operation, entry in labour.items():
        timed = _added(pace for (_, of), pace in paces.items() if of == operation)
        if timed.count:
            here = paces.get((build, operation), Pace()) if build else Pace()
            minutes = measured_minutes(timed)
            state = _state(timed, minutes, entry.minutes)
            was = shipped.get(operation, entry.minutes)
            found.append(MeasuredTime(operation, entry.name, entry.minutes, was, timed, here, minutes, state))
    return tuple(found)


def _added(paces: Iterable[Pace]) -> Pace:
    count = seconds = 0
    for pace in paces:
        count, seconds = count + pace.count, seconds + pace.seconds
    return Pace(count, seconds)


def _state(timed: Pace, minutes: Decimal, now: Decimal) -> TimeState:
    if timed.count < TIMED_LEAST:
        return "few"
    return "differs" if abs(minutes - now) >= STEP_MINUTES else "agrees"
