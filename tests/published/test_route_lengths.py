"""Wires of a ribbon against curves in space, measured by numerical integration.

The way of each wire is built here from nothing but the meaning of the words: a moving frame (tangent, right, up) whose
rates of turning are the bends, and a place in it that a twist turns. ``scipy`` integrates the frame as differential
equations and the wire's speed as a quadrature. Nothing of the planner's own sums is used to build them.

Sources: offset (parallel) curves and the helix, differential geometry of curves; radii, NASA-STD-8739.4.
"""

from math import atan2, cos, hypot, pi, sin, sqrt

import numpy as np
import pytest
from scipy.integrate import quad, solve_ivp

from server.domain.lengths import bend_terms_mm, middle_mm, tight_bends
from server.domain.model.route import RouteStep
from server.domain.reference import BEND_LEAST, BEND_WANTED
from server.domain.route_shape import curve

TURNING = {
    # Rates at which the frame turns, in radians over the step: to the left about up, and upwards about the left side.
    "left": (1.0, 0.0), "right": (-1.0, 0.0), "up": (0.0, 1.0), "down": (0.0, -1.0),
}  # fmt: skip
LEG, EDGE, ROW = RouteStep("leg", 120.0), 23.1, 2.1
PLACES = [(-EDGE, ROW), (EDGE, ROW), (-EDGE, -ROW), (EDGE, -ROW), (6.3, ROW), (0.0, 0.0)]


def bend(kind, angle, radius):
    return RouteStep(kind, 0.0, angle, radius)


def twist(angle, length):
    return RouteStep("twist", length, angle)


ROUTES = {
    "one corner": [LEG, bend("left", 90, 60), LEG],
    "there and back": [LEG, bend("left", 90, 60), LEG, bend("right", 90, 45), LEG],
    "over the face": [LEG, bend("up", 90, 40), LEG, bend("down", 35, 50), LEG],
    "half a twist": [LEG, twist(180, 90), LEG],
    "a corner, half a twist, a corner": [bend("left", 90, 60), twist(180, 90), LEG, bend("left", 90, 60)],
    "a corner, a quarter, a corner": [bend("left", 90, 60), twist(-90, 60), bend("up", 70, 80), LEG],
    "skew twists": [twist(37, 50), bend("right", 110, 70), twist(-250, 200), bend("down", 25, 35), twist(15, 40)],
    "a loop": [LEG, bend("up", 360, 60), LEG, bend("right", 45, 90)],
    "everything": [LEG, bend("down", 90, 55), bend("left", 60, 70), twist(75, 80), bend("up", 120, 65),
                   bend("right", 33, 64), twist(405, 300), bend("left", 180, 48), LEG],
}  # fmt: skip


def stretches(steps):
    """(length of the middle, turning to the left, turning upwards, rolling clockwise) of each step, in radians."""
    for step in steps:
        angle = step.angle_deg * pi / 180
        if step.kind in ("leg", "twist"):
            yield step.length_mm, 0.0, 0.0, angle
        else:
            left, up = TURNING[step.kind]
            yield angle * step.radius_mm, left * angle, up * angle, 0.0


def walked(steps, place):
    """Length and end point of one wire, by integration."""
    offset, height = place
    distance, start_angle = hypot(offset, height), atan2(height, offset)
    frame = np.array([1, 0, 0, 0, -1, 0, 0, 0, 1], dtype=float)
    position, roll, total = np.zeros(3), 0.0, 0.0
    for length, to_left, upwards, rolling in stretches(steps):

        def rates(_, state, to_left=to_left, upwards=upwards, length=length):
            ahead, right, up = state[3:6], state[6:9], state[9:12]
            return np.concatenate([length * ahead, -to_left * right + upwards * up, to_left * ahead, -upwards * ahead])

        way = solve_ivp(rates, (0, 1), np.concatenate([position, frame]), rtol=1e-10, atol=1e-10, dense_output=True)

        def speed(s, way=way, rates=rates, roll=roll, rolling=rolling):
            # The wire is at: middle + x * right + z * up, its place turned clockwise as seen by the walker.
            state = way.sol(s)
            rate = rates(s, state)
            angle = start_angle - (roll + rolling * s)
            x, z = distance * cos(angle), distance * sin(angle)
            x_rate, z_rate = z * rolling, -x * rolling
            velocity = rate[:3] + x * rate[6:9] + z * rate[9:12] + x_rate * state[6:9] + z_rate * state[9:12]
            return sqrt(float(velocity @ velocity))

        total += quad(speed, 0, 1, epsabs=1e-8, epsrel=1e-8)[0]
        position, frame, roll = way.y[:3, -1], way.y[3:, -1], roll + rolling
    angle = start_angle - roll
    return total, position + distance * (cos(angle) * frame[3:6] + sin(angle) * frame[6:9])


@pytest.mark.parametrize("place", PLACES, ids=str)
@pytest.mark.parametrize("steps", ROUTES.values(), ids=ROUTES.keys())
def test_each_wire_is_as_long_as_the_curve_that_it_follows(steps, place):
    integrated, _ = walked(steps, place)
    assert middle_mm(steps) + bend_terms_mm(steps, [place])[0] == pytest.approx(integrated, abs=1e-5)


@pytest.mark.parametrize("steps", ROUTES.values(), ids=ROUTES.keys())
def test_each_curve_that_is_drawn_ends_where_the_integrated_one_does(steps):
    _, end = walked(steps, (EDGE, ROW))
    assert curve(steps, EDGE, ROW)[-1] == pytest.approx(end, abs=1e-5)


def test_the_multiples_are_those_of_the_standard():
    # NASA-STD-8739.4, bend radii of harness cable (not polyimide): 6 diameters at the least, 10 for long-term stress.
    assert (BEND_LEAST, BEND_WANTED) == (6, 10)


@pytest.mark.parametrize(
    ("columns", "wire_mm", "wanted", "least"),
    [
        # By hand, a column is 4.2 mm: half the ribbon is (columns - 1) / 2 * 4.2, plus the multiple of the diameter.
        pytest.param(12, 2.3, 47, 37, id="24 positions of 2.3 mm: 23.1 + 23 = 46.1; 23.1 + 13.8 = 36.9"),
        pytest.param(12, 1.7, 41, 34, id="24 positions of 1.7 mm: 23.1 + 17 = 40.1; 23.1 + 10.2 = 33.3"),
        pytest.param(4, 2.3, 30, 21, id="8 positions of 2.3 mm: 6.3 + 23 = 29.3; 6.3 + 13.8 = 20.1"),
        pytest.param(1, 2.0, 20, 12, id="one column of 2 mm: 20 and 12"),
    ],
)
def test_the_smallest_radius_of_an_edgewise_bend_is_that_of_its_innermost_wire(columns, wire_mm, wanted, least):
    places = [((column - (columns - 1) / 2) * 4.2, height) for column in range(columns) for height in (2.1, -2.1)]
    (tight,) = tight_bends([bend("left", 90, 5)], places, wire_mm)
    assert (tight.radius_mm, tight.radius_least_mm) == (wanted, least)
