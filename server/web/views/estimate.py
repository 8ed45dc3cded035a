"""The estimate: how the price adds up, and the rates and allowances behind it."""

from dataclasses import dataclass

from server.services.opened import Opened
from server.web.views import formats
from server.web.views.allowances import Allowed, allowed
from server.web.views.fields import Field, Fields


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
    rates_href: str
    allowances_href: str
    total: str
    complete: bool
    labour: tuple[LabourRow, ...]
    labour_total: str
    sums: tuple[SumRow, ...]
    rates: tuple[Field, ...]
    allowances: Allowed


def estimate_panel(opened: Opened, base: int, fields: Fields) -> EstimatePanel:
    """The view of the estimate.

    Args:
        opened: The build as it stands.
        base: Revision that the forms change.
        fields: Makes the fields with what was typed last.
    """
    estimate, rates = opened.plan.estimate, opened.build.rates
    currency = estimate.currency
    hourly = f"{formats.hours(estimate.minutes)} at {formats.money(rates.hourly, currency)} an hour"
    return EstimatePanel(
        base=base,
        rates_href=f"/builds/{opened.build_id}/rates",
        allowances_href=f"/builds/{opened.build_id}/allowances",
        total=formats.money(estimate.total, currency),
        complete=estimate.complete,
        labour=tuple(
            LabourRow(line.name, str(line.count), formats.amount(line.minutes_each), formats.hours(line.minutes))
            for line in estimate.labour
        ),
        labour_total=formats.hours(estimate.minutes),
        sums=(
            SumRow("materials", "whole packs of the buy list", formats.money(estimate.materials, currency)),
            SumRow("labour", hourly, formats.money(estimate.labour_price, currency)),
            SumRow(
                "overhead", f"{formats.amount(rates.overhead_percent)} %", formats.money(estimate.overhead, currency)
            ),
            SumRow("margin", f"{formats.amount(rates.margin_percent)} %", formats.money(estimate.margin, currency)),
            SumRow("tax", f"{formats.amount(rates.tax_percent)} %", formats.money(estimate.tax, currency)),
        ),
        rates=_rates(opened, fields),
        allowances=allowed(opened, fields),
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
