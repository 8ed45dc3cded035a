"""Taking what the bench measured, over a real database file. Expected values: divisions by hand, and the rules of each
intent."""

from concurrent.futures import ThreadPoolExecutor
from decimal import Decimal
from pathlib import Path

import pytest
from sqlalchemy import Engine

from server.config import Settings
from server.domain.errors import ConflictError, InvalidInputError, NotFoundError
from server.domain.model.bench import Cut, Done, Entry, Material, Pace, Receive, ScrapPiece, ScrapStock, Timed, Undo
from server.domain.model.build import Spare
from server.domain.model.plan import RunPlan
from server.domain.plan.lists import counted_by
from server.services.bench import BenchDesk
from server.services.builds import BuildDesk
from server.services.learning import LearningDesk, timed_words
from server.services.offline import kept_catalogue
from server.services.opened import Opened
from server.services.stock import StockDesk

AT = "2025-01-01T00:00:00+00:00"
CRIMPS = Timed("", 0, "crimp", 48, 2016)
"""42 s each, 0.70 min; the shipped table says 0.6."""


class Scene:
    """Every desk over one database, and the small example in it."""

    def __init__(self, engine: Engine, desk: BuildDesk) -> None:
        self.builds, self.bench, self.stock = desk, BenchDesk(engine, desk, lambda: AT), StockDesk(engine)
        self.learning = LearningDesk(engine, desk, lambda: AT)
        self.crimped = 0
        self.id = desk.create_example("compact").build_id

    def open(self) -> Opened:
        return self.builds.open(self.id)

    def minutes(self) -> Decimal:
        return self.builds.catalogue().labour["crimp"].minutes

    def source(self) -> str:
        return self.builds.catalogue().labour["crimp"].source

    def crimps(self) -> int:
        return next(line.count for line in self.open().plan.estimate.labour if line.operation == "crimp")

    def worked(self) -> None:
        """Every wire of the runs that take two contacts a wire cut and crimped, two of them thrown away, and two
        bent contacts."""
        runs = [run for run in self.open().plan.runs if run.wires and two_a_wire(run, self.open())]
        wires = [(run.number, wire) for run in runs for wire in run.wires]
        entries: list[Entry] = [
            Receive(Material("wire", "awg18-plain", "BK"), 100_000, Decimal(40), "a drum"),
            Receive(Material("contact", "p42-socket-18"), 200, Decimal(12), "a bag"),
        ]
        entries += [Cut(1, self.id, wire.id, wire.label, number, 500) for number, wire in wires]
        entries += [Done(piece, "crimped") for piece in range(3, 3 + len(wires))]
        entries += [ScrapPiece(3, "too deep"), ScrapPiece(4, "strands cut"), ScrapStock(2, 2, "bent")]
        self.bench.write_all(entries)
        self.crimped = len(wires)


def two_a_wire(run: RunPlan, opened: Opened) -> bool:
    """Whether a run takes two crimped contacts for each of its wires."""
    contacts = sum(n for (kind, *_), n in counted_by(run, opened.catalogue).items() if kind == "contact")
    return contacts == 2 * len(run.wires)


@pytest.fixture
def scene(engine: Engine, desk: BuildDesk) -> Scene:
    return Scene(engine, desk)


# ---- minutes --------------------------------------------------------------------------------------------------------


def test_nothing_is_taken_by_looking(scene: Scene) -> None:
    scene.bench.write(CRIMPS)
    before = scene.stock.rows("labour"), scene.open()
    assert [found.measured.minutes for found in scene.learning.learned_times(scene.open())] == [Decimal("0.70")]
    scene.learning.learned_losses(scene.open())
    assert (scene.stock.rows("labour"), scene.open()) == before


def test_measured_minutes_count_once_they_are_taken_and_say_where_they_come_from(scene: Scene) -> None:
    scene.bench.write(CRIMPS)
    scene.learning.take_minutes("crimp", Decimal("0.70"))
    assert (scene.minutes(), scene.source()) == (Decimal("0.70"), "your bench, 48 timed in 33 min 36 s")


def test_the_estimate_that_was_announced_is_the_one_that_follows(scene: Scene) -> None:
    scene.bench.write(CRIMPS)
    before, crimps = scene.open().plan.estimate, scene.crimps()
    (found,) = scene.learning.learned_times(scene.open())
    scene.learning.take_minutes("crimp", Decimal("0.70"))
    after = scene.open().plan.estimate
    # 0.70 - 0.6 = 0.1 min for each contact.
    assert after.minutes - before.minutes == crimps * Decimal("0.1")
    assert (after.minutes, after.total) == (found.after.minutes, found.after.total)


def test_going_back_restores_table_and_estimate(scene: Scene) -> None:
    scene.bench.write(CRIMPS)
    rows, estimate = scene.stock.rows("labour"), scene.open().plan.estimate
    scene.learning.take_minutes("crimp", Decimal("0.70"))
    (found,) = scene.learning.learned_times(scene.open())
    assert (found.back.minutes, found.back.total) == (estimate.minutes, estimate.total)
    scene.learning.shipped_minutes("crimp")
    scene.learning.shipped_minutes("crimp")
    assert (scene.stock.rows("labour"), scene.open().plan.estimate) == (rows, estimate)


def test_taken_twice_they_count_once(scene: Scene) -> None:
    scene.bench.write(CRIMPS)
    scene.learning.take_minutes("crimp", Decimal("0.70"))
    scene.learning.take_minutes("crimp", Decimal("0.70"))
    assert scene.minutes() == Decimal("0.70")


def test_minutes_that_the_bench_no_longer_measures_are_refused(scene: Scene) -> None:
    # 48 in 2016 s and 12 in 864 s: 60 in 2880 s, 48 s each, 0.80 min.
    scene.bench.write_all([CRIMPS, Timed("", 0, "crimp", 12, 864)])
    with pytest.raises(InvalidInputError, match=r"0\.80 min by now, not 0\.70") as error:
        scene.learning.take_minutes("crimp", Decimal("0.70"))
    assert [problem.field for problem in error.value.problems] == ["minutes"]
    assert scene.minutes() == Decimal("0.6")


def test_minutes_of_too_few_are_refused(scene: Scene) -> None:
    scene.bench.write(Timed("", 0, "crimp", 9, 378))
    with pytest.raises(InvalidInputError, match="only 9 were timed: 1 more"):
        scene.learning.take_minutes("crimp", Decimal("0.70"))


def test_an_undone_time_counts_no_more(scene: Scene) -> None:
    number = scene.bench.write(CRIMPS)
    scene.bench.write(Undo(number))
    assert scene.learning.times() == ()
    with pytest.raises(NotFoundError):
        scene.learning.take_minutes("crimp", Decimal("0.70"))


def test_an_operation_that_there_is_not_is_not_found(scene: Scene) -> None:
    with pytest.raises(NotFoundError):
        scene.learning.shipped_minutes("juggle")


def test_measured_minutes_that_are_the_shipped_ones_take_the_builders_own_away(scene: Scene) -> None:
    # 10 in 360 s: 36 s, 0.60 min.
    row = scene.stock.row("labour", "crimp")
    scene.stock.set_values("labour", "crimp", {"minutes": "0.9"})
    scene.bench.write(Timed("", 0, "crimp", 10, 360))
    scene.learning.take_minutes("crimp", Decimal("0.60"))
    assert scene.stock.row("labour", "crimp") == row


@pytest.mark.parametrize("minutes", ["0.85", "0.6"])
def test_minutes_typed_on_the_stock_page_do_not_claim_to_be_measured(scene: Scene, minutes: str) -> None:
    shipped = scene.source()
    scene.bench.write(CRIMPS)
    scene.learning.take_minutes("crimp", Decimal("0.70"))
    scene.stock.set_values("labour", "crimp", {"minutes": minutes})
    assert scene.minutes() == Decimal(minutes)
    assert scene.source() == (shipped if minutes == "0.6" else "set by the builder")


def test_reset_on_the_stock_page_takes_the_measured_source_away_too(scene: Scene) -> None:
    row = scene.stock.row("labour", "crimp")
    scene.bench.write(CRIMPS)
    scene.learning.take_minutes("crimp", Decimal("0.70"))
    scene.stock.clear_value("labour", "crimp", "minutes")
    assert scene.stock.row("labour", "crimp") == row


def test_a_plan_of_the_command_line_counts_with_them_too(engine: Engine, scene: Scene) -> None:
    scene.bench.write(CRIMPS)
    scene.learning.take_minutes("crimp", Decimal("0.70"))
    database = engine.url.database
    assert database is not None
    catalogue = kept_catalogue(Path(database), Settings().catalogue_folder)
    assert catalogue.labour["crimp"].minutes == Decimal("0.70")


# ---- times written by hand ------------------------------------------------------------------------------------------


def test_a_time_written_by_hand_goes_into_the_ledger(scene: Scene) -> None:
    entry = Timed(scene.id, 0, "crimp", 10, 405)
    number = scene.learning.write_time(entry, 0)
    stored = scene.bench.entries(scene.id)[0]
    assert (stored.number, stored.entry, stored.at) == (number, entry, AT)
    assert scene.bench.bench().paces == {(scene.id, "crimp"): Pace(10, 405)}


def test_a_double_click_writes_one_time(scene: Scene) -> None:
    entry = Timed(scene.id, 0, "crimp", 10, 405)

    def write(_: int) -> str:
        try:
            scene.learning.write_time(entry, 0)
        except InvalidInputError as error:
            return error.problems[0].message
        return "written"

    with ThreadPoolExecutor(4) as pool:
        told = sorted(pool.map(write, range(4)))
    assert [text.startswith("this very time") for text in told] == [True, True, True, False]
    assert len(scene.bench.entries()) == 1


def test_the_same_time_may_be_taken_again_by_who_saw_the_first(scene: Scene) -> None:
    entry = Timed(scene.id, 0, "crimp", 10, 405)
    scene.learning.write_time(entry, scene.learning.write_time(entry, 0))
    assert scene.bench.bench().paces == {(scene.id, "crimp"): Pace(20, 810)}


@pytest.mark.parametrize(
    ("operation", "count", "seconds", "field"),
    [("juggle", 1, 1, "operation"), ("", 1, 1, "operation"), ("crimp", 0, 1, "count"), ("crimp", 1, 90_000, "seconds")],
)
def test_a_time_that_makes_no_sense_is_refused(
    scene: Scene, operation: str, count: int, seconds: int, field: str
) -> None:
    with pytest.raises(InvalidInputError) as error:
        scene.learning.write_time(Timed(scene.id, 0, operation, count, seconds), 0)
    assert [problem.field for problem in error.value.problems] == [field]
    assert scene.bench.entries() == ()


def test_no_time_is_written_for_a_build_that_there_is_not(scene: Scene) -> None:
    with pytest.raises(NotFoundError):
        scene.learning.write_time(Timed("nobody", 0, "crimp", 1, 1), 0)


@pytest.mark.parametrize(
    ("count", "seconds", "words"),
    [(48, 2016, "48 timed in 33 min 36 s"), (1, 45, "1 timed in 45 s"), (9, 7200, "9 timed in 2 h")],
)
def test_a_sample_in_words(count: int, seconds: int, words: str) -> None:
    assert timed_words(Pace(count, seconds)) == words


# ---- spares ---------------------------------------------------------------------------------------------------------


def test_what_was_lost_at_one_build_is_known_at_the_next(scene: Scene) -> None:
    scene.worked()
    other = scene.builds.create("Next one")
    here, there = (
        next(found.measured for found in scene.learning.learned_losses(opened) if found.measured.of == "contacts")
        for opened in (scene.open(), other)
    )
    # Both wires had two contacts each; two more were thrown away from the bag. All others stand.
    assert (here.loss.with_wires, here.loss.thrown, here.loss.beyond) == (4, 2, 0)
    assert here.loss.used == 2 * (scene.crimped - 2) > 50
    assert here.loss == there.loss


def test_a_build_that_is_put_away_teaches_nothing(scene: Scene) -> None:
    scene.worked()
    other = scene.builds.create("Next one")
    scene.builds.delete(scene.id)
    (found,) = scene.learning.learned_losses(other)
    assert (found.measured.loss.used, found.measured.loss.lost) == (0, 2)


def test_measured_spares_become_a_revision_and_the_price_is_the_one_announced(scene: Scene) -> None:
    scene.worked()
    found = next(f for f in scene.learning.learned_losses(scene.open()) if f.measured.of == "contacts")
    made = scene.learning.take_spare(scene.id, 1, "contacts", found.measured.spare)
    assert (made.revision, made.build.allowances.spares) == (2, {"contacts": found.measured.spare})
    assert found.after is not None
    assert made.plan.estimate.total == found.after.total
    words = scene.builds.revisions(scene.id)[0].words
    assert words[0] == f"contacts as the bench measured: 6 lost on {found.measured.loss.used} used"
    again = next(f for f in scene.learning.learned_losses(made) if f.measured.of == "contacts")
    assert (again.measured.state, again.after) == ("agrees", None)


def test_spares_on_an_old_revision_are_refused_with_what_changed(scene: Scene) -> None:
    scene.worked()
    found = next(f for f in scene.learning.learned_losses(scene.open()) if f.measured.of == "contacts")
    opened = scene.open()
    scene.builds.rename(scene.id, 1, "Meanwhile", opened.build.client, opened.build.notes)
    with pytest.raises(ConflictError):
        scene.learning.take_spare(scene.id, 1, "contacts", found.measured.spare)


def test_spares_that_the_bench_does_not_suggest_are_refused(scene: Scene) -> None:
    scene.worked()
    with pytest.raises(InvalidInputError, match="something else by now"):
        scene.learning.take_spare(scene.id, 1, "contacts", Spare(99, 9))
    with pytest.raises(InvalidInputError, match="something else by now"):
        scene.learning.take_spare(scene.id, 1, "combs", Spare(0, 2))
    assert scene.open().revision == 1
