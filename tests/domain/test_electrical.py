"""Currents of contacts, and drops of wires.

Expected values: Kirchhoff's laws and Ohm's law by hand; the shipped rating table read by hand.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.domain.electrical import (
    SUPPLY_NODE,
    Branch,
    ContactLoad,
    contact_loads,
    copper_ohm_per_km,
    drops_v,
    loss_w,
    net_volts,
    rating_for,
    wire_ohm,
)
from server.domain.model.catalogue import Catalogue, Rating
from tests.domain.scenes import examples


def loads(
    catalogue: Catalogue,
    load_a: dict[str, float],
    contacts: dict[str, tuple[int, ...]],
    *,
    wires: dict[str, int] | None = None,
    awg: int = 18,
) -> dict[str, ContactLoad]:
    total = wires or {net: sum(held) for net, held in contacts.items()}
    found = contact_loads(
        catalogue, "p42", load_a=load_a, wires=total, contacts=contacts, awg_by_net=dict.fromkeys(total, awg)
    )
    return {load.net: load for load in found}


def test_equal_wires_share_a_nets_current_equally(catalogue: Catalogue) -> None:
    # By hand: 26 A over four contacts is 6.5 A each.
    assert loads(catalogue, {"+12V": 26}, {"+12V": (1, 1, 1, 1)})["+12V"].current_a == 6.5


def test_a_contact_with_two_wires_carries_twice_the_share(catalogue: Catalogue) -> None:
    # By hand: 12 A over three wires is 4 A a wire, 8 A in the contact that holds two of them.
    assert loads(catalogue, {"COM": 12}, {"COM": (2, 1)})["COM"].current_a == 8


def test_wires_from_another_plug_take_their_share_of_the_current(catalogue: Catalogue) -> None:
    # By hand: 12 A over six wires is 2 A; this plug holds two of them, one to a contact.
    assert loads(catalogue, {"+12V": 12}, {"+12V": (1, 1)}, wires={"+12V": 6})["+12V"].current_a == 2


def test_a_net_without_a_wire_in_this_plug_loads_nothing(catalogue: Catalogue) -> None:
    assert loads(
        catalogue, {"+12V": 12, "+5V": 3}, {"+12V": (1, 1), "+5V": ()}, wires={"+12V": 2, "+5V": 4}
    ).keys() == {"+12V"}


def test_the_more_contacts_are_loaded_the_less_each_may_carry(catalogue: Catalogue) -> None:
    # Shipped table, 18 AWG: 2 loaded 9 A, 8 loaded 7 A.
    few = loads(catalogue, {"+12V": 1}, {"+12V": (1, 1)})
    many = loads(catalogue, {"+12V": 1}, {"+12V": (1,) * 4, "COM": (1,) * 4})
    assert (few["+12V"].rated_a, many["+12V"].rated_a) == (9, 7)


def test_a_contact_with_two_wires_counts_as_one_loaded_circuit(catalogue: Catalogue) -> None:
    # Shipped table, 18 AWG: three loaded 9 A, four loaded 8 A.
    assert loads(catalogue, {"COM": 1}, {"COM": (2, 1, 1)})["COM"].rated_a == 9


@pytest.mark.parametrize(
    ("current", "rated", "expected"),
    [pytest.param(9, 6, 50, id="half as much again"), pytest.param(3, 6, -50, id="half of it")],
)
def test_the_excess_is_told_in_percent_of_the_rating(current: float, rated: float, expected: float) -> None:
    load = ContactLoad("+12V", current, rated, Rating("p42", 18, 1, 3, rated, False, ""))
    assert load.excess_percent == pytest.approx(expected)


@pytest.mark.parametrize(
    ("awg", "loaded", "expected"),
    [
        pytest.param(18, 3, 9, id="18 AWG, 3 loaded"),
        pytest.param(18, 4, 8, id="18 AWG, 4 loaded"),
        pytest.param(18, 12, 6, id="18 AWG, 12 loaded"),
        pytest.param(19, 3, 7, id="19 AWG is not listed: 20 AWG, the careful side"),
        pytest.param(22, 24, 4, id="22 AWG, 24 loaded"),
    ],
)
def test_a_rating_is_that_of_the_gauge_or_of_the_next_thinner_one(
    catalogue: Catalogue, awg: int, loaded: int, expected: float
) -> None:
    found = rating_for(catalogue, "p42", awg=awg, loaded=loaded, signal=False)
    assert found is not None
    assert found.current_a == expected


def test_a_family_without_ratings_has_none(catalogue: Catalogue) -> None:
    assert rating_for(catalogue, "satadata", awg=18, loaded=1, signal=False) is None


def test_a_signal_contact_is_not_rated_as_a_power_contact(catalogue: Catalogue) -> None:
    # Shipped table, 12+4: sideband 0.5 A, power 9.2 A.
    found = rating_for(catalogue, "p30", awg=22, loaded=4, signal=True)
    assert found is not None
    assert found.current_a == 0.5


# ---- voltage drop ---------------------------------------------------------------------------------------------------

ONE, TWO = 0, 1
resistances = st.floats(0.001, 1.0)
currents = st.floats(0.0, 20.0)


def supply_to(plug: int, ohm: float) -> Branch:
    return Branch(SUPPLY_NODE, plug, ohm)


def test_600_mm_of_18_awg_lose_75_4_mv_at_6_a() -> None:
    # By hand: 0.823 mm2 of handbook copper are 20.95 mohm a metre, 12.57 mohm for 600 mm; times 6 A.
    ohm = wire_ohm(copper_ohm_per_km(0.823), 600)
    assert drops_v([supply_to(ONE, ohm)], {ONE: 6})[ONE] == pytest.approx(0.0754, abs=5e-5)


def test_600_mm_of_18_awg_turn_0_905_w_into_heat_out_and_back() -> None:
    # By hand: 6 A x 6 A x 12.57 mohm = 0.4525 W one way, 0.905 W both.
    branches = [supply_to(ONE, wire_ohm(copper_ohm_per_km(0.823), 600))]
    assert 2 * loss_w(branches, drops_v(branches, {ONE: 6})) == pytest.approx(0.905, abs=5e-4)


def test_unequal_wires_in_parallel_add_their_conductances() -> None:
    # By hand: 0.1 and 0.3 ohm side by side are 0.075 ohm; 2 A lose 0.15 V.
    assert drops_v([supply_to(ONE, 0.1), supply_to(ONE, 0.3)], {ONE: 2})[ONE] == pytest.approx(0.15)


def test_the_first_stretch_of_a_chain_carries_the_sum_of_its_plugs() -> None:
    # By hand: 2 A through 0.1 ohm, then 1 A through another: 0.2 V, then 0.3 V.
    drops = drops_v([supply_to(ONE, 0.1), Branch(ONE, TWO, 0.1)], {ONE: 1, TWO: 1})
    assert drops == pytest.approx({ONE: 0.2, TWO: 0.3})


def test_a_wire_between_two_plugs_that_are_fed_alike_carries_nothing() -> None:
    # By hand: both plugs lie 0.1 V down by their own wires, so the bridge between them changes neither.
    drops = drops_v([supply_to(ONE, 0.1), supply_to(TWO, 0.1), Branch(ONE, TWO, 0.05)], {ONE: 1, TWO: 1})
    assert drops == pytest.approx({ONE: 0.1, TWO: 0.1})


def test_a_ring_shares_its_current_by_the_bridge_rule() -> None:
    # By hand: 0.1 ohm direct beside 0.1 + 0.2 ohm round the other plug: 3 A split 9/4 and 3/4; 9/4 x 0.1 = 0.225 V.
    drops = drops_v([supply_to(ONE, 0.1), supply_to(TWO, 0.1), Branch(TWO, ONE, 0.2)], {ONE: 3})
    assert drops == pytest.approx({ONE: 0.225, TWO: 0.075})


def test_a_bridge_within_one_plug_changes_nothing() -> None:
    assert drops_v([supply_to(ONE, 0.1), Branch(ONE, ONE, 0.01)], {ONE: 1}) == pytest.approx({ONE: 0.1})


@examples(50)
@given(st.lists(resistances, min_size=1, max_size=6), currents)
def test_what_wires_lose_is_current_times_drop(ohms: list[float], amperes: float) -> None:
    # A property: the heat of all wires is what the load misses, I x U.
    branches = [supply_to(ONE, ohm) for ohm in ohms]
    drops = drops_v(branches, {ONE: amperes})
    assert loss_w(branches, drops) == pytest.approx(amperes * drops[ONE], abs=1e-9)


@examples(50)
@given(st.lists(resistances, min_size=2, max_size=6), st.lists(currents, min_size=6, max_size=6))
def test_a_further_wire_to_a_chain_never_makes_a_drop_greater(ohms: list[float], amperes: list[float]) -> None:
    links = [Branch(place - 1, place, ohm) for place, ohm in enumerate(ohms)]
    load_a = dict(enumerate(amperes[: len(ohms)]))
    before = drops_v(links, load_a)
    after = drops_v([*links, supply_to(len(ohms) - 1, 0.05)], load_a)
    assert all(after[plug] <= before[plug] + 1e-9 for plug in before)


@pytest.mark.parametrize(
    ("branches", "load_a"),
    [
        pytest.param([supply_to(ONE, 0.0)], {ONE: 1.0}, id="a wire without resistance"),
        pytest.param([supply_to(ONE, 0.1)], {TWO: 1.0}, id="a plug without a wire"),
        pytest.param([supply_to(ONE, 0.1), Branch(TWO, 2, 0.1)], {2: 1.0}, id="two plugs that no supply reaches"),
    ],
)
def test_a_network_that_cannot_be_solved_is_refused(branches: list[Branch], load_a: dict[int, float]) -> None:
    with pytest.raises(ValueError):
        drops_v(branches, load_a)


@pytest.mark.parametrize(
    ("ohm_per_km", "length"), [(0, 100), (-1, 100), (20, -1), (float("nan"), 1), (20, float("nan"))]
)
def test_a_wire_of_no_resistance_or_negative_length_is_refused(ohm_per_km: float, length: float) -> None:
    with pytest.raises(ValueError):
        wire_ohm(ohm_per_km, length)


@pytest.mark.parametrize("area", [0.0, -1.0, float("nan")])
def test_a_conductor_without_copper_is_refused(area: float) -> None:
    with pytest.raises(ValueError):
        copper_ohm_per_km(area)


@pytest.mark.parametrize(
    ("net", "volts"),
    [
        ("+12V", 12.0),
        ("+3.3V", 3.3),
        ("+5VSB", 5.0),
        ("-12V", 12.0),
        ("USB_5V_2", 5.0),
        ("COM", None),
        ("+5V_SENSE", None),
    ],
)
def test_the_voltage_of_a_net_stands_in_its_name(net: str, volts: float | None) -> None:
    assert net_volts(net) == volts
