"""How values are worded on screen and on paper."""

from collections.abc import Iterable
from datetime import datetime
from decimal import ROUND_HALF_UP, Decimal
from functools import lru_cache

from babel.core import UnknownLocaleError
from babel.numbers import format_currency

from server.domain.model.build import Build, PartKind
from server.domain.model.catalogue import Insulation, ItemKind, Use
from server.domain.model.plan import Severity

MM_PER_INCH = 25.4
INSULATIONS: dict[Insulation, str] = {"plain": "plain", "high_temperature": "high temperature", "clear": "clear"}
USES: dict[Use, str] = {
    "main": "board main",
    "cpu": "processor",
    "graphics": "graphics",
    "drive": "drives",
    "fan": "fans",
    "light": "lights",
    "panel": "front panel",
    "usb": "USB",
    "audio": "audio",
    "data": "data",
}
KINDS: dict[PartKind, str] = {
    "board": "board",
    "graphics": "graphics card",
    "drive": "drive",
    "fan": "fan",
    "light": "light",
    "button": "button",
    "usb": "USB socket",
    "audio": "audio socket",
    "data": "data link",
    "hub": "hub",
    "other": "other part",
}
ITEMS: dict[ItemKind, str] = {
    "wire": "wire",
    "sleeve": "sleeve",
    "shrink": "heat-shrink",
    "contact": "contacts",
    "housing": "housings",
    "comb": "combs",
    "cap": "caps",
}
SEVERITIES: dict[Severity, str] = {"stop": "stop", "warn": "warn", "note": "note"}
MARKS: dict[Severity, str] = {"stop": "■", "warn": "▲", "note": "●"}


def number(value: float, digits: int = 1) -> str:
    """A number with at most so many digits behind the point, without idle zeros."""
    text = f"{value:.{digits}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def length(value_mm: float, *, inches: bool = False) -> str:
    """A length with its unit: ``612 mm`` or ``24.09 in``."""
    return f"{number(value_mm / MM_PER_INCH, 2)} in" if inches else f"{number(value_mm)} mm"


def bare_length(value_mm: float, *, inches: bool = False) -> str:
    """A length without its unit, for a field whose unit stands beside it."""
    return number(value_mm / MM_PER_INCH, 2) if inches else number(value_mm)


def span(low_mm: float, high_mm: float, *, inches: bool = False) -> str:
    """A range of lengths with its unit."""
    return f"{bare_span(low_mm, high_mm, inches=inches)} {'in' if inches else 'mm'}"


def bare_span(low_mm: float, high_mm: float, *, inches: bool = False) -> str:
    """A range of lengths without its unit."""
    return f"{bare_length(low_mm, inches=inches)}–{bare_length(high_mm, inches=inches)}"


def metres(value_mm: int) -> str:
    """A total length in metres."""
    return f"{value_mm / 1000:.1f} m"


def hours(minutes: Decimal) -> str:
    """Bench time in hours and minutes."""
    whole = int(minutes.quantize(Decimal(1), ROUND_HALF_UP))
    return f"{whole // 60} h {whole % 60:02d} min" if whole >= 60 else f"{whole} min"


@lru_cache(maxsize=1024)
def money(amount: Decimal, currency: str) -> str:
    """An amount in its currency, to the currency's smallest unit."""
    try:
        return str(format_currency(amount, currency, locale="en_GB"))
    except (UnknownLocaleError, ValueError, LookupError):
        return f"{currency} {amount:.2f}"


def amount(value: Decimal) -> str:
    """A number as a person would type it."""
    text = format(value.normalize(), "f")
    return text if value else "0"


def local(iso: str) -> datetime:
    """An ISO 8601 moment in the server's own time zone."""
    return datetime.fromisoformat(iso.replace("Z", "+00:00")).astimezone()


def clock(iso: str) -> str:
    """A moment of today as ``10:42``, an older one with its day."""
    moment = local(iso)
    if moment.date() == datetime.now().astimezone().date():
        return f"{moment:%H:%M}"
    return f"{moment.day} {moment:%b %Y, %H:%M}"


def day(iso: str) -> str:
    """The day of a moment, as written on a drawing."""
    return f"{local(iso):%Y-%m-%d}"


def count(quantity: int, one: str, many: str = "") -> str:
    """A quantity with its noun: ``1 wire``, ``23 wires``."""
    return f"{quantity} {one if quantity == 1 else many or one + 's'}"


def listed(words: Iterable[str]) -> str:
    """Words joined by commas."""
    return ", ".join(words)


def quantity(value: int, unit: str) -> str:
    """So many pieces, or a length in metres."""
    return metres(value) if unit == "mm" else str(value)


def routes_words(build: Build, spread: Iterable[int], replaced: Iterable[int]) -> str:
    """Sentences on routes that were saved: one spacing that stands for all gaps, and legs and bends that are gone.

    Args:
        build: The build as it was saved.
        spread: Numbers of chains whose one spacing was taken for every gap; other runs are passed over.
        replaced: Numbers of runs whose legs and bends gave way to a length; runs that still have some are passed over.
    """
    chains, lengths = set(spread), set(replaced)
    told = []
    for run in build.runs:
        spacing = run.route.spacing_mm
        if run.number in chains and len(spacing) > 1 and len(set(spacing)) == 1:
            told.append(f" Run {run.number}: one spacing taken for all {len(spacing)} gaps.")
        if run.number in lengths and not run.route.steps:
            now = "a length in their place" if run.route.length_mm is not None else "no length yet"
            told.append(f" Run {run.number}: its legs and bends are gone, {now}.")
    return "".join(told)


def volts(value: float | None) -> str:
    """A voltage as a person would type it, without its unit; empty when there is none."""
    return "" if value is None else number(value, 4)


def spans(labels: Iterable[str]) -> str:
    """Labels in order, those that count on told by first and last: ``1-hs1 to 1-hs9, 2-hs1``."""
    held: list[tuple[str, str]] = []
    for label in labels:
        if held and follows(held[-1][1], label):
            held[-1] = held[-1][0], label
        else:
            held.append((label, label))
    return ", ".join(first if first == last else f"{first} to {last}" for first, last in held)


def follows(label: str, other: str) -> bool:
    """Whether the second label is the first one counted on by one."""
    front, number = label.rstrip("0123456789"), label[len(label.rstrip("0123456789")) :]
    return bool(number) and other in (f"{front}{int(number) + 1}", f"{front}{int(number) + 1:0{len(number)}}")
