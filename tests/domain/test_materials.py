"""Contacts to gauges. Expected values: the shipped tables read by hand, sums by hand."""

import pytest

from server.domain.materials.contacts import (
    conductor_limit_mm2,
    crimp_for_wires,
    crimp_of,
    fitting_contact,
    gauges_taken,
    insulation_fits,
    shared_contact,
    strip_mm,
    wire_of,
)
from server.domain.model.catalogue import Catalogue, Wire


def stock(catalogue: Catalogue, awg: int, insulation: str = "plain") -> Wire:
    found = wire_of(catalogue, awg, insulation)
    assert found is not None
    return found


# ---- contacts -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("housing", "awg", "signal", "expected"),
    [
        pytest.param("p42-8c-plug", 16, False, "p42-socket-16", id="16 AWG has a contact of its own"),
        pytest.param("p42-8c-plug", 18, False, "p42-socket-18", id="18 AWG"),
        pytest.param("p42-8c-plug", 22, False, "p42-socket-18", id="22 AWG shares it"),
        pytest.param("p42-8c-plug", 14, False, None, id="14 AWG goes into none"),
        pytest.param("p42-8c-mate", 18, False, "p42-pin-18", id="a mating half takes pins"),
        pytest.param("p30-16-plug", 22, True, "p30-signal", id="a sideband cavity takes the small contact"),
        pytest.param("p30-16-plug", 22, False, None, id="a power cavity of 12+4 takes 16 AWG only"),
        pytest.param("satad-straight", 18, False, "satad-blade", id="displacement takes 18 AWG"),
        pytest.param("satad-straight", 16, False, None, id="16 AWG does not go into displacement"),
    ],
)
def test_a_contact_is_chosen_by_family_gender_kind_of_cavity_and_gauge(
    catalogue: Catalogue, housing: str, awg: int, signal: bool, expected: str | None
) -> None:
    found = fitting_contact(catalogue, catalogue.housings[housing], awg=awg, signal=signal)
    assert (found.id if found else None) == expected


@pytest.mark.parametrize(
    ("gauges", "expected"),
    [
        # 16 AWG contact holds 1.32 mm2, 18 AWG contact 0.87 mm2 (the copper of its thickest wire).
        pytest.param((18, 22), "p42-socket-16", id="0.87 + 0.34 = 1.21 mm2 wants the larger one"),
        pytest.param((22, 22), "p42-socket-18", id="0.34 + 0.34 = 0.68 mm2 goes into the smaller one"),
        pytest.param((20, 22), "p42-socket-18", id="0.53 + 0.34 = 0.87 mm2 just fits"),
        pytest.param((16, 22), "p42-socket-16", id="1.66 mm2 fits none: the largest there is"),
    ],
)
def test_two_wires_take_the_smallest_contact_that_holds_their_copper(
    catalogue: Catalogue, gauges: tuple[int, int], expected: str
) -> None:
    wires = [stock(catalogue, awg) for awg in gauges]
    found = shared_contact(catalogue, catalogue.housings["p42-8g-plug"], wires, signal=False)
    assert found is not None
    assert found.id == expected


def test_a_wire_too_thick_for_every_contact_shares_none(catalogue: Catalogue) -> None:
    wires = [stock(catalogue, 16), stock(catalogue, 22)]
    assert shared_contact(catalogue, catalogue.housings["h254-fan4-plug"], wires, signal=False) is None


def test_a_housings_gauges_run_from_the_thickest_to_the_thinnest_of_its_contacts(catalogue: Catalogue) -> None:
    assert gauges_taken(catalogue, catalogue.housings["p42-24-plug"], signal=False) == (16, 24)


def test_a_moulded_plug_takes_no_gauge_at_all(catalogue: Catalogue) -> None:
    assert gauges_taken(catalogue, catalogue.housings["satadata-plug"], signal=False) is None


@pytest.mark.parametrize(
    ("contact", "awg", "insulation", "expected"),
    [
        # Outside diameters: 18 AWG plain 2.1 mm, high-temperature 1.8 mm; the blade grips 2.0 to 2.5 mm.
        pytest.param("satad-blade", 18, "plain", True, id="2.1 mm in 2.0 to 2.5"),
        pytest.param("satad-blade", 18, "high_temperature", False, id="1.8 mm is too thin for 2.0 to 2.5"),
        pytest.param("h254-socket", 22, "plain", True, id="1.55 mm in 0.9 to 1.57"),
        pytest.param("h254-socket", 20, "plain", False, id="1.8 mm is too thick for 0.9 to 1.57"),
    ],
)
def test_the_grip_takes_insulation_between_its_two_diameters(
    catalogue: Catalogue, contact: str, awg: int, insulation: str, expected: bool
) -> None:
    assert insulation_fits(catalogue.contacts[contact], stock(catalogue, awg, insulation)) is expected


def test_the_copper_a_contact_takes_is_that_of_its_thickest_wire(catalogue: Catalogue) -> None:
    # Wire table: 16 AWG, 26 strands of 0.254 mm, 1.32 mm2.
    assert conductor_limit_mm2(catalogue.contacts["p42-socket-16"], catalogue) == 1.32


def test_a_gauge_that_nobody_sells_has_the_copper_of_its_solid_wire(catalogue: Catalogue) -> None:
    # 14 AWG is not in the wire table; ASTM B258 gives 2.081 mm2.
    assert conductor_limit_mm2(catalogue.contacts["p508-socket"], catalogue) == pytest.approx(2.081, abs=5e-4)


# ---- crimps ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("contact", "awg", "expected"),
    [
        # crimps.csv read by hand: strip and die.
        pytest.param("p42-socket-18", 20, (3.3, "open barrel, B form, nest for 18 to 20 AWG"), id="20 AWG"),
        pytest.param("p42-socket-18", 22, (3.0, "open barrel, B form, nest for 22 to 24 AWG"), id="a smaller nest"),
        pytest.param("satad-blade", 18, (0.0, "press block for the SATA power plug"), id="pressed, not stripped"),
    ],
)
def test_strip_and_die_follow_contact_and_gauge(
    catalogue: Catalogue, contact: str, awg: int, expected: tuple[float, str]
) -> None:
    found = crimp_of(catalogue, contact, awg)
    assert found is not None
    assert (found.strip_mm, found.die) == expected


@pytest.mark.parametrize(
    ("contact", "awg"),
    [("p42-socket-18", 16), ("p42-socket-16", 18), ("satad-blade", 16), ("p508d-blade", 22), ("nothing", 18)],
)
def test_a_gauge_that_a_contact_does_not_take_has_no_crimp(catalogue: Catalogue, contact: str, awg: int) -> None:
    assert crimp_of(catalogue, contact, awg) is None


@pytest.mark.parametrize(
    ("contact", "gauges", "expected"),
    [
        # Copper by the wire table: 22 AWG 0.34, 20 AWG 0.53, 18 AWG 0.87, 16 AWG 1.32 mm2; 14 AWG by formula 2.08.
        pytest.param("p42-socket-18", (22,), 22, id="one wire is crimped as its own gauge"),
        pytest.param("p42-socket-18", (22, 22), 18, id="0.68 mm2 is more than 20 AWG, so 18"),
        pytest.param("p42-socket-18", (20, 22), 18, id="0.87 mm2 is just 18 AWG"),
        pytest.param("p42-socket-18", (20, 20), None, id="1.06 mm2 is more than the contact's thickest"),
        pytest.param("p42-socket-16", (18, 22), 16, id="1.21 mm2 is 16 AWG"),
        pytest.param("p508-socket", (18, 18), 14, id="1.74 mm2 is 14 AWG"),
        pytest.param("satad-blade", (18, 18), None, id="no two wires in one blade"),
        pytest.param("p42-socket-18", (), None, id="no wire at all"),
    ],
)
def test_two_wires_together_are_crimped_as_the_gauge_of_their_common_copper(
    catalogue: Catalogue, contact: str, gauges: tuple[int, ...], expected: int | None
) -> None:
    found = crimp_for_wires(catalogue, contact, [stock(catalogue, awg) for awg in gauges])
    assert (found.awg if found else None) == expected


@pytest.mark.parametrize(
    ("contact", "awg", "own", "expected"),
    [
        pytest.param("p42-socket-18", 18, {}, 3.3, id="the catalogue's"),
        pytest.param("p42-socket-18", 18, {"p42-socket-18": 2.8}, 2.8, id="the builder's own goes before it"),
        pytest.param("p42-socket-18", 18, {"p42-socket-16": 2.8}, 3.3, id="another contact's does not"),
        pytest.param("p42-socket-16", 22, {}, 3.5, id="the thinner wire of a pair is stripped for the contact's gauge"),
        pytest.param("satad-blade", 18, {}, 0.0, id="displacement strips nothing"),
        pytest.param("satad-blade", 18, {"satad-blade": 3.0}, 0.0, id="whatever the builder says"),
        pytest.param("nothing", 18, {"nothing": 3.0}, 0.0, id="no contact, nothing stripped"),
    ],
)
def test_a_wire_is_stripped_as_its_contact_asks(
    catalogue: Catalogue, contact: str, awg: int, own: dict[str, float], expected: float
) -> None:
    assert strip_mm(catalogue, own, contact, awg) == expected
