"""What one state of a build costs beyond another. Every expected value is worked out by hand from the two states."""

from dataclasses import replace
from decimal import Decimal

import pytest

from server.domain.differences import NOTHING, Difference, Digest, WireFacts, difference

ONE = WireFacts("1-1", 400, "BK", 18, "plain")
TWO = WireFacts("1-2", 400, "YE", 18, "plain")
BEFORE = Digest({"r1": 1}, {"a": ONE, "b": TWO}, Decimal(20), Decimal(60), Decimal(90), "EUR", complete=True)


def since(**changed: object) -> Difference:
    return difference(BEFORE, replace(BEFORE, **changed))


def with_first(**changed: object) -> Difference:
    """The first wire changed, the second as it was."""
    return since(wires={"a": replace(ONE, **changed), "b": TWO})


def test_nothing_differs_from_itself() -> None:
    assert difference(BEFORE, BEFORE).nothing


def test_a_wire_of_another_identity_is_new_and_the_old_one_gone() -> None:
    found = since(wires={"a": ONE, "c": replace(TWO, label="2-1")})
    assert (found.new, found.gone) == (("2-1",), ("1-2",))


@pytest.mark.parametrize(
    ("field", "value", "told"),
    [
        ("length_mm", 405, "longer"),
        ("length_mm", 395, "shorter"),
        ("colour", "RD", "recoloured"),
        ("awg", 16, "regauged"),
        ("insulation", "clear", "regauged"),
    ],
)
def test_a_wire_that_stays_is_told_by_what_changed_of_it(field: str, value: object, told: str) -> None:
    found = with_first(**{field: value})
    lists = ("new", "gone", "longer", "shorter", "recoloured", "regauged")
    assert [name for name in lists if getattr(found, name)] == [told]
    assert getattr(found, told) == ("1-1",)


def test_length_is_counted_over_all_wires() -> None:
    # 400 + 400 before, 450 + 400 + 100 after.
    found = since(wires={"a": replace(ONE, length_mm=450), "b": TWO, "c": replace(TWO, length_mm=100)})
    assert found.wire_mm == 150


def test_runs_are_told_by_their_numbers() -> None:
    found = since(runs={"r2": 2, "r3": 3})
    assert (found.runs_added, found.runs_gone) == ((2, 3), (1,))


def test_money_and_hours_are_subtracted() -> None:
    found = since(materials=Decimal("24.50"), total=Decimal(85), minutes=Decimal(75))
    assert (found.materials, found.total, found.minutes) == (Decimal("4.50"), Decimal(-5), Decimal(15))


def test_money_of_another_currency_is_not_subtracted() -> None:
    found = since(currency="GBP")
    assert (found.materials, found.total, found.nothing) == (None, None, False)


def test_a_difference_is_incomplete_where_either_side_is() -> None:
    assert not since(complete=False).complete
    assert not difference(replace(BEFORE, complete=False), BEFORE).complete


def test_everything_of_a_first_revision_is_new() -> None:
    found = difference(NOTHING, BEFORE)
    assert (found.new, found.runs_added, found.total) == (("1-1", "1-2"), (1,), Decimal(90))
