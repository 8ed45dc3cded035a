"""What follows from a build alone, whatever lies on the shelf: its runs, wired, checked and proved.

It is by far the larger part of a plan, and the bench changes nothing about it. So it is made once for a revision, and
each entry of the ledger asks only for what is left to buy and to cut.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

from server.domain.model.build import Build, PlugRef
from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import CutGroup, Finding, PortUse, RunPlan, Unfed, Waiting
from server.domain.plan.checks import findings_of
from server.domain.plan.lists import cut_list, operations
from server.domain.plan.resolve import resolve
from server.domain.plan.runs import PlannedRun, run_plan
from server.domain.plan.tools import tools_needed
from server.domain.plan.trust import is_metered, proved
from server.domain.plan.waiting import waiting_of
from server.domain.proposing import unfed_inlets, why_unfed
from server.domain.sockets import every_socket, key, layout_of


@dataclass(frozen=True, slots=True)
class Groundwork:
    """A build with everything that is planned of it without a look at the shelf."""

    build: Build
    catalogue: Catalogue
    planned: tuple[PlannedRun, ...]
    runs: tuple[RunPlan, ...]
    """The same as the plan shows them, with what the proof found."""
    unfed: tuple[Unfed, ...]
    findings: tuple[Finding, ...]
    """About the build as a whole; told before those about what is bought."""
    run_findings: tuple[Finding, ...]
    """About its runs, and what the proof found; told after those about what is bought."""
    metered: bool
    cuts: tuple[CutGroup, ...]
    tools: tuple[str, ...]
    ports: tuple[PortUse, ...]
    waiting: tuple[Waiting, ...]
    operations: Counter[str]
    """How often each operation of the labour table is done; never changed."""


def groundwork(build: Build, catalogue: Catalogue) -> Groundwork:
    """Everything that follows from a build without a look at the shelf.

    Args:
        build: What the builder decided.
        catalogue: Reference data.
    """
    planned = planned_runs(build, catalogue)
    plain = tuple(entry.plan for entry in planned)
    unfed = tuple(
        Unfed(f.part, f.socket, f.place, f.label, why_unfed(PlugRef(f.part, f.socket), build, catalogue))
        for f in unfed_inlets(build, catalogue)
    )
    findings, run_findings = findings_of(build, catalogue, planned, unfed)
    made = Groundwork(
        build=build,
        catalogue=catalogue,
        planned=planned,
        runs=plain,
        unfed=unfed,
        findings=findings,
        run_findings=run_findings,
        metered=is_metered(layout_of(build, catalogue), plain),
        cuts=cut_list(planned),
        tools=tools_needed(planned, catalogue),
        ports=_ports(build, catalogue),
        waiting=tuple(late for entry in planned if (late := waiting_of(entry, build, catalogue)) is not None),
        operations=operations(planned, catalogue),
    )
    runs, faults = proved(made, build, catalogue)
    return replace(made, runs=runs, run_findings=(*run_findings, *faults))


def planned_runs(build: Build, catalogue: Catalogue) -> tuple[PlannedRun, ...]:
    """The runs of a build, in the order of their numbers.

    Args:
        build: What the builder decided.
        catalogue: Reference data.
    """
    sockets = every_socket(build, catalogue)
    ordered = sorted(build.runs, key=lambda run: run.number)
    resolved = [found for run in ordered if (found := resolve(run, build, catalogue, sockets)) is not None]
    return tuple(run_plan(entry, build, catalogue) for entry in resolved)


def waiting_runs(runs: Sequence[PlannedRun], state: str) -> int:
    """How many runs are in a state of measuring.

    Args:
        runs: The planned runs.
        state: ``unmeasured`` or ``range``.
    """
    return sum(1 for entry in runs if entry.plan.state == state)


def _ports(build: Build, catalogue: Catalogue) -> tuple[PortUse, ...]:
    """Every port and header, with the run that uses it."""
    used = {key(source): run.number for run in build.runs for source in run.sources}
    return tuple(
        PortUse(f.part, f.socket, f.place, f.label, f.housing.id, used.get(where))
        for where, f in every_socket(build, catalogue).items()
        if f.role == "outlet"
    )
