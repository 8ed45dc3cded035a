"""What a build costs. Expected values: sums by hand in Decimal, and exact fractions."""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.domain.estimate import estimate, labour_lines
from server.domain.model.build import Rates
from server.domain.model.catalogue import Labour
from server.domain.model.plan import Estimate, LabourLine
from tests.domain.scenes import examples

TABLE = {
    "cut": Labour("cut", "cut one wire", Decimal("0.3"), ""),
    "crimp": Labour("crimp", "crimp one contact", Decimal("0.6"), ""),
    "test": Labour("test", "test one wire", Decimal("0.3"), ""),
}
EURO = Rates("EUR", Decimal(40), Decimal(10), Decimal(15), Decimal(20))


def priced(
    materials: Sequence[str], minutes: str, rates: Rates = EURO, digits: int = 2, *, complete: bool = True
) -> Estimate:
    each = Decimal(minutes)
    line = LabourLine("cut", "cut one wire", 1, each, each)
    return estimate([Decimal(m) for m in materials], (line,), rates, digits, complete=complete)


def test_labour_is_operations_times_minutes_in_the_order_of_the_table() -> None:
    # By hand: 10 x 0.3 = 3.0 min, 4 x 0.6 = 2.4 min.
    lines = labour_lines({"crimp": 4, "cut": 10}, TABLE)
    assert [(line.operation, line.minutes) for line in lines] == [("cut", Decimal("3.0")), ("crimp", Decimal("2.4"))]


def test_an_operation_that_is_not_done_has_no_line() -> None:
    assert labour_lines({"cut": 0}, TABLE) == ()


def test_an_operation_without_minutes_is_refused_by_name() -> None:
    with pytest.raises(KeyError, match="solder"):
        labour_lines({"solder": 1}, TABLE)


def test_every_step_of_the_price_is_the_hand_calculation() -> None:
    # By hand: 30.00 materials; 90 min at 40 an hour = 60; overhead 10 % of 90 = 9; margin 15 % of 99 = 14.85;
    # tax 20 % of 113.85 = 22.77; total 136.62.
    found = priced(["12.50", "17.50"], "90")
    amounts = (found.materials, found.labour_price, found.overhead, found.margin, found.tax, found.total)
    assert amounts == tuple(Decimal(a) for a in ("30", "60", "9", "14.85", "22.77", "136.62"))


def test_the_total_is_rounded_once_and_not_at_every_step() -> None:
    # By hand: 0.03 x 1.1 x 1.15 x 1.2 = 0.04554, up to 0.05. Rounded at every step it would be 0.03 + 0.00 (0.003)
    # + 0.00 (0.0045) + 0.01 (0.006) = 0.04.
    assert priced(["0.03"], "0").total == Decimal("0.05")


def test_a_total_half_way_is_rounded_up() -> None:
    # By hand: 0.125 with nothing on top.
    bare = Rates("EUR", Decimal(0), Decimal(0), Decimal(0), Decimal(0))
    assert priced(["0.125"], "0", bare).total == Decimal("0.13")


def test_a_price_that_thirds_of_an_hour_add_up_to_half_a_cent_is_rounded_up() -> None:
    # By hand: 7 min at 50 an hour = 35/6; x 1.1 x 1.15 x 1.2 = 1.518 -> 35/6 x 1.518 = 8.855 exactly, up to 8.86.
    rates = Rates("EUR", Decimal(50), Decimal(10), Decimal(15), Decimal(20))
    assert priced([], "7", rates).total == Decimal("8.86")


@pytest.mark.parametrize(
    ("digits", "expected"),
    [
        pytest.param(0, "137", id="yen have no smaller unit"),
        pytest.param(2, "136.62", id="cents"),
        pytest.param(3, "136.620", id="fils: three decimal places"),
    ],
)
def test_the_total_is_rounded_to_the_currencys_smallest_unit(digits: int, expected: str) -> None:
    assert str(priced(["30.00"], "90", digits=digits).total) == expected


@examples(150)
@given(
    st.lists(st.decimals(0, 500, places=2), max_size=4),
    st.decimals(0, 2000, places=1),
    st.builds(
        Rates,
        hourly=st.sampled_from([Decimal(n) for n in (0, 12, 25, 40, 50)]),
        overhead_percent=st.integers(0, 50).map(Decimal),
        margin_percent=st.integers(0, 50).map(Decimal),
        tax_percent=st.sampled_from([Decimal(n) for n in ("0", "7.7", "19", "20")]),
    ),
    st.sampled_from((0, 2, 3)),
)
def test_the_total_is_the_exact_price_rounded_half_up(
    materials: list[Decimal], minutes: Decimal, rates: Rates, digits: int
) -> None:
    line = LabourLine("cut", "cut one wire", 1, minutes, minutes)
    exact = sum(map(Fraction, materials), Fraction(0)) + Fraction(minutes) * Fraction(rates.hourly) / 60
    for percent in (rates.overhead_percent, rates.margin_percent, rates.tax_percent):
        exact *= 1 + Fraction(percent) / 100
    units = (exact * 10**digits + Fraction(1, 2)).__floor__()
    found = estimate(materials, (line,), rates, digits, complete=True)
    assert Fraction(found.total) * 10**digits == units


def test_an_estimate_with_something_missing_says_so() -> None:
    assert priced(["30.00"], "90", complete=False).complete is False
