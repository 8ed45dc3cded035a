"""Changes of a build: what they change, what they must leave alone, what they refuse. Expected: the rules, by hand."""

from dataclasses import replace

import pytest

from server.domain import edits
from server.domain.edits import RouteEntry
from server.domain.errors import InvalidInputError, NotFoundError
from server.domain.model.build import SUPPLY, Build, Pinned, PlugRef, Route, RunFinish
from server.domain.model.catalogue import Catalogue
from server.domain.model.route import RouteStep
from tests.domain.scenes import built, run_id_to


@pytest.fixture
def chain(catalogue: Catalogue) -> Build:
    """A board, a card and four drives in one chain: 400 mm to the first, then 100, 150 and 200 mm."""
    build = built(catalogue, "one-24", [("board-small", 1), ("graphics-8", 1), ("drive-sata", 4)])
    run_id = run_id_to(build, "p3", "power")
    return edits.change_run(
        build,
        run_id,
        route=Route(length_mm=400, spacing_mm=(100, 150, 200)),
        finish=RunFinish(awg=18),
        optional=("5",),
    )


def chain_of(build: Build) -> str:
    return next(run.id for run in build.runs if any(end.part in ("p3", "p4", "p5", "p6") for end in run.ends))


def route_after_removing(build: Build, part: str) -> Route:
    return edits.run_of(edits.remove_part(build, part), chain_of(build)).route


def refused(error: pytest.ExceptionInfo[InvalidInputError]) -> list[tuple[str, str]]:
    return [(problem.field, problem.message) for problem in error.value.problems]


# ---- parts ----------------------------------------------------------------------------------------------------------


def test_a_part_removed_takes_its_runs_with_it_and_no_other(chain: Build) -> None:
    after = edits.remove_part(chain, "p2")
    assert list(after.runs) == [run for run in chain.runs if run.ends[0].part != "p2"]


def test_a_drive_in_the_middle_of_a_chain_joins_the_spacings_beside_it(chain: Build) -> None:
    # By hand: 100, 150, 200 without the second plug: 100 + 150 = 250, 200.
    assert route_after_removing(chain, "p4") == Route(length_mm=400, spacing_mm=(250, 200))


def test_the_last_drive_of_a_chain_takes_its_spacing_with_it(chain: Build) -> None:
    assert route_after_removing(chain, "p6") == Route(length_mm=400, spacing_mm=(100, 150))


def test_the_first_drive_of_a_chain_leaves_its_spacing_to_the_route(chain: Build) -> None:
    # By hand: the second drive is 400 + 100 mm from the supply; at 400 mm its wires would be cut 100 mm too short.
    after = route_after_removing(chain, "p3")
    assert (after.length_mm in (500, None), after.spacing_mm) == (True, (150, 200))


def test_a_range_grows_too_when_the_first_drive_of_a_chain_goes(chain: Build) -> None:
    # By hand: 380 to 420 mm and 100 mm more are 480 to 520 mm.
    ranged = edits.change_run(chain, chain_of(chain), route=Route(low_mm=380, high_mm=420, spacing_mm=(100, 150, 200)))
    after = route_after_removing(ranged, "p3")
    assert (after.low_mm, after.high_mm) in ((480, 520), (None, None))


def test_spacings_not_yet_known_stay_unknown_when_a_drive_goes(chain: Build) -> None:
    run_id = chain_of(chain)
    unknown = edits.change_run(chain, run_id, route=Route(length_mm=400, spacing_mm=(100,)))
    assert edits.run_of(edits.remove_part(unknown, "p4"), run_id).route.spacing_mm == ()


def test_legs_and_bends_go_straight_on_when_the_first_drive_of_a_chain_goes(chain: Build) -> None:
    # By hand: a last leg of 80 mm and the 100 mm to the second drive are one of 180 mm; a bend is followed by a leg.
    bend = RouteStep("left", angle_deg=90, radius_mm=40)
    for steps, kept in (
        ((bend, RouteStep("leg", 80)), (bend, RouteStep("leg", 180))),
        ((RouteStep("leg", 80), bend), (RouteStep("leg", 80), bend, RouteStep("leg", 100))),
    ):
        route = Route(steps=steps, spacing_mm=(100, 150, 200))
        after = edits.change_run(chain, chain_of(chain), route=route)
        assert route_after_removing(after, "p3") == Route(steps=kept, spacing_mm=(150, 200))


def test_a_most_likely_value_grows_with_its_range(chain: Build) -> None:
    # By hand: 380, 390 and 420 mm, and 100 mm more.
    route = Route(low_mm=380, likely_mm=390, high_mm=420, spacing_mm=(100, 150, 200))
    after = route_after_removing(edits.change_run(chain, chain_of(chain), route=route), "p3")
    assert (after.low_mm, after.likely_mm, after.high_mm) == (480, 490, 520)


def test_runs_from_a_part_that_goes_wait_for_another_source(catalogue: Catalogue) -> None:
    build = built(catalogue, "one-24", [("board-small", 1), ("fan-4", 1)])
    after = edits.remove_part(build, "p1")
    assert [(run.sources, run.ends) for run in after.runs] == [((), (PlugRef("p2", "lead"),))]


def test_a_part_id_is_never_used_again(chain: Build, catalogue: Catalogue) -> None:
    after = edits.add_parts(edits.remove_part(chain, "p6"), catalogue, "drive-sata", 1, "")
    assert [part.id for part in after.parts][-1] == "p7"


def test_several_parts_of_one_kind_are_numbered(catalogue: Catalogue) -> None:
    build = edits.add_parts(Build(name="Test"), catalogue, "fan-4", 2, " Front ")
    assert [part.name for part in build.parts] == ["Front 1", "Front 2"]


@pytest.mark.parametrize("count", [0, -1, 201])
def test_a_number_of_parts_out_of_range_is_refused_at_its_field(catalogue: Catalogue, count: int) -> None:
    with pytest.raises(InvalidInputError) as error:
        edits.add_parts(Build(name="Test"), catalogue, "fan-4", count, "")
    assert [field for field, _ in refused(error)] == ["count"]


def test_an_unknown_recipe_is_refused_at_its_field(catalogue: Catalogue) -> None:
    with pytest.raises(InvalidInputError) as error:
        edits.add_parts(Build(name="Test"), catalogue, "toaster", 1, "")
    assert [field for field, _ in refused(error)] == ["recipe"]


@pytest.mark.parametrize("edit", [lambda b: edits.remove_part(b, "p99"), lambda b: edits.rename_part(b, "p99", "x")])
def test_a_part_that_is_not_there_cannot_be_changed(chain: Build, edit) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(NotFoundError, match="p99"):
        edit(chain)


def test_a_part_renamed_changes_nothing_else(chain: Build) -> None:
    after = edits.rename_part(chain, "p2", "Other card")
    parts = tuple(replace(p, name="Other card") if p.id == "p2" else p for p in chain.parts)
    assert after == replace(chain, parts=parts)


# ---- moving a run ---------------------------------------------------------------------------------------------------


def test_a_run_moved_to_a_free_port_starts_there(chain: Build, catalogue: Catalogue) -> None:
    after = edits.move_run(chain, catalogue, run_id_to(chain, "p2", "power1"), ((SUPPLY, "G3"),))
    assert edits.run_of(after, run_id_to(chain, "p2", "power1")).sources == (PlugRef(SUPPLY, "G3"),)


def test_a_port_in_use_is_refused_with_the_run_that_uses_it(catalogue: Catalogue) -> None:
    build = built(catalogue, "one-24", [("graphics-2x8", 1)])
    user = edits.run_of(build, run_id_to(build, "p1", "power2"))
    with pytest.raises(InvalidInputError) as error:
        edits.move_run(build, catalogue, run_id_to(build, "p1", "power1"), ((SUPPLY, user.sources[0].socket),))
    (field, message), *rest = refused(error)
    assert (field, f"run {user.number}" in message, rest) == ("runs.r1.sources", True, [])


@pytest.mark.parametrize(
    "wanted",
    [
        pytest.param(((SUPPLY, "X9"),), id="a port that the layout lacks"),
        pytest.param((("p1", "main"),), id="an inlet"),
        pytest.param((("p99", "fan1"),), id="a part that is not there"),
        pytest.param((), id="nothing"),
        pytest.param(((SUPPLY, "G3"), (SUPPLY, "G3")), id="the same port twice"),
    ],
)
def test_a_run_cannot_start_where_nothing_gives(
    chain: Build, catalogue: Catalogue, wanted: tuple[tuple[str, str], ...]
) -> None:
    run_id = run_id_to(chain, "p2", "power1")
    with pytest.raises(InvalidInputError) as error:
        edits.move_run(chain, catalogue, run_id, wanted)
    assert {field for field, _ in refused(error)} == {f"runs.{run_id}.sources"}


def test_a_hub_cannot_be_moved_to_its_own_header(catalogue: Catalogue) -> None:
    build = built(catalogue, "one-24", [("fan-hub", 1)])
    with pytest.raises(InvalidInputError):
        edits.move_run(build, catalogue, "r1", (("p1", "fan1"),))


def test_a_source_that_stays_keeps_its_extra_reach(catalogue: Catalogue) -> None:
    build = built(catalogue, "split-14-10", [("board-small", 1)])
    build = edits.change_run(build, "r1", sources=(PlugRef(SUPPLY, "M1", 25.0), PlugRef(SUPPLY, "M2")))
    after = edits.move_run(build, catalogue, "r1", ((SUPPLY, "M2"), (SUPPLY, "M1")))
    assert edits.run_of(after, "r1").sources == (PlugRef(SUPPLY, "M2"), PlugRef(SUPPLY, "M1", 25.0))


# ---- splitting a chain ----------------------------------------------------------------------------------------------


def test_a_chain_is_cut_behind_the_plugs_that_stay(chain: Build, catalogue: Catalogue) -> None:
    after = edits.split_chain(chain, catalogue, chain_of(chain), 3)
    assert [[end.part for end in run.ends] for run in after.runs][-2:] == [["p3", "p4", "p5"], ["p6"]]


def test_both_halves_of_a_chain_keep_their_own_spacings(chain: Build, catalogue: Catalogue) -> None:
    # By hand: 100 | 150 | 200 cut behind the second plug: 100 stays, 150 is gone, 200 goes along.
    after = edits.split_chain(chain, catalogue, chain_of(chain), 2)
    assert [run.route.spacing_mm for run in after.runs][-2:] == [(100,), (200,)]


def test_the_new_half_of_a_chain_has_a_route_still_to_be_measured(chain: Build, catalogue: Catalogue) -> None:
    after = edits.split_chain(chain, catalogue, chain_of(chain), 2)
    assert after.runs[-1].route.length_mm is None


def test_the_new_half_of_a_chain_keeps_finish_and_optional_cavities(chain: Build, catalogue: Catalogue) -> None:
    after = edits.split_chain(chain, catalogue, chain_of(chain), 2)
    assert (after.runs[-1].finish, after.runs[-1].optional) == (RunFinish(awg=18), ("5",))


def test_the_new_half_of_a_chain_is_given_a_free_port(chain: Build, catalogue: Catalogue) -> None:
    after = edits.split_chain(chain, catalogue, chain_of(chain), 2)
    used = [source.socket for run in after.runs[-2:] for source in run.sources]
    assert len(set(used)) == len(used) == 2


@pytest.mark.parametrize("keep", [0, 4, 5, -1])
def test_a_chain_cannot_be_cut_so_that_one_side_is_empty(chain: Build, catalogue: Catalogue, keep: int) -> None:
    run_id = chain_of(chain)
    with pytest.raises(InvalidInputError) as error:
        edits.split_chain(chain, catalogue, run_id, keep)
    assert refused(error) == [(f"runs.{run_id}.keep", "keep 1 to 3 plugs on it")]


def test_a_run_with_one_plug_cannot_be_split(chain: Build, catalogue: Catalogue) -> None:
    with pytest.raises(InvalidInputError, match="nothing to split"):
        edits.split_chain(chain, catalogue, run_id_to(chain, "p2", "power1"), 1)


# ---- chain or fork --------------------------------------------------------------------------------------------------


@pytest.fixture
def fork(chain: Build) -> Build:
    """The four drives as a fork, 400 mm from the supply, one wire put by hand."""
    run_id = chain_of(chain)
    made = edits.set_branching(chain, run_id, "fork")
    source = edits.run_of(made, run_id).sources[0].socket
    return edits.change_run(made, run_id, pins=(Pinned("1", SUPPLY, source, "1"),))


def test_a_chain_made_a_fork_loses_its_spacing_and_keeps_its_length(chain: Build) -> None:
    run = edits.run_of(edits.set_branching(chain, chain_of(chain), "fork"), chain_of(chain))
    assert (run.branching, run.route) == ("fork", Route(length_mm=400))


def test_a_fork_made_a_chain_waits_for_its_spacing(fork: Build) -> None:
    run = edits.run_of(edits.set_branching(fork, chain_of(fork), "chain"), chain_of(fork))
    assert (run.branching, run.route.spacing_mm) == ("chain", ())


def test_a_run_with_one_plug_cannot_be_a_fork(chain: Build) -> None:
    run_id = run_id_to(chain, "p2", "power1")
    with pytest.raises(InvalidInputError) as error:
        edits.set_branching(chain, run_id, "fork")
    assert [field for field, _ in refused(error)] == [f"runs.{run_id}.branching"]


def test_a_run_with_more_plugs_than_a_fork_may_have_is_refused(chain: Build) -> None:
    run_id = chain_of(chain)
    ends = edits.run_of(chain, run_id).ends
    longer = edits.change_run(chain, run_id, ends=(*ends, PlugRef("p9", "power")))
    with pytest.raises(InvalidInputError, match="at most 4 plugs, and this run has 5"):
        edits.set_branching(longer, run_id, "fork")


def test_a_fork_is_as_long_as_before_when_one_of_its_plugs_goes(fork: Build) -> None:
    after = edits.run_of(edits.remove_part(fork, "p3"), chain_of(fork))
    assert (after.route, [end.part for end in after.ends]) == (Route(length_mm=400), ["p4", "p5", "p6"])


def test_pins_of_a_fork_go_with_its_first_plug_and_with_no_other(fork: Build) -> None:
    gone = {part: edits.run_of(edits.remove_part(fork, part), chain_of(fork)).pins for part in ("p3", "p5")}
    assert (gone["p3"], len(gone["p5"])) == ((), 1)


def test_a_fork_with_one_plug_left_is_none(fork: Build) -> None:
    after = fork
    for part in ("p4", "p5", "p6"):
        after = edits.remove_part(after, part)
    assert edits.run_of(after, chain_of(fork)).branching == "chain"


@pytest.mark.parametrize(("keep", "kinds"), [(1, ["chain", "fork"]), (2, ["fork", "fork"]), (3, ["fork", "chain"])])
def test_both_halves_of_a_fork_are_forks_while_they_have_several_plugs(
    fork: Build, catalogue: Catalogue, keep: int, kinds: list[str]
) -> None:
    after = edits.split_chain(fork, catalogue, chain_of(fork), keep)
    assert [run.branching for run in after.runs][-2:] == kinds


@pytest.mark.parametrize(("ends", "branching"), [(2, "fork"), (1, "chain")])
def test_a_run_of_ones_own_is_a_fork_where_it_has_several_plugs(chain: Build, ends: int, branching: str) -> None:
    plugs = tuple((f"p{i + 3}", "power") for i in range(ends))
    assert edits.add_run(chain, None, plugs, "", "fork").runs[-1].branching == branching


# ---- numbers --------------------------------------------------------------------------------------------------------


def test_a_run_number_is_never_used_again(chain: Build, catalogue: Catalogue) -> None:
    last = max(run.number for run in chain.runs)
    without = edits.remove_run(chain, f"r{last}")
    after = edits.add_run(without, None, (("p3", "power"),), "")
    assert after.runs[-1].number == last + 1


def test_a_run_proposed_after_another_was_removed_takes_the_next_number(chain: Build, catalogue: Catalogue) -> None:
    last = max(run.number for run in chain.runs)
    after = edits.choose_supply(edits.remove_run(chain, f"r{last}"), catalogue, "one-24")
    assert max(run.number for run in after.runs) == last + 1


def test_a_run_of_ones_own_has_the_plugs_and_the_name_given(catalogue: Catalogue) -> None:
    build = edits.add_parts(Build(name="Test"), catalogue, "button", 1, "")
    after = edits.add_run(build, (SUPPLY, "X"), (("p1", "lead"),), " Front ")
    run = after.runs[-1]
    assert (run.sources, run.ends, run.name) == ((PlugRef(SUPPLY, "X"),), (PlugRef("p1", "lead"),), "Front")


@pytest.mark.parametrize(
    "edit",
    [
        lambda b, c: edits.remove_run(b, "r99"),
        lambda b, c: edits.change_run(b, "r99", name="x"),
        lambda b, c: edits.split_chain(b, c, "r99", 1),
        lambda b, c: edits.move_run(b, c, "r99", ((SUPPLY, "G1"),)),
        lambda b, c: edits.set_routes(b, {"r99": RouteEntry(Route())}),
    ],
)
def test_a_run_that_is_not_there_cannot_be_changed(chain: Build, catalogue: Catalogue, edit) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(NotFoundError, match="r99"):
        edit(chain, catalogue)


# ---- routes ---------------------------------------------------------------------------------------------------------


def test_routes_of_several_runs_are_taken_at_once(chain: Build) -> None:
    entries = {"r1": RouteEntry(Route(length_mm=300)), "r2": RouteEntry(Route(low_mm=200, high_mm=260))}
    after = edits.set_routes(chain, entries)
    assert [edits.run_of(after, run_id).route for run_id in entries] == [e.route for e in entries.values()]


def test_extra_reach_is_given_to_the_plugs_in_their_order(catalogue: Catalogue) -> None:
    build = built(catalogue, "split-14-10", [("board-small", 1)])
    after = edits.set_routes(build, {"r1": RouteEntry(Route(length_mm=300), (0.0, 30.0), (12.0,))})
    run = edits.run_of(after, "r1")
    assert ([s.extra_mm for s in run.sources], [e.extra_mm for e in run.ends]) == ([0.0, 30.0], [12.0])


def test_a_route_entered_without_extra_reach_leaves_it_as_it_was(catalogue: Catalogue) -> None:
    build = built(catalogue, "split-14-10", [("board-small", 1)])
    build = edits.set_routes(build, {"r1": RouteEntry(Route(length_mm=300), (0.0, 30.0))})
    after = edits.set_routes(build, {"r1": RouteEntry(Route(length_mm=320))})
    assert [s.extra_mm for s in edits.run_of(after, "r1").sources] == [0.0, 30.0]


def test_tails_are_given_to_the_plugs_in_their_order(catalogue: Catalogue) -> None:
    build = built(catalogue, "split-14-10", [("board-small", 1)])
    entry = RouteEntry(Route(length_mm=300), source_tail_mm=(60.0, None), end_tail_mm=(40.0,))
    run = edits.run_of(edits.set_routes(build, {"r1": entry}), "r1")
    assert ([s.tail_mm for s in run.sources], [e.tail_mm for e in run.ends]) == ([60.0, None], [40.0])


def test_a_source_that_stays_keeps_its_tail(catalogue: Catalogue) -> None:
    build = built(catalogue, "split-14-10", [("board-small", 1)])
    build = edits.change_run(build, "r1", sources=(PlugRef(SUPPLY, "M1", 0.0, 70.0), PlugRef(SUPPLY, "M2")))
    after = edits.move_run(build, catalogue, "r1", ((SUPPLY, "M2"), (SUPPLY, "M1")))
    assert [s.tail_mm for s in edits.run_of(after, "r1").sources] == [None, 70.0]
