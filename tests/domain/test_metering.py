"""Metering: what a set of readings says about the net recorded at a cavity. Numbers are nominal outputs unless said."""

import pytest

from server.domain.metering import Verdict, expected, fitting_nets, progress, verdicts
from server.domain.model.catalogue import Port, PortPin, Reading, SupplyLayout
from server.domain.output_limits import SUPPLY_NETS, levels, span_words
from tests.domain.layout_scenes import layout, port, reading

MAIN = ("COM", "+5V", "+5VSB", "PS_ON#")


def verdict(net: str, taken: Reading | None, *others: str) -> Verdict:
    """The verdict on cavity 1 of a socket that carries ``net`` there and the others beside it."""
    readings = () if taken is None else (taken,)
    return verdicts(layout(port(net, *others), readings=readings))["M1", "1"]


def test_a_cavity_without_a_reading_is_missing() -> None:
    assert verdict("+12V", None).state == "missing"


def test_a_decision_without_any_value_is_still_missing() -> None:
    assert verdict("+12V", reading(settled="+12V")).state == "missing"


@pytest.mark.parametrize(
    ("net", "taken"),
    [
        ("+12V", reading(on=12.05)),
        ("-12V", reading(on=-11.9, standby=0.0)),
        ("+5V", reading(on=5.02, standby=0.02)),
        ("+3.3V", reading(on=3.31)),
        ("+5VSB", reading(on=5.03, standby=5.03)),
        ("PS_ON#", reading(on=0.0, standby=4.9)),
        ("COM", reading(on=0.0, ground=True)),
        ("COM", reading(ground=True)),
        ("", reading(on=0.0, ground=False)),
        ("", reading(on=0.0, standby=0.0, ground=False)),
    ],
)
def test_a_reading_that_only_the_recorded_net_gives_meters_it(net: str, taken: Reading) -> None:
    assert verdict(net, taken).state == "metered"


@pytest.mark.parametrize(
    ("net", "taken", "advice"),
    [
        # Both stand at 5 V with the supply on; only one of them does in standby.
        ("+5V", reading(on=5.02), "standby reading"),
        ("+5VSB", reading(on=5.02), "standby reading"),
        ("+5VSB", reading(standby=5.02), "supply on"),
        # 0 V with the supply on: ground, an empty cavity, or the bridged switch line.
        ("COM", reading(on=0.0), "continuity"),
        ("", reading(on=0.0), "continuity"),
        ("PS_ON#", reading(on=0.0), "standby reading"),
        ("+12V", reading(ground=False), "supply on"),
        ("+12V", reading(standby=0.0), "supply on"),
    ],
)
def test_where_two_nets_fit_the_reading_that_tells_them_apart_is_named(net: str, taken: Reading, advice: str) -> None:
    found = verdict(net, taken)
    assert found.state == "two_fit"
    assert advice in found.text


def test_a_power_contact_and_its_sense_line_in_one_socket_are_settled_by_eye() -> None:
    found = verdict("+3.3V", reading(on=3.31, standby=0.0), "+3.3V_SENSE")
    assert found.state == "two_fit"
    assert "thinner wire" in found.text


def test_a_sense_line_is_never_taken_from_a_reading_alone() -> None:
    assert verdict("+12V_SENSE", reading(on=12.05)).state == "two_fit"


def test_a_socket_without_a_sense_line_needs_no_settling() -> None:
    assert verdict("+12V", reading(on=12.05), "+3.3V_SENSE").state == "metered"


def test_an_output_beside_power_ok_in_the_range_of_both_is_settled_by_continuity() -> None:
    found = verdict("+5V", reading(on=4.98, standby=0.0), "PWR_OK")
    assert found.state == "two_fit"
    assert "joined" in found.text


@pytest.mark.parametrize("net", ["+3.3V", "+3.3V_SENSE"])
def test_a_settled_net_among_those_that_fit_is_metered(net: str) -> None:
    taken = reading(on=3.31, standby=0.0, settled=net)
    assert verdict(net, taken, "+3.3V_SENSE", "+3.3V").state == "metered"


def test_a_settled_net_that_does_not_fit_contradicts() -> None:
    found = verdict("+12V", reading(on=12.05, settled="+5V"))
    assert found.state == "contradicts"
    assert "4.75 to 5.25 V" in found.text


def test_a_settled_net_other_than_the_recorded_one_contradicts() -> None:
    found = verdict("+3.3V", reading(on=3.31, settled="+3.3V_SENSE"), "+3.3V_SENSE")
    assert found.state == "contradicts"


def test_another_net_than_the_recorded_one_contradicts_with_the_numbers() -> None:
    found = verdict("+5V", reading(on=12.05, standby=0.0))
    assert found.state == "contradicts"
    assert found.fits == ("+12V", "+12V_SENSE")
    assert all(words in found.text for words in ("12.05 V", "+12V", "+5V", "4.75 to 5.25 V"))


def test_a_voltage_where_nothing_is_recorded_contradicts() -> None:
    found = verdict("", reading(on=5.02, standby=5.01))
    assert found.state == "contradicts"
    assert "+5VSB" in found.text


def test_nothing_at_a_cavity_that_should_carry_a_net_contradicts() -> None:
    assert verdict("+12V", reading(on=0.0, standby=0.0, ground=False)).state == "contradicts"


def test_an_output_that_stands_in_standby_contradicts() -> None:
    assert verdict("+5V", reading(on=5.0, standby=5.0)).state == "contradicts"


def test_ground_where_an_output_is_recorded_contradicts() -> None:
    assert verdict("+12V", reading(ground=True)).state == "contradicts"


def test_a_voltage_that_no_output_gives_fits_nothing() -> None:
    found = verdict("+12V", reading(on=9.8))
    assert (found.state, found.fits) == ("no_fit", ())
    assert "11.40 to 12.60 V" in found.text


@pytest.mark.parametrize("net", ["SENSE0", "SENSE1"])
def test_a_grounded_sideband_line_is_settled_by_its_place(net: str) -> None:
    taken = Reading("G1", "S3", on_v=0.0, to_ground=True)
    assert {"SENSE0", "SENSE1", "COM"} <= set(fitting_nets(taken, "strict"))


def test_sideband_nets_are_looked_for_in_sideband_cavities_only() -> None:
    assert "CARD_PWR_STABLE" not in fitting_nets(Reading("M1", "1", on_v=3.3), "strict")


@pytest.mark.parametrize("net", SUPPLY_NETS)
def test_continuity_to_ground_rules_out_everything_but_grounds(net: str) -> None:
    fitting = net in fitting_nets(reading(ground=True), "strict")
    assert fitting is (net in {"COM", "COM_SENSE"})


@pytest.mark.parametrize("net", ["+12V", "+5V", "+3.3V", "COM"])
def test_a_sense_line_reads_like_the_net_it_senses(net: str) -> None:
    assert levels(f"{net}_SENSE", "strict") == levels(net, "strict")


def test_samples_are_never_metered() -> None:
    from dataclasses import replace

    sample = replace(layout(port("COM"), readings=(reading(ground=True),)), own=False)
    assert verdicts(sample)["M1", "1"].state == "missing"


def test_progress_counts_the_metered_cavities_of_one_port() -> None:
    scene = layout(port(*MAIN), port("COM", ident="C1", label="CPU"), readings=(reading("1", ground=True),))
    assert (progress(scene).metered, progress(scene).cavities) == (1, 5)
    assert (progress(scene, "C1").metered, progress(scene, "C1").cavities) == (0, 1)


def test_what_to_expect_is_said_with_its_numbers() -> None:
    assert expected("+12V", "3.x") == "on 11.20 to 12.60 V, standby about 0 V"
    assert expected("COM", "strict").endswith("continuity to ground")
    assert span_words(levels("PS_ON#", "strict").standby) == "2.00 to 5.25 V"


def test_settling_does_not_stand_in_for_a_reading_that_would_tell() -> None:
    # A rule, not a value: 0 V in standby fits nearly every output, so the builder's word alone proves nothing.
    port = Port("P", "P", "p42-4-plug", ("cpu",), (PortPin("1", "+12V"), PortPin("2", "COM")))
    readings = (Reading("P", "1", standby_v=0.0, settled="+12V"), Reading("P", "2", standby_v=0.0, settled="COM"))
    own = SupplyLayout("own", "own", "", "a test", (port,), own=True, readings=readings)
    assert [verdict.state for verdict in verdicts(own).values()] == ["two_fit", "two_fit"]
