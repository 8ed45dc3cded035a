"""Sleeve and heat-shrink to what they go over.

Expected values: sums by hand, the shipped tables read by hand, properties of braid, bundle and fit rule.
"""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.domain.materials.sleeves import (
    ShrinkNeed,
    braid_factor,
    bundle_grip_mm,
    bundle_mm,
    girth_diameter_mm,
    jam_mm,
    shrink_cut_mm,
    shrink_fits,
    shrink_for,
    sleeve_cut_mm,
    sleeve_fits,
    sleeve_for,
    sleeved_mm,
)
from server.domain.model.catalogue import Catalogue, Shrink, Sleeve
from tests.domain.scenes import examples

BRAID = Sleeve("t", "braid of a test", 4.0, 30.0, 4.0, 12.0, 0.4, "", "")
NARROW = Sleeve("n", "narrow braid", 4.0, 30.0, 4.5, 6.0, 0.4, "", "")
TUBE = Shrink("t", "tube of a test", 3.18, 1.58, 0.5, 10, 12, "")
diameters = st.lists(st.floats(0.5, 4.0), min_size=1, max_size=40)


# ---- braid ----------------------------------------------------------------------------------------------------------


@examples(100)
@given(st.floats(4.0, 7.9))
def test_an_opened_braid_keeps_the_length_of_its_strands(wire_mm: float) -> None:
    # With n turns a strand obeys length2 + (n pi D)2 = strand2; n follows from the relaxed state, for 1 mm of sleeve.
    turns_mm = math.tan(math.radians(30)) / (math.pi * 4.0)
    strand = math.hypot(1.0, turns_mm * math.pi * 4.0)
    covered = 1.0 / braid_factor(BRAID, wire_mm)
    assert math.hypot(covered, turns_mm * math.pi * wire_mm) == pytest.approx(strand)


@examples(100)
@given(st.floats(0.1, 4.0))
def test_a_braid_that_hangs_loose_is_cut_as_long_as_the_wire(wire_mm: float) -> None:
    assert braid_factor(BRAID, wire_mm) == 1.0


@pytest.mark.parametrize("wire_mm", [8.0, 9.0, 12.5])
def test_a_braid_does_not_open_beyond_its_jam_diameter(wire_mm: float) -> None:
    # By hand: at 30 degrees the strands lie across at 4.0 / sin 30 = 8.0 mm.
    with pytest.raises(ValueError, match="braid of a test"):
        braid_factor(BRAID, wire_mm)


def test_a_braid_does_not_open_beyond_what_its_maker_says() -> None:
    with pytest.raises(ValueError, match=r"narrow braid does not open to 6\.5 mm"):
        braid_factor(NARROW, 6.5)


def test_sleeve_is_cut_longer_than_the_stretch_it_covers() -> None:
    # By hand: on 6 mm sin a1 = 0.75, cos a1 = 0.6614, cos 30 = 0.8660: 100 mm x 1.3093 = 130.93, up to 131.
    assert sleeve_cut_mm(BRAID, 6.0, 100) == 131


def test_what_frays_is_cut_extra_at_both_ends_as_it_lies_relaxed() -> None:
    # By hand: 130.93 + 2 x 5 = 140.93, up to 141; the frayed end never lies on the wire, so the factor leaves it alone.
    assert sleeve_cut_mm(BRAID, 6.0, 100, fray_mm=5) == 141


def test_the_wall_of_the_braid_lies_on_the_wire_all_round() -> None:
    # By hand: 2.1 + 2 x 0.4.
    assert sleeved_mm(BRAID, 2.1) == pytest.approx(2.9)


@pytest.mark.parametrize(
    ("sleeve", "over", "passed", "reason"),
    [
        pytest.param(BRAID, 4.0, 0.0, "", id="grips from 4.0 on"),
        pytest.param(BRAID, 7.9, 0.0, "", id="just below the jam at 8.0"),
        pytest.param(BRAID, 5.0, 7.9, "", id="opens over a plug just below the jam"),
        pytest.param(BRAID, 3.9, 0.0, "hangs loose: it grips from 4 mm up and lies on 3.9 mm", id="too thin"),
        pytest.param(BRAID, 8.0, 0.0, "opens to 8 mm at most and must lie on 8 mm", id="jams at 4.0 / sin 30 = 8.0"),
        pytest.param(BRAID, 5.0, 9.0, "opens to 8 mm at most and must pass over 9 mm", id="jams before the plug"),
        pytest.param(NARROW, 6.0, 6.0, "", id="exactly what its maker says"),
        pytest.param(NARROW, 6.1, 0.0, "opens to 6 mm at most and must lie on 6.1 mm", id="more than its maker says"),
        pytest.param(NARROW, 5.0, 12.732, "opens to 6 mm at most and must pass over 12.73 mm", id="a wide plug"),
        pytest.param(NARROW, 4.2, 0.0, "hangs loose: it grips from 4.5 mm up and lies on 4.2 mm", id="loose by table"),
    ],
)
def test_a_sleeve_fits_where_it_grips_and_opens_far_enough(
    sleeve: Sleeve, over: float, passed: float, reason: str
) -> None:
    assert sleeve_fits(sleeve, over, passed) == reason


@examples(200)
@given(st.sampled_from(["small", "middle", "large", "extra"]), st.floats(0.3, 30.0))
def test_a_sleeve_that_fits_can_be_cut(catalogue: Catalogue, sleeve: str, over: float) -> None:
    found = catalogue.sleeves[sleeve]
    if not sleeve_fits(found, over):
        assert sleeve_cut_mm(found, over, 100) >= 100
    else:
        assert over < found.least_mm or over > found.greatest_mm


@pytest.mark.parametrize(
    ("over", "passed", "expected"),
    [
        # Shipped: small 1.2 to 3.1, middle 2.4 to 6.3, large 5.0 to 16, extra 6.6 to 24.
        pytest.param(1.1, 0.0, None, id="thinner than any grips"),
        pytest.param(2.4, 0.0, "small", id="16 AWG: the smaller of two that fit"),
        pytest.param(3.1, 0.0, "small", id="two thin wires side by side"),
        pytest.param(3.2, 0.0, "middle", id="a hair more"),
        pytest.param(5.6, 0.0, "middle", id="nine front-panel wires"),
        # Flat cable 8 x 2 with round edges: (12 + 2 pi) / pi = 5.82; plug 14 x 6: 40 / pi = 12.73.
        pytest.param(5.82, 12.73, "large", id="a flat data cable, over its plug"),
        # Round cable of 7 mm; plug 26 x 9: 70 / pi = 22.28.
        pytest.param(7.0, 22.28, "extra", id="a round cable, over its wide plug"),
        pytest.param(7.0, 25.0, None, id="a plug wider than any opens"),
    ],
)
def test_the_smallest_sleeve_that_fits_is_taken(
    catalogue: Catalogue, over: float, passed: float, expected: str | None
) -> None:
    found = sleeve_for(catalogue, over, passed)
    assert (found.id if found else None) == expected


@pytest.mark.parametrize("insulation", ["plain", "high_temperature", "clear"])
def test_the_small_sleeve_is_the_one_for_single_wires(catalogue: Catalogue, insulation: str) -> None:
    # Shipped wires are 1.3 to 2.4 mm thick.
    wires = [wire.outside_mm for wire in catalogue.wires.values() if wire.insulation == insulation]
    assert {found.id for over in wires if (found := sleeve_for(catalogue, over))} == {"small"}


def test_a_braid_jams_where_its_strands_lie_across() -> None:
    # By hand: 0.8 / sin 13 = 0.8 / 0.22495.
    assert jam_mm(Sleeve("s", "", 0.8, 13, 1.2, 3.1, 0.4, "", "")) == pytest.approx(3.556, abs=5e-4)


def test_a_flat_cable_counts_by_its_girth() -> None:
    # By hand: 8 x 2 mm with round edges: two flats of 6 and a circle of 2: 12 + 6.283 = 18.283; / 3.14159 = 5.820.
    assert girth_diameter_mm(12 + 2 * math.pi) == pytest.approx(5.820, abs=5e-4)


# ---- bundles --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("wires", "expected"),
    [
        pytest.param([], 0.0, id="nothing has no size"),
        pytest.param([2.1], 2.1, id="one wire is its own circle"),
        pytest.param([2.4, 1.5], 3.9, id="two lie side by side"),
        pytest.param([2.4, 2.4, 1.6], 4.8, id="the third just fills the gap: 2.4 x 2/3 = 1.6"),
        pytest.param([2.4, 2.4, 0.5], 4.8, id="the third lies loose in the gap"),
        # Curvatures 2/d: 1/1.1, 1/1.4, 1/1.5 have a fourth of -1/0.6 (Descartes: 11, 14, 15, -6 in tenths).
        pytest.param([20 / 11, 20 / 14, 20 / 15], 20 / 6, id="three that touch each other"),
        # 6 x (2.4, 2.4, 1.3 four times): equal ones 3.0 x 2.4 = 7.2; area: root of 2 x (11.52 + 6.76) = root of 36.56.
        pytest.param([2.4, 2.4, 1.3, 1.3, 1.3, 1.3], 6.0465, id="few thick among thin: by area"),
        # 4 x: equal ones 2.4143 x 2.1 = 5.070; area: root of 2 x (3 x 4.41 + 3.24) = 5.740.
        pytest.param([2.1, 2.1, 2.1, 1.8], 5.0700, id="nearly equal: as if all were the thickest"),
        # Beyond the table: 37 lie in three hexagons round one: 7 across; 38 by area: root of 76.
        pytest.param([1.0] * 37, 7.0, id="three hexagons round one"),
        pytest.param([1.0] * 38, 8.7178, id="one more than the hexagons hold"),
    ],
)
def test_a_bundle_is_as_wide_as_the_circle_round_it(wires: list[float], expected: float) -> None:
    assert bundle_mm(wires) == pytest.approx(expected, abs=5e-5)


@examples(200)
@given(diameters, st.floats(0.5, 4.0))
def test_one_more_wire_never_makes_a_bundle_thinner(wires: list[float], more: float) -> None:
    assert bundle_mm([*wires, more]) >= bundle_mm(wires) - 1e-9


@examples(200)
@given(diameters)
def test_a_bundle_is_thinner_to_grip_than_to_slide_over_and_never_less_than_its_insulation(wires: list[float]) -> None:
    # The circle round the bundle, its hull, and the area of the wires lie one inside the other.
    solid = math.sqrt(sum(d**2 for d in wires))
    assert solid - 1e-9 <= bundle_grip_mm(wires) <= bundle_mm(wires) + 1e-9


@examples(100)
@given(diameters, st.randoms())
def test_a_bundle_does_not_depend_on_the_order_of_its_wires(wires: list[float], chance: object) -> None:
    shuffled = sorted(wires)
    chance.shuffle(shuffled)  # type: ignore[attr-defined]
    assert (bundle_mm(shuffled), bundle_grip_mm(shuffled)) == pytest.approx((bundle_mm(wires), bundle_grip_mm(wires)))


@pytest.mark.parametrize("measure", [bundle_mm, bundle_grip_mm])
@pytest.mark.parametrize("thick", [0.0, -1.0, math.nan])
def test_a_wire_without_thickness_makes_no_bundle(measure: object, thick: float) -> None:
    with pytest.raises(ValueError, match="more than 0"):
        measure([2.1, thick])  # type: ignore[operator]


# ---- heat-shrink ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("slide", "grip", "reason"),
    [
        pytest.param(2.9, 2.1, "", id="18 AWG sleeved: slides over 2.9, grips 2.1"),
        pytest.param(3.17, 1.59, "", id="a hundredth inside both bores"),
        pytest.param(3.18, 2.1, "is 3.18 mm wide and does not slide over 3.18 mm", id="as wide as the bore"),
        pytest.param(3.2, 2.4, "is 3.18 mm wide and does not slide over 3.2 mm", id="16 AWG sleeved"),
        pytest.param(2.1, 1.58, "shrinks to 1.58 mm and does not grip 1.58 mm", id="as thin as the recovered bore"),
        pytest.param(2.1, 1.3, "shrinks to 1.58 mm and does not grip 1.3 mm", id="22 AWG clear"),
    ],
)
def test_heat_shrink_slides_over_what_is_thinner_and_grips_what_is_thicker(
    slide: float, grip: float, reason: str
) -> None:
    assert shrink_fits(TUBE, ShrinkNeed(slide, grip)) == reason


@pytest.mark.parametrize(
    ("slide", "grip", "expected"),
    [
        # Sleeved in the small sleeve: outside diameter + 2 x 0.4.
        pytest.param(3.2, 2.4, "s3-16", id="16 AWG plain: 4.75 / 2.36, before 4.0 / 1.0 of the higher ratio"),
        pytest.param(2.9, 2.1, "small", id="18 AWG plain: 3.18 / 1.58"),
        pytest.param(2.35, 1.55, "s3-32", id="22 AWG plain: 2.36 / 1.17"),
        pytest.param(3.2, 1.55, "r4-4", id="16 AWG beside a sense wire: no 2:1 size does both"),
        pytest.param(12.73, 5.82, "r4-16", id="a data plug and its flat cable"),
        pytest.param(22.28, 7.0, "r4-24", id="a wide plug and its round cable"),
        pytest.param(6.6, 5.0, "large", id="nine wires in the middle sleeve: 9.53 / 4.75"),
        pytest.param(26.0, 20.0, None, id="wider than any"),
        pytest.param(20.0, 4.0, None, id="no size shrinks that far"),
    ],
)
def test_the_smallest_heat_shrink_of_the_lowest_ratio_that_does_both_is_taken(
    catalogue: Catalogue, slide: float, grip: float, expected: str | None
) -> None:
    found = shrink_for(catalogue, ShrinkNeed(slide, grip))
    assert (found.id if found else None) == expected


@examples(200)
@given(st.floats(0.3, 30.0), st.floats(0.1, 1.0))
def test_heat_shrink_is_found_exactly_where_one_fits(catalogue: Catalogue, slide: float, share: float) -> None:
    need = ShrinkNeed(slide, slide * share)
    fitting = {shrink.id for shrink in catalogue.shrinks.values() if not shrink_fits(shrink, need)}
    found = shrink_for(catalogue, need)
    assert (found.id in fitting) if found else not fitting


def test_every_wire_sold_has_a_tube_for_its_sleeved_end(catalogue: Catalogue) -> None:
    small = catalogue.sleeves["small"]
    needs = {w.id: ShrinkNeed(sleeved_mm(small, w.outside_mm), w.outside_mm) for w in catalogue.wires.values()}
    assert [wire for wire, need in needs.items() if shrink_for(catalogue, need) is None] == []


def test_every_thick_wire_has_a_tube_that_also_holds_its_thin_neighbour(catalogue: Catalogue) -> None:
    # A sense line of 22 AWG shares a run with power wires of 16 AWG.
    small, wires = catalogue.sleeves["small"], catalogue.wires
    pairs = [(wires[f"awg16-{kind}"], wires[f"awg22-{kind}"]) for kind in ("plain", "high_temperature", "clear")]
    needs = [ShrinkNeed(sleeved_mm(small, thick.outside_mm), thin.outside_mm) for thick, thin in pairs]
    assert all(shrink_for(catalogue, need) for need in needs)


@pytest.mark.parametrize("thick", [1.3, 1.35, 1.55])
@pytest.mark.parametrize("count", range(2, 11))
def test_every_front_panel_lead_has_sleeve_and_tube(catalogue: Catalogue, count: int, thick: float) -> None:
    # 22 AWG of every insulation, two to ten wires in one sleeve.
    wires = [thick] * count
    sleeve = sleeve_for(catalogue, bundle_mm(wires))
    assert sleeve is not None
    assert shrink_for(catalogue, ShrinkNeed(sleeved_mm(sleeve, bundle_mm(wires)), bundle_grip_mm(wires))) is not None


def test_every_moulded_cable_has_a_sleeve_and_a_tube_that_pass_its_plug(catalogue: Catalogue) -> None:
    for pinout in (pinout for pinout in catalogue.pinouts.values() if not pinout.rewired):
        cable, plug = girth_diameter_mm(pinout.cable_girth_mm), girth_diameter_mm(pinout.plug_girth_mm)
        sleeve = sleeve_for(catalogue, cable, plug)
        assert sleeve is not None, pinout.id
        assert shrink_for(catalogue, ShrinkNeed(max(plug, sleeved_mm(sleeve, cable)), cable)), pinout.id


@pytest.mark.parametrize(
    ("piece", "shortening", "expected"),
    [
        pytest.param(12, 10, 14, id="12 / 0.9 = 13.33"),
        pytest.param(20, 10, 23, id="20 / 0.9 = 22.22"),
        pytest.param(18, 10, 20, id="18 / 0.9 = 20 exactly"),
        pytest.param(12, 0, 12, id="a tube that keeps its length"),
    ],
)
def test_heat_shrink_is_cut_longer_by_what_it_loses(piece: float, shortening: float, expected: int) -> None:
    assert shrink_cut_mm(Shrink("t", "", 3.18, 1.58, 0.5, shortening, piece, "")) == expected
