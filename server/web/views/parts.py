"""The second step: parts, the runs that feed them, and the ports that are used or free."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from server.domain.late import LATE_RECIPES, LateRange
from server.domain.model.build import SUPPLY, Branching, Part, Socket
from server.domain.model.catalogue import Use
from server.domain.model.plan import PortUse, RunPlan, Unfed
from server.domain.proposing import Place
from server.domain.recipes import PartRecipe
from server.domain.sockets import key
from server.services.opened import Opened
from server.web.views import formats
from server.web.views.fields import Field, Fields
from server.web.views.pieces import route_text, run_title, source_text, target_text

BRANCHINGS: dict[Branching, str] = {
    "chain": "a chain, plug after plug",
    "fork": "a fork, each by its own wires",
}
LATE_KINDS: dict[Literal["fan", "light"], str] = {"fan": "Add fans", "light": "Add lights"}
BRANCHING_HINT = (
    "In a chain every plug is fed from the plug before it. In a fork every plug has wires of its own from the source, "
    "and the plugs share the contacts there."
)


@dataclass(frozen=True, slots=True)
class InletLine:
    """One socket of a part and what feeds it, or why nothing does."""

    name: str
    role: str
    run: str
    href: str
    reason: str


@dataclass(frozen=True, slots=True)
class PartLine:
    """One part with its sockets."""

    id: str
    name: Field
    kind: str
    href: str
    inlets: tuple[InletLine, ...]
    chained: bool


@dataclass(frozen=True, slots=True)
class RunLine:
    """One run: from where, to where, and what can be done with it."""

    id: str
    number: int
    title: str
    href: str
    source: str
    target: str
    length: str
    place: Field | None
    hangs: str
    """``chain`` or ``fork``, how its several plugs hang on it; empty where it has one."""
    branching: Field | None
    split: Field | None
    optional: Field | None


@dataclass(frozen=True, slots=True)
class RunRow:
    """One run of the parts step; what can be done with it stands on its own page."""

    number: int
    title: str
    href: str
    source: str
    target: str
    length: str


@dataclass(frozen=True, slots=True)
class PortLine:
    """One port or header and its run."""

    label: str
    run: str
    href: str
    free: bool


@dataclass(frozen=True, slots=True)
class PortGroup:
    """Ports of one place: the supply, or a part that gives power or signal onward."""

    place: str
    used: str
    ports: tuple[PortLine, ...]


@dataclass(frozen=True, slots=True)
class LateAdd:
    """Fans or lights that come last, added in one move."""

    kind: str
    recipe: Field
    count: Field
    button: str
    text: str
    """The range that their runs get, and where it comes from."""


@dataclass(frozen=True, slots=True)
class PartsPanel:
    """The parts step."""

    href: str
    build_href: str
    base: int
    recipe: Field
    recipes: tuple[PartRecipe, ...]
    count: Field
    name: Field
    late: tuple[LateAdd, ...]
    parts: tuple[PartLine, ...]
    unfed: tuple[tuple[str, str], ...]
    runs: tuple[RunRow, ...]
    ports: tuple[PortGroup, ...]
    own_source: Field
    own_ends: Field
    own_branching: Field
    own_name: Field
    part_kind: Field
    part_name: Field
    part_pinouts: Field
    part_chain: Field
    next: str


def parts_panel(
    opened: Opened, base: int, fields: Fields, recipes: tuple[PartRecipe, ...], ranges: Mapping[Use, LateRange]
) -> PartsPanel:
    """The view of the parts step.

    Args:
        opened: The build as it stands.
        base: Revision that the forms change.
        fields: Makes the fields with what was typed last.
        recipes: Kinds of part that can be added.
        ranges: By use, the range that a run added late gets.
    """
    plan = opened.plan
    href = f"/builds/{opened.build_id}"
    kinds = [(kind, name) for kind, name in formats.KINDS.items()]
    pinouts = [(pinout.id, pinout.name) for pinout in opened.catalogue.pinouts.values()]
    return PartsPanel(
        href=f"{href}/parts",
        build_href=href,
        base=base,
        recipe=fields.choice("recipe", "Kind of part", "", [(recipe.id, recipe.name) for recipe in recipes]),
        recipes=recipes,
        count=fields.text("count", "How many", "1"),
        name=fields.text("name", "Name, if not the usual one", ""),
        late=tuple(_late(kind, ranges, fields) for kind in LATE_KINDS) if opened.build.runs else (),
        parts=_parts(opened, fields),
        unfed=tuple((f"{unfed.place}, {unfed.inlet}", unfed.reason) for unfed in plan.unfed),
        runs=tuple(
            RunRow(
                run.number,
                run_title(run),
                f"{href}/runs/{run.id}",
                source_text(run),
                target_text(run),
                route_text(run),
            )
            for run in plan.runs
        ),
        ports=_ports(plan.ports, opened),
        own_source=fields.choice("source", "From", "", [("", "no source yet"), *_free_ports(plan.ports)]),
        own_ends=fields.choices(
            "ends", "To", (), _unfed_inlets(plan.unfed), hint="Tick one inlet, or several for a chain or a fork."
        ),
        own_branching=fields.choice(
            "branching", "Several plugs hang on it as", "chain", BRANCHINGS.items(), hint=BRANCHING_HINT
        ),
        own_name=fields.text("run_name", "Name of the run", ""),
        part_kind=fields.choice("kind", "Kind", "other", kinds),
        part_name=fields.text("part_name", "Name", ""),
        part_pinouts=fields.choices("pinouts", "Sockets", (), pinouts),
        part_chain=fields.text("chain", "Chain", "", hint="Parts with the same word share one run, plug after plug."),
        next=f"{href}/routes",
    )


def _late(kind: Literal["fan", "light"], ranges: Mapping[Use, LateRange], fields: Fields) -> LateAdd:
    """Fans or lights to add late."""
    found = ranges[kind]
    route = found.route
    told = formats.span(route.low_mm or 0, route.high_mm or 0)
    return LateAdd(
        kind,
        fields.choice(
            f"late.{kind}.recipe", "Kind", "", [(held.id, held.name) for held in LATE_RECIPES if held.kind == kind]
        ),
        fields.text(f"late.{kind}.count", "How many", "1"),
        LATE_KINDS[kind],
        f"each waits with the range {told}, most likely {formats.length(route.likely_mm or 0)}: {found.source}",
    )


def run_line(run: RunPlan, opened: Opened, fields: Fields, places: tuple[Place, ...]) -> RunLine:
    """One run with the forms that change it.

    Args:
        run: The planned run.
        opened: The build as it stands.
        fields: Makes the fields with what was typed last.
        places: Sockets that would fit the run.
    """
    entered = next((held for held in opened.build.runs if held.id == run.id), None)
    hangs = entered.branching if entered is not None and len(run.ends) > 1 else ""
    keep = [(str(kept), f"after plug {kept} of {len(run.ends)}") for kept in range(1, len(run.ends))]
    return RunLine(
        run.id,
        run.number,
        run_title(run),
        f"/builds/{opened.build_id}/runs/{run.id}",
        source_text(run),
        target_text(run),
        route_text(run),
        _place_field(run, fields, places),
        hangs,
        fields.choice(f"runs.{run.id}.branching", "Its plugs hang on it as", hangs, BRANCHINGS.items(), BRANCHING_HINT)
        if hangs and run.kind != "sleeved"
        else None,
        fields.choice(f"runs.{run.id}.keep", "Split", keep[-1][0], keep) if hangs else None,
        _optional_field(run, opened, fields),
    )


def _place_field(run: RunPlan, fields: Fields, places: tuple[Place, ...]) -> Field | None:
    """A list of the places that would feed the run, those in use marked; nothing where there is no other place."""
    current = place_value(tuple((plug.ref.part, plug.ref.socket) for plug in run.sources))
    options = [
        (value, place.label if place.free or value == current else f"{place.label} (in use)")
        for place in places
        for value in (place_value(place.keys),)
    ]
    if current not in dict(options):
        options.insert(0, (current, source_text(run)))
    return fields.choice(f"runs.{run.id}.sources", "Starts from", current, options) if len(options) > 1 else None


def place_value(keys: tuple[tuple[str, str], ...]) -> str:
    """Sockets as one text for a form: ``supply/m1 supply/m2``."""
    return " ".join(f"{part}/{socket}" for part, socket in keys)


def _optional_field(run: RunPlan, opened: Opened, fields: Fields) -> Field | None:
    """Boxes for the optional cavities of the run's part plugs."""
    sockets = {(part.id, socket.id): socket.pinout for part in opened.build.parts for socket in part.sockets}
    options: dict[str, str] = {}
    for plug in run.ends:
        pinout = opened.catalogue.pinouts.get(sockets.get((plug.ref.part, plug.ref.socket), ""))
        for pin in pinout.pins if pinout else ():
            if pin.need == "optional":
                options.setdefault(pin.cavity, f"{pin.cavity} {pin.function}")
    if not options:
        return None
    wired = next((run_.optional for run_ in opened.build.runs if run_.id == run.id), ())
    return fields.choices(f"runs.{run.id}.optional", "Optional cavities to wire", wired, options.items())


def _parts(opened: Opened, fields: Fields) -> tuple[PartLine, ...]:
    """Every part with its sockets and what feeds each."""
    plan = opened.plan
    fed = {key(plug.ref): run for run in plan.runs for plug in run.ends}
    feeding = {key(plug.ref): run for run in plan.runs for plug in run.sources}
    reasons = {(unfed.part, unfed.socket): unfed.reason for unfed in plan.unfed}

    def inlet(part: Part, socket: Socket) -> InletLine:
        """One socket: its run, or the reason why it has none."""
        where = part.id, socket.id
        pinout = opened.catalogue.pinouts.get(socket.pinout)
        alike = sum(other.pinout == socket.pinout for other in part.sockets) > 1
        name = f"{pinout.name if pinout else socket.pinout}{f' ({socket.id})' if alike else ''}"
        outlet = pinout is not None and pinout.role == "outlet"
        role = "feeds this run" if outlet else ""
        if run := (feeding if outlet else fed).get(where):
            return InletLine(name, role, str(run.number), f"/builds/{opened.build_id}/runs/{run.id}", "")
        if reason := reasons.get(where, ""):
            return InletLine(name, "", "", "", reason)
        return InletLine(name, role, "", "", "" if outlet else "no run")

    return tuple(
        PartLine(
            part.id,
            fields.text(f"parts.{part.id}.name", "Name", part.name),
            formats.KINDS[part.kind],
            f"/builds/{opened.build_id}/parts/{part.id}",
            tuple(inlet(part, socket) for socket in part.sockets),
            bool(part.chain),
        )
        for part in opened.build.parts
    )


def _ports(ports: tuple[PortUse, ...], opened: Opened) -> tuple[PortGroup, ...]:
    """Ports grouped by place, the supply first."""
    ids = {run.number: run.id for run in opened.plan.runs}
    groups: dict[str, list[PortUse]] = {}
    for port in sorted(ports, key=lambda port: port.part != SUPPLY):
        groups.setdefault(port.place, []).append(port)
    return tuple(
        PortGroup(
            place,
            f"{sum(1 for port in held if port.run is not None)} of {len(held)} in use",
            tuple(
                PortLine(
                    port.label,
                    f"run {port.run}" if port.run is not None else "free",
                    f"/builds/{opened.build_id}/runs/{ids[port.run]}" if port.run in ids else "",
                    port.run is None,
                )
                for port in held
            ),
        )
        for place, held in groups.items()
    )


def _free_ports(ports: tuple[PortUse, ...]) -> list[tuple[str, str]]:
    """Ports that a new run can start from."""
    return [
        (f"{port.part}/{port.socket}", f"{port.place}, {port.label}" if port.part != SUPPLY else port.label)
        for port in ports
        if port.run is None
    ]


def _unfed_inlets(unfed: tuple[Unfed, ...]) -> list[tuple[str, str]]:
    """Inlets that a new run can end at."""
    return [(f"{inlet.part}/{inlet.socket}", f"{inlet.place}, {inlet.inlet}") for inlet in unfed]
