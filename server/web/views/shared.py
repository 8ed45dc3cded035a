"""What a client sees behind a share link: read only."""

from dataclasses import dataclass

from server.domain.model.plan import RunPlan
from server.services.opened import Opened
from server.services.revisions import Since
from server.web.views import formats
from server.web.views.differences import since_words
from server.web.views.pieces import (
    FindingLine,
    Swatch,
    as_made,
    finding_lines,
    route_text,
    run_title,
    source_text,
    swatch,
    target_text,
)
from server.web.views.sheet import sheet_svg


@dataclass(frozen=True, slots=True)
class CableLine:
    """One cable as the client sees it."""

    number: int
    title: str
    source: str
    target: str
    length: str
    wires: int
    colours: tuple[Swatch, ...]


@dataclass(frozen=True, slots=True)
class SharedPage:
    """The client's view of a build."""

    name: str
    client: str
    revision: str
    since: str
    """What the build costs beyond its newest named revision, in words; empty where none is named, or
    this one is and costs what it did."""
    metered: bool
    cut: str
    """How many wires have been cut; empty for none."""
    sheet: str
    cables: tuple[CableLine, ...]
    findings: tuple[FindingLine, ...]
    cautions: tuple[str, ...]
    price: str
    complete: bool
    tax: str


def shared_page(opened: Opened, since: Since | None) -> SharedPage:
    """The view of a shared build.

    Args:
        opened: The build as it stands.
        since: What the build costs beyond its newest named revision.
    """
    plan = opened.plan
    held = opened.on_hand
    cut = sum(1 for piece in (*held.pieces, *held.lost) if piece.material.kind == "wire")
    named = since is not None and since.number == opened.revision
    name = f" ‘{since.name}’" if since is not None and named else ""
    return SharedPage(
        name=opened.build.name,
        client=opened.build.client,
        revision=f"{opened.revision}{name}, {formats.day(opened.saved_at)}",
        since="" if since is None or (named and since.difference.nothing) else since_words(since),
        metered=plan.metered,
        cut=formats.count(cut, "wire") + (" has" if cut == 1 else " have") if cut else "",
        sheet=sheet_svg(opened, lambda number: f"#cable-{number}"),
        cables=tuple(
            CableLine(
                run.number,
                run_title(run),
                source_text(run),
                target_text(run),
                route_text(run),
                len(run.wires),
                tuple(swatch(opened.catalogue, code) for code in _colours(run)),
            )
            for run in plan.runs
        ),
        findings=finding_lines(plan.findings, "", plan.runs),
        cautions=plan.cautions,
        price=formats.money(plan.estimate.total, plan.estimate.currency),
        complete=plan.estimate.complete,
        tax=f"with {formats.amount(opened.build.rates.tax_percent)} % tax",
    )


def _colours(run: RunPlan) -> tuple[str, ...]:
    """Colours that the finished cable shows; bare wires of the supply's own cable keep their maker's."""
    seen = (wire.sleeve_colour or ("" if as_made(run, wire) else wire.colour) for wire in run.wires)
    return tuple(dict.fromkeys(filter(None, seen)))
