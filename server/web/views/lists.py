"""What is taken to the bench as lists: cuts, things to buy, tools and findings."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from server.domain.model.plan import BuyLine, CutGroup, Severity
from server.services.opened import Opened
from server.web.views import formats
from server.web.views.fields import Field, Fields
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


@dataclass(frozen=True, slots=True)
class BuyRow:
    """One item in whole packs."""

    name: str
    colour: Swatch | None
    needed: str
    spare: str
    packs: str
    packed: str
    price: str


@dataclass(frozen=True, slots=True)
class BuyGroup:
    """Items of one kind."""

    name: str
    rows: tuple[BuyRow, ...]


@dataclass(frozen=True, slots=True)
class PackPrice:
    """The price of one pack, which the builder may set."""

    name: str
    pack: str
    href: str
    price: Field
    usual: str
    own: bool


@dataclass(frozen=True, slots=True)
class BuysPanel:
    """The buy list."""

    base: int
    groups: tuple[BuyGroup, ...]
    total: str
    missing: str
    currency: str
    prices: tuple[PackPrice, ...]


@dataclass(frozen=True, slots=True)
class ToolsPanel:
    """Tools needed for this build."""

    tools: tuple[str, ...]
    cautions: tuple[str, ...]


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
    )


def buys_panel(opened: Opened, base: int, fields: Fields) -> BuysPanel:
    """The view of the buy list.

    Args:
        opened: The build as it stands.
        base: Revision that the price forms change.
        fields: Makes the fields with what was typed last.
    """
    currency = opened.build.rates.currency
    kinds: dict[str, list[BuyLine]] = {}
    for line in opened.plan.buys:
        kinds.setdefault(formats.ITEMS[line.kind], []).append(line)
    missing = [line.name for line in opened.plan.buys if line.price is None]
    return BuysPanel(
        base=base,
        groups=tuple(
            BuyGroup(kind, tuple(_buy(line, opened, currency) for line in lines)) for kind, lines in kinds.items()
        ),
        total=formats.money(opened.plan.estimate.materials, currency),
        missing=formats.listed(missing),
        currency=currency,
        prices=_prices(opened, fields, currency),
    )


def tools_panel(opened: Opened) -> ToolsPanel:
    """The view of the tools.

    Args:
        opened: The build as it stands.
    """
    return ToolsPanel(opened.plan.tools, opened.plan.cautions)


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
        )
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


def _buy(line: BuyLine, opened: Opened, currency: str) -> BuyRow:
    """One item of the buy list."""
    packs = {pack.id: pack for pack in opened.catalogue.packs}
    words = [
        f"{times} × {formats.quantity(packs[pack].quantity, packs[pack].unit)}"
        if pack in packs
        else f"{times} × {pack}"
        for pack, times in line.packs
    ]
    return BuyRow(
        line.name,
        swatch(opened.catalogue, line.colour) if line.colour else None,
        formats.quantity(line.needed, line.unit),
        formats.quantity(line.spare, line.unit) if line.spare else "none",
        " + ".join(words) or "no pack known",
        formats.quantity(line.packed, line.unit),
        formats.money(line.price, currency) if line.price is not None else "no price",
    )


def _prices(opened: Opened, fields: Fields, currency: str) -> tuple[PackPrice, ...]:
    """The packs that this buy list could use, each with its price."""
    wanted = {(line.kind, line.item): line.name for line in opened.plan.buys}
    overrides = opened.build.prices
    made = []
    for pack in opened.catalogue.packs:
        if (pack.kind, pack.item) not in wanted:
            continue
        current = _override(overrides.get(pack.id))
        made.append(
            PackPrice(
                wanted[pack.kind, pack.item],
                formats.quantity(pack.quantity, pack.unit) if pack.unit == "mm" else f"{pack.quantity} pieces",
                f"/builds/{opened.build_id}/prices/{pack.id}",
                fields.text(f"prices.{pack.id}", f"Own price, {currency}", current),
                formats.money(pack.price, currency),
                bool(current),
            )
        )
    return tuple(_unique(made))


def _unique(prices: Iterable[PackPrice]) -> Iterable[PackPrice]:
    """Each pack once."""
    return {price.href: price for price in prices}.values()


def _override(price: Decimal | None) -> str:
    """An own price as typed, or nothing."""
    return "" if price is None else formats.amount(price)
