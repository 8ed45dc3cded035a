"""Whole-number programs: every pattern that a cheap enough plan can use, and the best plan from given patterns."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import highspy
import numpy as np
from numpy.typing import NDArray

from server.domain.rolls.columns import SCALE, Relaxation
from server.domain.rolls.job import Clock, Job, RollType, Stock
from server.domain.rolls.master import Pattern, QuietSolver, quiet_solver
from server.domain.rolls.packing import powers

MOST_PATTERNS = 20_000
"""With more patterns the solver would not come to an end within any deadline that is meant here."""
MOST_SIZES = 120
"""With more sizes there are too many patterns in any case."""
MOST_CELLS = 4_000_000
"""Largest tables that are kept to find the patterns, 32 MB."""
FINEST_MONEY = 10**5
"""Where prices are told in finer parts of the dearest roll's price, the solver's rounding could hide a difference."""


@dataclass(frozen=True, slots=True)
class Program:
    """What a whole-number program tells."""

    patterns: tuple[tuple[Pattern, int], ...]
    """Patterns and how often each is cut; empty when no plan was found."""
    proved: bool
    """True when no plan from these patterns is cheaper; without patterns, when none is cheap enough."""


def best_of(
    patterns: Sequence[Pattern],
    job: Job,
    money: int,
    most: int,
    step: int,
    seconds: float,
    mix: Sequence[RollType] | None = None,
) -> Program:
    """The best plan that uses known patterns only; a pattern may hold more pieces than are left to cut.

    Args:
        patterns: Patterns to choose from.
        job: Pieces and stock.
        money: Price that counts as 1.
        most: Greatest price that is of interest.
        step: Every price is a whole multiple of this.
        seconds: Time to spend. [s]
        mix: Use no more rolls of each kind than these.
    """
    solver = quiet_solver(seconds)
    solver.setOptionValue("mip_rel_gap", 0.0)
    solver.setOptionValue("mip_abs_gap", 0.5 * step / money)
    # As many of each stock as there are; of rolls as many as are in the mix.
    there: list[float] = [stock.available or highspy.kHighsInf for stock in job.stocks]
    if mix is not None:
        there[: len(job.rolls)] = [float(mix.count(roll)) for roll in job.rolls]
    solver.passModel(_model(patterns, job, money, [*there, (most + 0.25 * step) / money]))
    solver.run()
    ended = solver.getModelStatus() in (highspy.HighsModelStatus.kOptimal, highspy.HighsModelStatus.kInfeasible)
    chosen = _whole(solver)
    return Program(tuple((pattern, n) for pattern, n in zip(patterns, chosen, strict=False) if n), ended)


def _model(patterns: Sequence[Pattern], job: Job, money: int, most: Sequence[float]) -> highspy.HighsLp:
    """Every piece is cut; of every stock, and of money, no more than the most is used."""
    columns = [_column(pattern, job, money) for pattern in patterns]
    model = highspy.HighsLp()
    model.num_col_, model.num_row_ = len(columns), len(job.sizes) + len(most)
    model.col_cost_ = np.array([cost for cost, _, _ in columns])
    model.col_lower_ = np.zeros(len(columns))
    model.col_upper_ = np.full(len(columns), highspy.kHighsInf)
    model.row_lower_ = np.array([*(float(count) for _, count in job.sizes), *[-highspy.kHighsInf] * len(most)])
    model.row_upper_ = np.array([*[highspy.kHighsInf] * len(job.sizes), *most])
    model.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    model.a_matrix_.start_ = np.cumsum([0, *(len(rows) for _, rows, _ in columns)])
    model.a_matrix_.index_ = np.concatenate([rows for _, rows, _ in columns])
    model.a_matrix_.value_ = np.concatenate([values for _, _, values in columns])
    model.integrality_ = [highspy.HighsVarType.kInteger] * len(columns)
    return model


def _column(pattern: Pattern, job: Job, money: int) -> tuple[float, NDArray[np.int32], NDArray[np.float64]]:
    """Cost, rows and values: the pieces, the stock, the price."""
    cost = job.stocks[pattern.stock].price / money
    counts = np.array(pattern.counts, dtype=np.float64)
    used = np.flatnonzero(counts)
    more, values = [len(job.sizes) + pattern.stock], [1.0]
    if cost:
        more, values = [*more, len(job.sizes) + len(job.stocks)], [1.0, cost]
    return cost, np.concatenate([used, more]).astype(np.int32), np.concatenate([counts[used], values])


def _whole(solver: QuietSolver) -> list[int]:
    """Values of the columns; empty when no solution is known."""
    if solver.getInfo().primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
        return []
    return [round(value) for value in solver.getSolution().col_value]


def all_patterns(job: Job, relaxation: Relaxation, most: int, remaining_s: Clock) -> list[Pattern] | None:
    """Every full pattern that a plan of no more than a given price can use.

    A plan's price is the bound of the relaxation and, for each of its patterns, what the pattern falls short of its
    stock's price at the relaxation's prices of the pieces. None of these can be more than what the price is above the
    bound (Nemhauser and Wolsey, 1988, reduced-cost fixing).

    Args:
        job: Pieces and stock.
        relaxation: Prices of the pieces.
        most: Greatest price that is of interest.
        remaining_s: Time left. [s]

    Returns:
        The patterns; ``None`` when there are too many, or the time is up.
    """
    capacity = job.longest
    if len(job.sizes) > MOST_SIZES or len(job.sizes) * capacity > MOST_CELLS:
        return None
    tables = _suffixes(job, relaxation, capacity)
    full = [Fraction(int(tables[0][stock.capacity]) * relaxation.money, SCALE) for stock in job.stocks]
    factor = relaxation.factor
    room = most - relaxation.certain
    found: list[Pattern] = []
    for index, stock in enumerate(job.stocks):
        charged = factor * full[index] if stock.available is not None else Fraction(stock.price)
        # Least worth of a pattern, in the parts that prices of pieces are told in.
        least = (charged - room) * SCALE / (factor * relaxation.money) if factor else Fraction(0)
        if not _collect(job, relaxation, index, stock, max(0, -(-least.numerator // least.denominator)), tables, found):
            return None
        if remaining_s() <= 0:
            return None
    return found


def _suffixes(job: Job, relaxation: Relaxation, capacity: int) -> list[NDArray[np.int64]]:
    """For every size, the most that it and all shorter ones are worth in any length; at the end nothing."""
    tables: list[NDArray[np.int64]] = [np.zeros(capacity + 1, dtype=np.int64)]
    for (size, count), worth in zip(reversed(job.sizes), reversed(relaxation.worth), strict=True):
        best = tables[-1].copy()
        for lot in powers(min(count, capacity // size)):
            weight = size * lot
            np.maximum(best[weight:], best[: capacity + 1 - weight] + worth * lot, out=best[weight:])
        tables.append(best)
    return tables[::-1]


def _collect(
    job: Job,
    relaxation: Relaxation,
    index: int,
    stock: Stock,
    least: int,
    tables: Sequence[NDArray[np.int64]],
    found: list[Pattern],
) -> bool:
    """Add the full patterns of one stock that are worth enough; false when there are too many."""
    steps = 0
    open_nodes: list[tuple[int, int, int, tuple[int, ...]]] = [(0, stock.capacity, 0, ())]
    while open_nodes:
        row, room, value, counts = open_nodes.pop()
        steps += 1
        if steps > 8 * MOST_PATTERNS:
            return False
        if value + int(tables[row][room]) < least:
            continue
        if row == len(job.sizes):
            spare = any(n < c and s <= room for n, (s, c) in zip(counts, job.sizes, strict=True))
            if not spare and any(counts):
                found.append(Pattern(index, counts))
                if len(found) > MOST_PATTERNS:
                    return False
            continue
        size, count = job.sizes[row]
        if size > room:
            # Straight to the next size that fits, if any does.
            open_nodes.append((row + 1, room, value, (*counts, 0)))
            continue
        for n in range(min(count, room // size) + 1):
            open_nodes.append((row + 1, room - n * size, value + n * relaxation.worth[row], (*counts, n)))
    return True
