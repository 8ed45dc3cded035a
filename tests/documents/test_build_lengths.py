"""Routes, allowances and spares in a build document: what is refused, and where. Expected: the rules of the format."""

import json
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from server.documents.build_json import read_build, write_build
from server.domain.errors import InvalidInputError
from server.domain.model.build import Allowances, Build, Part, PlugRef, Route, Run, Socket, Spare, SpareOf
from server.domain.model.route import RouteStep

LEG = {"kind": "leg", "length_mm": 200}
BEND = {"kind": "left", "angle_deg": 90, "radius_mm": 60}
TWIST = {"kind": "twist", "length_mm": 80, "angle_deg": -90}
STEPS = (
    RouteStep("leg", length_mm=200.0),
    RouteStep("left", angle_deg=90.0, radius_mm=60.0),
    RouteStep("twist", length_mm=80.0, angle_deg=-90.0),
)
WALKED = Build(
    name="Bench",
    parts=(Part("board", "board", "Board", (Socket("main", "main-24"),)),),
    runs=(Run("r1", 1, (PlugRef("supply", "M1"),), (PlugRef("board", "main"),), route=Route(steps=STEPS)),),
    next_number=2,
)

Change = Callable[[dict[str, Any]], object]


def document(change: Change) -> str:
    whole = json.loads(write_build(WALKED))
    change(whole["build"])
    return json.dumps(whole)


def refusal(change: Change) -> list[tuple[str, str]]:
    with pytest.raises(InvalidInputError) as caught:
        read_build(document(change))
    return [(problem.field, problem.message) for problem in caught.value.problems]


def route(**fields: object) -> Change:
    return lambda build: build["runs"][0].update(route=fields)


def allowances(**fields: object) -> Change:
    return lambda build: build.update(allowances=fields)


def test_a_route_by_legs_and_bends_may_leave_out_what_a_step_does_not_have() -> None:
    assert read_build(document(route(steps=[LEG, BEND, TWIST]))).runs[0].route == Route(steps=STEPS)


def test_a_range_may_stand_beside_legs_and_bends() -> None:
    read = read_build(document(route(steps=[LEG], low_mm=180, likely_mm=200, high_mm=220)))
    assert read.runs[0].route == Route(None, 180.0, 200.0, 220.0, STEPS[:1])


def test_a_range_may_stand_beside_a_measured_length_outside_it() -> None:
    # What was measured may surprise; the range is kept so that it can be told.
    read = read_build(document(route(length_mm=300, low_mm=180, high_mm=220)))
    assert read.runs[0].route == Route(300.0, 180.0, None, 220.0)


STEP = "runs.0.route.steps.0"
REFUSED_STEPS: list[tuple[str, dict[str, object], str]] = [
    ("a kind nobody knows", {"kind": "loop", "length_mm": 5}, f"{STEP}.kind"),
    ("a step without a kind", {"length_mm": 5}, f"{STEP}.kind"),
    ("a field nobody knows", {**LEG, "depth_mm": 5}, f"{STEP}.depth_mm"),
    ("a leg without a length", {"kind": "leg"}, f"{STEP}.length_mm"),
    ("a leg of nothing", {**LEG, "length_mm": 0}, f"{STEP}.length_mm"),
    ("a negative leg", {**LEG, "length_mm": -5}, f"{STEP}.length_mm"),
    ("a leg of metres", {**LEG, "length_mm": 5001}, f"{STEP}.length_mm"),
    ("a leg that turns", {**LEG, "angle_deg": 90}, f"{STEP}.angle_deg"),
    ("a leg with a radius", {**LEG, "radius_mm": 5}, f"{STEP}.radius_mm"),
    ("a bend that does not turn", {**BEND, "angle_deg": 0}, f"{STEP}.angle_deg"),
    ("a bend backwards", {**BEND, "angle_deg": -90}, f"{STEP}.angle_deg"),
    ("a bend round and round", {**BEND, "angle_deg": 361}, f"{STEP}.angle_deg"),
    ("a bend without a radius", {**BEND, "radius_mm": 0}, f"{STEP}.radius_mm"),
    ("a bend of metres", {**BEND, "radius_mm": 1001}, f"{STEP}.radius_mm"),
    ("a bend with a length", {**BEND, "length_mm": 5}, f"{STEP}.length_mm"),
    ("a twist that does not turn", {**TWIST, "angle_deg": 0}, f"{STEP}.angle_deg"),
    ("a twist of more than two turns", {**TWIST, "angle_deg": 721}, f"{STEP}.angle_deg"),
    ("a twist of more than two turns back", {**TWIST, "angle_deg": -721}, f"{STEP}.angle_deg"),
    ("a twist on the spot", {**TWIST, "length_mm": 0}, f"{STEP}.length_mm"),
    ("a twist with a radius", {**TWIST, "radius_mm": 5}, f"{STEP}.radius_mm"),
    ("a length in words", {**LEG, "length_mm": "200"}, f"{STEP}.length_mm"),
]  # fmt: skip


@pytest.mark.parametrize(("step", "field"), [pytest.param(s, f, id=name) for name, s, f in REFUSED_STEPS])
def test_a_step_out_of_its_limits_is_refused_at_its_place(step: dict[str, object], field: str) -> None:
    assert [where for where, _ in refusal(route(steps=[step]))] == [field]


@pytest.mark.parametrize(
    "step",
    [{**BEND, "angle_deg": 360, "radius_mm": 1000}, {**TWIST, "angle_deg": 720}, {**TWIST, "angle_deg": -720}],
)
def test_a_step_at_its_limits_is_read(step: dict[str, object]) -> None:
    assert len(read_build(document(route(steps=[step]))).runs[0].route.steps) == 1


def test_two_thousand_steps_are_read_and_one_more_is_refused() -> None:
    # STEPS_MOST is 2000.
    assert len(read_build(document(route(steps=[LEG] * 2000))).runs[0].route.steps) == 2000
    assert refusal(route(steps=[LEG] * 2001)) == [("runs.0.route.steps", "At most 2000 entries are read here.")]


REFUSED_ROUTES: list[tuple[str, Change, str]] = [
    ("a length and legs", route(length_mm=300, steps=[LEG]), "length_mm"),
    ("a range without a low end", route(high_mm=300), "low_mm"),
    ("a range without a high end", route(low_mm=300, likely_mm=320), "high_mm"),
    ("a likely value without a range", route(likely_mm=300), "likely_mm"),
    ("a likely value beside a length alone", route(length_mm=310, likely_mm=300), "likely_mm"),
    ("a likely value below its range", route(low_mm=300, likely_mm=299, high_mm=400), "likely_mm"),
    ("a likely value above its range", route(low_mm=300, likely_mm=401, high_mm=400), "likely_mm"),
    ("a range upside down", route(low_mm=300, likely_mm=300, high_mm=200), "high_mm"),
]  # fmt: skip


@pytest.mark.parametrize(("change", "field"), [pytest.param(c, f, id=name) for name, c, f in REFUSED_ROUTES])
def test_a_route_measured_two_ways_or_in_half_a_range_is_refused(change: Change, field: str) -> None:
    assert [where for where, _ in refusal(change)] == [f"runs.0.route.{field}"]


@pytest.mark.parametrize("tail", [-1, 1001])
def test_a_tail_out_of_its_range_is_refused(tail: float) -> None:
    found = refusal(lambda build: build["runs"][0]["sources"][0].update(tail_mm=tail))
    assert found == [("runs.0.sources.0.tail_mm", "Must be from 0 to 1000.")]


def test_a_run_branches_in_a_way_that_is_known() -> None:
    found = refusal(lambda build: build["runs"][0].update(branching="star"))
    assert [where for where, _ in found] == ["runs.0.branching"]


REFUSED_ALLOWANCES: list[tuple[str, Change, str]] = [
    ("a negative reserve", allowances(recrimp_mm=-1), "recrimp_mm"),
    ("a reserve of half a metre", allowances(recrimp_mm=501), "recrimp_mm"),
    ("a negative slack", allowances(slack_mm=-1), "slack_mm"),
    ("a slack of half a metre", allowances(slack_mm=501), "slack_mm"),
    ("a negative fray", allowances(fray_mm=-1), "fray_mm"),
    ("a negative cutting loss", allowances(cut_loss_mm=-1), "cut_loss_mm"),
    ("a cutting loss in words", allowances(cut_loss_mm="2"), "cut_loss_mm"),
    ("a cutting loss of half a millimetre", allowances(cut_loss_mm=0.5), "cut_loss_mm"),
    ("a remnant of more than two metres", allowances(remnant_least_mm=2001), "remnant_least_mm"),
    ("a step of nothing", allowances(step_mm=0), "step_mm"),
    ("a skill nobody knows", allowances(skill="wizard"), "skill"),
    ("a depth of half a metre", allowances(depth_mm={"p42": 501}), "depth_mm.p42"),
    ("a negative strip length", allowances(strip_mm={"p42-socket-16": -1}), "strip_mm.p42-socket-16"),
    ("a negative reserve of one family", allowances(recrimp_by_family={"p42": -1}), "recrimp_by_family.p42"),
    ("a family that is no id", allowances(depth_mm={"<b>": 5}), "depth_mm.<b>"),
    ("a depth in words", allowances(depth_mm={"p42": "5"}), "depth_mm.p42"),
    ("spares of something else", allowances(spares={"screws": {"percent": 5, "least": 1}}), "spares.screws"),
    ("half a spare", allowances(spares={"combs": {"percent": 5, "least": 0.5}}), "spares.combs.least"),
    ("spares without a least number", allowances(spares={"combs": {"percent": 5}}), "spares.combs.least"),
    ("negative spares", allowances(spares={"shrink": {"percent": -1, "least": 1}}), "spares.shrink.percent"),
    ("less than no spare", allowances(spares={"contacts": {"percent": 1, "least": -1}}), "spares.contacts.least"),
    ("the allowance of version 1", allowances(per_wire_mm=10), "per_wire_mm"),
]  # fmt: skip


@pytest.mark.parametrize(("change", "field"), [pytest.param(c, f, id=name) for name, c, f in REFUSED_ALLOWANCES])
def test_an_allowance_out_of_its_limits_is_refused_at_its_place(change: Change, field: str) -> None:
    assert [where for where, _ in refusal(change)] == [f"allowances.{field}"]


def test_allowances_by_family_without_end_are_refused() -> None:
    found = refusal(allowances(depth_mm={f"f{n}": 5 for n in range(501)}))
    assert found == [("allowances.depth_mm", "At most 500 entries are read here.")]


@pytest.mark.parametrize("change", [
    lambda build: build["finish"].update(shrink_size="<b>"),
    lambda build: build["finish"].update(sleeve_end="glued"),
    lambda build: build["finish"].update(comb_kind="hinged"),
])  # fmt: skip
def test_a_finish_that_nobody_knows_is_refused(change: Change) -> None:
    assert [where.split(".")[0] for where, _ in refusal(change)] == ["finish"]


def test_heat_shrink_on_or_off_is_a_field_of_version_1_only() -> None:
    found = refusal(lambda build: build["finish"].update(shrink=True))
    assert found == [("finish.shrink", "This planner knows no such field.")]


def test_the_order_in_which_allowances_were_set_does_not_show() -> None:
    # Property: equal builds, equal bytes; a map has no order, and comes back sorted.
    families = {"p508": 9.0, "p42": 12.0}
    spares: dict[SpareOf, Spare] = {"shrink": Spare(5.0, 1), "combs": Spare(0.0, 3)}
    build = replace(WALKED, allowances=Allowances(families, families, 5.0, families, spares=spares))
    turned = dict(reversed(families.items()))
    other = Allowances(turned, turned, 5.0, turned, spares=dict(reversed(spares.items())))
    assert write_build(replace(WALKED, allowances=other)) == write_build(build)
    back = read_build(write_build(build)).allowances
    assert [list(m) for m in (back.depth_mm, back.strip_mm, back.recrimp_by_family, back.spares)] == [
        ["p42", "p508"], ["p42", "p508"], ["p42", "p508"], ["combs", "shrink"],
    ]  # fmt: skip


def test_a_build_too_large_to_be_read_back_is_not_written() -> None:
    # By hand: a step takes more than 100 bytes, so 20 runs of 2000 steps take more than 4 MB.
    walked = replace(WALKED.runs[0], route=Route(steps=STEPS[:1] * 2000))
    runs = tuple(replace(walked, id=f"r{n}", number=n) for n in range(1, 21))
    with pytest.raises(InvalidInputError, match="larger than 2 MB"):
        write_build(replace(WALKED, runs=runs, next_number=21))
