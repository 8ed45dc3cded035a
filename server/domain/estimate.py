"""What the build costs, in parts and hours."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

from server.domain.model.build import Rates
from server.domain.model.catalogue import Labour
from server.domain.model.plan import Estimate, LabourLine

MINUTES_PER_HOUR = 60


def labour_lines(counts: Mapping[str, int], labour: Mapping[str, Labour]) -> tuple[LabourLine, ...]:
    """One line per operation that the build needs, in the order of the labour table.

    Args:
        counts: How often each operation is done.
        labour: Minutes by operation.

    Raises:
        KeyError: an operation is counted that the labour table lacks.
    """
    if unknown := set(counts) - set(labour):
        raise KeyError(f"no minutes are known for {sorted(unknown)}")
    return tuple(
        LabourLine(entry.operation, entry.name, counts[key], entry.minutes, entry.minutes * counts[key])
        for key, entry in labour.items()
        if counts.get(key)
    )


def estimate(
    materials: Sequence[Decimal], lines: tuple[LabourLine, ...], rates: Rates, digits: int, *, complete: bool
) -> Estimate:
    """Price of a build: materials and labour, overhead on both, margin on that, tax on all.

    Args:
        materials: Prices of what is bought.
        lines: Labour by operation. [minutes]
        rates: Hourly rate and percentages.
        digits: Decimal places of the currency's smallest unit.
        complete: False when a price or a length is missing.

    Returns:
        ``total`` rounded once, half up, from exact fractions: thirds of an hour add up without a loss.
    """
    overhead, margin = 1 + Fraction(rates.overhead_percent) / 100, 1 + Fraction(rates.margin_percent) / 100
    bought = sum((Fraction(price) for price in materials), Fraction(0))
    minutes = sum((line.minutes for line in lines), Decimal(0))
    work = Fraction(minutes) * Fraction(rates.hourly) / MINUTES_PER_HOUR
    cost = (bought + work) * overhead
    price = cost * margin
    tax = price * Fraction(rates.tax_percent) / 100
    return Estimate(
        currency=rates.currency,
        materials=_amount(bought),
        labour=lines,
        minutes=minutes,
        labour_price=_amount(work),
        overhead=_amount(cost - bought - work),
        margin=_amount(price - cost),
        tax=_amount(tax),
        total=_rounded(price + tax, digits),
        complete=complete,
    )


def retimed(before: Estimate, operation: str, minutes: Decimal, rates: Rates, digits: int) -> Estimate:
    """The price if one operation took other minutes.

    Args:
        before: The price as it is.
        operation: Of the labour table.
        minutes: What it would take. [minutes]
        rates: Hourly rate and percentages.
        digits: Decimal places of the currency's smallest unit.
    """
    lines = tuple(
        replace(line, minutes_each=minutes, minutes=minutes * line.count) if line.operation == operation else line
        for line in before.labour
    )
    return estimate([before.materials], lines, rates, digits, complete=before.complete)


def _amount(value: Fraction) -> Decimal:
    """A fraction as a decimal, to more places than any currency has."""
    return Decimal(value.numerator) / Decimal(value.denominator)


def _rounded(value: Fraction, digits: int) -> Decimal:
    """The one rounding: half up, from the exact fraction, to the currency's smallest unit."""
    units = (value * 10**digits + Fraction(1, 2)).__floor__()
    return Decimal(units).scaleb(-digits)
