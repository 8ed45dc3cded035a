"""A plan: what follows from a build. Computed, never stored as truth."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from server.domain.model.build import Method, PlugRef, Remedy, SleeveEnd
from server.domain.model.catalogue import Insulation, ItemKind, Unit, Use
from server.domain.model.route import RouteStep

Severity = Literal["stop", "warn", "note"]
RunState = Literal["measured", "range", "unmeasured"]
Kind = Literal["wired", "chain", "fork", "sleeved"]


@dataclass(frozen=True, slots=True)
class Finding:
    """One result of a check, with its numbers in the text and its source."""

    severity: Severity
    code: str
    """Short stable word, such as ``not_metered``."""
    text: str
    source: str
    run: int | None = None
    """Number of the run it speaks of, if one."""
    cavity: str = ""
    way_out: str = ""
    """One thing to do about it, as a sentence."""


@dataclass(frozen=True, slots=True)
class LengthTerm:
    """One summand of a wire's length."""

    name: str
    mm: float
    source: str


@dataclass(frozen=True, slots=True)
class Plug:
    """One plug of a planned run: where it goes, its housing and how it is turned."""

    ref: PlugRef
    place: str
    """Name of the part, or of the supply layout."""
    socket: str
    """Label of the port, or name of the pinout."""
    housing: str
    at_supply_end: bool
    latch_down: bool
    """True when the ribbon lies flattest with this plug's latch down while the part's latch is up."""
    nets: Mapping[str, str]
    """Net (inlet: wanted, port: carried) by cavity; not-connected cavities have an empty net."""
    functions: Mapping[str, str]
    """Published function by cavity."""
    cap: str = ""
    """Id of the insulation-displacement cap, if the housing takes one."""


@dataclass(frozen=True, slots=True)
class WireEnd:
    """One end (or tap) of a wire."""

    plug: int
    """Index into the run's ``sources`` (for the source end) or ``ends``."""
    cavity: str
    contact: str
    """Id of the contact crimped (or blade pressed) there."""
    shared_with: tuple[str, ...] = ()
    """Labels of the other wires in the same contact, in order."""
    crimped: bool = True
    """False where the builder crimps nothing: the supply's own cable, or a wire that ends in a splice."""


@dataclass(frozen=True, slots=True)
class PlannedWire:
    """One piece cut from a roll. Its identity is its run plus its part-end cavity."""

    id: str
    """Identity that survives edits elsewhere: ``<run id>/<part>.<socket>/<cavity>``, a sense line's net behind it."""
    label: str
    """What is written on the wire: run number, dash, part-end cavity; with the plug's letter in a chain of segments."""
    source: WireEnd
    target: WireEnd
    source_at_end: bool
    """True when ``source.plug`` indexes ``ends``: a chain segment that starts at the plug before it."""
    taps: tuple[WireEnd, ...]
    """Plugs between source and target that the same piece runs through (insulation displacement)."""
    net: str
    function: str
    awg: int
    insulation: Insulation
    colour: str
    sleeve_colour: str
    """Empty when bare."""
    route_mm: float
    """Length along the route at the high end of a range, its plugs' own reach included, bends not. [mm]"""
    terms: tuple[LengthTerm, ...]
    """What adds up to its length before rounding; empty while nothing is known of the route."""
    cut_mm: int | None
    """Length to cut, rounded up to the step, alike for wires of the run that differ by less than a step; ``None`` while
    the route is a range or unknown."""
    buy_mm: int
    """Length to buy for: the cut length, or that of the range's high end; 0 when unknown. [mm]"""
    own_mm: int = 0
    """Length kept of the supply's own wire when a run is reworked. [mm]"""
    sleeve_mm: tuple[int, ...] = ()
    """Cut length of each piece of its own sleeve, in order from the supply; empty when it is bare, or lies with others
    in one sleeve. [mm]"""


@dataclass(frozen=True, slots=True)
class SleevePiece:
    """Pieces of sleeve of one length and colour in a run."""

    sleeve: str
    colour: str
    cut_mm: int
    """Relaxed length, what frays at both ends included. [mm]"""
    covered_mm: float
    """Length of wire it covers. [mm]"""
    count: int


@dataclass(frozen=True, slots=True)
class CombPlace:
    """One comb on a run."""

    comb: str
    at_mm: int
    """From the wire-side face of the part plug ``plug``. [mm]"""
    plug: int
    """Index into ``ends``; combs of the common ribbon count from the first."""
    wires: int
    """Wires that lie in it."""


@dataclass(frozen=True, slots=True)
class TapMark:
    """Where a wire that runs through is marked for a plug, before it is pressed in."""

    plug: int
    """Index into ``ends``."""
    from_end_mm: int
    """From the crimped end at the supply side of the wire, the part inside the housing included. [mm]"""
    labels: tuple[str, ...] = ()
    """Wires that are marked there."""


@dataclass(frozen=True, slots=True)
class CrimpUse:
    """Contacts of a run that are crimped, or pressed, alike."""

    contact: str
    gauges: tuple[int, ...]
    """Of the wires in each; two where they share it."""
    strip_mm: float
    """Insulation taken off; 0 where nothing is stripped. [mm]"""
    die: str
    """Empty where none is listed for this contact and gauge."""
    count: int
    source: str


@dataclass(frozen=True, slots=True)
class LatchWay:
    """The best wiring with the source plugs' latch up, or down."""

    latch_down: bool
    doubles: int
    crossings: int
    shift_mm: float
    """Sideways shift of all wires together. [mm]"""


@dataclass(frozen=True, slots=True)
class PlainWiring:
    """The cavity-by-cavity wiring that the planned one is shown against."""

    doubles: int
    crossings: int
    links: tuple[tuple[int, str, str], ...]
    """(index into ``sources``, source cavity, part cavity) in ribbon order at the part end."""
    order: tuple[int, ...]
    """``sources`` from left to right, latches up."""
    ends: tuple[int, ...] = ()
    """For a fork, the part plug of each link, as an index into ``ends`` of the run; empty where it is the first."""


@dataclass(frozen=True, slots=True)
class PinCost:
    """What one wire pinned by hand costs beyond the best wiring without that pin."""

    cavity: str
    source_cavity: str
    doubles: int
    crossings: int


@dataclass(frozen=True, slots=True)
class ForbidCost:
    """What one forbidden source cavity costs beyond the best wiring that may use it."""

    part: str
    socket: str
    cavity: str
    doubles: int
    crossings: int


@dataclass(frozen=True, slots=True)
class Offer:
    """One way to deal with a contact that would hold two wires."""

    part: str
    socket: str
    cavity: str
    labels: tuple[str, ...]
    remedy: Remedy
    chosen: bool
    possible: bool
    reason: str
    """Why it is possible, or why not, with its numbers."""
    minutes: Decimal
    """Beyond crimping both wires into the contact; negative when it saves time."""
    materials: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Joint:
    """Wires joined away from a contact, or a bridge between two cavities of one plug."""

    kind: Literal["splice", "jumper", "solder_on"]
    labels: tuple[str, ...]
    at_source: bool
    plug: int
    cavity: str
    other_cavity: str
    """For a jumper, the neighbouring cavity; otherwise empty."""
    distance_mm: float
    """From the housing's wire-side face; 0 for a jumper. [mm]"""
    shrink: str
    """Id of the heat-shrink over it; empty for a jumper."""


@dataclass(frozen=True, slots=True)
class MethodFigures:
    """One way to build a run, in numbers."""

    method: Method
    chosen: bool
    possible: bool
    reason: str
    contacts: int
    joints: int
    added_mohm: float
    """Resistance of one loaded wire out and one back, contacts and joints included. [mohm]"""
    minutes: Decimal
    materials: Decimal
    """Price of what the run uses, by the piece and the millimetre."""
    left_over: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RunPlan:
    """Everything about one cable."""

    id: str
    number: int
    name: str
    use: Use
    kind: Kind
    state: RunState
    length_mm: float | None
    """Route as measured. [mm]"""
    low_mm: float | None
    high_mm: float | None
    spacing_mm: tuple[float, ...]
    sources: tuple[Plug, ...]
    """In ribbon order, left to right, seen from above with the part's latch up."""
    ends: tuple[Plug, ...]
    wires: tuple[PlannedWire, ...]
    """In ribbon order at the part end."""
    crossings: int
    doubles: int
    """Contacts of the run's source end that carry two wires, plus sense lines doubled at the part end."""
    spare_cavities: tuple[tuple[int, str], ...]
    """Source cavities with a net that no wire uses: (source plug, cavity)."""
    combs: tuple[CombPlace, ...]
    """In order from the part plug, smaller ones where wires have left the ribbon."""
    sleeve_pieces: tuple[SleevePiece, ...]
    sleeve_end: SleeveEnd
    shrink: str
    """Id of the heat-shrink that holds, or melts, the sleeve's ends; empty for none."""
    shrink_count: int
    shrink_cut_mm: int
    """Length of one piece before shrinking. [mm]"""
    notes: tuple[str, ...]
    likely_mm: float | None = None
    steps: tuple[RouteStep, ...] = ()
    tap_marks: tuple[TapMark, ...] = ()
    crimps: tuple[CrimpUse, ...] = ()
    """By contact, thickest gauge first."""
    method: Method = "scratch"
    latch_ways: tuple[LatchWay, ...] = ()
    """Latch up and latch down, as solved."""
    plain: PlainWiring | None = None
    pin_costs: tuple[PinCost, ...] = ()
    forbid_costs: tuple[ForbidCost, ...] = ()
    offers: tuple[Offer, ...] = ()
    joints: tuple[Joint, ...] = ()
    proved: bool = True
    """False when the independent check found a fault: the card is not shown."""


@dataclass(frozen=True, slots=True)
class CutLine:
    """Wires of one gauge, insulation, colour and length, to be cut alike."""

    cut_mm: int
    count: int
    labels: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CutGroup:
    """All wires from one kind and colour of roll, longest first."""

    wire: str
    awg: int
    insulation: Insulation
    colour: str
    lines: tuple[CutLine, ...]
    total_mm: int
    count: int


SPARE = "spare"
"""Label of a tube that is cut beyond what the runs take."""


@dataclass(frozen=True, slots=True)
class RollPiece:
    """A piece in a roll or remnant."""

    id: str
    """Of the wire, sleeve or tube that it is cut for."""
    label: str
    length_mm: int
    ready: bool
    """False while its run is a range: the length is kept free for it."""


@dataclass(frozen=True, slots=True)
class RollLayout:
    """One roll or remnant with its pieces in cutting order."""

    source: Literal["roll", "lot", "piece"]
    """To be bought; on the shelf; or a piece that was cut for this build and no longer serves."""
    lot: int
    """Number of the lot or piece; 0 for a roll to buy."""
    pack: str
    """Id of the pack to buy; empty for the others."""
    stock_mm: int
    price: Decimal
    """0 for what is there."""
    pieces: tuple[RollPiece, ...]
    left_mm: int


@dataclass(frozen=True, slots=True)
class RollSheet:
    """How everything of one material and colour is cut."""

    kind: ItemKind
    item: str
    colour: str
    name: str
    layouts: tuple[RollLayout, ...]
    """What is there first, then rolls to buy."""
    cost: Decimal
    bound: Decimal
    """No way to cut costs less."""
    proved: bool


ChangeState = Literal["unchanged", "good", "trim", "too_short", "not_needed", "waits", "new"]
"""A piece that was cut, held against the plan: as it would be cut today; long enough; longer than needed; shorter; of
no use to its wire any more; its run is not measured now. ``new``: nothing was cut for it yet."""


@dataclass(frozen=True, slots=True)
class WireChange:
    """One wire, sleeve or tube of the plan, or one piece that was cut, and what became of it."""

    state: ChangeState
    id: str
    label: str
    run: int
    name: str
    """The material in words."""
    piece: int
    """Number of the piece; 0 when nothing was cut."""
    length_mm: int
    """Of the piece. [mm]"""
    cut_mm: int
    """What the plan wants now; 0 for a piece that nothing wants. [mm]"""
    off_mm: int
    """How much too long or too short. [mm]"""
    serves: tuple[str, ...] = ()
    """Labels of wires that the roll plan cuts from it."""
    rewired: bool = False
    """The piece is fitted, and the plan wires it otherwise now."""


@dataclass(frozen=True, slots=True)
class BuyLine:
    """One item of the buy list in whole packs."""

    kind: ItemKind
    item: str
    colour: str
    name: str
    needed: int
    spare: int
    """Part of ``needed`` that is reserve."""
    unit: Unit
    packs: tuple[tuple[str, int], ...]
    """(pack id, how many), largest pack first."""
    packed: int
    """Quantity that the packs hold together."""
    price: Decimal | None
    """``None`` when no pack is known."""
    used: int = 0
    """What is in the cables already; part of ``needed``."""
    on_shelf: int = 0
    """What the shelf covers; part of ``needed``."""

    @property
    def to_buy(self) -> int:
        """What is neither used nor on the shelf."""
        return max(0, self.needed - self.used - self.on_shelf)


@dataclass(frozen=True, slots=True)
class LabourLine:
    """One operation of the estimate."""

    operation: str
    name: str
    count: int
    minutes_each: Decimal
    minutes: Decimal


@dataclass(frozen=True, slots=True)
class Estimate:
    """The price, added up; every amount exact, ``total`` rounded once to the currency's smallest unit."""

    currency: str
    materials: Decimal
    labour: tuple[LabourLine, ...]
    minutes: Decimal
    labour_price: Decimal
    overhead: Decimal
    margin: Decimal
    tax: Decimal
    total: Decimal
    complete: bool
    """False when some item has no price or some route no length."""
    again_minutes: Decimal = Decimal(0)
    """Part of ``minutes`` that went into wires which were thrown away, put back or no longer serve."""
    again_wires: int = 0
    """How many such wires there are."""


@dataclass(frozen=True, slots=True)
class PortUse:
    """A port or header and the run that uses it."""

    part: str
    socket: str
    place: str
    label: str
    housing: str
    run: int | None
    """``None`` when free."""


@dataclass(frozen=True, slots=True)
class Unfed:
    """An inlet that no run feeds, with the reason."""

    part: str
    socket: str
    place: str
    inlet: str
    reason: str


@dataclass(frozen=True, slots=True)
class Waiting:
    """A run that cannot be cut yet, and what it costs to wait for its length."""

    run: int
    low_mm: float | None
    likely_mm: float | None
    high_mm: float | None
    wires: int
    buy_mm: int
    """Wire bought for it at the high end. [mm]"""
    likely_buy_mm: int
    """Wire it most likely takes: at the likely value, or the middle of the range. [mm]"""
    wait_price: Decimal
    """Price of what is bought beyond that, by the millimetre and the piece."""


@dataclass(frozen=True, slots=True)
class Summary:
    """What every edit moves."""

    runs: int
    wires: int
    wire_mm: int
    """Length to buy for, before packs. [mm]"""
    waiting: int
    """Runs that have no measured length yet."""
    stops: int
    warns: int
    notes: int
    minutes: Decimal
    total: Decimal
    currency: str


@dataclass(frozen=True, slots=True)
class Plan:
    """Build in, plan out."""

    build_name: str
    metered: bool
    runs: tuple[RunPlan, ...]
    cuts: tuple[CutGroup, ...]
    buys: tuple[BuyLine, ...]
    tools: tuple[str, ...]
    findings: tuple[Finding, ...]
    estimate: Estimate
    ports: tuple[PortUse, ...]
    unfed: tuple[Unfed, ...]
    waiting: tuple[Waiting, ...]
    rolls: tuple[RollSheet, ...]
    changes: tuple[WireChange, ...]
    """Empty while nothing has been cut."""
    spent: Decimal
    """Price of what was bought for this build."""
    summary: Summary
    cautions: tuple[str, ...]
