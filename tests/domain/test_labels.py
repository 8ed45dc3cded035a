"""Which wires get labels and what stands on them, against plans written by hand."""

from dataclasses import replace

import pytest

from server.domain.labels import NO_BREAK, LabelSettings, first_problems, labels_of, waits_words
from tests.domain.hand_plans import crimped_chain, four_wires, reworked, through_chain, with_splice

ALL = LabelSettings(lines=("label", "plug", "cavity", "net", "colour"))


def told(settings: LabelSettings = ALL) -> list[tuple[str, ...]]:
    return [label.lines for label in labels_of((four_wires().run,), settings)]


def test_each_wire_gets_one_label_at_each_end_in_ribbon_order() -> None:
    # By hand: part cavities 1 to 4 are fed from 3, 4, 1 and 2.
    labels = labels_of((four_wires().run,), ALL)
    assert [(label.wire, label.end, label.cavity) for label in labels] == [
        ("1-01", "source", "3"), ("1-01", "part", "1"), ("1-02", "source", "4"), ("1-02", "part", "2"),
        ("1-03", "source", "1"), ("1-03", "part", "3"), ("1-04", "source", "2"), ("1-04", "part", "4"),
    ]  # fmt: skip
    assert labels[0].net == "COM"


def test_only_the_lines_chosen_stand_on_a_label() -> None:
    assert told(LabelSettings(lines=("label", "net")))[0] == ("1-01", "COM")
    assert told(LabelSettings(lines=("colour", "label")))[0] == ("1-01", "BK")
    assert told(LabelSettings(lines=("cavity",)))[:2] == [("3",), ("1",)]


def test_plug_and_cavity_stand_on_one_line_that_does_not_break() -> None:
    place = told()[0][1]
    assert place.endswith(("·3", f"{NO_BREAK}3"))


def test_both_labels_of_a_wire_are_alike_where_both_places_are_asked_for() -> None:
    alike = told(replace(ALL, says="both"))
    assert alike[0] == alike[1]
    own = told()
    assert alike[0] == ("1-01", own[0][1], own[1][1], "COM", "BK")


def test_one_end_only_and_several_copies() -> None:
    labels = labels_of((four_wires().run,), replace(ALL, ends="part", copies=3))
    assert [label.wire for label in labels] == [f"1-0{n}" for n in (1, 1, 1, 2, 2, 2, 3, 3, 3, 4, 4, 4)]
    assert {label.end for label in labels} == {"part"}


def test_a_wire_that_starts_in_a_chain_is_labelled_at_the_plug_before_it() -> None:
    second = [label for label in labels_of((crimped_chain().run,), ALL) if label.wire == "1b-01"]
    assert [(label.plug, label.cavity) for label in second] == [("A", "1"), ("B", "1")]


def test_a_wire_that_runs_through_is_labelled_where_it_ends() -> None:
    labels = labels_of((through_chain().run,), ALL)
    assert [label.plug for label in labels if label.end == "part"] == ["C"] * 4


def test_an_end_that_is_joined_to_another_wire_says_to_which() -> None:
    joined = next(label for label in labels_of((with_splice().run,), ALL) if label.wire == "1-06")
    assert (joined.plug, joined.cavity, joined.lines[1]) == ("to 1-04", "", "to 1-04")


def test_the_supplys_own_wire_has_no_colour_of_ours() -> None:
    own = reworked().run
    own = replace(own, wires=tuple(replace(wire, buy_mm=0, own_mm=300) for wire in own.wires))
    assert {label.colour for label in labels_of((own,), ALL)} == {""}


@pytest.mark.parametrize("change", [{"state": "range"}, {"state": "unmeasured"}, {"proved": False}])
def test_wires_of_a_run_that_waits_are_left_out_with_the_reason(change: dict[str, object]) -> None:
    run = replace(four_wires().run, **change)  # type: ignore[arg-type]
    assert labels_of((run,), ALL) == ()
    assert waits_words(run)
    assert waits_words(four_wires().run) == ""


def test_runs_that_are_not_chosen_get_none() -> None:
    run = four_wires().run
    assert labels_of((run,), ALL, {run.id}) == ()


def test_the_first_free_label_is_one_of_the_sheet() -> None:
    assert first_problems(replace(ALL, first=60)) == ()
    assert first_problems(replace(ALL, first=61))[0].field == "first"
