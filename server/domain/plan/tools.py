"""The tools that a build's operations ask for."""

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator

from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import RunPlan
from server.domain.plan.runs import PlannedRun

_GAUGES = re.compile(r", \d+( to \d+)? AWG$")
"""End of a contact's name that tells which gauges it takes: here the gauges that are in it follow."""


def tools_needed(runs: Iterable[PlannedRun], catalogue: Catalogue) -> tuple[str, ...]:
    """Tools that this build's operations ask for, in the order in which they are taken up.

    Args:
        runs: The planned runs.
        catalogue: Reference data.

    Returns:
        One line per tool; iron, holder and solder stand there only when something is soldered.
    """
    plans = [planned.plan for planned in runs]
    found = (*_cutting(plans), *_crimping(plans, catalogue), *_finishing(plans))
    return ("eye protection: offcuts fly", *found) if found else ()


def _cutting(plans: list[RunPlan]) -> Iterator[str]:
    wires = [wire for plan in plans for wire in plan.wires]
    if wires:
        yield "flush cutters and a rule or stop for cutting to length"
        yield "label maker or pen and flags for wire ends"
    if any(plan.tap_marks for plan in plans):
        yield "marker that shows on dark wire, for the tap marks"
    joined = {label for plan in plans for joint in plan.joints if joint.kind != "jumper" for label in joint.labels}
    stripped = {wire.awg for wire in wires if wire.label in joined}
    stripped |= {awg for plan in plans for use in plan.crimps if use.strip_mm for awg in use.gauges}
    if stripped:
        yield "wire stripper for " + ", ".join(f"{awg} AWG" for awg in sorted(stripped))


def _crimping(plans: list[RunPlan], catalogue: Catalogue) -> Iterator[str]:
    """A die or press for each contact and gauge, and what frees a contact from each family that is used."""
    dies: dict[str, dict[str, set[str]]] = defaultdict(lambda: defaultdict(set))
    families, crimped = set(), False
    for use in (use for plan in plans for use in plan.crimps):
        contact = catalogue.contacts[use.contact]
        families.add(contact.family)
        crimped |= contact.gender != "blade"
        die = use.die or "a die of your own choice, as none is listed"
        dies[die][_GAUGES.sub("", contact.name)].add(" and ".join(f"{awg} AWG" for awg in use.gauges))
    for die, uses in sorted(dies.items()):
        listed = [f"{name}: {', '.join(sorted(gauges))}" for name, gauges in sorted(uses.items())]
        yield f"{die} ({'; '.join(listed)})"
    if crimped:
        yield "spring scale or fixture for the pull test"
    families |= {
        catalogue.housings[plug.housing].family
        for plan in plans
        if plan.method == "rework"
        for plug in (*plan.sources, *plan.ends)
    }
    tools = {catalogue.families[family].extraction_tool for family in families}
    yield from sorted(tool for tool in tools if tool)


def _finishing(plans: list[RunPlan]) -> Iterator[str]:
    soldered = any(joint.kind != "jumper" for plan in plans for joint in plan.joints)
    if any(plan.sleeve_pieces for plan in plans):
        yield "hot knife or scissors for sleeve"
    if soldered:
        yield "soldering iron with stand, solder, and a holder for the wires"
    if soldered or any(plan.shrink_count for plan in plans):
        yield "heat source for heat-shrink, and moving air"
    if any(plan.sleeve_end == "melted" and plan.shrink_count for plan in plans):
        yield "heat-proof finger guards or flat pliers, to take the forming tube off while it is warm"
    if any(plan.wires for plan in plans):
        yield "multimeter with a continuity buzzer and fine probes"
