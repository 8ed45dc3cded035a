"""Lower bound and patterns by column generation: the linear relaxation over all cutting patterns.

Every column is a pattern: how many pieces of each size are cut from one roll or one remnant. The relaxation is solved
over a few columns; a knapsack finds those that would improve it most, until there are none (Gilmore and Gomory, 1961).
The bound told is worked out afresh in whole numbers from the rounded prices of the pieces, so that it holds exactly,
whatever the solver's rounding.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil

from server.domain.rolls.job import Clock, Job
from server.domain.rolls.knapsack import Fullest
from server.domain.rolls.ladder import Ladder
from server.domain.rolls.master import TOLERANCE, Master, Pattern

SCALE = 10**8
"""Prices of pieces are rounded to whole multiples of 1 / SCALE of the dearest roll's price."""
COLUMNS_A_ROUND = 40
"""New patterns a round for each stock, at most."""


@dataclass(frozen=True, slots=True)
class Relaxation:
    """What the linear relaxation tells."""

    bound: int
    """A price that no plan is below."""
    master: Master
    worth: tuple[int, ...]
    """Prices of the pieces that gave the bound, in 1 / SCALE of ``money``, before they were made smaller."""
    factor: Fraction
    """By how much they were made smaller."""
    certain: Fraction
    """The bound before it was raised to a price that a plan can have."""
    money: int
    """Price of the dearest roll."""


def relaxed(job: Job, ladder: Ladder, start: Sequence[Pattern], floor: int, remaining_s: Clock) -> Relaxation:
    """Solve the linear relaxation as far as the bound on whole plans needs it.

    Args:
        job: Pieces and stock.
        ladder: Prices that a plan can have.
        start: Patterns to begin with.
        floor: A price that no plan is below.
        remaining_s: Time left, asked once a round. [s]
    """
    money = max((roll.price for roll in job.rolls if roll.index >= 0), default=1)
    master = Master(job, money)
    for pattern in start:
        master.add(pattern)
    # By the length alone: it costs what the roll that is cheapest by the length asks for it.
    ratio = min(roll.price / roll.capacity for roll in job.rolls) / money
    worth: Sequence[float] = [ratio * size for size, _ in job.sizes]
    rent = [ratio * stock.capacity if stock.available is not None else 0.0 for stock in job.stocks]
    bound, value = floor, float("inf")
    best: tuple[Fraction, Fraction, tuple[int, ...]] = Fraction(0), Fraction(1), (0,) * len(job.sizes)
    while remaining_s() > 0:
        scaled = [max(0, round(price * SCALE)) for price in worth]
        fullest = Fullest(job.sizes, scaled, job.longest)
        certain, factor = _certain_bound(job, scaled, fullest, money)
        if certain > best[0]:
            best = certain, factor, tuple(scaled)
            bound = max(bound, ladder.least_price(max(bound, ceil(certain))))
        # A finished relaxation would give no better bound on a plan of whole rolls.
        if value < float("inf") and bound >= ladder.least_price(max(bound, ceil(value * money * (1 - 1e-9) - 1e-6))):
            break
        fresh = sum(master.add(pattern) for pattern in better_patterns(job, scaled, rent, fullest, money))
        if not fresh and value < float("inf"):
            break
        value = master.solve()
        worth, rent = master.prices()
    return Relaxation(bound, master, best[2], best[1], best[0], money)


def better_patterns(
    job: Job, scaled: Sequence[int], rent: Sequence[float], fullest: Fullest, money: int
) -> Iterator[Pattern]:
    """The best pattern of every stock, and good ones with other leading pieces, where they improve the program.

    Args:
        job: Pieces and stock.
        scaled: Prices of the pieces, in 1 / SCALE of ``money``.
        rent: Rent of the stocks.
        fullest: The most valuable pieces for every length.
        money: Price that counts as 1.
    """
    for index, stock in enumerate(job.stocks):
        price = (stock.price / money + rent[index]) * (1 + TOLERANCE) + TOLERANCE
        if fullest.best[stock.capacity] / SCALE <= price:
            continue
        yield Pattern(index, tuple(fullest.pattern(stock.capacity)))
        leads = []
        for row, (size, _) in enumerate(job.sizes):
            if scaled[row] and size <= stock.capacity:
                value = (scaled[row] + int(fullest.best[stock.capacity - size])) / SCALE
                if value > price:
                    leads.append((-value, row))
        for _, row in sorted(leads)[:COLUMNS_A_ROUND]:
            counts = fullest.pattern(stock.capacity - job.sizes[row][0])
            if counts[row] < fullest.most(row):
                counts[row] += 1
                yield Pattern(index, tuple(counts))


def _certain_bound(job: Job, scaled: Sequence[int], fullest: Fullest, money: int) -> tuple[Fraction, Fraction]:
    """A bound that holds whatever the prices of the pieces are (Farley, 1990), in whole units of money, and a factor.

    The prices are made smaller by the factor until no roll's pattern is worth more than the roll; every remnant is
    charged what its best pattern is worth.
    """
    values = [int(fullest.best[stock.capacity]) for stock in job.stocks]
    factor = min(
        (
            Fraction(stock.price * SCALE, value * money)
            for stock, value in zip(job.stocks, values, strict=True)
            if stock.available is None and value * money > stock.price * SCALE
        ),
        default=Fraction(1),
    )
    given = sum(value * count for value, (_, count) in zip(scaled, job.sizes, strict=True))
    free = sum(v * stock.available for stock, v in zip(job.stocks, values, strict=True) if stock.available is not None)
    return factor * Fraction((given - free) * money, SCALE), factor
