"""Builds at random on supplies that nobody sells: shipped layouts, nets shuffled within each port, some lost."""

from dataclasses import replace
from typing import get_args

from hypothesis import strategies as st

from server.domain import edits
from server.domain.limits import FORK_MOST
from server.domain.model.build import (
    Allowances,
    Build,
    Finish,
    PlugRef,
    Route,
    Run,
    RunFinish,
    Skill,
    SleeveEnd,
    Spare,
    SpareOf,
)
from server.domain.model.catalogue import Catalogue, CombKind, Port, PortPin, SupplyLayout
from server.domain.model.route import RouteStep, StepKind
from server.domain.proposing import places_by_run
from tests.domain.scenes import shipped_catalogue, with_layout, with_readings

FAMILIES = ("p42", "h254", "satad")
CONTACTS = ("p42-socket-16", "p42-socket-18", "h254-socket")
SHRINKS = ("small", "middle")
RECIPES = (
    "board-small", "board-cpu-8-4", "graphics-6", "graphics-8", "graphics-2x8", "graphics-12-4", "drive-sata",
    "drive-peripheral", "fan-4", "fan-3", "light-5v", "light-12v", "button", "led", "usb2", "audio", "sata-data",
    "fan-hub", "light-hub",
)  # fmt: skip
SENSES = ("+12V_SENSE", "+5V_SENSE", "COM_SENSE", "+3.3V_SENSE")


@st.composite
def layouts(draw: st.DrawFn) -> SupplyLayout:
    shipped = draw(st.sampled_from(sorted(shipped_catalogue().supplies)))
    found = shipped_catalogue().supplies[shipped]
    shuffler = draw(st.randoms(use_true_random=False))
    lossy = draw(st.integers(0, 3)) == 0
    ports: list[Port] = []
    for port in found.ports:
        if lossy and shuffler.random() < 0.2:
            continue
        nets = [pin.net for pin in port.pins]
        shuffler.shuffle(nets)
        nets = ["" if lossy and shuffler.random() < 0.05 else net for net in nets]
        # A further sense line of a net that the port has anyway, never the same one twice in a layout.
        if shuffler.random() < 0.1 and "" in nets and not any(p.net in SENSES for q in ports for p in q.pins):
            nets[nets.index("")] = shuffler.choice(SENSES)
        pins = tuple(PortPin(pin.cavity, net) for pin, net in zip(port.pins, nets, strict=True))
        ports.append(Port(port.id, port.label, port.housing, port.feeds, pins))
    dealt = replace(found, id="random", ports=tuple(ports))
    return with_readings(dealt, metered=draw(st.booleans()))


def _steps(draw: st.DrawFn) -> tuple[RouteStep, ...]:
    """Legs with bends and twists between them, gentle and sharp ones."""
    made = [RouteStep("leg", length_mm=float(draw(st.integers(20, 200))))]
    for kind in draw(st.lists(st.sampled_from(get_args(StepKind)), max_size=6)):
        angle = float(draw(st.sampled_from((30, 45, 90, 90, 180))))
        if kind == "leg":
            made.append(RouteStep(kind, length_mm=float(draw(st.integers(5, 200)))))
        elif kind == "twist":
            made.append(RouteStep(kind, 60.0, draw(st.sampled_from((angle, -angle)))))
        else:
            made.append(RouteStep(kind, angle_deg=angle, radius_mm=float(draw(st.sampled_from((10, 30, 80))))))
    return tuple(made)


def _route(draw: st.DrawFn, run: Run) -> Route:
    plugs = 1 if run.branching == "fork" else len(run.ends)
    known = draw(st.sampled_from(("length", "length", "steps", "range", "nothing")))
    spacing = tuple(float(draw(st.integers(20, 300))) for _ in range(draw(st.sampled_from((plugs - 1, plugs - 1, 0)))))
    length = draw(st.integers(60, 1200)) + draw(st.sampled_from((0.0, 0.5)))
    low, likely, high = sorted(float(draw(st.integers(60, 1200))) for _ in range(3))
    expected = Route(low_mm=low, likely_mm=draw(st.sampled_from((None, likely))), high_mm=high, spacing_mm=spacing)
    if known == "range":
        return expected
    unknown = Route(spacing_mm=spacing)
    if known == "nothing":
        return unknown
    # A range may stay beside what was measured in the end, inside it or not.
    beside = draw(st.sampled_from((unknown, unknown, expected)))
    return replace(beside, length_mm=length) if known == "length" else replace(beside, steps=_steps(draw))


def _reaching(draw: st.DrawFn, plugs: tuple[PlugRef, ...]) -> tuple[PlugRef, ...]:
    return tuple(
        replace(p, extra_mm=draw(st.sampled_from((0.0, 0.0, 25.0))), tail_mm=draw(st.sampled_from((None, None, 40.0))))
        for p in plugs
    )


def _branched(draw: st.DrawFn, run: Run) -> Run:
    """Some runs of two to four plugs made forks."""
    if 2 <= len(run.ends) <= FORK_MOST and draw(st.booleans()):
        return replace(run, branching="fork")
    return run


def routed(draw: st.DrawFn, build: Build) -> Build:
    """The build with every run's route, reach and finish drawn anew."""
    branched = [_branched(draw, run) for run in build.runs]
    runs = tuple(
        replace(
            run,
            route=_route(draw, run),
            sources=_reaching(draw, run.sources),
            ends=_reaching(draw, run.ends),
            finish=draw(run_finishes),
        )
        for run in branched
    )
    return replace(build, runs=runs)


def _moved(draw: st.DrawFn, build: Build, catalogue: Catalogue) -> Build:
    """One run moved by hand to another place that could feed it and is free."""
    if not build.runs or not draw(st.booleans()):
        return build
    run = draw(st.sampled_from(build.runs))
    free = [place.keys for place in places_by_run(build, catalogue)[run.id] if place.free]
    return edits.move_run(build, catalogue, run.id, draw(st.sampled_from(free))) if free else build


def _chained_together(draw: st.DrawFn, build: Build) -> Build:
    """Two drive runs made one, be their plugs alike or not."""
    kinds = {part.id: part.kind for part in build.parts}
    drives = [run for run in build.runs if all(kinds[end.part] == "drive" for end in run.ends)]
    if len(drives) < 2 or not draw(st.booleans()):
        return build
    first, second = drives[:2]
    joined = replace(first, ends=(*first.ends, *second.ends))
    return replace(build, runs=tuple(joined if r.id == first.id else r for r in build.runs if r.id != second.id))


run_finishes = st.builds(
    RunFinish,
    awg=st.sampled_from((None, None, None, 18, 20)),
    sleeve_end=st.sampled_from((None, None, "shrink", "melted", "loose")),
    shrink_size=st.sampled_from((None, None, *SHRINKS)),
    comb_kind=st.sampled_from((None, None, "closed", "open")),
)
finishes = st.builds(
    Finish,
    insulation=st.sampled_from(("plain", "plain", "high_temperature", "clear")),
    colour_mode=st.sampled_from(("by_net", "pattern")),
    pattern=st.lists(st.sampled_from(("BK", "WH", "RD")), min_size=1, max_size=3).map(tuple),
    sleeve=st.sampled_from(("small", "")),
    sleeve_pattern=st.lists(st.sampled_from(("BK", "WH", "RD")), min_size=1, max_size=3).map(tuple),
    sleeve_end=st.sampled_from(get_args(SleeveEnd)),
    shrink_size=st.sampled_from(("", "", *SHRINKS)),
    combs=st.booleans(),
    comb_kind=st.sampled_from(get_args(CombKind)),
)
allowances = st.builds(
    Allowances,
    depth_mm=st.dictionaries(st.sampled_from(FAMILIES), st.sampled_from((0.0, 8.5, 12.0)), max_size=2),
    strip_mm=st.dictionaries(st.sampled_from(CONTACTS), st.sampled_from((2.5, 4.0)), max_size=2),
    recrimp_mm=st.sampled_from((0.0, 5.0, 6.25)),
    recrimp_by_family=st.dictionaries(st.sampled_from(FAMILIES), st.sampled_from((0.0, 3.5)), max_size=2),
    slack_mm=st.sampled_from((0.0, 0.0, 15.0)),
    step_mm=st.sampled_from((1.0, 5.0, 10.0)),
    fray_mm=st.sampled_from((0.0, 5.0)),
    skill=st.sampled_from(get_args(Skill)),
    spares=st.dictionaries(
        st.sampled_from(get_args(SpareOf)), st.builds(Spare, st.sampled_from((0.0, 10.0)), st.integers(0, 3))
    ),
)


@st.composite
def builds(draw: st.DrawFn) -> tuple[Build, Catalogue]:
    """A build with proposed runs, some of them moved by hand, and the catalogue that holds its layout."""
    catalogue = with_layout(shipped_catalogue(), draw(layouts()))
    build = Build(name="Random", finish=draw(finishes), allowances=draw(allowances))
    build = edits.choose_supply(build, catalogue, "random")
    for recipe in draw(st.lists(st.sampled_from(RECIPES), min_size=1, max_size=6)):
        build = edits.add_parts(build, catalogue, recipe, draw(st.integers(1, 3)), "")
    build = _chained_together(draw, _moved(draw, build, catalogue))
    return routed(draw, build), catalogue
