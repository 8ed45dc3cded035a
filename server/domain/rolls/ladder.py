"""Which mixes of rolls cost how much, and how much they hold: the prices that a plan can have at all."""

from collections.abc import Iterator, Sequence
from itertools import product
from math import gcd, prod

from server.domain.rolls.job import RollType

MOST_MIXES = 2_000
"""Most mixes that are looked through one by one; where there are more, a table by price is kept."""
MOST_RUNGS = 50_000
"""Longest table by price; dearer plans are bounded less sharply."""
MIXES_TOLD = 3


class Ladder:
    """Prices and mixes of rolls that hold a wanted length."""

    def __init__(self, rolls: Sequence[RollType], length: int) -> None:
        """Start the ladder.

        Args:
            rolls: Rolls, longest first; may be empty.
            length: Length that the rolls must hold together; 0 or more.
        """
        self._rolls, self._length = tuple(rolls), length
        self._step = gcd(*(roll.price for roll in rolls)) or 1
        self._holds = [0]
        self._last = [-1]

    def least_price(self, at_least: int = 0) -> int:
        """The least price of a mix that holds the length and costs no less than a bound.

        Args:
            at_least: Lower bound of the price.

        Returns:
            The price; where too many mixes would have to be looked through, a price that none of them is below.
        """
        if at_least <= 0 and not self._length:
            return 0
        if not self._rolls:
            return at_least
        if self._countable(at_least):
            return min(price for price, _, _ in self._mixes(at_least))
        found = self._climbed(at_least)
        if found is not None:
            return found
        # No mix beats the roll that is cheapest by the length.
        return max(at_least, min(-(-self._length * roll.price // roll.capacity) for roll in self._rolls))

    def mixes(self, price: int) -> list[list[RollType]]:
        """A few mixes of exactly this price that hold the length, those that hold most first; longest roll last.

        Args:
            price: The price.
        """
        if not price or not self._rolls:
            return [[]] if not price and not self._length else []
        if self._countable(price):
            return self._of(price)[:MIXES_TOLD]
        return [self._climbed_mix(price)[::-1]] if self._climbed(price) == price else []

    def every_mix(self, price: int) -> list[list[RollType]] | None:
        """All mixes of exactly this price that hold the length; ``None`` where there are more than a few.

        Args:
            price: The price.
        """
        if not price or not self._rolls or not self._countable(price):
            return None
        mixes = self._of(price)
        return mixes if len(mixes) <= MIXES_TOLD else None

    def _of(self, price: int) -> list[list[RollType]]:
        found = sorted((-held, counts) for cost, held, counts in self._mixes(price) if cost == price)
        return [
            [roll for roll, n in zip(self._rolls[::-1], counts[::-1], strict=True) for _ in range(n)]
            for _, counts in found
        ]

    def _countable(self, at_least: int) -> bool:
        return prod(self._most(roll, at_least) + 1 for roll in self._rolls[:-1]) <= MOST_MIXES

    def _most(self, roll: RollType, at_least: int) -> int:
        """More of one roll than this would only cost more."""
        return max(-(-self._length // roll.capacity), -(-at_least // roll.price))

    def _mixes(self, at_least: int) -> Iterator[tuple[int, int, tuple[int, ...]]]:
        """(price, length held, counts): all counts of the longer rolls, each with just enough of the shortest one."""
        *longer, last = self._rolls
        for counts in product(*(range(self._most(roll, at_least) + 1) for roll in longer)):
            price = sum(n * roll.price for n, roll in zip(counts, longer, strict=True))
            held = sum(n * roll.capacity for n, roll in zip(counts, longer, strict=True))
            more = max(0, -(-(self._length - held) // last.capacity), -(-(at_least - price) // last.price))
            yield price + more * last.price, held + more * last.capacity, (*counts, more)

    def _climbed(self, at_least: int) -> int | None:
        """The least price by the table; ``None`` when it lies beyond ``MOST_RUNGS``."""
        rung = max(0, -(-at_least // self._step))
        while rung <= MOST_RUNGS:
            self._grow(rung)
            if self._holds[rung] >= self._length:
                return rung * self._step
            rung += 1
        return None

    def _climbed_mix(self, price: int) -> list[RollType]:
        rung, found = price // self._step, []
        while rung:
            roll = self._rolls[self._last[rung]]
            found.append(roll)
            rung -= roll.price // self._step
        return sorted(found, key=lambda roll: (-roll.capacity, roll.index))

    def _grow(self, rung: int) -> None:
        """The greatest length that a mix of each price holds; rungs that no mix reaches hold a negative length."""
        while len(self._holds) <= rung:
            here = len(self._holds)
            best, last = -1, -1
            for index, roll in enumerate(self._rolls):
                below = here - roll.price // self._step
                if below >= 0 and self._holds[below] >= 0 and self._holds[below] + roll.capacity > best:
                    best, last = self._holds[below] + roll.capacity, index
            self._holds.append(best)
            self._last.append(last)
