"""Which packs and rolls to buy."""

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


def rolls_for_pieces(pieces_mm: Sequence[int], offers: Sequence[Offer]) -> Purchase | None:
    """Rolls from which all pieces can be cut, each piece whole.

    For every shortest roll worth buying, the pieces too long for it are cut from longer rolls, their leftovers take
    what they can of the rest, and the cheapest rolls that hold what remains are added. The cheapest of these ways is
    returned. It can always be cut, but is not proved the least.

    Args:
        pieces_mm: Lengths of the pieces, each greater than zero. [mm]
        offers: Rolls by length. [mm]

    Returns:
        The purchase, or ``None`` when a piece is longer than every roll.
    """
    if not pieces_mm:
        return Purchase((), 0, Decimal(0))
    if not offers or max(pieces_mm) > max(offer.quantity for offer in offers):
        return None
    ordered = sorted(pieces_mm, reverse=True)
    ways = [_from_rolls(ordered, offers, shortest) for shortest in sorted({offer.quantity for offer in offers})]
    return min(ways, key=lambda way: (way.price, way.quantity))


def _from_rolls(ordered: Sequence[int], offers: Sequence[Offer], shortest: int) -> Purchase:
    """One way: no roll below ``shortest``, long pieces first from rolls that hold them."""
    sold = [offer for offer in offers if offer.quantity >= shortest]
    long = [piece for piece in ordered if piece > shortest]
    rest = [piece for piece in ordered if piece <= shortest]
    first = Purchase((), 0, Decimal(0))
    if long:
        first = _holding(long, [offer for offer in sold if offer.quantity >= long[0]])
        rest = _left_over(long + rest, _lengths(first, sold))
    return _together(first, _holding(rest, sold), sold)


def _holding(pieces: Sequence[int], offers: Sequence[Offer]) -> Purchase:
    """Cheapest cover of the sum, asked for more until the pieces fit; every offer holds at least the longest piece."""
    if not pieces:
        return Purchase((), 0, Decimal(0))
    wanted = sum(pieces)
    step = math.gcd(*(offer.quantity for offer in offers))
    while True:
        purchase = cheapest_packs(wanted, offers)
        if not _left_over(pieces, _lengths(purchase, offers)):
            return purchase
        wanted = purchase.quantity + step


def _lengths(purchase: Purchase, offers: Sequence[Offer]) -> list[int]:
    length_of = {offer.id: offer.quantity for offer in offers}
    return sorted(length_of[offer] for offer, count in purchase.packs for _ in range(count))


def _left_over(pieces: Sequence[int], lengths: Sequence[int]) -> list[int]:
    """Pieces that find no room: first fit, longest first, into the shortest roll first, to spare the long ones."""
    left = list(lengths)
    homeless = []
    for piece in pieces:
        index = next((i for i, length in enumerate(left) if length >= piece), None)
        if index is None:
            homeless.append(piece)
        else:
            left[index] -= piece
    return homeless


def _together(one: Purchase, other: Purchase, offers: Sequence[Offer]) -> Purchase:
    counts = {index: dict(one.packs).get(o.id, 0) + dict(other.packs).get(o.id, 0) for index, o in enumerate(offers)}
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
