"""Cut lengths. Expected values: sums by hand; properties of rounding up."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.domain.lengths import MM_PER_INCH, Reach, chain_route_mm, cut_length_mm, reach
from server.domain.model.build import Route
from tests.domain.scenes import examples

lengths = st.floats(0, 5000, allow_nan=False)
steps = st.sampled_from((1.0, 2.0, 5.0, 10.0, 25.0))


@pytest.mark.parametrize(
    ("route", "depth", "allowance", "step", "expected"),
    [
        pytest.param(540, 18, 10, 5, 570, id="568 up to 570"),
        pytest.param(484, 16, 10, 5, 510, id="510 is a whole number of steps and stays"),
        pytest.param(484.001, 16, 10, 5, 515, id="a hair more costs the next step"),
        pytest.param(300, 16, 10, 1, 326, id="whole millimetres"),
        pytest.param(300, 16, 10, 25, 350, id="326 up to 350"),
        pytest.param(0, 0, 0, 5, 0, id="nothing is nothing"),
    ],
)
def test_a_wire_is_cut_at_the_sum_rounded_up_to_the_step(
    route: float, depth: float, allowance: float, step: float, expected: int
) -> None:
    assert cut_length_mm(route, depth, allowance, step) == expected


def test_binary_fractions_do_not_cost_another_step() -> None:
    # 0.1 + 0.2 is a hair more than 0.3 in binary; the sum is 30 steps of 0.01 m taken as 300.3 mm / 0.1 = 3003 steps.
    assert cut_length_mm(300.1, 0.2, 0.0, 0.1) == math.ceil(300.3)


@examples(150)
@given(lengths, lengths, lengths, steps)
def test_a_wire_is_never_cut_shorter_than_its_stretches(
    route: float, depth: float, allowance: float, step: float
) -> None:
    # A millionth of a step is the rounding that keeps binary fractions from costing a step.
    assert cut_length_mm(route, depth, allowance, step) >= route + depth + allowance - step * 1e-6


@examples(150)
@given(lengths, lengths, lengths, steps)
def test_a_wire_is_never_cut_a_whole_step_too_long(route: float, depth: float, allowance: float, step: float) -> None:
    assert cut_length_mm(route, depth, allowance, step) < route + depth + allowance + step * (1 + 1e-6)


@examples(150)
@given(lengths, lengths, lengths, steps)
def test_a_cut_length_is_a_whole_number_of_steps(route: float, depth: float, allowance: float, step: float) -> None:
    assert cut_length_mm(route, depth, allowance, step) % step == 0


@pytest.mark.parametrize("step", [0, -5])
def test_a_step_that_is_not_greater_than_zero_is_refused(step: float) -> None:
    with pytest.raises(ValueError, match="step"):
        cut_length_mm(300, 16, 10, step)


@pytest.mark.parametrize("stretches", [(-1, 16, 10), (300, -1, 10), (300, 16, -1)])
def test_a_negative_stretch_is_refused(stretches: tuple[float, float, float]) -> None:
    with pytest.raises(ValueError, match="negative"):
        cut_length_mm(*stretches, 5)


@pytest.mark.parametrize(
    ("first", "last", "expected"),
    [
        pytest.param(-1, 0, 400, id="supply to the first plug"),
        pytest.param(-1, 2, 650, id="supply through to the third: 400 + 100 + 150"),
        pytest.param(0, 1, 100, id="first to second"),
        pytest.param(1, 2, 150, id="second to third"),
        pytest.param(0, 2, 250, id="first to third"),
    ],
)
def test_a_chain_wire_runs_along_the_stretches_between_its_plugs(first: int, last: int, expected: float) -> None:
    assert chain_route_mm(400, (100, 150), first, last) == expected


@pytest.mark.parametrize(("first", "last"), [(0, 0), (1, 0), (-1, -1)])
def test_a_chain_wire_towards_the_supply_is_refused(first: int, last: int) -> None:
    with pytest.raises(ValueError, match="away from the supply"):
        chain_route_mm(400, (100, 150), first, last)


@pytest.mark.parametrize(
    ("route", "segments", "expected"),
    [
        pytest.param(Route(length_mm=400), 0, Reach("measured", 400, 400), id="length"),
        pytest.param(Route(low_mm=300, high_mm=420), 0, Reach("range", 300, 420), id="range"),
        pytest.param(Route(), 0, Reach("unmeasured", 0, 0), id="nothing"),
        pytest.param(Route(length_mm=400, spacing_mm=(90,)), 1, Reach("measured", 400, 400), id="chain, all known"),
        pytest.param(Route(length_mm=400), 1, Reach("unmeasured", 0, 0), id="chain, spacing missing"),
        pytest.param(Route(low_mm=300, high_mm=420, spacing_mm=(90,)), 2, Reach("unmeasured", 0, 0), id="one missing"),
    ],
)
def test_a_route_is_as_known_as_its_least_known_stretch(route: Route, segments: int, expected: Reach) -> None:
    assert reach(route, segments=segments) == expected


def test_an_inch_is_25_4_mm() -> None:
    # International yard and pound agreement, 1959: exact.
    assert MM_PER_INCH == 25.4
