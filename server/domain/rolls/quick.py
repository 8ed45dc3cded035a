"""Plans without a solver: mixes of rolls from the cheapest possible price on, and stock after stock filled up."""

from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction
from functools import partial
from itertools import takewhile

from server.domain.rolls.job import Bins, Clock, Found, Job, RollType, cheaper
from server.domain.rolls.ladder import Ladder
from server.domain.rolls.packing import closest, filled, fitted, tables_fit, take
from server.domain.rolls.repair import Mender, by_one_roll, holds

FEW_PIECES = 150
"""Up to so many pieces, stock after stock is filled up, too."""
PRICES_TRIED = 4
"""Prices, from the cheapest possible on, at which a plan is looked for before stock after stock is filled up."""
FEW_STOCKS = 12
"""Up to so many stocks the one that can be filled best is looked for, over and over, to leave little over."""
QUICK_ROUNDS = 150
"""Rounds of mending a plan at the cheapest possible price before a solver is asked."""


def quick_plan(job: Job, ladder: Ladder, remaining_s: Clock) -> tuple[Found | None, int]:
    """The best plan found quickly.

    Args:
        job: Pieces and stock.
        ladder: Prices and mixes.
        remaining_s: Time left. [s]

    Returns:
        The plan, ``None`` when the pieces fit nowhere, and a price that no plan is below.
    """
    floor = price = ladder.least_price()
    best: Found | None = None
    for _ in range(PRICES_TRIED):
        for mix in ladder.mixes(price):
            if best is None and (bins := packed(job, mix)) is not None:
                best = Found(tuple(mix), bins)
        if best is not None or remaining_s() <= 0:
            break
        price = ladder.least_price(price + 1)
    if best is not None and best.price == floor:
        return best, floor
    for roll in job.rolls:
        best = cheaper(best, by_one_roll(job, roll))
    if tables_fit(job.sizes, job.longest):
        best = cheaper(best, Mender(job, ladder).at(floor, QUICK_ROUNDS, remaining_s))
        few = sum(count for _, count in job.sizes) <= FEW_PIECES or not ladder.mixes(floor)
        if few and best is not None and best.price > floor:
            best = cheaper(best, thrifty(job, remaining_s))
    return best, floor


def packed(job: Job, mix: Sequence[RollType]) -> Bins | None:
    """All pieces into what is on hand and a mix of rolls, by best fit or first fit.

    Args:
        job: Pieces and stock.
        mix: Rolls.
    """
    capacities = job.capacities(mix)
    if not holds(job, capacities):
        return None
    found = fitted(job.sizes, capacities, best=True)
    return fitted(job.sizes, capacities, best=False) if found is None else found


def tidied(job: Job, found: Found, remaining_s: Clock) -> Found:
    """The same rolls, cut so that few and long lengths are left over.

    Args:
        job: Pieces and stock.
        found: A plan.
        remaining_s: Time left. [s]
    """
    best, score = found.bins, job.leftovers(found.mix, found.bins)
    few = sum(count for _, count in job.sizes) <= FEW_PIECES
    # Whether there is time is asked before each way, which for many pieces takes long.
    ways = takewhile(lambda _: few or remaining_s() > 0, _ways_to_tidy(job, job.capacities(found.mix)))
    for way in ways:
        bins = way()
        if bins is not None and (other := job.leftovers(found.mix, bins)) < score:
            best, score = bins, other
    return Found(found.mix, best)


def _ways_to_tidy(job: Job, capacities: Sequence[int]) -> Iterator[Callable[[], Bins | None]]:
    """The stocks in rising and in falling order, each as full as it goes; or the one first that can be filled best."""
    orders = [list(range(len(capacities))), sorted(range(len(capacities)), key=lambda i: (-capacities[i], i))]
    tables = tables_fit(job.sizes, job.longest)
    for order in orders:
        ordered = [capacities[i] for i in order]
        yield partial(_best_fit, job, order, ordered)
        if tables:
            yield partial(_one_by_one, job, order, ordered)
    if tables and len(capacities) <= FEW_STOCKS:
        yield partial(closest, job.sizes, capacities)


def _best_fit(job: Job, order: Sequence[int], ordered: Sequence[int]) -> Bins | None:
    return _put_back(order, fitted(job.sizes, ordered, best=True))


def _one_by_one(job: Job, order: Sequence[int], ordered: Sequence[int]) -> Bins | None:
    bins, homeless = filled(job.sizes, ordered, longest_first=False)
    return None if homeless else _put_back(order, bins)


def _put_back(order: Sequence[int], bins: Bins | None) -> Bins | None:
    """Pieces in the order of the stocks from pieces in the order in which the stocks were filled."""
    if bins is None:
        return None
    back: Bins = [[] for _ in order]
    for place, bin_ in zip(order, bins, strict=True):
        back[place] = bin_
    return back


def thrifty(job: Job, remaining_s: Clock) -> Found | None:
    """Stock after stock, remnants first: the longest piece left and what fills it up.

    Of the rolls the one is taken that gives most length of pieces for its price.

    Args:
        job: Pieces and stock.
        remaining_s: Time left. [s]
    """
    left = dict(job.sizes)
    bins = [take(left, stock.capacity, longest_first=True) for stock in job.held]
    mix: list[RollType] = []
    while left and remaining_s() > 0:
        longest = next(iter(left))
        ways = []
        for roll in job.rolls:
            if roll.capacity >= longest:
                after = dict(left)
                bin_ = take(after, roll.capacity, longest_first=True)
                ways.append((Fraction(roll.price, sum(bin_)), -sum(bin_), roll.index, roll, bin_, after))
        if not ways:
            return None
        *_, roll, bin_, left = min(ways, key=lambda way: way[:3])
        mix.append(roll)
        bins.append(bin_)
    return None if left else Found(tuple(mix), bins)
