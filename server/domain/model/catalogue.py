"""Reference data: connector families, housings, pinouts, supply layouts, materials, packs and labour.

Every record carries a ``source``: a named standard, ``common practice``, ``from memory``, or ``measured by the
builder``.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Literal

from server.domain.model.route import RouteShape

Termination = Literal["crimp", "displacement", "moulded"]
Gender = Literal["socket", "pin", "blade", "none"]
Half = Literal["plug", "mate"]
Numbering = Literal["two_row", "single_row", "odd_even", "twelve_plus_four"]
Latch = Literal["top", "bottom", "none"]
Need = Literal["required", "optional", "not_connected"]
Role = Literal["inlet", "outlet"]
Use = Literal["main", "cpu", "graphics", "drive", "fan", "light", "panel", "usb", "audio", "data"]
Insulation = Literal["plain", "high_temperature", "clear"]
CapPosition = Literal["through", "end"]
CombKind = Literal["closed", "open"]
"""Closed: each wire is threaded through its hole. Open: the wires are pressed in from the side."""
ItemKind = Literal["wire", "sleeve", "shrink", "contact", "housing", "comb", "cap"]
Unit = Literal["mm", "piece"]
Edition = Literal["strict", "2.0", "3.x"]
"""Desktop supply design guide whose output limits hold: 2.0, 3.x, or the stricter of the two."""


@dataclass(frozen=True, slots=True)
class Family:
    """A connector family: everything its housings share."""

    id: str
    name: str
    pitch_mm: float
    row_pitch_mm: float
    termination: Termination
    insertion_depth_mm: float
    """How far a wire reaches into the housing beyond its wire-side face. [mm]"""
    extraction_tool: str
    """Name of the tool that frees a contact; empty when nothing can be freed."""
    source: str


@dataclass(frozen=True, slots=True)
class Contact:
    """A crimped contact, or the fixed blade of an insulation-displacement housing."""

    id: str
    family: str
    name: str
    gender: Gender
    signal: bool
    """True for the small contact of a signal cavity (the four sideband cavities of 12+4)."""
    awg_thickest: int
    awg_thinnest: int
    insulation_min_mm: float
    insulation_max_mm: float
    wires_max: int
    source: str


@dataclass(frozen=True, slots=True)
class Crimp:
    """How one gauge is crimped, or pressed, into one contact."""

    contact: str
    awg: int
    strip_mm: float
    """Length of insulation taken off; 0 for insulation displacement. [mm]"""
    die: str
    """Die profile and nest, or the press that displacement needs."""
    source: str


@dataclass(frozen=True, slots=True)
class Rating:
    """Current per contact for one gauge and a number of loaded circuits in the housing."""

    family: str
    awg: int
    loaded_from: int
    loaded_to: int
    current_a: float
    signal: bool
    source: str


@dataclass(frozen=True, slots=True)
class Housing:
    """A plastic shell with numbered cavities.

    ``two_row``: cavities 1..columns in the row away from the latch, the rest in the latch row. ``odd_even``: odd
    numbers in one row, even in the other. ``single_row``: 1..positions. ``twelve_plus_four``: two rows of six, S1..S4.
    """

    id: str
    family: str
    name: str
    half: Half
    gender: Gender
    positions: int
    rows: int
    columns: int
    numbering: Numbering
    latch: Latch
    """Side of the latch (or polarising rib) as seen from the wire side with the latch row drawn where it says."""
    key: str
    """What keeps a wrong plug out, in words."""
    mates_with: str
    """Id of the housing it plugs into, when that is in the catalogue; otherwise empty."""
    source: str


@dataclass(frozen=True, slots=True)
class Pin:
    """One cavity of a pinout."""

    cavity: str
    function: str
    """What the published table calls it, such as ``SENSE0`` or ``+12V``."""
    net: str
    """Net carried (outlet) or wanted (inlet)."""
    accepts: tuple[str, ...]
    """Nets that may feed it, most wanted first; ``net`` is always among them."""
    need: Need
    carries_current: bool
    """False for sense and signal cavities, which do not share the load."""
    sensed_by: str
    """Remote-sense net whose line ends in this contact; empty for most."""
    colour: str
    """Recommended wire colour, IEC 60757 code; empty when none is recommended."""
    source: str


@dataclass(frozen=True, slots=True)
class Pinout:
    """A socket of a part: an inlet that takes power or signal, or an outlet (header) that gives it."""

    id: str
    name: str
    role: Role
    use: Use
    housing: str
    """Id of the housing that the cable end needs."""
    rewired: bool
    """False for cables that are sleeved but never rewired."""
    load_a: Mapping[str, float]
    """Greatest current drawn (inlet) or allowed (outlet) per net. [A]"""
    cable_girth_mm: float
    """Length round the cable of a moulded lead that is only sleeved; 0 for cables that are wired. [mm]"""
    plug_girth_mm: float
    """Length round the plug that its sleeve and heat-shrink must pass over; 0 for cables that are wired. [mm]"""
    source: str
    pins: tuple[Pin, ...]


@dataclass(frozen=True, slots=True)
class PortPin:
    """One cavity of a supply port; an empty net is not connected."""

    cavity: str
    net: str


@dataclass(frozen=True, slots=True)
class Port:
    """One socket on a supply."""

    id: str
    label: str
    housing: str
    """Id of the plug housing that fits the socket."""
    feeds: tuple[Use, ...]
    """Inlet uses that the layout's legend names for this port, most fitting first."""
    pins: tuple[PortPin, ...]


@dataclass(frozen=True, slots=True)
class Reading:
    """What the builder's meter said at one cavity; ``None`` where it has not been put there."""

    port: str
    cavity: str
    on_v: float | None = None
    """Against ground with the supply switched on. [V]"""
    standby_v: float | None = None
    """Against ground with mains on and the supply not switched on. [V]"""
    to_ground: bool | None = None
    """Continuity to ground with the mains cord out."""
    settled: str = ""
    """The net that the builder decided on where the readings fit more than one."""


@dataclass(frozen=True, slots=True)
class SupplyLayout:
    """The set of sockets of a supply with what each cavity carries; a claim until metered."""

    id: str
    name: str
    note: str
    source: str
    ports: tuple[Port, ...]
    version: int = 1
    """Counts the saved states of a layout of the builder's own; samples stay at 1."""
    own: bool = False
    """True for a layout that the builder recorded; samples that come with the planner are never metered."""
    limits_a: Mapping[str, float] = field(default_factory=dict)
    """Greatest current of the supply by net, where known. [A]"""
    edition: Edition = "strict"
    """Which published output limits its readings are judged by."""
    readings: tuple[Reading, ...] = ()


@dataclass(frozen=True, slots=True)
class Wire:
    """One gauge and insulation of stranded wire, in any of its colours."""

    id: str
    name: str
    awg: int
    insulation: Insulation
    conductor_mm2: float
    outside_mm: float
    """Diameter over the insulation. [mm]"""
    ohm_per_km: float
    """Greatest resistance at 20 C. [ohm/km]"""
    source: str


@dataclass(frozen=True, slots=True)
class Colour:
    """A colour by its IEC 60757 code, plain name and how the screen shows it."""

    code: str
    name: str
    hex: str
    insulations: tuple[Insulation, ...]
    """Insulations sold in this colour; empty for a colour only of sleeve."""
    sleeve: bool
    source: str


@dataclass(frozen=True, slots=True)
class Sleeve:
    """An expandable braid by its relaxed state."""

    id: str
    name: str
    relaxed_mm: float
    braid_angle_deg: float
    least_mm: float
    greatest_mm: float
    wall_mm: float
    """Thickness that the braid adds all round. [mm]"""
    shrink: str
    """Id of the heat-shrink that goes with it."""
    source: str


@dataclass(frozen=True, slots=True)
class Shrink:
    """Heat-shrink tube by supplied and recovered bore."""

    id: str
    name: str
    supplied_mm: float
    recovered_mm: float
    wall_mm: float
    """Nominal wall when fully recovered. [mm]"""
    shortening_percent: float
    """Length lost along the tube in shrinking. [%]"""
    piece_mm: float
    """Length that one end shows after shrinking. [mm]"""
    source: str


@dataclass(frozen=True, slots=True)
class Comb:
    """A holder that keeps the wires of a ribbon in rows and columns."""

    id: str
    name: str
    ways: int
    rows: int
    columns: int
    kind: CombKind
    source: str


@dataclass(frozen=True, slots=True)
class Cap:
    """The cover that presses wires into an insulation-displacement housing."""

    id: str
    name: str
    family: str
    position: CapPosition
    source: str


@dataclass(frozen=True, slots=True)
class Pack:
    """What can be bought of one item: a quantity at a price, without currency."""

    id: str
    kind: ItemKind
    item: str
    quantity: int
    unit: Unit
    price: Decimal
    source: str


@dataclass(frozen=True, slots=True)
class Labour:
    """Minutes for one operation."""

    operation: str
    name: str
    minutes: Decimal
    source: str


@dataclass(frozen=True, slots=True)
class Catalogue:
    """All reference data, each table keyed by id in file order."""

    version: str
    families: Mapping[str, Family]
    contacts: Mapping[str, Contact]
    crimps: tuple[Crimp, ...]
    ratings: tuple[Rating, ...]
    housings: Mapping[str, Housing]
    pinouts: Mapping[str, Pinout]
    supplies: Mapping[str, SupplyLayout]
    wires: Mapping[str, Wire]
    colours: Mapping[str, Colour]
    sleeves: Mapping[str, Sleeve]
    shrinks: Mapping[str, Shrink]
    combs: Mapping[str, Comb]
    caps: Mapping[str, Cap]
    shapes: Mapping[str, RouteShape]
    """Route shapes to start from, the builder's own behind those that come with the planner."""
    packs: tuple[Pack, ...]
    labour: Mapping[str, Labour]
    earlier: Mapping[tuple[str, int], SupplyLayout] = field(default_factory=dict)
    """Earlier versions of the builder's own layouts, by id and version."""
