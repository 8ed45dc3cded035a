"""What a graphics card reads from the grounded sense cavities of a planned cable, by the published tables.

Source: desktop platform power supply design guide 336521 rev 2.01. Table 5-4: cavity 5 of the 6-position plug is Sense.
Table 5-5: cavities 4 and 6 of the 8-position plug are Sense1 and Sense0. Table 5-6: what they tell the card.
"""

from itertools import product

import pytest

from server.domain import edits
from server.domain.model.build import Build
from server.domain.model.catalogue import Catalogue, Port, PortPin
from server.domain.model.plan import RunPlan
from server.domain.plan import plan
from tests.domain.scenes import layout, port, shipped_catalogue, with_layout

# Table 5-6: (Sense1 grounded, Sense0 grounded) -> what the card may draw; a grounded Sense1 alone is reserved.
TABLE_5_6 = {(True, True): 150, (False, True): 75, (False, False): 0}
SENSE_OF_8 = {"Sense1": "4", "Sense0": "6"}
SENSE_OF_6 = {"Sense": "5"}
# From memory: 12+4, SENSE0 in S3 and SENSE1 in S4; both on ground mean the full 600 W.
SENSE_OF_12_4 = {"SENSE0": "S3", "SENSE1": "S4"}


def grounded(run: RunPlan) -> set[str]:
    """Part cavities that a wire of the run joins to a source cavity recorded as COM, straight or over a bridge."""
    from_source = {
        w.target.cavity
        for w in run.wires
        if not w.source_at_end and run.sources[w.source.plug].nets[w.source.cavity] == "COM"
    }
    bridged = {w.target.cavity for w in run.wires if w.source_at_end and w.source.cavity in from_source}
    return from_source | bridged


def cable(catalogue: Catalogue, recipe: str, *ports: tuple[str, list[str]]) -> RunPlan:
    """The planned run from ports of (housing, nets) to a part with one graphics inlet."""
    made = [port(f"a{i}", housing, ["graphics"], nets) for i, (housing, nets) in enumerate(ports)]
    return first_run(with_layout(catalogue, layout(*made)), recipe)


def first_run(catalogue: Catalogue, recipe: str) -> RunPlan:
    """The run proposed for one part from the layout of the test."""
    build = edits.add_parts(edits.choose_supply(Build("Test"), catalogue, "test"), catalogue, recipe, 1, "")
    return plan(build, catalogue).runs[0]


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    return shipped_catalogue()


EIGHT = ("p42-8g-plug", ["+12V"] * 4 + ["COM"] * 4)
"""Four and four, so that a COM contact is shared."""
TEN = ("p42-10-plug", ["COM"] * 5 + ["+12V"] * 3 + ["", ""])
"""A COM contact for each."""


@pytest.mark.parametrize("source", [EIGHT, TEN], ids=["shared contact", "contact for each"])
def test_the_8_position_cable_tells_the_card_150_w(catalogue: Catalogue, source: tuple[str, list[str]]) -> None:
    ground = grounded(cable(catalogue, "graphics-8", source))
    told = tuple(SENSE_OF_8[name] in ground for name in ("Sense1", "Sense0"))
    assert TABLE_5_6[told[0], told[1]] == 150


def test_every_8_position_cable_of_a_shipped_layout_tells_150_w(catalogue: Catalogue) -> None:
    told = set()
    for layout_id in catalogue.supplies:
        build = edits.choose_supply(Build("Test"), catalogue, layout_id)
        for run in plan(edits.add_parts(build, catalogue, "graphics-8", 1, ""), catalogue).runs:
            ground = grounded(run)
            told.add(TABLE_5_6["4" in ground, "6" in ground])
    assert told == {150}


def test_the_6_position_cable_grounds_its_sense_and_tells_75_w(catalogue: Catalogue) -> None:
    # Table 5-4: Sense must be grounded. Its plug has no Sense1, so the card reads table 5-6 with Sense1 open.
    ground = grounded(cable(catalogue, "graphics-6", ("p42-6-plug", ["+12V"] * 3 + ["COM"] * 3)))
    assert TABLE_5_6[False, SENSE_OF_6["Sense"] in ground] == 75


def test_the_reserved_row_of_the_table_is_never_planned(catalogue: Catalogue) -> None:
    # Table 5-6: Sense1 grounded while Sense0 is open is reserved. Whatever the order of nets in the port, none does it.
    for first, last in product(range(4), range(4, 8)):
        nets = ["+12V"] * 4 + ["COM"] * 4
        nets[first], nets[last] = nets[last], nets[first]
        ground = grounded(cable(catalogue, "graphics-8", ("p42-8g-plug", nets)))
        assert ("4" in ground, "6" in ground) in TABLE_5_6


def test_twelve_plus_four_from_two_plain_ports_grounds_both_sense_lines(catalogue: Catalogue) -> None:
    # From memory: SENSE0 and SENSE1 both on ground mean 600 W. The ports have no sense lines of their own.
    run = cable(catalogue, "graphics-12-4", EIGHT, ("p42-8g-plug", ["+12V"] * 4 + ["COM"] * 4))
    assert set(SENSE_OF_12_4.values()) <= grounded(run)


def test_twelve_plus_four_from_a_native_port_leaves_the_sense_lines_to_the_supply(catalogue: Catalogue) -> None:
    # Design guide 336521 rev 2.1a, "SENSE0 and SENSE1": a supply grounds its lines or leaves them open.
    pins = [PortPin(str(i), "+12V" if i <= 6 else "COM") for i in range(1, 13)]
    pins += [PortPin(cavity, net) for cavity, net in (("S1", ""), ("S2", ""), ("S3", "SENSE0"), ("S4", "SENSE1"))]
    native = Port("a", "12+4", "p30-16-plug", ("graphics",), tuple(pins))
    run = first_run(with_layout(catalogue, layout(native)), "graphics-12-4")
    sense = {w.target.cavity: w.net for w in run.wires if w.target.cavity in ("S3", "S4")}
    assert sense == {"S3": "SENSE0", "S4": "SENSE1"}
