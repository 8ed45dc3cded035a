"""The bench over a real database file: the books balance through plan, purchase, edit, undo and reopening, and a killed
process loses nothing that it acknowledged. Expected values: properties; the reckoning is that of ``bench_books``."""

import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from server.domain.edits import RouteEntry
from server.domain.errors import InvalidInputError
from server.domain.ledger import bench_of
from server.domain.model.bench import STAGES, Bench, Piece, Recount, ScrapPiece, Shelve, Stage
from server.domain.model.build import Route
from server.services.bench import BenchDesk
from server.services.builds import BuildDesk
from server.services.opened import Opened
from server.store.database import open_database, reading
from server.store.ledger import StoredEntry, entries
from tests.domain.bench_books import check_books

ROOT = Path(__file__).parents[2]
PLACES = st.integers(0, 200)


class FromPlanToBench(RuleBasedStateMachine):
    """One build of the examples, planned, bought for, cut, changed and reopened in random order."""

    installed: Path

    def __init__(self) -> None:
        super().__init__()
        self.folder = Path(tempfile.mkdtemp(prefix="bench-"))
        self.file = Path(shutil.copy(self.installed, self.folder / "loomwright.db"))
        self.stored: tuple[StoredEntry, ...] = ()
        self.open()

    def open(self) -> None:
        self.engine = open_database(self.file)
        self.desk = BuildDesk(self.engine, ROOT / "seed_data" / "examples")
        self.bench = BenchDesk(self.engine, self.desk)

    def teardown(self) -> None:
        self.engine.dispose()
        shutil.rmtree(self.folder)

    @property
    def opened(self) -> Opened:
        return self.desk.open(self.build_id)

    def pieces(self) -> list[Piece]:
        return [piece for piece in self.bench.bench().pieces.values() if piece.whereabouts == "cable"]

    @initialize()
    def plan(self) -> None:
        self.build_id = self.desk.create_example("compact").build_id
        self.buy(0)

    @rule(at=PLACES)
    def buy(self, at: int) -> None:
        opened = self.opened
        lines = [line for line in opened.plan.buys if line.packs]
        if lines:
            line = lines[at % len(lines)]
            self.bench.buy(
                self.build_id,
                opened.revision,
                (line.kind, line.item, line.colour),
                dict(line.packs),
                base=opened.ledger,
            )
            after = self.opened.plan.buys
            assert (
                next(x for x in after if (x.kind, x.item, x.colour) == (line.kind, line.item, line.colour)).to_buy == 0
            )

    @rule(at=PLACES)
    def cut(self, at: int) -> None:
        opened = self.opened
        there = [
            layout
            for sheet in opened.plan.rolls
            for layout in sheet.layouts
            if layout.source != "roll" and any(piece.ready for piece in layout.pieces)
        ]
        if there:
            layout = there[at % len(there)]
            self.bench.cut_layout(self.build_id, opened.revision, layout.source, layout.lot)

    @rule(at=PLACES)
    def take(self, at: int) -> None:
        opened = self.opened
        run = opened.plan.runs[at % len(opened.plan.runs)]
        try:
            self.bench.take_run(self.build_id, opened.revision, run.id)
        except InvalidInputError:
            return

    @precondition(lambda self: self.pieces())
    @rule(at=PLACES, stage=st.sampled_from(STAGES))
    def stage(self, at: int, stage: Stage) -> None:
        pieces = [piece.id for piece in self.pieces() if stage not in piece.stages]
        if pieces:
            try:
                self.bench.stage(self.build_id, pieces[at % len(pieces) :][:5], stage)
            except InvalidInputError as error:
                # It is told what comes first.
                assert "before it is" in str(error)  # noqa: PT017

    @precondition(lambda self: self.pieces())
    @rule(at=PLACES, kept=st.booleans())
    def let_go_of_a_piece(self, at: int, kept: bool) -> None:
        piece = self.pieces()[at % len(self.pieces())].id
        self.bench.write(Shelve(piece) if kept else ScrapPiece(piece, "kinked"))

    @rule(at=PLACES, off=st.integers(-60, 60))
    def recount(self, at: int, off: int) -> None:
        lots = list(self.bench.bench().lots.values())
        lot = lots[at % len(lots)]
        self.bench.write(Recount(lot.id, max(0, lot.left + off), "measured"))

    @rule(at=PLACES, more=st.sampled_from([-120, -10, 10, 150]))
    def edit(self, at: int, more: int) -> None:
        opened = self.opened
        run = [run for run in opened.plan.runs if run.length_mm][at % 3]
        length = max(150, (run.length_mm or 0) + more)
        self.desk.set_routes(self.build_id, opened.revision, {run.id: RouteEntry(Route(length_mm=length))})

    @rule()
    def add_a_fan(self) -> None:
        opened = self.opened
        if len(opened.plan.runs) < 12:
            try:
                self.desk.add_late(self.build_id, opened.revision, "fan-4", 1)
            except InvalidInputError:
                return

    @rule(back=st.integers(0, 8))
    def undo(self, back: int) -> None:
        try:
            self.bench.undo(self.bench.bench().entries - back)
        except InvalidInputError as error:
            # It is told what stands against it.
            assert "entry" in str(error) or "undone" in str(error)  # noqa: PT017

    @rule()
    def reopen(self) -> None:
        self.engine.dispose()
        self.open()

    @invariant()
    def the_books_balance(self) -> None:
        state = self.bench.state()
        check_books(state.entries, state.bench)

    @invariant()
    def what_was_written_stays_and_gives_the_running_bench(self) -> None:
        with reading(self.engine) as session:
            stored = entries(session)
        assert stored[: len(self.stored)] == self.stored
        assert bench_of([one.entry for one in stored]) == self.bench.bench()
        self.stored = stored

    @invariant()
    def every_piece_of_the_build_stands_in_the_change_list_once(self) -> None:
        if hasattr(self, "build_id"):
            listed = [change.piece for change in self.opened.plan.changes if change.piece]
            assert sorted(listed) == [piece.id for piece in self.pieces()]


def test_the_books_balance_from_plan_to_bench_whatever_is_done_in_between(installed_file: Path) -> None:
    case = FromPlanToBench.TestCase
    FromPlanToBench.installed = installed_file
    few = settings(max_examples=6, stateful_step_count=14, deadline=None, suppress_health_check=list(HealthCheck))
    case.settings = few
    case().runTest()


WRITER = """
import sys
from decimal import Decimal
from pathlib import Path
from server.domain.model.bench import Cut, Done, Material, Receive, ScrapStock, Shelve
from server.services.bench import BenchDesk
from server.services.builds import BuildDesk
from server.store.database import open_database

engine = open_database(Path(sys.argv[1]))
desk = BuildDesk(engine, Path(sys.argv[2]))
bench = BenchDesk(engine, desk)
build = sys.argv[3]
while True:
    lot = bench.write(Receive(Material("wire", "awg16-plain", "BK"), 1000, Decimal("5.00"), "bought", build))
    print("one", lot, flush=True)
    # Two cuts that belong together: never one without the other.
    cuts = bench.write_all([Cut(lot, build, f"r1/p1.main/{n}", f"1-{n}", 1, 300, 2) for n in (1, 2)])
    print("both", *cuts, flush=True)
    for entry in (Done(cuts[0], "crimped"), Shelve(cuts[1]), ScrapStock(lot, 10, "kinked")):
        print("one", bench.write(entry), flush=True)
"""


@pytest.mark.parametrize("seed", range(3))
def test_a_killed_process_loses_nothing_acknowledged_and_leaves_nothing_half_written(
    installed_file: Path, tmp_path: Path, seed: int
) -> None:
    file = Path(shutil.copy(installed_file, tmp_path / "loomwright.db"))
    engine = open_database(file)
    build = BuildDesk(engine, ROOT / "seed_data" / "examples").create("Tower").build_id
    engine.dispose()
    words = [sys.executable, "-c", WRITER, str(file), str(ROOT / "seed_data" / "examples"), build]
    with subprocess.Popen(words, cwd=ROOT, stdout=subprocess.PIPE, text=True) as child:
        assert child.stdout is not None
        first = child.stdout.readline()
        time.sleep(random.Random(seed).uniform(0, 0.12))
        os.kill(child.pid, signal.SIGKILL)
        acknowledged = (first + child.stdout.read()).splitlines()
    numbers = [int(word) for line in acknowledged for word in line.split()[1:]]

    reopened = open_database(file)
    bench = BenchDesk(reopened, BuildDesk(reopened, ROOT / "seed_data" / "examples"))
    state = bench.state()

    assert child.returncode == -signal.SIGKILL
    assert numbers == list(range(1, len(numbers) + 1))
    # The last transaction may be committed and not yet told of; it has two entries at most.
    assert len(numbers) <= state.number <= len(numbers) + 2
    assert len(state.bench.pieces) % 2 == 0
    check_books(state.entries, state.bench)
    assert bench_of(state.entries) == state.bench != Bench()
    reopened.dispose()
