"""Lengths along a route. Expected values: sums by hand, theta in radians; properties of rounding up and of turning."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.domain.lengths import (
    MM_PER_INCH,
    Reach,
    bend_terms_mm,
    chain_route_mm,
    cut_lengths_mm,
    edgewise_bend_term_mm,
    flat_bend_term_mm,
    middle_mm,
    reach,
    tight_bends,
    twist_term_mm,
)
from server.domain.model.build import Route
from server.domain.model.route import RouteStep
from tests.domain.scenes import examples

EDGES = ((-23.1, 0.0), (0.0, 0.0), (23.1, 0.0))
"""Left edge, middle and right edge of a ribbon of twelve columns at 4.2 mm: (11 - 11/2) * 4.2 = 23.1."""
BAD = (math.nan, math.inf, -math.inf)


def leg(length: float) -> RouteStep:
    return RouteStep("leg", length)


def bend(kind: str, angle: float = 90.0, radius: float = 60.0) -> RouteStep:
    return RouteStep(kind, angle_deg=angle, radius_mm=radius)  # type: ignore[arg-type]


def twist(angle: float, length: float = 100.0) -> RouteStep:
    return RouteStep("twist", length, angle)


finite = st.floats(0, 500).map(lambda v: round(v, 2))
turns = st.floats(0, 360).map(lambda v: round(v, 1))
bends = st.builds(bend, st.sampled_from(("left", "right", "up", "down")), turns, finite)
steps = st.lists(st.one_of(st.builds(leg, finite), bends, st.builds(twist, st.floats(-720, 720), finite)), max_size=8)
places = st.tuples(st.floats(-30, 30), st.floats(-6, 6))
needs = st.lists(st.floats(0, 3000).map(lambda v: round(v, 3)), max_size=12)
cutting_steps = st.sampled_from((0.5, 1.0, 2.0, 5.0, 10.0, 25.0))


def test_the_outer_wire_of_twelve_columns_is_36_29_mm_longer_round_a_corner() -> None:
    # By hand: 23.1 * pi / 2 = 36.285.
    assert round(edgewise_bend_term_mm(offset_mm=23.1, turn_deg=90), 2) == 36.29


def test_the_inner_wire_is_shorter_by_as_much_as_the_outer_is_longer() -> None:
    assert edgewise_bend_term_mm(-23.1, 90) == -edgewise_bend_term_mm(23.1, 90)


def test_the_outer_row_of_two_is_6_6_mm_longer_where_the_ribbon_turns_back_over_its_face() -> None:
    # By hand: 2.1 * pi = 6.597.
    assert flat_bend_term_mm(height_mm=2.1, turn_deg=180) == pytest.approx(6.597, abs=0.0005)


@pytest.mark.parametrize("turn", [-0.1, 360.1, *BAD])
def test_a_bend_outside_its_range_is_refused(turn: float) -> None:
    with pytest.raises(ValueError, match=r"degrees|finite"):
        edgewise_bend_term_mm(10, turn)


@pytest.mark.parametrize("offset", BAD)
def test_an_offset_that_is_no_number_is_refused(offset: float) -> None:
    with pytest.raises(ValueError, match="finite"):
        flat_bend_term_mm(offset, 90)


def test_a_twisted_wire_is_as_long_as_the_hypotenuse_of_its_unrolled_turn() -> None:
    # By hand, a 3-4-5 triangle: one radian-sized turn of 300 mm round over 400 mm is 500 mm, 100 mm more.
    assert twist_term_mm(distance_mm=300, turn_deg=math.degrees(1), length_mm=400) == pytest.approx(100)


def test_a_twist_is_as_long_either_way_round() -> None:
    assert twist_term_mm(23.1, -180, 100) == twist_term_mm(23.1, 180, 100)


@pytest.mark.parametrize("values", [(-1, 90, 100), (1, 90, -100), (math.nan, 90, 100), (1, math.inf, 100)])
def test_a_twist_without_meaning_is_refused(values: tuple[float, float, float]) -> None:
    with pytest.raises(ValueError, match=r"negative|finite"):
        twist_term_mm(*values)


def test_the_middle_is_legs_arcs_and_twists_together() -> None:
    # By hand: 200 + 60 * pi/2 + 80 + 40 * pi/4 = 280 + 94.248 + 31.416.
    way = (leg(200), bend("left", 90, 60), twist(180, 80), bend("up", 45, 40))
    assert middle_mm(way) == pytest.approx(405.664, abs=0.001)


def test_a_route_of_no_steps_has_no_length() -> None:
    assert middle_mm(()) == 0


@pytest.mark.parametrize(
    "step",
    [
        RouteStep("leg", -1), RouteStep("leg", math.nan), RouteStep("leg", 10, 5), RouteStep("leg", 10, 0, 5),
        bend("left", -1), bend("left", 361), bend("left", math.nan), bend("up", 90, -1), bend("up", 90, math.inf),
        RouteStep("right", 10, 90, 60), twist(math.nan), twist(90, -1), RouteStep("twist", 10, 90, 5),
    ],
    ids=str,
)  # fmt: skip
@pytest.mark.parametrize("act", [middle_mm, lambda s: bend_terms_mm(s, EDGES), lambda s: tight_bends(s, EDGES, 2)])
def test_a_step_without_meaning_is_refused(step, act) -> None:
    with pytest.raises(ValueError, match=r"degrees|finite|negative|radius|length"):
        act((step,))


@pytest.mark.parametrize(
    ("kind", "place", "sign"),
    [
        pytest.param("left", (10, 0), 1, id="left bend, wire on the right: outside"),
        pytest.param("left", (-10, 0), -1, id="left bend, wire on the left: inside"),
        pytest.param("right", (10, 0), -1, id="right bend, wire on the right: inside"),
        pytest.param("right", (-10, 0), 1, id="right bend, wire on the left: outside"),
        pytest.param("up", (0, 10), -1, id="up, upper wire: inside"),
        pytest.param("up", (0, -10), 1, id="up, lower wire: outside"),
        pytest.param("down", (0, 10), 1, id="down, upper wire: outside"),
        pytest.param("down", (0, -10), -1, id="down, lower wire: inside"),
    ],
)
def test_wires_on_the_outside_of_a_bend_are_longer(kind: str, place: tuple[float, float], sign: int) -> None:
    # By hand: 10 * pi / 2 = 15.708 either way.
    assert bend_terms_mm((bend(kind),), (place,)) == pytest.approx((sign * 15.708,), abs=0.0005)


def test_the_side_of_an_edgewise_bend_does_not_matter_to_the_rows() -> None:
    assert bend_terms_mm((bend("left"),), ((0, 2.1), (0, -2.1))) == (0, 0)


def test_the_radius_of_a_bend_does_not_matter() -> None:
    assert bend_terms_mm((bend("left", 90, 30),), EDGES) == bend_terms_mm((bend("left", 90, 300),), EDGES)


def test_opposite_bends_cancel() -> None:
    way = (leg(100), bend("left", 37), leg(50), bend("up", 20), bend("right", 37), bend("down", 20))
    assert bend_terms_mm(way, ((23.1, 2.1), (-23.1, -2.1))) == (0, 0)


def test_half_a_twist_exchanges_the_sides_so_that_two_left_bends_cancel() -> None:
    plain = bend_terms_mm((bend("left"), bend("left")), EDGES)
    turned = bend_terms_mm((bend("left"), twist(180), bend("left")), EDGES)
    # By hand: 2 * 23.1 * pi/2 = 72.57 without; with it only the helix, hypot(100, 23.1 * pi) - 100 = 23.56, is left.
    assert plain == pytest.approx((-72.571, 0, 72.571), abs=0.001)
    assert turned == pytest.approx((23.557, 0, 23.557), abs=0.001)


def test_a_quarter_twist_turns_an_edgewise_bend_into_a_flat_one() -> None:
    # By hand: the right edge goes down in a clockwise quarter; bending up makes it longer, by 23.1 * pi/2 = 36.285,
    # and the helix, hypot(100, 36.285) - 100 = 6.380, makes both edges longer.
    terms = bend_terms_mm((twist(90), bend("up")), EDGES)
    assert terms == pytest.approx((6.380 - 36.285, 0, 6.380 + 36.285), abs=0.001)


def test_after_a_quarter_twist_a_bend_to_the_side_leaves_a_single_row_alike() -> None:
    left, middle, right = bend_terms_mm((twist(-90), bend("left")), EDGES)
    assert left == right
    assert middle == 0


def test_an_eighth_of_a_turn_counts_an_edge_by_the_root_of_a_half() -> None:
    # By hand: x = 10 cos 45 = 7.0711, times pi/2 = 11.107; helix hypot(100, 10 pi/4) - 100 = 0.308.
    assert bend_terms_mm((twist(45), bend("left")), ((10, 0),)) == pytest.approx((11.415,), abs=0.001)


def test_a_twist_that_is_taken_back_leaves_only_its_helix() -> None:
    there = bend_terms_mm((twist(70), twist(-70), bend("left")), EDGES)
    straight = bend_terms_mm((bend("left"),), EDGES)
    helix = 2 * twist_term_mm(23.1, 70, 100)
    assert there == pytest.approx(
        [term + helix * (place != 0) for term, (place, _) in zip(straight, EDGES, strict=True)]
    )


def test_a_wire_in_the_middle_is_as_long_as_the_middle_whatever_the_route() -> None:
    assert bend_terms_mm((bend("left"), twist(130), bend("up", 77), bend("right", 12)), ((0, 0),)) == (0,)


@examples(60)
@given(steps, places)
def test_a_route_seen_in_a_mirror_keeps_every_length(way: list[RouteStep], place: tuple[float, float]) -> None:
    # Property: left and right, both ways of a twist, and the two sides of the ribbon are alike.
    other = {"left": "right", "right": "left"}
    mirrored = [replace(s, kind=other.get(s.kind, s.kind), angle_deg=-s.angle_deg if s.kind == "twist" else s.angle_deg)
                for s in way]  # fmt: skip
    seen = bend_terms_mm(mirrored, [(-place[0], place[1])])
    assert seen == pytest.approx(bend_terms_mm(way, [place]), abs=1e-6)


@examples(60)
@given(st.lists(bends, max_size=8), places)
def test_without_a_twist_two_opposite_wires_are_as_long_as_the_middle_twice(
    way: list[RouteStep], place: tuple[float, float]
) -> None:
    one, other = bend_terms_mm(way, [place, (-place[0], -place[1])])
    assert one + other == pytest.approx(0, abs=1e-9)


@examples(60)
@given(steps, steps, places)
def test_without_a_twist_the_terms_of_two_routes_add_up(
    first: list[RouteStep], then: list[RouteStep], place: tuple[float, float]
) -> None:
    first = [step for step in first if step.kind != "twist"]
    joined = bend_terms_mm([*first, *then], [place])[0]
    assert joined == pytest.approx(bend_terms_mm(first, [place])[0] + bend_terms_mm(then, [place])[0], abs=1e-6)


def test_a_place_that_is_no_number_is_refused() -> None:
    with pytest.raises(ValueError, match="finite"):
        bend_terms_mm((bend("left"),), ((math.nan, 0),))


def test_the_innermost_wire_of_an_edgewise_bend_is_half_a_ribbon_nearer_its_middle() -> None:
    (tight,) = tight_bends((leg(100), bend("right", 90, 40)), EDGES, wire_mm=2.3)
    # By hand: 40 - 23.1 = 16.9; 6 * 2.3 = 13.8; 10 * 2.3 = 23; 23 + 23.1 = 46.1, so 47; 13.8 + 23.1 = 36.9, so 37.
    assert (tight.step, tight.kind) == (1, "right")
    assert (tight.inner_mm, tight.least_mm, tight.wanted_mm) == pytest.approx((16.9, 13.8, 23.0))
    assert (tight.radius_mm, tight.radius_least_mm) == (47, 37)


def test_in_a_flat_bend_only_the_inner_row_is_nearer() -> None:
    (tight,) = tight_bends((bend("up", 90, 20),), ((-23.1, 2.1), (23.1, -2.1)), wire_mm=2.0)
    # By hand: 20 - 2.1 = 17.9 is under 10 * 2; 22.1 would do, so 23; 12 + 2.1 = 14.1, so 15.
    assert (tight.inner_mm, tight.radius_mm, tight.radius_least_mm) == (17.9, 23, 15)


@pytest.mark.parametrize(("radius", "tight"), [(43.1, False), (43.09, True)])
def test_ten_diameters_at_the_innermost_wire_are_enough(radius: float, tight: bool) -> None:
    # By hand: 43.1 - 23.1 = 20 = 10 * 2.
    assert bool(tight_bends((bend("left", 90, radius),), EDGES, wire_mm=2.0)) is tight


def test_the_radius_that_is_named_is_enough() -> None:
    (tight,) = tight_bends((bend("left", 90, 1),), EDGES, wire_mm=1.7)
    assert tight_bends((bend("left", 90, tight.radius_mm),), EDGES, wire_mm=1.7) == ()
    assert tight_bends((bend("left", 90, tight.radius_mm - 1),), EDGES, wire_mm=1.7)


def test_a_ribbon_that_would_fold_has_a_negative_inner_radius() -> None:
    assert tight_bends((bend("left", 90, 10),), EDGES, wire_mm=2.0)[0].inner_mm == pytest.approx(-13.1)


def test_a_quarter_twist_before_a_bend_makes_it_a_flat_one_for_its_radius_too() -> None:
    # By hand: edgewise 30 - 23.1 = 6.9 is too tight for wire of 2 mm; over its face the same bend keeps 30.
    assert tight_bends((twist(90), bend("left", 90, 30)), EDGES, wire_mm=2.0) == ()
    assert len(tight_bends((bend("left", 90, 30),), EDGES, wire_mm=2.0)) == 1


def test_half_a_twist_brings_the_other_edge_to_the_inside() -> None:
    uneven = ((-5.0, 0.0), (20.0, 0.0))
    (tight,) = tight_bends((twist(180), bend("left", 90, 25)), uneven, wire_mm=2.0)
    assert tight.inner_mm == 5


def test_a_route_without_wires_has_no_tight_bend() -> None:
    assert tight_bends((bend("left", 90, 0),), (), wire_mm=2.0) == ()


@pytest.mark.parametrize("diameter", [0, -1, *BAD])
def test_a_wire_without_a_diameter_is_refused(diameter: float) -> None:
    with pytest.raises(ValueError, match=r"diameter|finite"):
        tight_bends((bend("left"),), EDGES, diameter)


@examples(60)
@given(steps, st.lists(places, min_size=1, max_size=6))
def test_no_wire_lies_nearer_to_the_inside_than_the_innermost(
    way: list[RouteStep], ribbon: list[tuple[float, float]]
) -> None:
    # Property: the radius of the ribbon is the smallest of its wires', each taken alone.
    whole = {tight.step: tight.inner_mm for tight in tight_bends(way, ribbon, wire_mm=1000)}
    alone = [{t.step: t.inner_mm for t in tight_bends(way, [place], wire_mm=1000)} for place in ribbon]
    assert whole == {step: min(one[step] for one in alone) for step in whole}


@pytest.mark.parametrize(
    ("needed", "step", "expected"),
    [
        pytest.param([568], 5, (570,), id="568 up to 570"),
        pytest.param([510], 5, (510,), id="a whole number of steps stays"),
        pytest.param([510.001], 5, (515,), id="a hair more costs the next step"),
        pytest.param([326], 1, (326,), id="whole millimetres"),
        pytest.param([326], 25, (350,), id="326 up to 350"),
        pytest.param([0], 5, (0,), id="nothing is nothing"),
        pytest.param([], 5, (), id="no wires"),
        pytest.param([564.5, 568, 561], 5, (570, 570, 565), id="568 takes 564.5 along; 561 is 7 shorter"),
        pytest.param([566, 564], 5, (570, 570), id="alike, though they lie on two sides of a step"),
        pytest.param([570, 565], 5, (570, 565), id="a whole step apart is not alike"),
        pytest.param([568, 564, 560, 556], 5, (570, 570, 560, 560), id="a group is told by its longest"),
    ],
)
def test_wires_that_differ_by_less_than_a_step_are_cut_alike(
    needed: list[float], step: float, expected: tuple[int, ...]
) -> None:
    assert cut_lengths_mm(needed, step) == expected


def test_binary_fractions_do_not_cost_another_step() -> None:
    # 0.1 + 0.2 is a hair more than 0.3 in binary; 300.3 mm is 3003 steps of 0.1 mm, cut at the whole mm above it.
    assert cut_lengths_mm([300 + (0.1 + 0.2)], 0.1) == (301,)


@examples(150)
@given(needs, cutting_steps)
def test_no_wire_is_cut_shorter_than_it_needs(needed: list[float], step: float) -> None:
    assert all(cut >= need for cut, need in zip(cut_lengths_mm(needed, step), needed, strict=True))


@examples(150)
@given(needs, cutting_steps)
def test_no_wire_is_cut_two_steps_too_long(needed: list[float], step: float) -> None:
    # A step of half a millimetre is rounded up to whole millimetres besides.
    slack = 2 * step + (1 if step < 1 else 0)
    assert all(cut < need + slack for cut, need in zip(cut_lengths_mm(needed, step), needed, strict=True))


@examples(150)
@given(needs, cutting_steps)
def test_two_lengths_that_are_cut_differ_by_whole_steps(needed: list[float], step: float) -> None:
    cuts = sorted(set(cut_lengths_mm(needed, step)))
    assert all(cut % step == 0 for cut in cuts)


@examples(150)
@given(needs, cutting_steps)
def test_a_longer_wire_is_never_cut_shorter(needed: list[float], step: float) -> None:
    by_need = sorted(zip(needed, cut_lengths_mm(needed, step), strict=True))
    assert [cut for _, cut in by_need] == sorted(cut for _, cut in by_need)


@examples(60)
@given(needs, cutting_steps, st.randoms())
def test_the_order_of_the_wires_does_not_matter(needed: list[float], step: float, rng) -> None:
    dealt = rng.sample(needed, len(needed))
    before = dict(zip(needed, cut_lengths_mm(needed, step), strict=True))
    assert dict(zip(dealt, cut_lengths_mm(dealt, step), strict=True)) == before


@pytest.mark.parametrize("step", [0, -5, *BAD])
def test_a_step_that_is_not_more_than_zero_is_refused(step: float) -> None:
    with pytest.raises(ValueError, match=r"step|finite"):
        cut_lengths_mm([300], step)


@pytest.mark.parametrize("length", [-1, *BAD])
def test_a_length_that_is_none_is_refused(length: float) -> None:
    with pytest.raises(ValueError, match=r"negative|finite"):
        cut_lengths_mm([300, length], 5)


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


STEPS = (leg(300), twist(180, 80), leg(20))


@pytest.mark.parametrize(
    ("route", "segments", "expected"),
    [
        pytest.param(Route(length_mm=400), 0, Reach("measured", 400, 400, 400), id="length"),
        pytest.param(Route(steps=STEPS), 0, Reach("measured", 400, 400, 400), id="legs and bends are measured"),
        pytest.param(Route(low_mm=300, high_mm=420), 0, Reach("range", 300, 360, 420), id="range: likely its middle"),
        pytest.param(Route(low_mm=300, likely_mm=400, high_mm=420), 0, Reach("range", 300, 400, 420), id="likely"),
        pytest.param(Route(length_mm=450, low_mm=300, high_mm=420), 0, Reach("measured", 450, 450, 450), id="both"),
        pytest.param(Route(), 0, Reach("unmeasured", 0, 0, 0), id="nothing"),
        pytest.param(Route(low_mm=300), 0, Reach("unmeasured", 0, 0, 0), id="half a range"),
        pytest.param(Route(length_mm=400, spacing_mm=(90,)), 1, Reach("measured", 400, 400, 400), id="all known"),
        pytest.param(Route(length_mm=400), 1, Reach("unmeasured", 0, 0, 0), id="chain, spacing missing"),
        pytest.param(Route(steps=STEPS), 1, Reach("unmeasured", 0, 0, 0), id="chain of legs, spacing missing"),
        pytest.param(Route(low_mm=3, high_mm=4, spacing_mm=(90,)), 2, Reach("unmeasured", 0, 0, 0), id="one missing"),
    ],
)  # fmt: skip
def test_a_route_is_as_known_as_its_least_known_stretch(route: Route, segments: int, expected: Reach) -> None:
    assert reach(route, segments=segments) == expected


def test_an_inch_is_25_4_mm() -> None:
    # International yard and pound agreement, 1959: exact.
    assert MM_PER_INCH == 25.4
