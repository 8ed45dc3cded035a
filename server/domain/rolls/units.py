"""The caller's numbers as whole numbers, and the plan in the caller's numbers again."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import gcd, lcm

from server.domain.rolls.job import Found, Held, Job, Rational, RollType
from server.domain.rolls.packing import most_filled, opened

Number = int | float | Decimal
DECIMALS = 9
"""Decimals of a float that are read; what stands behind them is an error of its sums."""


class PieceTooLongError(ValueError):
    """A piece is longer than everything it could be cut from."""

    def __init__(self, piece_mm: Number, longest_mm: Number) -> None:
        """Say which.

        Args:
            piece_mm: The piece. [mm]
            longest_mm: The longest roll or remnant; 0 when there is none. [mm]
        """
        super().__init__(f"a piece of {piece_mm} mm is longer than the longest roll or remnant, {longest_mm} mm")
        self.piece_mm = piece_mm
        self.longest_mm = longest_mm


class NotEnoughError(ValueError):
    """Pieces that only remnants could hold find no room in them."""


@dataclass(frozen=True, slots=True)
class Layout:
    """One roll or remnant with the pieces cut from it."""

    stock_mm: Number
    price: Number | None
    """``None`` for a remnant."""
    pieces_mm: tuple[Number, ...]
    """In cutting order, longest first. [mm]"""
    left_mm: Number
    """What is left after the last cut. [mm]"""


@dataclass(frozen=True, slots=True)
class RollPlan:
    """What to buy and how to cut it."""

    cost: Number
    """Price of the rolls that are bought."""
    bound: Number
    """No plan costs less."""
    proved: bool
    """True when no plan is cheaper."""
    layouts: tuple[Layout, ...]
    """Remnants first, then rolls, each from the shortest on."""


class Question:
    """The question, checked, and in whole numbers of one unit of length and one of money."""

    job: Job
    """The question in whole numbers."""

    def __init__(
        self,
        pieces: Sequence[tuple[Number, int]],
        rolls: Sequence[tuple[Number, Number]],
        remnants: Sequence[Number],
        cut_loss_mm: Number,
    ) -> None:
        """Read the caller's numbers.

        Args:
            pieces: (length, count). [mm]
            rolls: (length, price). [mm]
            remnants: Lengths. [mm]
            cut_loss_mm: Lost at every cut. [mm]

        Raises:
            PieceTooLongError: a piece fits into nothing.
            ValueError: a number is out of its range.
        """
        _refuse_bad_numbers(pieces, rolls, remnants, cut_loss_mm)
        self._loss = exact(cut_loss_mm)
        # In one order whatever order the caller's lists are in.
        self._rolls = sorted(rolls, key=lambda roll: (exact(roll[0]), exact(roll[1]), repr(roll)))
        self._remnants = sorted(remnants, key=lambda length: (exact(length), repr(length)))
        self._shown: dict[Rational, Number] = {}
        wanted: Counter[Rational] = Counter()
        for length, count in sorted(pieces, key=repr):
            wanted[exact(length)] += int(count)
            self._shown.setdefault(exact(length), length)
        lengths = sorted((length for length, count in wanted.items() if count), reverse=True)
        self._refuse_too_long(lengths)
        self._unit = _common([length + self._loss for length in lengths])
        self._money = lcm(*(exact(price).denominator for _, price in rolls))
        sizes = tuple((int((length + self._loss) // self._unit), wanted[length]) for length in lengths)
        self._length_of = {size: length for (size, _), length in zip(sizes, lengths, strict=True)}
        self.job = self._job(sizes)

    def _refuse_too_long(self, lengths: Sequence[Rational]) -> None:
        stock = max([*self._remnants, *(length for length, _ in self._rolls)], key=exact, default=0)
        if lengths and lengths[0] > exact(stock):
            raise PieceTooLongError(self._shown[lengths[0]], stock)

    def _job(self, sizes: tuple[tuple[int, int], ...]) -> Job:
        shortest = sizes[-1][0] if sizes else 1
        whole = [exact(length) + self._loss for length, _ in self._rolls]
        most = most_filled(sizes, [int(mm // self._unit) for mm in whole])
        money = [int(exact(price) * self._money) for _, price in self._rolls]
        rolls = _undominated(
            [RollType(*row, i) for i, row in enumerate(zip(most, whole, money, strict=True)) if row[0] >= shortest]
        )
        found: list[tuple[Rational, bool, int]] = [
            (exact(mm) + self._loss, True, i) for i, mm in enumerate(self._remnants)
        ]
        for roll in rolls:
            if not roll.price:
                # A roll that costs nothing is a remnant of which there are as many as could be of use.
                found += [(roll.whole_mm, False, roll.index)] * _stocks_needed(sizes, roll.capacity)
        most = most_filled(sizes, [int(mm // self._unit) for mm, _, _ in found])
        held = [Held(n, *row) for n, row in zip(most, found, strict=True) if n >= shortest]
        held.sort(key=lambda stock: (stock.capacity, stock.whole_mm, not stock.kept, stock.index))
        bought = [roll for roll in rolls if roll.price]
        if sizes and sizes[0][0] > max((roll.capacity for roll in bought), default=0):
            bought.insert(0, _shortage(sizes, bought))
        return Job(sizes, tuple(bought), tuple(held), self._unit, self._loss)

    def answer(self, found: Found, bound: int) -> RollPlan:
        """The plan in the caller's own numbers.

        Args:
            found: The plan.
            bound: A price that no plan is below, in whole units of money.

        Raises:
            NotEnoughError: pieces fit only into remnants, and no room was found for all of them.
        """
        if any(roll.index < 0 for roll in found.mix):
            raise NotEnoughError("the remnants do not hold all the pieces, and no roll is long enough for the rest")
        layouts = []
        held = len(self.job.held)
        for stock, bin_ in zip(self.job.held, found.bins, strict=False):
            if bin_ and stock.kept:
                layouts.append(self._layout(self._remnants[stock.index], None, bin_))
            elif bin_:
                layouts.append(self._layout(*self._rolls[stock.index], bin_))
        for roll, bin_ in zip(found.mix, found.bins[held:], strict=True):
            if bin_:
                layouts.append(self._layout(*self._rolls[roll.index], bin_))
        layouts.sort(key=lambda layout: (layout.price is not None, exact(layout.stock_mm)))
        cost = found.price
        return RollPlan(self._paid(cost), self._paid(min(bound, cost)), bound >= cost, tuple(layouts))

    def _layout(self, length: Number, price: Number | None, bin_: Sequence[int]) -> Layout:
        pieces = sorted((self._length_of[size] for size in bin_), reverse=True)
        left = max(0, exact(length) - sum(pieces) - self._loss * len(pieces))
        return Layout(length, price, tuple(self._shown[piece] for piece in pieces), _like(left, [length]))

    def _paid(self, money: int) -> Number:
        return _like(Fraction(money, self._money), [price for _, price in self._rolls])


def exact(value: Number) -> Rational:
    """A number as it is written: 0.1 is a tenth, and 2.7 - 1 is 1.7 although it is 1.7000000000000002.

    Args:
        value: Any finite number.
    """
    if isinstance(value, int):
        return value
    if isinstance(value, float):
        return Fraction(str(round(value, DECIMALS) or value))
    return Fraction(value)


def _refuse_bad_numbers(
    pieces: Sequence[tuple[Number, int]],
    rolls: Sequence[tuple[Number, Number]],
    remnants: Sequence[Number],
    cut_loss_mm: Number,
) -> None:
    lengths = [*(length for length, _ in pieces), *(length for length, _ in rolls), *remnants]
    if not all(_finite(length) and length > 0 for length in lengths):
        raise ValueError("every length must be a finite number greater than zero")
    if not all(_finite(count) and count >= 0 and count == int(count) for _, count in pieces):
        raise ValueError("counts must be whole numbers of zero or more")
    if not all(_finite(amount) and amount >= 0 for amount in (cut_loss_mm, *(price for _, price in rolls))):
        raise ValueError("prices and the cutting loss must be finite numbers of zero or more")


def _finite(value: Number) -> bool:
    return value.is_finite() if isinstance(value, Decimal) else abs(value) < float("inf")


def _common(lengths: Sequence[Rational]) -> Rational:
    """The greatest length of which all are whole multiples."""
    whole = lcm(*(length.denominator for length in lengths))
    unit = Fraction(gcd(*(int(length * whole) for length in lengths)) or 1, whole)
    return int(unit) if unit.denominator == 1 else unit


def _stocks_needed(sizes: tuple[tuple[int, int], ...], capacity: int) -> int:
    """How many stocks hold all pieces that fit into one."""
    return len(opened(tuple((size, count) for size, count in sizes if size <= capacity), (), capacity) or ())


def _shortage(sizes: tuple[tuple[int, int], ...], bought: Sequence[RollType]) -> RollType:
    """A roll that nobody sells, for pieces that only remnants hold; dearer than every plan that does without it."""
    rest = sum(count for _, count in sizes) * max((roll.price for roll in bought), default=0)
    return RollType(sizes[0][0], sizes[0][0], rest + 1, -1)


def _undominated(rolls: Sequence[RollType]) -> list[RollType]:
    """Rolls that no other one beats in both length and price, longest first."""
    kept: list[RollType] = []
    for roll in sorted(rolls, key=lambda r: (r.price, -r.capacity, -r.whole_mm, r.index)):
        if not kept or roll.capacity > kept[-1].capacity:
            kept.append(roll)
    return kept[::-1]


def _like(value: Rational, examples: Sequence[Number]) -> Number:
    """A fraction as a number of the same kind as its examples, with as many decimals as they are written with."""
    decimals = [example for example in examples if isinstance(example, Decimal)]
    if decimals:
        places = min(int(example.as_tuple().exponent) for example in decimals)
        told = Decimal(value.numerator) / Decimal(value.denominator)
        return round(told, -places) if places < 0 and round(told, -places) == told else told
    if value.denominator == 1 and not any(isinstance(example, float) for example in examples):
        return int(value)
    return float(value)
