"""How tightly a twist winds the wires of a ribbon. Expected values: the curvature of a helix by hand, properties."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.domain.lengths import tight_bends
from server.domain.model.catalogue import Catalogue
from server.domain.model.route import RouteStep
from server.domain.twists import tight_twists, twist_radius_mm
from tests.domain.scenes import examples

BAD = (math.nan, math.inf, -math.inf)


def twist(length_mm: float, turn_deg: float = 180.0) -> RouteStep:
    return RouteStep("twist", length_mm, turn_deg)


@pytest.mark.parametrize("turn", [180, -180])
def test_a_wire_in_a_twist_is_bent_like_a_helix(turn: float) -> None:
    # By hand: 5 pi mm for half a turn are 5 mm a radian: (10^2 + 5^2) / 10 = 12.5, whichever way it turns.
    assert twist_radius_mm(10, turn, 5 * math.pi) == pytest.approx(12.5)


def test_a_wire_in_the_middle_of_a_twist_stays_straight() -> None:
    assert twist_radius_mm(0, 90, 50) == math.inf


@pytest.mark.parametrize("value", BAD)
def test_a_value_that_is_no_number_is_refused(value: float) -> None:
    with pytest.raises(ValueError, match="finite"):
        twist_radius_mm(value, 90, 50)


@pytest.mark.parametrize("case", [(-1, 90, 50), (1, 0, 50), (1, 90, -1)])
def test_what_no_twist_has_is_refused(case: tuple[float, float, float]) -> None:
    with pytest.raises(ValueError, match="twist"):
        twist_radius_mm(*case)


def test_a_tight_twist_names_the_lengths_that_would_do() -> None:
    # By hand, wire of 2 mm: 12.5 lies between 12 and 20. For 20: 10 x (20 - 10) = 10^2, 10 pi = 31.4. For 12: the root
    # of 10 x (12 - 10) is 4.47, times pi 14.05.
    (tight,) = tight_twists([twist(5 * math.pi)], [(10, 0)], wire_mm=2)
    assert (tight.severity, tight.radius_mm, tight.length_mm, tight.length_least_mm) == ("note", 12.5, 32, 15)


def test_a_wire_under_six_diameters_is_warned_of() -> None:
    # By hand: 12 mm for half a turn are 3.82 mm a radian: (100 + 14.6) / 10 = 11.46, under 12.
    assert tight_twists([twist(12)], [(10, 0)], wire_mm=2)[0].severity == "warn"


def test_in_a_short_twist_a_wire_further_in_may_be_the_tightest() -> None:
    # By hand: 5 mm a radian: at 23.1 mm 23.1 + 25 / 23.1 = 24.18, at 10 mm 12.5.
    (tight,) = tight_twists([twist(5 * math.pi)], [(23.1, 0), (10, 0)], wire_mm=2)
    assert tight.radius_mm == 12.5


def test_legs_and_bends_are_no_twists() -> None:
    steps = [RouteStep("leg", 100), RouteStep("left", angle_deg=90, radius_mm=1)]
    assert tight_twists(steps, [(10, 0)], wire_mm=2) == ()


def test_a_route_without_wires_has_no_tight_twist() -> None:
    assert tight_twists([twist(1)], (), wire_mm=2) == ()


@pytest.mark.parametrize("diameter", [0, -1, *BAD])
def test_a_wire_without_a_diameter_is_refused(diameter: float) -> None:
    with pytest.raises(ValueError, match="diameter"):
        tight_twists([twist(1)], [(10, 0)], diameter)


@examples(100)
@given(
    st.floats(0.5, 400),
    st.floats(10, 720),
    st.lists(st.tuples(st.floats(-25, 25), st.floats(-5, 5)), min_size=1, max_size=8),
)
def test_the_length_that_is_named_is_enough(length: float, turn: float, ribbon: list[tuple[float, float]]) -> None:
    # Property: no wire of the ribbon is too tight with it.
    for tight in tight_twists([twist(length, turn)], ribbon, wire_mm=2.4):
        assert tight.length_mm > length
        assert tight_twists([twist(tight.length_mm, turn)], ribbon, wire_mm=2.4) == ()


@pytest.mark.parametrize("shape", ["cpu-behind-tray", "graphics-from-side"])
def test_the_shipped_paths_of_8_position_plugs_keep_16_awg_for_good(catalogue: Catalogue, shape: str) -> None:
    # By hand: four columns in two rows at 4.2 mm; a flat bend of 30 mm leaves 27.9, ten diameters of 2.4 mm are 24.
    eight = [(x, z) for x in (-6.3, -2.1, 2.1, 6.3) for z in (-2.1, 2.1)]
    steps = catalogue.shapes[shape].steps
    assert (tight_bends(steps, eight, 2.4), tight_twists(steps, eight, 2.4)) == ((), ())
