"""The cheapest roll plan by trying everything, sharing no code with the planner; for a handful of pieces."""

from collections.abc import Sequence

Case = tuple[list[tuple[int, int]], list[tuple[int, int]], list[int], int]
"""Pieces as (length, count), rolls as (length, price), remnants, cutting loss."""


def least_price(case: Case) -> float:
    """Price of the cheapest plan; infinite when there is none.

    Every set of pieces is tried for every remnant, and every split of the rest into rolls.
    """
    counted, rolls, remnants, loss = case
    pieces = [length for length, count in counted for _ in range(count)]
    every = 2 ** len(pieces)
    length = [room_needed([p for i, p in enumerate(pieces) if chosen >> i & 1], loss) for chosen in range(every)]
    roll = [min((price for mm, price in rolls if mm >= needed), default=float("inf")) for needed in length]
    price = [0.0] * every
    for chosen in range(1, every):
        lowest = chosen & -chosen
        price[chosen] = min(roll[cut] + price[chosen - cut] for cut in subsets(chosen) if cut & lowest)
    served = {0}
    for remnant in remnants:
        served |= {done | cut for done in served for cut in subsets(every - 1 - done) if length[cut] <= remnant}
    return min(price[every - 1 - done] for done in served)


def subsets(chosen: int) -> list[int]:
    """All sets within a set but the empty one, as rows of bits."""
    found, cut = [], chosen
    while cut:
        found.append(cut)
        cut = (cut - 1) & chosen
    return found


def room_needed(pieces: Sequence[int], loss: int) -> int:
    """Length from which pieces can be cut; the cut behind the last one may be spared."""
    return sum(pieces) + loss * (len(pieces) - 1) if pieces else 0


def decreasing(pieces: Sequence[int], rolls: Sequence[tuple[int, int]], remnants: Sequence[int], loss: int,
               *, best: bool) -> int:  # fmt: skip
    """Price of first-fit or best-fit decreasing, piece by piece.

    A piece that fits into nothing begun opens the cheapest roll that takes it, the longest of equal ones.
    """
    left = [mm + loss for mm in remnants]
    spent = 0
    for piece in sorted(pieces, reverse=True):
        takes = [i for i, room in enumerate(left) if room >= piece + loss]
        if not takes:
            mm, price = min((r for r in rolls if r[0] >= piece), key=lambda r: (r[1], -r[0]))
            left.append(mm + loss)
            spent += price
            takes = [len(left) - 1]
        index = min(takes, key=lambda i: left[i]) if best else takes[0]
        left[index] -= piece + loss
    return spent
