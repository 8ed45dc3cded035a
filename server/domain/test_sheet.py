"""The test sheet of one run: what must read as joined, what must stay silent, and the voltages on first power.

The cable lies alone on the bench for the first two. One probe is held at the source end, the other touches the part
end. Two groups that carry one net are not held against each other: a short between them does no harm. An empty cavity
needs no check, since nothing in the cable leads to it.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from hashlib import sha256
from typing import Final, Literal

from server.domain.continuity import Group, Spot, groups_of, leads_of, name_of, plug_name
from server.domain.model.build import SUPPLY
from server.domain.model.catalogue import Edition
from server.domain.model.plan import RunPlan
from server.domain.output_limits import SUPPLY_NETS, Span, levels, span_words

VoltKind = Literal["on", "standby", "ground"]
"""With the supply on; with mains on and the supply not switched on; continuity to COM with the cord out."""
GROUNDED_NETS: Final = ("SENSE0", "SENSE1")
"""Nets that a supply grounds or leaves open, and never drives."""


@dataclass(frozen=True, slots=True)
class JoinCheck:
    """Two cavities that must be joined."""

    key: str
    label: str
    net: str
    one: Spot
    other: Spot
    one_name: str
    other_name: str


@dataclass(frozen=True, slots=True)
class Touch:
    """A cavity that must stay silent."""

    group: str
    """Key of its group."""
    net: str
    spot: Spot
    name: str


@dataclass(frozen=True, slots=True)
class OpenRow:
    """One probe is held on a cavity; the other touches the rest, one after the other, and nothing may sound."""

    key: str
    group: str
    net: str
    held: Spot
    held_name: str
    touches: tuple[Touch, ...]


@dataclass(frozen=True, slots=True)
class VoltCheck:
    """What a meter shows at one cavity of a part plug that is plugged into nothing."""

    key: str
    kind: VoltKind
    net: str
    spot: Spot
    name: str
    black: Spot | None
    """Where the black probe goes; ``None`` for the supply's case."""
    black_name: str
    spans: tuple[Span, ...]
    """Of ``on`` and ``standby``: any of them is good. [V]"""
    grounded: bool | None = None
    """Of ``ground``: what was metered at the supply's own socket; where that is not known, either is good."""

    @property
    def words(self) -> str:
        """What must be read, in words."""
        if self.kind == "ground":
            told = {True: "joined to COM", False: "open to COM", None: "joined or open, as the supply has it"}
            return told[self.grounded]
        return span_words(self.spans)


@dataclass(frozen=True, slots=True)
class TestSheet:
    """Everything that one run is tested by."""

    __test__ = False

    run_id: str
    number: int
    joins: tuple[JoinCheck, ...]
    rows: tuple[OpenRow, ...]
    pairs: int
    """How many pairs of cavities the rows hold against each other."""
    volts: tuple[VoltCheck, ...]
    no_volts: str
    """Why there is no voltage to expect from the supply alone, and what to do instead; empty where there is."""
    metered: bool
    """Whether every supply cavity that the run uses has been metered; no voltage is measured before that."""
    mark: str
    """Tells this sheet from every other: it changes with the wiring and with what is expected."""


@dataclass(frozen=True, slots=True)
class Readings:
    """What was read, by the key of each check; what was not read yet is left out."""

    joined: Mapping[str, bool] = field(default_factory=dict)
    sounds: Mapping[str, str] = field(default_factory=dict)
    """By row: the group it sounds with; an empty word where all stayed silent."""
    volts: Mapping[str, float] = field(default_factory=dict)
    grounds: Mapping[str, bool] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Verdict:
    """What the readings come to."""

    bad: tuple[str, ...]
    """Keys of what did not read as expected."""
    missing_cold: tuple[str, ...]
    """Keys of joins and rows that were not read yet."""
    missing_volts: tuple[str, ...]

    @property
    def cold(self) -> bool:
        """Whether the cable alone is as it should be, every pair of it read."""
        return not self.missing_cold and not self.bad

    @property
    def passed(self) -> bool:
        """Whether everything was read, and all of it is good."""
        return self.cold and not self.missing_volts


def sheet_of(
    run: RunPlan,
    *,
    metered: bool,
    edition: Edition = "strict",
    grounded: Mapping[tuple[str, str], bool] | None = None,
) -> TestSheet:
    """The test sheet of a run.

    Args:
        run: The planned run.
        metered: Whether the supply cavities that it uses have been metered.
        edition: Whose output limits hold.
        grounded: Continuity to ground that was metered, by port and cavity.

    Returns:
        The sheet; one without any check for a run that has no wires.
    """
    groups = groups_of(run)
    joins = tuple(check for group in groups for check in _joins(run, group))
    rows = _rows(run, groups)
    volts = _volts(run, groups, edition, grounded or {})
    return TestSheet(
        run.id,
        run.number,
        joins,
        rows,
        sum(len(row.touches) for row in rows),
        volts,
        "" if volts else _no_volts(run),
        metered,
        _mark(run, joins, rows, volts),
    )


def verdict_of(sheet: TestSheet, readings: Readings) -> Verdict:
    """What the readings of a sheet come to.

    Args:
        sheet: The sheet.
        readings: What was read so far; readings of other checks say nothing here.
    """
    bad = [check.key for check in sheet.joins if readings.joined.get(check.key) is False]
    bad += [row.key for row in sheet.rows if readings.sounds.get(row.key)]
    bad += [check.key for check in sheet.volts if not _good(check, readings)]
    cold = [check.key for check in sheet.joins if check.key not in readings.joined]
    cold += [row.key for row in sheet.rows if row.key not in readings.sounds]
    held = {**readings.volts, **readings.grounds}
    return Verdict(tuple(bad), tuple(cold), tuple(check.key for check in sheet.volts if check.key not in held))


def _good(check: VoltCheck, readings: Readings) -> bool:
    """Whether a voltage is good, or not read yet."""
    if check.kind == "ground":
        joined = readings.grounds.get(check.key)
        return joined is None or check.grounded in (None, joined)
    volts = readings.volts.get(check.key)
    return volts is None or any(span.holds(volts) for span in check.spans)


def _joins(run: RunPlan, group: Group) -> list[JoinCheck]:
    """From the first source cavity of a group to each other cavity of it, wire by wire."""
    made, known = [], {group.source}
    inside = set(group.labels)
    for lead in leads_of(run):
        if lead.label not in inside:
            continue
        for place, spot in enumerate(lead.spots):
            if spot in known:
                continue
            known.add(spot)
            key = f"c:{lead.label}"
            if place == 0:
                key += ":start"
            elif len(lead.spots) > 2:
                key += f":{plug_name(run, 'end', spot.plug)}"
            names = name_of(run, group.source), name_of(run, spot)
            made.append(JoinCheck(key, lead.label, lead.net, group.source, spot, *names))
    return made


def _rows(run: RunPlan, groups: tuple[Group, ...]) -> tuple[OpenRow, ...]:
    """Every two groups of different nets once: each row holds one group against those of other nets that come later.

    Groups lie together by net, the net with the most of them last: none of its groups needs a row of its own.
    """
    nets = [group.net for group in groups]
    order = sorted(groups, key=lambda group: (nets.count(group.net), nets.index(group.net)))
    rows = []
    for place, group in enumerate(order):
        touches = tuple(
            Touch(other.key, other.net, other.end, name_of(run, other.end))
            for other in order[place + 1 :]
            if other.net != group.net
        )
        if touches:
            held = name_of(run, group.source)
            rows.append(OpenRow(f"o:{group.key}", group.key, group.net, group.source, held, touches))
    return tuple(rows)


def _volts(
    run: RunPlan, groups: tuple[Group, ...], edition: Edition, grounded: Mapping[tuple[str, str], bool]
) -> tuple[VoltCheck, ...]:
    """Voltages at the part plugs, plug by plug in the order of the wires; none where no supply feeds the run."""
    if not run.sources or any(plug.ref.part != SUPPLY for plug in run.sources):
        return ()
    made = []
    for index in range(len(run.ends)):
        places = [(group, spot) for group in groups for spot in group.spots if (spot.side, spot.plug) == ("end", index)]
        black = next((spot for group, spot in places if group.net == "COM"), None)
        for group, spot in places:
            if group.net in SUPPLY_NETS and group.net != "COM":
                made.append(_volt(run, group, spot, black, edition, grounded))
    return tuple(made)


def _volt(
    run: RunPlan,
    group: Group,
    spot: Spot,
    black: Spot | None,
    edition: Edition,
    grounded: Mapping[tuple[str, str], bool],
) -> VoltCheck:
    wanted = levels(group.net, edition)
    kind: VoltKind = "on"
    spans, joined = wanted.on, None
    if group.net in GROUNDED_NETS:
        kind, spans = "ground", ()
        joined = grounded.get((run.sources[group.source.plug].ref.socket, group.source.cavity))
    elif group.net == "PS_ON#":
        # It is bridged to switch the supply on, so that only standby shows it.
        kind, spans = "standby", wanted.standby
    black_name = name_of(run, black) if black else "bare metal of the supply's case"
    key = f"v:{chr(ord('A') + spot.plug)}:{spot.cavity}"
    return VoltCheck(key, kind, group.net, spot, name_of(run, spot), black, black_name, spans, joined)


def _no_volts(run: RunPlan) -> str:
    """Why the supply alone shows nothing at the part end."""
    if not run.wires:
        return "This cable is sleeved as it is and not rewired: nothing of it is tested here."
    if not run.sources:
        return "The run has no source yet."
    places = ", ".join(dict.fromkeys(plug.place for plug in run.sources))
    return (
        f"{places} feeds this cable, not the supply: with the supply alone nothing is to be read at it. "
        "The continuity and open checks are its whole test; pass them before it meets the header."
    )


def _mark(run: RunPlan, joins: tuple[JoinCheck, ...], rows: tuple[OpenRow, ...], volts: tuple[VoltCheck, ...]) -> str:
    """A short word for everything that is checked.

    Names do not count, since renaming a part rewires nothing; nor does what metering found of the grounded lines, since
    the cable alone is tested before that.
    """
    plugs = [(plug.ref.part, plug.ref.socket) for plug in (*run.sources, *run.ends)]
    told = (
        plugs,
        [(check.key, check.net, tuple(check.one), tuple(check.other)) for check in joins],
        [(row.key, row.net, tuple(row.held), [tuple(touch.spot) for touch in row.touches]) for row in rows],
        [(check.key, check.kind, check.net, [(s.low_v, s.high_v) for s in check.spans]) for check in volts],
    )
    return sha256(repr(told).encode()).hexdigest()[:12]
