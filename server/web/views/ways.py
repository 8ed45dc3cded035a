"""What a builder chooses for a run: how shared contacts are dealt with, and which of three ways it is built."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from server.domain.model.build import Method, Remedy, Run
from server.domain.model.plan import MethodFigures, Offer, RunPlan
from server.services.opened import Opened
from server.web.views import formats
from server.web.views.fields import Field, Fields

METHODS: dict[Method, str] = {
    "scratch": "new cable",
    "rework": "rework of the supply's own cable",
    "extension": "extension",
}
REMEDIES: dict[Remedy, str] = {
    "free_cavity": "use a free contact",
    "thinner": "take a thinner second wire",
    "jumper": "bridge at the part end",
    "splice": "splice before the housing",
    "as_is": "crimp both as they are",
}


@dataclass(frozen=True, slots=True)
class OfferLine:
    """One way to deal with a shared contact."""

    value: str
    name: str
    chosen: bool
    possible: bool
    reason: str
    minutes: str
    materials: str


@dataclass(frozen=True, slots=True)
class SharedContact:
    """One contact with two wires and the ways to deal with it, most wanted first."""

    title: str
    offers: tuple[OfferLine, ...]


@dataclass(frozen=True, slots=True)
class MethodLine:
    """One way to build the run."""

    value: str
    id: str
    name: str
    ticked: bool
    chosen: bool
    possible: bool
    reason: str
    contacts: int
    joints: int
    added: str
    minutes: str
    materials: str
    left_over: str


@dataclass(frozen=True, slots=True)
class Methods:
    """The three ways side by side."""

    field: Field
    lines: tuple[MethodLine, ...]
    own_cable: Field


def shared_contacts(run: RunPlan) -> tuple[SharedContact, ...]:
    """Shared contacts in the order of the plan, each with its offers."""
    groups: dict[tuple[str, str, str], list[Offer]] = {}
    for offer in run.offers:
        groups.setdefault((offer.part, offer.socket, offer.cavity), []).append(offer)
    return tuple(_contact(run, held) for held in groups.values())


def _contact(run: RunPlan, offers: list[Offer]) -> SharedContact:
    first = offers[0]
    socket = next(
        (plug.socket for plug in run.sources if (plug.ref.part, plug.ref.socket) == (first.part, first.socket)),
        first.socket,
    )
    title = f"{socket}, contact {first.cavity}: wires {' and '.join(first.labels)}"
    return SharedContact(title, tuple(_offer_line(offer) for offer in offers))


def _offer_line(offer: Offer) -> OfferLine:
    return OfferLine(
        f"{offer.part}/{offer.socket}/{offer.cavity}/{offer.remedy}",
        REMEDIES[offer.remedy],
        offer.chosen,
        offer.possible,
        offer.reason,
        _minutes(offer.minutes),
        formats.listed(offer.materials),
    )


def _minutes(minutes: Decimal) -> str:
    """Time beyond the usual, in words."""
    if not minutes:
        return "no extra time"
    return f"{formats.amount(abs(minutes))} min {'less' if minutes < 0 else 'more'}"


def methods_view(run: RunPlan, entered: Run, opened: Opened, fields: Fields, *, inches: bool) -> Methods:
    """The three ways to build a run, with their figures."""
    name, ways = f"runs.{run.id}.method", opened.three_ways(run.id)
    field = fields.choice(name, "Way to build it", entered.method, ((w.method, METHODS[w.method]) for w in ways))
    own = "" if entered.own_cable_mm is None else formats.bare_length(entered.own_cable_mm, inches=inches)
    hint = "needed for a rework and an extension"
    return Methods(
        field,
        tuple(_method_line(figures, field, opened.plan.estimate.currency) for figures in ways),
        fields.text(
            f"runs.{run.id}.own_cable", "Length of the supply's own cable", own, hint, "in" if inches else "mm"
        ),
    )


def _method_line(figures: MethodFigures, field: Field, currency: str) -> MethodLine:
    return MethodLine(
        figures.method,
        f"{field.id}-{figures.method}",
        METHODS[figures.method],
        any(option.chosen for option in field.options if option.value == figures.method),
        figures.chosen,
        figures.possible,
        figures.reason,
        figures.contacts,
        figures.joints,
        formats.number(figures.added_mohm),
        formats.amount(figures.minutes.quantize(Decimal("0.1"))),
        formats.money(figures.materials, currency),
        _left_over(figures.left_over),
    )


def _left_over(pieces: Iterable[str]) -> str:
    return formats.listed(pieces) or "nothing"
