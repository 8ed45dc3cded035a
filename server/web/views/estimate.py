"""The estimate: how the price adds up, and the rates and allowances behind it."""

from dataclasses import dataclass
from decimal import Decimal

from server.domain.model.plan import Estimate
from server.services.opened import Opened
from server.services.revisions import Since
from server.web.views import formats
from server.web.views.allowances import Allowed, allowed
from server.web.views.differences import since_words
from server.web.views.fields import Field, Fields
from server.web.views.learning import Learned


@dataclass(frozen=True, slots=True)
class LabourRow:
    """One operation."""

    name: str
    count: str
    each: str
    minutes: str


@dataclass(frozen=True, slots=True)
class SumRow:
    """One line of the sum."""

    name: str
    note: str
    amount: str


@dataclass(frozen=True, slots=True)
class EstimatePanel:
    """The estimate with its rates and allowances."""

    base: int
    exports: str
    """Address of the list as a file, without its ending."""
    rates_href: str
    allowances_href: str
    total: str
    complete: bool
    since: str
    """What the build costs beyond its newest named revision, in words; empty where none is named."""
    labour: tuple[LabourRow, ...]
    labour_total: str
    again: str
    """How much of it went into wires that do not serve; empty for none."""
    sums: tuple[SumRow, ...]
    materials: tuple[SumRow, ...]
    """What of the materials is paid and what is still to pay."""
    materials_total: str
    rates: tuple[Field, ...]
    allowances: Allowed
    learned: Learned


def estimate_panel(opened: Opened, base: int, fields: Fields, since: Since | None, learned: Learned) -> EstimatePanel:
    """The view of the estimate.

    Args:
        opened: The build as it stands.
        base: Revision that the forms change.
        fields: Makes the fields with what was typed last.
        since: What the build costs beyond its newest named revision.
        learned: What the bench measured.
    """
    estimate, rates = opened.plan.estimate, opened.build.rates
    currency = estimate.currency
    hourly = f"{formats.hours(estimate.minutes)} at {formats.money(rates.hourly, currency)} an hour"
    return EstimatePanel(
        base=base,
        exports=f"/builds/{opened.build_id}/export/estimate",
        rates_href=f"/builds/{opened.build_id}/rates",
        allowances_href=f"/builds/{opened.build_id}/allowances",
        total=formats.money(estimate.total, currency),
        complete=estimate.complete,
        since=since_words(since),
        labour=tuple(
            LabourRow(line.name, str(line.count), formats.amount(line.minutes_each), formats.hours(line.minutes))
            for line in estimate.labour
        ),
        labour_total=formats.hours(estimate.minutes),
        again=_again(estimate),
        sums=(
            SumRow("materials", "whole packs, bought and to buy", formats.money(estimate.materials, currency)),
            SumRow("labour", hourly, formats.money(estimate.labour_price, currency)),
            SumRow(
                "overhead", f"{formats.amount(rates.overhead_percent)} %", formats.money(estimate.overhead, currency)
            ),
            SumRow("margin", f"{formats.amount(rates.margin_percent)} %", formats.money(estimate.margin, currency)),
            SumRow("tax", f"{formats.amount(rates.tax_percent)} %", formats.money(estimate.tax, currency)),
        ),
        materials=_materials(opened),
        materials_total=formats.money(estimate.materials, currency),
        rates=_rates(opened, fields),
        allowances=allowed(opened, fields),
        learned=learned,
    )


def _again(estimate: Estimate) -> str:
    """Work that is done again, or was for a wire that is not needed any more."""
    if not estimate.again_wires:
        return ""
    return f"{formats.count(estimate.again_wires, 'wire')}, {formats.hours(estimate.again_minutes)}"


def _materials(opened: Opened) -> tuple[SumRow, ...]:
    """Materials by what was bought for the build and what its buy list still holds."""
    plan, currency = opened.plan, opened.plan.estimate.currency
    committed = sum((line.price for line in plan.buys if line.price is not None), Decimal(0))
    return (
        SumRow("spent", "bought for this build", formats.money(plan.spent, currency)),
        SumRow("committed", "still to buy", formats.money(committed, currency)),
    )


def _rates(opened: Opened, fields: Fields) -> tuple[Field, ...]:
    """The fields of the rates."""
    rates = opened.build.rates
    return (
        fields.text("rates.currency", "Currency", rates.currency, "Three letters, such as EUR."),
        fields.text("rates.hourly", "Hourly rate", formats.amount(rates.hourly), "", rates.currency),
        fields.text("rates.overhead", "Overhead", formats.amount(rates.overhead_percent), "", "%"),
        fields.text("rates.margin", "Margin", formats.amount(rates.margin_percent), "", "%"),
        fields.text("rates.tax", "Tax", formats.amount(rates.tax_percent), "", "%"),
    )
