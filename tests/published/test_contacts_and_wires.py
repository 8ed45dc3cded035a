"""Contacts, crimps and wire against published values. The source stands beside each check."""

from math import pi
from pathlib import Path

import pytest

from server.domain.materials.contacts import awg_area_mm2, crimp_of, fitting_contact, insulation_fits
from server.store.catalogue_memory import catalogue_from_files

SHIPPED = Path(__file__).parents[2] / "seed_data" / "catalogue"


@pytest.fixture(scope="module")
def catalogue():
    return catalogue_from_files(SHIPPED)


# Diameter and copper of solid wire as tabulated from ASTM B258; 22 AWG is 0.6438 mm, where tables that round the inch
# first print 0.6452. [mm, mm2]
ASTM_B258 = {
    14: (1.6277, 2.081), 16: (1.2908, 1.309), 18: (1.0237, 0.823), 20: (0.8118, 0.518),
    22: (0.6438, 0.326), 24: (0.5106, 0.205), 26: (0.4049, 0.129), 28: (0.3211, 0.0810),
}  # fmt: skip


@pytest.mark.parametrize(("awg", "expected"), [(awg, area) for awg, (_, area) in ASTM_B258.items()])
def test_copper_follows_the_gauge(awg, expected):
    assert awg_area_mm2(awg) == pytest.approx(expected, abs=6e-4)


@pytest.mark.parametrize(("awg", "expected"), [(awg, diameter) for awg, (diameter, _) in ASTM_B258.items()])
def test_the_copper_is_that_of_the_tabulated_diameter(awg, expected):
    assert (awg_area_mm2(awg) * 4 / pi) ** 0.5 == pytest.approx(expected, abs=6e-5)


@pytest.mark.parametrize(("awg", "inches"), [(36, 0.005)])
def test_the_gauge_meets_the_standards_fixed_point(awg, inches):
    # ASTM B258: AWG 36 is 0.005 in.
    assert awg_area_mm2(awg) == pytest.approx(pi / 4 * (inches * 25.4) ** 2)


def test_six_gauges_halve_the_diameter():
    # ASTM B258: 39 steps of equal ratio to 92 times the diameter, so six steps are 92^(6/39) = 2.005.
    assert (awg_area_mm2(16) / awg_area_mm2(22)) ** 0.5 == pytest.approx(2.005, abs=5e-4)


# Stranded hook-up wire, 105 C, 600 V style: strands, strand diameter and greatest resistance at 20 C (lead table of a
# bench-supply manual). [1, mm, ohm/km]
STRANDS = {16: (26, 0.254, 15.6), 18: (34, 0.18, 24.4), 20: (21, 0.18, 39.5), 22: (17, 0.16, 62.5)}


def test_wire_has_the_copper_of_its_strands(catalogue):
    for wire in catalogue.wires.values():
        strands, diameter, _ = STRANDS[wire.awg]
        assert wire.conductor_mm2 == pytest.approx(strands * pi / 4 * diameter**2, abs=0.006), wire.id


def test_resistance_stays_within_the_greatest_values_of_the_table(catalogue):
    for wire in catalogue.wires.values():
        assert wire.ohm_per_km <= STRANDS[wire.awg][2], wire.id


def test_resistance_is_above_that_of_the_strands_in_pure_copper(catalogue):
    # IEC 60028: 0.017241 ohm mm2/m at 20 C, the floor for annealed copper.
    for wire in catalogue.wires.values():
        assert wire.ohm_per_km > 17.241 / wire.conductor_mm2, wire.id


@pytest.mark.parametrize(
    ("contact", "thickest", "thinnest", "least_mm", "greatest_mm"),
    [
        # from memory: 4.2 mm contacts, 18 to 24 AWG with insulation of 1.3 to 3.1 mm; 16 AWG to 3.1 mm.
        ("p42-socket-18", 18, 24, 1.3, 3.1),
        ("p42-pin-18", 18, 24, 1.3, 3.1),
        ("p42-socket-16", 16, 16, 1.5, 3.1),
        # Agency data of one 2.54 mm contact: 22 to 30 AWG, insulation to 1.57 mm; the least diameter from memory.
        ("h254-socket", 22, 30, 0.9, 1.57),
        # from memory: peripheral contacts for 14 to 20 AWG, insulation to about 3.3 mm.
        ("p508-socket", 14, 20, 1.5, 3.3),
        # from memory: insulation displacement takes 18 AWG with 2.0 to 2.5 mm insulation only.
        ("satad-blade", 18, 18, 2.0, 2.5),
        ("p508d-blade", 18, 18, 2.0, 2.5),
    ],
)
def test_a_contact_takes_conductor_and_insulation_as_stated(
    catalogue, *, contact, thickest, thinnest, least_mm, greatest_mm
):
    found = catalogue.contacts[contact]

    assert (found.awg_thickest, found.awg_thinnest) == (thickest, thinnest)
    assert (found.insulation_min_mm, found.insulation_max_mm) == (least_mm, greatest_mm)


def test_the_4_2_mm_contacts_are_stripped_3_to_3_6_mm(catalogue):
    # from memory: about 3.0 to 3.6 mm.
    strips = [crimp.strip_mm for crimp in catalogue.crimps if crimp.contact.startswith("p42-")]

    assert strips
    assert all(3.0 <= strip <= 3.6 for strip in strips)


def test_the_12_plus_4_plug_takes_16_awg_power_wires_and_nothing_thinner(catalogue):
    # Design guide 336521 rev 2.01, table 5-7: all twelve power wires 16 AWG.
    housing = catalogue.housings["p30-16-plug"]

    taken = [awg for awg in (16, 18, 20, 22) if fitting_contact(catalogue, housing, awg=awg, signal=False)]

    assert taken == [16]


def test_the_sideband_contact_takes_the_28_awg_of_the_design_guide(catalogue):
    # Design guide 336521 rev 2.01, table 5-7: sideband 28 AWG.
    assert fitting_contact(catalogue, catalogue.housings["p30-16-plug"], awg=28, signal=True) is not None


@pytest.mark.parametrize("housing", ["p508d-4-right", "satad-right", "satad-straight"])
def test_16_awg_goes_into_no_displacement_plug(catalogue, housing):
    # from memory: these plugs take 18 AWG only.
    assert fitting_contact(catalogue, catalogue.housings[housing], awg=16, signal=False) is None


@pytest.mark.parametrize("contact", ["p508d-blade", "satad-blade"])
def test_16_awg_has_no_press_setting_for_a_blade(catalogue, contact):
    # from memory: these plugs take 18 AWG only.
    assert crimp_of(catalogue, contact, 16) is None


def test_nothing_is_stripped_for_insulation_displacement(catalogue):
    # The slot cuts through the insulation: that is what insulation displacement means (IEC 60352-4).
    strips = {
        crimp.contact: crimp.strip_mm
        for crimp in catalogue.crimps
        if catalogue.families[catalogue.contacts[crimp.contact].family].termination == "displacement"
    }

    assert strips == {"p508d-blade": 0, "satad-blade": 0}


@pytest.mark.parametrize(
    ("contact", "awg", "insulation", "expected"),
    [
        # 4.2 mm contact, 1.3 to 3.1 mm (from memory); 22 AWG clear is 1.3 mm thick, just the least.
        ("p42-socket-18", 22, "clear", True),
        # Displacement, 2.0 to 2.5 mm (from memory); 18 AWG clear is 1.7 mm thick.
        ("satad-blade", 18, "clear", False),
        ("satad-blade", 18, "plain", True),
    ],
)
def test_the_grip_takes_insulation_as_stated(catalogue, *, contact, awg, insulation, expected):
    wire = catalogue.wires[f"awg{awg}-{insulation}"]

    assert insulation_fits(catalogue.contacts[contact], wire) is expected
