"""What is bought beyond what is counted. Expected values: the table of spares, and shares by hand."""

from dataclasses import replace

import pytest

from server.domain.model.build import Allowances, Skill, Spare, SpareOf
from server.domain.model.catalogue import Catalogue
from server.domain.plan.buying import spare_count
from tests.domain.length_scenes import Case, cpu, planned, with_allowances, with_finish
from tests.domain.scenes import built, measured


def spare(case: Case, kind: str) -> dict[str, tuple[int, int]]:
    """What is bought of a kind, and how much of it is spare, by item."""
    return {buy.item: (buy.needed, buy.spare) for buy in planned(case).buys if buy.kind == kind}


@pytest.mark.parametrize(
    ("skill", "contacts", "tubes", "combs"),
    [("first_cables", 6, 4, 2), ("practised", 2, 2, 2), ("every_day", 2, 1, 2)],
)
def test_spares_follow_from_how_often_one_makes_cables(
    catalogue: Catalogue, skill: Skill, contacts: int, tubes: int, combs: int
) -> None:
    # By hand: sixteen contacts: 25 % is 4, at least 6; 10 % 1.6, at least 2; 5 % 0.8, at least 2. Sixteen tubes of
    # 14 mm: 20 % is 3.2, up to 4; 10 % 1.6, up to 2; 5 % 0.8, up to 1. Three combs, two spare on a run.
    case = with_allowances(cpu(catalogue), skill=skill)
    assert spare(case, "contact") == {"p42-socket-16": (16 + contacts, contacts)}
    assert spare(case, "shrink") == {"s3-16": ((16 + tubes) * 14, tubes * 14)}
    assert spare(case, "comb") == {"comb-8": (3 + combs, combs)}


@pytest.mark.parametrize(("kind", "bought"), [("contacts", (23, 7)), ("shrink", (23 * 14, 7 * 14)), ("combs", (5, 2))])
def test_spares_set_by_hand_stand_over_those_of_the_skill(
    catalogue: Catalogue, kind: SpareOf, bought: tuple[int, int]
) -> None:
    # By hand: 40 % of sixteen is 6.4, up to 7; 40 % of three combs is 1.2, up to 2.
    case = with_allowances(cpu(catalogue), skill="first_cables", spares={kind: Spare(40, 0)})
    item = {"contacts": "contact", "shrink": "shrink", "combs": "comb"}[kind]
    assert list(spare(case, item).values()) == [bought]


def test_no_spares_are_bought_where_none_are_wanted(catalogue: Catalogue) -> None:
    none = {kind: Spare(0, 0) for kind in ("contacts", "shrink", "combs")}
    found = planned(with_allowances(cpu(catalogue), spares=none))
    assert {buy.spare for buy in found.buys} == {0}


@pytest.mark.parametrize(
    ("number", "percent", "least", "count"),
    [(100, 7, 0, 7), (30, 10, 0, 3), (31, 10, 0, 4), (1, 10, 2, 2), (200, 0.5, 0, 1), (3, 100, 0, 3)],
)
def test_a_share_is_rounded_up_exactly(number: int, percent: float, least: int, count: int) -> None:
    # By hand: 7 % of 100 is 7 and not 8; 10 % of 31 is 3.1, up to 4.
    assert spare_count(number, Allowances(spares={"contacts": Spare(percent, least)}), "contacts") == count


def test_the_share_of_contacts_is_taken_of_the_whole_build(catalogue: Catalogue) -> None:
    # By hand: two CPU inlets, eight wires each: 32 contacts; 10 % is 3.2, up to 4. Run by run it would be 2 + 2.
    build = measured(built(catalogue, "split-14-10", [("board-large", 1)]))
    runs = tuple(run for run in build.runs if run.ends[0].socket.startswith("cpu"))
    case = replace(build, runs=runs), catalogue
    assert spare(case, "contact")["p42-socket-16"] == (36, 4)


def test_spare_combs_are_bought_for_every_run(catalogue: Catalogue) -> None:
    # By hand: 500 mm, three combs on each of two runs, two spare on each.
    build = measured(built(catalogue, "split-14-10", [("board-large", 1)]))
    runs = tuple(run for run in build.runs if run.ends[0].socket.startswith("cpu"))
    assert spare((replace(build, runs=runs), catalogue), "comb") == {"comb-8": (10, 4)}


def test_tubes_that_are_taken_off_again_have_spares_too(catalogue: Catalogue) -> None:
    case = with_finish(cpu(catalogue), sleeve_end="melted")
    assert spare(case, "shrink") == {"s3-16": (18 * 14, 2 * 14)}


def test_wire_sleeve_and_housings_have_no_spares(catalogue: Catalogue) -> None:
    found = planned(with_allowances(cpu(catalogue), skill="first_cables"))
    assert {buy.kind for buy in found.buys if buy.spare} == {"contact", "shrink", "comb"}
