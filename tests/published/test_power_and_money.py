"""Power limits and currency digits against what is published. The source stands beside each check."""

import pytest
from babel.core import get_global

from server.domain.electrical import contact_loads, rating_for
from server.domain.model.catalogue import Catalogue
from server.domain.plan import plan
from server.domain.reference import CURRENCY_DIGITS
from tests.domain.scenes import built, shipped_catalogue


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    return shipped_catalogue()


# Desktop platform power supply design guide 336521, table 3-5: sustained power of each graphics connector [W], at 12 V,
# and the +12V contacts that share it (tables 5-4, 5-5, 5-7).
GRAPHICS = {"graphics-6": (75, 3), "graphics-8": (150, 3), "graphics-12-4": (600, 6)}


@pytest.mark.parametrize("inlet", GRAPHICS)
def test_a_graphics_inlet_draws_what_the_design_guide_allows(catalogue: Catalogue, inlet: str) -> None:
    assert catalogue.pinouts[inlet].load_a["+12V"] * 12 == GRAPHICS[inlet][0]


@pytest.mark.parametrize("inlet", GRAPHICS)
def test_a_graphics_inlets_current_is_shared_by_the_contacts_of_its_table(catalogue: Catalogue, inlet: str) -> None:
    carrying = [p for p in catalogue.pinouts[inlet].pins if p.net == "+12V" and p.carries_current]
    assert len(carrying) == GRAPHICS[inlet][1]


@pytest.mark.parametrize(("inlet", "amperes"), [("graphics-6", 2.08), ("graphics-8", 4.17), ("graphics-12-4", 8.33)])
def test_each_contact_of_a_graphics_inlet_carries_its_share_of_the_limit(
    catalogue: Catalogue, inlet: str, amperes: float
) -> None:
    # Same tables: 75 W / 3, 150 W / 3 and 600 W / 6 at 12 V.
    pinout = catalogue.pinouts[inlet]
    contacts = sum(p.net == "+12V" and p.carries_current for p in pinout.pins)
    (load,) = contact_loads(
        catalogue,
        catalogue.housings[pinout.housing].family,
        load_a=pinout.load_a,
        wires={"+12V": contacts},
        contacts={"+12V": (1,) * contacts},
        awg_by_net={"+12V": 16},
    )
    assert load.current_a == pytest.approx(amperes, abs=5e-3)


def test_a_600_w_contact_is_rated_as_the_design_guide_demands(catalogue: Catalogue) -> None:
    # Design guide 336521: 12+4 contacts carry 9.2 A each at 30 K rise with all twelve energised.
    found = rating_for(catalogue, "p30", awg=16, loaded=12, signal=False)
    assert found is not None
    assert found.current_a == 9.2


@pytest.mark.parametrize("awg", [16, 18])
def test_a_graphics_contact_of_150_w_lies_within_the_design_guides_planning_rule(
    catalogue: Catalogue, awg: int
) -> None:
    # Design guide, ATX 3.0 p. 18: 18 AWG for 6 to 8 A per contact; the table's rating for six loaded is at most that.
    found = rating_for(catalogue, "p42", awg=awg, loaded=6, signal=False)
    assert found is not None
    assert 6 <= found.current_a <= 8


def test_a_drive_wire_feeds_three_contacts_of_1_5_a(catalogue: Catalogue) -> None:
    # SATA power: 1.5 A per contact, three contacts for each net.
    found = rating_for(catalogue, "satad", awg=18, loaded=4, signal=False)
    assert found is not None
    assert found.current_a == 4.5


def test_a_four_way_drive_chain_within_its_ratings_is_not_warned_of(catalogue: Catalogue) -> None:
    # From memory: standard 4.2 mm contact, 18 AWG, four to six loaded, 8 A; four drives of 2 A are 8 A together.
    build = built(catalogue, "split-14-10", [("drive-sata", 4)])
    codes = [f.code for f in plan(build, catalogue).findings if f.severity == "warn"]
    assert "contact_current" not in codes


# ISO 4217 minor units, as in the Unicode CLDR currency data that the Babel library carries. CLDR gives the digits in
# *use*, which differ from ISO 4217 where small coins went out of use; those differences are named one by one.
CLDR_FRACTIONS = get_global("currency_fractions")
# Two decimal places in the standard (IQD: three), none in use, by one edition of CLDR or another.
IN_USE_OTHERWISE = frozenset({
    "AFN", "ALL", "COP", "HUF", "IDR", "IQD", "IRR", "KPW", "LAK", "LBP", "MGA", "MMK", "RSD", "SOS", "SYP", "YER",
})  # fmt: skip
# ISO 4217 funds codes and a unit of account with four decimal places: no money that a builder is paid in.
NO_MONEY = frozenset({"CLF", "UYW"})
# Withdrawn from ISO 4217; CLDR keeps them for old amounts.
WITHDRAWN = frozenset({
    "ADP", "BYR", "ESP", "ITL", "LUF", "MGF", "MRO", "SLL", "STD", "TMM", "TRL", "UYI", "ZMK", "ZWD",
})  # fmt: skip


@pytest.mark.parametrize("code", sorted(set(CURRENCY_DIGITS) - IN_USE_OTHERWISE))
def test_a_currency_has_the_decimal_places_of_the_standard(code: str) -> None:
    assert CURRENCY_DIGITS[code] == CLDR_FRACTIONS[code][0]


def test_no_currency_with_other_than_two_decimal_places_is_missing() -> None:
    other = {code for code, entry in CLDR_FRACTIONS.items() if entry[0] != 2 and code != "DEFAULT"}
    assert other - IN_USE_OTHERWISE - NO_MONEY - WITHDRAWN - set(CURRENCY_DIGITS) == set()


@pytest.mark.parametrize(("code", "digits"), [("IQD", 3), ("JPY", 0), ("KWD", 3), ("BHD", 3), ("TND", 3), ("KRW", 0)])
def test_a_few_currencies_are_what_iso_4217_prints(code: str, digits: int) -> None:
    # ISO 4217 list one, minor units.
    assert CURRENCY_DIGITS[code] == digits


@pytest.mark.parametrize("code", ["EUR", "USD", "GBP", "CHF", "SEK", "CZK", "HUF", "CAD"])
def test_a_currency_of_hundredths_is_not_an_exception(code: str) -> None:
    # ISO 4217 list one: two decimal places.
    assert code not in CURRENCY_DIGITS
