"""Builds at random on supplies that nobody sells: shipped layouts, nets shuffled within each port, some lost."""

from dataclasses import replace

from hypothesis import strategies as st

from server.domain import edits
from server.domain.model.build import Allowances, Build, Finish, Route, RunFinish
from server.domain.model.catalogue import Catalogue, Port, PortPin, SupplyLayout
from server.domain.proposing import places_by_run
from tests.domain.scenes import shipped_catalogue, with_layout, with_readings

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
    ports = []
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


def _route(draw: st.DrawFn, plugs: int) -> Route:
    known = draw(st.sampled_from(("length", "length", "range", "nothing")))
    spacing = tuple(float(draw(st.integers(20, 300))) for _ in range(draw(st.sampled_from((plugs - 1, plugs - 1, 0)))))
    length = draw(st.integers(60, 1200)) + draw(st.sampled_from((0.0, 0.5)))
    if known == "length":
        return Route(length_mm=length, spacing_mm=spacing)
    if known == "range":
        return Route(low_mm=length, high_mm=length + draw(st.integers(0, 200)), spacing_mm=spacing)
    return Route(spacing_mm=spacing)


def routed(draw: st.DrawFn, build: Build) -> Build:
    runs = tuple(
        replace(
            run,
            route=_route(draw, len(run.ends)),
            sources=tuple(replace(s, extra_mm=draw(st.sampled_from((0.0, 0.0, 25.0)))) for s in run.sources),
            finish=RunFinish(awg=draw(st.sampled_from((None, None, None, 18, 20)))),
        )
        for run in build.runs
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


finishes = st.builds(
    Finish,
    insulation=st.sampled_from(("plain", "plain", "high_temperature", "clear")),
    colour_mode=st.sampled_from(("by_net", "pattern")),
    pattern=st.lists(st.sampled_from(("BK", "WH", "RD")), min_size=1, max_size=3).map(tuple),
    sleeve=st.sampled_from(("small", "")),
    sleeve_pattern=st.lists(st.sampled_from(("BK", "WH", "RD")), min_size=1, max_size=3).map(tuple),
    shrink=st.booleans(),
    combs=st.booleans(),
)
allowances = st.builds(
    Allowances,
    per_wire_mm=st.sampled_from((0.0, 10.0, 12.5)),
    step_mm=st.sampled_from((1.0, 5.0, 10.0)),
    spare_contacts_percent=st.sampled_from((0.0, 10.0)),
    spare_contacts_least=st.integers(0, 3),
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
