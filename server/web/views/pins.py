"""Wires put by hand and cavities that none may use, as fields of a run."""

from dataclasses import dataclass

from server.domain.model.build import Forbidden, Run
from server.domain.model.catalogue import Pin
from server.domain.model.plan import ForbidCost, PinCost, Plug, RunPlan
from server.domain.sockets import every_socket, key
from server.drawing.plugs import cells, stops
from server.services.opened import Opened
from server.web.views import formats
from server.web.views.fields import Field, Fields, Option


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
    forbid_costs: tuple[str, ...] = ()
    """What each forbidden cavity costs beyond the best wiring that may use it."""


def pins_view(run: RunPlan, entered: Run, opened: Opened, fields: Fields) -> Pins | None:
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
        tuple(
            f"cavity {cost.cavity} of {sockets[cost.part, cost.socket].label} forbidden: {_cost_words(cost)}"
            for cost in run.forbid_costs
            if (cost.part, cost.socket) in sockets
        ),
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


def _cost_words(cost: PinCost | ForbidCost | None) -> str:
    """What a pin, or a forbidden cavity, costs beyond the best wiring without it."""
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
