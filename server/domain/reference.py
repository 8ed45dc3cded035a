"""Constants and rules that are not data of one item, each with its unit and source."""

from collections.abc import Mapping
from typing import Final

from server.domain.model.build import Skill, Spare, SpareOf
from server.domain.model.catalogue import Insulation, Use

COPPER_RESISTIVITY_OHM_MM2_PER_M: Final = 0.017241
"""Annealed copper at 20 C. [ohm mm2/m] Source: IEC 60028."""

DEFAULT_AWG_BY_USE: Final[Mapping[Use, int]] = {
    "main": 16,
    "cpu": 16,
    "graphics": 16,
    "drive": 18,
    "fan": 22,
    "light": 22,
    "panel": 22,
    "usb": 22,
    "audio": 22,
}
"""Gauge by use. 16 AWG does not go into 90-degree connectors, hence 18 for drives. Source: common practice."""

SENSE_AWG: Final = 22
"""Gauge of a sense line that shares a contact. Source: desktop supply design guide, main connector, from memory."""

COMB_SPACING_MM: Final = 100.0
"""One comb for each started stretch of this length on the visible half. Source: common practice."""

CHAIN_LENGTH_MOST: Final = 4
"""Drives proposed on one chain. Source: common practice."""

LENGTH_MOST_MM: Final = 5000.0
"""No route inside a desktop computer is longer; a larger number is taken for a slip. [mm]"""

LOOM_LIMIT_PARTS: Final = 200
"""More parts than any desktop computer holds; a larger number is taken for a slip."""

USE_NAMES: Final[Mapping[Use, str]] = {
    "main": "board main",
    "cpu": "CPU",
    "graphics": "graphics",
    "drive": "drives",
    "fan": "fans",
    "light": "lights",
    "panel": "buttons and LEDs",
    "usb": "USB",
    "audio": "panel audio",
    "data": "data cables",
}

NET_COLOURS: Final[Mapping[str, str]] = {
    "+12V": "YE",
    "+5V": "RD",
    "+3.3V": "OG",
    "-12V": "BU",
    "+5VSB": "VT",
    "COM": "BK",
    "PS_ON#": "GN",
    "PWR_OK": "GY",
    "+3.3V_SENSE": "BN",
    "+5V_SENSE": "PK",
    "+12V_SENSE": "WH",
    "COM_SENSE": "TQ",
    "SENSE0": "BU",
    "SENSE1": "BU",
    "CARD_PWR_STABLE": "BU",
    "CARD_CBL_PRES#": "BU",
    "TACH": "GN",
    "PWM": "BU",
    "DATA": "GN",
    "LED_G": "GN",
    "LED_R": "RD",
    "LED_B": "BU",
    "LED+": "RD",
    "LED-": "BK",
    "SWITCH": "WH",
    "SWITCH_RTN": "BK",
    "USB_5V_1": "RD",
    "USB_5V_2": "RD",
    "USB_D1-": "WH",
    "USB_D1+": "GN",
    "USB_D2-": "WH",
    "USB_D2+": "GN",
    "USB_COM_1": "BK",
    "USB_COM_2": "BK",
    "PORT1L": "WH",
    "PORT1R": "RD",
    "PORT2L": "GN",
    "PORT2R": "YE",
    "AUDIO_COM": "BK",
    "PRESENCE#": "GY",
    "SENSE_SEND": "BU",
    "SENSE1_RETURN": "VT",
    "SENSE2_RETURN": "OG",
}
"""Wire colour by net, IEC 60757 codes. Source: desktop supply design guide (power), four-wire fan specification 1.3
(tach and PWM), USB 2.0 cable colours (power and data); lights, panel audio and sense lines but 3.3 V are our own."""

CAUTIONS: Final = (
    "Never open the supply and never work on its mains side: its capacitors hold charge after it is switched off.",
    "Switch off, unplug and wait before you touch any socket.",
    "Check every cable for continuity and shorts before it meets a part.",
    "Two supplies with the same sockets may carry different nets; so may two revisions of one. Meter before you trust.",
    "Heat tools burn and hot insulation gives off fumes: work in moving air.",
    "Local electrical codes and licensed practice come first. This plan is an aid and no certificate.",
)
"""Shown where the work happens. Source: usual cautions of the trade, supply and board manuals."""


def sensed_net(net: str) -> str:
    """Net whose voltage a remote-sense line reads, or an empty word when ``net`` is no sense line.

    Args:
        net: A net name of the catalogue.

    Returns:
        ``+3.3V`` for ``+3.3V_SENSE``, an empty word for everything else.
    """
    return net.removesuffix("_SENSE") if net.endswith("_SENSE") else ""


BUNDLED_USES: Final = frozenset({"panel", "usb", "audio", "data"})
"""Uses whose wires run in one sleeve together: front-panel leads and data cables. Source: common practice."""

SLEEVE_BY_USE: Final[Mapping[str, str]] = {"panel": "middle", "usb": "middle", "audio": "middle", "data": "large"}
"""Sleeve size where it is not the build's: middle for front-panel leads, large for data. Source: common practice."""

COMBED_USES: Final = frozenset({"main", "cpu", "graphics"})
"""Uses whose ribbons are combed unless a run says otherwise. Source: common practice."""

BUNDLE_RATIO: Final[Mapping[int, float]] = {
    1: 1.0, 2: 2.0, 3: 2.1548, 4: 2.4143, 5: 2.7014, 6: 3.0, 7: 3.0, 8: 3.3048, 9: 3.6132, 10: 3.8131, 11: 3.9239,
    12: 4.0297, 13: 4.2361, 14: 4.3285, 15: 4.5214, 16: 4.6155, 17: 4.7921, 18: 4.8638, 19: 4.8638, 20: 5.1224,
    21: 5.2524, 22: 5.4398, 23: 5.5453, 24: 5.6517,
}  # fmt: skip
"""Diameter of the smallest circle round equal wires, in wire diameters, rounded up so that it is never too small.
Source: circle packing in a circle; closed forms to 9, 11, 13, 15, 18 and 19, published tables to 20, 21 to 24 from
memory."""

CURRENCY_DIGITS: Final[Mapping[str, int]] = {
    "BHD": 3, "BIF": 0, "CLP": 0, "DJF": 0, "GNF": 0, "IQD": 3, "ISK": 0, "JOD": 3, "JPY": 0, "KMF": 0, "KRW": 0,
    "KWD": 3, "LYD": 3, "OMR": 3, "PYG": 0, "RWF": 0, "TND": 3, "UGX": 0, "VND": 0, "VUV": 0, "XAF": 0, "XOF": 0,
    "XPF": 0,
}  # fmt: skip
"""Decimal places of currencies whose smallest unit is not a hundredth. Source: ISO 4217."""


JUMPER_MM: Final = 30.0
"""Length of a bridge between two neighbouring cavities, insertion not counted. [mm] Source: common practice."""

SPLICE_MM: Final = 40.0
"""Distance of a splice from the housing's wire-side face, behind the comb's reach and the first bend. [mm]
Source: common practice."""

LAP_MM: Final = 10.0
"""Overlap of two wires in a soldered joint. [mm] Source: common practice."""

CONTACT_MOHM: Final = 10.0
"""Greatest initial resistance of one mated contact pair. [mohm] Source: from memory (4.2 mm family)."""

JOINT_MOHM: Final = 0.5
"""Resistance of one sound soldered joint. [mohm] Source: common practice, from memory."""

TAIL_MM: Final = 80.0
"""Usual length of a plug's own tail where several plugs share one end of a run. [mm] Source: common practice."""

LATE_ROUTE_MM: Final[Mapping[Use, tuple[float, float, float]]] = {
    "fan": (200.0, 450.0, 800.0),
    "light": (200.0, 500.0, 900.0),
}
"""Least, most likely and greatest route of a fan or light added late, where the build has no other to go by. [mm]
Source: common practice."""

LATE_MARGIN: Final = 0.25
"""Share by which such a route may be shorter than the build's shortest of its use, or longer than its longest.
Source: common practice."""

PLUG_BARE_MM: Final = 20.0
"""Length of a wire that runs through a pressed plug which lies inside that plug and takes no sleeve. [mm]
Source: common practice."""

COMBS_APART_MM: Final = 25.0
"""Two combs stand no nearer to each other. [mm] Source: common practice."""

OVERFULL: Final = 1.1
"""Copper over what a contact takes, as a share of it, from which the crimp does not close. Source: common practice."""

STRIP_OFF_MM: Final = 0.5
"""A strip length may differ so much from the one that is listed for its contact. [mm] Source: common practice."""

STEPS_MOST: Final = 2000
"""More legs and bends than any route has; a larger number is taken for a slip."""

SPARES: Final[Mapping[Skill, Mapping[SpareOf, Spare]]] = {
    "first_cables": {"contacts": Spare(25, 6), "shrink": Spare(20, 4), "combs": Spare(0, 2)},
    "practised": {"contacts": Spare(10, 2), "shrink": Spare(10, 2), "combs": Spare(0, 2)},
    "every_day": {"contacts": Spare(5, 2), "shrink": Spare(5, 1), "combs": Spare(0, 2)},
}
"""What is bought beyond the count, by how often the builder makes cables. Source: common practice."""

BEND_LEAST, BEND_WANTED = 6.0, 10.0
"""Radius of a wire in a bend, in diameters over its insulation: absolute least, and for good. Source: NASA-STD-8739.4,
cable that is not insulated with polyimide."""

INSULATION_NOTES: Final[Mapping[Insulation, str]] = {
    "plain": "soft insulation: it slips in the grip when crimped too lightly, and melts back near hot air",
    "high_temperature": "hard insulation: the grip's wings do not bite it; close them fully and pull-test each set-up",
    "clear": "hard, slippery insulation: close the grip fully, strip with a die that leaves the strands alone",
}
"""Plain notes on hardness. Source: common practice."""

PULL_FORCE_N: Final[Mapping[int, float]] = {
    28: 8.9, 26: 13.4, 24: 22.3, 22: 35.6, 20: 57.9, 18: 89.0, 16: 133.5, 14: 222.5,
}  # fmt: skip
"""Least force that pulls a crimped wire out of its contact, by gauge. [N] Pulled at 25.4 mm a minute on about 150 mm of
wire, the grip on the insulation opened; the lowest reading of a set-up counts, and the thinner wire of a pair.
Source: UL 486A, commercial column, as two crimp application specifications and a terminal maker's test page print it
(seen); that the column is the standard's is the usual attribution."""
