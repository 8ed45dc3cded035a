"""Wires put by hand, cavities forbidden, contacts shared, and the three ways to build a run."""

from dataclasses import replace
from decimal import Decimal

import pytest

from server.domain import by_hand, edits
from server.domain.errors import InvalidInputError
from server.domain.model.build import SUPPLY, Build, Forbidden, Pinned, PlugRef, Route, RunFinish, SharedChoice
from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import MethodFigures, RunPlan
from server.domain.plan import plan, three_ways
from tests.domain.scenes import built, layout, port, with_layout

FOUR_AND_FOUR = ["+12V", "+12V", "+12V", "+12V", "COM", "COM", "COM", "COM"]


def scene(catalogue: Catalogue, nets: list[str], recipe: str, length: float = 400) -> tuple[Build, Catalogue]:
    """One inlet on one 8-position port, measured."""
    own = with_layout(catalogue, layout(port("G1", "p42-8g-plug", ["graphics", "cpu"], nets)))
    build = built(own, "test", [(recipe, 1)])
    return edits.change_run(build, "r1", route=Route(length_mm=length)), own


def first(build: Build, catalogue: Catalogue) -> RunPlan:
    return plan(build, catalogue).runs[0]


def pinned(build: Build, catalogue: Catalogue, *pins: tuple[str, str]) -> Build:
    made = tuple(Pinned(cavity, SUPPLY, "G1", source) for cavity, source in pins)
    return by_hand.set_pins(build, catalogue, "r1", made, ())


def source_of(run: RunPlan, cavity: str) -> str:
    return next(w.source.cavity for w in run.wires if w.target.cavity == cavity)


def messages(error: pytest.ExceptionInfo[InvalidInputError]) -> dict[str, str]:
    return {problem.field: problem.message for problem in error.value.problems}


# ---- pins and bans --------------------------------------------------------------------------------------------------


def test_a_pinned_wire_starts_where_it_was_put_and_the_rest_is_solved_around_it(catalogue: Catalogue) -> None:
    build, own = scene(catalogue, FOUR_AND_FOUR, "graphics-8")
    was = source_of(first(build, own), "1")
    other = next(c for c in ("1", "2", "3", "4") if c != was)
    run = first(pinned(build, own, ("1", other)), own)
    assert source_of(run, "1") == other
    assert len(run.wires) == 8


def test_a_pin_that_costs_nothing_says_zero(catalogue: Catalogue) -> None:
    build, own = scene(catalogue, FOUR_AND_FOUR, "graphics-8")
    run = first(build, own)
    kept = first(pinned(build, own, ("1", source_of(run, "1"))), own)
    assert [(c.doubles, c.crossings) for c in kept.pin_costs] == [(0, 0)]


def test_a_pin_tells_the_crossings_it_costs(catalogue: Catalogue) -> None:
    # By hand: two +12V and two COM, each net in a row of its own. With one pair turned and the other held straight one
    # pair crosses, whichever way the latch lies; with only one pair held, turning the plug over undoes it.
    own = with_layout(catalogue, layout(port("G1", "p42-4-plug", ["cpu"], ["COM", "COM", "+12V", "+12V"])))
    build = edits.choose_supply(Build(name="Test"), own, "test")
    build = edits.add_custom_part(build, own, "other", "CPU 4", ("cpu-4",), "")
    run_id, before = "r1", first(build, own)
    straight = {w.target.cavity: w.source.cavity for w in before.wires}
    swapped = {"1": straight["1"], "2": straight["2"], "3": straight["4"], "4": straight["3"]}
    pins = tuple(Pinned(c, SUPPLY, "G1", s) for c, s in swapped.items())
    after = first(by_hand.set_pins(build, own, run_id, pins, ()), own)
    assert (before.crossings, after.crossings, after.doubles) == (0, 1, 0)


def test_two_pins_on_one_contact_cost_a_double(catalogue: Catalogue) -> None:
    build, own = scene(catalogue, FOUR_AND_FOUR, "graphics-8")
    run = first(pinned(build, own, ("1", "1"), ("2", "1")), own)
    # By hand: eight wires, 4 + 4 contacts; one COM double stands anyway, the +12V pair adds one.
    assert run.doubles == 2
    assert {c.doubles for c in run.pin_costs} == {1}


def test_a_pin_to_an_unequal_net_is_refused_with_the_rule(catalogue: Catalogue) -> None:
    build, own = scene(catalogue, FOUR_AND_FOUR, "graphics-8")
    with pytest.raises(InvalidInputError) as error:
        pinned(build, own, ("1", "5"))
    assert messages(error) == {"runs.r1.pins.1": "cavity 5 carries COM, not +12V: only equal nets meet"}


def test_a_third_pin_on_one_contact_is_refused(catalogue: Catalogue) -> None:
    build, own = scene(catalogue, FOUR_AND_FOUR, "graphics-8")
    with pytest.raises(InvalidInputError) as error:
        pinned(build, own, ("1", "1"), ("2", "1"), ("3", "1"))
    assert messages(error) == {"runs.r1.pins.3": "contact 1 would hold more than 2 wires"}


@pytest.mark.parametrize(("cavity", "source"), [("9", "1"), ("1", "99")])
def test_a_pin_to_nowhere_is_refused_beside_its_cavity(catalogue: Catalogue, cavity: str, source: str) -> None:
    build, own = scene(catalogue, FOUR_AND_FOUR, "graphics-8")
    with pytest.raises(InvalidInputError) as error:
        pinned(build, own, (cavity, source))
    assert list(messages(error)) == [f"runs.r1.pins.{cavity}"]


def test_a_forbidden_cavity_is_left_empty(catalogue: Catalogue) -> None:
    build, own = scene(catalogue, FOUR_AND_FOUR, "graphics-8")
    after = by_hand.set_pins(build, own, "r1", (), (Forbidden(SUPPLY, "G1", "2"),))
    run = first(after, own)
    assert "2" not in {w.source.cavity for w in run.wires}
    assert (0, "2") not in run.spare_cavities


def test_forbidding_what_the_part_needs_is_refused_with_the_count(catalogue: Catalogue) -> None:
    build, own = scene(catalogue, FOUR_AND_FOUR, "graphics-8")
    banned = tuple(Forbidden(SUPPLY, "G1", c) for c in ("1", "2", "3"))
    with pytest.raises(InvalidInputError) as error:
        by_hand.set_pins(build, own, "r1", (), banned)
    # By hand: three +12V wires on one contact that holds two.
    assert messages(error) == {"runs.r1.forbidden": "then 3 wires want +12V and only 1 contacts may give it"}


def test_a_pin_that_a_new_layout_makes_impossible_stops_the_work_and_is_left_out(catalogue: Catalogue) -> None:
    build, own = scene(catalogue, FOUR_AND_FOUR, "graphics-8")
    build = pinned(build, own, ("1", "1"))
    turned = with_layout(own, layout(port("G1", "p42-8g-plug", ["graphics"], [*FOUR_AND_FOUR[4:], *FOUR_AND_FOUR[:4]])))
    found = plan(build, turned)
    assert ("stop", "pin_impossible") in {(f.severity, f.code) for f in found.findings}
    assert len(found.runs[0].wires) == 8


def test_pins_go_when_the_run_moves_to_another_port(catalogue: Catalogue) -> None:
    ports = [port(p, "p42-8g-plug", ["graphics"], FOUR_AND_FOUR) for p in ("G1", "G2")]
    own = with_layout(catalogue, layout(*ports))
    build = pinned(built(own, "test", [("graphics-8", 1)]), own, ("1", "1"))
    assert edits.run_of(edits.move_run(build, own, "r1", ((SUPPLY, "G2"),)), "r1").pins == ()


# ---- both latch ways and the plain wiring ---------------------------------------------------------------------------


def test_both_latch_ways_are_told_and_the_better_one_is_taken(catalogue: Catalogue) -> None:
    build, own = scene(catalogue, FOUR_AND_FOUR, "graphics-8")
    run = first(build, own)
    assert [way.latch_down for way in run.latch_ways] == [False, True]
    assert run.crossings == min((way.doubles, way.crossings) for way in run.latch_ways)[1]


def test_the_planned_wiring_is_never_worse_than_cavity_by_cavity(catalogue: Catalogue) -> None:
    found = plan(built(catalogue, "shared-8", [("board-large", 1), ("graphics-3x8", 2)]), catalogue)
    for run in found.runs:
        if run.plain is not None:
            assert (run.doubles, run.crossings) <= (run.plain.doubles, max(run.plain.crossings, run.crossings))


# ---- shared contacts ------------------------------------------------------------------------------------------------


def shared_place(run: RunPlan) -> tuple[str, str, str]:
    offer = run.offers[0]
    return offer.part, offer.socket, offer.cavity


def offer_of(run: RunPlan, remedy: str):
    return next(offer for offer in run.offers if offer.remedy == remedy)


def test_the_offers_stand_in_the_order_of_preference(catalogue: Catalogue) -> None:
    build, own = scene(catalogue, FOUR_AND_FOUR, "graphics-8")
    assert [o.remedy for o in first(build, own).offers] == ["free_cavity", "thinner", "jumper", "splice", "as_is"]


def test_two_16_awg_wires_do_not_go_into_one_contact_as_they_are(catalogue: Catalogue) -> None:
    build, own = scene(catalogue, FOUR_AND_FOUR, "graphics-8")
    offer = offer_of(first(build, own), "as_is")
    # By hand: 2 x 1.32 = 2.64 mm2 where 16 AWG, 1.32 mm2, is the most the contact takes.
    assert not offer.possible
    assert "2.64 of 1.32 mm2" in offer.reason


def test_a_splice_leaves_one_wire_in_the_contact(catalogue: Catalogue) -> None:
    build, own = scene(catalogue, FOUR_AND_FOUR, "graphics-8")
    place = shared_place(first(build, own))
    run = first(by_hand.set_shared(build, "r1", place, "splice"), own)
    assert [(j.kind, j.distance_mm, j.at_source) for j in run.joints] == [("splice", 40.0, True)]
    assert all(not w.source.shared_with for w in run.wires)
    spliced = next(w for w in run.wires if not w.source.crimped)
    # By hand: 400 - 40 along the route, 8 in the part's housing, 5 for one crimp again and 10 overlap:
    # 383, in steps of 5: 385.
    assert spliced.cut_mm == 385


def test_a_sense_line_may_be_bridged_from_its_neighbour_at_the_part_end(catalogue: Catalogue) -> None:
    build, own = scene(catalogue, FOUR_AND_FOUR, "graphics-8")
    build = edits.change_run(build, "r1", finish=RunFinish(awg=18))
    place = shared_place(first(build, own))
    run = first(by_hand.set_shared(build, "r1", place, "jumper"), own)
    (bridge,) = (j for j in run.joints if j.kind == "jumper")
    wire = next(w for w in run.wires if w.label in bridge.labels)
    # By hand: 30 mm between the two, 8 mm in each contact, 10 mm reserve: 56, in steps of 5: 60.
    assert (wire.net, wire.cut_mm, wire.source_at_end) == ("COM", 60, True)
    assert all(not w.source.shared_with for w in run.wires if not w.source_at_end)


def test_a_loaded_wire_is_never_bridged(catalogue: Catalogue) -> None:
    nets = ["+12V", "+12V", "", "", "COM", "COM", "COM", "COM"]
    build, own = scene(catalogue, nets, "graphics-8")
    pair = [o for o in first(build, own).offers if o.remedy == "jumper" and {"1-01", "1-02", "1-03"} & set(o.labels)]
    assert pair
    assert not any(o.possible for o in pair)


# ---- three ways to build --------------------------------------------------------------------------------------------


def ways(build: Build, catalogue: Catalogue) -> dict[str, MethodFigures]:
    return {figures.method: figures for figures in three_ways(build, catalogue, "r1")}


def test_scratch_rework_and_extension_stand_side_by_side(catalogue: Catalogue) -> None:
    build, own = scene(catalogue, FOUR_AND_FOUR, "graphics-8")
    found = ways(build, own)
    assert list(found) == ["scratch", "rework", "extension"]
    assert [method for method, figures in found.items() if figures.chosen] == ["scratch"]


def test_an_extension_has_the_mating_half_and_a_wire_for_every_cavity(catalogue: Catalogue) -> None:
    build, own = scene(catalogue, FOUR_AND_FOUR, "graphics-8")
    run = first(by_hand.set_method(build, own, "r1", "extension", 500), own)
    assert run.sources[0].housing == "p42-8g-mate"
    assert {own.contacts[w.source.contact].gender for w in run.wires} == {"pin"}
    # Straight through: cavity to the same cavity, nothing crosses, nothing is doubled.
    assert all(w.source.cavity == w.target.cavity for w in run.wires)
    assert (run.crossings, run.doubles) == (0, 0)


def test_a_rework_within_the_own_cables_length_buys_no_wire(catalogue: Catalogue) -> None:
    build, own = scene(catalogue, FOUR_AND_FOUR, "graphics-8")
    after = by_hand.set_method(build, own, "r1", "rework", 650)
    found = plan(after, own)
    run = found.runs[0]
    assert {w.cut_mm for w in run.wires} == {None}
    assert not any(buy.kind == "wire" for buy in found.buys)
    # By hand: eight contacts at the part end, none at the supply end, no joint.
    assert (ways(after, own)["rework"].contacts, ways(after, own)["rework"].joints) == (8, 0)


def test_a_rework_beyond_the_own_cables_length_solders_a_piece_on(catalogue: Catalogue) -> None:
    build, own = scene(catalogue, FOUR_AND_FOUR, "graphics-8")
    run = first(by_hand.set_method(build, own, "r1", "rework", 300), own)
    # By hand: 400 + 8 + 8 + 5 for one crimp again at the part end = 421, in steps of 5: 425; 425 - 300 + 10 overlap is
    # 135.
    assert {(w.own_mm, w.cut_mm) for w in run.wires} == {(300, 135)}
    assert [j.kind for j in run.joints] == ["solder_on"] * 8


def test_the_resistance_of_a_new_cable_is_wire_and_two_contact_pairs_out_and_back(catalogue: Catalogue) -> None:
    build, own = scene(catalogue, FOUR_AND_FOUR, "graphics-8")
    # By hand: (416 mm x 15.6 ohm/km + 2 x 10 mohm) x 2 = (6.49 + 20) x 2 = 52.98 mohm.
    assert ways(build, own)["scratch"].added_mohm == pytest.approx(52.98, abs=0.01)


def test_an_extension_adds_a_contact_pair_and_the_own_cable(catalogue: Catalogue) -> None:
    build, own = scene(catalogue, FOUR_AND_FOUR, "graphics-8")
    build = edits.change_run(build, "r1", own_cable_mm=500.0)
    # By hand, both plugs being 8 mm deep: ((416 + 500) x 0.0156 + 3 x 10) x 2 = 88.58.
    assert ways(build, own)["extension"].added_mohm == pytest.approx(88.58, abs=0.01)


def test_a_chain_is_not_reworked(catalogue: Catalogue) -> None:
    build = built(catalogue, "one-24", [("drive-sata", 2)])
    with pytest.raises(InvalidInputError) as error:
        by_hand.set_method(build, catalogue, "r1", "rework", 500)
    assert list(messages(error)) == ["runs.r1.method"]


def test_a_fan_run_from_a_header_is_no_extension_of_the_supplys_cable(catalogue: Catalogue) -> None:
    build = built(catalogue, "one-24", [("board-small", 1), ("fan-4", 1)])
    run_id = next(r.id for r in build.runs if r.ends[0].part == "p2")
    with pytest.raises(InvalidInputError):
        by_hand.set_method(build, catalogue, run_id, "extension", 500)


def test_lists_and_tools_follow_the_method(catalogue: Catalogue) -> None:
    build, own = scene(catalogue, FOUR_AND_FOUR, "graphics-8")
    found = plan(by_hand.set_method(build, own, "r1", "rework", 300), own)
    assert any("soldering iron" in tool for tool in found.tools)
    assert {line.operation: line.count for line in found.estimate.labour}["solder"] == 8
    # One housing, the part's: the supply end is the factory's.
    assert [buy.needed for buy in found.buys if buy.kind == "housing"] == [1]


def test_scratch_and_rework_differ_in_minutes_by_their_operations(catalogue: Catalogue) -> None:
    build, own = scene(catalogue, FOUR_AND_FOUR, "graphics-8")
    build = edits.change_run(build, "r1", own_cable_mm=650.0, finish=RunFinish(awg=18))
    found = ways(build, own)
    # By hand, minutes of the labour table: rework crimps, strips and inserts 7 supply-end contacts (8 wires) fewer,
    # and frees 8 contacts: 8 x 0.5 - (8 x 0.3 + 7 x 0.6 + 7 x 0.3) = 4.0 - 8.7.
    assert found["rework"].minutes - found["scratch"].minutes == Decimal("-4.7")


def test_a_method_that_is_no_longer_possible_is_planned_as_a_new_cable_and_told(catalogue: Catalogue) -> None:
    build = built(catalogue, "one-24", [("drive-sata", 2)])
    forced = replace(build, runs=(replace(build.runs[0], method="rework"),))
    found = plan(forced, catalogue)
    assert found.runs[0].method == "scratch"
    assert "method_refused" in {f.code for f in found.findings}


def test_a_bridged_wire_no_longer_crosses_in_the_ribbon(catalogue: Catalogue) -> None:
    # By hand: a port whose +12V and COM alternate makes crossings; without one COM wire there can only be fewer.
    nets = ["COM", "+12V", "COM", "+12V", "+12V", "COM", "+12V", "COM"]
    build, own = scene(catalogue, nets, "graphics-8")
    build = edits.change_run(build, "r1", finish=RunFinish(awg=18))
    before = first(build, own)
    after = first(by_hand.set_shared(build, "r1", shared_place(before), "jumper"), own)
    (bridge,) = (j for j in after.joints if j.kind == "jumper")
    gone = next(w for w in before.wires if w.target.cavity == bridge.cavity)
    assert after.crossings <= before.crossings
    assert gone.label in bridge.labels


def test_a_bridge_is_told_of_at_the_part_end(catalogue: Catalogue) -> None:
    build, own = scene(catalogue, FOUR_AND_FOUR, "graphics-8")
    build = edits.change_run(build, "r1", finish=RunFinish(awg=18))
    run = first(by_hand.set_shared(build, "r1", shared_place(first(build, own)), "jumper"), own)
    told = [note for note in run.notes if "takes two wires" in note]
    assert told
    assert all("at the part end" in note for note in told)


def test_thinner_wire_that_is_still_too_thick_is_spliced_unless_the_builder_says_otherwise(
    catalogue: Catalogue,
) -> None:
    build, own = scene(catalogue, FOUR_AND_FOUR, "graphics-8")
    assert (offer_of(first(build, own), "splice").chosen, offer_of(first(build, own), "splice").possible) == (
        True,
        True,
    )
    cavity = offer_of(first(build, own), "thinner").cavity
    build = edits.change_run(build, "r1", shared=(SharedChoice(SUPPLY, "G1", cavity, "thinner"),))
    run = first(build, own)
    # By hand: 16 and 22 AWG are 1.32 + 0.34 = 1.66 mm2 where the contact takes 1.32 mm2.
    assert (offer_of(run, "thinner").possible, offer_of(run, "thinner").chosen) == (False, True)
    assert "double_tight" in {f.code for f in plan(build, own).findings}


def test_a_ban_that_starves_the_plugs_of_a_fork_together_is_refused(catalogue: Catalogue) -> None:
    # By hand: two COM contacts hold four wires, one holds two; each plug wants two, and alone it would have enough.
    own = with_layout(catalogue, layout(port("G1", "p42-8c-plug", ["cpu"], ["+12V"] * 4 + ["COM", "COM", "", ""])))
    build = edits.choose_supply(Build(name="Test"), own, "test")
    for name in ("One", "Two"):
        build = edits.add_custom_part(build, own, "other", name, ("cpu-4",), "both")
    build = replace(build, runs=(replace(build.runs[0], ends=(PlugRef("p1", "s1"), PlugRef("p2", "s1"))),))
    build = edits.set_branching(build, "r1", "fork")
    with pytest.raises(InvalidInputError) as error:
        by_hand.set_pins(build, own, "r1", (), (Forbidden(SUPPLY, "G1", "5"),))
    assert messages(error) == {"runs.r1.forbidden": "then 4 wires want COM and only 1 contacts may give it"}
