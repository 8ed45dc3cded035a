"""The question and its answers in whole numbers of one unit of length and one of money.

Cutting loss is already in the lengths: a piece of length s that costs k to cut counts as s + k, and a stock of length L
as L + k, because the last cut of a stock may be spared.
"""

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

Sizes = tuple[tuple[int, int], ...]
"""(length, count), longest first."""
Bins = list[list[int]]
"""Pieces of each stock; as many lists as there are stocks."""
Rational = int | Fraction
Clock = Callable[[], float]
"""Time that is left. [s]"""


@dataclass(frozen=True, slots=True)
class RollType:
    """A roll that can be bought."""

    capacity: int
    """Most that pieces can fill of it, which may be less than its length."""
    whole_mm: Rational
    """Its length and one cutting loss. [mm]"""
    price: int
    """More than 0."""
    index: int
    """Place in the caller's list; -1 for a shortage, which stands for a roll that nobody sells."""


@dataclass(frozen=True, slots=True)
class Held:
    """A remnant on hand, or one of the rolls that cost nothing."""

    capacity: int
    whole_mm: Rational
    kept: bool
    """True for a remnant: it lies on the shelf whether it is cut or not."""
    index: int
    """Place in the list that it was read from."""


@dataclass(frozen=True, slots=True)
class Stock:
    """A kind of roll, or remnants of one capacity."""

    capacity: int
    price: int
    """0 for a remnant."""
    available: int | None
    """``None`` for a roll: as many as one likes."""


@dataclass(frozen=True)
class Job:
    """Pieces to cut, and what they can be cut from."""

    sizes: Sizes
    rolls: tuple[RollType, ...]
    """Longest first; none is shorter and dearer than another."""
    held: tuple[Held, ...]
    """Shortest first."""
    unit_mm: Rational
    """The unit of length. [mm]"""
    loss_mm: Rational
    """Lost at every cut. [mm]"""

    @cached_property
    def total(self) -> int:
        """Length of all pieces."""
        return sum(size * count for size, count in self.sizes)

    @cached_property
    def longest(self) -> int:
        """Greatest capacity."""
        return max(*(stock.capacity for stock in self.held), *(roll.capacity for roll in self.rolls), 0)

    @cached_property
    def missing(self) -> int:
        """Length that what is on hand surely cannot give; 0 or more."""
        return max(0, self.total - sum(stock.capacity for stock in self.held))

    @cached_property
    def stocks(self) -> tuple[Stock, ...]:
        """Rolls in their order, then remnants of one capacity together."""
        held = Counter(stock.capacity for stock in self.held)
        return (
            *(Stock(roll.capacity, roll.price, None) for roll in self.rolls),
            *(Stock(capacity, 0, count) for capacity, count in sorted(held.items())),
        )

    def capacities(self, mix: Sequence[RollType]) -> list[int]:
        """Capacities of all that is on hand, then of a mix of rolls."""
        return [*(stock.capacity for stock in self.held), *(roll.capacity for roll in mix)]

    def leftovers(self, mix: Sequence[RollType], bins: Bins) -> tuple[int, tuple[Rational, ...]]:
        """How many lengths lie on the shelf afterwards, and which, longest first and negative: less is better. [mm]"""
        rests = [s.whole_mm - self.unit_mm * sum(b) for s, b in zip(self.held, bins, strict=False) if b or s.kept]
        rests += [r.whole_mm - self.unit_mm * sum(b) for r, b in zip(mix, bins[len(self.held) :], strict=True) if b]
        useful = sorted(self.loss_mm - rest for rest in rests if rest > self.loss_mm)
        return len(useful), tuple(useful)


@dataclass(frozen=True, slots=True)
class Found:
    """A plan: rolls that are bought, and the pieces of every stock on hand, then of every roll of the mix."""

    mix: tuple[RollType, ...]
    bins: Bins

    @property
    def price(self) -> int:
        """What the rolls cost."""
        return sum(roll.price for roll in self.mix)


def cheaper(one: Found | None, other: Found | None) -> Found | None:
    """The cheaper of two plans; of equal prices the first."""
    if one is None or other is None:
        return one or other
    return other if other.price < one.price else one
