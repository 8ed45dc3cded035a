"""What a layout of one's own may hold, and how two versions are told apart in words."""

from dataclasses import replace

import pytest

from server.domain.layout_rules import PORTS_MOST, layout_problems, reading_problem
from server.domain.layout_words import layout_changes
from server.domain.model.catalogue import Catalogue, PortPin, SupplyLayout
from tests.domain.layout_scenes import layout, port, reading

GOOD = layout(port("COM", "COM", "+12V", "+12V"))


def fields(wrong: SupplyLayout, catalogue: Catalogue) -> list[str]:
    return [problem.field for problem in layout_problems(wrong, catalogue)]


def test_a_sound_layout_has_no_problems(catalogue: Catalogue) -> None:
    assert layout_problems(GOOD, catalogue) == ()


def test_a_sheet_on_which_nothing_is_recorded_yet_is_fine(catalogue: Catalogue) -> None:
    assert layout_problems(layout(), catalogue) == ()
    assert layout_problems(layout(port("", "", "", "")), catalogue) == ()


def test_a_layout_without_a_ground_is_refused(catalogue: Catalogue) -> None:
    problems = layout_problems(layout(port("+12V", "+12V", "", "")), catalogue)
    assert [problem.field for problem in problems] == ["ports"]
    assert "ground" in problems[0].message


def test_a_cavity_that_stands_twice_is_refused(catalogue: Catalogue) -> None:
    twice = replace(port("COM", "+12V", "+12V", "+12V"), pins=(*port("COM", "", "", "").pins, PortPin("1", "+5V")))
    assert fields(layout(twice), catalogue) == ["ports.M1.pins"]


@pytest.mark.parametrize("nets", [("COM", "+12V"), ("COM", "+12V", "+5V", "", "")])
def test_a_port_has_exactly_the_cavities_of_its_housing(catalogue: Catalogue, nets: tuple[str, ...]) -> None:
    assert "ports.M1.pins" in fields(layout(port(*nets)), catalogue)


@pytest.mark.parametrize("housing", ["p42-99-plug", "p42-4-mate", ""])
def test_a_port_needs_a_plug_housing_of_the_catalogue(catalogue: Catalogue, housing: str) -> None:
    assert fields(layout(port("COM", "", "", "", housing=housing)), catalogue) == ["ports.M1.housing"]


def test_a_net_that_no_supply_has_is_refused_at_its_cavity(catalogue: Catalogue) -> None:
    assert fields(layout(port("COM", "+24V", "", "")), catalogue) == ["ports.M1.2"]


def test_a_use_that_no_port_has_is_refused(catalogue: Catalogue) -> None:
    wrong = replace(port("COM", "", "", ""), feeds=("kettle",))  # type: ignore[arg-type]
    assert fields(layout(wrong), catalogue) == ["ports.M1.feeds"]


@pytest.mark.parametrize(("label", "count"), [("", 1), ("x" * 61, 1), ("a\x07b", 1)])
def test_a_port_needs_a_name_that_can_be_shown(catalogue: Catalogue, label: str, count: int) -> None:
    assert fields(layout(port("COM", "", "", "", label=label)), catalogue) == ["ports.M1.label"] * count


def test_two_ports_of_one_name_cannot_be_told_apart(catalogue: Catalogue) -> None:
    same = layout(port("COM", "", "", ""), port("COM", "", "", "", ident="M2", label="main "))
    assert fields(same, catalogue) == ["ports"]


def test_more_ports_than_any_supply_has_are_refused(catalogue: Catalogue) -> None:
    many = [port("COM", "", "", "", ident=f"P{n}", label=f"Port {n}") for n in range(PORTS_MOST + 1)]
    assert fields(layout(*many), catalogue) == ["ports"]


@pytest.mark.parametrize(("net", "limit"), [("+12V", 0.0), ("+12V", -1.0), ("+12V", float("nan")), ("PWR_OK", 5.0)])
def test_a_greatest_current_is_positive_and_of_an_output(catalogue: Catalogue, net: str, limit: float) -> None:
    assert fields(replace(GOOD, limits_a={net: limit}), catalogue) == [f"limits.{net}"]


def test_a_reading_at_a_cavity_that_is_not_there_is_refused(catalogue: Catalogue) -> None:
    assert fields(replace(GOOD, readings=(reading("9", on=12.0),)), catalogue) == ["readings"]


@pytest.mark.parametrize(("typed", "meant"), [(1200.0, "12.00"), (120.5, "12.05"), (12050.0, "12.05"), (331.0, "3.31")])
def test_a_slip_of_the_point_is_answered_with_what_was_meant(typed: float, meant: str) -> None:
    assert meant in reading_problem(typed)


@pytest.mark.parametrize("volts", [0.0, 12.6, -13.2, 20.0])
def test_a_voltage_near_an_output_is_a_reading(volts: float) -> None:
    assert reading_problem(volts) == ""


def test_a_changed_net_is_told_with_what_it_was() -> None:
    after = layout(port("COM", "COM", "+12V", "+5V"))
    assert layout_changes(GOOD, after) == ("Main, cavity 4 +5V (was +12V)",)


def test_ports_and_limits_are_told_by_name() -> None:
    after = replace(
        GOOD, ports=(*GOOD.ports, port("COM", "", "", "", ident="C1", label="CPU 1")), limits_a={"+12V": 62.5}
    )
    assert layout_changes(GOOD, after) == ("+12V: at most 62.5 A", "added CPU 1")


def test_readings_and_the_number_of_the_version_are_no_change() -> None:
    assert layout_changes(GOOD, replace(GOOD, version=7, readings=(reading(ground=True),))) == ()
