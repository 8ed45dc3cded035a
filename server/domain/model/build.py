"""A build: what the builder decided. One document, saved as numbered revisions that never change."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Literal

from server.domain.model.catalogue import CombKind, Insulation
from server.domain.model.route import RouteStep

PartKind = Literal["board", "graphics", "drive", "fan", "light", "button", "usb", "audio", "data", "hub", "other"]
ColourMode = Literal["by_net", "pattern"]
Remedy = Literal["as_is", "free_cavity", "thinner", "jumper", "splice"]
"""What is done where one contact would hold two wires: crimp both; let go of the pin that keeps a free contact of the
net empty; take thinner wire for one of them; bridge to the neighbouring cavity at the part end; or join the two a
stretch before the housing."""
Method = Literal["scratch", "rework", "extension"]
"""A new cable; the supply's own cable cut or soldered on and given new contacts; a cable between it and the part."""
Branching = Literal["chain", "fork"]
"""How several part plugs hang on one run: one after the other, or each by wires of its own from where the run forks."""
SleeveEnd = Literal["shrink", "melted", "loose"]
"""How the ends of a sleeve are held: under heat-shrink; melted onto the wire under a piece of heat-shrink that is taken
off while warm, so that none is seen; or not at all."""
Skill = Literal["first_cables", "practised", "every_day"]
SpareOf = Literal["contacts", "shrink", "combs"]
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
    tail_mm: float | None = None
    """From this plug to where its wires join the others in the ribbon; ``None`` takes the usual tail where a run has
    several plugs at this end, and none where it has one. [mm]"""


@dataclass(frozen=True, slots=True)
class Route:
    """How long a run is, from wire-side face to wire-side face of its first two plugs.

    Measured by ``length_mm`` or by ``steps``, never both. ``low_mm`` to ``high_mm`` is the range it was expected in
    before it could be measured; it stays beside the measured value, so that a surprise can be told.
    """

    length_mm: float | None = None
    low_mm: float | None = None
    likely_mm: float | None = None
    """Most likely value of the range. [mm]"""
    high_mm: float | None = None
    steps: tuple[RouteStep, ...] = ()
    """Legs and bends from the source plug on."""
    spacing_mm: tuple[float, ...] = ()
    """From each part plug to the next along a chain; a plug's own reach is added to the stretch before it. [mm]"""


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
    sleeve_end: SleeveEnd | None = None
    shrink_size: str | None = None
    """Id of a heat-shrink; an empty word takes the one that fits."""
    combs: bool | None = None
    comb_kind: CombKind | None = None


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
    branching: Branching = "chain"
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
    sleeve_end: SleeveEnd = "shrink"
    shrink_size: str = ""
    """Id of a heat-shrink; an empty word takes the one that fits."""
    combs: bool = True
    comb_kind: CombKind = "closed"


@dataclass(frozen=True, slots=True)
class Spare:
    """What is bought of one thing beyond what is counted: the larger of a share and a least number."""

    percent: float
    least: int
    """Of each kind; for combs, on each run."""


@dataclass(frozen=True, slots=True)
class Allowances:
    """What is added to every wire, and bought beyond what is counted."""

    depth_mm: Mapping[str, float] = field(default_factory=dict)
    """Insertion depth by connector family, over that of the catalogue. [mm]"""
    strip_mm: Mapping[str, float] = field(default_factory=dict)
    """Strip length by contact, over that of the catalogue; it lies inside the insertion depth. [mm]"""
    recrimp_mm: float = 5.0
    """Reserve at each end that the builder crimps or presses, for doing it once again. [mm]"""
    recrimp_by_family: Mapping[str, float] = field(default_factory=dict)
    """The same by connector family, where it differs. [mm]"""
    slack_mm: float = 0.0
    """Service slack of each wire. [mm]"""
    step_mm: float = 5.0
    """Cut lengths are rounded up to a multiple of this. [mm]"""
    fray_mm: float = 5.0
    """Sleeve that frays and is trimmed off, at each end of a piece. [mm]"""
    skill: Skill = "practised"
    """Takes the spares from the table of the trade."""
    spares: Mapping[SpareOf, Spare] = field(default_factory=dict)
    """Spares set by hand, over those of the skill."""


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
