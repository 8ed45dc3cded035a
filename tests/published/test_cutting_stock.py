"""The roll plan on published cutting-stock instances, against their proven optima.

None of them has a cutting loss. With a loss k per cut, every length s becomes s + k and every stock L becomes L + k, so
that the same instance with all pieces and the stock shorter by k has the same optimum (a standard transformation).
"""

import pytest

from server.domain.rolls import plan_rolls

Instance = tuple[list[tuple[float, int]], float, int]

PAPER: Instance = (
    [
        (1380, 22), (1520, 25), (1560, 12), (1710, 14), (1820, 18), (1880, 18), (1930, 20),
        (2000, 10), (2050, 12), (2100, 14), (2140, 16), (2150, 18), (2200, 20),
    ],
    5600,
    73,
)  # fmt: skip
"""Paper rolls: the worked example of the encyclopaedia article "Cutting stock problem", which states 73 and waste of
0.401 %; solved again by listing all patterns."""
AMPL: Instance = ([(20, 48), (45, 35), (50, 24), (55, 10), (75, 8)], 110, 47)
"""cut.dat of Fourer, Gay and Kernighan, "AMPL: A Modeling Language for Mathematical Programming"; optimum 47, solved
again by listing all patterns."""
CUTSTOCK: Instance = ([(7, 2), (5, 2), (3, 4)], 10, 4)
"""The cutstock instance among the tests of the MiniZinc language; optimum 4, by hand: 7 + 3 twice, 5 + 5, 3 + 3."""
TENTHS: Instance = ([(3.4, 34), (3.0, 13), (2.7, 5)], 12.0, 16)
"""An example of a cutting-stock package in a public package index; optimum 16, solved again by listing all patterns."""

INSTANCES = pytest.mark.parametrize(
    "instance", [PAPER, AMPL, CUTSTOCK, TENTHS], ids=["paper", "AMPL", "cutstock", "tenths"]
)


@INSTANCES
def test_the_published_number_of_rolls_is_bought_and_proved(instance: Instance) -> None:
    pieces, roll, rolls = instance
    plan = plan_rolls(pieces, [(roll, 1)], [], deadline_s=60)
    assert (plan.cost, plan.bound, plan.proved) == (rolls, rolls, True)


@INSTANCES
def test_the_number_stays_when_a_cutting_loss_is_taken_off_every_piece_and_roll(instance: Instance) -> None:
    pieces, roll, rolls = instance
    shorter = [(size - 1, count) for size, count in pieces]
    plan = plan_rolls(shorter, [(roll - 1, 1)], [], cut_loss_mm=1, deadline_s=60)
    assert (plan.cost, plan.proved) == (rolls, True)


def test_the_waste_of_the_paper_rolls_is_the_published_one() -> None:
    # Published: 0.401 % of the paper that is used up.
    pieces, roll, _ = PAPER
    plan = plan_rolls(pieces, [(roll, 1)], [], deadline_s=60)
    waste = sum(layout.left_mm for layout in plan.layouts) / (len(plan.layouts) * roll)
    assert waste == pytest.approx(0.00401, abs=0.000005)
