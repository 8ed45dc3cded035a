"""Every wire of a build, and every cable, as sheets of typed cells for files."""

from collections.abc import Mapping
from dataclasses import dataclass

from server.documents.tables import Cell, Column, Sheet
from server.domain.model.plan import CrimpUse, PlannedWire, Plug, RunPlan, WireEnd
from server.services.opened import Opened
from server.web.views import formats
from server.web.views.export_cells import NUMBER, WHOLE, colour_name
from server.web.views.pieces import STATES, as_made, plugs_text, run_title, sleeve_text, source_text
from server.web.views.ways import METHODS

FAULT = "the independent check found a fault: do not build it"


def _end_columns(side: str, socket: str) -> tuple[Column, ...]:
    return (Column(f"{side} place"), Column(f"{side} {socket}"), Column(f"{side} cavity"))


def _crimp_columns(side: str) -> tuple[Column, ...]:
    return (
        Column(f"{side} contact"),
        Column(f"{side} strip, mm", NUMBER),
        Column(f"{side} die"),
        Column(f"in the {side} contact with"),
    )


def wires_sheet(opened: Opened) -> Sheet:
    """Every wire, run by run in ribbon order, with both ends.

    A wire of the supply's own cable has no colour, gauge and insulation of its own here: they are its maker's.

    Args:
        opened: The build as it stands.
    """
    columns = (
        Column("run", WHOLE),
        Column("run name"),
        Column("wire"),
        *_end_columns("from", "port"),
        *_end_columns("to", "inlet"),
        Column("runs through"),
        Column("net"),
        Column("function"),
        Column("colour"),
        Column("colour name"),
        Column("gauge, AWG", WHOLE),
        Column("conductor, mm²", NUMBER),
        Column("insulation"),
        Column("cut, mm", WHOLE),
        Column("bought for, mm", WHOLE),
        Column("kept of the supply's own wire, mm", WHOLE),
        Column("sleeve colour"),
        Column("sleeve colour name"),
        Column("sleeve, mm", WHOLE),
        Column("sleeve piece by piece, mm"),
        *_crimp_columns("from"),
        *_crimp_columns("to"),
        Column("route"),
        Column("supply"),
    )
    rows = tuple(_wire_row(run, wire, opened) for run in opened.plan.runs for wire in run.wires)
    return Sheet("Wires", columns, rows)


def state_words(run: RunPlan) -> str:
    """How far a run is known: measured, a range, not measured, or not to be built at all.

    Args:
        run: The planned run.
    """
    return STATES[run.state] if run.proved else FAULT


def metered_words(opened: Opened) -> str:
    """Whether the supply was metered, as it stands on every card.

    Args:
        opened: The build as it stands.
    """
    return "metered" if opened.plan.metered else "NOT METERED"


@dataclass(frozen=True, slots=True)
class EndPlace:
    """Where one end of a wire, or a tap of it, goes."""

    plug: Plug
    end: WireEnd


def ends_of(run: RunPlan, wire: PlannedWire) -> tuple[EndPlace, ...]:
    """Where a wire goes, from its source through its taps to its target.

    Args:
        run: The planned run.
        wire: One of its wires.
    """
    first = (run.ends if wire.source_at_end else run.sources)[wire.source.plug]
    rest = ((run.ends[end.plug], end) for end in (*wire.taps, wire.target))
    return (EndPlace(first, wire.source), *(EndPlace(*held) for held in rest))


def _wire_row(run: RunPlan, wire: PlannedWire, opened: Opened) -> tuple[Cell, ...]:
    catalogue = opened.catalogue
    first, *taps, last = ends_of(run, wire)
    own = as_made(run, wire)
    conductor = next(
        (w.conductor_mm2 for w in catalogue.wires.values() if (w.awg, w.insulation) == (wire.awg, wire.insulation)),
        None,
    )
    made: tuple[Cell, ...] = (
        wire.colour,
        colour_name(wire.colour, catalogue),
        wire.awg,
        conductor,
        formats.INSULATIONS[wire.insulation],
    )
    gauges = {other.label: other.awg for other in run.wires}
    return (
        run.number,
        run_title(run),
        wire.label,
        *_place(first),
        *_place(last),
        "; ".join(f"{tap.plug.place} {tap.plug.socket} {tap.end.cavity}" for tap in taps),
        wire.net,
        wire.function,
        *((None,) * len(made) if own else made),
        wire.cut_mm,
        wire.buy_mm or None,
        wire.own_mm or None,
        wire.sleeve_colour,
        colour_name(wire.sleeve_colour, catalogue),
        sum(wire.sleeve_mm) or None,
        sleeve_text(wire) if len(wire.sleeve_mm) > 1 else "",
        *_crimp(first.end, run, wire, gauges, opened),
        *_crimp(last.end, run, wire, gauges, opened),
        state_words(run),
        metered_words(opened),
    )


def _place(place: EndPlace) -> tuple[Cell, ...]:
    return (place.plug.place, place.plug.socket, place.end.cavity)


def _crimp(
    end: WireEnd, run: RunPlan, wire: PlannedWire, gauges: Mapping[str, int], opened: Opened
) -> tuple[Cell, ...]:
    """Contact, strip length, die, and the other wires in the same contact; nothing where nothing is crimped."""
    if not (end.crimped and end.contact):
        return (None, None, None, None)
    contact = opened.catalogue.contacts.get(end.contact)
    use = _use(run, end, tuple(sorted((wire.awg, *(gauges[label] for label in end.shared_with)))))
    return (
        contact.name if contact else end.contact,
        float(use.strip_mm) if use else None,
        use.die if use else None,
        formats.listed(end.shared_with),
    )


def _use(run: RunPlan, end: WireEnd, gauges: tuple[int, ...]) -> CrimpUse | None:
    """How a contact with wires of these gauges is crimped."""
    return next((use for use in run.crimps if (use.contact, tuple(sorted(use.gauges))) == (end.contact, gauges)), None)


def cables_sheet(opened: Opened) -> Sheet:
    """Every cable in one line.

    Args:
        opened: The build as it stands.
    """
    columns = (
        Column("run", WHOLE),
        Column("run name"),
        Column("use"),
        Column("from"),
        Column("to"),
        Column("built"),
        Column("route"),
        Column("length, mm", NUMBER),
        Column("at least, mm", NUMBER),
        Column("at most, mm", NUMBER),
        Column("spacing, mm"),
        Column("wires", WHOLE),
        Column("crossings", WHOLE),
        Column("doubles", WHOLE),
        Column("combs", WHOLE),
        Column("sleeve pieces", WHOLE),
        Column("heat-shrink pieces", WHOLE),
        Column("supply"),
    )
    return Sheet("Cables", columns, tuple(_cable_row(run, opened) for run in opened.plan.runs))


def _cable_row(run: RunPlan, opened: Opened) -> tuple[Cell, ...]:
    tubes = (run.shrink_count if run.shrink else 0) + sum(1 for joint in run.joints if joint.shrink)
    return (
        run.number,
        run_title(run),
        formats.USES[run.use],
        source_text(run),
        plugs_text(run.ends),
        "sleeved only" if run.kind == "sleeved" else METHODS[run.method],
        state_words(run),
        run.length_mm,
        run.low_mm,
        run.high_mm,
        " + ".join(formats.number(space) for space in run.spacing_mm),
        len(run.wires),
        run.crossings,
        run.doubles,
        len(run.combs),
        sum(piece.count for piece in run.sleeve_pieces),
        tubes,
        metered_words(opened),
    )
