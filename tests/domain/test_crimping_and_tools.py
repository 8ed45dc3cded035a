"""How contacts are crimped, and the tools that a build asks for.

Expected values: the shipped tables of contacts and crimps, and counts by hand.
"""

from dataclasses import replace

import pytest

from server.domain.model.build import Build, SharedChoice
from server.domain.model.catalogue import Catalogue
from server.domain.plan import plan
from tests.domain.length_scenes import Case, chain, cpu, fork, graphics_8, planned, run_of, with_allowances, with_finish
from tests.domain.scenes import built

B_FORM = "open barrel, B form, nest for "
IRON = "soldering iron"
HEAT = "heat source"


def uses(case: Case) -> dict[tuple[str, tuple[int, ...]], tuple[float, str, int]]:
    """Strip length, die and count by contact and gauges."""
    return {(use.contact, use.gauges): (use.strip_mm, use.die, use.count) for use in run_of(case).crimps}


def has(case: Case, word: str) -> bool:
    return any(word in tool for tool in planned(case).tools)


def spliced(catalogue: Catalogue) -> Case:
    cavity = run_of(graphics_8(catalogue)).offers[0].cavity
    return graphics_8(catalogue, shared=(SharedChoice("supply", "G1", cavity, "splice"),))


def thinned(catalogue: Catalogue) -> Case:
    """Two wires that do not fit together, because the builder says so."""
    cavity = run_of(graphics_8(catalogue)).offers[0].cavity
    return graphics_8(catalogue, shared=(SharedChoice("supply", "G1", cavity, "thinner"),))


# ---- crimps ---------------------------------------------------------------------------------------------------------


def test_sixteen_alike_contacts_are_one_line_with_strip_length_and_die(catalogue: Catalogue) -> None:
    # Shipped table: 16 AWG in its contact: 3.5 mm, nest for 16 AWG. By hand: eight wires with two ends each.
    assert uses(cpu(catalogue)) == {("p42-socket-16", (16,)): (3.5, B_FORM + "16 AWG", 16)}


def test_each_gauge_has_its_own_strip_length_and_nest(catalogue: Catalogue) -> None:
    # By hand: seven 18 AWG wires, one 22 AWG that shares the contact of one of them: 7 + 6 single, 1 single, 1 double.
    # 18 and 22 AWG are 0.87 + 0.34 = 1.21 mm2 of copper: the contact and nest of 16 AWG, 1.32 mm2.
    assert uses(with_finish(graphics_8(catalogue), awg=18)) == {
        ("p42-socket-18", (18,)): (3.3, B_FORM + "18 to 20 AWG", 13),
        ("p42-socket-18", (22,)): (3.0, B_FORM + "22 to 24 AWG", 1),
        ("p42-socket-16", (18, 22)): (3.5, B_FORM + "16 AWG", 1),
    }


def test_two_wires_too_thick_together_have_no_die(catalogue: Catalogue) -> None:
    # By hand: 16 and 22 AWG are 1.66 mm2, and the thickest gauge that the contact takes has 1.32 mm2.
    assert uses(thinned(catalogue))["p42-socket-16", (16, 22)][1:] == ("", 1)


def test_a_pair_of_which_one_wire_is_not_listed_is_not_crimped_as_the_other_alone(catalogue: Catalogue) -> None:
    # Property: nothing is known of the pair's copper, so that no nest can be named for it.
    build, known = with_finish(graphics_8(catalogue), awg=18)
    wires = {name: wire for name, wire in known.wires.items() if wire.awg != 22}
    found = uses((build, replace(known, wires=wires)))
    assert [die for (_, gauges), (_, die, _) in found.items() if gauges == (18, 22)] == [""]


def test_a_strip_length_set_by_hand_holds_for_its_contact(catalogue: Catalogue) -> None:
    case = with_allowances(cpu(catalogue), strip_mm={"p42-socket-16": 4.2})
    assert uses(case)["p42-socket-16", (16,)][0] == 4.2


def test_a_pressed_wire_is_not_stripped_and_wants_the_press_of_its_plug(catalogue: Catalogue) -> None:
    # By hand: four wires through three plugs.
    found = uses(chain(catalogue, ["sata-15"] * 3, 100, 150))
    assert found["satad-blade", (18,)] == (0, "press block for the SATA power plug", 12)


def test_a_contact_that_hands_a_chain_on_is_crimped_with_both_wires(catalogue: Catalogue) -> None:
    # By hand: two plugs of four contacts; those of the first hold the wire in and the wire onward. 2 x 0.87 = 1.74 mm2
    # is more than 16 AWG and less than 14 AWG, which that contact takes.
    found = uses(chain(catalogue, ["peripheral-4"] * 2, 100))
    nest = "open barrel, B form, 5.08 mm contacts, nest for "
    assert {key: use for key, use in found.items() if key[0] == "p508-socket"} == {
        ("p508-socket", (18,)): (4.0, nest + "18 to 20 AWG", 4),
        ("p508-socket", (18, 18)): (4.0, nest + "14 to 16 AWG", 4),
    }


def test_a_reworked_cable_is_crimped_at_the_part_end_only(catalogue: Catalogue) -> None:
    case = graphics_8(catalogue, method="rework", own_cable_mm=600.0)
    assert {contact: count for (contact, _), (_, _, count) in uses(case).items()} == {"p42-socket-16": 8}


def test_an_extension_has_pins_on_one_side_and_sockets_on_the_other(catalogue: Catalogue) -> None:
    case = graphics_8(catalogue, method="extension", own_cable_mm=600.0)
    assert {contact: count for (contact, _), (_, _, count) in uses(case).items()} == {
        "p42-pin-16": 8,
        "p42-socket-16": 8,
    }


# ---- tools ----------------------------------------------------------------------------------------------------------


def test_a_crimped_cable_asks_for_its_stripper_die_and_extractor(catalogue: Catalogue) -> None:
    tools = planned(cpu(catalogue)).tools
    assert "wire stripper for 16 AWG" in tools
    assert f"{B_FORM}16 AWG (4.2 mm socket: 16 AWG)" in tools
    assert [tool for tool in tools if "extractor" in tool] == ["two-prong extractor for 4.2 mm contacts"]


def test_a_stripper_is_named_for_every_gauge_that_is_stripped(catalogue: Catalogue) -> None:
    assert has(with_finish(graphics_8(catalogue), awg=18), "wire stripper for 18 AWG, 22 AWG")


def test_a_missing_die_is_said_in_the_list(catalogue: Catalogue) -> None:
    assert has(thinned(catalogue), "none is listed (4.2 mm socket: 16 AWG and 22 AWG)")


def test_nothing_for_soldering_is_listed_unless_something_is_soldered(catalogue: Catalogue) -> None:
    assert (has(thinned(catalogue), IRON), has(spliced(catalogue), IRON)) == (False, True)


def test_a_bridge_is_crimped_and_not_soldered(catalogue: Catalogue) -> None:
    cavity = run_of(graphics_8(catalogue)).offers[0].cavity
    assert not has(graphics_8(catalogue, shared=(SharedChoice("supply", "G1", cavity, "jumper"),)), IRON)


def test_a_rework_that_is_long_enough_needs_no_iron_and_a_short_one_does(catalogue: Catalogue) -> None:
    found = [has(graphics_8(catalogue, method="rework", own_cable_mm=own), IRON) for own in (600.0, 300.0)]
    assert found == [False, True]


def test_a_press_is_listed_for_displacement_plugs_only(catalogue: Catalogue) -> None:
    pressed, crimped = chain(catalogue, ["sata-15"]), chain(catalogue, ["peripheral-4"])
    assert (has(pressed, "press block for the SATA power plug"), has(crimped, "press block")) == (True, False)


def test_extractors_are_those_of_the_crimped_families_alone(catalogue: Catalogue) -> None:
    # Shipped table: nothing can be freed from a displacement plug.
    extractors = [
        [tool for tool in planned(chain(catalogue, [inlet])).tools if "extractor" in tool]
        for inlet in ("sata-15", "peripheral-4")
    ]
    power = "two-prong extractor for 4.2 mm contacts"
    assert extractors == [[power], ["tube extractor for 5.08 mm peripheral contacts", power]]


def test_bare_wires_need_neither_heat_nor_a_hot_knife(catalogue: Catalogue) -> None:
    bare = with_finish(cpu(catalogue), sleeve="")
    assert (has(bare, HEAT), has(bare, "hot knife"), has(cpu(catalogue), HEAT)) == (False, False, True)


def test_loose_sleeve_ends_need_no_heat(catalogue: Catalogue) -> None:
    loose = with_finish(cpu(catalogue), sleeve_end="loose")
    assert (has(loose, HEAT), has(loose, "hot knife")) == (False, True)


def test_the_joint_of_bare_wires_still_needs_heat(catalogue: Catalogue) -> None:
    assert has(with_finish(spliced(catalogue), sleeve=""), HEAT)


@pytest.mark.parametrize(("sleeve_end", "needed"), [("melted", True), ("shrink", False), ("loose", False)])
def test_tubes_taken_off_warm_need_something_to_hold_them_with(
    catalogue: Catalogue, sleeve_end: str, needed: bool
) -> None:
    assert has(with_finish(cpu(catalogue), sleeve_end=sleeve_end), "while it is warm") == needed


def test_every_wire_is_metered(catalogue: Catalogue) -> None:
    assert has(cpu(catalogue), "multimeter")


def test_eye_protection_stands_first_of_all(catalogue: Catalogue) -> None:
    assert planned(cpu(catalogue)).tools[0].startswith("eye protection")


def test_tap_marks_ask_for_a_marker_and_nothing_else_does(catalogue: Catalogue) -> None:
    marked, plain = chain(catalogue, ["sata-15"] * 2, 100), cpu(catalogue)
    assert (has(marked, "shows on dark wire"), has(plain, "shows on dark wire")) == (True, False)


def test_crimps_are_pulled_with_a_spring_scale(catalogue: Catalogue) -> None:
    build, known = cpu(catalogue)
    assert (has((build, known), "spring scale"), has((replace(build, runs=()), known), "spring scale")) == (True, False)


def test_a_build_without_runs_asks_for_no_tools(catalogue: Catalogue) -> None:
    assert plan(Build("Test"), catalogue).tools == ()


def test_no_tool_is_listed_twice(catalogue: Catalogue) -> None:
    tools = plan(
        built(catalogue, "split-14-10", [("board-small", 1), ("graphics-8", 1), ("drive-sata", 3)]), catalogue
    ).tools
    assert len(tools) == len(set(tools))


# ---- operations -----------------------------------------------------------------------------------------------------


def counted(case: Case) -> dict[str, int]:
    return {row.operation: row.count for row in planned(case).estimate.labour}


def test_the_operations_of_a_pressed_chain_are_counted_by_hand(catalogue: Catalogue) -> None:
    # By hand: four wires, one crimped end each, two plugs to press into; two pieces of sleeve a wire; two caps.
    assert counted(chain(catalogue, ["sata-15"] * 2, 100)) == {
        "cut": 4, "strip": 4, "crimp": 4, "insert": 4, "displace": 8, "cap": 2, "sleeve_end": 16, "shrink": 16,
        "test": 4,
    }  # fmt: skip


def test_a_splice_strips_both_wires_and_saves_a_crimp(catalogue: Catalogue) -> None:
    # By hand: eight wires, fifteen crimped ends and as many contacts; two strips at the joint.
    found = counted(spliced(catalogue))
    assert (found["crimp"], found["strip"], found["solder"]) == (15, 17, 1)


def test_a_fork_is_crimped_like_two_cables(catalogue: Catalogue) -> None:
    # By hand: eight wires, sixteen ends.
    found = counted(fork(catalogue, 2))
    assert (found["cut"], found["crimp"], found["strip"]) == (8, 16, 16)
