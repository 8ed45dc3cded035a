"""A plan document says everything that the plan says, the same way every time."""

import json
from dataclasses import fields
from decimal import Decimal

from server.documents.plan_json import write_plan
from server.domain.model.plan import Estimate, Finding, Plan, Summary

PLAN = Plan(
    build_name="Bench ö",
    metered=False,
    runs=(),
    cuts=(),
    buys=(),
    tools=("crimp tool",),
    findings=(Finding("stop", "not_metered", "Meter it.", "common practice"),),
    estimate=Estimate("EUR", Decimal("12.50"), (), *[Decimal(0)] * 5, Decimal("1E+2"), True),
    ports=(),
    unfed=(),
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
