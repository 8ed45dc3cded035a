"""Wire and braid against what is published. The source stands beside each check."""

import math

import pytest

from server.domain.materials.combs import Stretch, comb_places
from server.domain.materials.contacts import awg_area_mm2
from server.domain.materials.sleeves import braid_factor, jam_mm
from server.domain.model.build import Skill, Spare
from server.domain.model.catalogue import Catalogue, Sleeve
from server.domain.reference import (
    CHAIN_LENGTH_MOST,
    COMB_SPACING_MM,
    COPPER_RESISTIVITY_OHM_MM2_PER_M,
    DEFAULT_AWG_BY_USE,
    NET_COLOURS,
    SPARES,
)
from server.domain.wiring import WIRES_PER_CONTACT
from tests.domain.scenes import shipped_catalogue


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    return shipped_catalogue()


# ASTM B258: d = 0.127 mm x 92^((36 - n) / 39). Copper area of a solid round wire [mm2], worked out from the
# standard; resistance [ohm/km] of two published handbook tables for solid copper at 20 C.
SOLID = {14: (2.081, 8.28), 16: (1.309, 13.17), 18: (0.823, 20.94), 20: (0.518, 33.29), 22: (0.326, 52.94),
         24: (0.205, 84.20), 26: (0.129, 133.86), 28: (0.0810, 212.87)}  # fmt: skip


@pytest.mark.parametrize("awg", SOLID)
def test_a_solid_wires_area_is_the_standards(awg: int) -> None:
    # Printed to three decimals (28 AWG to four).
    assert awg_area_mm2(awg) == pytest.approx(SOLID[awg][0], abs=5.1e-4)


@pytest.mark.parametrize("awg", SOLID)
def test_copper_of_that_area_has_the_handbooks_resistance(awg: int) -> None:
    # Handbook tables and IEC 60028 agree to within a part in a thousand.
    ohm_per_km = COPPER_RESISTIVITY_OHM_MM2_PER_M / awg_area_mm2(awg) * 1000
    assert ohm_per_km == pytest.approx(SOLID[awg][1], rel=1.2e-3)


def test_annealed_copper_conducts_58_megasiemens_per_metre() -> None:
    # IEC 60028: 0.017241 ohm mm2/m at 20 C is 1/58.
    assert pytest.approx(1 / COPPER_RESISTIVITY_OHM_MM2_PER_M, rel=1e-4) == 58


@pytest.mark.parametrize(("awg", "diameter_in"), [(36, 0.005), (0, 0.3249)])
def test_the_gauge_scale_has_its_fixed_points(awg: int, diameter_in: float) -> None:
    # ASTM B258: AWG 36 is 0.005 in exactly; AWG 0 is 0.3249 in as printed in its table.
    area = math.pi * (diameter_in * 25.4) ** 2 / 4
    assert awg_area_mm2(awg) == pytest.approx(area, rel=3e-4)


@pytest.mark.parametrize("awg", range(0, 38, 3))
def test_the_area_halves_with_every_three_gauges(awg: int) -> None:
    # ASTM B258: 92^(6/39) = 2.005 in area for three steps.
    assert awg_area_mm2(awg) / awg_area_mm2(awg + 3) == pytest.approx(92 ** (6 / 39))


@pytest.mark.parametrize("awg", [-1, 41])
def test_a_gauge_outside_the_scale_is_refused(awg: int) -> None:
    # The planner states 0 to 40 as its range.
    with pytest.raises(ValueError, match="AWG"):
        awg_area_mm2(awg)


# Biaxial braid of inextensible strands, L = b cos(theta), D = b sin(theta) / (n pi) (Chou and Hannaford, 1996, from
# memory); the numbers are worked out from it by hand: from 4.0 mm at 30 degrees, length ratio L2 / L1.
BRAID = Sleeve("t", "braid of the check", 4.0, 30.0, 4.0, 20.0, 0.4, "", "")


@pytest.mark.parametrize(("opened_mm", "ratio"), [(4.0, 1.0), (5.0, 0.9014), (6.0, 0.7638), (7.0, 0.5590)])
def test_an_opened_braid_shortens_as_its_strands_tilt(opened_mm: float, ratio: float) -> None:
    assert 1 / braid_factor(BRAID, opened_mm) == pytest.approx(ratio, abs=5e-5)


def test_a_braid_jams_where_its_strands_lie_across() -> None:
    # Same source: 4.0 mm / sin 30 degrees = 8 mm, length 0.
    with pytest.raises(ValueError, match="does not open"):
        braid_factor(BRAID, 8.0)


# b = 120 mm, n = 3 turns: L and D by angle, worked out from the same relation; the steepest is the neutral angle.
STATES = {20: (112.763, 4.355), 30: (103.923, 6.366), 45: (84.853, 9.003), 54.7356: (69.282, 10.396),
          60: (60.000, 11.027)}  # fmt: skip


@pytest.mark.parametrize("opened", [30, 45, 54.7356, 60])
def test_two_states_of_one_braid_agree_with_the_table(opened: float) -> None:
    (length, diameter), (opened_length, opened_diameter) = STATES[20], STATES[opened]
    braid = Sleeve("t", "b", diameter, 20.0, diameter, 12.0, 0.4, "", "")
    assert braid_factor(braid, opened_diameter) == pytest.approx(length / opened_length, rel=1e-3)


@pytest.mark.parametrize("angle", STATES)
def test_every_state_of_one_braid_jams_at_the_same_diameter(angle: float) -> None:
    # Same table: D_max = b / (n pi) = 120 / (3 pi) = 12.732 mm.
    braid = Sleeve("t", "b", STATES[angle][1], angle, STATES[angle][1], 12.0, 0.4, "", "")
    assert jam_mm(braid) == pytest.approx(12.732, abs=2e-3)


def test_one_comb_holds_a_hundred_millimetres_of_the_visible_half(catalogue: Catalogue) -> None:
    # Common practice: half of 800 mm is visible, one comb per 100 mm of it.
    places = comb_places(catalogue, [Stretch(0, 400, 24, 2, 0)], "closed", COMB_SPACING_MM)
    assert (COMB_SPACING_MM, len(places)) == (100.0, 4)


@pytest.mark.parametrize("skill", ["first_cables", "practised", "every_day"])
def test_two_combs_are_bought_beyond_the_count_of_a_run(skill: Skill) -> None:
    # Common practice.
    assert SPARES[skill]["combs"] == Spare(0, 2)


def test_a_braid_opens_to_four_times_its_size(catalogue: Catalogue) -> None:
    # Common practice: about four times.
    assert all(3.5 <= sleeve.greatest_mm / sleeve.relaxed_mm <= 4.5 for sleeve in catalogue.sleeves.values())


def test_no_contact_takes_more_than_two_wires() -> None:
    # Common practice.
    assert WIRES_PER_CONTACT == 2


def test_four_drives_share_a_chain() -> None:
    # Common practice.
    assert CHAIN_LENGTH_MOST == 4


@pytest.mark.parametrize("use", ["main", "cpu", "graphics", "drive"])
def test_supply_cables_are_at_least_as_thick_as_the_design_guide_says(use: str) -> None:
    # Desktop supply design guide: 18 AWG for the main, CPU, graphics and drive cables.
    assert DEFAULT_AWG_BY_USE[use] <= 18  # type: ignore[index]


def test_the_600_w_cable_is_16_awg() -> None:
    # Desktop supply design guide 336521, table 5-7: 16 AWG for all twelve power wires of 12+4.
    assert DEFAULT_AWG_BY_USE["graphics"] == 16


@pytest.mark.parametrize(
    ("net", "colour"),
    [("+12V", "YE"), ("+5V", "RD"), ("+3.3V", "OG"), ("-12V", "BU"), ("+5VSB", "VT"), ("COM", "BK"),
     ("PS_ON#", "GN"), ("PWR_OK", "GY"), ("+3.3V_SENSE", "BN")],
)  # fmt: skip
def test_a_net_has_the_colour_that_the_design_guide_recommends(net: str, colour: str) -> None:
    # ATX12V power supply design guide 2.x, main power connector: recommended colours; IEC 60757 codes.
    assert NET_COLOURS[net] == colour


@pytest.mark.parametrize(("net", "colour"), [("TACH", "GN"), ("PWM", "BU")])
def test_a_fans_signal_wires_have_the_colours_of_its_specification(net: str, colour: str) -> None:
    # 4-wire PWM fan specification 1.3: tach green, PWM blue.
    assert NET_COLOURS[net] == colour
