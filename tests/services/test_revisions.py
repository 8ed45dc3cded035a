"""Names of revisions, and what one revision costs beyond another. Expected values are properties or counts by hand."""

import sqlite3
from decimal import Decimal

import pytest
from sqlalchemy import Engine

from server.domain.edits import RouteEntry
from server.domain.errors import InvalidInputError, NotFoundError
from server.domain.model.bench import Cut, Material, Receive, ScrapPiece
from server.domain.model.build import Route
from server.services.bench import BenchDesk
from server.services.builds import BuildDesk
from server.services.opened import Opened


@pytest.fixture
def board(desk: BuildDesk) -> Opened:
    """Revision 4: a board with its main and CPU runs, both measured."""
    opened = desk.create("Walnut desk case")
    opened = desk.choose_supply(opened.build_id, opened.revision, "one-24")
    opened = desk.add_parts(opened.build_id, opened.revision, "board-small", 1)
    routes = {run.id: RouteEntry(Route(length_mm=400.0)) for run in opened.build.runs}
    return desk.set_routes(opened.build_id, opened.revision, routes)


def fans_added(desk: BuildDesk, opened: Opened, count: int = 1) -> Opened:
    return desk.add_late(opened.build_id, opened.revision, "fan-4", count)


def test_a_named_revision_is_listed_with_its_name(desk: BuildDesk, board: Opened) -> None:
    desk.name_revision(board.build_id, 3, "  agreed with client ")
    assert desk.revision_names(board.build_id) == {3: "agreed with client"}


def test_naming_saves_no_revision_and_changes_none(desk: BuildDesk, board: Opened) -> None:
    before = desk.revisions(board.build_id), desk.open(board.build_id, 3).build
    desk.name_revision(board.build_id, 3, "agreed with client")
    assert (desk.revisions(board.build_id), desk.open(board.build_id, 3).build) == before


def test_a_name_given_again_replaces_the_old_one(desk: BuildDesk, board: Opened) -> None:
    desk.name_revision(board.build_id, 3, "offered")
    desk.name_revision(board.build_id, 3, "agreed with client")
    assert desk.revision_names(board.build_id) == {3: "agreed with client"}


def test_a_name_can_be_taken_away(desk: BuildDesk, board: Opened) -> None:
    desk.name_revision(board.build_id, 3, "offered")
    desk.unname_revision(board.build_id, 3)
    assert desk.revision_names(board.build_id) == {}
    assert desk.since_named(board) is None


@pytest.mark.parametrize("name", ["", "   ", "x" * 81])
def test_an_empty_or_endless_name_is_refused(desk: BuildDesk, board: Opened, name: str) -> None:
    with pytest.raises(InvalidInputError) as told:
        desk.name_revision(board.build_id, 3, name)
    assert told.value.problems[0].field == "names.3"


def test_a_revision_that_does_not_exist_gets_no_name(desk: BuildDesk, board: Opened) -> None:
    with pytest.raises(NotFoundError):
        desk.name_revision(board.build_id, 99, "agreed with client")


def test_a_name_that_is_not_there_cannot_be_taken_away(desk: BuildDesk, board: Opened) -> None:
    with pytest.raises(NotFoundError):
        desk.unname_revision(board.build_id, 3)


def test_names_outlast_the_program(desk: BuildDesk, board: Opened, engine: Engine) -> None:
    desk.name_revision(board.build_id, 3, "agreed with client")
    with sqlite3.connect(engine.url.database or "") as connection:
        rows = connection.execute("SELECT number, name FROM build_revision_name").fetchall()
    assert rows == [(3, "agreed with client")]


def test_the_effect_of_a_revision_is_what_it_adds_to_the_one_before(desk: BuildDesk, board: Opened) -> None:
    # A fan has four wires, and they are all new.
    opened = fans_added(desk, board)
    found = desk.effect(opened.build_id, opened.revision)
    assert (len(found.new), found.gone, len(found.runs_added)) == (4, (), 1)
    assert found.total == opened.plan.estimate.total - board.plan.estimate.total
    assert found.minutes == opened.plan.estimate.minutes - board.plan.estimate.minutes


def test_the_effects_of_all_revisions_add_up_to_the_price(desk: BuildDesk, board: Opened) -> None:
    opened = fans_added(desk, board)
    totals = [desk.effect(opened.build_id, n).total or Decimal(0) for n in range(1, opened.revision + 1)]
    assert sum(totals) == opened.plan.estimate.total


def test_an_effect_is_known_only_once_it_was_worked_out(desk: BuildDesk, board: Opened) -> None:
    assert desk.effect_if_known(board.build_id, 4) is None
    found = desk.effect(board.build_id, 4)
    assert desk.effect_if_known(board.build_id, 4) == found


def test_two_revisions_are_compared_in_words_and_wires(desk: BuildDesk, board: Opened) -> None:
    opened = fans_added(desk, fans_added(desk, board))
    found = desk.compare(opened.build_id, 4, 6)
    assert any("Fan, four-wire 2" in words for words in found.words)
    assert (len(found.difference.new), len(found.difference.runs_added)) == (8, 2)


def test_compared_the_other_way_round_what_was_new_is_gone(desk: BuildDesk, board: Opened) -> None:
    opened = fans_added(desk, board)
    there, back = (desk.compare(opened.build_id, *pair).difference for pair in ((4, 5), (5, 4)))
    assert (back.gone, back.new) == (there.new, there.gone)
    assert back.total == -(there.total or 0)


def test_a_longer_route_makes_its_wires_longer_and_no_others(desk: BuildDesk, board: Opened) -> None:
    run = board.plan.runs[1]
    longer = desk.set_routes(board.build_id, board.revision, {run.id: RouteEntry(Route(length_mm=450.0))})
    found = desk.effect(longer.build_id, longer.revision)
    assert sorted(found.longer) == sorted(wire.label for wire in run.wires)
    assert (found.shorter, found.new, found.gone) == ((), (), ())


def test_going_back_costs_nothing_beyond_the_revision_gone_back_to(desk: BuildDesk, board: Opened) -> None:
    opened = fans_added(desk, board)
    back = desk.go_back(opened.build_id, opened.revision, 4)
    assert desk.compare(back.build_id, 4, back.revision).difference.nothing


def test_the_newest_named_revision_is_the_one_that_changes_are_priced_against(desk: BuildDesk, board: Opened) -> None:
    opened = fans_added(desk, fans_added(desk, board))
    desk.name_revision(opened.build_id, 4, "offered")
    desk.name_revision(opened.build_id, 5, "agreed with client")
    since = desk.since_named(opened)
    assert since is not None
    assert (since.number, since.name, len(since.difference.runs_added)) == (5, "agreed with client", 1)


def test_an_earlier_revision_is_not_priced_against_a_later_one(desk: BuildDesk, board: Opened) -> None:
    opened = fans_added(desk, board)
    desk.name_revision(opened.build_id, 5, "agreed with client")
    assert desk.since_named(desk.open(opened.build_id, 4)) is None


def test_what_a_change_costs_is_the_estimate_less_the_price_that_was_agreed(
    desk: BuildDesk, board: Opened, engine: Engine
) -> None:
    # Property: the agreed price and the line beside the estimate add up to the estimate, whatever was bought and lost.
    desk.name_revision(board.build_id, 4, "agreed with client")
    agreed = board.plan.estimate
    opened = fans_added(desk, board)
    line = next(line for line in opened.plan.buys if line.kind == "wire")
    material = Material(line.kind, line.item, line.colour)
    wire = next(w for run in opened.plan.runs for w in run.wires if w.colour == line.colour)
    bench = BenchDesk(engine, desk)
    (lot,) = bench.write_all([Receive(material, 100_000, Decimal("50.01"), "bought", opened.build_id)])
    (cut,) = bench.write_all([Cut(lot, opened.build_id, wire.id, wire.label, 1, 200)])
    bench.write(ScrapPiece(cut, "slipped"))
    now = desk.open(opened.build_id)
    since, estimate = desk.since_named(now), now.plan.estimate
    assert since is not None
    assert estimate.total != opened.plan.estimate.total
    assert since.difference.total == estimate.total - agreed.total
    assert since.difference.materials == estimate.materials - agreed.materials
    assert since.difference.minutes == estimate.minutes - agreed.minutes
    assert estimate.again_wires == 1


def test_what_a_revision_did_is_told_as_if_nothing_were_bought(desk: BuildDesk, board: Opened, engine: Engine) -> None:
    opened = fans_added(desk, board)
    before = desk.compare(opened.build_id, 4, 5)
    wire = next(line for line in opened.plan.buys if line.kind == "wire")
    material = Material(wire.kind, wire.item, wire.colour)
    BenchDesk(engine, desk).write(Receive(material, 100_000, Decimal(50), "found", opened.build_id))
    assert desk.compare(opened.build_id, 4, 5) == before
