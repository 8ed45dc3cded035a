"""Ticks of the bench screen, over a real database file. Expected values: properties (each tick counts once, in whatever
way it came), and entries by hand beside each test."""

import os
import random
import shutil
import signal
import subprocess
import sys
import threading
import time
from dataclasses import replace
from pathlib import Path
from uuid import uuid4

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import Engine

from server.domain.edits import RouteEntry
from server.domain.model.bench import Cut, Done, Entry, Pace, Recount, ScrapPiece, Shelve, Take, Timed, Undo
from server.domain.model.build import Route
from server.services.bench import BenchDesk
from server.services.bench_task_types import Task
from server.services.bench_tick_types import Tick, TickResult
from server.services.builds import BuildDesk
from server.services.opened import Opened
from server.store.database import open_database
from tests.services.bench_ticking import AT, all_tasks, send, stocked, tick, ticks_of

ROOT = Path(__file__).parents[2]
EXAMPLES = ROOT / "seed_data" / "examples"


@pytest.fixture(scope="module")
def stocked_file(installed_file: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """The compact example with everything bought, made once and copied for every test; and its build's id."""
    path = Path(shutil.copy(installed_file, tmp_path_factory.mktemp("stocked") / "loomwright.db"))
    engine = open_database(path)
    builds = BuildDesk(engine, EXAMPLES)
    build_id = stocked(builds, BenchDesk(engine, builds, lambda: AT), "compact").build_id
    engine.dispose()
    return path, build_id


class Scene:
    """One build at the bench."""

    def __init__(self, engine: Engine, build_id: str) -> None:
        self.engine, self.id = engine, build_id
        self.desk = BuildDesk(engine, EXAMPLES)
        self.bench = BenchDesk(engine, self.desk, lambda: AT)

    @property
    def opened(self) -> Opened:
        return self.desk.open(self.id)

    @property
    def tasks(self) -> dict[str, Task]:
        return all_tasks(self.desk, self.id)

    def wire(self, at: int = 0, run: int = 0) -> str:
        return self.opened.plan.runs[run].wires[at].id

    def send(self, *ticks: Tick) -> tuple[TickResult, ...]:
        return send(self.desk, self.bench, self.id, *ticks)

    def done(self, *ids: str) -> tuple[TickResult, ...]:
        """The tasks as they stand, ticked."""
        tasks = self.tasks
        return self.send(*(tick(tasks[ident], n, word=str(uuid4())) for n, ident in enumerate(ids)))

    def piece(self, wire: str):
        return next((piece for piece in self.opened.on_hand.pieces if piece.wire == wire), None)

    def entries(self, since: int = 0):
        return self.bench.state().entries[since:]


@pytest.fixture
def scene(stocked_file: tuple[Path, str], tmp_path: Path):
    engine = open_database(Path(shutil.copy(stocked_file[0], tmp_path / "loomwright.db")))
    yield Scene(engine, stocked_file[1])
    engine.dispose()


def test_a_tick_that_is_sent_again_is_written_once_and_answered_alike(scene: Scene) -> None:
    cut = tick(scene.tasks[f"cut/{scene.wire()}"])
    first, second = scene.send(cut)[0], scene.send(cut)[0]
    assert (first.state, second.state) == ("written", "known")
    assert (first.message, first.entries) == (second.message, second.entries)
    assert sum(isinstance(entry, Cut) for entry in scene.entries()) == 1


def test_the_same_tick_twice_in_one_call_is_written_once(scene: Scene) -> None:
    cut = tick(scene.tasks[f"cut/{scene.wire()}"])
    assert [result.state for result in scene.send(cut, cut)] == ["written", "known"]


def test_a_refused_tick_stays_refused_and_stops_no_other(scene: Scene) -> None:
    tasks = scene.tasks
    early, cut = tick(tasks[f"crimp/{scene.wire()}/part"], 1), tick(tasks[f"cut/{scene.wire()}"], 2)
    refused, written = scene.send(early, cut)
    assert (refused.state, written.state) == ("refused", "written")
    assert "not cut" in refused.message
    # Though it could be written now, its device was told that it was not.
    assert scene.send(early)[0] == refused


def test_an_id_of_another_task_is_refused(scene: Scene) -> None:
    tasks = scene.tasks
    cut = tick(tasks[f"cut/{scene.wire()}"])
    scene.send(cut)
    other = replace(tick(tasks[f"cut/{scene.wire(1)}"]), id=cut.id)
    assert "another tick" in scene.send(other)[0].message


def test_ticks_are_worked_in_the_order_of_their_device_and_answered_in_that_sent(scene: Scene) -> None:
    tasks, wire = scene.tasks, scene.wire()
    crimp, cut = tick(tasks[f"crimp/{wire}/part"], 2), tick(tasks[f"cut/{wire}"], 1)
    results = scene.send(crimp, cut)
    assert [result.state for result in results] == ["written", "written"]
    assert results[1].entries < results[0].entries


def test_the_same_tick_from_two_connections_at_once_is_written_once(scene: Scene) -> None:
    cut = tick(scene.tasks[f"cut/{scene.wire()}"])
    gate, found = threading.Barrier(4), []

    def post() -> None:
        gate.wait()
        found.append(scene.send(cut)[0])

    threads = [threading.Thread(target=post) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(result.state for result in found) == ["known", "known", "known", "written"]
    assert len({result.entries for result in found}) == 1
    assert sum(isinstance(entry, Cut) for entry in scene.entries()) == 1


def test_two_devices_cannot_cut_one_wire(scene: Scene) -> None:
    task = scene.tasks[f"cut/{scene.wire()}"]
    mine, theirs = scene.send(tick(task, word="mine"))[0], scene.send(tick(task, word="theirs"))[0]
    assert (mine.state, theirs.state) == ("written", "refused")
    assert "cut already" in theirs.message


def test_a_cut_is_refused_when_the_lot_is_short_now(scene: Scene) -> None:
    task = scene.tasks[f"cut/{scene.wire()}"]
    assert task.tick
    scene.bench.write(Recount(int(task.tick["lot"]), 10, "measured"))
    assert "only 10 mm left" in scene.send(tick(task))[0].message


def test_a_cut_is_refused_when_the_wire_takes_another_length_now(scene: Scene) -> None:
    run = next(run for run in scene.opened.plan.runs if run.use == "cpu")
    task = scene.tasks[f"cut/{run.wires[0].id}"]
    longer = Route(length_mm=(run.length_mm or 0) + 50)
    scene.desk.set_routes(scene.id, scene.opened.revision, {run.id: RouteEntry(longer)})
    assert "to be cut to" in scene.send(tick(task))[0].message


def test_a_cut_without_its_lot_is_refused(scene: Scene) -> None:
    task = scene.tasks[f"cut/{scene.wire()}"]
    assert "does not say its lot" in scene.send(replace(tick(task), tick={"length": task.tick["length"]}))[0].message  # type: ignore[index]


@pytest.mark.parametrize("order", [("part", "source"), ("source", "part")])
def test_a_wire_is_crimped_by_two_halves_whichever_end_is_first(scene: Scene, order: tuple[str, str]) -> None:
    wire = scene.wire()
    scene.done(f"cut/{wire}")
    before = scene.bench.state().number
    scene.done(f"crimp/{wire}/{order[0]}")
    assert scene.piece(wire).crimped_ends == (order[0],)
    states = {side: scene.tasks[f"crimp/{wire}/{side}"].state for side in order}
    assert states == {order[0]: "done", order[1]: "open"}
    scene.done(f"crimp/{wire}/{order[1]}")
    assert scene.piece(wire).stages == ("crimped",)
    assert [(entry.end, entry.more) for entry in scene.entries(before)] == [(order[0], True), (order[1], False)]


def test_a_chain_is_crimped_whole_by_its_source_end(scene: Scene) -> None:
    run = next(run for run in scene.opened.plan.runs if run.kind == "chain")
    wire = run.wires[0].id
    scene.done(f"cut/{wire}", f"crimp/{wire}/source")
    assert scene.piece(wire).stages == ("crimped",)


def test_what_is_done_already_is_refused(scene: Scene) -> None:
    wire = scene.wire()
    row = [f"cut/{wire}", f"crimp/{wire}/part", f"sleeve/{wire}", f"crimp/{wire}/source", f"fit/{wire}"]
    assert {result.state for result in scene.done(*row)} == {"written"}
    again = scene.done(*row)
    assert {result.state for result in again} == {"refused"}
    assert all("already" in result.message for result in again)


def test_a_piece_that_is_gone_or_cut_anew_is_refused(scene: Scene) -> None:
    wire = scene.wire()
    scene.done(f"cut/{wire}")
    crimp = tick(scene.tasks[f"crimp/{wire}/part"], word="a")
    scene.bench.write(ScrapPiece(scene.piece(wire).id, "nicked"))
    assert "thrown away" in scene.send(crimp)[0].message
    scene.done(f"cut/{wire}")
    assert "cut anew" in scene.send(replace(crimp, id=str(uuid4())))[0].message


def test_a_wire_that_is_wired_otherwise_now_is_not_fitted(scene: Scene) -> None:
    wire = scene.wire()
    scene.done(f"cut/{wire}", f"crimp/{wire}/part", f"crimp/{wire}/source")
    told = replace(tick(scene.tasks[f"fit/{wire}"]), tick={"wiring": "supply:M1:1>p1:main:9"})
    assert "wired otherwise" in scene.send(told)[0].message


def test_a_wire_that_is_not_crimped_at_both_ends_is_not_fitted(scene: Scene) -> None:
    wire = scene.wire()
    results = scene.done(f"cut/{wire}", f"crimp/{wire}/part", f"fit/{wire}")
    assert "not crimped yet" in results[-1].message


def test_tubes_of_one_length_are_cut_by_one_tick_from_the_lots_that_it_names(scene: Scene) -> None:
    run = scene.opened.plan.runs[0]
    task = next(t for t in scene.tasks.values() if t.run == run.id and t.id.startswith(f"cut/{run.id}/shrink/"))
    before = scene.bench.state().number
    assert scene.done(task.id)[0].state == "written"
    cuts = scene.entries(before)
    assert len(cuts) == run.shrink_count
    assert {cut.length_mm for cut in cuts} == {run.shrink_cut_mm}
    assert scene.tasks[task.id].state == "done"
    assert "cut already" in scene.send(tick(task, word="again"))[0].message


def test_a_cable_that_is_to_be_sleeved_in_another_colour_now_is_not_ticked_as_sleeved(scene: Scene) -> None:
    run = next(run for run in scene.opened.plan.runs if run.kind == "sleeved")
    task = scene.tasks[f"sleeve/{run.id}"]
    assert scene.done(*(before for before in task.after if before.startswith("cut/")))[0].state == "written"
    sleeved = tick(task)
    other = replace(sleeved, id=str(uuid4()), tick={"colour": "another"})
    assert "sleeved otherwise now" in scene.send(other)[0].message
    assert scene.send(sleeved)[0].state == "written"


def test_parts_are_taken_once(scene: Scene) -> None:
    run = scene.opened.plan.runs[0]
    task = scene.tasks[f"take/{run.id}"]
    first, second = scene.send(tick(task, 1, word="a"), tick(task, 2, word="b"))
    assert (first.state, second.state) == ("written", "refused")
    taken = [entry for entry in scene.entries() if isinstance(entry, Take)]
    assert sum(entry.quantity for entry in taken) == task.tick["quantity"]  # type: ignore[index]


def test_a_tick_is_taken_back_with_all_its_entries_the_last_first(scene: Scene) -> None:
    run = scene.opened.plan.runs[0]
    taken = tick(scene.tasks[f"take/{run.id}"])
    written = scene.send(taken)[0]
    back = Tick(str(uuid4()), 2, "undo", taken.task, of=taken.id)
    result = scene.send(back)[0]
    assert result.state == "written"
    assert [entry.entry for entry in scene.entries(result.entries[0] - 1)] == list(reversed(written.entries))
    assert scene.tasks[taken.task].state == "open"
    assert scene.send(back)[0].state == "known"
    assert "already" in scene.send(replace(back, id=str(uuid4())))[0].message


def test_an_entry_is_taken_back_with_the_others_of_its_tick(scene: Scene) -> None:
    run = scene.opened.plan.runs[0]
    taken = tick(scene.tasks[f"take/{run.id}"])
    written = scene.send(taken)[0]
    entry = scene.tasks[taken.task].entry
    assert entry == written.entries[-1]
    result = scene.send(Tick(str(uuid4()), 2, "undo", taken.task, entry=entry))[0]
    assert len(result.entries) == len(written.entries)


def test_an_entry_that_others_lean_on_is_not_taken_back(scene: Scene) -> None:
    wire = scene.wire()
    cut, _ = scene.done(f"cut/{wire}", f"crimp/{wire}/part")
    result = scene.send(Tick(str(uuid4()), 9, "undo", f"cut/{wire}", entry=cut.entries[0]))[0]
    assert (result.state, "leans on" in result.message) == ("refused", True)


def test_only_ticks_of_this_build_are_taken_back(scene: Scene) -> None:
    other = scene.desk.create("Other").build_id
    lot = next(iter(scene.bench.bench().lots))
    results = send(scene.desk, scene.bench, other, Tick(str(uuid4()), 1, "undo", "", entry=lot))
    assert "none of this build" in results[0].message
    assert "in the ledger" in scene.send(Tick(str(uuid4()), 1, "undo", "", entry=lot))[0].message


def test_a_measured_time_is_written_and_taken_back(scene: Scene) -> None:
    run = scene.opened.plan.runs[0]
    measured = Tick(str(uuid4()), 1, "time", operation="crimp", count=12, seconds=504, run=run.id)
    assert scene.send(measured)[0].state == "written"
    # By hand: an end is stripped and crimped in one go; weighed as 0.3 to 0.6 min, so 504 s are 168 and 336.
    crimped, stripped = Timed(scene.id, run.number, "crimp", 12, 336), Timed(scene.id, run.number, "strip", 12, 168)
    assert tuple(scene.entries()[-2:]) == (crimped, stripped)
    assert scene.bench.bench().paces[scene.id, "crimp"] == Pace(12, 336)
    scene.send(Tick(str(uuid4()), 2, "undo", of=measured.id))
    assert (scene.id, "crimp") not in scene.bench.bench().paces


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"operation": "juggle"}, "no such operation"),
        ({"run": "r99"}, "no such run"),
        ({"count": 0}, "how often"),
        ({"seconds": 0}, "1 second to a day"),
        # By hand: a day is 86,400 s; shared by 1 to 2 among two operations, either share would pass for itself.
        ({"seconds": 86_401}, "1 second to a day"),
    ],
)
def test_a_time_of_nothing_known_is_refused(scene: Scene, wrong: dict, words: str) -> None:
    measured = Tick(str(uuid4()), 1, "time", operation="crimp", count=12, seconds=504)
    assert words in scene.send(replace(measured, **wrong))[0].message


@pytest.mark.parametrize(
    "task", ["test/r1", "dance/r1", "cut/nothing", "crimp/r1/x", "sleeve/x", "fit/x", "take/x", ""]
)
def test_a_task_that_there_is_not_is_refused_in_words(scene: Scene, task: str) -> None:
    result = scene.send(Tick(str(uuid4()), 1, "do", task, {}))[0]
    assert result.state == "refused"
    assert len(result.message) > 10


def test_a_shelved_wire_can_be_cut_again(scene: Scene) -> None:
    wire = scene.wire()
    scene.done(f"cut/{wire}")
    scene.bench.write(Shelve(scene.piece(wire).id))
    assert scene.done(f"cut/{wire}")[0].state == "written"


@pytest.fixture(scope="module")
def line(stocked_file: tuple[Path, str]) -> list[Tick]:
    """What one device ticks of a few wires, some of it taken back again."""
    engine = open_database(stocked_file[0])
    scene = Scene(engine, stocked_file[1])
    wires, tasks = [scene.wire(at) for at in range(3)], scene.tasks
    ids = [f"cut/{wire}" for wire in wires] + [f"crimp/{wire}/part" for wire in wires]
    ids += [f"sleeve/{wires[0]}", f"crimp/{wires[0]}/source", f"fit/{wires[0]}", f"take/{scene.opened.plan.runs[0].id}"]
    made = ticks_of(tasks, ids)
    made.append(Tick(str(uuid4()), len(made) + 1, "undo", made[5].task, of=made[5].id))
    made.append(Tick(str(uuid4()), len(made) + 1, "time", operation="cut", count=3, seconds=60))
    engine.dispose()
    return made


@pytest.fixture(scope="module")
def once(stocked_file: tuple[Path, str], line: list[Tick], tmp_path_factory: pytest.TempPathFactory):
    """The ledger after that line, sent in one call whose answer came."""
    return _ledger_after(stocked_file, tmp_path_factory, [line])


@settings(max_examples=20, deadline=None, suppress_health_check=list(HealthCheck))
@given(data=st.data())
def test_a_line_of_ticks_leaves_the_same_ledger_however_often_answers_are_lost(
    stocked_file: tuple[Path, str],
    line: list[Tick],
    once: tuple[Entry, ...],
    tmp_path_factory: pytest.TempPathFactory,
    data: st.DataObject,
) -> None:
    # A device sends what is not answered yet, from the first on; of any call the answer may be lost.
    calls, at = [], 0
    while at < len(line):
        size = data.draw(st.integers(1, len(line) - at), label="sent")
        calls.append(line[at : at + size])
        at += data.draw(st.integers(0, size), label="answered") if len(calls) < 12 else size
    assert _ledger_after(stocked_file, tmp_path_factory, calls) == once


def _ledger_after(stocked_file: tuple[Path, str], folders: pytest.TempPathFactory, calls: list[list[Tick]]):
    engine = open_database(Path(shutil.copy(stocked_file[0], folders.mktemp("line") / "loomwright.db")))
    scene = Scene(engine, stocked_file[1])
    for call in calls:
        scene.send(*call)
    found = scene.entries()
    engine.dispose()
    return found


WRITER = """
import sys
from pathlib import Path
from server.services.bench import BenchDesk
from server.services.builds import BuildDesk
from server.store.database import open_database
from tests.services.bench_ticking import all_tasks, send, ticks_of

engine = open_database(Path(sys.argv[1]))
desk = BuildDesk(engine, Path(sys.argv[2]))
bench = BenchDesk(engine, desk)
tasks = all_tasks(desk, sys.argv[3])
print("ready", flush=True)
for tick in ticks_of(tasks, tasks):
    result = send(desk, bench, sys.argv[3], tick)[0]
    print(tick.id, result.state, *result.entries, flush=True)
"""


@pytest.mark.parametrize("seed", range(2))
def test_a_killed_process_keeps_every_tick_that_it_answered_and_no_half_of_another(
    stocked_file: tuple[Path, str], tmp_path: Path, seed: int
) -> None:
    file = Path(shutil.copy(stocked_file[0], tmp_path / "loomwright.db"))
    words = [sys.executable, "-c", WRITER, str(file), str(EXAMPLES), stocked_file[1]]
    with subprocess.Popen(words, cwd=ROOT, stdout=subprocess.PIPE, text=True) as child:
        assert child.stdout is not None
        assert child.stdout.readline() == "ready\n"
        time.sleep(random.Random(seed).uniform(0.3, 1.5))
        os.kill(child.pid, signal.SIGKILL)
        lines = [line.split() for line in child.stdout.read().splitlines() if line.count("-") == 4]
    assert child.returncode == -signal.SIGKILL
    engine = open_database(file)
    scene = Scene(engine, stocked_file[1])
    at_kill = scene.entries()
    answered = {ident: tuple(map(int, numbers)) for ident, _, *numbers in lines}
    fresh = BuildDesk(open_database(Path(shutil.copy(stocked_file[0], tmp_path / "fresh.db"))), EXAMPLES)
    tasks = all_tasks(fresh, stocked_file[1])
    line = ticks_of(tasks, tasks)
    results = {result.id: result for result in scene.send(*line)}
    assert {ident: results[ident].entries for ident in answered} == answered
    known = [result for result in results.values() if result.state == "known"]
    # The last one may be committed and not told of.
    assert len(answered) <= len(known) <= len(answered) + 1
    ticked = [entry for entry in scene.entries() if isinstance(entry, Cut | Done | Take)]
    assert sum(len(result.entries) for result in known) == sum(isinstance(e, Cut | Done | Take) for e in at_kill)
    assert len({(e.wire if isinstance(e, Cut) else e) for e in ticked}) == len(ticked)
    assert not any(isinstance(entry, Undo) for entry in scene.entries())
    engine.dispose()
