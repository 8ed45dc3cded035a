"""Which packs to buy. Expected values: exhaustive search over small cases, and cases by hand."""

from collections.abc import Iterator, Sequence
from decimal import Decimal
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.domain.rolls import Offer, Purchase, cheapest_packs
from tests.domain.scenes import examples

SMALL, LARGE = Offer("small", 1000, Decimal("3.00")), Offer("large", 5000, Decimal("10.00"))


@st.composite
def offers(draw: st.DrawFn, unit: int = 1) -> list[Offer]:
    """One to three packs of different quantities, at prices that need not grow with the quantity."""
    quantities = draw(st.lists(st.integers(1, 9), min_size=1, max_size=3, unique=True))
    cents = st.integers(0, 400)
    return [Offer(f"pack-{q}", q * unit, Decimal(draw(cents)) / 100) for q in quantities]


def every_purchase(sold: Sequence[Offer], most: int) -> Iterator[tuple[Decimal, int, tuple[int, ...]]]:
    """(price, quantity, counts) of every basket whose packs are all needed to reach ``most``, plus the empty one."""
    ranges = [range(-(-most // offer.quantity) + 1) for offer in sold]
    for counts in product(*ranges):
        price = sum((offer.price * n for offer, n in zip(sold, counts, strict=True)), Decimal(0))
        yield price, sum(offer.quantity * n for offer, n in zip(sold, counts, strict=True)), counts


@examples(150)
@given(st.integers(0, 40), offers())
def test_no_basket_of_packs_covers_the_need_for_less(needed: int, sold: list[Offer]) -> None:
    bought = cheapest_packs(needed, sold)
    least = min((price, quantity) for price, quantity, _ in every_purchase(sold, needed) if quantity >= needed)
    assert (bought.price, bought.quantity) == least


@examples(100)
@given(st.integers(0, 40), offers())
def test_the_packs_told_add_up_to_the_price_and_quantity_told(needed: int, sold: list[Offer]) -> None:
    bought = cheapest_packs(needed, sold)
    by_id = {offer.id: offer for offer in sold}
    price = sum((by_id[pack].price * n for pack, n in bought.packs), Decimal(0))
    assert (bought.price, bought.quantity) == (price, sum(by_id[pack].quantity * n for pack, n in bought.packs))


def test_nothing_needed_buys_nothing() -> None:
    assert cheapest_packs(0, [SMALL, LARGE]) == Purchase((), 0, Decimal(0))


def test_a_large_pack_is_bought_where_small_ones_would_cost_more() -> None:
    # By hand: four small ones are 12.00, one large one 10.00.
    assert cheapest_packs(3500, [SMALL, LARGE]).packs == (("large", 1),)


def test_of_equal_prices_the_one_that_leaves_least_over_is_taken() -> None:
    sold = [Offer("twelve", 12, Decimal(2)), Offer("ten", 10, Decimal(2))]
    assert cheapest_packs(9, sold).packs == (("ten", 1),)


def test_packs_are_told_largest_first() -> None:
    # By hand: 6000 mm is one large at 10.00 and one small at 3.00, against two large at 20.00.
    assert cheapest_packs(6000, [SMALL, LARGE]).packs == (("large", 1), ("small", 1))


def test_a_need_beyond_the_exact_search_is_still_covered() -> None:
    # By hand: 30 003 pieces in packs of 1 and 10; the bulk may only be bought in the largest pack, never fall short.
    bought = cheapest_packs(30_003, [Offer("one", 1, Decimal(1)), Offer("ten", 10, Decimal(5))])
    assert bought.quantity >= 30_003


@pytest.mark.parametrize("sold", [[], [Offer("empty", 0, Decimal(1))]], ids=["no pack", "an empty pack"])
def test_a_need_cannot_be_covered_from_nothing(sold: list[Offer]) -> None:
    with pytest.raises(ValueError, match="hold something"):
        cheapest_packs(5, sold)
