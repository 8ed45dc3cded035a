"""A build: what the builder decided. One document, saved as numbered revisions that never change."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Literal

from server.domain.model.catalogue import Insulation

PartKind = Literal["board", "graphics", "drive", "fan", "light", "button", "usb", "audio", "data", "hub", "other"]
ColourMode = Literal["by_net", "pattern"]
Remedy = Literal["as_is", "free_cavity", "thinner", "jumper", "splice"]
"""What is done where one contact would hold two wires: crimp both; let go of the pin that keeps a free contact of the
net empty; take thinner wire for one of them; bridge to the neighbouring cavity at the part end; or join the two a
stretch before the housing."""
Method = Literal["scratch", "rework", "extension"]
"""A new cable; the supply's own cable cut or soldered on and given new contacts; a cable between it and the part."""
SUPPLY = "supply"
"""Stands in a ``PlugRef`` for the supply itself, whose sockets are ports."""


@dataclass(frozen=True, slots=True)
class Socket:
    """One socket of a part: its place on the part and its pinout in the catalogue."""

    id: str
    """Unique within the part, such as ``main`` or ``cpu2``."""
    pinout: str
    """Id of a catalogue pinout; its role tells inlet from outlet."""


@dataclass(frozen=True, slots=True)
class Part:
    """A component that takes power or signal, or gives it onward."""

    id: str
    """Unique within the build, never reused."""
    kind: PartKind
    name: str
    sockets: tuple[Socket, ...]
    chain: str = ""
    """Parts with the same non-empty word share one run, plug after plug (drives)."""


@dataclass(frozen=True, slots=True)
class PlugRef:
    """A plug of a run: the part (or the supply) and the socket it goes into."""

    part: str
    socket: str
    extra_mm: float = 0.0
    """Extra reach of this plug beyond the run's route. [mm]"""


@dataclass(frozen=True, slots=True)
class Route:
    """How long a run is, from wire-side face to wire-side face of its first two plugs.

    Either ``length_mm``, or ``low_mm`` and ``high_mm`` while it cannot be measured yet, or nothing at all.
    """

    length_mm: float | None = None
    low_mm: float | None = None
    high_mm: float | None = None
    spacing_mm: tuple[float, ...] = ()
    """Distance from each part plug to the next along a chain, extra reach of the plugs between included. [mm]"""


@dataclass(frozen=True, slots=True)
class RunFinish:
    """What one run does otherwise than the build; ``None`` follows the build."""

    awg: int | None = None
    insulation: Insulation | None = None
    colour_mode: ColourMode | None = None
    pattern: tuple[str, ...] | None = None
    sleeve: str | None = None
    """Id of a sleeve; an empty word leaves the wires bare."""
    sleeve_pattern: tuple[str, ...] | None = None
    shrink: bool | None = None
    combs: bool | None = None


@dataclass(frozen=True, slots=True)
class Pinned:
    """A wire put by hand: the cavity of the first part plug, and the source cavity that feeds it."""

    cavity: str
    part: str
    socket: str
    source_cavity: str


@dataclass(frozen=True, slots=True)
class Forbidden:
    """A source cavity that no wire of the run may use."""

    part: str
    socket: str
    cavity: str


@dataclass(frozen=True, slots=True)
class SharedChoice:
    """How the builder deals with one contact that would hold two wires."""

    part: str
    socket: str
    cavity: str
    remedy: Remedy


@dataclass(frozen=True, slots=True)
class Run:
    """One cable of the build, from one or more source plugs to one or more part plugs."""

    id: str
    number: int
    """Balloon on the drawing and first half of every wire label; never reused."""
    sources: tuple[PlugRef, ...]
    ends: tuple[PlugRef, ...]
    name: str = ""
    route: Route = Route()
    finish: RunFinish = RunFinish()
    optional: tuple[str, ...] = ()
    """Optional cavities of the part plugs that the builder wants wired."""
    pins: tuple[Pinned, ...] = ()
    forbidden: tuple[Forbidden, ...] = ()
    shared: tuple[SharedChoice, ...] = ()
    method: Method = "scratch"
    own_cable_mm: float | None = None
    """Length of the supply's own cable that is reworked or extended. [mm]"""


@dataclass(frozen=True, slots=True)
class Finish:
    """Defaults of the build for every run."""

    insulation: Insulation = "plain"
    awg_by_use: Mapping[str, int] = field(default_factory=dict)
    """Gauge by use, over the common-practice defaults in ``reference``."""
    colour_mode: ColourMode = "by_net"
    pattern: tuple[str, ...] = ("BK",)
    sleeve: str = "small"
    sleeve_pattern: tuple[str, ...] = ("BK",)
    shrink: bool = True
    combs: bool = True


@dataclass(frozen=True, slots=True)
class Allowances:
    """What is added to every wire, and bought beyond what is counted."""

    per_wire_mm: float = 10.0
    """Reserve for one crimp made again and for slack, both ends together. [mm]"""
    step_mm: float = 5.0
    """Cut lengths are rounded up to a multiple of this. [mm]"""
    spare_contacts_percent: float = 10.0
    spare_contacts_least: int = 2
    """Per kind of contact."""
    spare_combs_per_run: int = 2


@dataclass(frozen=True, slots=True)
class Rates:
    """What turns materials and hours into a price."""

    currency: str = "EUR"
    """ISO 4217 code."""
    hourly: Decimal = Decimal(40)
    overhead_percent: Decimal = Decimal(10)
    margin_percent: Decimal = Decimal(15)
    tax_percent: Decimal = Decimal(20)


@dataclass(frozen=True, slots=True)
class Build:
    """Everything the builder decided about one computer."""

    name: str
    supply: str = ""
    """Id of a supply layout; empty until one is chosen."""
    supply_version: int = 1
    """Version of that layout which the build was planned with."""
    parts: tuple[Part, ...] = ()
    runs: tuple[Run, ...] = ()
    finish: Finish = Finish()
    allowances: Allowances = Allowances()
    rates: Rates = Rates()
    client: str = ""
    notes: str = ""
    prices: Mapping[str, Decimal] = field(default_factory=dict)
    """Price overrides by pack id."""
    next_number: int = 1
    """Number the next run gets."""
    next_part: int = 1
    """Number in the id of the next part."""
