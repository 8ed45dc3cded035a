"""Which runs are proposed, from which ports, and why an inlet stays unfed. Expected: the rules, worked by hand."""

from dataclasses import replace

import pytest
from hypothesis import given

from server.domain import edits
from server.domain.model.build import SUPPLY, Build, PlugRef, Route, RunFinish
from server.domain.model.catalogue import Catalogue
from server.domain.plan import plan
from server.domain.proposing import places_by_run, propose, unfed_inlets, why_unfed
from server.domain.recipes import RECIPES
from tests.domain.random_builds import builds
from tests.domain.scenes import built, examples, layout, port, run_id_to, run_to, with_layout

CPU_NETS = ["COM"] * 4 + ["+12V"] * 4
EIGHTS = ["+12V"] * 4 + ["COM"] * 4


def sources(build: Build, part: str, socket: str) -> list[str]:
    run = next(run for run in build.runs if PlugRef(part, socket) in run.ends)
    return [source.socket for source in run.sources]


def test_every_inlet_that_a_port_can_feed_gets_a_run(catalogue: Catalogue) -> None:
    build = built(catalogue, "one-24", [("board-small", 1), ("graphics-8", 1), ("drive-sata", 1)])
    assert unfed_inlets(build, catalogue) == ()


def test_a_port_that_is_in_use_is_not_proposed_again(catalogue: Catalogue) -> None:
    build = built(catalogue, "one-24", [("graphics-3x8", 1)])
    assert sorted(sources(build, "p1", f"power{n}")[0] for n in (1, 2, 3)) == ["G1", "G2", "G3"]


def test_inlets_beyond_the_ports_are_told_with_the_ports_in_use(catalogue: Catalogue) -> None:
    build = built(catalogue, "one-24", [("graphics-3x8", 1), ("graphics-8", 1)])
    reason = why_unfed(PlugRef("p2", "power1"), build, catalogue)
    assert all(name in reason for name in ("in use", "Graphics 1", "Graphics 2", "Graphics 3"))


def test_an_inlet_waits_until_a_supply_is_chosen(catalogue: Catalogue) -> None:
    build = edits.add_parts(Build(name="Test"), catalogue, "graphics-8", 1, "")
    assert (build.runs, "no supply" in why_unfed(PlugRef("p1", "power1"), build, catalogue)) == ((), True)


def test_a_supply_without_such_a_port_is_told(catalogue: Catalogue) -> None:
    own = with_layout(catalogue, layout(port("C1", "p42-8c-plug", ["cpu"], CPU_NETS)))
    build = built(own, "test", [("drive-sata", 1)])
    assert "no port of this supply feeds" in why_unfed(PlugRef("p1", "power"), build, own)


def test_a_net_that_the_free_ports_carry_too_little_of_is_told_with_its_numbers(catalogue: Catalogue) -> None:
    # By hand: four +12V wanted; one contact carries it.
    own = with_layout(catalogue, layout(port("C1", "p42-8c-plug", ["cpu"], ["COM"] * 7 + ["+12V"])))
    build = edits.add_custom_part(Build(name="Test", supply="test"), own, "board", "Board", ("cpu-8",), "")
    assert "+12V (4 wires, 1 contacts)" in why_unfed(PlugRef("p1", "s1"), build, own)


def test_a_fan_is_fed_from_a_board_and_not_from_the_supply(catalogue: Catalogue) -> None:
    build = built(catalogue, "one-24", [("board-small", 1), ("fan-4", 1)])
    run = next(run for run in build.runs if run.ends[0].part == "p2")
    assert [source.part for source in run.sources] == ["p1"]


def test_a_fan_without_a_free_header_waits_for_one(catalogue: Catalogue) -> None:
    own = with_layout(catalogue, layout(port("C1", "p42-8c-plug", ["cpu"], CPU_NETS)))
    build = built(own, "test", [("fan-4", 1)])
    assert "header" in why_unfed(PlugRef("p1", "lead"), build, own)


def test_a_hub_never_feeds_itself(catalogue: Catalogue) -> None:
    build = built(catalogue, "one-24", [("fan-hub", 1)])
    assert sources(build, "p1", "power") != []
    assert all(source.part == SUPPLY for run in build.runs for source in run.sources)


def test_more_fans_than_headers_are_left_over_with_the_reason(catalogue: Catalogue) -> None:
    # By hand: the small board has three fan headers, and no port of this supply is meant for fans.
    own = with_layout(catalogue, layout(port("C1", "p42-8c-plug", ["cpu"], CPU_NETS)))
    build = built(own, "test", [("board-small", 1), ("fan-4", 4)])
    assert "every header" in why_unfed(PlugRef("p5", "lead"), build, own)


def test_up_to_four_drives_share_a_chain(catalogue: Catalogue) -> None:
    # Common practice; by hand: six drives are a chain of four and one of two.
    build = built(catalogue, "six-peripheral", [("drive-sata", 6)])
    assert [len(run.ends) for run in build.runs] == [4, 2]


def test_ports_meant_for_the_use_are_taken_before_ports_meant_for_another(catalogue: Catalogue) -> None:
    ports = (port("A", "p42-8c-plug", ["cpu", "graphics"], EIGHTS), port("B", "p42-8g-plug", ["graphics"], EIGHTS))
    build = built(with_layout(catalogue, layout(*ports)), "test", [("graphics-8", 1)])
    assert sources(build, "p1", "power1") == ["B"]


def test_a_port_that_needs_fewer_doubles_is_taken_first(catalogue: Catalogue) -> None:
    # By hand: 150 W wants three +12V and five COM: port B has them one to one, port A doubles one.
    fits = ["+12V"] * 3 + ["COM"] * 5
    ports = (port("A", "p42-8g-plug", ["graphics"], EIGHTS), port("B", "p42-8g-plug", ["graphics"], fits))
    build = built(with_layout(catalogue, layout(*ports)), "test", [("graphics-8", 1)])
    assert sources(build, "p1", "power1") == ["B"]


def test_one_port_is_taken_where_one_suffices(catalogue: Catalogue) -> None:
    ports = (port("A", "p42-8g-plug", ["graphics"], EIGHTS), port("B", "p42-8g-plug", ["graphics"], EIGHTS))
    build = built(with_layout(catalogue, layout(*ports)), "test", [("graphics-8", 1)])
    assert len(sources(build, "p1", "power1")) == 1


@examples(25)
@given(builds())
def test_proposing_again_changes_nothing(case: tuple[Build, Catalogue]) -> None:
    build, catalogue = case
    again = propose(build, catalogue)
    assert again == propose(again, catalogue)


@examples(25)
@given(builds())
def test_every_unfed_inlet_has_a_reason_in_words(case: tuple[Build, Catalogue]) -> None:
    build, catalogue = case
    for facts in unfed_inlets(build, catalogue):
        assert len(why_unfed(PlugRef(facts.part, facts.socket), build, catalogue).split()) >= 4


@examples(25)
@given(builds())
def test_a_free_place_offered_to_a_run_can_be_moved_to_and_wired(case: tuple[Build, Catalogue]) -> None:
    build, catalogue = case
    for run_id, places in places_by_run(build, catalogue).items():
        for place in [p for p in places if p.free][:2]:
            moved = plan(edits.move_run(build, catalogue, run_id, place.keys), catalogue)
            run = next(r for r in moved.runs if r.id == run_id)
            assert ("net_short", run.number) not in {(f.code, f.run) for f in moved.findings if len(run.ends) == 1}


def test_a_place_in_use_by_another_run_is_offered_as_not_free(catalogue: Catalogue) -> None:
    build = built(catalogue, "one-24", [("graphics-2x8", 1)])
    run_id = run_id_to(build, "p1", "power1")
    free = {place.keys[0][1]: place.free for place in places_by_run(build, catalogue)[run_id]}
    assert (free["G1"], free["G2"], free["G3"]) == (True, False, True)


# ---- another supply -------------------------------------------------------------------------------------------------


@pytest.fixture
def routed(catalogue: Catalogue) -> Build:
    build = built(catalogue, "one-24", [("board-small", 1), ("graphics-8", 1)])
    return edits.change_run(
        build, run_id_to(build, "p2", "power1"), route=Route(length_mm=420), finish=RunFinish(awg=18), name="Card"
    )


def test_another_supply_keeps_route_finish_name_and_number_of_a_run(routed: Build, catalogue: Catalogue) -> None:
    after = edits.choose_supply(routed, catalogue, "wide-10-12")
    before_run, run = (next(r for r in b.runs if r.ends[0].part == "p2") for b in (routed, after))
    kept = ("id", "number", "name", "route", "finish", "ends")
    assert [getattr(run, name) for name in kept] == [getattr(before_run, name) for name in kept]


def test_another_supply_gives_a_run_ports_that_carry_what_it_wants(routed: Build, catalogue: Catalogue) -> None:
    for supply in catalogue.supplies:
        found = plan(edits.choose_supply(routed, catalogue, supply), catalogue)
        fed = run_to(found, "p2", "power1")
        assert bool(fed.sources) == bool(fed.wires)


def test_no_supply_takes_the_ports_of_every_run_but_not_the_runs(routed: Build, catalogue: Catalogue) -> None:
    after = edits.choose_supply(routed, catalogue, "")
    from_supply = [run for run in after.runs if any(s.part == SUPPLY for s in run.sources)]
    assert (len(after.runs), from_supply) == (len(routed.runs), [])


def test_a_supply_chosen_again_brings_the_same_ports_back(routed: Build, catalogue: Catalogue) -> None:
    there = edits.choose_supply(routed, catalogue, "")
    back = edits.choose_supply(there, catalogue, "one-24")
    assert {r.id: r.sources for r in back.runs} == {r.id: r.sources for r in routed.runs}


def test_a_run_of_ones_own_choice_is_kept_while_its_port_still_carries_its_nets(catalogue: Catalogue) -> None:
    build = built(catalogue, "one-24", [("graphics-8", 1)])
    moved = edits.move_run(build, catalogue, "r1", ((SUPPLY, "G3"),))
    assert sources(propose(moved, catalogue), "p1", "power1") == ["G3"]


def test_a_moulded_cable_is_proposed_without_a_source(catalogue: Catalogue) -> None:
    build = edits.add_parts(Build(name="Test"), catalogue, "usb3-data", 1, "")
    assert [(run.sources, len(run.ends)) for run in build.runs] == [((), 1)]


def test_every_recipe_names_pinouts_that_the_catalogue_has(catalogue: Catalogue) -> None:
    missing = [(r.id, pinout) for r in RECIPES for _, pinout in r.sockets if pinout not in catalogue.pinouts]
    assert missing == []


def test_a_supply_that_lost_a_port_gives_its_run_another(catalogue: Catalogue) -> None:
    ports = (port("G1", "p42-8g-plug", ["graphics"], EIGHTS), port("G2", "p42-8g-plug", ["graphics"], EIGHTS))
    own = with_layout(catalogue, layout(*ports))
    build = built(own, "test", [("graphics-8", 1)])
    lost = with_layout(catalogue, layout(ports[1]))
    assert sources(propose(replace(build), lost), "p1", "power1") == ["G2"]
