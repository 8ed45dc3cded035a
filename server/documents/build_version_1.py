"""Build documents of version 1, which stay readable: their shape, and the build that they mean today.

Version 1 knew routes by one length or a range only, one allowance for a whole wire, one kind of spare contacts and
combs, and heat-shrink or none. Files sent long ago and every stored revision of that time are read through here.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Literal

from pydantic import BaseModel, ConfigDict

from server.documents.value_checks import Problems, check_between
from server.domain.model.build import (
    Allowances,
    Build,
    ColourMode,
    Finish,
    Forbidden,
    Method,
    Part,
    Pinned,
    PlugRef,
    Rates,
    Route,
    Run,
    RunFinish,
    SharedChoice,
    SleeveEnd,
    Spare,
    SpareOf,
)
from server.domain.model.catalogue import Insulation

GREATEST_PER_WIRE_MM = 1_000.0
GREATEST_PERCENT = 1_000.0
MOST_CONTACTS = 10_000
MOST_COMBS = 1_000


@dataclass(frozen=True, slots=True)
class PlugRef1:
    """A plug of a run."""

    part: str
    socket: str
    extra_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Route1:
    """A route by one length or a range."""

    length_mm: float | None = None
    low_mm: float | None = None
    high_mm: float | None = None
    spacing_mm: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class RunFinish1:
    """What one run does otherwise than the build."""

    awg: int | None = None
    insulation: Insulation | None = None
    colour_mode: ColourMode | None = None
    pattern: tuple[str, ...] | None = None
    sleeve: str | None = None
    sleeve_pattern: tuple[str, ...] | None = None
    shrink: bool | None = None
    combs: bool | None = None


@dataclass(frozen=True, slots=True)
class Run1:
    """One cable."""

    id: str
    number: int
    sources: tuple[PlugRef1, ...]
    ends: tuple[PlugRef1, ...]
    name: str = ""
    route: Route1 = Route1()
    finish: RunFinish1 = RunFinish1()
    optional: tuple[str, ...] = ()
    pins: tuple[Pinned, ...] = ()
    forbidden: tuple[Forbidden, ...] = ()
    shared: tuple[SharedChoice, ...] = ()
    method: Method = "scratch"
    own_cable_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Finish1:
    """Defaults for every run."""

    insulation: Insulation = "plain"
    awg_by_use: Mapping[str, int] = field(default_factory=dict)
    colour_mode: ColourMode = "by_net"
    pattern: tuple[str, ...] = ("BK",)
    sleeve: str = "small"
    sleeve_pattern: tuple[str, ...] = ("BK",)
    shrink: bool = True
    combs: bool = True


@dataclass(frozen=True, slots=True)
class Allowances1:
    """What was added to every wire, and bought beyond the count."""

    per_wire_mm: float = 10.0
    step_mm: float = 5.0
    spare_contacts_percent: float = 10.0
    spare_contacts_least: int = 2
    spare_combs_per_run: int = 2


@dataclass(frozen=True, slots=True)
class Build1:
    """A whole build."""

    name: str
    supply: str = ""
    supply_version: int = 1
    parts: tuple[Part, ...] = ()
    runs: tuple[Run1, ...] = ()
    finish: Finish1 = Finish1()
    allowances: Allowances1 = Allowances1()
    rates: Rates = field(default_factory=Rates)
    client: str = ""
    notes: str = ""
    prices: Mapping[str, Decimal] = field(default_factory=dict)
    next_number: int = 1
    next_part: int = 1


class BuildDocument1(BaseModel):
    """The envelope of version 1."""

    model_config = ConfigDict(extra="forbid", strict=True, allow_inf_nan=False)

    format: Literal["loomwright-build"]
    version: Literal[1]
    build: Build1


def problems_1(build: Build1) -> Problems:
    """What is out of range among the fields that version 2 no longer has; the rest is looked at after lifting."""
    given = build.allowances
    yield from check_between("allowances.per_wire_mm", given.per_wire_mm, 0, GREATEST_PER_WIRE_MM)
    yield from check_between("allowances.spare_contacts_percent", given.spare_contacts_percent, 0, GREATEST_PERCENT)
    yield from check_between("allowances.spare_contacts_least", given.spare_contacts_least, 0, MOST_CONTACTS)
    yield from check_between("allowances.spare_combs_per_run", given.spare_combs_per_run, 0, MOST_COMBS)


def lifted(build: Build1) -> Build:
    """The build that a document of version 1 means today; what it could not say takes its default."""
    return Build(
        name=build.name,
        supply=build.supply,
        supply_version=build.supply_version,
        parts=build.parts,
        runs=tuple(_run(run) for run in build.runs),
        finish=Finish(
            insulation=build.finish.insulation,
            awg_by_use=build.finish.awg_by_use,
            colour_mode=build.finish.colour_mode,
            pattern=build.finish.pattern,
            sleeve=build.finish.sleeve,
            sleeve_pattern=build.finish.sleeve_pattern,
            sleeve_end=_sleeve_end(build.finish.shrink),
            combs=build.finish.combs,
        ),
        allowances=_allowances(build.allowances),
        rates=build.rates,
        client=build.client,
        notes=build.notes,
        prices=build.prices,
        next_number=build.next_number,
        next_part=build.next_part,
    )


def _run(run: Run1) -> Run:
    finish = run.finish
    return Run(
        id=run.id,
        number=run.number,
        sources=tuple(PlugRef(plug.part, plug.socket, plug.extra_mm) for plug in run.sources),
        ends=tuple(PlugRef(plug.part, plug.socket, plug.extra_mm) for plug in run.ends),
        name=run.name,
        route=Route(
            length_mm=run.route.length_mm,
            low_mm=run.route.low_mm,
            high_mm=run.route.high_mm,
            spacing_mm=run.route.spacing_mm,
        ),
        finish=RunFinish(
            awg=finish.awg,
            insulation=finish.insulation,
            colour_mode=finish.colour_mode,
            pattern=finish.pattern,
            sleeve=finish.sleeve,
            sleeve_pattern=finish.sleeve_pattern,
            sleeve_end=None if finish.shrink is None else _sleeve_end(finish.shrink),
            combs=finish.combs,
        ),
        optional=run.optional,
        pins=run.pins,
        forbidden=run.forbidden,
        shared=run.shared,
        method=run.method,
        own_cable_mm=run.own_cable_mm,
    )


def _sleeve_end(shrink: bool) -> SleeveEnd:
    return "shrink" if shrink else "loose"


def _allowances(given: Allowances1) -> Allowances:
    """The allowance of a whole wire becomes half of it at each of its two ends; spares stay where they were set."""
    usual = Allowances1()
    spares: dict[SpareOf, Spare] = {}
    if given.spare_combs_per_run != usual.spare_combs_per_run:
        spares["combs"] = Spare(0.0, given.spare_combs_per_run)
    contacts = given.spare_contacts_percent, given.spare_contacts_least
    if contacts != (usual.spare_contacts_percent, usual.spare_contacts_least):
        spares["contacts"] = Spare(*contacts)
    return Allowances(recrimp_mm=given.per_wire_mm / 2, slack_mm=0.0, step_mm=given.step_mm, spares=spares)
