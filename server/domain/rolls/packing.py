"""Pieces into stock of given lengths: quick ways that keep every piece whole.

What fills one stock best is found with whole numbers used as rows of bits: bit n is set when some pieces make up n.
"""

from collections.abc import Sequence

from server.domain.rolls.job import Bins, Sizes

MOST_BITS = 400_000_000
"""Longest row of bits times number of rows that is kept for one stock, 50 MB; lengths told too finely go beyond it."""


def fitted(sizes: Sizes, capacities: Sequence[int], *, best: bool) -> Bins | None:
    """First-fit or best-fit decreasing: every piece, longest first, into the first or the fullest stock that takes it.

    Args:
        sizes: Pieces, longest first.
        capacities: Stocks in the order in which they are tried.
        best: Take the stock with the least room left that still takes the piece.

    Returns:
        The pieces of each stock; ``None`` when some piece finds no room.
    """
    left = list(capacities)
    bins: Bins = [[] for _ in left]
    for size, wanted in sizes:
        count = wanted
        takes = [i for i, room in enumerate(left) if room >= size]
        if best:
            takes.sort(key=left.__getitem__)
        # The stock that took a piece stays the first one, and the fullest one, until it takes no more.
        for index in takes:
            taken = min(count, left[index] // size)
            left[index] -= taken * size
            bins[index] += [size] * taken
            count -= taken
            if not count:
                break
        if count:
            return None
    return bins


def opened(sizes: Sizes, capacities: Sequence[int], more: int) -> Bins | None:
    """First-fit decreasing into stocks, then into as many of one further kind as it takes.

    Args:
        sizes: Pieces, longest first.
        capacities: Stocks in the order in which they are tried.
        more: Capacity of the further kind.

    Returns:
        The pieces of each stock, then of each further one; ``None`` when some piece finds no room.
    """
    left = list(capacities)
    bins: Bins = [[] for _ in left]
    for size, wanted in sizes:
        count = wanted
        for index in [i for i, room in enumerate(left) if room >= size]:
            taken = min(count, left[index] // size)
            left[index] -= taken * size
            bins[index] += [size] * taken
            count -= taken
        while count and size <= more:
            taken = min(count, more // size)
            left.append(more - taken * size)
            bins.append([size] * taken)
            count -= taken
        if count:
            return None
    return bins


def filled(sizes: Sizes, capacities: Sequence[int], *, longest_first: bool) -> tuple[Bins, list[int]]:
    """Each stock in turn as full as it goes, so that what is left over gathers in the last ones.

    Args:
        sizes: Pieces, longest first.
        capacities: Stocks in the order in which they are filled.
        longest_first: Put the longest piece that fits into each stock before it is filled up, so that no long pieces
            are left for the end.

    Returns:
        The pieces of each stock, and the pieces that found no room, which another order might have housed.
    """
    left = dict(sizes)
    bins = [take(left, capacity, longest_first=longest_first) for capacity in capacities]
    return bins, [size for size, count in left.items() for _ in range(count)]


def closest(sizes: Sizes, capacities: Sequence[int]) -> Bins | None:
    """Of all stocks the one first that can be filled closest to its end; of equal ones the longest.

    Args:
        sizes: Pieces, longest first.
        capacities: Stocks in any order; few.

    Returns:
        The pieces of each stock; ``None`` when some piece finds no room.
    """
    left = dict(sizes)
    bins: Bins = [[] for _ in capacities]
    free = set(range(len(capacities)))
    while free and left:
        sums = reachable(tuple(left.items()), max(capacities[i] for i in free))
        rest = {i: capacities[i] - _top(sums, capacities[i]) for i in free}
        index = min(free, key=lambda i: (rest[i], -capacities[i], i))
        bins[index] = take(left, capacities[index], longest_first=False)
        free.remove(index)
    return None if left else bins


def take(left: dict[int, int], capacity: int, *, longest_first: bool) -> list[int]:
    """The pieces that fill one stock best, taken off what is left, longest size first.

    Args:
        left: Count by size, longest first; emptied sizes are removed.
        capacity: The stock.
        longest_first: Whether the longest piece that fits must be among them.
    """
    taken: list[int] = []
    if longest_first and (lead := next((size for size in left if size <= capacity), None)):
        _remove(left, lead, 1)
        taken.append(lead)
        capacity -= lead
    for size, count in fullest(left, capacity).items():
        _remove(left, size, count)
        taken += [size] * count
    return taken


def _remove(left: dict[int, int], size: int, count: int) -> None:
    if left[size] == count:
        del left[size]
    else:
        left[size] -= count


def fullest(left: dict[int, int], capacity: int) -> dict[int, int]:
    """How many of each size fill a length best; long pieces are used up before short ones.

    Args:
        left: Greatest count by size, longest first.
        capacity: The length.
    """
    if sum(size * count for size, count in left.items()) <= capacity:
        return dict(left)
    mask = (2 << capacity) - 1
    reach, rows = 1, []
    for size, count in left.items():
        for lot in powers(min(count, capacity // size)):
            rows.append((size, lot, reach))
            reach |= (reach << size * lot) & mask
        if reach >> capacity:
            break
    at = reach.bit_length() - 1
    counts: dict[int, int] = {}
    for size, lot, before in reversed(rows):
        if not before >> at & 1:
            counts[size] = counts.get(size, 0) + lot
            at -= size * lot
    return counts


def reachable(sizes: Sizes, capacity: int) -> int:
    """Bit n of the answer is set when pieces can be found that make up n, up to a greatest length."""
    mask = (2 << capacity) - 1
    reach = 1
    for size, count in sizes:
        for lot in powers(min(count, capacity // size)):
            reach |= (reach << size * lot) & mask
    return reach


def most_filled(sizes: Sizes, capacities: Sequence[int]) -> list[int]:
    """How much of each stock pieces can fill at most, when there is no other stock.

    Args:
        sizes: Pieces, longest first.
        capacities: Stocks.
    """
    if not tables_fit(sizes, max(capacities, default=0)):
        return list(capacities)
    sums = reachable(sizes, max(capacities, default=0))
    return [_top(sums, capacity) for capacity in capacities]


def tables_fit(sizes: Sizes, capacity: int) -> bool:
    """Whether the rows of bits for one stock can be kept."""
    return capacity * sum(min(count, capacity // size).bit_length() for size, count in sizes) <= MOST_BITS


def _top(sums: int, capacity: int) -> int:
    """The greatest sum within a capacity."""
    return (sums & ((2 << capacity) - 1)).bit_length() - 1


def powers(count: int) -> list[int]:
    """1, 2, 4 … and a rest, which together make every number up to ``count``."""
    lots, lot = [], 1
    while count > 0:
        lots.append(min(lot, count))
        count -= lots[-1]
        lot *= 2
    return lots
