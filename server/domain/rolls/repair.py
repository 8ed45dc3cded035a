"""Mending a packing that leaves a few pieces without a home: a few stocks are emptied and cut anew, over and over.

The choices follow a fixed row of numbers, so that the same question has the same answer in every process.
"""

from collections.abc import Sequence

from server.domain.rolls.job import Bins, Clock, Found, Job, RollType, cheaper
from server.domain.rolls.ladder import Ladder
from server.domain.rolls.packing import filled, opened, take

CLOCK_EVERY = 32
ROOMIEST_OF = 16
"""From so many stocks, drawn at random, the one with most room is taken."""


class Mender:
    """Plans of wanted prices; what was packed for one price is the beginning for the next."""

    def __init__(self, job: Job, ladder: Ladder) -> None:
        """Start with nothing packed.

        Args:
            job: Pieces and stock.
            ladder: Prices and mixes.
        """
        self._job, self._ladder = job, ladder
        self._cut: list[tuple[int, list[int]]] = []

    def at(self, price: int, rounds: int, remaining_s: Clock) -> Found | None:
        """A plan of this price; where that fails, one with some more rolls for the pieces that found no home.

        Args:
            price: The price.
            rounds: Most rounds of mending for each mix of rolls of this price.
            remaining_s: Time left. [s]
        """
        best: Found | None = None
        for mix in self._ladder.mixes(price):
            capacities = self._job.capacities(mix)
            if not holds(self._job, capacities):
                continue
            bins, homeless = self._begun(capacities)
            done = not homeless or repaired(bins, homeless, capacities, rounds, remaining_s)
            self._cut = list(zip(capacities, bins, strict=True))
            best = cheaper(best, Found(tuple(mix), bins) if done else self._completed(mix, bins, homeless))
            if done or remaining_s() <= 0:
                break
        return best

    def _begun(self, capacities: Sequence[int]) -> tuple[Bins, list[int]]:
        """What was packed last, as far as the stocks are the same, and the pieces of the others."""
        if not self._cut:
            return filled(self._job.sizes, capacities, longest_first=True)
        before: dict[int, Bins] = {}
        for capacity, bin_ in self._cut:
            before.setdefault(capacity, []).append(bin_)
        bins = [list(before[c].pop()) if before.get(c) else [] for c in capacities]
        left = dict(self._job.sizes)
        for bin_ in bins:
            for piece in bin_:
                left[piece] -= 1
        return bins, [size for size, count in left.items() for _ in range(count)]

    def _completed(self, mix: Sequence[RollType], bins: Bins, homeless: Sequence[int]) -> Found | None:
        """The homeless pieces in rolls of one kind on top."""
        rest = Job(tuple(_counted(homeless).items()), self._job.rolls, (), self._job.unit_mm, self._job.loss_mm)
        best: Found | None = None
        for roll in self._job.rolls:
            best = cheaper(best, by_one_roll(rest, roll))
        return None if best is None else Found((*mix, *best.mix), [*bins, *best.bins])


def holds(job: Job, capacities: Sequence[int]) -> bool:
    """Whether stocks are long enough for all pieces together and for the longest one.

    Args:
        job: Pieces and stock.
        capacities: The stocks.
    """
    return job.total <= sum(capacities) and job.sizes[0][0] <= max(capacities)


def by_one_roll(job: Job, roll: RollType) -> Found | None:
    """Pieces into what is on hand, first fit, then into as many of one roll as it takes.

    Args:
        job: Pieces and stock.
        roll: The roll.
    """
    bins = opened(job.sizes, job.capacities(()), roll.capacity)
    return None if bins is None else Found((roll,) * (len(bins) - len(job.held)), bins)


class Draws:
    """Numbers that look drawn and are always the same: a linear congruential generator with Knuth's constants."""

    def __init__(self, seed: int) -> None:
        """Start the row.

        Args:
            seed: Whole number.
        """
        self._state = seed

    def below(self, limit: int) -> int:
        """The next number, 0 or more and below a limit."""
        self._state = (self._state * 6364136223846793005 + 1442695040888963407) % 2**64
        return (self._state >> 33) % limit


def repaired(bins: Bins, homeless: list[int], capacities: Sequence[int], rounds: int, remaining_s: Clock) -> bool:
    """Find a home for every piece.

    A round empties a few stocks and fills them one by one from their own pieces and the homeless ones; the result is
    kept when no more length is homeless than before.

    Args:
        bins: Pieces of each stock; changed in place.
        homeless: Pieces without a home; emptied when all goes well.
        capacities: The stocks.
        rounds: Most rounds.
        remaining_s: Time left. [s]

    Returns:
        Whether every piece has a home.
    """
    draws = Draws(len(capacities))
    missing = sum(homeless)
    room = [capacity - sum(bin_) for capacity, bin_ in zip(capacities, bins, strict=True)]
    for number in range(rounds):
        if not missing:
            break
        if number % CLOCK_EVERY == 0 and remaining_s() <= 0:
            break
        chosen = _chosen(room, draws)
        left = _counted([*homeless, *(piece for i in chosen for piece in bins[i])])
        fresh = [take(left, capacities[i], longest_first=draws.below(2) == 0) for i in chosen]
        without = sum(size * count for size, count in left.items())
        rest = [capacities[i] - sum(bin_) for i, bin_ in zip(chosen, fresh, strict=True)]
        # Room that is gathered in few stocks is worth more: the next homeless piece may fit there.
        if (without, -sum(r * r for r in rest)) <= (missing, -sum(room[i] ** 2 for i in chosen)):
            missing = without
            homeless[:] = [size for size, count in left.items() for _ in range(count)]
            for i, bin_, space in zip(chosen, fresh, rest, strict=True):
                bins[i], room[i] = bin_, space
    return not missing


def _chosen(room: Sequence[int], draws: Draws) -> list[int]:
    """Two to six different stocks in a drawn order; half of the time one of them has much room."""
    wanted = min(len(room), 2 + draws.below(5))
    chosen: list[int] = []
    if draws.below(2):
        chosen.append(max((draws.below(len(room)) for _ in range(ROOMIEST_OF)), key=lambda i: (room[i], i)))
    while len(chosen) < wanted:
        index = draws.below(len(room))
        if index not in chosen:
            chosen.append(index)
    return chosen[::-1] if draws.below(2) else chosen


def _counted(pieces: Sequence[int]) -> dict[int, int]:
    counts: dict[int, int] = {}
    for piece in sorted(pieces, reverse=True):
        counts[piece] = counts.get(piece, 0) + 1
    return counts
