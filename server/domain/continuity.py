"""What is joined to what inside one finished cable, plug by plug and cavity by cavity.

Wires join the contacts they end in and those they run through. A wire that is spliced or soldered to another starts at
that one's cavity in the plan, and a jumper is a wire between two cavities of one plug, so that wires say it all.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal, NamedTuple

from server.domain.model.build import SUPPLY
from server.domain.model.plan import PlannedWire, Plug, RunPlan
from server.domain.output_limits import sensed

Side = Literal["source", "end"]
_ID = re.compile(r"\((\w+)\)$")


class Spot(NamedTuple):
    """One cavity of one plug of a run."""

    side: Side
    plug: int
    """Index into the run's ``sources`` or ``ends``."""
    cavity: str


@dataclass(frozen=True, slots=True)
class Lead:
    """One wire as a meter sees it."""

    label: str
    net: str
    spots: tuple[Spot, ...]
    """From its source on, through every plug that presses it, to where it ends."""


@dataclass(frozen=True, slots=True)
class Group:
    """Cavities that the cable joins."""

    key: str
    """Label of its first wire."""
    net: str
    """What it carries; a remote sense line counts as the net it reads, since the part joins the two."""
    labels: tuple[str, ...]
    spots: tuple[Spot, ...]
    """Source cavities first, each side in the order of the wires."""

    @property
    def source(self) -> Spot:
        """Where a probe is held at the source end."""
        return self.spots[0]

    @property
    def end(self) -> Spot:
        """Where a probe touches it at the part end."""
        return next((spot for spot in self.spots if spot.side == "end"), self.spots[0])


def leads_of(run: RunPlan) -> tuple[Lead, ...]:
    """Every wire of a run with the cavities it joins, in ribbon order.

    Args:
        run: The planned run.
    """
    return tuple(Lead(wire.label, wire.net, _spots(wire)) for wire in run.wires)


def groups_of(run: RunPlan) -> tuple[Group, ...]:
    """Cavities that the cable joins, group by group, in the order of their first wires.

    Args:
        run: The planned run.

    Example:
        Two wires crimped into one source contact 8 that end in 4 and 6 make one group of three cavities.
    """
    groups: list[list[Lead]] = []
    for lead in leads_of(run):
        spots = set(lead.spots)
        met = [group for group in groups if any(spots & set(other.spots) for other in group)]
        groups = [group for group in groups if group not in met]
        groups.append([*(other for group in met for other in group), lead])
    order = {wire.label: place for place, wire in enumerate(run.wires)}
    inside = [sorted(group, key=lambda lead: order[lead.label]) for group in groups]
    return tuple(_group(leads) for leads in sorted(inside, key=lambda leads: order[leads[0].label]))


def name_of(run: RunPlan, spot: Spot) -> str:
    """A cavity as it is called at the bench: ``Main A 8``, ``CPU 1·5``, ``Board main power 24``, ``B 3`` in a chain.

    Args:
        run: The planned run.
        spot: One of its cavities.
    """
    plug = plug_name(run, spot.side, spot.plug)
    return f"{plug}{'·' if plug[-1:].isdigit() else ' '}{spot.cavity}"


def plug_name(run: RunPlan, side: Side, index: int) -> str:
    """A plug as it is called at the bench.

    Args:
        run: The planned run.
        side: Its end of the run.
        index: Which of the plugs there.
    """
    plugs = run.sources if side == "source" else run.ends
    if side == "end" and len(plugs) > 1:
        return chr(ord("A") + index) if index < 26 else f"plug {index + 1}"
    plug = plugs[index]
    return plug.socket if plug.ref.part == SUPPLY else f"{plug.place} {_short(plug)}"


def end_name(run: RunPlan, side: Side, index: int) -> str:
    """The end of the cable that a plug is: ``the part end``, ``the supply end``, ``plug B``.

    Args:
        run: The planned run.
        side: Its end of the run.
        index: Which of the plugs there.
    """
    if side == "source":
        return "the supply end" if run.sources[index].ref.part == SUPPLY else "the header end"
    return f"plug {plug_name(run, side, index).removeprefix('plug ')}" if len(run.ends) > 1 else "the part end"


def _short(plug: Plug) -> str:
    """A socket in a word or two: its id where several are alike, else what stands before the first comma."""
    alike = _ID.search(plug.socket)
    return alike[1] if alike else plug.socket.partition(",")[0]


def _spots(wire: PlannedWire) -> tuple[Spot, ...]:
    start = Spot("end" if wire.source_at_end else "source", wire.source.plug, wire.source.cavity)
    return (start, *(Spot("end", end.plug, end.cavity) for end in (*wire.taps, wire.target)))


def _group(leads: list[Lead]) -> Group:
    spots = tuple(dict.fromkeys(spot for lead in leads for spot in lead.spots))
    sources = [spot for spot in spots if spot.side == "source"]
    ends = [spot for spot in spots if spot.side == "end"]
    nets = _nets(leads)
    return Group(leads[0].label, nets[0], tuple(lead.label for lead in leads), (*sources, *ends))


def _nets(leads: Iterable[Lead]) -> list[str]:
    return list(dict.fromkeys(sensed(lead.net) or lead.net for lead in leads))
