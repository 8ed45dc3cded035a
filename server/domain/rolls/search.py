"""The search that a solver helps with: a sharper bound, and cheaper plans, as far as the time goes."""

from collections import Counter
from collections.abc import Sequence
from math import gcd

from server.domain.rolls.columns import Relaxation, relaxed
from server.domain.rolls.dive import dived
from server.domain.rolls.job import Bins, Clock, Found, Job, cheaper
from server.domain.rolls.knapsack import table_fits
from server.domain.rolls.ladder import Ladder
from server.domain.rolls.master import Pattern
from server.domain.rolls.programs import FINEST_MONEY, Program, all_patterns, best_of
from server.domain.rolls.repair import Mender

SHARE_OF_RELAXATION = 0.5
"""Part of the time that the relaxation may take."""
ROUNDS = 3000
"""Rounds of mending at each price before a whole-number program is asked."""
PRICES_FIRST = 3
"""Prices at which mending is tried before it is known whether it leads anywhere."""
MOST_PRICES = 10**6
WIDE_GAP = 0.005
"""Where mending comes no closer to the bound than this, a plan is made from the relaxation next."""
FEW_SIZES = 40
"""With fewer sizes the whole-number program comes to an end sooner."""
ROUNDS_A_PIECE = 5
"""The same for few pieces."""
PRICES_TRIED = 6
"""Prices that are asked for one by one; a program for one price is answered far sooner than one for a range."""
SHARE_OF_PROGRAM = 0.8
"""Part of the time left that a whole-number program is given; it does not look at the clock often."""
MORE_ROUNDS = 30_000
"""Rounds of mending at each price afterwards."""


def searched(job: Job, ladder: Ladder, found: Found, bound: int, remaining_s: Clock) -> tuple[Found, int]:
    """The best plan within the time.

    Args:
        job: Pieces and stock.
        ladder: Prices that a plan can have.
        found: A plan to begin with.
        bound: A price that no plan is below.
        remaining_s: Time left. [s]

    Returns:
        The plan, and a price that no plan is below.
    """
    mending = _Mending(job, ladder, remaining_s)
    if not table_fits(job.sizes, job.longest):
        return mending.plan(found, bound, MORE_ROUNDS)[0], bound
    whole_s = remaining_s()
    relaxation = relaxed(
        job, ladder, _patterns_of(job, found), bound, lambda: remaining_s() - whole_s * (1 - SHARE_OF_RELAXATION)
    )
    bound = relaxation.bound
    rounds = min(ROUNDS, ROUNDS_A_PIECE * sum(count for _, count in job.sizes))
    found, next_price = mending.plan(found, bound, rounds, PRICES_FIRST)
    wide = found.price - bound > WIDE_GAP * bound and len(job.sizes) > FEW_SIZES
    if wide:
        found = _dived(job, relaxation, found, remaining_s)
    found, _ = mending.plan(found, max(bound, next_price), rounds)
    if found.price > bound and remaining_s() > 0:
        found, bound = _proved(job, ladder, relaxation, found, bound, remaining_s)
    found, _ = mending.plan(found, bound, MORE_ROUNDS)
    if found.price > bound and not wide:
        found = _dived(job, relaxation, found, remaining_s)
    return found, bound


class _Mending:
    """Plans by mending at one price after the other."""

    def __init__(self, job: Job, ladder: Ladder, remaining_s: Clock) -> None:
        self._mender, self._ladder, self._remaining_s = Mender(job, ladder), ladder, remaining_s

    def plan(self, found: Found, price: int, rounds: int, most: int = MOST_PRICES) -> tuple[Found, int]:
        """The best plan, at the first price that one is found at from a price on, and the price to go on with."""
        for _ in range(most):
            # A price without a mix is only a bound: the ladder is too long to tell the prices themselves.
            if price >= found.price or self._remaining_s() <= 0 or not self._ladder.mixes(price):
                break
            found = cheaper(found, self._mender.at(price, rounds, self._remaining_s)) or found
            price = self._ladder.least_price(price + 1)
        return found, price


def _dived(job: Job, relaxation: Relaxation, found: Found, remaining_s: Clock) -> Found:
    return cheaper(found, _from_patterns(job, dived(job, relaxation, remaining_s))) or found


def _proved(
    job: Job, ladder: Ladder, relaxation: Relaxation, found: Found, bound: int, remaining_s: Clock
) -> tuple[Found, int]:
    """The best plan from all patterns that matter: at one price after the other from the bound on, then at any."""
    step = gcd(*(roll.price for roll in job.rolls))
    certain = step * FINEST_MONEY >= relaxation.money
    tried = 0
    while bound < found.price and remaining_s() > 0:
        most = bound if tried < PRICES_TRIED else found.price - step
        patterns = all_patterns(job, relaxation, most, remaining_s)
        if patterns is None:
            break
        # Nothing is below the bound, so that only mixes of this very price are asked for, which is sooner answered.
        mixes = ladder.every_mix(most) if most == bound and len(job.rolls) > 1 else None
        proved = certain
        for mix in mixes if mixes is not None else (None,):
            seconds = remaining_s() * SHARE_OF_PROGRAM
            program = (
                best_of(patterns, job, relaxation.money, most, step, seconds, mix) if patterns else Program((), True)
            )
            found = cheaper(found, _from_patterns(job, program.patterns)) or found
            proved = proved and program.proved
        if not proved:
            break
        # No plan is within the price that was asked for, or the one that was found is the cheapest.
        bound = found.price if found.price <= most else min(found.price, ladder.least_price(most + 1))
        tried += 1
    return found, bound


def _patterns_of(job: Job, found: Found) -> list[Pattern]:
    """The patterns of a plan, as columns to begin with."""
    place = {(stock.capacity, stock.available is None): i for i, stock in enumerate(job.stocks)}
    kinds = [*((stock.capacity, False) for stock in job.held), *((roll.capacity, True) for roll in found.mix)]
    patterns = []
    for kind, bin_ in zip(kinds, found.bins, strict=True):
        if bin_:
            held = Counter(bin_)
            patterns.append(Pattern(place[kind], tuple(held[size] for size, _ in job.sizes)))
    return list(dict.fromkeys(patterns))


def _from_patterns(job: Job, patterns: Sequence[tuple[Pattern, int]]) -> Found | None:
    """A plan from patterns that hold at least what is wanted; what they hold too much is not cut."""
    wanted = dict(job.sizes)
    on_hand: dict[int, list[int]] = {}
    for number, stock in enumerate(job.held):
        on_hand.setdefault(stock.capacity, []).append(number)
    held: Bins = [[] for _ in job.held]
    mix, cut = [], []
    for pattern, times in patterns:
        for _ in range(times):
            bin_ = []
            for (size, _), count in zip(job.sizes, pattern.counts, strict=True):
                taken = min(count, wanted[size])
                wanted[size] -= taken
                bin_ += [size] * taken
            if bin_ and pattern.stock < len(job.rolls):
                mix.append(job.rolls[pattern.stock])
                cut.append(bin_)
            elif bin_:
                held[on_hand[job.stocks[pattern.stock].capacity].pop()] = bin_
    return None if any(wanted.values()) or not patterns else Found(tuple(mix), held + cut)
