"""The most valuable pieces for every length at once: a bounded knapsack, which finds new patterns."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from server.domain.rolls.job import Sizes
from server.domain.rolls.packing import powers

MOST_CELLS = 20_000_000
"""Largest table that is filled; lengths told too finely go beyond it."""


class Fullest:
    """The most valuable pieces that fit into any length up to a greatest one.

    Counts are split into powers of two, so that the table has about ``log2(count)`` rows a size.
    """

    def __init__(self, sizes: Sizes, values: Sequence[int], capacity: int) -> None:
        """Fill the table.

        Args:
            sizes: (length, greatest count).
            values: Value of one piece of each size, whole numbers of 0 or more.
            capacity: Greatest length that will be asked for.
        """
        self._sizes = sizes
        self._lots = [
            (index, lot)
            for index, (size, count) in enumerate(sizes)
            if values[index]
            for lot in powers(min(count, capacity // size))
        ]
        best: NDArray[np.int64] = np.zeros(capacity + 1, dtype=np.int64)
        self._takes = np.zeros((len(self._lots), capacity + 1), dtype=np.bool_)
        for row, (index, lot) in enumerate(self._lots):
            weight, value = sizes[index][0] * lot, int(values[index]) * lot
            raised = best[: capacity + 1 - weight] + value
            np.greater(raised, best[weight:], out=self._takes[row, weight:])
            np.maximum(best[weight:], raised, out=best[weight:])
        self.best = best

    def pattern(self, capacity: int) -> list[int]:
        """How many of each size the most valuable choice for a length holds."""
        counts = [0] * len(self._sizes)
        room, row = capacity, len(self._lots)
        while row:
            # The last lot that is taken at this length, then the one before it at what is left, and so on.
            above = self._takes[row - 1 :: -1, room]
            skipped = int(above.argmax())
            if not above[skipped]:
                break
            row -= skipped + 1
            index, lot = self._lots[row]
            counts[index] += lot
            room -= self._sizes[index][0] * lot
        return counts

    def most(self, row: int) -> int:
        """Greatest count of a size."""
        return self._sizes[row][1]


def table_fits(sizes: Sizes, capacity: int) -> bool:
    """Whether the table can be filled within any time that is meant here."""
    return capacity * sum(min(count, capacity // size).bit_length() for size, count in sizes) <= MOST_CELLS
