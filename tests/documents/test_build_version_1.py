"""Build documents of version 1 stay readable. The documents here were written by hand in that version's shape."""

import json
from collections.abc import Callable
from typing import Any

import pytest

from server.documents.build_json import read_build, write_build
from server.domain.errors import InvalidInputError
from server.domain.model.build import (
    Allowances,
    Build,
    Finish,
    Forbidden,
    Pinned,
    PlugRef,
    Route,
    RunFinish,
    SharedChoice,
    Spare,
)

AS_PROPOSED = """{
  "format": "loomwright-build",
  "version": 1,
  "build": {
    "name": "Old shelf machine", "supply": "one-24", "supply_version": 1,
    "parts": [
      {"id": "p1", "kind": "board", "name": "Board", "sockets": [{"id": "main", "pinout": "main-24"}], "chain": ""},
      {"id": "p2", "kind": "drive", "name": "Drive 1", "sockets": [{"id": "power", "pinout": "sata-15"}],
       "chain": "chain2-1"},
      {"id": "p3", "kind": "drive", "name": "Drive 2", "sockets": [{"id": "power", "pinout": "sata-15"}],
       "chain": "chain2-1"}
    ],
    "runs": [
      {"id": "r1", "number": 1,
       "sources": [{"part": "supply", "socket": "M1", "extra_mm": 0}],
       "ends": [{"part": "p1", "socket": "main", "extra_mm": 3.5}],
       "name": "", "route": {"length_mm": 320, "low_mm": null, "high_mm": null, "spacing_mm": []},
       "finish": {"awg": null, "insulation": null, "colour_mode": null, "pattern": null, "sleeve": null,
                  "sleeve_pattern": null, "shrink": null, "combs": null},
       "optional": [], "pins": [], "forbidden": [], "shared": [], "method": "scratch", "own_cable_mm": null},
      {"id": "r2", "number": 2,
       "sources": [{"part": "supply", "socket": "P1", "extra_mm": 0}],
       "ends": [{"part": "p2", "socket": "power", "extra_mm": 0}, {"part": "p3", "socket": "power", "extra_mm": 0}],
       "name": "Drives", "route": {"length_mm": null, "low_mm": 240, "high_mm": 300, "spacing_mm": [95]},
       "finish": {"awg": 18, "insulation": null, "colour_mode": null, "pattern": null, "sleeve": "",
                  "sleeve_pattern": null, "shrink": false, "combs": false},
       "optional": ["5"], "pins": [], "forbidden": [], "shared": [], "method": "scratch", "own_cable_mm": null}
    ],
    "finish": {"insulation": "plain", "awg_by_use": {}, "colour_mode": "pattern", "pattern": ["BK"], "sleeve": "small",
               "sleeve_pattern": ["BK", "TQ"], "shrink": true, "combs": true},
    "allowances": {"per_wire_mm": 10, "step_mm": 5, "spare_contacts_percent": 10, "spare_contacts_least": 2,
                   "spare_combs_per_run": 2},
    "rates": {"currency": "EUR", "hourly": "40", "overhead_percent": "10", "margin_percent": "15",
              "tax_percent": "20"},
    "client": "", "notes": "Drives are not placed yet.", "prices": {"pack-b": "2.50", "pack-a": "1"},
    "next_number": 3, "next_part": 4
  }
}"""
"""A build as the planner proposed it: every field of version 1 written out, allowances and spares as they came."""

SET_BY_HAND = """{
  "format": "loomwright-build",
  "version": 1,
  "build": {
    "name": "Old bench machine", "supply": "split-18-10", "supply_version": 3,
    "parts": [
      {"id": "p1", "kind": "board", "name": "Board", "sockets": [{"id": "main", "pinout": "main-24"}], "chain": ""}
    ],
    "runs": [
      {"id": "r4", "number": 4,
       "sources": [{"part": "supply", "socket": "M1", "extra_mm": 0},
                   {"part": "supply", "socket": "M2", "extra_mm": 35}],
       "ends": [{"part": "p1", "socket": "main", "extra_mm": 0}],
       "name": "Main", "route": {"length_mm": 610.5, "low_mm": null, "high_mm": null, "spacing_mm": []},
       "finish": {"awg": 20, "insulation": "clear", "colour_mode": "by_net", "pattern": ["RD", "BK"], "sleeve": "small",
                  "sleeve_pattern": ["WH"], "shrink": true, "combs": null},
       "optional": [],
       "pins": [{"cavity": "10", "part": "supply", "socket": "M1", "source_cavity": "4"}],
       "forbidden": [{"part": "supply", "socket": "M2", "cavity": "7"}],
       "shared": [{"part": "supply", "socket": "M1", "cavity": "2", "remedy": "splice"}],
       "method": "rework", "own_cable_mm": 550}
    ],
    "finish": {"insulation": "high_temperature", "awg_by_use": {"main": 18, "cpu": 16}, "colour_mode": "by_net",
               "pattern": ["BK"], "sleeve": "", "sleeve_pattern": ["BK"], "shrink": false, "combs": false},
    "allowances": {"per_wire_mm": 25, "step_mm": 1, "spare_contacts_percent": 20, "spare_contacts_least": 2,
                   "spare_combs_per_run": 0},
    "rates": {"currency": "JPY", "hourly": "5500", "overhead_percent": "0", "margin_percent": "12.5",
              "tax_percent": "10"},
    "client": "Somebody", "notes": "", "prices": {}, "next_number": 5, "next_part": 2
  }
}"""
"""A build whose allowances, spares, finish and wires were set by hand."""

NAME_ALONE = '{"format": "loomwright-build", "version": 1, "build": {"name": "Empty"}}'
"""A document that leaves out whatever may be left out."""


def changed(change: Callable[[dict[str, Any]], object]) -> str:
    """The first document after a change to its ``build`` object."""
    whole = json.loads(AS_PROPOSED)
    change(whole["build"])
    return json.dumps(whole)


def refusal(text: str) -> list[tuple[str, str]]:
    with pytest.raises(InvalidInputError) as caught:
        read_build(text)
    return [(problem.field, problem.message) for problem in caught.value.problems]


def test_an_allowance_per_wire_becomes_half_of_it_at_each_end() -> None:
    # By hand: 25 mm for the whole wire are 12.5 mm at each of its two ends; no slack was known.
    allowances = read_build(SET_BY_HAND).allowances
    assert (allowances.recrimp_mm, allowances.slack_mm, allowances.step_mm) == (12.5, 0.0, 1.0)


def test_spares_set_by_hand_stay_as_set() -> None:
    # 20 % of the contacts, at least 2; no spare comb. Heat-shrink was never set.
    assert read_build(SET_BY_HAND).allowances.spares == {"contacts": Spare(20.0, 2), "combs": Spare(0.0, 0)}


def test_spares_left_as_they_came_follow_the_skill() -> None:
    # 10 %, 2 and 2 were the planner's own figures, nobody's choice.
    assert read_build(AS_PROPOSED).allowances == Allowances()


@pytest.mark.parametrize(
    ("field", "value", "spares"),
    [
        ("spare_contacts_percent", 0, {"contacts": Spare(0.0, 2)}),
        ("spare_contacts_least", 5, {"contacts": Spare(10.0, 5)}),
        ("spare_combs_per_run", 1, {"combs": Spare(0.0, 1)}),
    ],
)
def test_one_spare_set_by_hand_leaves_the_others_to_the_skill(field: str, value: int, spares: dict[str, Spare]) -> None:
    assert read_build(changed(lambda b: b["allowances"].update({field: value}))).allowances.spares == spares


@pytest.mark.parametrize(("text", "end"), [(AS_PROPOSED, "shrink"), (SET_BY_HAND, "loose"), (NAME_ALONE, "shrink")])
def test_heat_shrink_on_or_off_becomes_the_way_sleeve_ends_are_held(text: str, end: str) -> None:
    assert read_build(text).finish.sleeve_end == end


@pytest.mark.parametrize(("shrink", "end"), [(True, "shrink"), (False, "loose"), (None, None)])
def test_heat_shrink_of_one_run_is_lifted_and_nothing_chosen_stays_so(shrink: bool | None, end: str | None) -> None:
    lifted = read_build(changed(lambda b: b["runs"][0]["finish"].update(shrink=shrink)))
    assert lifted.runs[0].finish.sleeve_end == end


def test_a_run_of_version_1_comes_back_whole() -> None:
    # Field by field from the document above.
    run = read_build(SET_BY_HAND).runs[0]
    assert (run.id, run.number, run.name, run.route) == ("r4", 4, "Main", Route(length_mm=610.5))
    assert run.sources == (PlugRef("supply", "M1"), PlugRef("supply", "M2", 35.0))
    assert run.finish == RunFinish(20, "clear", "by_net", ("RD", "BK"), "small", ("WH",), "shrink")
    assert (run.pins, run.forbidden) == ((Pinned("10", "supply", "M1", "4"),), (Forbidden("supply", "M2", "7"),))
    assert run.shared == (SharedChoice("supply", "M1", "2", "splice"),)
    assert (run.method, run.own_cable_mm, run.branching) == ("rework", 550.0, "chain")


def test_a_chain_with_a_range_comes_back_without_a_likely_value() -> None:
    run = read_build(AS_PROPOSED).runs[1]
    assert run.route == Route(low_mm=240.0, high_mm=300.0, spacing_mm=(95.0,))
    assert run.finish == RunFinish(awg=18, sleeve="", sleeve_end="loose", combs=False)
    assert (run.ends, run.optional) == ((PlugRef("p2", "power"), PlugRef("p3", "power")), ("5",))


def test_everything_that_did_not_change_shape_is_kept() -> None:
    whole = json.loads(SET_BY_HAND)["build"]
    again = json.loads(write_build(read_build(SET_BY_HAND)))["build"]
    same = ("name", "supply", "supply_version", "parts", "rates", "client", "notes", "prices", "next_number")
    assert {key: again[key] for key in same} == {key: whole[key] for key in same}
    assert again["finish"]["awg_by_use"] == {"cpu": 16, "main": 18}


def test_a_document_of_a_name_alone_is_a_build_with_every_default() -> None:
    assert read_build(NAME_ALONE) == Build(name="Empty", finish=Finish(sleeve_end="shrink"))


@pytest.mark.parametrize("text", [AS_PROPOSED, SET_BY_HAND, NAME_ALONE])
def test_a_document_of_version_1_is_written_back_as_version_2_and_means_the_same(text: str) -> None:
    # Property: lifting loses nothing that version 2 can say.
    written = write_build(read_build(text))
    assert json.loads(written)["version"] == 2
    assert read_build(written) == read_build(text)


@pytest.mark.parametrize(
    ("change", "field"),
    [
        (lambda b: b.update(colour="red"), "colour"),
        (lambda b: b["allowances"].update(slack_mm=5), "allowances.slack_mm"),
        (lambda b: b["allowances"].update(spares={}), "allowances.spares"),
        (lambda b: b["finish"].update(sleeve_end="shrink"), "finish.sleeve_end"),
        (lambda b: b["runs"][0].update(branching="fork"), "runs.0.branching"),
        (lambda b: b["runs"][0]["route"].update(steps=[]), "runs.0.route.steps"),
        (lambda b: b["runs"][0]["ends"][0].update(tail_mm=5), "runs.0.ends.0.tail_mm"),
        (lambda b: b["runs"][0]["finish"].update(shrink_size=""), "runs.0.finish.shrink_size"),
    ],
)
def test_a_field_that_version_1_did_not_have_is_refused_by_name(
    change: Callable[[dict[str, Any]], object], field: str
) -> None:
    assert refusal(changed(change)) == [(field, "This planner knows no such field.")]


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("per_wire_mm", -1),
        ("per_wire_mm", 1001),
        ("spare_contacts_percent", -0.5),
        ("spare_contacts_least", 10_001),
        ("spare_combs_per_run", -1),
    ],
)
def test_an_allowance_out_of_its_range_is_refused_under_its_old_name(field: str, value: float) -> None:
    found = refusal(changed(lambda b: b["allowances"].update({field: value})))
    assert [where for where, _ in found] == [f"allowances.{field}"]


def test_an_allowance_at_its_old_limit_is_still_read() -> None:
    # By hand: 1000 mm for the whole wire, 500 mm at each end.
    lifted = read_build(changed(lambda b: b["allowances"].update(per_wire_mm=1000)))
    assert lifted.allowances.recrimp_mm == 500.0


def test_a_length_out_of_range_is_refused_at_its_place() -> None:
    found = refusal(changed(lambda b: b["runs"][1]["route"].update(high_mm=200)))
    assert found == [("runs.1.route.high_mm", "The high end lies below the low end.")]
