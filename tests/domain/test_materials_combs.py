"""Combs to ribbons, caps to plugs. Expected values: the shipped tables read by hand, sums by hand, properties."""

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.domain.materials.combs import Stretch, cap_for, comb_for, comb_places
from server.domain.model.catalogue import Catalogue, CombKind
from server.domain.model.plan import CombPlace
from server.domain.model.route import RouteStep
from server.domain.plan.straight import off_bends
from server.domain.reference import COMBED_USES
from tests.domain.scenes import examples


@pytest.mark.parametrize(
    ("wires", "rows", "kind", "expected"),
    [
        pytest.param(2, 1, "closed", "comb-2", id="two side by side"),
        pytest.param(2, 2, "closed", "comb-4", id="two in two rows: the smallest of two rows has four ways"),
        pytest.param(4, 1, "closed", "comb-4-row", id="four side by side"),
        pytest.param(5, 1, "closed", "comb-5-row", id="five drive wires"),
        pytest.param(7, 1, "closed", "comb-8-row", id="seven side by side take eight ways"),
        pytest.param(4, 2, "closed", "comb-4", id="four in two rows"),
        pytest.param(5, 2, "closed", "comb-6", id="five in two rows"),
        pytest.param(13, 2, "closed", "comb-14", id="thirteen"),
        pytest.param(23, 2, "closed", "comb-24", id="the board's cable with one cavity empty"),
        pytest.param(24, 2, "open", "comb-24-open", id="open, twenty-four"),
        pytest.param(4, 1, "open", "comb-4-row-open", id="open, side by side"),
    ],
)
def test_the_smallest_comb_of_its_kind_and_rows_is_taken(
    catalogue: Catalogue, wires: int, rows: int, kind: CombKind, expected: str
) -> None:
    found = comb_for(catalogue, wires, rows, kind)
    assert found is not None
    assert found.id == expected


@pytest.mark.parametrize("kind", ["closed", "open"])
@pytest.mark.parametrize(("wires", "rows"), [(0, 1), (1, 1), (1, 2), (9, 1), (25, 2), (4, 3)])
def test_no_comb_holds_one_wire_or_more_than_the_largest_of_its_rows(
    catalogue: Catalogue, wires: int, rows: int, kind: CombKind
) -> None:
    assert comb_for(catalogue, wires, rows, kind) is None


def test_a_comb_is_as_wide_as_its_fullest_row(catalogue: Catalogue) -> None:
    # Four wires above and one below: six ways are three columns, too few; eight ways are four.
    found = comb_for(catalogue, 5, 2, "closed", columns=4)
    assert found is not None
    assert found.id == "comb-8"


def test_every_closed_comb_has_an_open_one_of_the_same_shape(catalogue: Catalogue) -> None:
    shapes = {(comb.kind, comb.ways, comb.rows, comb.columns) for comb in catalogue.combs.values()}
    assert {shape[1:] for shape in shapes if shape[0] == "closed"} == {
        shape[1:] for shape in shapes if shape[0] == "open"
    }


@pytest.mark.parametrize("kind", ["closed", "open"])
def test_every_run_that_is_combed_has_its_comb(catalogue: Catalogue, kind: CombKind) -> None:
    housings = [catalogue.housings[p.housing] for p in catalogue.pinouts.values() if p.use in COMBED_USES]
    missing = [
        (housing.id, wires)
        for housing in housings
        for wires in range(2, housing.positions + 1)
        if comb_for(catalogue, wires, housing.rows, kind) is None
    ]
    assert (len(housings) > 0, missing) == (True, [])


@pytest.mark.parametrize(
    ("visible", "expected"),
    [
        pytest.param(270, (45, 135, 225), id="270 visible: 3 shares of 90"),
        pytest.param(300, (50, 150, 250), id="300 visible: 3 shares of 100"),
        pytest.param(300.05, (38, 113, 188, 263), id="a hair more starts a fourth: 4 shares of 75.01"),
        pytest.param(100, (50,), id="100 visible: one in the middle"),
        pytest.param(40, (20,), id="40 visible: one in the middle"),
        pytest.param(39.9, (), id="too short for a comb of its own"),
    ],
)
def test_combs_stand_in_the_middle_of_their_share_of_the_visible_stretch(
    catalogue: Catalogue, visible: float, expected: tuple[int, ...]
) -> None:
    places = comb_places(catalogue, [Stretch(0, visible, 8, 2, 0)], "closed", 100)
    assert tuple(place.at_mm for place in places) == expected


def test_where_wires_have_left_the_ribbon_the_smaller_comb_goes_on(catalogue: Catalogue) -> None:
    # Eight wires from 80 mm to 280 mm: 2 shares of 100; the four that stay together at the second plug's tail of 80 mm.
    stretches = [Stretch(80, 280, 8, 2, 0), Stretch(0, 80, 4, 2, 1)]
    assert comb_places(catalogue, stretches, "closed", 100) == (
        CombPlace("comb-8", 130, 0, 8),
        CombPlace("comb-8", 230, 0, 8),
        CombPlace("comb-4", 40, 1, 4),
    )


def test_open_combs_are_placed_where_open_ones_are_asked_for(catalogue: Catalogue) -> None:
    places = comb_places(catalogue, [Stretch(0, 90, 24, 2, 0)], "open", 100)
    assert places == (CombPlace("comb-24-open", 45, 0, 24),)


@pytest.mark.parametrize("wires", [0, 1, 25])
def test_wires_that_no_comb_holds_get_none(catalogue: Catalogue, wires: int) -> None:
    assert comb_places(catalogue, [Stretch(0, 300, wires, 2, 0)], "closed", 100) == ()


@pytest.mark.parametrize("spacing", [0.0, -100.0])
def test_combs_need_room_between_them(catalogue: Catalogue, spacing: float) -> None:
    with pytest.raises(ValueError, match="more than 0 mm"):
        comb_places(catalogue, [Stretch(0, 300, 8, 2, 0)], "closed", spacing)


@examples(200)
@given(st.floats(0, 500), st.floats(40, 3000), st.floats(20, 300))
def test_combs_stand_inside_their_stretch_and_never_further_apart_than_one_holds(
    catalogue: Catalogue, start: float, length: float, spacing: float
) -> None:
    places = comb_places(catalogue, [Stretch(start, start + length, 8, 2, 0)], "closed", spacing)
    at = [place.at_mm for place in places]
    assert len(at) == max(1, math.ceil(round(length / spacing, 6)))
    # Places are told in whole millimetres.
    assert start - 1 <= at[0] <= at[-1] <= start + length + 1
    assert all(later - earlier <= spacing + 1 for earlier, later in pairwise(at))


@pytest.mark.parametrize("family", ["satad", "p508d"])
def test_the_last_plug_of_a_chain_takes_the_end_cap_and_the_others_through_caps(
    catalogue: Catalogue, family: str
) -> None:
    caps = [cap_for(catalogue, catalogue.families[family], last=last) for last in (False, True)]
    assert [(cap.family, cap.position) if cap else None for cap in caps] == [(family, "through"), (family, "end")]


def test_a_crimped_plug_takes_no_cap(catalogue: Catalogue) -> None:
    assert cap_for(catalogue, catalogue.families["p42"], last=True) is None


# ---- combs and bends ------------------------------------------------------------------------------------------------

TWISTED = (RouteStep("leg", 200), RouteStep("twist", 100, 90), RouteStep("leg", 60))
"""From the part plug: straight to 60 mm, twisted to 160, straight to 360."""


def moved(*at_mm: int, end_mm: float = 300.0, reach_mm: float = 0.0) -> list[int]:
    places = [CombPlace("comb-8", at, 0, 8) for at in at_mm]
    return [place.at_mm for place in off_bends(places, Stretch(0.0, end_mm, 8, 2, 0), TWISTED, reach_mm)]


@pytest.mark.parametrize(
    ("at", "expected"),
    [
        pytest.param((60,), [60], id="at the edge of a twist it stays"),
        pytest.param((100,), [60], id="40 back is nearer than 60 on"),
        pytest.param((120,), [160], id="40 on is nearer than 60 back"),
        pytest.param((50, 100), [50, 160], id="60 is too near to the comb at 50: on to 160"),
        pytest.param((20, 100), [20, 60], id="40 mm apart are enough"),
    ],
)
def test_a_comb_in_a_twist_moves_to_the_nearest_free_straight_place(at: tuple[int, ...], expected: list[int]) -> None:
    assert moved(*at) == expected


def test_a_comb_never_leaves_the_visible_part(catalogue: Catalogue) -> None:
    assert moved(130, end_mm=150.0) == [60]


def test_a_comb_without_a_free_place_is_left_out() -> None:
    # By hand: 60 is taken, 35 is free for the second, 10 for the third, and nothing for the fourth.
    assert moved(60, 80, 100, 120, end_mm=130.0) == [10, 35, 60]


def test_a_plugs_own_reach_lies_before_the_route_and_is_straight() -> None:
    # By hand: 30 mm further out the twist begins at 90 mm.
    assert moved(85, 100, reach_mm=30.0, end_mm=110.0) == [60, 85]
