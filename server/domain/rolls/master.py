"""The linear program over the cutting patterns that are known so far."""

from collections.abc import Sequence
from dataclasses import dataclass

import highspy
import numpy as np
from numpy.typing import NDArray

from server.domain.rolls.job import Job

TOLERANCE = 1e-7


@dataclass(frozen=True, slots=True)
class Pattern:
    """How many pieces of each size one stock is cut into."""

    stock: int
    counts: tuple[int, ...]


class QuietSolver(highspy.Highs):
    """A HiGHS solver that prints nothing, not even its name."""

    def enableCallbacks(self) -> None:  # noqa: N802  # The library's own name; its constructor calls it first of all.
        """Silence the solver before it greets on standard output, where a program may expect a document."""
        self.setOptionValue("output_flag", False)
        super().enableCallbacks()  # type: ignore[no-untyped-call]  # The library states no type here.


def quiet_solver(seconds: float | None = None) -> QuietSolver:
    """A silent solver that answers alike every time, with a time limit where one is given.

    Args:
        seconds: Time limit. [s]
    """
    solver = QuietSolver()  # type: ignore[no-untyped-call]  # The library states no type here.
    solver.setOptionValue("threads", 1)
    solver.setOptionValue("random_seed", 0)
    if seconds is not None:
        solver.setOptionValue("time_limit", max(0.01, seconds))
    return solver


class Master:
    """The linear program; prices are told as parts of the dearest roll's price, whatever the money."""

    def __init__(self, job: Job, money: int) -> None:
        """Start with one pattern for each size: a single piece from the cheapest roll that takes it.

        Args:
            job: Pieces and stock.
            money: Price that counts as 1.
        """
        self._job, self._money = job, money
        self._solver = quiet_solver()
        self._known: set[Pattern] = set()
        self._rows: list[NDArray[np.int32]] = []
        self.patterns: list[Pattern] = []
        nothing = np.array([], dtype=np.int32), np.array([], dtype=np.float64)
        for _, count in job.sizes:
            self._solver.addRow(float(count), highspy.kHighsInf, 0, *nothing)
        self._rent_row: dict[int, int] = {}
        for index, stock in enumerate(job.stocks):
            if stock.available is not None:
                self._rent_row[index] = len(job.sizes) + len(self._rent_row)
                self._solver.addRow(-highspy.kHighsInf, float(stock.available), 0, *nothing)
        for row, (size, _) in enumerate(job.sizes):
            cheapest = max(i for i, roll in enumerate(job.rolls) if roll.capacity >= size)
            self.add(Pattern(cheapest, tuple(int(i == row) for i in range(len(job.sizes)))))

    def add(self, pattern: Pattern) -> bool:
        """Add a column, unless it is known."""
        if pattern in self._known or not any(pattern.counts):
            return False
        self._known.add(pattern)
        self.patterns.append(pattern)
        counts = np.array(pattern.counts, dtype=np.int32)
        self._rows.append(counts)
        indices = np.flatnonzero(counts).astype(np.int32)
        values = counts[indices].astype(np.float64)
        if pattern.stock in self._rent_row:
            indices = np.append(indices, np.int32(self._rent_row[pattern.stock]))
            values = np.append(values, 1.0)
        price = self._job.stocks[pattern.stock].price / self._money
        self._solver.addCol(price, 0.0, highspy.kHighsInf, len(indices), indices, values)
        return True

    def solve(self) -> float:
        """Solve the program over the known patterns and tell its value."""
        self._solver.run()
        return float(self._solver.getInfo().objective_function_value)

    def prices(self) -> tuple[list[float], list[float]]:
        """What one more piece of each size is worth, and the rent of each stock, as of the last solution."""
        dual = list(self._solver.getSolution().row_dual)
        rent = [-dual[self._rent_row[i]] if i in self._rent_row else 0.0 for i in range(len(self._job.stocks))]
        return dual[: len(self._job.sizes)], rent

    def restrict(self, wanted: Sequence[int], available: Sequence[int | None]) -> None:
        """Ask for what is still to be cut only, from patterns that hold no more than that.

        Args:
            wanted: Pieces of each size still to be cut.
            available: Stocks still there, ``None`` for rolls.
        """
        for row, count in enumerate(wanted):
            self._solver.changeRowBounds(row, float(count), highspy.kHighsInf)
        for index, row in self._rent_row.items():
            self._solver.changeRowBounds(row, -highspy.kHighsInf, float(available[index] or 0))
        left = np.array(wanted, dtype=np.int32)
        for column, counts in enumerate(self._rows):
            self._solver.changeColBounds(column, 0.0, highspy.kHighsInf if (counts <= left).all() else 0.0)

    def uses(self) -> list[float]:
        """How often each pattern is cut, as of the last solution."""
        return list(self._solver.getSolution().col_value)
