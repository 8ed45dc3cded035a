"""Output limits of a desktop supply against the design guides: edge values belong to the range, the next step not."""

import pytest

from server.domain.metering import fitting_nets
from server.domain.model.catalogue import Edition, Reading


def fits(on: float | None = None, standby: float | None = None, edition: Edition = "strict") -> tuple[str, ...]:
    return fitting_nets(Reading("M1", "1", on, standby), edition)


# ATX12V power supply design guide 2.0, table 2 (regulation at the load end of the output connectors).
TABLE_2 = [
    ("+12V", 11.40, 12.60),
    ("+5V", 4.75, 5.25),
    ("+3.3V", 3.14, 3.47),
    ("-12V", -13.20, -10.80),
]


@pytest.mark.parametrize(("net", "low", "high"), TABLE_2)
def test_an_output_at_the_edge_of_its_published_range_fits(net: str, low: float, high: float) -> None:
    assert net in fits(low, 0.0, "2.0")
    assert net in fits(high, 0.0, "2.0")


@pytest.mark.parametrize(("net", "low", "high"), TABLE_2)
def test_an_output_a_hundredth_beyond_its_published_range_does_not_fit(net: str, low: float, high: float) -> None:
    assert net not in fits(low - 0.01, 0.0, "2.0")
    assert net not in fits(high + 0.01, 0.0, "2.0")


# Plus 5 and minus 7 % of 12 V is 12.60 and 11.16 V; ATX 3.x states 11.20 V (a trade article; volts from memory).
@pytest.mark.parametrize(("on", "fitting"), [(11.20, True), (11.19, False), (12.60, True), (12.61, False)])
def test_twelve_volts_may_be_lower_by_the_later_edition(on: float, fitting: bool) -> None:
    assert ("+12V" in fits(on, 0.0, "3.x")) is fitting


@pytest.mark.parametrize(("on", "fitting"), [(11.39, False), (11.40, True)])
def test_the_stricter_of_both_editions_holds_unless_one_is_named(on: float, fitting: bool) -> None:
    assert ("+12V" in fits(on, 0.0, "strict")) is fitting


@pytest.mark.parametrize("edition", ["2.0", "3.x", "strict"])
@pytest.mark.parametrize(("volts", "fitting"), [(4.75, True), (5.25, True), (4.74, False), (5.26, False)])
def test_the_standby_output_is_the_same_in_standby_and_on(volts: float, fitting: bool, edition: Edition) -> None:
    # ATX12V design guide 2.0, table 2: +5VSB within 5 %, present whenever mains is.
    assert ("+5VSB" in fits(volts, volts, edition)) is fitting


# Design guide 336521-003, table 3-10: PS_ON# low 0 to 0.8 V; high at least 2.0 V, open circuit at most 5.25 V.
@pytest.mark.parametrize(
    ("on", "standby", "fitting"),
    [
        (0.0, 5.0, True),
        (0.8, 5.0, True),
        (0.81, 5.0, False),
        (0.0, 2.0, True),
        (0.0, 1.99, False),
        (0.0, 5.25, True),
        (0.0, 5.26, False),
    ],
)
def test_the_switch_line_is_high_in_standby_and_low_when_bridged(on: float, standby: float, fitting: bool) -> None:
    assert ("PS_ON#" in fits(on, standby)) is fitting


# ATX 3.0, table 4-10: PWR_OK low below 0.4 V, high from 2.4 V. Published up to 5 V at 200 uA; a meter draws less, and
# the line then rises to the +5 V output it is pulled up to, whose limit is 5.25 V (common practice).
@pytest.mark.parametrize(
    ("on", "standby", "fitting"),
    [
        (2.4, 0.0, True),
        (2.39, 0.0, False),
        (5.0, 0.0, True),
        (5.25, 0.0, True),
        (5.26, 0.0, False),
        (5.0, 0.39, True),
        (5.0, 0.4, False),
    ],
)
def test_power_ok_is_high_when_on_and_low_in_standby(on: float, standby: float, fitting: bool) -> None:
    assert ("PWR_OK" in fits(on, standby)) is fitting


# Design guide 336521, table 3-7: sideband inputs are high from 2.0 to 3.5 V.
@pytest.mark.parametrize(("on", "fitting"), [(2.0, True), (1.99, False), (3.5, True), (3.51, False)])
def test_a_sideband_line_pulled_up_by_the_supply_reads_high(on: float, fitting: bool) -> None:
    assert ("CARD_PWR_STABLE" in fitting_nets(Reading("G1", "S1", on), "strict")) is fitting
