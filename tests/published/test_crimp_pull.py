"""Least pull-out force of a crimp against the published table, which gives it in two units; its source beside it."""

import pytest

from server.domain.reference import PULL_FORCE_N

# UL 486A, commercial column, as printed by two crimp application specifications and a terminal maker's test page
# (seen): AWG, N, pounds-force. That the column is the standard's is the usual attribution, from memory.
PRINTED = [
    (28, 8.9, 2),
    (26, 13.4, 3),
    (24, 22.3, 5),
    (22, 35.6, 8),
    (20, 57.9, 13),
    (18, 89.0, 20),
    (16, 133.5, 30),
    (14, 222.5, 50),
]
POUND_FORCE_N = 4.4482216152605
"""Exact: 0.45359237 kg under 9.80665 m/s2."""


def test_no_other_gauge_has_a_force() -> None:
    assert set(PULL_FORCE_N) == {awg for awg, _, _ in PRINTED}


@pytest.mark.parametrize(("awg", "newtons", "pounds"), PRINTED)
def test_the_least_force_is_the_printed_one_in_both_units(awg: int, newtons: float, pounds: int) -> None:
    assert PULL_FORCE_N[awg] == newtons
    # Printed newtons are the pounds-force at 4.45 N, to a tenth or two.
    assert PULL_FORCE_N[awg] == pytest.approx(pounds * POUND_FORCE_N, abs=0.2)
