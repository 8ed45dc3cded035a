"""Rates and allowances, from a form."""

from decimal import Decimal

from server.domain.model.build import Allowances, Rates
from server.web.forms import Reader


def rates_of(read: Reader) -> Rates:
    """The rates.

    Args:
        read: The form's reader.

    Raises:
        InvalidInputError: a number cannot be read or lies outside its range.
    """
    rates = Rates(
        currency=read.word("rates.currency").upper(),
        hourly=read.number("rates.hourly", Decimal(10_000)),
        overhead_percent=read.number("rates.overhead", Decimal(1000)),
        margin_percent=read.number("rates.margin", Decimal(1000)),
        tax_percent=read.number("rates.tax", Decimal(100)),
    )
    read.done()
    return rates


def allowances_of(read: Reader) -> Allowances:
    """The allowances.

    Args:
        read: The form's reader.

    Raises:
        InvalidInputError: a number cannot be read or lies outside its range.
    """
    per_wire = _needed(read, "allowances.per_wire", zero=True)
    step = _needed(read, "allowances.step")
    allowances = Allowances(
        per_wire_mm=per_wire,
        step_mm=step,
        spare_contacts_percent=float(read.number("allowances.spare_contacts_percent", Decimal(1000))),
        spare_contacts_least=read.whole("allowances.spare_contacts_least", 0, 1000),
        spare_combs_per_run=read.whole("allowances.spare_combs", 0, 100),
    )
    read.done()
    return allowances


def _needed(read: Reader, name: str, *, zero: bool = False) -> float:
    """A length that may not be left out. [mm]"""
    value = read.length(name, zero=zero)
    if value is None and not read.word(name):
        read.problem(name, "Write a length, such as 5 mm.")
    return value if value is not None else 1.0
