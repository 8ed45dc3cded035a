"""Builds of one run, for the tests of lengths, covers, crimps and tools."""

from collections.abc import Sequence
from dataclasses import replace

from server.domain.model.build import SUPPLY, Branching, Build, Part, PlugRef, Route, Run, Socket
from server.domain.model.catalogue import Catalogue, Port
from server.domain.model.plan import Plan, PlannedWire, RunPlan
from server.domain.plan import plan
from tests.domain.scenes import layout, port, with_layout

CPU_NETS = ["COM"] * 4 + ["+12V"] * 4
CPU_4_NETS = ["COM", "COM", "+12V", "+12V"]
EIGHTS = ["+12V"] * 4 + ["COM"] * 4
DRIVE_NETS = ["+12V", "COM", "+5V", "COM", "", ""]
MAIN_NETS = [
    "+3.3V", "+3.3V", "COM", "+5V", "COM", "+5V", "COM", "PWR_OK", "+5VSB", "+12V", "+12V", "+3.3V",
    "+3.3V", "-12V", "COM", "PS_ON#", "COM", "COM", "COM", "", "+5V", "+5V", "+5V", "COM",
]  # fmt: skip
"""Net by cavity of the published main connector; cavity 20 is reserved."""

USUAL, NEAR = Route(length_mm=450), Route(length_mm=400)

Case = tuple[Build, Catalogue]


def one_run(
    catalogue: Catalogue,
    inlets: Sequence[str],
    ports: Sequence[Port],
    *,
    route: Route = USUAL,
    source_mm: Sequence[float] = (),
    end_mm: Sequence[float] = (),
    tail_mm: Sequence[float | None] = (),
    branching: Branching = "chain",
    **fields: object,
) -> Case:
    """A run from these ports to one part for each inlet, each plug with its own reach and tail.

    Other fields are those of the run.
    """
    ends = tuple(
        PlugRef(f"p{i + 1}", "in", dict(enumerate(end_mm)).get(i, 0.0), dict(enumerate(tail_mm)).get(i))
        for i in range(len(inlets))
    )
    sources = tuple(PlugRef(SUPPLY, p.id, dict(enumerate(source_mm)).get(i, 0.0)) for i, p in enumerate(ports))
    run = Run("r1", 1, sources, ends, route=route, branching=branching)
    build = Build(
        "Test",
        supply="test",
        parts=tuple(
            Part(end.part, "other", "Part", (Socket("in", name),)) for end, name in zip(ends, inlets, strict=True)
        ),
        runs=(replace(run, **fields),),  # type: ignore[arg-type]
        next_number=2,
        next_part=len(ends) + 1,
    )
    return build, with_layout(catalogue, layout(*ports))


def cpu(catalogue: Catalogue, route: Route | float = 450.0, **fields: object) -> Case:
    """A CPU inlet on one CPU port: eight 16 AWG wires, no double."""
    known = route if isinstance(route, Route) else Route(length_mm=route)
    return one_run(catalogue, ["cpu-8"], [port("C1", "p42-8c-plug", ["cpu"], CPU_NETS)], route=known, **fields)  # type: ignore[arg-type]


def two_plugs(catalogue: Catalogue, route_mm: float, further_mm: float) -> Case:
    """A CPU inlet fed from two 4-position plugs, the second of which lies further away."""
    ports = [port(name, "p42-4-plug", ["cpu"], CPU_4_NETS) for name in ("A", "B")]
    return one_run(catalogue, ["cpu-8"], ports, route=Route(length_mm=route_mm), source_mm=(0.0, further_mm))


def main_24(catalogue: Catalogue, route: Route) -> Case:
    """The board's main inlet on a port of the same 24 cavities."""
    return one_run(catalogue, ["main-24"], [port("M1", "p42-24-plug", ["main"], MAIN_NETS)], route=route)


def graphics_8(catalogue: Catalogue, **fields: object) -> Case:
    """An 8-position graphics inlet on a port with one COM contact too few: a sense line shares a contact."""
    fields.setdefault("route", NEAR)
    return one_run(catalogue, ["graphics-8"], [port("G1", "p42-8g-plug", ["graphics"], EIGHTS)], **fields)  # type: ignore[arg-type]


def chain(catalogue: Catalogue, inlets: Sequence[str], *spacing_mm: float, **fields: object) -> Case:
    """Drives along one chain, 400 mm from the port."""
    fields.setdefault("route", Route(length_mm=400, spacing_mm=spacing_mm))
    return one_run(catalogue, inlets, [port("P1", "p42-6-plug", ["drive"], DRIVE_NETS)], **fields)  # type: ignore[arg-type]


def fork(catalogue: Catalogue, plugs: int, route: Route = NEAR, **fields: object) -> Case:
    """CPU inlets of 4 positions on one port, each wired straight from it."""
    housing = {2: "p42-8c-plug", 3: "p42-12-plug"}[plugs]
    nets = ["+12V"] * 2 * plugs + ["COM"] * 2 * plugs
    ports = [port("C1", housing, ["cpu"], nets)]
    return one_run(catalogue, ["cpu-4"] * plugs, ports, route=route, branching="fork", **fields)  # type: ignore[arg-type]


def with_finish(case: Case, **finish: object) -> Case:
    """The same run, finished otherwise."""
    build, known = case
    run = build.runs[0]
    return replace(build, runs=(replace(run, finish=replace(run.finish, **finish)),)), known  # type: ignore[arg-type]


def with_allowances(case: Case, **fields: object) -> Case:
    build, known = case
    return replace(build, allowances=replace(build.allowances, **fields)), known  # type: ignore[arg-type]


def planned(case: Case) -> Plan:
    return plan(*case)


def run_of(case: Case) -> RunPlan:
    return plan(*case).runs[0]


def wire_to(case: Case, cavity: str, plug: int = 0) -> PlannedWire:
    """The wire that ends in a cavity of a part plug."""
    return next(w for w in run_of(case).wires if (w.target.plug, w.target.cavity) == (plug, cavity))


def terms_of(wire: PlannedWire) -> dict[str, float]:
    return {term.name: round(term.mm, 2) for term in wire.terms}
