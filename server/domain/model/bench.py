"""The bench: what has physically happened. A ledger that is only added to; stock and pieces follow from it.

An entry's number is its place in the ledger, counted from 1. A lot is named by the entry that put it on the shelf, a
piece by the entry that cut it. Lengths are whole millimetres.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from server.domain.model.catalogue import ItemKind

Stage = Literal["crimped", "sleeved", "fitted", "tested"]
STAGES: tuple[Stage, ...] = ("crimped", "sleeved", "fitted", "tested")
"""In the order of the work, after cutting."""
Whereabouts = Literal["cable", "shelf", "scrap"]
WireSide = Literal["", "part", "source"]
"""An end of a wire; empty for both."""


@dataclass(frozen=True, slots=True)
class Material:
    """What a lot is made of."""

    kind: ItemKind
    item: str
    """Id in the catalogue."""
    colour: str = ""

    @property
    def by_length(self) -> bool:
        """True for what is cut from rolls, and counted in mm; False for what is counted by the piece."""
        return self.kind in ("wire", "sleeve", "shrink")


@dataclass(frozen=True, slots=True)
class Receive:
    """A roll, a remnant or a number of pieces comes onto the shelf."""

    material: Material
    quantity: int
    """Length of one roll or remnant [mm], or number of pieces."""
    price: Decimal
    """Of the whole lot; 0 for what was found."""
    origin: str
    """Where it came from, in the builder's words."""
    build: str = ""
    """Id of the build that it was bought for, and for which it is kept until it is released; empty for the shelf at
    large."""


@dataclass(frozen=True, slots=True)
class Recount:
    """Stock-taking: what is really there of a lot."""

    lot: int
    quantity: int
    reason: str


@dataclass(frozen=True, slots=True)
class Reserve:
    """A quantity of a lot is kept for a build."""

    lot: int
    build: str
    quantity: int


@dataclass(frozen=True, slots=True)
class Release:
    """A quantity kept for a build is free again."""

    lot: int
    build: str
    quantity: int


@dataclass(frozen=True, slots=True)
class Cut:
    """A piece is cut from a lot for a wire of a build, or for a sleeve or a tube of a run."""

    lot: int
    build: str
    wire: str
    """Identity of the wire, which survives edits elsewhere; of a sleeve ``<run id>/sleeve/<colour>/<n>``, of a tube
    ``<run id>/shrink/<n>``."""
    label: str
    """What was written on it."""
    run: int
    """Number of the run."""
    length_mm: int
    loss_mm: int = 0
    """Lost at the cut. [mm]"""


@dataclass(frozen=True, slots=True)
class Done:
    """A stage of the work on a piece is done."""

    piece: int
    stage: Stage
    wiring: str = ""
    """Of ``fitted`` and ``tested``: from where to where the plan wired it then; empty in entries from before that was
    written."""
    uncrimped: bool = False
    """Of ``fitted``: the wire takes no crimped contact, so that it is fitted without."""
    end: WireSide = ""
    """Of ``crimped``: the end that is crimped; empty where all that is to be crimped is."""
    more: bool = False
    """Of ``crimped``: the other end is still to be crimped, so that the stage is not done yet."""
    sheet: str = ""
    """Of ``tested``: mark of the test sheet that was passed with it; empty in entries from before there were sheets."""


@dataclass(frozen=True, slots=True)
class Timed:
    """Time that was measured at the bench for some work."""

    build: str
    run: int
    """Number of the run; 0 where it was for several."""
    operation: str
    """Of the labour table."""
    count: int
    """How often it was done in that time."""
    seconds: int


@dataclass(frozen=True, slots=True)
class Checked:
    """A run was tested by its sheet."""

    build: str
    run_id: str
    run: int
    """Number of the run."""
    sheet: str
    """Mark of the test sheet that was filled in; it changes when the sheet does."""
    passed: bool
    readings: tuple[tuple[str, str], ...] = ()
    """What did not read as expected, or was measured, by the key of the check; what read as expected is left out."""


@dataclass(frozen=True, slots=True)
class Trim:
    """A piece is cut shorter; what falls off is scrap, contacts and all, so that its stages are forgotten."""

    piece: int
    length_mm: int


@dataclass(frozen=True, slots=True)
class Assign:
    """A piece that was cut for one wire now serves another of the same build; its stages are forgotten."""

    piece: int
    wire: str
    label: str
    run: int


@dataclass(frozen=True, slots=True)
class Shelve:
    """A piece goes onto the shelf as a remnant; its stages are forgotten, its cut ends are where they are."""

    piece: int


@dataclass(frozen=True, slots=True)
class ScrapPiece:
    """A piece is thrown away."""

    piece: int
    reason: str


@dataclass(frozen=True, slots=True)
class ScrapStock:
    """Some of a lot is thrown away."""

    lot: int
    quantity: int
    reason: str


@dataclass(frozen=True, slots=True)
class Take:
    """Counted things of a lot go into a run of a build."""

    lot: int
    build: str
    run: int
    quantity: int


@dataclass(frozen=True, slots=True)
class Undo:
    """An earlier entry is taken back."""

    entry: int


Entry = (
    Receive
    | Recount
    | Reserve
    | Release
    | Cut
    | Done
    | Timed
    | Checked
    | Trim
    | Assign
    | Shelve
    | ScrapPiece
    | ScrapStock
    | Take
    | Undo
)


@dataclass(frozen=True, slots=True)
class Lot:
    """A roll, a remnant or a number of pieces on the shelf, with everything that became of it."""

    id: int
    material: Material
    received: int
    unit_price: Fraction
    """Price of one mm or one piece, exact."""
    origin: str
    build: str
    left: int
    found: int = 0
    """Added by stock-taking."""
    cut: int = 0
    """Length of the pieces cut from it. [mm]"""
    lost: int = 0
    """Cutting loss. [mm]"""
    scrapped: int = 0
    """Thrown away, or missing at stock-taking."""
    taken: int = 0
    """Counted things that went into runs."""
    reserved: Mapping[str, int] = field(default_factory=dict)
    """Quantity kept by build."""
    cut_from: int = 0
    """The piece that was put back on the shelf as this lot; 0 for what was received."""

    def free_for(self, build: str) -> int:
        """What a build may use: what is left and not kept for others."""
        return max(0, self.left - sum(amount for other, amount in self.reserved.items() if other != build))


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece that was cut."""

    id: int
    lot: int
    material: Material
    build: str
    wire: str
    label: str
    run: int
    length_mm: int
    trimmed_mm: int = 0
    """Cut off since, as scrap. [mm]"""
    stages: tuple[Stage, ...] = ()
    whereabouts: Whereabouts = "cable"
    wiring: str = ""
    """From where to where it was fitted; empty while it is not, or where that was not written."""
    crimped_ends: tuple[WireSide, ...] = ()
    """Ends that are crimped while the other one is not; empty once the stage is done."""
    marks: tuple[tuple[Stage, WireSide, int], ...] = field(default=(), compare=False)
    """What was done on it since it was cut or cleared: stage, end, and number of the entry."""


@dataclass(frozen=True, slots=True)
class Pace:
    """What was measured of one operation."""

    count: int = 0
    seconds: int = 0


@dataclass(frozen=True, slots=True)
class Check:
    """The last test of a run that stands."""

    entry: int
    """Number of its entry."""
    sheet: str
    passed: bool
    readings: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Bench:
    """Stock and pieces as they follow from the ledger."""

    lots: Mapping[int, Lot] = field(default_factory=dict)
    pieces: Mapping[int, Piece] = field(default_factory=dict)
    takes: Mapping[tuple[str, int, Material], int] = field(default_factory=dict)
    """Counted things that went into a run: by build, run and material."""
    spoilt: tuple[Piece, ...] = ()
    """Work that is gone: pieces as they were before a trim, another wire or the shelf cleared their stages. The length
    is 0 here, since the pieces themselves live on."""
    undone: frozenset[int] = frozenset()
    entries: int = 0
    """Number of the last entry."""
    paces: Mapping[tuple[str, str], Pace] = field(default_factory=dict)
    """What was measured: by build and operation."""
    checks: Mapping[tuple[str, str], Check] = field(default_factory=dict)
    """The last test of each run: by build and run id."""
    last_takes: Mapping[tuple[str, int], int] = field(default_factory=dict, compare=False)
    """Number of the last taking of counted things into a run: by build and run."""


@dataclass(frozen=True, slots=True)
class OnHand:
    """What one build may use of the shelf, and what was made for it so far."""

    build: str = ""
    lots: tuple[Lot, ...] = ()
    """Lots of which the build may use something, in the order in which they came."""
    pieces: tuple[Piece, ...] = ()
    """Pieces of the build that are neither shelved nor thrown away, in the order in which they were cut."""
    takes: Mapping[tuple[int, Material], int] = field(default_factory=dict)
    """Counted things that went into its runs, by run number and material."""
    spent: Decimal = Decimal(0)
    """Price of everything that was bought for it."""
    lost: tuple[Piece, ...] = ()
    """Pieces of the build that were thrown away or put back on the shelf, in the order in which they were cut."""
    checks: Mapping[str, Check] = field(default_factory=dict)
    """The last test of each run, by run id."""
    last_takes: Mapping[int, int] = field(default_factory=dict, compare=False)
    """Number of the last taking of counted things into each run, by run number."""
