"""Every finding of a build, each check asked in turn."""

from collections.abc import Iterable, Iterator

from server.domain.model.build import Build
from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import BuyLine, Finding, Severity, Unfed
from server.domain.plan.checks.contacts import contact_findings
from server.domain.plan.checks.cover import cover_findings
from server.domain.plan.checks.drop import drop_findings
from server.domain.plan.checks.lengths import length_findings
from server.domain.plan.checks.loads import load_findings
from server.domain.plan.checks.sharing import sharing_findings
from server.domain.plan.checks.supply import (
    bought_finding,
    insulation_findings,
    limit_findings,
    supply_findings,
    unfed_finding,
)
from server.domain.plan.checks.told import Told
from server.domain.plan.checks.wiring import FreePlaces, wiring_findings
from server.domain.plan.runs import PlannedRun

SEVERITY_ORDER: dict[Severity, int] = {"stop": 0, "warn": 1, "note": 2}


def findings_of(
    build: Build,
    catalogue: Catalogue,
    runs: tuple[PlannedRun, ...],
    unfed: tuple[Unfed, ...],
    buys: tuple[BuyLine, ...],
) -> tuple[Finding, ...]:
    """Every finding of a build, stops first, then by run.

    Args:
        build: The build.
        catalogue: Reference data.
        runs: Its planned runs.
        unfed: Inlets that no run feeds.
        buys: The buy list.
    """
    plans = tuple(planned.plan for planned in runs)
    found = [
        *supply_findings(build, catalogue, plans),
        *(unfed_finding(inlet, build, catalogue) for inlet in unfed),
        *limit_findings(build, catalogue, runs),
        *(bought_finding(line, plans, catalogue) for line in buys if line.price is None),
        *insulation_findings(plans),
    ]
    free = FreePlaces(build, catalogue)
    for planned in runs:
        number = planned.plan.number
        for severity, code, text, source, way_out, cavity in _run(planned, build, catalogue, free):
            found.append(Finding(severity, code, f"Run {number}: {text}", source, number, cavity, way_out))
    return in_order(found)


def in_order(found: Iterable[Finding]) -> tuple[Finding, ...]:
    """Findings with stops first, then by run.

    Args:
        found: The findings; equal ones keep their order.
    """
    return tuple(sorted(found, key=lambda f: (SEVERITY_ORDER[f.severity], f.run or 0)))


def _run(planned: PlannedRun, build: Build, catalogue: Catalogue, free: FreePlaces) -> Iterator[Told]:
    yield from wiring_findings(planned, free)
    yield from length_findings(planned, catalogue)
    yield from contact_findings(planned, build, catalogue)
    yield from sharing_findings(planned, catalogue)
    yield from load_findings(planned, catalogue)
    yield from drop_findings(planned, catalogue)
    yield from cover_findings(planned, catalogue)
