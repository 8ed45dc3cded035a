"""Whether a meter's readings bear out what a supply layout says: one verdict per cavity, in words."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from server.domain.model.catalogue import Edition, Port, Reading, SupplyLayout
from server.domain.output_limits import SIDEBAND_NETS, SUPPLY_NETS, Levels, Span, levels, sensed, span_words

State = Literal["missing", "metered", "no_fit", "two_fit", "contradicts"]
_NAMED_MOST = 4


@dataclass(frozen=True, slots=True)
class Verdict:
    """What the readings of one cavity say about the net recorded there."""

    state: State
    fits: tuple[str, ...]
    """Nets whose limits hold every reading taken; an empty word stands for not connected."""
    told: str
    """The numbers in words."""
    advice: str = ""
    """What to do next, in words; empty where the verdict says it all."""
    by_eye: bool = False
    """True where two nets fit and no further reading tells them apart: the builder settles it."""

    @property
    def text(self) -> str:
        """The numbers in words, and what to do next."""
        return f"{self.told} {self.advice}".strip()


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a set of cavities has been metered."""

    metered: int
    cavities: int


def fitting_nets(reading: Reading, edition: Edition) -> tuple[str, ...]:
    """Nets whose published limits hold every value of a reading.

    Args:
        reading: The values taken at one cavity; what was not taken excludes nothing.
        edition: Whose limits hold.

    Returns:
        The nets in the order of ``SUPPLY_NETS``; nets of the 12+4 sideband only for its cavities S1 to S4. Empty when
        nothing was measured or nothing fits. Remote sense lines read like the net they sense.
    """
    if not _taken(reading):
        return ()
    sideband = reading.cavity.startswith("S")
    nets = (net for net in SUPPLY_NETS if sideband or net not in SIDEBAND_NETS)
    return tuple(net for net in nets if _fits(reading, levels(net, edition)))


def reads_nothing(reading: Reading) -> bool:
    """Whether the reading is that of a cavity which is not connected: 0 V with the supply on, and no continuity."""
    return reading.on_v is not None and reading.to_ground is False and _fits(reading, levels("", "strict"))


def verdicts(layout: SupplyLayout) -> Mapping[tuple[str, str], Verdict]:
    """What the readings say about every cavity of a layout.

    Args:
        layout: A layout of the builder's own with its readings; the samples are never metered.

    Returns:
        By port and cavity, in the order of the layout.
    """
    readings = {(reading.port, reading.cavity): reading for reading in layout.readings} if layout.own else {}
    found: dict[tuple[str, str], Verdict] = {}
    for port in layout.ports:
        for pin in port.pins:
            reading = readings.get((port.id, pin.cavity))
            found[port.id, pin.cavity] = _verdict(pin.net, reading, port, layout.edition)
    return found


def progress(layout: SupplyLayout, port: str = "") -> Progress:
    """How many cavities are metered, of one port or of the whole layout."""
    states = [verdict.state for (place, _), verdict in verdicts(layout).items() if port in ("", place)]
    return Progress(states.count("metered"), len(states))


def expected(net: str, edition: Edition) -> str:
    """What a meter should show at a recorded net, in words."""
    wanted = levels(net, edition)
    words = f"on {span_words(wanted.on)}, standby {span_words(wanted.standby)}"
    if wanted.grounded == (True,):
        return f"{words}, continuity to ground"
    return f"{words}, no continuity to ground" if wanted.grounded == (False,) and not net else words


def reading_words(reading: Reading) -> str:
    """A reading in words, such as ``12.05 V on, 0.00 V in standby``; empty when nothing was measured."""
    return _small(_said(reading))


def _taken(reading: Reading) -> bool:
    return reading.on_v is not None or reading.standby_v is not None or reading.to_ground is not None


def _fits(reading: Reading, wanted: Levels) -> bool:
    if reading.on_v is not None and not any(span.holds(reading.on_v) for span in wanted.on):
        return False
    if reading.standby_v is not None and not any(span.holds(reading.standby_v) for span in wanted.standby):
        return False
    return reading.to_ground is None or reading.to_ground in wanted.grounded


def _verdict(net: str, reading: Reading | None, port: Port, edition: Edition) -> Verdict:
    if net and net not in SUPPLY_NETS:
        return Verdict("missing", (), f"No published limits are known for {net}, so it cannot be metered.")
    if reading is None or not _taken(reading):
        return Verdict("missing", (), f"Not metered yet. Recorded: {_name(net)}, {expected(net, edition)}.")
    nothing = ("",) if _fits(reading, levels("", edition)) else ()
    fits = (*fitting_nets(reading, edition), *nothing)
    said = _said(reading)
    if not fits:
        told = f"{said} fits no output. Recorded: {_name(net)}, {expected(net, edition)}."
        return Verdict("no_fit", (), told, "Measure again.")
    if reading.settled:
        return _settled(net, reading, fits, port, edition)
    if net not in fits:
        return Verdict("contradicts", fits, _against(net, fits, said, edition))
    rivals = tuple(fit for fit in fits if fit != net and _is_rival(net, fit, reading, port))
    if rivals:
        by_eye = not _missing(net, rivals, reading)
        told = f"{said} fits {_listed((net, *rivals))}."
        return Verdict("two_fit", fits, told, _tells(net, rivals, reading), by_eye=by_eye)
    return Verdict("metered", fits, f"{said} fits {_name(net)}.")


def _settled(net: str, reading: Reading, fits: tuple[str, ...], port: Port, edition: Edition) -> Verdict:
    """A verdict where the builder has settled the net: it decides only what no further reading can decide."""
    settled, said = reading.settled, _said(reading)
    if settled not in fits:
        shows = expected(settled, edition)
        text = f"Settled as {settled}, but {_small(said)} fits {_listed(fits)}; {settled} shows {shows}."
        return Verdict("contradicts", fits, text)
    if settled != net:
        return Verdict("contradicts", fits, f"{said}, settled as {settled}; the layout records {_name(net)}.")
    rivals = tuple(fit for fit in fits if fit != net and _is_rival(net, fit, reading, port))
    if missing := _missing(net, rivals, reading):
        told = f"{said} fits {_listed((net, *rivals))}."
        return Verdict("two_fit", fits, told, f"Settling is not enough: take {' and '.join(missing)}.")
    return Verdict("metered", fits, f"{said} fits {_name(net)}, settled by the builder.")


def _against(net: str, fits: tuple[str, ...], said: str, edition: Edition) -> str:
    if not net:
        return f"Recorded as not connected, but {_small(said)} fits {_listed(fits)}."
    return f"{said} fits {_listed(fits)}, but {net} is recorded, which shows {expected(net, edition)}."


def _is_rival(net: str, fit: str, reading: Reading, port: Port) -> bool:
    """Whether another net that fits must be ruled out before the recorded one holds.

    A sense line reads like its net, and PWR_OK may read like an output. Only where the socket is said to hold such a
    line can a contact be taken for it; a socket with none of them needs no settling.
    """
    if not net and reads_nothing(reading):
        return False
    recorded = {pin.net for pin in port.pins}
    return fit in recorded if fit == "PWR_OK" or sensed(fit) else True


def _missing(net: str, rivals: tuple[str, ...], reading: Reading) -> list[str]:
    """Readings not taken yet that tell the recorded net from a rival."""
    own, others = levels(net, "strict"), [levels(rival, "strict") for rival in rivals]
    words = []
    if reading.on_v is None and any(not _meet(own.on, other.on) for other in others):
        words.append("a reading with the supply on")
    if reading.standby_v is None and any(not _meet(own.standby, other.standby) for other in others):
        words.append("a standby reading")
    if reading.to_ground is None and any(not set(own.grounded) & set(other.grounded) for other in others):
        words.append("continuity to ground with the cord out")
    return words


def _tells(net: str, rivals: tuple[str, ...], reading: Reading) -> str:
    """The further reading that tells the recorded net from its rivals, and what to look at where none does."""
    missing = _missing(net, rivals, reading)
    advice = [f"To tell them apart take {' and '.join(missing)}."] if missing else []
    alike = [rival for rival in rivals if not _missing(net, (rival,), reading)]
    return " ".join(advice + _by_eye(net, alike))


def _by_eye(net: str, alike: list[str]) -> list[str]:
    """What to look at where no reading tells two nets apart."""
    words = []
    if any(_is_sense_pair(net, rival) for rival in alike):
        words.append("A contact and its sense line read alike: the sense line has the thinner wire. Settle it by eye.")
        alike = [rival for rival in alike if not _is_sense_pair(net, rival)]
    if alike and (net == "PWR_OK" or "PWR_OK" in alike):
        words.append(
            "PWR_OK and an output may read alike: with the cord out, the contacts of one output are joined to each "
            "other, PWR_OK is joined to none. Then settle it."
        )
    elif alike:
        words.append("No reading tells them apart: settle it by the socket's place and its wires.")
    return words


def _is_sense_pair(net: str, other: str) -> bool:
    return bool(net and other) and (sensed(net) == other or sensed(other) == net)


def _meet(some: tuple[Span, ...], others: tuple[Span, ...]) -> bool:
    return any(one.meets(other) for one in some for other in others)


def _said(reading: Reading) -> str:
    words = []
    if reading.on_v is not None:
        words.append(f"{_volts(reading.on_v)} on")
    if reading.standby_v is not None:
        words.append(f"{_volts(reading.standby_v)} in standby")
    if reading.to_ground is not None:
        words.append("continuity to ground" if reading.to_ground else "no continuity to ground")
    said = ", ".join(words)
    return said[:1].upper() + said[1:]


def _small(said: str) -> str:
    return said[:1].lower() + said[1:]


def _volts(value: float) -> str:
    # Two places as a meter shows them, and a third only where there is one.
    shown = f"{round(value, 3) or 0.0:.3f}"
    return f"{shown.removesuffix('0')} V"


def _name(net: str) -> str:
    return net or "not connected"


def _listed(nets: tuple[str, ...]) -> str:
    names = [_name(net) for net in nets]
    if len(names) > _NAMED_MOST:
        return f"{', '.join(names[:_NAMED_MOST])} and {len(names) - _NAMED_MOST} more"
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
