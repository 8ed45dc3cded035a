"""Cut now or wait: which runs are ready, which wait and for what, and what waiting costs."""

from dataclasses import dataclass
from decimal import Decimal

from server.domain.model.build import Run
from server.domain.model.plan import RunPlan, Waiting
from server.services.opened import Opened
from server.web.views import formats
from server.web.views.fields import Fields
from server.web.views.pieces import route_text, run_title
from server.web.views.routes import RouteFields, cut_words, route_fields


@dataclass(frozen=True, slots=True)
class ReadyRow:
    """A run that can be cut now."""

    number: int
    title: str
    href: str
    length: str
    wires: str
    cut: str


@dataclass(frozen=True, slots=True)
class WaitingRow:
    """A run that waits, and what it is bought for meanwhile."""

    number: int
    title: str
    href: str
    wants: str
    wires: str
    bought: str
    likely: str
    price: str
    fields: RouteFields


@dataclass(frozen=True, slots=True)
class StuckRow:
    """A run that its length does not hold up, and what does."""

    number: int
    title: str
    href: str
    reason: str


@dataclass(frozen=True, slots=True)
class WaitingPanel:
    """The runs of a build by whether they can be cut now."""

    href: str
    exports: str
    """Address of the list as a file, without its ending."""
    base: int
    unit: str
    ready: tuple[ReadyRow, ...]
    waiting: tuple[WaitingRow, ...]
    stuck: tuple[StuckRow, ...]
    bought: str
    likely: str
    price: str
    metered: bool
    routes_href: str


def waiting_panel(opened: Opened, base: int, fields: Fields, *, inches: bool) -> WaitingPanel:
    """The view of the panel.

    Args:
        opened: The build as it stands.
        base: Revision that the form changes.
        fields: Makes the fields with what was typed last.
        inches: Whether lengths are shown in inches.
    """
    plan, href = opened.plan, f"/builds/{opened.build_id}/routes"
    entered = {run.id: run for run in opened.build.runs}
    held = {entry.run: entry for entry in plan.waiting}
    currency = plan.estimate.currency
    return WaitingPanel(
        href=href,
        exports=f"/builds/{opened.build_id}/export/waiting",
        base=base,
        unit="in" if inches else "mm",
        ready=tuple(_ready(run, opened, inches) for run in plan.runs if run.number not in held and not held_up(run)),
        waiting=tuple(
            _waiting(run, held[run.number], entered[run.id], opened, fields, inches)
            for run in plan.runs
            if run.number in held
        ),
        stuck=tuple(
            StuckRow(run.number, run_title(run), f"/builds/{opened.build_id}/runs/{run.id}", reason)
            for run in plan.runs
            if run.number not in held and (reason := held_up(run))
        ),
        bought=formats.metres(sum(entry.buy_mm for entry in plan.waiting)),
        likely=formats.metres(sum(entry.likely_buy_mm for entry in plan.waiting)),
        price=formats.money(sum((entry.wait_price for entry in plan.waiting), Decimal(0)), currency),
        metered=plan.metered,
        routes_href=href,
    )


def held_up(run: RunPlan) -> str:
    """What keeps a measured run from being cut, in words; empty when nothing does.

    Args:
        run: The planned run.
    """
    if not run.proved:
        return "the independent check found a fault: see its findings"
    if run.kind == "sleeved" or any(wire.cut_mm or wire.own_mm for wire in run.wires):
        return ""
    if not run.sources:
        return "no source yet: choose a port"
    return "no wire can be planned: see its findings" if not run.wires else "the length of the own cable is not known"


def _ready(run: RunPlan, opened: Opened, inches: bool) -> ReadyRow:
    return ReadyRow(
        run.number,
        run_title(run),
        f"/builds/{opened.build_id}/runs/{run.id}",
        route_text(run, inches=inches),
        _wires(run),
        cut_words(run, inches=inches),
    )


def _waiting(run: RunPlan, entry: Waiting, entered: Run, opened: Opened, fields: Fields, inches: bool) -> WaitingRow:
    known = bool(entry.buy_mm)
    return WaitingRow(
        run.number,
        run_title(run),
        f"/builds/{opened.build_id}/runs/{run.id}",
        wants(run, entry, inches=inches),
        _wires(run),
        f"{formats.metres(entry.buy_mm)} at the longest" if known else "nothing yet",
        formats.metres(entry.likely_buy_mm) if known else "not known",
        formats.money(entry.wait_price, opened.plan.estimate.currency) if known else "not known",
        route_fields(run, entered, opened, fields, inches=inches, prefix=f"run {run.number}, "),
    )


def wants(run: RunPlan, entry: Waiting, *, inches: bool = False) -> str:
    """What a run waits for, in words.

    Args:
        run: The planned run.
        entry: What the plan says of its wait.
        inches: Whether lengths are shown in inches.
    """
    if not run.sources and run.kind != "sleeved":
        return "a source, and its length" if run.state != "measured" else "a source"
    if entry.low_mm is not None and entry.high_mm is not None and run.state == "range":
        likely = ""
        if entry.likely_mm is not None:
            likely = f", most likely {formats.length(entry.likely_mm, inches=inches)}"
        return f"its length: {formats.span(entry.low_mm, entry.high_mm, inches=inches)}{likely}"
    if run.length_mm is not None:
        return "the spacing from plug to plug"
    return "its length: nothing is known of it"


def _wires(run: RunPlan) -> str:
    return "sleeve only" if run.kind == "sleeved" else formats.count(len(run.wires), "wire")
