"""Which packs to buy of what is counted: the cheapest mix, exactly."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

MOST_STEPS = 20_000
"""Longest table the exact search keeps; beyond it the largest pack covers the bulk."""


@dataclass(frozen=True, slots=True)
class Offer:
    """A pack that can be bought: quantity and price."""

    id: str
    quantity: int
    price: Decimal


@dataclass(frozen=True, slots=True)
class Purchase:
    """Packs to buy: (offer id, count), largest first."""

    packs: tuple[tuple[str, int], ...]
    quantity: int
    price: Decimal


def cheapest_packs(needed: int, offers: Sequence[Offer]) -> Purchase:
    """Packs that cover a quantity for the least money; of equal prices the one that leaves least over.

    Args:
        needed: Quantity to cover, 0 or more.
        offers: At least one pack, each with a quantity greater than zero.

    Returns:
        The purchase; nothing for a need of zero.

    Raises:
        ValueError: no offers, or an empty pack.
    """
    if not offers or min(offer.quantity for offer in offers) <= 0:
        raise ValueError("packs must hold something")
    step = math.gcd(*(offer.quantity for offer in offers))
    units = -(-needed // step)
    largest = max(offers, key=lambda o: (o.quantity, o.id))
    bulk = max(0, -(-(units - MOST_STEPS) * step // largest.quantity)) if units > MOST_STEPS else 0
    units = max(0, units - bulk * largest.quantity // step)
    best: list[tuple[Decimal, int, int]] = [(Decimal(0), 0, -1)]
    for unit in range(1, units + 1):
        best.append(
            min(
                (
                    best[max(0, unit - offer.quantity // step)][0] + offer.price,
                    best[max(0, unit - offer.quantity // step)][1] + offer.quantity,
                    index,
                )
                for index, offer in enumerate(offers)
            )
        )
    counts = dict.fromkeys(range(len(offers)), 0)
    counts[offers.index(largest)] += bulk
    unit = units
    while unit > 0:
        index = best[unit][2]
        counts[index] += 1
        unit = max(0, unit - offers[index].quantity // step)
    return _purchase(counts, offers)


def _purchase(counts: dict[int, int], offers: Sequence[Offer]) -> Purchase:
    bought = sorted(
        ((offers[i], count) for i, count in counts.items() if count), key=lambda b: (-b[0].quantity, b[0].id)
    )
    return Purchase(
        tuple((offer.id, count) for offer, count in bought),
        sum(offer.quantity * count for offer, count in bought),
        sum((offer.price * count for offer, count in bought), Decimal(0)),
    )
