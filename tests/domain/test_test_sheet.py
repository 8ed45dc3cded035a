"""The test sheet of a run. Expected checks: written by hand from the wires of small cables; the open pairs also by
brute force over every two groups."""

from dataclasses import replace
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.domain.continuity import Spot, groups_of, name_of
from server.domain.model.plan import RunPlan
from server.domain.output_limits import sensed
from server.domain.test_sheet import Readings, TestSheet, sheet_of, verdict_of
from tests.domain.hand_plans import (
    CPU_PORT,
    GOOD,
    crimped_chain,
    extended,
    four_wires,
    proved,
    straight_wire,
    through_chain,
    with_double,
    with_jumper,
    with_sense_line,
    with_splice,
)
from tests.domain.scenes import examples


def sheet(run: RunPlan, *, metered: bool = True) -> TestSheet:
    return sheet_of(run, metered=metered)


def good(made: TestSheet) -> Readings:
    return Readings(
        {check.key: True for check in made.joins},
        {row.key: "" for row in made.rows},
        {check.key: check.spans[0].low_v for check in made.volts if check.kind != "ground"},
        {check.key: True for check in made.volts if check.kind == "ground"},
    )


# ---- two plugs of four, crossed over: 1 and 2 take COM from 3 and 4, 3 and 4 take +12V from 1 and 2 ----------------


def test_each_wire_is_one_join_from_its_source_to_its_part_cavity() -> None:
    joins = [(check.key, check.one_name, check.other_name) for check in sheet(four_wires().run).joins]
    assert joins == [
        ("c:1-01", "Port a 3", "p1 cpu-4·1"),
        ("c:1-02", "Port a 4", "p1 cpu-4·2"),
        ("c:1-03", "Port a 1", "p1 cpu-4·3"),
        ("c:1-04", "Port a 2", "p1 cpu-4·4"),
    ]


def test_two_wires_of_com_are_held_against_two_of_12_v_once_each() -> None:
    made = sheet(four_wires().run)
    rows = [(row.held_name, [touch.name for touch in row.touches]) for row in made.rows]
    assert rows == [("Port a 3", ["p1 cpu-4·3", "p1 cpu-4·4"]), ("Port a 4", ["p1 cpu-4·3", "p1 cpu-4·4"])]
    assert made.pairs == 4


def test_12_v_is_read_at_both_cavities_against_com_of_the_same_plug() -> None:
    volts = [(c.name, c.black_name, c.words) for c in sheet(four_wires().run).volts]
    # The stricter of the published editions: 11.40 to 12.60 V.
    assert volts == [(f"p1 cpu-4·{n}", "p1 cpu-4·1", "11.40 to 12.60 V") for n in (3, 4)]


# ---- how wires are joined ------------------------------------------------------------------------------------------


def cavities_of(run: RunPlan, key: str) -> set[str]:
    group = next(group for group in groups_of(run) if group.key == key)
    return {name_of(run, spot) for spot in group.spots}


@pytest.mark.parametrize("made", [with_double, with_splice])
def test_a_double_and_a_splice_join_both_part_cavities_to_one_source_contact(made: object) -> None:
    run = made().run  # type: ignore[operator]
    assert cavities_of(run, "1-04") == {"Port a 8", "p1 graphics-8·4", "p1 graphics-8·6"}


def test_a_jumper_joins_its_neighbour_to_the_contact_it_is_bridged_from() -> None:
    # Part cavity 7 is fed from source 6, and bridged to 6 beside it.
    assert cavities_of(with_jumper().run, "1-07") == {"Port a 6", "p1 graphics-8·7", "p1 graphics-8·6"}


def test_a_pressed_wire_joins_its_source_to_every_plug_of_the_chain() -> None:
    assert cavities_of(through_chain().run, "1-01") == {"Port a 1", "A 1", "B 1", "C 1"}


def test_segments_of_a_crimped_chain_join_from_plug_to_plug() -> None:
    assert cavities_of(crimped_chain().run, "1-01") == {"Port a 1", "A 1", "B 1"}


def test_a_sense_line_is_joined_to_the_net_that_it_reads() -> None:
    made = sheet(with_sense_line().run)
    joins = {check.key: (check.one_name, check.other_name) for check in made.joins}
    assert joins["c:1-03s:start"] == ("Port a 1", "Port a 5")


# ---- properties ----------------------------------------------------------------------------------------------------


def pairs_by_brute_force(run: RunPlan) -> set[frozenset[str]]:
    """Every two groups that carry different nets."""
    return {frozenset((a.key, b.key)) for a, b in combinations(groups_of(run), 2) if a.net != b.net}


@pytest.mark.parametrize("name", GOOD)
def test_every_two_groups_of_different_nets_are_held_against_each_other_once(name: str) -> None:
    run = GOOD[name]().run
    told = [frozenset((row.group, touch.group)) for row in sheet(run).rows for touch in row.touches]
    assert len(told) == len(set(told))
    assert set(told) == pairs_by_brute_force(run)


@pytest.mark.parametrize("name", GOOD)
def test_a_group_of_n_cavities_has_n_less_one_joins(name: str) -> None:
    run = GOOD[name]().run
    made = sheet(run)
    assert len(made.joins) == sum(len(group.spots) - 1 for group in groups_of(run))
    assert len({check.key for check in made.joins}) == len(made.joins)


NETS = st.sampled_from(["COM", "+12V", "+5V", "+3.3V", "PS_ON#", "+5V_SENSE"])


@given(st.lists(st.tuples(NETS, st.integers(1, 6)), min_size=1, max_size=12))
@examples(150)
def test_open_pairs_are_complete_and_not_repeated_however_wires_share_contacts(ends: list[tuple[str, int]]) -> None:
    wires = tuple(
        straight_wire(f"1-{place:02}", net, f"{net}/{source}", str(place)) for place, (net, source) in enumerate(ends)
    )
    run = proved("cpu-4", (CPU_PORT,), wires).run
    made = sheet_of(replace(run, sources=(replace(run.sources[0], nets={}),)), metered=True)
    told = [frozenset((row.group, touch.group)) for row in made.rows for touch in row.touches]
    expected = {
        frozenset((f"1-{a:02}", f"1-{b:02}"))
        for a, b in combinations(range(len(ends)), 2)
        if (sensed(ends[a][0]) or ends[a][0]) != (sensed(ends[b][0]) or ends[b][0])
        # Wires of one source contact are told by the first of them.
        and ends.index(ends[a]) == a
        and ends.index(ends[b]) == b
    }
    assert len(told) == len(set(told)) == made.pairs
    assert set(told) == expected


# ---- verdict and mark ----------------------------------------------------------------------------------------------


def test_a_run_passes_once_everything_is_read_and_good() -> None:
    made = sheet(four_wires().run)
    assert verdict_of(made, good(made)).passed


def test_the_cable_alone_is_good_before_its_voltages_are_read() -> None:
    made = sheet(four_wires().run)
    verdict = verdict_of(made, replace(good(made), volts={}))
    assert (verdict.cold, verdict.passed) == (True, False)


def test_one_silent_join_fails_the_run() -> None:
    made = sheet(four_wires().run)
    read = good(made)
    verdict = verdict_of(made, replace(read, joined={**read.joined, "c:1-02": False}))
    assert verdict.bad == ("c:1-02",)


def test_a_voltage_below_the_published_limit_fails_the_run() -> None:
    made = sheet(four_wires().run)
    read = good(made)
    # 11.39 V lies below 11.40 V.
    assert verdict_of(made, replace(read, volts={**read.volts, "v:A:3": 11.39})).bad == ("v:A:3",)


def test_the_mark_changes_when_two_wires_change_places() -> None:
    run = four_wires().run
    one, two, *rest = run.wires
    other = replace(run, wires=(replace(one, source=two.source), replace(two, source=one.source), *rest))
    assert sheet(run).mark != sheet(other).mark


def test_the_mark_stays_when_a_part_gets_another_name() -> None:
    run = four_wires().run
    assert sheet(run).mark == sheet(replace(run, ends=(replace(run.ends[0], place="Other"),))).mark


def test_metering_the_supply_leaves_the_mark_so_that_a_cable_tested_before_stays_tested() -> None:
    run = four_wires().run
    assert sheet(run, metered=False).mark == sheet(run).mark


def test_a_run_from_a_header_of_the_board_has_no_voltage_from_the_supply_alone() -> None:
    run = four_wires().run
    header = replace(run.sources[0], ref=replace(run.sources[0].ref, part="p9"), place="Board")
    made = sheet(replace(run, sources=(header,)))
    assert made.volts == ()
    assert made.no_volts.startswith("Board feeds this cable, not the supply")


def test_an_extension_is_tested_from_its_mating_half_on() -> None:
    made = sheet(extended().run)
    assert [check.one for check in made.joins] == [Spot("source", 0, cavity) for cavity in "1234"]
