"""Every finding of a build, each check asked in turn."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence

from server.domain.model.build import Build
from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import BuyLine, Finding, RunPlan, Severity, Unfed
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

ALIKE = frozenset({"sleeve_fit", "shrink_fit"})
"""Findings about one thing that is chosen for the build: told once for all runs that it is wrong for alike."""


def findings_of(
    build: Build, catalogue: Catalogue, runs: tuple[PlannedRun, ...], unfed: tuple[Unfed, ...]
) -> tuple[tuple[Finding, ...], tuple[Finding, ...]]:
    """Every finding of a build but those about what is bought: about the whole of it, and about its runs.

    Args:
        build: The build.
        catalogue: Reference data.
        runs: Its planned runs.
        unfed: Inlets that no run feeds.
    """
    plans = tuple(planned.plan for planned in runs)
    whole = (
        *supply_findings(build, catalogue, plans),
        *(unfed_finding(inlet, build, catalogue) for inlet in unfed),
        *limit_findings(build, catalogue, runs),
    )
    return whole, (*insulation_findings(plans), *_run_findings(build, catalogue, runs))


def bought_findings(buys: Sequence[BuyLine], plans: tuple[RunPlan, ...], catalogue: Catalogue) -> tuple[Finding, ...]:
    """Findings about what has to be bought.

    Args:
        buys: The buy list.
        plans: The planned runs.
        catalogue: Reference data.
    """
    return tuple(bought_finding(line, plans, catalogue) for line in buys if line.price is None)


def _run_findings(build: Build, catalogue: Catalogue, runs: tuple[PlannedRun, ...]) -> list[Finding]:
    """What is found run by run; what several runs have alike is told once."""
    free = FreePlaces(build, catalogue)
    told = [(planned.plan.number, one) for planned in runs for one in _run(planned, build, catalogue, free)]
    found: list[Finding] = []
    alike: dict[Told, list[int]] = defaultdict(list)
    for number, one in told:
        if one.code in ALIKE:
            alike[one].append(number)
    for number, one in told:
        severity, code, text, source, way_out, cavity = one
        numbers = alike.get(one, [number])
        if len(numbers) == 1:
            found.append(Finding(severity, code, f"Run {number}: {text}", source, number, cavity, way_out))
        elif number == numbers[0]:
            found.append(Finding(severity, code, f"{runs_words(numbers)}: {text}", source, None, cavity, way_out))
    return found


def runs_words(numbers: Sequence[int]) -> str:
    """Numbers of several runs in words, three or more in a row drawn together.

    Args:
        numbers: Run numbers, at least two, in ascending order.

    Example:
        >>> runs_words([2, 3, 5, 6, 7, 8, 9])
        'Runs 2, 3 and 5 to 9'
    """
    rows: list[list[int]] = []
    for number in numbers:
        if rows and number == rows[-1][-1] + 1:
            rows[-1].append(number)
        else:
            rows.append([number])
    words: list[str] = []
    for row in rows:
        words += [f"{row[0]} to {row[-1]}"] if len(row) > 2 else [str(number) for number in row]
    *first, last = words
    return f"Runs {', '.join(first)} and {last}" if first else f"Runs {last}"


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
