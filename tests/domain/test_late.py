"""Fans and lights added late: what they start from, what range they get, and that nothing else is touched."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.domain import edits
from server.domain.errors import InvalidInputError
from server.domain.late import LATE_RECIPES, add_late, late_ranges
from server.domain.ledger import bench_of, on_hand
from server.domain.model.bench import Cut, Entry, Material, Receive
from server.domain.model.build import Build, Route, Run
from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import Plan
from server.domain.model.route import RouteStep
from server.domain.plan import plan
from tests.domain.random_builds import builds
from tests.domain.scenes import examples

LATE_IDS = [recipe.id for recipe in LATE_RECIPES]


@pytest.fixture
def board(catalogue: Catalogue) -> Build:
    """A board with three fan headers and one light header of each voltage, on a supply with three ports for fans."""
    build = edits.choose_supply(Build(name="Walnut desk case"), catalogue, "one-24")
    return edits.add_parts(build, catalogue, "board-small", 1, "")


def with_route(build: Build, part_name: str, route: Route) -> Build:
    """The build with a route for the run of one part."""
    part = next(part.id for part in build.parts if part.name == part_name)
    runs = tuple(replace(r, route=route) if any(e.part == part for e in r.ends) else r for r in build.runs)
    return replace(build, runs=runs)


def new_runs(before: Build, after: Build) -> list[Run]:
    old = {run.id for run in before.runs}
    return [run for run in after.runs if run.id not in old]


def refusal(build: Build, catalogue: Catalogue, recipe_id: str, count: int) -> str:
    with pytest.raises(InvalidInputError) as told:
        add_late(build, catalogue, recipe_id, count)
    return told.value.problems[0].message


def test_each_late_fan_starts_from_a_free_fan_header(board: Build, catalogue: Catalogue) -> None:
    grown = add_late(board, catalogue, "fan-4", 2)
    sources = [run.sources[0].socket for run in new_runs(board, grown)]
    assert len(set(sources)) == 2
    assert all(socket.startswith("fan") for socket in sources)


def test_a_late_light_starts_from_the_header_of_its_voltage(board: Build, catalogue: Catalogue) -> None:
    (run,) = new_runs(board, add_late(board, catalogue, "light-12v", 1))
    assert run.sources[0].socket == "light12v1"


def test_a_late_run_waits_with_the_usual_range_where_the_build_has_no_other_of_its_use(
    board: Build, catalogue: Catalogue
) -> None:
    # The numbers of common practice as the reference states them.
    (run,) = new_runs(board, add_late(board, catalogue, "fan-4", 1))
    assert run.route == Route(low_mm=200, likely_mm=450, high_mm=800)
    assert late_ranges(board, catalogue)["fan"].source == "common practice"


def test_a_late_run_goes_by_the_other_runs_of_its_use(board: Build, catalogue: Catalogue) -> None:
    # 400 mm measured and 600 mm by legs: 400 less a quarter is 300, 600 and a quarter is 750, the median is 500.
    build = edits.add_parts(board, catalogue, "fan-4", 1, "Front")
    build = edits.add_parts(build, catalogue, "fan-4", 1, "Rear")
    build = with_route(build, "Front", Route(length_mm=400))
    build = with_route(build, "Rear", Route(steps=(RouteStep("leg", length_mm=600.0),)))
    (run,) = new_runs(build, add_late(build, catalogue, "fan-3", 1))
    assert run.route == Route(low_mm=300, likely_mm=500, high_mm=750)
    assert late_ranges(build, catalogue)["fan"].source.startswith("the 2 other fan runs of this build")


def test_a_range_of_another_run_counts_from_end_to_end(board: Build, catalogue: Catalogue) -> None:
    # A range is as wide as it may be; without a likely value its middle, 300, stands for it.
    build = edits.add_parts(board, catalogue, "fan-4", 1, "Front")
    build = with_route(build, "Front", Route(low_mm=200, high_mm=400))
    (run,) = new_runs(build, add_late(build, catalogue, "fan-4", 1))
    assert run.route == Route(low_mm=200, likely_mm=300, high_mm=400)


def test_the_range_grows_no_wider_when_more_are_added(board: Build, catalogue: Catalogue) -> None:
    once = add_late(board, catalogue, "fan-4", 1)
    (second,) = new_runs(once, add_late(once, catalogue, "fan-4", 1))
    assert second.route == once.runs[-1].route


def test_late_parts_are_numbered_on_from_those_of_their_kind(board: Build, catalogue: Catalogue) -> None:
    once = add_late(board, catalogue, "fan-4", 1)
    assert [part.name for part in add_late(once, catalogue, "fan-4", 1).parts[-2:]] == [
        "Fan, four-wire 1",
        "Fan, four-wire 2",
    ]


def test_more_fans_than_there_is_room_for_are_refused_together_with_what_would_help(
    board: Build, catalogue: Catalogue
) -> None:
    # Three headers of the board and three ports of the supply.
    told = refusal(board, catalogue, "fan-4", 7)
    assert "only 6 of 7 would find a free header or port" in told
    assert "add a fan hub first" in told


def test_with_nothing_free_the_refusal_says_who_uses_them(board: Build, catalogue: Catalogue) -> None:
    full = add_late(board, catalogue, "fan-4", 6)
    told = refusal(full, catalogue, "fan-4", 1)
    assert "no free header or port is left" in told
    assert "every header that feeds" in told


def test_a_light_that_no_hub_feeds_is_told_to_bring_a_header_of_its_own(board: Build, catalogue: Catalogue) -> None:
    # The one hub for lights gives 5 V; a 12 V light has no use for it.
    full = add_late(board, catalogue, "light-12v", 1)
    told = refusal(full, catalogue, "light-12v", 1)
    assert "add a part that has such a header first" in told
    assert "light hub" not in told


def test_with_the_hub_that_was_named_the_fans_can_be_added(board: Build, catalogue: Catalogue) -> None:
    full = edits.add_parts(add_late(board, catalogue, "fan-4", 6), catalogue, "fan-hub", 1, "")
    assert len(new_runs(full, add_late(full, catalogue, "fan-4", 6))) == 6


@pytest.mark.parametrize("count", [0, -1, 201])
def test_a_count_out_of_range_is_refused(board: Build, catalogue: Catalogue, count: int) -> None:
    assert "not" in refusal(board, catalogue, "fan-4", count)


def test_what_is_neither_fan_nor_light_is_not_added_late(board: Build, catalogue: Catalogue) -> None:
    assert "no fan or light" in refusal(board, catalogue, "graphics-8", 1)


def test_inlets_that_nothing_feeds_stay_unfed(board: Build, catalogue: Catalogue) -> None:
    unfed = replace(board, runs=board.runs[1:])
    grown = add_late(unfed, catalogue, "fan-4", 1)
    assert grown.runs[:-1] == unfed.runs


@given(builds(), st.sampled_from(LATE_IDS), st.integers(1, 3))
@examples(60)
def test_everything_that_was_there_stays_as_it_was(scene: tuple[Build, Catalogue], recipe_id: str, count: int) -> None:
    build, catalogue = scene
    try:
        grown = add_late(build, catalogue, recipe_id, count)
    except InvalidInputError:
        return
    stripped = replace(grown, parts=grown.parts[:-count], runs=grown.runs[:-count])
    assert replace(stripped, next_part=build.next_part, next_number=build.next_number) == build


@given(builds(), st.sampled_from(LATE_IDS), st.integers(1, 3))
@examples(25)
def test_the_plans_of_the_other_runs_stay_as_they_were(
    scene: tuple[Build, Catalogue], recipe_id: str, count: int
) -> None:
    build, catalogue = scene
    try:
        grown = add_late(build, catalogue, recipe_id, count)
    except InvalidInputError:
        return
    before, after = plan(build, catalogue), plan(grown, catalogue)
    assert after.runs[: len(before.runs)] == before.runs


def everything_cut(made: Plan) -> list[Entry]:
    """A ledger in which every roll was bought, and everything measured cut from it."""
    ledger: list[Entry] = []
    numbers = {run.id: run.number for run in made.runs}
    for sheet in made.rolls:
        material = Material(sheet.kind, sheet.item, sheet.colour)
        ledger.append(Receive(material, 1_000_000, Decimal(1), "bought for a test", "b"))
        lot = len(ledger)
        for layout in sheet.layouts:
            for piece in layout.pieces:
                if piece.ready and not piece.label.startswith("spare"):
                    run = numbers[piece.id.split("/")[0]]
                    ledger.append(Cut(lot, "b", piece.id, piece.label, run, piece.length_mm))
    return ledger


def states(made: Plan) -> dict[str, str]:
    return {change.id: change.state for change in made.changes}


@given(builds(), st.sampled_from(LATE_IDS), st.integers(1, 3))
@examples(15)
def test_what_was_cut_stays_as_it_is(scene: tuple[Build, Catalogue], recipe_id: str, count: int) -> None:
    build, catalogue = scene
    try:
        grown = add_late(build, catalogue, recipe_id, count)
    except InvalidInputError:
        return
    ledger = everything_cut(plan(build, catalogue))
    held = on_hand(bench_of(ledger), "b")
    before, after = plan(build, catalogue, held), plan(grown, catalogue, held)
    cut = {piece.wire for piece in held.pieces}
    assert {state for ident, state in states(before).items() if ident in cut} <= {"unchanged"}
    assert {ident: state for ident, state in states(after).items() if ident in cut} == dict.fromkeys(cut, "unchanged")
    assert {state for ident, state in states(after).items() if ident not in cut} <= {"new"}
