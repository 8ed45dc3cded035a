"""What a meter shows at each output of a sound desktop supply: published limits by edition of the design guide.

The limits hold at the load end of the output connectors; at the supply's own socket, with nothing plugged in, a sound
output lies well inside them. Edge values belong to the range, as published.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from server.domain.model.catalogue import Edition

EDITION_NAMES: Final[Mapping[Edition, str]] = {
    "strict": "the stricter of ATX12V 2.0 and ATX 3.x",
    "2.0": "ATX12V design guide 2.0",
    "3.x": "ATX design guide 3.x",
}
"""Names of the editions whose limits a layout can be judged by."""


@dataclass(frozen=True, slots=True)
class Span:
    """A range of voltages. [V]"""

    low_v: float
    high_v: float
    below: bool = False
    """True where the published limit says "below": the upper edge itself does not belong to the range."""

    def holds(self, volts: float) -> bool:
        """Whether a reading lies in the range. [V]"""
        return self.low_v <= volts and (volts < self.high_v if self.below else volts <= self.high_v)

    def meets(self, other: "Span") -> bool:
        """Whether two ranges share a voltage."""
        return self.low_v <= other.high_v and other.low_v <= self.high_v


@dataclass(frozen=True, slots=True)
class Levels:
    """What a meter shows at one net, its other probe on ground."""

    on: tuple[Span, ...]
    """With the supply switched on; any of them. [V]"""
    standby: tuple[Span, ...]
    """With mains on and the supply not switched on; any of them. [V]"""
    grounded: tuple[bool, ...]
    """Continuity to ground with the cord out that the net may show."""
    source: str


ZERO_V: Final = 0.1
"""A reading up to this is none: grounds and empty cavities. [V] Source: common practice."""

OFF_V: Final = 0.4
"""A main output in standby reads less than this, leakage included. [V] Source: common practice, after the low level of
PWR_OK in the design guide."""

READING_MOST_V: Final = 20.0
"""A larger reading is taken for a slip of the point or the unit: the highest output is 12 V. [V]"""

_GUIDE: Final = "ATX12V design guide 2.0, table 2; ATX design guide 3.x"
_SIGNALS: Final = "desktop supply design guide 336521: tables 3-10 (PS_ON#) and 4-10 (PWR_OK)"
_SIDEBAND: Final = "desktop supply design guide 336521, table 3-7; pull-ups in the supply from memory"

_12V: Final[Mapping[Edition, Span]] = {
    # 2.0: 12 V with 5 % either way. 3.x: 5 % up, 7 % down. The stricter of both is 2.0.
    "2.0": Span(11.40, 12.60),
    "3.x": Span(11.20, 12.60),
    "strict": Span(11.40, 12.60),
}
_OTHERS: Final[Mapping[str, Span]] = {
    # 5 % either way, and 10 % for -12V, in both editions.
    "+5V": Span(4.75, 5.25),
    "+3.3V": Span(3.14, 3.47),
    "-12V": Span(-13.20, -10.80),
}
_OFF: Final = (Span(-OFF_V, OFF_V),)
_NONE: Final = (Span(-ZERO_V, ZERO_V),)
_SENSES: Final[Mapping[str, str]] = {
    "+12V_SENSE": "+12V",
    "+5V_SENSE": "+5V",
    "+3.3V_SENSE": "+3.3V",
    "COM_SENSE": "COM",
}
_SIDEBAND_HIGH: Final = Span(2.0, 3.5)

RAILS: Final = ("+12V", "+5V", "+3.3V", "-12V", "+5VSB")
"""Nets that deliver power and may have a greatest current."""

SUPPLY_NETS: Final = (
    "+12V",
    "+5V",
    "+3.3V",
    "COM",
    "+5VSB",
    "-12V",
    "PS_ON#",
    "PWR_OK",
    *_SENSES,
    "SENSE0",
    "SENSE1",
    "CARD_PWR_STABLE",
    "CARD_CBL_PRES#",
)
"""Nets that a supply's socket may carry. Source: desktop supply design guide; remote sense lines as sold."""

SIDEBAND_NETS: Final = ("SENSE0", "SENSE1", "CARD_PWR_STABLE", "CARD_CBL_PRES#")
"""Nets of the small signal cavities of a 12+4 socket; looked for nowhere else."""


def levels(net: str, edition: Edition) -> Levels:
    """What a meter shows at a net.

    Args:
        net: One of ``SUPPLY_NETS``, or an empty word for a cavity that is not connected.
        edition: Whose limits hold.

    Raises:
        KeyError: no limits are known for that net.
    """
    net = _SENSES.get(net, net)
    if net == "+12V":
        return Levels((_12V[edition],), _OFF, (False,), _GUIDE)
    if net in _OTHERS:
        return Levels((_OTHERS[net],), _OFF, (False,), _GUIDE)
    return _FIXED[net]


_FIXED: Final[Mapping[str, Levels]] = {
    "": Levels(_NONE, _NONE, (False,), "common practice"),
    "COM": Levels(_NONE, _NONE, (True,), "common practice"),
    # Present whenever the mains is: 5 % either way, in both states.
    "+5VSB": Levels((Span(4.75, 5.25),), (Span(4.75, 5.25),), (False,), _GUIDE),
    # Low is 0 to 0.8 V, high at least 2.0 V and at most 5.25 V with nothing connected; a meter may show a hair below 0.
    "PS_ON#": Levels((Span(-ZERO_V, 0.8),), (Span(2.0, 5.25),), (False,), _SIGNALS),
    # High is published as 2.4 to 5 V at 200 uA. A meter draws far less, so that the line rises to the +5 V output that
    # it is pulled up to, whose own limit is 5.25 V (common practice). Low is below 0.4 V.
    "PWR_OK": Levels((Span(2.4, 5.25),), (Span(-OFF_V, 0.4, below=True),), (False,), _SIGNALS),
    # The supply grounds the two sense lines or leaves them open; the other two it pulls up, or leaves open.
    "SENSE0": Levels(_NONE, _NONE, (True, False), _SIDEBAND),
    "SENSE1": Levels(_NONE, _NONE, (True, False), _SIDEBAND),
    "CARD_PWR_STABLE": Levels((*_NONE, _SIDEBAND_HIGH), (*_NONE, _SIDEBAND_HIGH), (False,), _SIDEBAND),
    "CARD_CBL_PRES#": Levels((*_NONE, _SIDEBAND_HIGH), (*_NONE, _SIDEBAND_HIGH), (False,), _SIDEBAND),
}


def span_words(spans: tuple[Span, ...]) -> str:
    """Ranges as a person reads them: ``11.40 to 12.60 V``, ``about 0 V``."""
    return " or ".join(_span(span) for span in spans)


def _span(span: Span) -> str:
    if span in (*_NONE, *_OFF) or span.below:
        return "about 0 V" if not span.below else f"below {span.high_v:.1f} V"
    if span.low_v == -ZERO_V:
        return f"0 to {span.high_v:.1f} V"
    return f"{span.low_v:.2f} to {span.high_v:.2f} V"


def sensed(net: str) -> str:
    """Net whose voltage a remote sense line reads; an empty word for every other net."""
    return _SENSES.get(net, "")
