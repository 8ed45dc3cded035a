"""How a run is wired, and what the builder may decide about it: pins, shared contacts, the way it is built."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from server.domain.model.build import Forbidden, Method, Remedy, Run
from server.domain.model.catalogue import Pin
from server.domain.model.plan import MethodFigures, Offer, PinCost, Plug, RunPlan
from server.domain.sockets import every_socket, key
from server.drawing.crossing import crossing_svg, crossing_words
from server.drawing.plugs import cells, stops
from server.services.opened import Opened
from server.web.views import formats
from server.web.views.fields import Field, Fields, Option

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
class Diagram:
    """One crossing diagram with its counts."""

    name: str
    counted: str
    svg: str


@dataclass(frozen=True, slots=True)
class PinRow:
    """One part cavity: what feeds it, and what the builder wants to feed it."""

    cavity: str
    function: str
    fed_by: str
    field: Field
    pinned: bool
    cost: str


@dataclass(frozen=True, slots=True)
class ForbidFace:
    """Check boxes in the positions of a source plug's cavities; a place without a cavity is empty."""

    title: str
    rows: tuple[tuple["ForbidBox | None", ...], ...]


@dataclass(frozen=True, slots=True)
class ForbidBox:
    """One cavity of a source plug that may be forbidden."""

    id: str
    cavity: str
    net: str
    option: Option


@dataclass(frozen=True, slots=True)
class Pins:
    """Wires put by hand and cavities that none may use."""

    rows: tuple[PinRow, ...]
    forbidden: Field
    faces: tuple[ForbidFace, ...]
    entered: int
    """Pins that the builder has entered."""
    open: bool
    """Whether there is something to see: a pin, a forbidden cavity or a message."""
    rest: str
    """Why pins have no effect now; empty when they have."""


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


@dataclass(frozen=True, slots=True)
class Wiring:
    """Everything about the wiring of one run."""

    diagrams: tuple[Diagram, ...]
    latch: str
    spare: str
    unused: str
    pins: Pins | None
    shared_field: Field
    shared: tuple[SharedContact, ...]
    methods: Methods | None


def wiring_view(run: RunPlan, entered: Run, opened: Opened, fields: Fields, *, inches: bool) -> Wiring:
    """The wiring of one run.

    Args:
        run: The planned run.
        entered: The run as the builder entered it.
        opened: The build as it stands.
        fields: Makes the fields with what was typed last.
        inches: Whether lengths are shown in inches.
    """
    rewired = run.kind != "sleeved" and bool(run.sources)
    return Wiring(
        diagrams=_diagrams(run, entered, opened),
        latch=latch_words(run),
        spare=_spare_words(run),
        unused=_unused_words(run),
        pins=_pins(run, entered, opened, fields) if rewired else None,
        shared_field=fields.text(f"runs.{run.id}.shared", "Shared contacts", ""),
        shared=_shared(run),
        methods=_methods(run, entered, opened, fields, inches=inches) if opened.three_ways(run.id) else None,
    )


def latch_words(run: RunPlan) -> str:
    """Crossings with the source plugs' latch up and down, and which was chosen; empty where there is no choice."""
    if len(run.latch_ways) < 2 or not run.sources:
        return ""
    alike = len({way.doubles for way in run.latch_ways}) == 1
    words = []
    for way in run.latch_ways:
        # Said in full once: "latch up: 12 crossings; latch down: 9, chosen".
        counted = formats.count(way.crossings, "crossing") if not words else str(way.crossings)
        if not alike:
            counted = crossing_words(way.crossings, way.doubles)
        chosen = ", chosen" if way.latch_down == run.sources[0].latch_down else ""
        words.append(f"latch {'down' if way.latch_down else 'up'}: {counted}{chosen}")
    return "; ".join(words)


def _diagrams(run: RunPlan, entered: Run, opened: Opened) -> tuple[Diagram, ...]:
    """The cavity-by-cavity wiring and the planned one, side by side."""
    if run.kind == "sleeved" or not run.wires:
        return ()
    made = []
    if run.plain:
        counted = crossing_words(run.plain.crossings, run.plain.doubles)
        made.append(Diagram("Cavity by cavity", counted, crossing_svg(run, opened.catalogue, plain=True)))
    counted = crossing_words(run.crossings, run.doubles)
    made.append(Diagram("As planned", counted, crossing_svg(run, opened.catalogue, entered=entered)))
    return tuple(made)


def _spare_words(run: RunPlan) -> str:
    """Contacts of the source that are left, by net."""
    if not run.spare_cavities:
        return "Every live contact of the source has a wire." if run.wires and run.sources else ""
    counts: dict[str, int] = {}
    for plug, cavity in run.spare_cavities:
        net = run.sources[plug].nets.get(cavity, "")
        counts[net] = counts.get(net, 0) + 1
    return f"Spare at the source: {formats.listed(f'{times} × {net}' for net, times in counts.items())}."


def _unused_words(run: RunPlan) -> str:
    """Cavities without a wire, by plug."""
    words = []
    for index, plug in enumerate(run.sources):
        open_ones = [cavity for at, cavity in run.spare_cavities if at == index]
        if open_ones:
            words.append(f"{plug.socket}: {formats.listed(open_ones)} live, left open")
        if empty := [cavity for cavity, net in plug.nets.items() if not net]:
            words.append(f"{plug.socket}: {formats.listed(empty)} not connected")
    if run.wires and run.ends:
        used = {end.cavity for wire in run.wires for end in (*wire.taps, wire.target) if end.plug == 0}
        if empty := [cavity for cavity in run.ends[0].nets if cavity not in used]:
            words.append(f"part plug: {formats.listed(empty)} without a wire")
    return "; ".join(words)


def _pins(run: RunPlan, entered: Run, opened: Opened, fields: Fields) -> Pins | None:
    """One row for each part cavity that gets a wire, and the boxes of the cavities that none may use."""
    sockets = every_socket(opened.build, opened.catalogue)
    facts = sockets.get(key(entered.ends[0])) if entered.ends else None
    if facts is None:
        return None
    name = f"runs.{run.id}.forbidden"
    label = "Cavities that no wire may use"
    if run.method == "extension":
        # Its source is the plug of the supply's own cable, which the pins do not speak of.
        rest = "Pins and forbidden cavities rest while the run is an extension."
        return Pins((), fields.choices(name, label, (), ()), (), len(entered.pins), False, rest)
    forbidden = {_place(f) for f in entered.forbidden}
    costs = {cost.cavity: cost for cost in run.pin_costs}
    boxes = [
        (f"{plug.ref.part}/{plug.ref.socket}/{cavity}", cavity)
        for plug in run.sources
        for cavity, net in plug.nets.items()
        if net or f"{plug.ref.part}/{plug.ref.socket}/{cavity}" in forbidden
    ]
    field = fields.choices(name, label, forbidden, boxes)
    rows = tuple(_pin_row(pin, run, entered, fields, costs) for pin in facts.wanted_pins(entered.optional))
    wrong = field.problem or any(row.field.problem for row in rows)
    return Pins(
        rows,
        field,
        tuple(_forbid_face(plug, field, opened) for plug in run.sources),
        len(entered.pins),
        bool(entered.pins or entered.forbidden or wrong),
        "",
    )


def _place(forbidden: Forbidden) -> str:
    return f"{forbidden.part}/{forbidden.socket}/{forbidden.cavity}"


def _pin_row(pin: Pin, run: RunPlan, entered: Run, fields: Fields, costs: dict[str, PinCost]) -> PinRow:
    """One part cavity with every source cavity of a net that it accepts."""
    pinned = next((p for p in entered.pins if p.cavity == pin.cavity), None)
    name = f"runs.{run.id}.pins.{pin.cavity}"
    current = f"{pinned.part}/{pinned.socket}/{pinned.source_cavity}" if pinned else ""
    shut = {_place(f) for f in entered.forbidden}
    options = [
        (value, f"{_at(run, plug)}{cavity}, {net}")
        for plug in run.sources
        for cavity, net in plug.nets.items()
        if net in pin.accepts and (value := f"{plug.ref.part}/{plug.ref.socket}/{cavity}") not in shut
    ]
    typed = fields.typed(name, current)
    # What was sent by hand, or pinned before it was forbidden, stays to be seen beside its message.
    if typed and typed not in dict(options):
        options.append((typed, f"{typed.rpartition('/')[2]}, not offered"))
    fed = _fed_by(run, pin.cavity)
    first = ("", "as solved" if pinned or not fed else f"as solved: {fed}")
    field = fields.choice(name, f"source cavity for {pin.cavity}", current, [first, *options])
    return PinRow(pin.cavity, pin.function, fed, field, pinned is not None, _cost_words(costs.get(pin.cavity)))


def _at(run: RunPlan, plug: Plug) -> str:
    """The socket before a source cavity, where the run has several source plugs."""
    return f"{plug.socket} · " if len(run.sources) > 1 else ""


def _fed_by(run: RunPlan, cavity: str) -> str:
    """The source cavity that feeds a part cavity now."""
    for wire in run.wires:
        meets = any(end.plug == 0 and end.cavity == cavity for end in (*wire.taps, wire.target))
        if not meets:
            continue
        if not wire.source_at_end:
            return f"{_at(run, run.sources[wire.source.plug])}{wire.source.cavity}"
        if stops(wire) == (0,):
            return f"bridge from {wire.source.cavity}"
    return ""


def _cost_words(cost: PinCost | None) -> str:
    """What a pin costs beyond the best wiring without it."""
    if cost is None:
        return ""
    if not cost.crossings and not cost.doubles:
        return "costs nothing"
    return f"{_more(cost.crossings, 'crossing')}, {_more(cost.doubles, 'double')}"


def _more(number: int, noun: str) -> str:
    return f"{formats.count(abs(number), noun)} {'fewer' if number < 0 else 'more'}"


def _forbid_face(plug: Plug, field: Field, opened: Opened) -> ForbidFace:
    """The boxes of one source plug where its face shows the cavities."""
    housing = opened.catalogue.housings[plug.housing]
    prefix = f"{plug.ref.part}/{plug.ref.socket}/"
    options = {option.value: option for option in field.options}
    places = {
        (cell.row, int(cell.column)): cell.name for cell in cells(housing, turned=plug.latch_down, mirrored=False)
    }
    rows = max(row for row, _ in places) + 1

    def box(row: int, column: int) -> ForbidBox | None:
        cavity = places.get((row, column))
        option = options.get(f"{prefix}{cavity}")
        if cavity is None or option is None:
            return None
        return ForbidBox(f"{field.id}-{plug.ref.socket}-{cavity}", cavity, plug.nets.get(cavity, ""), option)

    lies = "latch down" if plug.latch_down else "latch up"
    lies = lies if housing.latch != "none" else "turned over" if plug.latch_down else "no latch"
    grid = tuple(tuple(box(row, column) for column in range(housing.columns)) for row in range(rows))
    return ForbidFace(f"{plug.socket}, wire side, {lies}", grid)


def _shared(run: RunPlan) -> tuple[SharedContact, ...]:
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


def _methods(run: RunPlan, entered: Run, opened: Opened, fields: Fields, *, inches: bool) -> Methods:
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
