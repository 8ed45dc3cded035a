"""Rates and allowances, from a form."""

import math
from collections.abc import Mapping
from decimal import Decimal
from typing import get_args

from server.domain.model.build import Allowances, Rates, Skill, Spare, SpareOf
from server.domain.reference import SPARES
from server.web.forms import Reader

SKILLS: tuple[Skill, ...] = get_args(Skill)
SPARE_PERCENT_MOST = Decimal(500)
SPARE_LEAST_MOST = 100


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


def allowances_of(read: Reader, held: Allowances) -> Allowances:
    """The allowances. An empty field of a family, contact or spare takes the catalogue's or the trade's value again.

    Args:
        read: The form's reader; lengths are in millimetres unless they name their unit.
        held: What the build holds; families and contacts that the form does not show keep it.

    Raises:
        InvalidInputError: a number cannot be read or lies outside its range.
    """
    skill = read.one_of("allowances.skill", SKILLS)
    allowances = Allowances(
        depth_mm=_own(read, "allowances.depth.", held.depth_mm),
        strip_mm=_own(read, "allowances.strip.", held.strip_mm),
        recrimp_mm=_needed(read, "allowances.recrimp", zero=True),
        recrimp_by_family=_own(read, "allowances.recrimp.", held.recrimp_by_family),
        slack_mm=_needed(read, "allowances.slack", zero=True),
        step_mm=_needed(read, "allowances.step"),
        fray_mm=_needed(read, "allowances.fray", zero=True),
        cut_loss_mm=math.ceil(_whole(read, "allowances.cut_loss", held.cut_loss_mm)),
        remnant_least_mm=round(_whole(read, "allowances.remnant_least", held.remnant_least_mm)),
        skill=skill,
        spares={what: own for what in SPARES[skill] if (own := _spare(read, what, SPARES[skill][what])) is not None},
    )
    read.done()
    return allowances


def _own(read: Reader, prefix: str, held: Mapping[str, float]) -> dict[str, float]:
    """Values set by hand, by what stands behind the prefix. [mm]"""
    shown = {name.removeprefix(prefix) for name in read.typed.values if name.startswith(prefix)}
    typed = {key: read.length(prefix + key, zero=True) for key in sorted(shown)}
    kept = {key: value for key, value in held.items() if key not in shown}
    return kept | {key: value for key, value in typed.items() if value is not None}


def _spare(read: Reader, what: SpareOf, usual: Spare) -> Spare | None:
    """Spares set by hand; a number left empty follows the skill, and nothing set by hand follows it altogether."""
    name = f"allowances.spares.{what}"
    percent, least = usual.percent, usual.least
    if read.word(f"{name}.percent"):
        percent = float(read.number(f"{name}.percent", SPARE_PERCENT_MOST))
    if read.word(f"{name}.least"):
        least = read.whole(f"{name}.least", 0, SPARE_LEAST_MOST)
    spare = Spare(percent, least)
    return None if spare == usual else spare


def _whole(read: Reader, name: str, held: int) -> float:
    """A length that is kept in whole millimetres; a form that does not show it leaves it as it is. [mm]"""
    return _needed(read, name, zero=True) if name in read.typed.values else held


def _needed(read: Reader, name: str, *, zero: bool = False) -> float:
    """A length that may not be left out. [mm]"""
    value = read.length(name, zero=zero)
    if value is None and not read.word(name):
        read.problem(name, "Write a length, such as 5 mm.")
    return value if value is not None else 1.0
