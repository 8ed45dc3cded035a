"""Scenes for the tests of the domain: the shipped catalogue, small housings, layouts and builds made by hand."""

import signal
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from functools import cache
from pathlib import Path
from types import FrameType

from hypothesis import HealthCheck, settings

from server.domain import edits
from server.domain.model.build import Build, Route
from server.domain.model.catalogue import Catalogue, Housing, Numbering, Port, PortPin, Reading, SupplyLayout, Use
from server.domain.model.plan import Plan, RunPlan
from server.store.catalogue_memory import catalogue_from_files

ROOT = Path(__file__).parents[2]
SHIPPED = ROOT / "seed_data" / "catalogue"
EXAMPLES = ROOT / "seed_data" / "examples"
INVENTED = "invented for a test"
VOLTS = {
    "+12V": (12.0, 0.0, False),
    "+5V": (5.0, 0.0, False),
    "+3.3V": (3.3, 0.0, False),
    "-12V": (-12.0, 0.0, False),
    "+5VSB": (5.0, 5.0, False),
    "COM": (0.0, 0.0, True),
    "PS_ON#": (0.2, 4.0, False),
    "PWR_OK": (4.5, 0.1, False),
    "SENSE0": (0.0, 0.0, True),
    "SENSE1": (0.0, 0.0, True),
}
"""By net: volts with the supply on, volts in standby, continuity to ground."""


def examples(count: int) -> settings:
    """So many random examples, however long one of them takes on a slow machine."""
    slow_is_fine = [HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much]
    return settings(max_examples=count, deadline=None, suppress_health_check=slow_is_fine)


@cache
def shipped_catalogue() -> Catalogue:
    return catalogue_from_files(SHIPPED)


def housing(positions: int, rows: int = 2, numbering: Numbering = "two_row", columns: int = 0) -> Housing:
    return Housing(
        f"test-{positions}", "p42", f"{positions}-position plug", "plug", "socket", positions, rows,
        columns or positions // rows, numbering, "top", "", "", INVENTED,
    )  # fmt: skip


def port(port_id: str, housing_id: str, feeds: Sequence[Use], nets: Sequence[str]) -> Port:
    """A port whose cavities 1, 2, 3 ... carry ``nets`` in order."""
    pins = tuple(PortPin(str(i + 1), net) for i, net in enumerate(nets))
    return Port(port_id, f"Port {port_id}", housing_id, tuple(feeds), pins)


def layout(*ports: Port, metered: bool = True, layout_id: str = "test") -> SupplyLayout:
    return with_readings(SupplyLayout(layout_id, "Layout of a test", "", INVENTED, ports, own=True), metered=metered)


def with_readings(supply: SupplyLayout, *, metered: bool = True) -> SupplyLayout:
    """The layout with readings in the middle of the published limits that bear it out, or with none."""
    readings = tuple(
        Reading(port.id, pin.cavity, *VOLTS.get(pin.net.removesuffix("_SENSE"), (0.0, 0.0, False)), pin.net)
        for port in supply.ports
        for pin in port.pins
    )
    return replace(supply, own=True, readings=readings if metered else ())


def with_layout(catalogue: Catalogue, supply: SupplyLayout) -> Catalogue:
    return replace(catalogue, supplies={**catalogue.supplies, supply.id: supply})


def built(catalogue: Catalogue, supply: str, parts: Sequence[tuple[str, int]]) -> Build:
    """A build on a layout with parts by recipe, runs proposed, nothing measured."""
    build = edits.choose_supply(Build(name="Test"), catalogue, supply)
    for recipe, count in parts:
        build = edits.add_parts(build, catalogue, recipe, count, "")
    return build


def measured(build: Build, length_mm: float = 500.0, spacing_mm: float = 100.0) -> Build:
    """The build with every route measured alike."""
    runs = tuple(
        replace(run, route=Route(length_mm=length_mm, spacing_mm=(spacing_mm,) * (len(run.ends) - 1)))
        for run in build.runs
    )
    return replace(build, runs=runs)


def run_to(plan: Plan, part: str, socket: str) -> RunPlan:
    """The run of a plan that has a plug in one socket of a part."""
    return next(run for run in plan.runs if (part, socket) in {(p.ref.part, p.ref.socket) for p in run.ends})


def run_id_to(build: Build, part: str, socket: str) -> str:
    return next(run.id for run in build.runs if (part, socket) in {(p.part, p.socket) for p in run.ends})


def codes(plan: Plan, run: int | None = None) -> list[tuple[str, str]]:
    """(severity, code) of the findings, of one run when its number is given."""
    return [(f.severity, f.code) for f in plan.findings if run is None or f.run == run]


def numbered(nets: Mapping[str, str] | Sequence[str]) -> tuple[tuple[str, str], ...]:
    """Nets by cavity as the wiring takes them; a plain list counts cavities from 1."""
    if isinstance(nets, Mapping):
        return tuple(nets.items())
    return tuple((str(i + 1), net) for i, net in enumerate(nets))


@contextmanager
def ends_at_all(seconds: int = 5) -> Iterator[None]:
    """Fails a test whose body would run for ever; no statement about speed, hence the generous limit."""

    def stop(_signal: int, _frame: FrameType | None) -> None:
        raise AssertionError(f"still running after {seconds} s: it would never end")

    before = signal.signal(signal.SIGALRM, stop)
    signal.alarm(seconds)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)
