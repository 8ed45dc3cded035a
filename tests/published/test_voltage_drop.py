"""Voltage drop against worked examples that are published. The source stands beside each."""

import pytest

from server.domain.electrical import SUPPLY_NODE, Branch, copper_ohm_per_km, drops_v, wire_ohm
from server.domain.materials.contacts import awg_area_mm2

FOOT_MM = 304.8
"""Exact: international foot, 1959."""

# FAA AC 43.13-1B, tables 11-7 and 11-8: wire, feet, amperes, ohm per foot, volts as printed. The second row of 10 AWG,
# which the table prints as 0.366 V, is left out: its own three numbers make 0.491 V.
PRINTED = [
    pytest.param(107, 20, 0.00044, 0.942, id="6 AWG"),
    pytest.param(90, 20, 0.00028, 0.504, id="4 AWG"),
    pytest.param(88, 20, 0.00202, 3.60, id="12 AWG"),
    pytest.param(100, 20, 0.00306, 6.12, id="14 AWG"),
    pytest.param(39, 20, 0.00126, 0.98, id="10 AWG, 39 ft"),
    pytest.param(156, 20, 0.00126, 3.93, id="10 AWG, 156 ft"),
    pytest.param(273, 20, 0.00126, 6.88, id="10 AWG, 273 ft"),
]


@pytest.mark.parametrize(("feet", "amperes", "ohm_per_foot", "volts"), PRINTED)
def test_the_drop_of_one_wire_is_that_of_the_worked_examples(
    feet: float, amperes: float, ohm_per_foot: float, volts: float
) -> None:
    ohm = wire_ohm(ohm_per_foot / FOOT_MM * 1e6, feet * FOOT_MM)
    # Printed figures are rounded, one of them to the nearest 0.05 V: 1.5 %.
    assert drops_v([Branch(SUPPLY_NODE, 0, ohm)], {0: amperes})[0] == pytest.approx(volts, rel=0.015)


# Published tables of solid copper wire at 20 C, two of them, which agree to 0.3 %: ohm/km by gauge.
TABLES = {14: 8.28, 16: 13.17, 18: 20.94, 20: 33.29, 22: 52.94, 24: 84.20, 26: 133.86, 28: 212.87}


@pytest.mark.parametrize("awg", TABLES)
def test_the_resistance_of_solid_copper_is_that_of_the_wire_tables(awg: int) -> None:
    # IEC 60028 resistivity over the ASTM B258 area.
    assert copper_ohm_per_km(awg_area_mm2(awg)) == pytest.approx(TABLES[awg], rel=0.003)
