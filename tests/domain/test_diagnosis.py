"""Which fault a test sheet points to. Readings come from an own simulation of the faulty cable (``cable_bench``), or
are written by hand; the fault that was put in must be among the likeliest."""

from dataclasses import replace
from functools import cache

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.documents.build_json import read_build
from server.domain.cable_faults import cable_faults
from server.domain.diagnosis import Fault, likely_faults
from server.domain.model.plan import RunPlan
from server.domain.plan import plan
from server.domain.test_sheet import Readings, TestSheet, sheet_of
from tests.domain.cable_bench import PutIn, every_fault, reads, visible
from tests.domain.hand_plans import GOOD, four_wires
from tests.domain.scenes import EXAMPLES, examples, shipped_catalogue


@cache
def runs(example: str) -> tuple[RunPlan, ...]:
    build = read_build((EXAMPLES / f"{example}.json").read_bytes())
    return tuple(run for run in plan(build, shipped_catalogue()).runs if run.wires)


def told(run: RunPlan, sheet: TestSheet, readings: Readings) -> tuple[Fault, ...]:
    return likely_faults(run, sheet, readings, shipped_catalogue().housings)


def best(faults: tuple[Fault, ...]) -> list[Fault]:
    """Faults that fit best, with those that read alike."""
    first = [fault for fault in faults if fault.contradicts == faults[0].contradicts]
    return [each for fault in first for each in (fault, *fault.also)]


def names(faults: list[Fault], put_in: PutIn) -> bool:
    return any(fault.kind == put_in.kind and put_in.spots <= set(fault.spots) for fault in faults)


def check(run: RunPlan, put_in: PutIn, pick: int = 0) -> None:
    sheet = sheet_of(run, metered=True)
    readings = reads(sheet, put_in, pick=pick)
    faults = told(run, sheet, readings)
    if not visible(sheet, readings):
        assert faults == ()
        return
    assert faults[0].contradicts == 0, (put_in.kind, put_in.spots)
    assert names(best(faults), put_in), (put_in.kind, put_in.spots, [fault.words for fault in best(faults)])


def test_an_exchange_between_two_plugs_is_told_as_that_and_one_within_a_plug_is_not() -> None:
    seen = {True: 0, False: 0}
    for make in GOOD.values():
        for fault in cable_faults(make().run, shipped_catalogue().housings):
            if fault.kind == "exchanged":
                one, other = fault.spots
                between = (one.side, one.plug) != (other.side, other.plug)
                assert ("between two plugs" in fault.words) == between, fault.words
                seen[between] += 1
    assert min(seen.values()) > 0


# ---- faults put in -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", GOOD)
def test_every_single_fault_of_a_small_cable_is_among_the_likeliest(name: str) -> None:
    run = GOOD[name]().run
    for put_in in every_fault(run, shipped_catalogue().housings):
        check(run, put_in)


@pytest.mark.parametrize("example", ["compact", "large"])
@given(data=st.data())
@examples(120)
def test_a_single_fault_of_any_run_of_the_examples_is_among_the_likeliest(example: str, data: st.DataObject) -> None:
    run = data.draw(st.sampled_from(runs(example)), label="run")
    faults = _faults(example, run.id)
    check(run, faults[data.draw(st.integers(0, len(faults) - 1), label="fault")], data.draw(st.integers(0, 5)))


@cache
def _faults(example: str, run_id: str) -> tuple[PutIn, ...]:
    run = next(run for run in runs(example) if run.id == run_id)
    return tuple(every_fault(run, shipped_catalogue().housings))


@given(data=st.data())
@examples(60)
def test_a_fault_is_never_contradicted_by_the_part_of_its_readings_that_is_filled_in(data: st.DataObject) -> None:
    run = data.draw(st.sampled_from(runs("compact")), label="run")
    faults = _faults("compact", run.id)
    put_in = faults[data.draw(st.integers(0, len(faults) - 1), label="fault")]
    sheet = sheet_of(run, metered=True)
    whole = reads(sheet, put_in)
    keys = [*whole.joined, *whole.sounds]
    kept = set(data.draw(st.lists(st.sampled_from(keys), unique=True), label="filled in"))
    part = Readings(
        {key: value for key, value in whole.joined.items() if key in kept},
        {key: value for key, value in whole.sounds.items() if key in kept},
    )
    faults_told = told(run, sheet, part)
    # Whatever is told explains all that is filled in, since the fault that was put in does.
    assert bool(faults_told) == visible(sheet, part)
    assert all(fault.contradicts == 0 for fault in faults_told[:1])


# ---- worked by hand: 1 and 2 take COM from 3 and 4, 3 and 4 take +12V from 1 and 2 ----------------------------------

NAMES = ("1-01", "1-02", "1-03", "1-04")


def read(joined: str, rows: tuple[str, str] = ("", ""), volts: tuple[float, ...] = ()) -> Readings:
    """``joined`` says x for a silent join, in the order of the wires; volts are those of cavities 3 and 4."""
    return Readings(
        {f"c:{name}": word != "x" for name, word in zip(NAMES, joined, strict=True)},
        dict(zip(("o:1-01", "o:1-02"), rows, strict=True)),
        dict(zip(("v:A:3", "v:A:4"), volts, strict=False)),
    )


def first(readings: Readings) -> Fault:
    run = four_wires().run
    return told(run, sheet_of(run, metered=True), readings)[0]


def test_a_sound_cable_has_no_fault() -> None:
    run = four_wires().run
    assert told(run, sheet_of(run, metered=True), read("....", volts=(12.0, 12.1))) == ()


def test_two_silent_wires_whose_com_sounds_with_the_other_net_are_exchanged() -> None:
    # 1-01 and 1-03 exchanged at the part end: source 3 leads to cavity 3, source 1 to cavity 1; the row of 1-01 (held
    # on source 3) sounds at cavity 3.
    fault = first(read("x.x.", ("1-03", "")))
    assert (fault.kind, "1-01 and 1-03 are exchanged at" in fault.words) == ("exchanged", True)


def test_a_swapped_pair_of_neighbours_comes_before_one_of_cavities_apart() -> None:
    # 2 rows of 2: part cavities 1 and 3 are neighbours (one above the other); source 3 and 1 likewise.
    fault = first(read("x.x.", ("1-03", "")))
    assert fault.near == 1


def test_one_silent_wire_with_all_else_as_expected_makes_no_contact() -> None:
    fault = first(read(".x.."))
    assert fault.words == "1-02 makes no contact at the supply end (cavity 4 of Port a)"


def test_the_other_end_of_the_same_wire_reads_alike_and_is_told_with_it() -> None:
    also = [fault.words for fault in first(read(".x..")).also]
    assert "1-02 makes no contact at the part end (cavity 2 of p1 cpu-4)" in also


def test_all_joins_good_and_two_nets_sounding_touch_each_other() -> None:
    fault = first(read("....", ("1-03", "")))
    assert (fault.kind, "1-01 and 1-03 touch" in fault.words) == ("short", True)


def test_nothing_at_any_voltage_of_a_good_cable_says_that_the_supply_is_not_on() -> None:
    words = first(read("....", volts=(0.0, 0.01))).words
    assert words == "the supply is not switched on"


def test_minus_12_v_everywhere_says_that_the_probes_are_exchanged() -> None:
    assert first(read("....", volts=(-12.0, -12.1))).kind == "meter"


def test_12_v_that_is_low_everywhere_lies_with_the_supply() -> None:
    # 10.9 V lies below 11.40 V, and no load flows that a wire could lose voltage by.
    assert "+12V output itself is too low" in first(read("....", volts=(10.9, 10.9))).words


def test_5_v_at_one_cavity_of_a_good_cable_says_that_the_port_carries_another_net() -> None:
    fault = first(read("....", volts=(5.02, 12.1)))
    assert fault.words.startswith("the supply carries +5V at Port a 1, where +12V is recorded")


def test_more_than_one_thing_wrong_names_at_most_five_and_says_what_speaks_against_each() -> None:
    # A COM wire and a +12V wire are silent, and nothing sounds: exchanged they would, so that both are open.
    run = four_wires().run
    faults = told(run, sheet_of(run, metered=True), read("x.x."))
    assert 1 <= len(faults) <= 5
    assert all(fault.contradicts > 0 for fault in faults)


def test_the_same_readings_give_the_same_causes_in_the_same_order() -> None:
    run = four_wires().run
    sheet, readings = sheet_of(run, metered=True), read("xx..")
    assert told(run, sheet, readings) == told(replace(run), sheet, readings)
