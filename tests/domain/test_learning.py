"""What the stopwatch says against the labour table. Expected values: divisions by hand, and properties."""

import math
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.domain.estimate import estimate, labour_lines, retimed
from server.domain.learning import (
    STEP_MINUTES,
    TIMED_LEAST,
    MeasuredTime,
    measured_minutes,
    measured_times,
    shared_seconds,
)
from server.domain.model.bench import Pace
from server.domain.model.build import Rates
from server.domain.model.catalogue import Labour
from tests.domain.scenes import examples

TABLE = {
    "cut": Labour("cut", "cut one wire", Decimal("0.3"), ""),
    "crimp": Labour("crimp", "crimp one contact", Decimal("0.6"), ""),
}
SHIPPED = {key: entry.minutes for key, entry in TABLE.items()}
EURO = Rates("EUR", Decimal(60), Decimal(10), Decimal(0), Decimal(20))


def crimps(count: int, seconds: int, now: str = "0.6") -> MeasuredTime:
    table = {**TABLE, "crimp": Labour("crimp", "crimp one contact", Decimal(now), "")}
    return measured_times({("a", "crimp"): Pace(count, seconds)}, table, SHIPPED)[0]


@pytest.mark.parametrize(
    ("count", "seconds", "minutes"),
    [
        (48, 2016, "0.70"),  # 42 s each
        (10, 420, "0.70"),
        (10, 405, "0.70"),  # 40.5 s = 0.675 min, halfway between 0.65 and 0.70: half up
        (10, 404, "0.65"),  # 40.4 s = 0.6733 min
        (12, 216, "0.30"),  # 18 s
        (20, 60, "0.05"),  # 3 s
        (100, 1, "0.05"),  # no operation takes no time
        (1, 3600, "60.00"),
    ],
)
def test_minutes_are_the_mean_in_steps_of_three_seconds(count: int, seconds: int, minutes: str) -> None:
    assert measured_minutes(Pace(count, seconds)) == Decimal(minutes)


def test_times_of_all_builds_are_one_sample_and_those_of_this_one_are_told_apart() -> None:
    # By hand: 12 in 504 s here, 36 in 1512 s elsewhere: 48 in 2016 s, 42 s each.
    paces = {("a", "crimp"): Pace(12, 504), ("b", "crimp"): Pace(36, 1512), ("b", "cut"): Pace(2, 30)}
    cut, crimp = measured_times(paces, TABLE, SHIPPED, "a")
    assert (crimp.timed, crimp.here, crimp.minutes) == (Pace(48, 2016), Pace(12, 504), Decimal("0.70"))
    assert (cut.timed, cut.here) == (Pace(2, 30), Pace())


def test_they_come_in_the_order_of_the_table_and_only_where_something_was_timed() -> None:
    paces = {("a", "crimp"): Pace(1, 30), ("a", "cut"): Pace(1, 20)}
    assert [found.operation for found in measured_times(paces, TABLE, SHIPPED)] == ["cut", "crimp"]
    assert measured_times({}, TABLE, SHIPPED) == ()


def test_what_the_labour_table_does_not_know_is_passed_over() -> None:
    assert measured_times({("a", "juggle"): Pace(50, 50)}, TABLE, SHIPPED) == ()


@pytest.mark.parametrize(("count", "state", "missing"), [(9, "few", 1), (10, "differs", 0), (1, "few", 9)])
def test_nothing_is_suggested_before_ten_are_timed(count: int, state: str, missing: int) -> None:
    found = crimps(count, 42 * count)
    assert (found.state, found.missing) == (state, missing)


@pytest.mark.parametrize(
    ("now", "state"),
    [("0.65", "differs"), ("0.66", "agrees"), ("0.70", "agrees"), ("0.74", "agrees"), ("0.75", "differs")],
)
def test_nothing_is_suggested_within_one_step_of_the_table(now: str, state: str) -> None:
    # Measured 0.70 min, steps of 0.05.
    assert crimps(48, 2016, now).state == state


def test_the_shipped_minutes_stand_beside_the_builders() -> None:
    found = crimps(48, 2016, "0.7")
    assert (found.now, found.shipped, found.state) == (Decimal("0.7"), Decimal("0.6"), "agrees")


def test_ten_pieces_that_scatter_by_a_third_have_a_mean_good_to_about_a_tenth() -> None:
    # Published: the standard error of a mean is the scatter of one, divided by the root of their number. By hand:
    # 33 / sqrt(10) = 10.4 %.
    error = 33 / math.sqrt(TIMED_LEAST)
    assert error == pytest.approx(10.4, abs=0.05)


@examples(200)
@given(st.integers(1, 10_000), st.integers(1, 86_400))
def test_rounding_is_off_by_half_a_step_at_most(count: int, seconds: int) -> None:
    minutes, exact = measured_minutes(Pace(count, seconds)), Fraction(seconds, 60 * count)
    half = Fraction(STEP_MINUTES) / 2
    assert minutes % STEP_MINUTES == 0
    assert minutes >= STEP_MINUTES
    assert abs(Fraction(minutes) - exact) <= half or (minutes == STEP_MINUTES and exact < half)


@examples(100)
@given(st.integers(1, 500), st.integers(1, 500), st.integers(2, 20))
def test_the_same_pace_gives_the_same_minutes_however_long_it_was_timed(count: int, each_s: int, more: int) -> None:
    assert measured_minutes(Pace(count, count * each_s)) == measured_minutes(Pace(more * count, more * count * each_s))


def test_other_minutes_change_the_price_as_if_the_table_had_said_so() -> None:
    # By hand: 10 cuts at 0.3 = 3 min, 20 crimps at 0.7 = 14 min: 17 min at 60 an hour = 17; materials 3; overhead 10 %
    # of 20 = 2; tax 20 % of 22 = 4.40; 26.40.
    before = estimate([Decimal(3)], labour_lines({"cut": 10, "crimp": 20}, TABLE), EURO, 2, complete=True)
    after = retimed(before, "crimp", Decimal("0.70"), EURO, 2)
    assert (after.minutes, after.total, after.complete) == (Decimal("17.00"), Decimal("26.40"), True)
    # Before: 15 min, 18 with materials, 19.80 with overhead, 23.76 with tax.
    assert (before.minutes, before.total) == (Decimal("15.0"), Decimal("23.76"))


def test_minutes_of_what_is_not_done_change_nothing() -> None:
    before = estimate([Decimal(3)], labour_lines({"cut": 10}, TABLE), EURO, 2, complete=False)
    assert retimed(before, "crimp", Decimal(9), EURO, 2) == before


def test_a_time_of_work_done_in_one_go_is_shared_as_the_table_weighs_it():
    # By hand: strip 0.3 and crimp 0.6 min, so of 91 s a third is 30.33, rounded 30, and the crimp takes the other 61.
    table = {**TABLE, "strip": Labour("strip", "strip one end", Decimal("0.3"), "")}
    assert shared_seconds(("crimp", "strip"), 91, table) == (("crimp", 61), ("strip", 30))


@given(st.integers(1, 90_000))
def test_no_second_is_lost_or_told_twice_when_a_time_is_shared(seconds: int):
    table = {**TABLE, "strip": Labour("strip", "strip one end", Decimal("0.3"), "")}
    shares = shared_seconds(("crimp", "strip", "cut"), seconds, table)
    assert sum(held for _, held in shares) == seconds
    assert all(held > 0 for _, held in shares)
