"""Legs and bends that are not saved yet: radii left open, and what each bend makes of the outermost wires. By hand."""

import math

import pytest

from server.domain.model.route import RouteStep
from server.domain.plan.drafts import Ribbon, _bend_terms, with_radii

# A ribbon of twelve columns at 4.2 mm in two rows: the outermost wires lie 23.1 mm beside its middle, 2.1 mm over it.
RIBBON = Ribbon(((-23.1, 2.1), (23.1, 2.1), (-23.1, -2.1), (23.1, -2.1)), ("a", "b", "c", "d"), 2.4)
QUARTER = math.pi / 2


@pytest.mark.parametrize(
    ("kind", "radius"),
    # Ten diameters are 24 mm: with the 23.1 mm of an edgewise bend 47.1, with the 2.1 mm of a flat one 26.1.
    [("left", 48.0), ("right", 48.0), ("up", 27.0), ("down", 27.0)],
)
def test_an_open_radius_is_the_smallest_that_keeps_every_wire_at_ten_diameters(kind, radius) -> None:
    (step,) = with_radii([RouteStep(kind, angle_deg=90)], RIBBON)
    assert step == RouteStep(kind, angle_deg=90, radius_mm=radius)


def test_a_radius_that_is_written_stays_however_tight() -> None:
    bend = RouteStep("left", angle_deg=90, radius_mm=5)
    assert with_radii([bend], RIBBON) == (bend,)


def test_a_quarter_twist_makes_a_bend_to_the_side_a_flat_one() -> None:
    _, bend = with_radii([RouteStep("twist", 80, 90), RouteStep("left", angle_deg=90)], RIBBON)
    assert bend.radius_mm == 27.0


def test_a_bend_lengthens_the_outermost_wire_by_its_offset_times_the_turn() -> None:
    (bend,) = _bend_terms([RouteStep("left", angle_deg=90, radius_mm=60)], RIBBON.places)
    assert (bend.lies, bend.outside_mm, bend.inside_mm) == (
        "edgewise",
        pytest.approx(23.1 * QUARTER),
        pytest.approx(-23.1 * QUARTER),
    )


def test_behind_a_quarter_twist_an_upward_bend_is_edgewise() -> None:
    steps = [RouteStep("twist", 80, -90), RouteStep("up", angle_deg=90, radius_mm=60)]
    _, bend = _bend_terms(steps, RIBBON.places)
    assert (bend.step, bend.lies, bend.outside_mm) == (1, "edgewise", pytest.approx(23.1 * QUARTER))


def test_half_a_quarter_twist_leaves_a_bend_aslant() -> None:
    steps = [RouteStep("twist", 80, 45), RouteStep("left", angle_deg=90, radius_mm=60)]
    _, bend = _bend_terms(steps, RIBBON.places)
    assert (bend.lies, bend.outside_mm) == ("aslant", pytest.approx((23.1 + 2.1) * math.sqrt(0.5) * QUARTER))


def test_a_twist_has_a_row_of_its_own() -> None:
    # By hand: 100 mm for a half turn; at 23.1 mm the helix is the root of 100^2 + 72.57^2, 123.56 mm; in the middle
    # nothing is added.
    (twist,) = _bend_terms([RouteStep("twist", 100, 180)], ((23.1, 0.0), (0.0, 0.0)))
    assert (twist.lies, twist.outside_mm, twist.inside_mm) == ("", pytest.approx(23.56, abs=0.005), 0.0)
