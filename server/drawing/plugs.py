"""What the drawings share about plugs: where cavities appear in a view, and which wires meet in each."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

from server.domain.housings import cavities
from server.domain.model.catalogue import Catalogue, Housing, Latch
from server.domain.model.plan import PlannedWire, Plug, RunPlan
from server.domain.reference import TAIL_MM
from server.drawing.svg import num

View = Literal["wire", "mating"]


@dataclass(frozen=True, slots=True)
class Cell:
    """One cavity as a view shows it; columns and rows count from 0 at the top left."""

    name: str
    column: float
    row: int
    signal: bool


def cells(housing: Housing, *, turned: bool, mirrored: bool) -> tuple[Cell, ...]:
    """Cavities of a housing in a view.

    Args:
        housing: A catalogue housing.
        turned: True turns the face by half a turn, as a plug lies whose latch points down.
        mirrored: True shows the mating side, which is the mirror image of the wire side.

    Returns:
        Cells in numbering order.
    """
    places = cavities(housing)
    last_column = float(housing.columns - 1)
    last_row = max(place.row for place in places)
    return tuple(
        Cell(
            place.name,
            last_column - place.column if turned != mirrored else place.column,
            last_row - place.row if turned else place.row,
            place.signal,
        )
        for place in places
    )


def latch_side(housing: Housing, *, turned: bool) -> Latch:
    """Side on which a view shows the latch; the mirror image leaves it where it is."""
    if turned and housing.latch != "none":
        return "bottom" if housing.latch == "top" else "top"
    return housing.latch


def plug_of(run: RunPlan, plug_index: int, at_source: bool) -> Plug:
    """The plug that an index means at one end of a run."""
    return (run.sources if at_source else run.ends)[plug_index]


def wires_by_cavity(run: RunPlan, plug_index: int, at_source: bool) -> Mapping[str, tuple[PlannedWire, ...]]:
    """Wires that are in each used cavity of a plug, in ribbon order; a wire that only passes a tap counts once.

    A wire that is joined to another behind the housing is not in the contact, and is left out at that end.
    """
    found: dict[str, list[PlannedWire]] = {}
    elsewhere = joined(run) if at_source else {}
    for wire in run.wires:
        if wire.label in elsewhere:
            continue
        for cavity in dict.fromkeys(_cavities(wire, plug_index, at_source)):
            found.setdefault(cavity, []).append(wire)
    return {cavity: tuple(wires) for cavity, wires in found.items()}


def joined(run: RunPlan) -> Mapping[str, str]:
    """By label of a wire that is joined to another behind a source plug: the label of the wire in the contact."""
    return {joint.labels[1]: joint.labels[0] for joint in run.joints if joint.kind == "splice" and joint.at_source}


def _cavities(wire: PlannedWire, plug_index: int, at_source: bool) -> list[str]:
    if at_source:
        return [wire.source.cavity] if not wire.source_at_end and wire.source.plug == plug_index else []
    ends = [wire.target, *wire.taps, *([wire.source] if wire.source_at_end else [])]
    return [end.cavity for end in ends if end.plug == plug_index]


def stops(wire: PlannedWire) -> tuple[int, ...]:
    """Part plugs that a wire touches, in the order in which the ribbon reaches them."""
    reached = [tap.plug for tap in wire.taps] + [wire.target.plug]
    return tuple(sorted({*reached, wire.source.plug} if wire.source_at_end else set(reached)))


def is_bridge(wire: PlannedWire) -> bool:
    """True for a wire that goes from one cavity of a part plug to another of the same plug, beside the ribbon."""
    return wire.source_at_end and wire.source.plug == wire.target.plug


def in_chain(run: RunPlan) -> bool:
    """True when the ribbon goes on from one part plug to the next."""
    if len(run.ends) < 2 or run.kind == "fork":
        return False
    return run.kind == "chain" or any((wire.source_at_end and not is_bridge(wire)) or wire.taps for wire in run.wires)


def tail_mm(run: RunPlan, plug_index: int, *, at_source: bool) -> float:
    """How far the wires of a plug run by themselves before they lie in the common ribbon.

    Args:
        run: The planned run.
        plug_index: Index of the plug at its end of the run.
        at_source: True for a source plug.

    Returns:
        The plug's own tail; the usual one where nothing is set and several plugs share that end, 0 where there is one
        or the ribbon goes on from plug to plug. [mm]
    """
    own = plug_of(run, plug_index, at_source).ref.tail_mm
    if own is not None:
        return own
    return TAIL_MM if (len(run.sources) > 1 if at_source else run.kind == "fork") else 0.0


def visible_colour(wire: PlannedWire) -> str:
    """Code of the colour that the finished wire shows."""
    return wire.sleeve_colour or wire.colour


def source_order(run: RunPlan, plug_index: int, catalogue: Catalogue) -> tuple[PlannedWire, ...]:
    """Wires of one source plug as they lie there, left to right in the direction of the part.

    The plugs face each other, so that columns seen from the wire side of the source run the other way, unless its latch
    points down. Wires of one column keep their ribbon order.
    """
    plug = run.sources[plug_index]
    wires = [w for w in run.wires if not w.source_at_end and w.source.plug == plug_index]
    housing = catalogue.housings.get(plug.housing)
    if housing is None:
        return tuple(wires)
    column = {cell.name: cell.column for cell in cells(housing, turned=not plug.latch_down, mirrored=False)}
    return tuple(sorted(wires, key=lambda w: column.get(w.source.cavity, 0.0)))


def length_words(run: RunPlan) -> str:
    """The run's length as written on a drawing."""
    if run.state == "measured" and run.length_mm is not None:
        # Legs and bends add up to fractions that nobody measures.
        return f"{num(round(run.length_mm) if run.steps else run.length_mm)} mm"
    if run.low_mm is not None and run.high_mm is not None:
        return f"{num(run.low_mm)}–{num(run.high_mm)} mm, not measured"
    return "not measured"


def sleeve_colours(run: RunPlan, wires: Iterable[PlannedWire]) -> list[str]:
    """Colours of sleeve on the wires, or on the whole of a moulded cable."""
    whole = [piece.colour for piece in run.sleeve_pieces] if run.kind == "sleeved" else []
    return [wire.sleeve_colour for wire in wires if wire.sleeve_colour] + whole


def wire_words(run: RunPlan) -> str:
    """How many wires a run has; a moulded cable is sleeved and keeps the wires it came with."""
    if run.kind == "sleeved":
        return "sleeved only"
    return "1 wire" if len(run.wires) == 1 else f"{len(run.wires)} wires"


def run_name(run: RunPlan) -> str:
    """The run's own name, or that of the socket it feeds."""
    return run.name or (run.ends[0].socket if run.ends else f"run {run.number}")
