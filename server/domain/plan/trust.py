"""Whether a plan may be trusted: the supply metered where it is used, and the wiring proved by an independent check."""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace

from server.domain.metering import Verdict, verdicts
from server.domain.model.build import SUPPLY, Build
from server.domain.model.catalogue import Catalogue, SupplyLayout
from server.domain.model.plan import Finding, RunPlan, Severity
from server.domain.proof import TOLD_AS_FINDINGS, Fault, Planned, faults

METER_RULE = "common practice: a layout is a claim until it has been metered"


def cavities_used(runs: tuple[RunPlan, ...]) -> tuple[tuple[str, str], ...]:
    """Supply cavities (port, cavity) that wires of the build start from, without repetition.

    An extension starts from the far plug of the supply's own cable and uses none.
    """
    used = {
        (run.sources[wire.source.plug].ref.socket, wire.source.cavity): None
        for run in runs
        if run.method != "extension"
        for wire in run.wires
        if not wire.source_at_end and run.sources[wire.source.plug].ref.part == SUPPLY
    }
    return tuple(used)


def is_metered(layout: SupplyLayout | None, runs: tuple[RunPlan, ...]) -> bool:
    """True when every supply cavity that the build uses has been metered and bears out the layout."""
    if layout is None or not layout.own:
        return False
    found = verdicts(layout)
    return all(found[where].state == "metered" for where in cavities_used(runs) if where in found)


def metering_findings(layout: SupplyLayout, runs: tuple[RunPlan, ...]) -> Iterator[Finding]:
    """What is missing before the layout may be trusted, port by port, and every reading that speaks against it."""
    if not layout.own:
        used = len(cavities_used(runs))
        text = f"NOT METERED: the layout '{layout.name}' is a sample; the build uses {used} of its cavities."
        way_out = "Copy it as your own and meter every cavity that the build uses before a cable meets a part."
        yield Finding("stop", "not_metered", text, layout.source, way_out=way_out)
        return
    found = verdicts(layout)
    cavities = cavities_used(runs)
    labels = {port.id: port.label for port in layout.ports}
    missing: dict[str, list[str]] = defaultdict(list)
    for port, cavity in cavities:
        if (port, cavity) in found and found[port, cavity].state == "missing":
            missing[port].append(cavity)
    if missing:
        places = "; ".join(f"{labels[port]}: {', '.join(_in_order(wanted))}" for port, wanted in missing.items())
        text = f"NOT METERED: cavities still to be metered: {places}."
        first = next(iter(missing))
        count = sum(map(len, missing.values()))
        way_out = f"Meter them on the layout's page, {count} in all, and begin at {labels[first]}."
        yield Finding("stop", "not_metered", text, METER_RULE, way_out=way_out)
    for (port, cavity), verdict in found.items():
        if verdict.state not in ("missing", "metered"):
            yield _against(labels[port], cavity, verdict, used=(port, cavity) in cavities)


def _against(port: str, cavity: str, verdict: Verdict, *, used: bool) -> Finding:
    severity: Severity = "stop" if used else "warn"
    mark = "NOT METERED: " if used else ""
    text = f"{mark}{port}, cavity {cavity}: {verdict.told}"
    way_out = verdict.advice
    if not way_out:
        nets = " or ".join(net or "not connected" for net in verdict.fits)
        way_out = f"Measure once more; if it reads the same, record {nets} for cavity {cavity} in the layout."
    return Finding(severity, f"meter_{verdict.state}", text, METER_RULE, way_out=way_out)


def _in_order(cavities: list[str]) -> list[str]:
    return sorted(cavities, key=lambda cavity: (not cavity.isdigit(), int(cavity) if cavity.isdigit() else 0, cavity))


def proved(plan: Planned, build: Build, catalogue: Catalogue) -> tuple[tuple[RunPlan, ...], tuple[Finding, ...]]:
    """The runs of a plan after the independent check: one with a fault loses its card, and each fault is a stop.

    Faults of fit (gauge, insulation) are told as findings of their own and hide nothing.

    Args:
        plan: The runs as they are planned.
        build: The build they were made from.
        catalogue: Reference data.

    Returns:
        The runs with ``proved`` set on each, and the findings to add.
    """
    wrong = [fault for fault in faults(plan, build, catalogue) if fault.rule not in TOLD_AS_FINDINGS]
    if not wrong:
        return plan.runs, ()
    numbers = {fault.run for fault in wrong}
    runs = tuple(replace(run, proved=run.number not in numbers) for run in plan.runs)
    return runs, tuple(_proof_finding(fault) for fault in wrong)


def _proof_finding(fault: Fault) -> Finding:
    wire = f"wire {fault.wire}: " if fault.wire else ""
    text = f"Run {fault.run}: the independent check found a fault, so its card is held back: {wire}{fault.text}"
    way_out = (
        f"Do not make run {fault.run} from this plan: take its pins and choices back, one at a time, until it is gone."
    )
    return Finding("stop", "proof", text, "independent check of the finished plan", fault.run, way_out=way_out)
