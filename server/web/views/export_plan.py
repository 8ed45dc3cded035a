"""Findings, work and price of a build as sheets of typed cells for files."""

from collections.abc import Iterator
from decimal import Decimal

from server.documents.tables import Cell, Column, Sheet
from server.services.opened import Opened
from server.web.views import formats
from server.web.views.export_cells import AMOUNT, NUMBER, WHOLE, money

INCOMPLETE = "incomplete: some item has no price, or some run no length"


def findings_sheet(opened: Opened) -> Sheet:
    """Findings, the gravest first.

    Args:
        opened: The build as it stands.
    """
    columns = (
        Column("severity"),
        Column("run", WHOLE),
        Column("finding"),
        Column("what to do"),
        Column("source"),
    )
    found = opened.plan.findings
    rows = tuple(
        (formats.SEVERITIES[finding.severity], finding.run, finding.text, finding.way_out, finding.source)
        for severity in formats.SEVERITIES
        for finding in found
        if finding.severity == severity
    )
    return Sheet("Findings", columns, rows)


def labour_sheet(opened: Opened) -> Sheet:
    """The work of the estimate, operation by operation.

    Args:
        opened: The build as it stands.
    """
    columns = (
        Column("operation"),
        Column("times", WHOLE),
        Column("each, min", NUMBER),
        Column("together, min", NUMBER),
    )
    lines = opened.plan.estimate.labour
    return Sheet("Work", columns, tuple((line.name, line.count, line.minutes_each, line.minutes) for line in lines))


def estimate_sheet(opened: Opened) -> Sheet:
    """How the price adds up; every amount exact, only the total is rounded.

    Args:
        opened: The build as it stands.
    """
    currency = opened.plan.estimate.currency
    columns = (
        Column("what"),
        Column("rate", AMOUNT),
        Column("rate is in"),
        Column("hours", NUMBER),
        money("amount", currency),
        Column("note"),
    )
    return Sheet("Estimate", columns, tuple(_sums(opened)))


def _sums(opened: Opened) -> Iterator[tuple[Cell, ...]]:
    estimate, rates = opened.plan.estimate, opened.build.rates
    committed = sum((line.price for line in opened.plan.buys if line.price is not None), Decimal(0))
    hours = estimate.minutes / 60
    yield ("materials", None, "", None, estimate.materials, "whole packs, bought and to buy")
    yield ("of it bought for this build", None, "", None, opened.plan.spent, "")
    yield ("of it still to buy", None, "", None, committed, "")
    yield ("labour", rates.hourly, f"{estimate.currency} an hour", hours, estimate.labour_price, "")
    yield ("overhead", rates.overhead_percent, "% of materials and labour", None, estimate.overhead, "")
    yield ("margin", rates.margin_percent, "% of all above", None, estimate.margin, "")
    yield ("tax", rates.tax_percent, "% of all above", None, estimate.tax, "")
    yield ("total", None, "", None, estimate.total, "" if estimate.complete else INCOMPLETE)
