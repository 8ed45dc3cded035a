"""A plan document says everything that the plan says, the same way every time."""

import json
from dataclasses import fields
from decimal import Decimal

from server.documents.plan_json import PlanDocument, write_plan
from server.domain.model.plan import (
    CombPlace,
    Estimate,
    Finding,
    LengthTerm,
    Plan,
    PlannedWire,
    RunPlan,
    SleevePiece,
    Summary,
    TapMark,
    Waiting,
    WireEnd,
)
from server.domain.model.route import RouteStep

WIRE = PlannedWire(
    id="r1/p1.main/1", label="1-1", source=WireEnd(0, "1", "p42-socket-16"), target=WireEnd(0, "1", "p42-socket-16"),
    source_at_end=False, taps=(), net="+12V", function="+12V", awg=16, insulation="plain", colour="YE",
    sleeve_colour="", route_mm=320.0,
    terms=(LengthTerm("route", 320.0, "measured"), LengthTerm("bend 1", -36.28, "offset curves")),
    cut_mm=285, buy_mm=285,
)  # fmt: skip
RUN = RunPlan(
    id="r1", number=1, name="Main", use="main", kind="fork", state="measured", length_mm=320.0, low_mm=300.0,
    high_mm=340.0, spacing_mm=(), sources=(), ends=(), wires=(WIRE,), crossings=0, doubles=0, spare_cavities=(),
    combs=(CombPlace("c24", 50, 0, 24),), sleeve_pieces=(SleevePiece("small", "BK", 300, 280.0, 1),),
    sleeve_end="melted", shrink="small", shrink_count=2, shrink_cut_mm=17, notes=(), likely_mm=310.0,
    steps=(RouteStep("leg", length_mm=200.0), RouteStep("left", angle_deg=90.0, radius_mm=76.4)),
    tap_marks=(TapMark(1, 95, ("5-1", "5-2")),),
)  # fmt: skip
PLAN = Plan(
    build_name="Bench ö",
    metered=False,
    runs=(RUN,),
    cuts=(),
    buys=(),
    tools=("crimp tool",),
    findings=(Finding("stop", "not_metered", "Not metered.", "common practice", way_out="Meter it."),),
    estimate=Estimate("EUR", Decimal("12.50"), (), *[Decimal(0)] * 5, Decimal("1E+2"), True),
    ports=(),
    unfed=(),
    waiting=(Waiting(7, 250.0, None, 420.0, 4, 1800, 1460, Decimal("0.17")),),
    rolls=(),
    changes=(),
    spent=Decimal(0),
    summary=Summary(0, 0, 0, 0, 1, 0, 0, Decimal("0.30"), Decimal(100), "EUR"),
    cautions=("Never open the supply.",),
)


def test_a_plan_document_holds_every_field_of_the_plan() -> None:
    # Property: nothing that follows from a build is left out.
    assert set(json.loads(write_plan(PLAN))["plan"]) == {entry.name for entry in fields(Plan)}


def test_money_and_minutes_are_written_as_plain_decimal_text() -> None:
    # 1E+2 is one hundred, written without an exponent.
    estimate = json.loads(write_plan(PLAN))["plan"]["estimate"]
    assert (estimate["materials"], estimate["total"]) == ("12.50", "100")


def test_a_plan_document_ends_with_one_new_line() -> None:
    text = write_plan(PLAN)
    assert text.endswith("}\n")


def test_a_wire_is_written_with_every_term_of_its_length() -> None:
    # As built above, by hand.
    wire = json.loads(write_plan(PLAN))["plan"]["runs"][0]["wires"][0]
    assert [(term["name"], term["mm"], term["source"]) for term in wire["terms"]] == [
        ("route", 320, "measured"),
        ("bend 1", -36.28, "offset curves"),
    ]


def test_a_run_is_written_with_its_legs_and_bends_its_combs_and_its_tap_marks() -> None:
    run = json.loads(write_plan(PLAN))["plan"]["runs"][0]
    assert run["steps"] == [
        {"kind": "leg", "length_mm": 200, "angle_deg": 0, "radius_mm": 0},
        {"kind": "left", "length_mm": 0, "angle_deg": 90, "radius_mm": 76.4},
    ]
    assert run["combs"] == [{"comb": "c24", "at_mm": 50, "plug": 0, "wires": 24}]
    assert run["tap_marks"] == [{"plug": 1, "from_end_mm": 95, "labels": ["5-1", "5-2"]}]


def test_what_waits_for_its_length_is_written_with_what_waiting_costs() -> None:
    assert json.loads(write_plan(PLAN))["plan"]["waiting"] == [
        {
            "run": 7, "low_mm": 250, "likely_mm": None, "high_mm": 420, "wires": 4, "buy_mm": 1800,
            "likely_buy_mm": 1460, "wait_price": "0.17",
        }
    ]  # fmt: skip


def test_a_finding_is_written_with_its_way_out() -> None:
    assert json.loads(write_plan(PLAN))["plan"]["findings"][0]["way_out"] == "Meter it."


def test_a_plan_document_has_the_shape_that_the_api_describes() -> None:
    # Property: the described model takes what is written, nothing dropped; unknown keys would be an error.
    described = PlanDocument.model_json_schema()["$defs"]
    run = json.loads(write_plan(PLAN))["plan"]["runs"][0]
    assert set(run) == set(described["RunPlan"]["properties"])
    assert set(run["wires"][0]) == set(described["PlannedWire"]["properties"])
