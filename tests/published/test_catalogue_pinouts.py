"""Sockets of parts against the tables that publish them. The source stands beside each check."""

from pathlib import Path

import pytest

from server.store.catalogue_install import install_catalogue
from server.store.catalogue_read import read_catalogue
from server.store.database import open_database, reading

SHIPPED = Path(__file__).parents[2] / "seed_data" / "catalogue"


@pytest.fixture(scope="module")
def pinouts(tmp_path_factory):
    engine = open_database(tmp_path_factory.mktemp("published") / "catalogue.db")
    install_catalogue(engine, SHIPPED)
    with reading(engine) as session:
        found = read_catalogue(session).pinouts
    engine.dispose()
    return found


def nets(pinout):
    return {pin.cavity: pin.net for pin in pinout.pins}


def functions(pinout):
    return {pin.cavity: pin.function for pin in pinout.pins}


def numbered(*words):
    return {str(n): word for n, word in enumerate(words, 1)}


# ATX12V power supply design guide 2.x, main power connector (24 positions): signal and recommended colour.
MAIN = (
    ("+3.3V", "OG"), ("+3.3V", "OG"), ("COM", "BK"), ("+5V", "RD"), ("COM", "BK"), ("+5V", "RD"),
    ("COM", "BK"), ("PWR_OK", "GY"), ("+5VSB", "VT"), ("+12V", "YE"), ("+12V", "YE"), ("+3.3V", "OG"),
    ("+3.3V", "OG"), ("-12V", "BU"), ("COM", "BK"), ("PS_ON#", "GN"), ("COM", "BK"), ("COM", "BK"),
    ("COM", "BK"), ("", ""), ("+5V", "RD"), ("+5V", "RD"), ("+5V", "RD"), ("COM", "BK"),
)  # fmt: skip


def test_the_main_socket_carries_the_design_guides_nets(pinouts):
    assert nets(pinouts["main-24"]) == numbered(*(net for net, _ in MAIN))


def test_the_main_socket_recommends_the_design_guides_colours(pinouts):
    assert [pin.colour for pin in pinouts["main-24"].pins] == [colour for _, colour in MAIN]


def test_the_main_socket_takes_twenty_three_wires_and_leaves_twenty_empty(pinouts):
    # Same table: position 20 is reserved since -5 V was dropped, which leaves 23 of 24.
    empty = [pin.cavity for pin in pinouts["main-24"].pins if pin.need == "not_connected"]

    assert empty == ["20"]
    assert sum(pin.need == "required" for pin in pinouts["main-24"].pins) == 23


def test_twelve_of_the_main_socket_is_3v3_and_not_12v(pinouts):
    # Same table. A widely copied pinout prints +12 V at 10, 11 and 12; position 12 is +3.3 V.
    assert nets(pinouts["main-24"])["12"] == "+3.3V"


def test_the_3v3_sense_line_ends_at_thirteen(pinouts):
    # Seen for the 20-position plug at 11 (ATX12V 2.01), whose 11 is the 13 of the 24-position plug; 24: from memory.
    sensed = {pin.cavity: pin.sensed_by for pin in pinouts["main-24"].pins if pin.sensed_by}

    assert sensed["13"] == "+3.3V_SENSE"


@pytest.mark.parametrize(
    ("pinout", "expected"),
    [
        # Design guide 336521 rev 2.01 (ATX 3.0), table 5-8.
        ("cpu-4", ("COM", "COM", "+12V", "+12V")),
        # The same, table 5-9: from memory; agrees with one owner's metered list.
        ("cpu-8", ("COM",) * 4 + ("+12V",) * 4),
        # The same, table 5-4: position 5 is Sense and must be grounded.
        ("graphics-6", ("+12V",) * 3 + ("COM",) * 3),
        # The same, table 5-5: 4 is Sense1, 6 is Sense0, both grounded for 150 W (table 5-6).
        ("graphics-8", ("+12V",) * 3 + ("COM",) * 5),
        # Published table of the 5.08 mm peripheral connector.
        ("peripheral-4", ("+12V", "COM", "COM", "+5V")),
        # SATA power on five wires: from memory.
        ("sata-15", ("+12V", "COM", "+5V", "COM", "+3.3V")),
        # 4-wire PWM fan specification 1.3; position order as in desktop board manuals.
        ("fan-3-header", ("COM", "+12V", "TACH")),
        ("fan-4-header", ("COM", "+12V", "TACH", "PWM")),
        # No standard; common practice.
        ("light-5v-header", ("+5V", "DATA", "", "COM")),
        ("light-12v-header", ("+12V", "LED_G", "LED_R", "LED_B")),
    ],
)
def test_a_socket_carries_the_published_nets(pinouts, pinout, expected):
    assert nets(pinouts[pinout]) == numbered(*expected)


@pytest.mark.parametrize(
    ("pinout", "sense"), [("graphics-6", {"5": "SENSE"}), ("graphics-8", {"4": "SENSE1", "6": "SENSE0"})]
)
def test_a_graphics_sense_cavity_is_grounded_but_shares_no_load(pinouts, pinout, sense):
    # Design guide 336521 rev 2.01, tables 5-4 and 5-5.
    quiet = {pin.cavity: (pin.function, pin.net) for pin in pinouts[pinout].pins if not pin.carries_current}

    assert quiet == {cavity: (function, "COM") for cavity, function in sense.items()}


def test_twelve_plus_four_follows_the_design_guide(pinouts):
    # Design guide 336521 rev 2.01, table 5-7.
    expected = {str(n): "+12V" for n in range(1, 7)} | {str(n): "COM" for n in range(7, 13)}
    expected |= {"S1": "CARD_PWR_STABLE", "S2": "CARD_CBL_PRES#", "S3": "SENSE0", "S4": "SENSE1"}

    assert functions(pinouts["graphics-12-4"]) == expected


@pytest.mark.parametrize("cavity", ["S3", "S4"])
def test_a_sense_cavity_of_twelve_plus_four_may_be_grounded(pinouts, cavity):
    # Design guide 336521 rev 2.1a, "SENSE0 and SENSE1": a supply grounds the lines or leaves them open.
    pin = next(pin for pin in pinouts["graphics-12-4"].pins if pin.cavity == cavity)

    assert pin.accepts == (pin.net, "COM")


def test_3v3_of_a_drive_is_left_out_unless_asked_for(pinouts):
    # SATA 3.3: P3 is PWDIS; +3.3 V there can keep a newer drive off.
    optional = [pin for pin in pinouts["sata-15"].pins if pin.need == "optional"]

    assert [(pin.cavity, pin.net) for pin in optional] == [("5", "+3.3V")]
    assert "PWDIS" in optional[0].source


def test_each_drive_wire_names_the_three_positions_it_mates(pinouts):
    # Published table of the 15-position SATA power connector: 3.3 V P1-3, GND P4-6, 5 V P7-9, GND P10 and P12,
    # 12 V P13-15.
    assert [pin.function.split(" to ")[1] for pin in pinouts["sata-15"].pins] == [
        "P13-P15",
        "P10 P12",
        "P7-P9",
        "P4-P6",
        "P1-P3",
    ]


@pytest.mark.parametrize(
    ("pinout", "expected"),
    [
        # Front panel I/O connectivity design guide 1.3; USB and audio order as in desktop board manuals.
        ("usb2-header", ("+5V A", "+5V B", "D- A", "D- B", "D+ A", "D+ B", "GND A", "GND B", "key", "N/C")),
        (
            "audio-header",
            (
                "PORT1L",
                "GND",
                "PORT1R",
                "PRESENCE#",
                "PORT2R",
                "SENSE1_RETURN",
                "SENSE_SEND",
                "key",
                "PORT2L",
                "SENSE2_RETURN",
            ),
        ),
    ],
)
def test_a_front_panel_header_follows_its_guide(pinouts, pinout, expected):
    assert functions(pinouts[pinout]) == numbered(*expected)


@pytest.mark.parametrize(
    ("pinout", "load"),
    [
        # Design guide 336521 rev 2.01, table 3-5: 75, 150 and 600 W sustained; divided by 12 V.
        ("graphics-6", 75 / 12),
        ("graphics-8", 150 / 12),
        ("graphics-12-4", 600 / 12),
        # The same, table 2-1: continuous current for a 35 W and a 125 W processor.
        ("cpu-4", 11),
        ("cpu-8", 26),
    ],
)
def test_the_load_of_a_socket_is_the_published_limit(pinouts, pinout, load):
    assert pinouts[pinout].load_a["+12V"] == load


@pytest.mark.parametrize(
    ("header", "net", "limit"),
    [
        ("fan-4-header", "+12V", 1),  # from memory: 1 A on many boards; two recent manuals say 2 A
        ("light-5v-header", "+5V", 3),  # common practice: manuals say 3 A, some 5 A
        ("light-12v-header", "+12V", 3),  # common practice: manuals say 3 A, some 2 A
        ("usb2-header", "USB_5V_1", 0.5),  # USB 2: 0.5 A for each of the two sockets
    ],
)
def test_a_header_gives_no_more_than_boards_usually_allow(pinouts, header, net, limit):
    assert pinouts[header].load_a[net] == limit
