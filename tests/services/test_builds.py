"""What a person can do with builds, over a real database file. Expected values: the rules of each intent."""

import hashlib
import re
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from threading import Barrier

import pytest
from sqlalchemy import Engine

from server.documents.build_json import read_build, write_build
from server.documents.plan_json import write_plan
from server.domain.edits import RouteEntry
from server.domain.errors import ConflictError, InvalidInputError, NotFoundError
from server.domain.model.build import SUPPLY, Allowances, Build, Finish, Rates, Route, RunFinish
from server.domain.plan import plan
from server.services.builds import BuildDesk
from server.services.opened import Opened


@pytest.fixture
def opened(desk: BuildDesk) -> Opened:
    """Revision 3: a supply, a board and a card with two inlets (r3 and r4 from G1 and G2)."""
    build = desk.create("Test")
    build = desk.choose_supply(build.build_id, 1, "one-24")
    build = desk.add_parts(build.build_id, 2, "board-small", 1)
    return desk.add_parts(build.build_id, 3, "graphics-2x8", 1)


def run_id(opened: Opened, socket: str) -> str:
    return next(run.id for run in opened.build.runs if run.ends[0].part == "p2" and run.ends[0].socket == socket)


Change = Callable[[BuildDesk, Opened], Opened]

CHANGES: list[tuple[str, Change]] = [
    ("rename", lambda d, o: d.rename(o.build_id, o.revision, "Other", "Client", "Notes")),
    ("choose_supply", lambda d, o: d.choose_supply(o.build_id, o.revision, "split-14-10")),
    ("add_parts", lambda d, o: d.add_parts(o.build_id, o.revision, "fan-4", 2)),
    ("add_custom_part", lambda d, o: d.add_custom_part(o.build_id, o.revision, "other", "Pump", ("fan-4",), "")),
    ("rename_part", lambda d, o: d.rename_part(o.build_id, o.revision, "p2", "Card")),
    ("remove_part", lambda d, o: d.remove_part(o.build_id, o.revision, "p2")),
    ("move_run", lambda d, o: d.move_run(o.build_id, o.revision, run_id(o, "power1"), ((SUPPLY, "G3"),))),
    ("remove_run", lambda d, o: d.remove_run(o.build_id, o.revision, run_id(o, "power1"))),
    ("rename_run", lambda d, o: d.rename_run(o.build_id, o.revision, "r1", "Main")),
    ("set_optional", lambda d, o: d.set_optional(o.build_id, o.revision, "r1", ("20",))),
    ("set_routes", lambda d, o: d.set_routes(o.build_id, o.revision, {"r1": RouteEntry(Route(length_mm=400))})),
    ("set_finish", lambda d, o: d.set_finish(o.build_id, o.revision, Finish(insulation="clear"))),
    ("set_run_finish", lambda d, o: d.set_run_finish(o.build_id, o.revision, "r1", RunFinish(awg=18))),
    ("set_allowances", lambda d, o: d.set_allowances(o.build_id, o.revision, Allowances(recrimp_mm=7.5))),
    ("set_rates", lambda d, o: d.set_rates(o.build_id, o.revision, Rates(hourly=Decimal(55)))),
    ("set_price", lambda d, o: d.set_price(o.build_id, o.revision, "sleeve-small-5000", Decimal("2.50"))),
]
by_name = pytest.mark.parametrize("change", [pytest.param(change, id=name) for name, change in CHANGES])


# ---- revisions ------------------------------------------------------------------------------------------------------


@by_name
def test_a_change_saves_one_revision_with_words(desk: BuildDesk, opened: Opened, change: Change) -> None:
    after = change(desk, opened)
    newest, before = desk.revisions(opened.build_id)[:2]
    assert (after.revision, newest.number, before.number) == (opened.revision + 1, opened.revision + 1, opened.revision)
    assert newest.words


@by_name
def test_a_change_that_changes_nothing_saves_no_revision(desk: BuildDesk, opened: Opened, change: Change) -> None:
    # The document before and after is compared: doing the change over a build that has it already leaves it alone.
    done = change(desk, opened)
    back = desk.put_document(opened.build_id, done.revision, write_build(done.build))
    assert back.revision == done.revision


def test_a_supply_chosen_again_saves_no_revision(desk: BuildDesk, opened: Opened) -> None:
    assert desk.choose_supply(opened.build_id, opened.revision, "one-24").revision == opened.revision


def test_runs_proposed_where_none_is_missing_save_no_revision(desk: BuildDesk, opened: Opened) -> None:
    assert desk.propose_runs(opened.build_id, opened.revision).revision == opened.revision


@by_name
def test_a_change_on_an_old_revision_is_refused_with_what_was_changed_since(
    desk: BuildDesk, opened: Opened, change: Change
) -> None:
    desk.rename(opened.build_id, opened.revision, "Meanwhile", "", "")
    with pytest.raises(ConflictError) as error:
        change(desk, opened)
    assert (error.value.latest, error.value.changes) == (
        opened.revision + 1,
        ("renamed from 'Test' to 'Meanwhile'",),
    )


@by_name
def test_a_refused_change_stores_nothing(desk: BuildDesk, opened: Opened, change: Change) -> None:
    desk.rename(opened.build_id, opened.revision, "Meanwhile", "", "")
    before = (desk.revisions(opened.build_id), desk.export_json(opened.build_id))
    with pytest.raises(ConflictError):
        change(desk, opened)
    assert (desk.revisions(opened.build_id), desk.export_json(opened.build_id)) == before


def test_an_earlier_revision_never_changes(desk: BuildDesk, opened: Opened) -> None:
    before = desk.open(opened.build_id, 2)
    desk.remove_part(opened.build_id, opened.revision, "p1")
    assert desk.open(opened.build_id, 2) == before


def test_what_cannot_be_kept_is_refused_and_not_stored(desk: BuildDesk, opened: Opened) -> None:
    with pytest.raises(InvalidInputError) as error:
        desk.set_routes(opened.build_id, opened.revision, {"r1": RouteEntry(Route(length_mm=9000))})
    assert [problem.field for problem in error.value.problems] == ["runs.r1.length"]
    assert desk.open(opened.build_id).revision == opened.revision


def test_a_length_that_is_no_number_is_refused_at_its_field(desk: BuildDesk, opened: Opened) -> None:
    with pytest.raises(InvalidInputError) as error:
        desk.set_routes(opened.build_id, opened.revision, {"r1": RouteEntry(Route(length_mm=float("nan")))})
    assert [problem.field for problem in error.value.problems] == ["runs.r1.length"]


def test_a_revision_that_is_not_there_is_told(desk: BuildDesk, opened: Opened) -> None:
    with pytest.raises(NotFoundError, match="99"):
        desk.open(opened.build_id, 99)


def test_a_change_on_a_revision_that_is_still_to_come_is_told(desk: BuildDesk, opened: Opened) -> None:
    with pytest.raises(NotFoundError, match="99"):
        desk.rename(opened.build_id, 99, "x", "", "")


def test_a_build_that_is_not_there_is_told(desk: BuildDesk) -> None:
    with pytest.raises(NotFoundError):
        desk.open("no-such-build")


def test_a_name_is_kept_without_the_spaces_round_it(desk: BuildDesk) -> None:
    assert desk.create("  Desk machine ").build.name == "Desk machine"


def test_a_build_without_a_name_is_refused(desk: BuildDesk) -> None:
    with pytest.raises(InvalidInputError) as error:
        desk.create("   ")
    assert [problem.field for problem in error.value.problems] == ["name"]


def test_a_price_taken_back_is_the_catalogues_again(desk: BuildDesk, opened: Opened) -> None:
    dear = desk.set_price(opened.build_id, opened.revision, "sleeve-small-5000", Decimal("2.50"))
    assert desk.set_price(opened.build_id, dear.revision, "sleeve-small-5000", None).build == opened.build


# ---- going back -----------------------------------------------------------------------------------------------------


def test_going_back_makes_the_earlier_build_the_newest_revision(desk: BuildDesk, opened: Opened) -> None:
    back = desk.go_back(opened.build_id, opened.revision, 3)
    earlier = desk.open(opened.build_id, 3).build
    assert (back.revision, back.build.parts, back.build.runs) == (opened.revision + 1, earlier.parts, earlier.runs)


def test_going_back_says_so(desk: BuildDesk, opened: Opened) -> None:
    desk.go_back(opened.build_id, opened.revision, 3)
    assert "went back to revision 3" in desk.revisions(opened.build_id)[0].words


def test_run_numbers_and_part_ids_stay_used_up_after_going_back(desk: BuildDesk, opened: Opened) -> None:
    back = desk.go_back(opened.build_id, opened.revision, 3)
    again = desk.add_parts(opened.build_id, back.revision, "graphics-8", 1)
    used_parts, used_runs = ({e.id for e in items} for items in (opened.build.parts, opened.build.runs))
    new_parts = {part.id for part in again.build.parts} - {part.id for part in back.build.parts}
    new_runs = {run.id for run in again.build.runs} - {run.id for run in back.build.runs}
    assert (new_parts & used_parts, new_runs & used_runs) == (set(), set())


def test_going_back_on_an_old_revision_is_refused(desk: BuildDesk, opened: Opened) -> None:
    with pytest.raises(ConflictError):
        desk.go_back(opened.build_id, 2, 1)


# ---- whole builds ---------------------------------------------------------------------------------------------------


def test_a_copy_is_a_build_of_its_own(desk: BuildDesk, opened: Opened) -> None:
    copy = desk.duplicate(opened.build_id)
    desk.remove_part(copy.build_id, 1, "p1")
    assert desk.open(opened.build_id).build == opened.build


def test_a_copy_is_the_same_build_under_another_name(desk: BuildDesk, opened: Opened) -> None:
    copy = desk.duplicate(opened.build_id)
    assert (copy.revision, copy.build) == (1, replace(opened.build, name="Test copy"))


def test_the_copy_of_a_build_with_the_longest_name_can_be_saved(desk: BuildDesk) -> None:
    longest = desk.create("n" * 200)
    assert desk.duplicate(longest.build_id).build.name.endswith(" copy")


def test_a_deleted_build_is_gone_until_it_is_brought_back(desk: BuildDesk, opened: Opened) -> None:
    assert desk.delete(opened.build_id) == "Test"
    assert desk.list_builds() == ()
    with pytest.raises(NotFoundError):
        desk.open(opened.build_id)


def test_a_build_brought_back_is_what_it_was(desk: BuildDesk, opened: Opened) -> None:
    desk.delete(opened.build_id)
    assert desk.restore(opened.build_id) == opened


def test_a_build_that_was_not_deleted_cannot_be_brought_back(desk: BuildDesk, opened: Opened) -> None:
    with pytest.raises(NotFoundError):
        desk.restore(opened.build_id)


def test_a_build_sent_out_and_taken_in_is_the_same_build(desk: BuildDesk, opened: Opened) -> None:
    text = desk.export_json(opened.build_id)
    taken = desk.import_json(text)
    assert (taken.build, desk.export_json(taken.build_id)) == (opened.build, text)


def test_a_build_taken_in_has_the_plan_that_it_was_sent_out_with(desk: BuildDesk, opened: Opened) -> None:
    taken = desk.import_json(desk.export_json(opened.build_id))
    assert write_plan(taken.plan) == write_plan(opened.plan)


def test_a_document_that_refers_to_nothing_known_is_refused(desk: BuildDesk) -> None:
    with pytest.raises(InvalidInputError) as error:
        desk.import_json(write_build(Build(name="x", supply="no-such-layout")))
    assert [problem.field for problem in error.value.problems] == ["supply"]


def test_builds_are_listed_newest_first_and_found_by_words_of_their_name(desk: BuildDesk) -> None:
    for name in ("Living room", "Rack one", "Rack two"):
        desk.create(name)
    assert [b.name for b in desk.list_builds("rack")] == ["Rack two", "Rack one"]


def test_every_example_opens_as_a_build_of_ones_own(desk: BuildDesk) -> None:
    for example in desk.examples():
        own = desk.create_example(example.id)
        assert (own.revision, own.build.name) == (1, example.name)


def test_every_example_plans_without_a_fault(desk: BuildDesk) -> None:
    # The only stop an example may show is that its invented layout was never metered.
    stops = {
        (example.id, finding.code)
        for example in desk.examples()
        for finding in desk.create_example(example.id).plan.findings
        if finding.severity == "stop" and finding.code != "not_metered"
    }
    assert stops == set()


def test_an_example_that_is_not_there_is_told(desk: BuildDesk) -> None:
    with pytest.raises(NotFoundError, match="none"):
        desk.create_example("none")


# ---- plans ----------------------------------------------------------------------------------------------------------


def test_a_document_is_planned_like_the_stored_build(desk: BuildDesk, opened: Opened) -> None:
    planned = desk.plan_document(desk.export_json(opened.build_id))
    assert write_plan(planned.plan) == write_plan(opened.plan)


def test_a_document_that_is_planned_is_not_stored(desk: BuildDesk, opened: Opened) -> None:
    desk.plan_document(desk.export_json(opened.build_id))
    assert len(desk.list_builds()) == 1


def test_a_stored_build_has_the_plan_that_follows_from_it(desk: BuildDesk, opened: Opened) -> None:
    assert desk.open(opened.build_id).plan == plan(opened.build, desk.catalogue())


def test_another_desk_on_the_same_file_gives_the_same_plan(desk: BuildDesk, opened: Opened, engine: Engine) -> None:
    other = BuildDesk(engine, Path("nowhere"))
    assert write_plan(other.open(opened.build_id).plan) == write_plan(opened.plan)


# ---- share links ----------------------------------------------------------------------------------------------------


def test_a_share_links_secret_is_long_and_safe_in_an_address(desk: BuildDesk, opened: Opened) -> None:
    # 128 bits in the url-safe alphabet of 64 letters are 22 characters.
    assert re.fullmatch(r"[A-Za-z0-9_-]{22,}", desk.share(opened.build_id))


def test_two_share_links_have_different_secrets(desk: BuildDesk, opened: Opened) -> None:
    assert len({desk.share(opened.build_id) for _ in range(5)}) == 5


def test_only_the_hash_of_a_share_links_secret_is_in_the_file(
    desk: BuildDesk, opened: Opened, engine: Engine, tmp_path: Path
) -> None:
    token = desk.share(opened.build_id)
    engine.dispose()
    stored = b"".join(path.read_bytes() for path in tmp_path.glob("loomwright.db*"))
    assert (token.encode() in stored, hashlib.sha256(token.encode()).hexdigest().encode() in stored) == (False, True)


def test_a_share_link_leads_to_the_newest_revision(desk: BuildDesk, opened: Opened) -> None:
    token = desk.share(opened.build_id)
    newest = desk.rename(opened.build_id, opened.revision, "Newer", "", "")
    assert desk.open_shared(token) == newest


def test_a_share_link_that_was_ended_leads_nowhere(desk: BuildDesk, opened: Opened) -> None:
    token = desk.share(opened.build_id)
    desk.revoke_share(opened.build_id, desk.shares(opened.build_id)[0].id)
    with pytest.raises(NotFoundError):
        desk.open_shared(token)


def test_ending_one_share_link_leaves_the_other(desk: BuildDesk, opened: Opened) -> None:
    first, second = desk.share(opened.build_id), desk.share(opened.build_id)
    ended = next(s.id for s in desk.shares(opened.build_id) if s.id == hashlib.sha256(first.encode()).hexdigest())
    desk.revoke_share(opened.build_id, ended)
    assert desk.open_shared(second).build_id == opened.build_id


def test_a_share_link_cannot_be_ended_through_another_build(desk: BuildDesk, opened: Opened) -> None:
    desk.share(opened.build_id)
    other = desk.create("Other")
    with pytest.raises(NotFoundError):
        desk.revoke_share(other.build_id, desk.shares(opened.build_id)[0].id)


def test_a_share_link_to_a_deleted_build_leads_nowhere(desk: BuildDesk, opened: Opened) -> None:
    token = desk.share(opened.build_id)
    desk.delete(opened.build_id)
    with pytest.raises(NotFoundError):
        desk.open_shared(token)


@pytest.mark.parametrize("token", ["", "x", "A" * 32, "' OR 1=1 --"])
def test_a_secret_that_was_never_given_leads_nowhere(desk: BuildDesk, opened: Opened, token: str) -> None:
    desk.share(opened.build_id)
    with pytest.raises(NotFoundError):
        desk.open_shared(token)


# ---- several at once ------------------------------------------------------------------------------------------------

WRITERS = 8


def at_once(act: Callable[[int], str]) -> list[str]:
    """What each of several threads got, all of them let go at one moment."""
    gate = Barrier(WRITERS)

    def go(number: int) -> str:
        gate.wait()
        return act(number)

    with ThreadPoolExecutor(WRITERS) as pool:
        return list(pool.map(go, range(WRITERS)))


def test_of_savings_on_one_base_exactly_one_wins(desk: BuildDesk, opened: Opened) -> None:
    def save(number: int) -> str:
        try:
            return f"saved {desk.rename(opened.build_id, opened.revision, f'Name {number}', '', '').revision}"
        except ConflictError as refused:
            return f"refused for {refused.latest}"

    results = at_once(save)
    number = opened.revision + 1
    assert sorted(results) == [f"refused for {number}"] * (WRITERS - 1) + [f"saved {number}"]


def test_the_name_of_the_winner_is_the_one_that_is_stored(desk: BuildDesk, opened: Opened) -> None:
    def save(number: int) -> str:
        try:
            return desk.rename(opened.build_id, opened.revision, f"Name {number}", "", "").build.name
        except ConflictError:
            return ""

    won = [name for name in at_once(save) if name]
    assert won == [desk.open(opened.build_id).build.name]


def test_writers_who_try_again_all_get_their_part_in(desk: BuildDesk, opened: Opened) -> None:
    def save(number: int) -> str:
        while True:
            base = desk.open(opened.build_id).revision
            try:
                return desk.add_parts(opened.build_id, base, "button", 1, f"Button {number}").build.parts[-1].name
            except ConflictError:
                continue

    names = at_once(save)
    stored = [part.name for part in desk.open(opened.build_id).build.parts if part.kind == "button"]
    assert sorted(names) == sorted(stored)
    assert len(stored) == WRITERS


def test_readers_at_once_all_get_the_builds_they_asked_for(desk: BuildDesk) -> None:
    # More builds than the desk keeps plans of, so that plans are thrown away while others are read.
    builds = [desk.create(f"Build {n}").build_id for n in range(20)]

    def read(number: int) -> str:
        for turn in range(150):
            wanted = builds[(number * 7 + turn) % len(builds)]
            if desk.open(wanted).build_id != wanted:
                return "another build"
        return "right"

    assert at_once(read) == ["right"] * WRITERS


def test_a_document_read_back_is_the_build_that_was_written(desk: BuildDesk, opened: Opened) -> None:
    assert read_build(desk.export_json(opened.build_id)) == opened.build
