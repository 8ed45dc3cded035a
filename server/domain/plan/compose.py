"""The plan of a build, put together from its topics."""

from collections import Counter
from dataclasses import replace
from decimal import Decimal

from server.domain.estimate import estimate, labour_lines
from server.domain.model.bench import OnHand
from server.domain.model.build import Build, PlugRef
from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import Finding, Plan, PortUse, RunPlan, Summary, Unfed
from server.domain.plan.buying import buying_of
from server.domain.plan.checks import findings_of, in_order
from server.domain.plan.lists import cut_list, operations, operations_in_vain
from server.domain.plan.resolve import resolve
from server.domain.plan.runs import PlannedRun, run_plan
from server.domain.plan.tools import tools_needed
from server.domain.plan.trust import is_metered, proved
from server.domain.plan.waiting import waiting_of
from server.domain.proposing import unfed_inlets, why_unfed
from server.domain.reference import CAUTIONS, CURRENCY_DIGITS
from server.domain.sockets import every_socket, key, layout_of

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
    runs = _planned_runs(build, catalogue)
    unfed = tuple(
        Unfed(f.part, f.socket, f.place, f.label, why_unfed(PlugRef(f.part, f.socket), build, catalogue))
        for f in unfed_inlets(build, catalogue)
    )
    bought = buying_of(runs, build, catalogue, on_hand)
    buys = bought.lines
    again = operations_in_vain(bought.in_vain, runs)
    lines = labour_lines(operations(runs, catalogue) + again, catalogue.labour)
    priced = estimate(
        [on_hand.spent, *(line.price for line in buys if line.price is not None)],
        lines,
        build.rates,
        CURRENCY_DIGITS.get(build.rates.currency, 2),
        complete=all(line.price is not None for line in buys) and not _waiting(runs, "unmeasured"),
    )
    if bought.in_vain:
        minutes = sum((line.minutes for line in labour_lines(again, catalogue.labour)), Decimal(0))
        priced = replace(priced, again_minutes=minutes, again_wires=len({piece.id for piece in bought.in_vain}))
    findings = findings_of(build, catalogue, runs, unfed, buys)
    layout = layout_of(build, catalogue)
    made = Plan(
        build_name=build.name,
        metered=is_metered(layout, tuple(entry.plan for entry in runs)),
        runs=tuple(entry.plan for entry in runs),
        cuts=cut_list(runs),
        buys=buys,
        tools=tools_needed(runs, catalogue),
        findings=findings,
        estimate=priced,
        ports=_ports(build, catalogue),
        unfed=unfed,
        waiting=tuple(late for entry in runs if (late := waiting_of(entry, build, catalogue)) is not None),
        rolls=bought.sheets,
        changes=bought.changes,
        spent=on_hand.spent,
        summary=Summary(
            runs=len(runs),
            wires=sum(len(entry.plan.wires) for entry in runs),
            wire_mm=sum(wire.buy_mm for entry in runs for wire in entry.plan.wires),
            waiting=_waiting(runs, "unmeasured") + _waiting(runs, "range"),
            stops=0,
            warns=0,
            notes=0,
            minutes=priced.minutes,
            total=priced.total,
            currency=priced.currency,
        ),
        cautions=CAUTIONS,
    )
    checked, faults = proved(made, build, catalogue)
    return _with_findings(checked, in_order([*findings, *faults]))


def runs_alone(build: Build, catalogue: Catalogue) -> tuple[RunPlan, ...]:
    """The runs of a build without what is bought for them: a small part of the work of a whole plan.

    Args:
        build: What the builder decided.
        catalogue: Reference data.
    """
    return tuple(entry.plan for entry in _planned_runs(build, catalogue))


def _planned_runs(build: Build, catalogue: Catalogue) -> tuple[PlannedRun, ...]:
    sockets = every_socket(build, catalogue)
    ordered = sorted(build.runs, key=lambda run: run.number)
    resolved = [found for run in ordered if (found := resolve(run, build, catalogue, sockets)) is not None]
    return tuple(run_plan(entry, build, catalogue) for entry in resolved)


def _with_findings(plan: Plan, findings: tuple[Finding, ...]) -> Plan:
    """The plan with its findings and their counts."""
    counts = Counter(finding.severity for finding in findings)
    summary = replace(plan.summary, stops=counts["stop"], warns=counts["warn"], notes=counts["note"])
    return replace(plan, findings=findings, summary=summary)


def _waiting(runs: tuple[PlannedRun, ...], state: str) -> int:
    return sum(1 for entry in runs if entry.plan.state == state)


def _ports(build: Build, catalogue: Catalogue) -> tuple[PortUse, ...]:
    """Every port and header, with the run that uses it."""
    used = {key(source): run.number for run in build.runs for source in run.sources}
    return tuple(
        PortUse(f.part, f.socket, f.place, f.label, f.housing.id, used.get(where))
        for where, f in every_socket(build, catalogue).items()
        if f.role == "outlet"
    )
