"""Connectors and materials of the catalogue against published tables. The source stands beside each check."""

from math import pi
from pathlib import Path

import pytest

from server.store.catalogue_install import install_catalogue
from server.store.catalogue_read import read_catalogue
from server.store.database import open_database, reading

SHIPPED = Path(__file__).parents[2] / "seed_data" / "catalogue"


@pytest.fixture(scope="module")
def catalogue(tmp_path_factory):
    engine = open_database(tmp_path_factory.mktemp("published") / "catalogue.db")
    install_catalogue(engine, SHIPPED)
    with reading(engine) as session:
        found = read_catalogue(session)
    engine.dispose()
    return found


def awg_area_mm2(awg):
    # ASTM B258: d = 0.127 mm x 92^((36 - n)/39).
    return pi / 4 * (0.127 * 92 ** ((36 - awg) / 39)) ** 2


def test_the_gauge_formula_of_this_test_meets_the_standards_fixed_points():
    # ASTM B258: AWG 36 is 0.005 in.
    assert awg_area_mm2(36) == pytest.approx(pi / 4 * 0.127**2)


def test_stranded_wire_has_the_copper_of_its_gauge(catalogue):
    # ASTM B258: stranded wire takes the gauge of equal copper area; the stranded table rounds up, by 5.7 % at most.
    for wire in catalogue.wires.values():
        assert 1.0 <= wire.conductor_mm2 / awg_area_mm2(wire.awg) <= 1.06, wire.id


def test_guaranteed_resistance_lies_above_that_of_solid_copper(catalogue):
    # IEC 60028: 0.017241 ohm mm2/m at 20 C. The stranded hook-up wire table guarantees 16 to 19 % more than that.
    for wire in catalogue.wires.values():
        assert 1.16 <= wire.ohm_per_km / (17.241 / awg_area_mm2(wire.awg)) <= 1.19, wire.id


# Stranded hook-up wire, 105 C, 600 V style: area and greatest resistance (lead table of a bench-supply manual).
HOOK_UP = {16: (1.32, 15.6), 18: (0.87, 24.4), 20: (0.53, 39.5), 22: (0.34, 62.5)}


def test_wire_follows_the_stranded_hook_up_table(catalogue):
    assert {(w.awg, w.conductor_mm2, w.ohm_per_km) for w in catalogue.wires.values()} == {
        (awg, *values) for awg, values in HOOK_UP.items()
    }


# IEC 60757:2021 (also GOST 28763-90 = IEC 757:1983).
IEC_60757 = {
    "BK": "black", "BN": "brown", "RD": "red", "OG": "orange", "YE": "yellow", "GN": "green", "BU": "blue",
    "VT": "violet", "GY": "grey", "WH": "white", "PK": "pink", "GD": "gold", "TQ": "turquoise", "SR": "silver",
}  # fmt: skip


def test_colours_carry_the_codes_of_iec_60757(catalogue):
    assert {code: colour.name for code, colour in catalogue.colours.items()} == IEC_60757


@pytest.mark.parametrize("insulation", ["plain", "high_temperature"])
def test_coloured_insulation_comes_in_at_least_twelve_colours(catalogue, insulation):
    # common practice of sellers; the codes themselves are checked above.
    assert sum(insulation in colour.insulations for colour in catalogue.colours.values()) >= 12


def test_sleeve_comes_in_at_least_twelve_colours(catalogue):
    # common practice of sellers.
    assert sum(colour.sleeve for colour in catalogue.colours.values()) >= 12


# 2:1 polyolefin, size series of AS23053/5: least supplied and greatest recovered bore. [mm]
AS23053_5 = {
    (1.17, 0.58), (1.60, 0.79), (2.36, 1.17), (3.18, 1.58), (4.75, 2.36),
    (6.35, 3.18), (9.53, 4.75), (12.70, 6.35), (19.05, 9.53), (25.40, 12.70),
}  # fmt: skip


def test_2_to_1_heat_shrink_comes_in_sizes_of_the_series(catalogue):
    # A 2:1 tube recovers to half its supplied bore, rounded; the 4:1 kind belongs to no series of that standard.
    sizes = {(shrink.supplied_mm, shrink.recovered_mm) for shrink in catalogue.shrinks.values()}
    two_to_one = {size for size in sizes if size[0] / size[1] < 3}

    assert two_to_one
    assert two_to_one <= AS23053_5


def test_4_to_1_heat_shrink_recovers_to_a_quarter(catalogue):
    # common practice: sellers name the kind by its ratio.
    sizes = {(shrink.supplied_mm, shrink.recovered_mm) for shrink in catalogue.shrinks.values()}

    assert all(supplied == 4 * recovered for supplied, recovered in sizes if supplied / recovered >= 3)


def test_18_awg_plain_wire_fits_the_displacement_plug(catalogue):
    # from memory: SATA insulation displacement takes 18 AWG with 2.0 to 2.5 mm insulation only.
    blade = catalogue.contacts["satad-blade"]

    assert (blade.awg_thickest, blade.awg_thinnest, blade.insulation_min_mm, blade.insulation_max_mm) == (
        18,
        18,
        2.0,
        2.5,
    )
    assert blade.insulation_min_mm <= catalogue.wires["awg18-plain"].outside_mm <= blade.insulation_max_mm


def test_22_awg_wire_fits_a_header_contact(catalogue):
    # Agency data of one 2.54 mm crimp contact: 22 to 30 AWG, insulation to 1.57 mm.
    contact = catalogue.contacts["h254-socket"]

    assert (contact.awg_thickest, contact.awg_thinnest, contact.insulation_max_mm) == (22, 30, 1.57)
    assert catalogue.wires["awg22-plain"].outside_mm <= contact.insulation_max_mm


@pytest.mark.parametrize(
    ("housing", "positions"),
    [
        # Names of the design guide's connectors: 2x12, 2x2, 2x4, 2x3, 12+4 (tables 5-4 to 5-9; main connector).
        ("p42-24-plug", 24),
        ("p42-4-plug", 4),
        ("p42-8c-plug", 8),
        ("p42-8g-plug", 8),
        ("p42-6-plug", 6),
        ("p30-16-plug", 16),
        ("p508-4-plug", 4),
        # Fan specification 1.3 and front panel guide 1.3 (2x5).
        ("h254-fan4-plug", 4),
        ("h254-usb2-plug", 10),
        ("h254-audio-plug", 10),
        # USB 3 front panel: 2x10 with 19 fitted (published pinout); SATA data: 7 (from memory).
        ("usb3-plug", 20),
        ("satadata-plug", 7),
    ],
)
def test_a_housing_has_the_published_number_of_positions(catalogue, housing, positions):
    assert catalogue.housings[housing].positions == positions


@pytest.mark.parametrize(
    ("family", "awg", "loaded", "current_a"),
    [
        # from memory: standard 4.2 mm contact, all circuits loaded, as a hardware textbook quotes the maker.
        ("p42", 18, 2, 9),
        ("p42", 18, 6, 8),
        ("p42", 18, 8, 7),
        ("p42", 18, 24, 6),
        ("p42", 22, 24, 4),
        # Design guide 336521 rev 2.01: 9.2 A per contact with all twelve loaded.
        ("p30", 16, 12, 9.2),
        # Published: 2.13 mm peripheral contact, 11 A at 30 K rise.
        ("p508", 18, 4, 11),
        # SATA: 1.5 A per contact, three contacts on each wire.
        ("satad", 18, 5, 3 * 1.5),
        # from memory: 2.54 mm contact with 22 AWG.
        ("h254", 22, 2, 4),
    ],
)
def test_a_contact_is_rated_as_published(catalogue, family, awg, loaded, current_a):
    found = [
        rating.current_a
        for rating in catalogue.ratings
        if (rating.family, rating.awg, rating.signal) == (family, awg, False)
        and rating.loaded_from <= loaded <= rating.loaded_to
    ]

    assert found == [current_a]


def test_every_value_names_where_it_comes_from(catalogue):
    # house rule: a named standard, common practice, from memory, or measured by the builder.
    vague = {"", "unknown", "?", "n/a", "todo", "internet"}
    tables = (catalogue.families, catalogue.contacts, catalogue.housings, catalogue.pinouts, catalogue.wires)

    assert [row.id for table in tables for row in table.values() if row.source.lower() in vague] == []
