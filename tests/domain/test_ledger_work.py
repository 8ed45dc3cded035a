"""Half crimps, measured times and test sheets in the ledger. Expected values: by hand, beside each test."""

from server.domain.model.bench import Checked, Done, Pace, ScrapPiece, Timed, Trim, Undo
from tests.domain.bench_scenes import bench_after, cut, refusal, roll

PIECE = 2
"""The second entry, behind the roll, cuts it."""
ONE_END = Done(PIECE, "crimped", end="part", more=True)
OTHER_END = Done(PIECE, "crimped", end="source")
FITTED = Done(PIECE, "fitted")
TESTED = Done(PIECE, "tested")


def test_a_wire_with_one_end_crimped_is_not_crimped_yet() -> None:
    piece = bench_after(roll(), cut(), ONE_END).pieces[PIECE]
    assert (piece.stages, piece.crimped_ends) == ((), ("part",))


def test_a_wire_is_crimped_once_its_second_end_is() -> None:
    piece = bench_after(roll(), cut(), ONE_END, OTHER_END).pieces[PIECE]
    assert (piece.stages, piece.crimped_ends) == (("crimped",), ())


def test_an_end_is_not_crimped_twice() -> None:
    assert "crimped at its part end already" in refusal(roll(), cut(), ONE_END, ONE_END)


def test_a_half_crimped_wire_is_not_fitted() -> None:
    assert "not crimped yet" in refusal(roll(), cut(), ONE_END, FITTED)


def test_a_trim_forgets_an_end_that_was_crimped_and_remembers_the_work_as_spoilt() -> None:
    bench = bench_after(roll(), cut(), ONE_END, Trim(PIECE, 100))
    assert bench.pieces[PIECE].crimped_ends == ()
    assert [piece.crimped_ends for piece in bench.spoilt] == [("part",)]


def test_times_of_one_operation_add_up_and_an_undone_one_counts_no_more() -> None:
    # By hand: 10 in 60 s and 5 in 45 s are 15 in 105 s; without the first, 5 in 45 s.
    first, second = Timed("a", 1, "crimp", 10, 60), Timed("a", 1, "crimp", 5, 45)
    assert bench_after(first, second).paces == {("a", "crimp"): Pace(15, 105)}
    assert bench_after(first, second, Undo(1)).paces == {("a", "crimp"): Pace(5, 45)}


def test_a_time_without_a_count_or_longer_than_a_day_is_refused() -> None:
    assert "how often" in refusal(Timed("a", 1, "crimp", 0, 60))
    assert "1 second to a day" in refusal(Timed("a", 1, "crimp", 1, 86_401))


def test_a_wire_is_not_tested_while_its_run_failed_the_last_test() -> None:
    # The scene's wire is of run "r1" of build "a"; the newest test of the run holds.
    run_id = bench_after(roll(), cut()).pieces[PIECE].wire.partition("/")[0]
    done = (roll(), cut(), Done(PIECE, "crimped"), FITTED)
    failed, passed = (Checked("a", run_id, 1, "mark", held) for held in (False, True))
    assert "failed its test" in refusal(*done, failed, TESTED)
    assert "tested" in bench_after(*done, failed, passed, TESTED).pieces[PIECE].stages
    assert "tested" in bench_after(*done, Checked("a", "another", 2, "mark", False), TESTED).pieces[PIECE].stages


def test_the_passed_sheet_is_not_undone_while_wires_are_tested_by_it() -> None:
    done = (roll(), cut(), Done(PIECE, "crimped"), FITTED, Checked("a", "r1", 1, "mark", True))
    tested = Done(PIECE, "tested", sheet="mark")
    assert "leans on entry 5" in refusal(*done, tested, Undo(5))
    assert "tested" not in bench_after(*done, tested, Undo(6), Undo(5)).pieces[PIECE].stages


def test_a_wire_is_tested_by_the_sheet_that_passed_and_by_no_other() -> None:
    done = (roll(), cut(), Done(PIECE, "crimped"), FITTED)
    assert "once the sheet of run 1 has passed" in refusal(*done, Done(PIECE, "tested", sheet="mark"))
    older = Checked("a", "r1", 1, "older", True)
    assert "once the sheet of run 1 has passed" in refusal(*done, older, Done(PIECE, "tested", sheet="mark"))


def test_a_piece_that_was_thrown_away_takes_no_second_contact() -> None:
    assert "thrown away" in refusal(roll(), cut(), ONE_END, ScrapPiece(PIECE, "kinked"), OTHER_END)
