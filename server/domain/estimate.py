"""What the build costs, in parts and hours."""

from collections.abc import Mapping, Sequence
from decimal import ROUND_HALF_UP, Decimal

from server.domain.model.build import Rates
from server.domain.model.catalogue import Labour
from server.domain.model.plan import Estimate, LabourLine

MINUTES_PER_HOUR = Decimal(60)
PERCENT = Decimal(100)


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
        Every amount exact; ``total`` rounded once, half up, at the end.
    """
    bought = sum(materials, Decimal(0))
    minutes = sum((line.minutes for line in lines), Decimal(0))
    work = minutes * rates.hourly / MINUTES_PER_HOUR
    overhead = (bought + work) * rates.overhead_percent / PERCENT
    margin = (bought + work + overhead) * rates.margin_percent / PERCENT
    tax = (bought + work + overhead + margin) * rates.tax_percent / PERCENT
    total = bought + work + overhead + margin + tax
    rounded = total.quantize(Decimal(1).scaleb(-digits), rounding=ROUND_HALF_UP)
    return Estimate(rates.currency, bought, lines, minutes, work, overhead, margin, tax, rounded, complete)
