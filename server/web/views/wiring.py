"""How a run is wired: before and after, both latch ways, what is spare, and what the builder may decide."""

from dataclasses import dataclass

from server.domain.model.build import Run
from server.domain.model.plan import RunPlan
from server.drawing.crossing import crossing_svg, crossing_words
from server.services.opened import Opened
from server.web.views import formats
from server.web.views.bench_words import source_end
from server.web.views.fields import Field, Fields
from server.web.views.pieces import letter
from server.web.views.pins import Pins, pins_view
from server.web.views.ways import Methods, SharedContact, methods_view, shared_contacts


@dataclass(frozen=True, slots=True)
class Diagram:
    """One crossing diagram with its counts."""

    name: str
    counted: str
    svg: str


@dataclass(frozen=True, slots=True)
class Wiring:
    """Everything about the wiring of one run."""

    diagrams: tuple[Diagram, ...]
    end: str
    """What the end is called that the run starts from."""
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
        end=source_end(run).capitalize(),
        latch=latch_words(run),
        spare=_spare_words(run),
        unused=_unused_words(run),
        pins=pins_view(run, entered, opened, fields) if rewired else None,
        shared_field=fields.text(f"runs.{run.id}.shared", "Shared contacts", ""),
        shared=shared_contacts(run),
        methods=methods_view(run, entered, opened, fields, inches=inches) if opened.three_ways(run.id) else None,
    )


def latch_words(run: RunPlan) -> str:
    """Crossings with the source plugs' latch up and down, and which was chosen; empty where there is no choice."""
    if len(run.latch_ways) < 2 or not run.sources:
        return ""
    alike = len({way.doubles for way in run.latch_ways}) == 1
    words: list[str] = []
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
        return "No live contact of the source is spare." if run.wires and run.sources else ""
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
    forked = run.kind == "fork"
    for index, plug in enumerate(run.ends if forked else run.ends[:1]) if run.wires else ():
        used = {end.cavity for wire in run.wires for end in (*wire.taps, wire.target) if end.plug == index}
        if empty := [cavity for cavity in plug.nets if cavity not in used]:
            name = f"part plug {letter(index)}" if forked else "part plug"
            words.append(f"{name}: {formats.listed(empty)} without a wire")
    return "; ".join(words)
