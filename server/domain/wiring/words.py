"""The words of wiring: plugs that give and take, wires, costs, assignments."""

from dataclasses import dataclass
from typing import NamedTuple

from server.domain.model.catalogue import Housing

WIRES_PER_CONTACT = 2
"""Greatest number of wires crimped into one contact. Source: common practice."""


@dataclass(frozen=True, slots=True)
class SourcePlug:
    """A plug that gives: nets by cavity as pairs, an empty net for not connected."""

    housing: Housing
    nets: tuple[tuple[str, str], ...]
    pitch_mm: float


@dataclass(frozen=True, slots=True)
class Demand:
    """A cavity of the part plug that wants a wire."""

    cavity: str
    accepts: tuple[str, ...]
    """Nets that may feed it, most wanted first."""
    carries_current: bool = True
    sensed_by: str = ""
    """Remote-sense net whose line must end here."""
    pinned: tuple[int, str] | None = None
    """Source plug (index) and cavity that the builder has chosen for it by hand."""


@dataclass(frozen=True, slots=True)
class PartPlug:
    """A plug that takes, with the cavities to be fed."""

    housing: Housing
    demands: tuple[Demand, ...]
    pitch_mm: float
    places: tuple[tuple[str, int, int], ...] = ()
    """Cavity, place across the ribbon from its middle in hundredths of a millimetre, and row, where the cavities of
    several plugs lie side by side; empty where the housing alone says where they lie."""


@dataclass(frozen=True, slots=True)
class Link:
    """One wire: source plug (index as given), its cavity, the part cavity and the net both ends carry."""

    source: int
    source_cavity: str
    cavity: str
    net: str
    sense: bool = False


class Cost(NamedTuple):
    """What is minimised, most important first. ``shift`` is in hundredths of a millimetre."""

    doubles: int
    unevenness: int
    crossings: int
    shift: int
    row_changes: int


@dataclass(frozen=True, slots=True)
class Way:
    """The best wiring with the source plugs in one latch position."""

    latch_down: bool
    order: tuple[int, ...]
    cost: Cost
    links: tuple[Link, ...]


@dataclass(frozen=True, slots=True)
class Assignment:
    """The best wiring of one plug."""

    links: tuple[Link, ...]
    """In ribbon order at the part end."""
    cost: Cost
    latch_down: bool
    order: tuple[int, ...]
    """Source plugs from left to right, seen from above with the part's latch up."""
    ways: tuple[Way, ...]
    """The best with the latch up and the best with the latch down, in that order."""


@dataclass(frozen=True, slots=True)
class Shortage:
    """A net that the sources cannot give: wires wanted, contacts that carry it."""

    net: str
    wanted: int
    contacts: int
