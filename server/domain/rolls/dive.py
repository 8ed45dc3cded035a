"""A whole plan from the linear relaxation: patterns used most nearly whole are cut, and the rest is solved anew."""

from collections.abc import Sequence

from server.domain.rolls.columns import SCALE, Relaxation, better_patterns
from server.domain.rolls.job import Clock, Job
from server.domain.rolls.knapsack import Fullest
from server.domain.rolls.master import TOLERANCE, Pattern

ROUNDS = 3
"""Rounds of new patterns after each step; the demand has changed only a little."""
STEPS = 12
"""About one part in so many of what is left is cut at a step."""


def dived(job: Job, relaxation: Relaxation, remaining_s: Clock) -> list[tuple[Pattern, int]]:
    """Dive from the relaxation to a whole plan.

    Args:
        job: Pieces and stock.
        relaxation: The relaxation; its program is used up.
        remaining_s: Time left, asked once a step. [s]

    Returns:
        Patterns and how often each is cut; empty when the time was up or no pattern was left.
    """
    master = relaxation.master
    wanted, available = [count for _, count in job.sizes], [stock.available for stock in job.stocks]
    cut: list[tuple[Pattern, int]] = []
    while any(wanted):
        if remaining_s() <= 0:
            return []
        master.restrict(wanted, available)
        _improve(job, relaxation, wanted)
        uses = master.uses()
        order = sorted((-use, column) for column, use in enumerate(uses) if use > TOLERANCE)
        most = max(1, int(sum(uses) / STEPS))
        taken = 0
        for use, column in order:
            pattern = master.patterns[column]
            times = min(_times(pattern, wanted, available), max(1, int(-use + TOLERANCE)))
            if not times:
                continue
            cut.append((pattern, times))
            wanted = [left - times * count for left, count in zip(wanted, pattern.counts, strict=True)]
            if (held := available[pattern.stock]) is not None:
                available[pattern.stock] = held - times
            taken += times
            if taken >= most and -use < 1:
                break
        if not taken:
            return []
    return cut


def _times(pattern: Pattern, wanted: Sequence[int], available: Sequence[int | None]) -> int:
    """How often a pattern can be cut whole."""
    fits = min(left // count for left, count in zip(wanted, pattern.counts, strict=True) if count)
    held = available[pattern.stock]
    return fits if held is None else min(fits, held)


def _improve(job: Job, relaxation: Relaxation, wanted: Sequence[int]) -> None:
    """Patterns that suit what is left, none of which holds more than that; the program is solved at the end."""
    master = relaxation.master
    left = tuple((size, count) for (size, _), count in zip(job.sizes, wanted, strict=True))
    master.solve()
    for _ in range(ROUNDS):
        worth, rent = master.prices()
        scaled = [max(0, round(price * SCALE)) if n else 0 for price, n in zip(worth, wanted, strict=True)]
        fullest = Fullest(left, scaled, job.longest)
        if not sum(master.add(pattern) for pattern in better_patterns(job, scaled, rent, fullest, relaxation.money)):
            return
        master.solve()
