"""Currents of contacts. Expected values: Kirchhoff's current law by hand; the shipped rating table read by hand."""

import pytest

from server.domain.electrical import ContactLoad, contact_loads, rating_for
from server.domain.model.catalogue import Catalogue, Rating


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
