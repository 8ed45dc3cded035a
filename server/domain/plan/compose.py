"""The plan of a build, put together from its topics."""

from collections import Counter
from dataclasses import replace
from decimal import Decimal

from server.domain.estimate import estimate, labour_lines
from server.domain.model.bench import OnHand
from server.domain.model.build import Build
from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import Estimate, Finding, Plan, RunPlan, Summary
from server.domain.plan.buying import Buying, buying_of
from server.domain.plan.checks import bought_findings, in_order
from server.domain.plan.groundwork import Groundwork, groundwork, planned_runs, waiting_runs
from server.domain.plan.lists import operations_in_vain
from server.domain.reference import CAUTIONS, CURRENCY_DIGITS

NOTHING = OnHand()


def plan(build: Build, catalogue: Catalogue, on_hand: OnHand = NOTHING) -> Plan:
    """Everything that follows from a build.

    The same build, catalogue and bench give the same plan in any process.

    Args:
        build: What the builder decided.
        catalogue: Reference data.
        on_hand: What the build may use of the shelf, and what was made for it.

    Returns:
        The plan. A run that cannot be wired stands in it without wires, and a finding says why.
    """
    return plan_on(groundwork(build, catalogue), on_hand)


def plan_on(ground: Groundwork, on_hand: OnHand) -> Plan:
    """The plan of a build whose runs are planned already, for one state of the bench.

    Args:
        ground: What follows from the build alone.
        on_hand: What the build may use of the shelf, and what was made for it.
    """
    runs = ground.planned
    bought = buying_of(runs, ground.build, ground.catalogue, on_hand)
    priced = _priced(ground, bought, on_hand)
    about_buys = bought_findings(bought.lines, ground.runs, ground.catalogue)
    findings = in_order([*ground.findings, *about_buys, *ground.run_findings])
    return Plan(
        build_name=ground.build.name,
        metered=ground.metered,
        runs=ground.runs,
        cuts=ground.cuts,
        buys=bought.lines,
        tools=ground.tools,
        findings=findings,
        estimate=priced,
        ports=ground.ports,
        unfed=ground.unfed,
        waiting=ground.waiting,
        rolls=bought.sheets,
        changes=bought.changes,
        spent=on_hand.spent,
        summary=_summary(ground, priced, findings),
        cautions=CAUTIONS,
    )


def runs_alone(build: Build, catalogue: Catalogue) -> tuple[RunPlan, ...]:
    """The runs of a build without what is bought for them: a small part of the work of a whole plan.

    Args:
        build: What the builder decided.
        catalogue: Reference data.
    """
    return tuple(entry.plan for entry in planned_runs(build, catalogue))


def _priced(ground: Groundwork, bought: Buying, on_hand: OnHand) -> Estimate:
    """The estimate, what was done in vain counted once more."""
    runs, rates, labour = ground.planned, ground.build.rates, ground.catalogue.labour
    again = operations_in_vain(bought.in_vain, runs)
    priced = estimate(
        [on_hand.spent, *(line.price for line in bought.lines if line.price is not None)],
        labour_lines(ground.operations + again, labour),
        rates,
        CURRENCY_DIGITS.get(rates.currency, 2),
        complete=all(line.price is not None for line in bought.lines) and not waiting_runs(runs, "unmeasured"),
    )
    if not bought.in_vain:
        return priced
    minutes = sum((line.minutes for line in labour_lines(again, labour)), Decimal(0))
    return replace(priced, again_minutes=minutes, again_wires=len({piece.id for piece in bought.in_vain}))


def _summary(ground: Groundwork, priced: Estimate, findings: tuple[Finding, ...]) -> Summary:
    runs = ground.planned
    counts = Counter(finding.severity for finding in findings)
    return Summary(
        runs=len(runs),
        wires=sum(len(entry.plan.wires) for entry in runs),
        wire_mm=sum(wire.buy_mm for entry in runs for wire in entry.plan.wires),
        waiting=waiting_runs(runs, "unmeasured") + waiting_runs(runs, "range"),
        stops=counts["stop"],
        warns=counts["warn"],
        notes=counts["note"],
        minutes=priced.minutes,
        total=priced.total,
        currency=priced.currency,
    )
