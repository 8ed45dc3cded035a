"""Tasks of the bench, over a real database file. Expected values: the order of work of each kind of cable as its card
numbers it, counts of wires of the plan, and properties of an order."""

import json
import shutil
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from uuid import UUID

import pytest
from sqlalchemy import Engine

from server.domain.edits import RouteEntry
from server.domain.housings import cavities
from server.domain.model.bench import ScrapPiece
from server.domain.model.build import Route
from server.services.bench import BenchDesk
from server.services.bench_places import seen_words
from server.services.bench_task_rows import RunRows
from server.services.bench_task_types import Task, Tasks
from server.services.bench_tasks import tasks_of
from server.services.bench_tick_types import Tick
from server.services.builds import BuildDesk
from server.services.opened import Opened
from server.store.database import open_database
from server.web.views.bench_json import Texts, tasks_json
from tests.domain.hand_plans import with_jumper
from tests.domain.scenes import shipped_catalogue
from tests.drawing import scenes
from tests.drawing.test_face_tables import TABLES, table_of
from tests.services.bench_ticking import AT, all_tasks, send, stocked, tick, ticks_of

EXAMPLES = Path(__file__).parents[2] / "seed_data" / "examples"
CATALOGUE = shipped_catalogue()


@pytest.fixture
def bench(engine: Engine, desk: BuildDesk) -> BenchDesk:
    return BenchDesk(engine, desk, lambda: AT)


@pytest.fixture
def own(desk: BuildDesk, bench: BenchDesk) -> Opened:
    """The compact example with everything bought, for a test that changes it."""
    return stocked(desk, bench, "compact")


@pytest.fixture(scope="module")
def read_only(installed_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[BuildDesk, BenchDesk]]:
    """Desks for what is only looked at."""
    engine = open_database(Path(shutil.copy(installed_file, tmp_path_factory.mktemp("looked at") / "loomwright.db")))
    desk = BuildDesk(engine, EXAMPLES)
    yield desk, BenchDesk(engine, desk, lambda: AT)
    engine.dispose()


@pytest.fixture(scope="module")
def opened(read_only: tuple[BuildDesk, BenchDesk]) -> Opened:
    """The compact example with everything bought, planned once for every test that only looks at it."""
    return stocked(*read_only, "compact")


def chain_of(tasks: dict[str, Task], last: str) -> list[str]:
    """Kind and side of a wire's own tasks, from the first to the last of them."""
    row = [last]
    wire = last.partition("/")[2]
    while before := [ident for ident in tasks[row[0]].after if wire in ident]:
        row = [*before, *row]
    return [ident.replace(f"/{wire}", "") for ident in row]


def test_a_new_wire_is_cut_crimped_at_the_part_sleeved_crimped_at_the_source_and_fitted(opened: Opened) -> None:
    tasks = {task.id: task for task in tasks_of(opened).tasks}
    wire = opened.plan.runs[0].wires[0]
    assert chain_of(tasks, f"fit/{wire.id}") == ["cut", "crimp/part", "sleeve", "crimp/source", "fit"]


def test_a_pressed_chain_is_crimped_at_its_source_first_and_never_at_its_part_end(opened: Opened) -> None:
    tasks = {task.id: task for task in tasks_of(opened).tasks}
    run = next(run for run in opened.plan.runs if run.kind == "chain")
    assert chain_of(tasks, f"fit/{run.wires[0].id}") == ["cut", "crimp/source", "sleeve", "fit"]
    fit = tasks[f"fit/{run.wires[0].id}"]
    assert fit.title.startswith("Press")
    assert fit.tool
    assert len(fit.plugs) == 1 + len(run.ends)


def test_closed_combs_are_threaded_before_the_contact_that_none_of_them_lets_pass(opened: Opened) -> None:
    # Common practice: a closed comb goes on over bare ends, so the part ends sit in their plug and the combs on the
    # wires before the second contacts. By the plan the CPU's cable has combs of eight ways.
    tasks = {task.id: task for task in tasks_of(opened).tasks}
    run = opened.plan.runs[1]
    told = {kind: " ".join(tasks[f"crimp/{run.wires[0].id}/{kind}"].lines) for kind in ("part", "source")}
    assert "comb" not in told["part"]
    assert "the part ends into their plug, then the wires through their combs" in told["source"]
    assert ", ".join(str(place.at_mm) for place in run.combs) + " mm" in told["source"]
    assert not any("comb" in line for wire in run.wires for line in tasks[f"fit/{wire.id}"].lines)


def test_open_combs_are_pressed_on_once_all_wires_are_in(desk: BuildDesk, own: Opened) -> None:
    made = desk.set_finish(own.build_id, own.revision, replace(own.build.finish, comb_kind="open"))
    tasks = {task.id: task for task in tasks_of(made).tasks}
    wire = made.plan.runs[1].wires[0]
    assert not any("comb" in line for line in tasks[f"crimp/{wire.id}/source"].lines)
    assert any("press the wires into their combs" in line for line in tasks[f"fit/{wire.id}"].lines)


def test_a_pressed_chain_ends_flush_and_under_its_caps(opened: Opened) -> None:
    # Common practice, and as the card says it: what is left over is cut flush, then the caps close, the last one last.
    tasks = {task.id: task for task in tasks_of(opened).tasks}
    run = next(run for run in opened.plan.runs if run.kind == "chain")
    *_, flush, caps = tasks[f"fit/{run.wires[0].id}"].lines
    assert "cut them flush" in flush
    assert caps == "then close the caps: the through cap on A, the end cap on B last"


def test_wires_in_one_sleeve_are_sleeved_by_one_task_between_their_crimps(opened: Opened) -> None:
    tasks = {task.id: task for task in tasks_of(opened).tasks}
    run = next(run for run in opened.plan.runs if run.use == "usb")
    sleeve = tasks[f"sleeve/{run.id}"]
    assert {f"crimp/{wire.id}/part" for wire in run.wires} <= set(sleeve.after)
    assert all(sleeve.id in tasks[f"crimp/{wire.id}/source"].after for wire in run.wires)


def test_a_moulded_cable_is_only_sleeved(opened: Opened) -> None:
    run = next(run for run in opened.plan.runs if run.kind == "sleeved")
    kinds = [task.kind for task in tasks_of(opened).tasks if task.run == run.id]
    assert kinds == ["cut", "cut", "sleeve"]


def test_two_wires_in_one_contact_are_crimped_by_one_task_that_waits_for_both(desk: BuildDesk) -> None:
    # Nothing needs to be bought: what comes before what does not hang on it.
    opened = desk.create_example("large")
    tasks = {task.id: task for task in tasks_of(opened).tasks}
    run = next(run for run in opened.plan.runs if run.doubles)
    shared = [wire for wire in run.wires if wire.source.shared_with]
    crimps = [task for task in tasks.values() if task.run == run.id and task.kind == "crimp"]
    together = next(task for task in crimps if " and " in task.label)
    assert together.label == " and ".join(wire.label for wire in shared)
    assert {f"sleeve/{wire.id}" for wire in shared} <= set(together.after)
    # By hand: one contact for each wire end, and one fewer for the two that share.
    assert len(crimps) == 2 * len(run.wires) - 1


def test_a_cut_names_the_lot_and_the_length_of_the_roll_plan(opened: Opened) -> None:
    planned = {
        piece.id: (layout.lot, piece.length_mm)
        for sheet in opened.plan.rolls
        for layout in sheet.layouts
        for piece in layout.pieces
    }
    cuts = {t.id.removeprefix("cut/"): t for t in tasks_of(opened).tasks if t.kind == "cut" and t.state == "open"}
    told = {ident: (t.tick["lot"], t.tick["length"]) for ident, t in cuts.items() if t.tick and "lot" in t.tick}
    wires = {wire.id for run in opened.plan.runs for wire in run.wires if wire.cut_mm}
    assert set(told) == wires
    assert told == {ident: planned[ident] for ident in wires}


def test_what_has_to_be_bought_or_measured_first_is_blocked_and_says_where(desk: BuildDesk) -> None:
    opened = desk.create_example("compact")
    tasks = tasks_of(opened).tasks
    waits = {run.id for run in opened.plan.runs if run.state != "measured"}
    assert {task.state for task in tasks} == {"blocked"}
    assert all("buy" in t.why and t.href.endswith("/buys") for t in tasks if t.kind == "cut" and t.run not in waits)
    assert all("measure" in t.why and t.href.endswith("/routes") for t in tasks if t.kind == "cut" and t.run in waits)


def test_a_run_with_a_fault_is_stopped_and_nothing_of_it_is_shown(opened: Opened) -> None:
    first = opened.plan.runs[0]
    faulty = replace(opened.plan, runs=(replace(first, proved=False), *opened.plan.runs[1:]))
    tasks = tasks_of(replace(opened, plan=faulty, _made={}, _lasting={}))
    assert (tasks.runs[0].state, tasks.runs[1].state) == ("stopped", "ready")
    assert all(task.run != first.id for task in tasks.tasks)
    assert not any(key.startswith(f"{first.id}/") for key in tasks.plugs)


def test_a_wire_of_a_splice_is_crimped_once_both_are_cut_and_joined(desk: BuildDesk) -> None:
    opened = desk.create_example("large")
    run = next(run for run in opened.plan.runs if run.doubles)
    offer = run.offers[0]
    where = (offer.part, offer.socket, offer.cavity)
    opened = desk.set_shared(opened.build_id, opened.revision, run.id, *where, "splice")
    tasks = {task.id: task for task in tasks_of(opened).tasks}
    keep, give = (next(w for w in run.wires if w.label == label) for label in offer.labels)
    for wire in (keep, give):
        crimp = tasks[f"crimp/{wire.id}/part"]
        assert {f"cut/{keep.id}", f"cut/{give.id}"} <= set(crimp.after)
        assert any(line.startswith("before that: Splice of") for line in crimp.lines)
    # The wire that gives way ends in the joint: nothing is crimped at its source.
    assert f"crimp/{give.id}/source" not in tasks
    assert tasks[f"fit/{give.id}"].after == (f"sleeve/{give.id}",)


def test_an_own_wire_that_is_long_enough_is_not_cut_and_waits_for_no_tick(desk: BuildDesk, own: Opened) -> None:
    made = desk.set_method(own.build_id, own.revision, "r2", "rework", 900.0)
    tasks = [task for task in tasks_of(made).tasks if task.run == "r2"]
    own = [task for task in tasks if task.kind in ("crimp", "sleeve", "fit")]
    assert not any(task.id == f"cut/{wire.id}" for task in tasks for wire in made.plan.runs[1].wires)
    assert {(task.state, task.tick) for task in own} == {("blocked", None)}
    assert {task.id.rpartition("/")[2] for task in own if task.kind == "crimp"} == {"part"}


def test_a_soldered_on_wire_is_soldered_sleeved_and_then_crimped_at_its_part_end_alone(
    desk: BuildDesk, own: Opened
) -> None:
    made = desk.set_method(own.build_id, own.revision, "r2", "rework", 300.0)
    tasks = {task.id: task for task in tasks_of(made).tasks}
    wire = made.plan.runs[1].wires[0]
    assert chain_of(tasks, f"fit/{wire.id}") == ["cut", "sleeve", "crimp/part", "fit"]
    assert any("Soldered on" in line for line in tasks[f"sleeve/{wire.id}"].lines)
    assert not any("Soldered on" in line for line in tasks[f"crimp/{wire.id}/part"].lines)


def test_an_extension_is_made_like_a_new_cable(desk: BuildDesk, own: Opened) -> None:
    made = desk.set_method(own.build_id, own.revision, "r2", "extension", 600.0)
    tasks = {task.id: task for task in tasks_of(made).tasks}
    wire = made.plan.runs[1].wires[0]
    assert chain_of(tasks, f"fit/{wire.id}") == ["cut", "crimp/part", "sleeve", "crimp/source", "fit"]


def check_order(tasks: Tasks, ids: Sequence[str]) -> None:
    place = {ident: at for at, ident in enumerate(ids)}
    assert sorted(place) == sorted(task.id for task in tasks.tasks)
    assert all(place[before] < place[task.id] for task in tasks.tasks for before in task.after if task.state != "done")


def test_both_orders_hold_every_task_once_and_none_before_what_it_waits_for(opened: Opened) -> None:
    tasks = tasks_of(opened)
    check_order(tasks, tasks.by_run)
    check_order(tasks, tasks.by_stage)


def changes_in(tasks: Tasks, ids: Sequence[str]) -> int:
    """Changes of tool counted anew: neighbours with different tools, work by hand left out, done tasks too."""
    known = {task.id: task for task in tasks.tasks}
    tools = [known[ident].tool for ident in ids if known[ident].tool and known[ident].state != "done"]
    return sum(1 for one, other in pairwise(tools) if one != other)


def test_the_changes_told_are_those_of_the_orders(opened: Opened) -> None:
    tasks = tasks_of(opened)
    told = tasks.changes
    assert (told.by_run, told.by_stage) == (changes_in(tasks, tasks.by_run), changes_in(tasks, tasks.by_stage))
    assert told.at_least <= told.by_stage < told.by_run


@pytest.mark.parametrize("down", [False, True], ids=["latch up", "latch down"])
@pytest.mark.parametrize("housing", [f"{name}-plug" for name in TABLES if f"{name}-plug" in CATALOGUE.housings])
def test_words_of_a_cavity_agree_with_the_table_of_its_housing(housing: str, down: bool) -> None:
    # The tables are those by hand against which the drawing of each face is held; latch down is half a turn.
    rows = table_of(housing)
    shown = tuple(tuple(reversed(row)) for row in reversed(rows)) if down else rows
    names = {1: [""], 2: ["upper row", "lower row"], 3: ["upper row", "middle row", "lower row"]}[len(shown)]
    nth = [
        "first",
        "second",
        "third",
        "fourth",
        "fifth",
        "sixth",
        "seventh",
        "eighth",
        "ninth",
        "tenth",
        "eleventh",
        "twelfth",
    ]
    plug = scenes.plug(("part", "in"), "Part", "inlet", housing, {}, down=down)
    for name, row in zip(names, shown, strict=True):
        for at, cavity in enumerate(cell for cell in row if cell != "-"):
            words = seen_words(plug, cavity, CATALOGUE).split(", ")
            assert words[:2] == [name, f"{nth[at]} from the left"] if name else words[0] == f"{nth[at]} from the left"
            assert "seen from the wire side" in words
            if CATALOGUE.housings[housing].latch == "top":
                assert words[-1] == ("latch down" if down else "latch up")
    assert sum(len([c for c in row if c != "-"]) for row in shown) == len(cavities(CATALOGUE.housings[housing]))


@pytest.mark.parametrize("example", ["compact", "large"])
@pytest.mark.parametrize("order", ["by_run", "by_stage"])
def test_everything_can_be_ticked_in_either_order_until_every_run_is_ready_to_test(
    desk: BuildDesk, bench: BenchDesk, example: str, order: str
) -> None:
    opened = stocked(desk, bench, example)
    before, tasks = all_tasks(desk, opened.build_id), tasks_of(opened)
    results = send(desk, bench, opened.build_id, *ticks_of(before, getattr(tasks, order)))
    assert [result.message for result in results if result.state != "written"] == []
    after = tasks_of(desk.open(opened.build_id))
    waits = {run.id for run in after.runs if run.state == "waits"}
    assert {task.state for task in after.tasks if task.run not in waits and task.kind != "test"} == {"done"}
    assert {task.state for task in after.tasks if task.run not in waits and task.kind == "test"} == {"open"}
    pieces = [piece for piece in desk.open(opened.build_id).on_hand.pieces if piece.material.kind == "wire"]
    measured = [wire for run in opened.plan.runs if run.id not in waits for wire in run.wires]
    assert len(pieces) == len(measured)
    assert all("fitted" in piece.stages and not piece.crimped_ends for piece in pieces)
    assert all(task.entry for task in after.tasks if task.state == "done")


def test_a_wire_thrown_away_is_cut_and_made_anew_under_the_same_ids(
    desk: BuildDesk, bench: BenchDesk, own: Opened
) -> None:
    wire = own.plan.runs[0].wires[0]
    tasks = all_tasks(desk, own.build_id)
    made = [tasks[f"cut/{wire.id}"], tasks[f"crimp/{wire.id}/part"]]
    send(desk, bench, own.build_id, *(tick(task, n) for n, task in enumerate(made)))
    assert [all_tasks(desk, own.build_id)[task.id].state for task in made] == ["done", "done"]
    piece = next(piece for piece in desk.open(own.build_id).on_hand.pieces if piece.wire == wire.id)
    bench.write(ScrapPiece(piece.id, "nicked"))
    assert [all_tasks(desk, own.build_id)[task.id].state for task in made] == ["open", "open"]


def test_what_is_kept_from_before_a_tick_is_what_a_planner_started_afresh_makes(
    engine: Engine, desk: BuildDesk, bench: BenchDesk, own: Opened
) -> None:
    texts, first = Texts(), own.plan.runs[0]
    one, other = first.wires[:2]

    def check() -> dict[str, Task]:
        ours, afresh = (planner.open(own.build_id) for planner in (desk, BuildDesk(engine, EXAMPLES)))
        kept, fresh = tasks_of(ours), tasks_of(afresh)
        assert ours.plan == afresh.plan
        assert kept == fresh
        assert json.loads(tasks_json(kept, texts)) == json.loads(tasks_json(fresh, Texts()))
        return {task.id: task for task in kept.tasks}

    tasks, number = check(), 0
    row = (f"take/{first.id}", f"cut/{one.id}", f"cut/{other.id}", f"crimp/{one.id}/part", f"sleeve/{one.id}")
    for number, ident in enumerate((*row, f"crimp/{one.id}/source", f"fit/{one.id}"), start=1):
        assert send(desk, bench, own.build_id, tick(tasks[ident], number))[0].state == "written"
        tasks = check()
    send(desk, bench, own.build_id, Tick(str(UUID(int=7)), number + 1, "undo", "", entry=tasks[f"fit/{one.id}"].entry))
    tasks = check()
    assert tasks[f"fit/{one.id}"].state == "open"
    bench.write(ScrapPiece(tasks[f"cut/{other.id}"].entry, "nicked"))
    assert check()[f"cut/{other.id}"].state == "open"
    longer = RouteEntry(Route(length_mm=(first.length_mm or 0) + 100))
    desk.set_routes(own.build_id, own.revision, {first.id: longer})
    assert check()[f"cut/{one.id}"].state != "done"


def test_a_longer_route_opens_the_cut_again_for_what_is_too_short_now(
    desk: BuildDesk, bench: BenchDesk, own: Opened
) -> None:
    run = next(run for run in own.plan.runs if run.use == "cpu")
    cut = all_tasks(desk, own.build_id)[f"cut/{run.wires[0].id}"]
    send(desk, bench, own.build_id, tick(cut))
    desk.set_routes(own.build_id, own.revision, {run.id: RouteEntry(Route(length_mm=(run.length_mm or 0) + 100))})
    again = all_tasks(desk, own.build_id)[cut.id]
    assert again.state in ("open", "blocked")
    assert any("too short" in line for line in again.lines)


def test_every_face_is_light_and_holds_each_cavity_once(opened: Opened) -> None:
    tasks = tasks_of(opened)
    named = {plug.key for task in tasks.tasks for plug in task.plugs}
    assert named <= set(tasks.plugs)
    for run in opened.plan.runs:
        for index, plug in enumerate(run.ends if run.wires else ()):
            svg = tasks.plugs[f"{run.id}/p{index}"].svg
            names = [place.name for place in cavities(opened.catalogue.housings[plug.housing])]
            assert [svg.count(f'data-cavity="{name}"') for name in names] == [1] * len(names)
            assert "WIRE SIDE" in svg
    assert max(len(face.svg.encode()) for face in tasks.plugs.values()) < 3000


def test_a_jumper_stays_out_of_the_sleeve_that_holds_all_other_wires_of_a_run() -> None:
    planned = with_jumper().run
    wires = tuple(replace(w, sleeve_colour="" if w.label == "1-06" else "BK") for w in planned.wires)
    rows = RunRows(replace(planned, use="usb", wires=wires), {}, CATALOGUE)
    # By hand: part ends are crimped first, then the sleeve is drawn over all wires; wire 1-06 bridges two cavities of
    # the part's plug, so that the sleeve waits for nothing of it.
    before = {w.label: rows.before(w, "sleeve/r1") for w in wires}
    assert before["1-06"] == []
    assert before["1-01"] == ["crimp/r1/1-01/part"]
