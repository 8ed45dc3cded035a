"""Where each cavity sits, seen from the wire side. Expected places: worked by hand on a sketch of each plug."""

import pytest

from server.domain.housings import cavities
from server.domain.model.catalogue import Catalogue, Housing
from tests.domain.scenes import housing


def places(shell: Housing) -> dict[str, tuple[float, int]]:
    """(column from the left, row from the top) by cavity."""
    return {cavity.name: (cavity.column, cavity.row) for cavity in cavities(shell)}


@pytest.mark.parametrize(
    ("cavity", "expected"),
    [
        pytest.param("1", (11, 1), id="1 at the right end of the row away from the latch"),
        pytest.param("12", (0, 1), id="12 at its left end"),
        pytest.param("13", (11, 0), id="13 in the latch row above 1"),
        pytest.param("24", (0, 0), id="24 at the left end of the latch row"),
        pytest.param("20", (4, 0), id="20, the empty one, above 8"),
        pytest.param("8", (4, 1), id="8 below 20"),
    ],
)
def test_a_24_position_plug_is_numbered_from_the_right_the_row_away_from_the_latch_first(
    cavity: str, expected: tuple[float, int]
) -> None:
    assert places(housing(24))[cavity] == expected


def test_a_four_position_plug_is_numbered_like_the_large_one() -> None:
    # Sketch, wire side, latch on top: upper row 4 3, lower row 2 1.
    assert places(housing(4)) == {"4": (0, 0), "3": (1, 0), "2": (0, 1), "1": (1, 1)}


def test_a_single_row_is_numbered_from_the_left() -> None:
    assert places(housing(4, 1, "single_row")) == {"1": (0, 0), "2": (1, 0), "3": (2, 0), "4": (3, 0)}


def test_a_header_plug_has_the_odd_numbers_in_one_row_and_the_even_ones_in_the_other() -> None:
    # Front-panel connectivity guide: 1 3 5 7 9 in one row, 2 4 6 8 10 in the other.
    shell = places(housing(10, 2, "odd_even"))
    rows = [[name for name in shell if shell[name][1] == row] for row in (0, 1)]
    assert rows == [["1", "3", "5", "7", "9"], ["2", "4", "6", "8", "10"]]


def test_a_header_plugs_pairs_stand_above_each_other() -> None:
    shell = places(housing(10, 2, "odd_even"))
    assert [shell[str(n)][0] for n in (1, 2, 9, 10)] == [0, 0, 4, 4]


def test_the_twelve_power_cavities_of_12_4_are_numbered_like_a_two_row_plug() -> None:
    shell = places(housing(16, 2, "twelve_plus_four", columns=6))
    assert (shell["1"], shell["6"], shell["7"], shell["12"]) == ((5, 1), (0, 1), (5, 0), (0, 0))


def test_only_the_four_sideband_cavities_of_12_4_are_signal_cavities() -> None:
    shell = cavities(housing(16, 2, "twelve_plus_four", columns=6))
    assert [cavity.name for cavity in shell if cavity.signal] == ["S1", "S2", "S3", "S4"]


def test_the_sideband_row_of_12_4_is_a_row_of_its_own() -> None:
    shell = cavities(housing(16, 2, "twelve_plus_four", columns=6))
    power = {cavity.row for cavity in shell if not cavity.signal}
    assert power.isdisjoint(cavity.row for cavity in shell if cavity.signal)


def test_every_shipped_housing_has_one_place_for_every_position(catalogue: Catalogue) -> None:
    wrong = [
        shell.id
        for shell in catalogue.housings.values()
        if len(set(places(shell).values())) != shell.positions or len(places(shell)) != shell.positions
    ]
    assert wrong == []


@pytest.mark.parametrize(
    "shell",
    [
        pytest.param(Housing("t", "p42", "t", "plug", "socket", 9, 2, 4, "two_row", "top", "", "", ""), id="2 x 4 = 9"),
        pytest.param(Housing("t", "p42", "t", "plug", "socket", 4, 2, 2, "single_row", "top", "", "", ""), id="2 rows"),
        pytest.param(Housing("t", "p42", "t", "plug", "socket", 4, 1, 4, "two_row", "top", "", "", ""), id="1 row"),
        pytest.param(Housing("t", "p42", "t", "plug", "socket", 3, 3, 1, "odd_even", "top", "", "", ""), id="3 rows"),
        pytest.param(
            Housing("t", "p30", "t", "plug", "socket", 12, 2, 6, "twelve_plus_four", "top", "", "", ""), id="12 of 16"
        ),
    ],
)  # fmt: skip
def test_a_numbering_that_does_not_go_with_the_grid_is_refused_by_the_housings_name(shell: Housing) -> None:
    with pytest.raises(ValueError, match=shell.id):
        cavities(shell)
