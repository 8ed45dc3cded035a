"""What is taken to the bench as lists: cuts, tools and findings."""

from dataclasses import dataclass

from server.domain.model.plan import CutGroup, Severity
from server.services.opened import Opened
from server.web.views import formats
from server.web.views.pieces import FindingLine, Swatch, finding_lines, route_text, run_title, swatch

_GRAVITY: dict[Severity, str] = {
    "stop": "Stop: settle these first",
    "warn": "Warn: look again",
    "note": "Note: good to know",
}


@dataclass(frozen=True, slots=True)
class CutRow:
    """Wires cut alike."""

    cut: str
    count: int
    labels: str


@dataclass(frozen=True, slots=True)
class CutBlock:
    """All wires from one kind and colour of roll."""

    gauge: str
    insulation: str
    colour: Swatch
    rows: tuple[CutRow, ...]
    total: str
    count: str


@dataclass(frozen=True, slots=True)
class WaitingRun:
    """A run that is kept off the cut list until it is measured."""

    title: str
    href: str
    length: str
    wires: str


@dataclass(frozen=True, slots=True)
class CutsPanel:
    """The cut list."""

    blocks: tuple[CutBlock, ...]
    waiting: tuple[WaitingRun, ...]
    waiting_count: str
    waiting_href: str
    total: str
    metered: bool
    exports: str
    """Address of the list as a file, without its ending."""


@dataclass(frozen=True, slots=True)
class ToolsPanel:
    """Tools needed for this build."""

    tools: tuple[str, ...]
    cautions: tuple[str, ...]
    exports: str
    """Address of the list as a file, without its ending."""


@dataclass(frozen=True, slots=True)
class FindingGroup:
    """Findings of one severity."""

    severity: str
    mark: str
    name: str
    lines: tuple[FindingLine, ...]


@dataclass(frozen=True, slots=True)
class FindingsPanel:
    """Findings, the gravest first."""

    groups: tuple[FindingGroup, ...]
    exports: str
    """Address of the list as a file, without its ending."""


def cuts_panel(opened: Opened) -> CutsPanel:
    """The view of the cut list.

    Args:
        opened: The build as it stands.
    """
    waiting = tuple(
        WaitingRun(
            f"Run {run.number}, {run_title(run)}",
            f"/builds/{opened.build_id}/runs/{run.id}",
            route_text(run),
            formats.count(len(run.wires), "wire"),
        )
        for run in opened.plan.runs
        if run.state != "measured"
    )
    total = sum(group.total_mm for group in opened.plan.cuts)
    pieces = sum(group.count for group in opened.plan.cuts)
    return CutsPanel(
        tuple(_block(group, opened) for group in opened.plan.cuts),
        waiting,
        f"{len(waiting)} waiting",
        f"/builds/{opened.build_id}/waiting",
        f"{formats.count(pieces, 'wire')}, {formats.metres(total)}",
        opened.plan.metered,
        f"/builds/{opened.build_id}/export/cuts",
    )


def tools_panel(opened: Opened) -> ToolsPanel:
    """The view of the tools.

    Args:
        opened: The build as it stands.
    """
    return ToolsPanel(opened.plan.tools, opened.plan.cautions, f"/builds/{opened.build_id}/export/tools")


def findings_panel(opened: Opened) -> FindingsPanel:
    """The view of the findings.

    Args:
        opened: The build as it stands.
    """
    lines = finding_lines(opened.plan.findings, opened.build_id, opened.plan.runs)
    return FindingsPanel(
        tuple(
            FindingGroup(word, formats.MARKS[severity], _GRAVITY[severity], held)
            for severity, word in formats.SEVERITIES.items()
            if (held := tuple(line for line in lines if line.severity == word))
        ),
        f"/builds/{opened.build_id}/export/findings",
    )


def _block(group: CutGroup, opened: Opened) -> CutBlock:
    """One block of the cut list, longest first as planned."""
    return CutBlock(
        f"{group.awg} AWG",
        formats.INSULATIONS[group.insulation],
        swatch(opened.catalogue, group.colour),
        tuple(CutRow(str(line.cut_mm), line.count, formats.listed(line.labels)) for line in group.lines),
        formats.metres(group.total_mm),
        formats.count(group.count, "wire"),
    )
