"""What fits what. Expected values: the shipped tables read by hand, sums by hand, properties of the braid."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.domain.materials import (
    braid_factor,
    cap_for,
    comb_for,
    comb_positions_mm,
    conductor_limit_mm2,
    fitting_contact,
    gauges_taken,
    insulation_fits,
    shared_contact,
    sleeve_cut_mm,
    wire_of,
)
from server.domain.model.catalogue import Catalogue, Sleeve, Wire
from tests.domain.scenes import examples

BRAID = Sleeve("t", "braid of a test", 4.0, 30.0, 4.0, 12.0, "", "")


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
    narrow = Sleeve("t", "narrow", 4.0, 30.0, 4.0, 6.0, "", "")
    with pytest.raises(ValueError, match="narrow"):
        braid_factor(narrow, 6.5)


def test_sleeve_is_cut_longer_than_the_stretch_it_covers() -> None:
    # By hand: on 6 mm sin a1 = 0.75, cos a1 = 0.6614, cos 30 = 0.8660: 100 mm x 1.3093 = 130.93, up to 131.
    assert sleeve_cut_mm(BRAID, 6.0, 100) == 131


# ---- combs and caps -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("wires", "expected"),
    [(2, "comb-2"), (5, "comb-6"), (8, "comb-8"), (13, "comb-14"), (23, "comb-24"), (24, "comb-24")],
)
def test_the_smallest_comb_that_holds_the_wires_is_taken(catalogue: Catalogue, wires: int, expected: str) -> None:
    found = comb_for(catalogue, wires)
    assert found is not None
    assert found.id == expected


@pytest.mark.parametrize("wires", [0, 1, 25])
def test_no_comb_holds_one_wire_or_more_than_the_largest_has_ways(catalogue: Catalogue, wires: int) -> None:
    assert comb_for(catalogue, wires) is None


@pytest.mark.parametrize(
    ("length", "expected"),
    [
        pytest.param(540, (45, 135, 225), id="270 visible: 3 shares of 90"),
        pytest.param(600, (50, 150, 250), id="300 visible: 3 shares of 100"),
        pytest.param(600.1, (38, 113, 188, 263), id="a hair more starts a fourth: 4 shares of 75.01"),
        pytest.param(200, (50,), id="100 visible: one in the middle"),
        pytest.param(100, (25,), id="50 visible: one in the middle"),
    ],
)
def test_combs_stand_in_the_middle_of_their_share_of_the_visible_half(length: float, expected: tuple[int, ...]) -> None:
    assert comb_positions_mm(length, 100) == expected


@pytest.mark.parametrize("family", ["satad", "p508d"])
def test_the_last_plug_of_a_chain_takes_the_end_cap_and_the_others_through_caps(
    catalogue: Catalogue, family: str
) -> None:
    caps = [cap_for(catalogue, catalogue.families[family], last=last) for last in (False, True)]
    assert [cap.position if cap else None for cap in caps] == ["through", "end"]


def test_a_crimped_plug_takes_no_cap(catalogue: Catalogue) -> None:
    assert cap_for(catalogue, catalogue.families["p42"], last=True) is None
