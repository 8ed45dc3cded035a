"""The rules of the bench ledger. Expected values are worked by hand, on a roll of 1,000 mm for 5.00."""

from decimal import Decimal
from fractions import Fraction

import pytest

from server.domain.ledger import after, bench_of, concerns, on_hand
from server.domain.model.bench import (
    Assign,
    Cut,
    Done,
    Entry,
    Receive,
    Recount,
    Release,
    Reserve,
    ScrapPiece,
    ScrapStock,
    Shelve,
    Take,
    Trim,
    Undo,
)
from tests.domain.bench_scenes import CONTACT, WIRE, bag, bench_after, cut, refusal, roll

# ---- lots -----------------------------------------------------------------------------------------------------------


def test_a_roll_lies_on_the_shelf_at_its_price_by_the_millimetre() -> None:
    lot = bench_after(roll()).lots[1]
    assert (lot.left, lot.unit_price) == (1000, Fraction(5, 1000))


def test_what_was_bought_for_a_build_is_kept_for_it() -> None:
    lot = bench_after(roll(build="a")).lots[1]
    assert (lot.free_for("a"), lot.free_for("b")) == (1000, 0)


@pytest.mark.parametrize("quantity", [0, -1, 10_000_001])
def test_a_quantity_out_of_range_is_no_lot(quantity: int) -> None:
    assert "from 1 to 10000000" in refusal(roll(quantity))


@pytest.mark.parametrize("price", ["-0.01", "NaN", "Infinity"])
def test_a_price_is_zero_or_more(price: str) -> None:
    assert "zero or more" in refusal(roll(price=price))


def test_what_was_found_costs_nothing() -> None:
    assert bench_after(roll(price="0")).lots[1].unit_price == 0


def test_a_cut_takes_its_length_and_the_loss_off_the_roll() -> None:
    lot = bench_after(roll(), cut(length=300, loss=2)).lots[1]
    assert (lot.left, lot.cut, lot.lost) == (698, 300, 2)


@pytest.mark.parametrize(("length", "lost"), [(1000, 0), (999, 1), (998, 2), (997, 2)])
def test_the_last_cut_of_a_roll_loses_no_more_than_what_is_left(length: int, lost: int) -> None:
    assert bench_after(roll(), cut(length=length, loss=2)).lots[1].lost == lost


def test_a_roll_gives_no_more_than_it_holds() -> None:
    assert refusal(roll(), cut(length=700), cut(length=301)) == "lot 1 has 300 mm left"


def test_nothing_is_cut_from_a_bag() -> None:
    assert "counted by the piece" in refusal(bag(), cut())


def test_nothing_is_counted_off_a_roll() -> None:
    assert "cut, not counted" in refusal(roll(), Take(1, "a", 1, 2))


def test_things_taken_for_a_run_are_told_by_run() -> None:
    bench = bench_after(bag(), Take(1, "a", 1, 20), Take(1, "a", 1, 5), Take(1, "b", 1, 3))
    assert on_hand(bench, "a").takes == {(1, CONTACT): 25}
    assert bench.lots[1].left == 72


def test_a_lot_that_is_not_there_is_told() -> None:
    assert refusal(roll(), cut(lot=2)) == "the shelf has no lot 2"


# ---- two builds, one shelf ------------------------------------------------------------------------------------------


def test_the_second_build_that_wants_the_last_metre_is_told_who_keeps_it() -> None:
    kept = Reserve(1, "a", 1000)
    told = "lot 1 has 1000 mm left; 1000 mm are kept for Tower"
    assert refusal(roll(), kept, Reserve(1, "b", 1), names={"a": "Tower"}) == told
    assert refusal(roll(), kept, cut(build="b", length=1), names={"a": "Tower"}) == told


def test_a_build_may_use_what_is_free_beside_what_others_keep() -> None:
    bench = bench_after(roll(), Reserve(1, "a", 600), cut(build="b", length=400))
    assert (bench.lots[1].free_for("a"), bench.lots[1].free_for("b")) == (600, 0)


def test_a_cut_uses_what_is_kept_for_its_build_first() -> None:
    bench = bench_after(roll(), Reserve(1, "a", 500), cut(build="a", length=300))
    assert bench.lots[1].reserved == {"a": 200}


def test_the_loss_at_a_cut_never_comes_out_of_what_others_keep() -> None:
    lot = bench_after(roll(), Reserve(1, "b", 500), cut(build="a", length=500, loss=2)).lots[1]
    assert (lot.left, lot.lost, lot.reserved) == (500, 0, {"b": 500})


def test_what_is_released_is_free_for_others() -> None:
    bench = bench_after(roll(build="a"), Release(1, "a", 400))
    assert bench.lots[1].free_for("b") == 400


def test_no_more_is_released_than_is_kept() -> None:
    assert "0 mm of lot 1" in refusal(roll(), Release(1, "a", 1))


def test_a_reservation_says_for_which_build() -> None:
    assert "which build" in refusal(roll(), Reserve(1, "", 10))


# ---- stock-taking and scrap -----------------------------------------------------------------------------------------


def test_what_is_missing_at_stock_taking_counts_as_thrown_away() -> None:
    lot = bench_after(roll(), Recount(1, 940, "measured")).lots[1]
    assert (lot.left, lot.found, lot.scrapped) == (940, 0, 60)


def test_what_is_found_at_stock_taking_is_found() -> None:
    lot = bench_after(roll(), Recount(1, 1010, "measured")).lots[1]
    assert (lot.left, lot.found, lot.scrapped) == (1010, 10, 0)


def test_the_only_build_that_keeps_a_lot_loses_what_is_missing() -> None:
    assert bench_after(roll(build="a"), Recount(1, 940, "measured")).lots[1].reserved == {"a": 940}


def test_where_two_builds_keep_a_lot_one_of_them_is_released_first() -> None:
    kept = (Reserve(1, "a", 500), Reserve(1, "b", 400))
    assert "release some" in refusal(roll(), *kept, Recount(1, 899, "measured"))
    assert bench_after(roll(), *kept, Recount(1, 900, "measured")).lots[1].reserved == {"a": 500, "b": 400}


@pytest.mark.parametrize(
    "entry", [Recount(1, 900, " "), ScrapStock(1, 100, ""), ScrapPiece(2, "")], ids=lambda e: type(e).__name__
)
def test_a_loss_wants_a_reason(entry: Entry) -> None:
    assert "say why" in refusal(roll(), cut(), entry)


def test_no_more_is_thrown_away_than_there_is() -> None:
    assert refusal(roll(), ScrapStock(1, 1001, "kinked")) == "lot 1 has 1000 mm left"


# ---- pieces ---------------------------------------------------------------------------------------------------------


def test_stages_stand_in_the_order_of_the_work() -> None:
    bench = bench_after(roll(), cut(), Done(2, "sleeved"), Done(2, "crimped"), Done(2, "fitted"))
    assert bench.pieces[2].stages == ("crimped", "sleeved", "fitted")


def test_a_wire_is_not_fitted_before_it_is_crimped() -> None:
    told = "1-1 is not crimped yet: it is crimped before it is fitted"
    assert refusal(roll(), cut(), Done(2, "sleeved"), Done(2, "fitted")) == told


def test_a_wire_is_not_tested_before_it_is_fitted() -> None:
    told = "1-1 is not fitted yet: it is fitted before it is tested"
    assert refusal(roll(), cut(), Done(2, "crimped"), Done(2, "tested")) == told


def test_a_wire_that_takes_no_crimped_contact_is_fitted_without() -> None:
    bench = bench_after(roll(), cut(), Done(2, "fitted", uncrimped=True), Done(2, "tested"))
    assert bench.pieces[2].stages == ("fitted", "tested")


def test_a_ledger_from_before_the_order_of_stages_is_read_and_can_be_undone() -> None:
    old = (roll(), cut(), Done(2, "tested"), cut(label="1-2"))
    bench = bench_of(old)
    assert bench.pieces[2].stages == ("tested",)
    assert after(old, bench, Undo(4)).pieces.keys() == {2}


CRIMPED_AND_TESTED: tuple[Entry, ...] = (
    roll(),
    cut(),
    Done(2, "crimped"),
    Done(2, "fitted", "supply:M1:13>p1:main:24"),
    Done(2, "tested", "supply:M1:13>p1:main:24"),
)


@pytest.mark.parametrize("entry", [Trim(2, 280), Assign(2, "r2/p2.fan/1", "2-1", 2)], ids=lambda e: type(e).__name__)
def test_a_piece_cut_shorter_or_taken_for_another_wire_has_its_ticks_cleared(entry: Entry) -> None:
    piece = bench_after(*CRIMPED_AND_TESTED, entry).pieces[2]
    assert (piece.stages, piece.wiring) == ((), "")


def test_a_piece_assigned_to_the_wire_that_it_serves_keeps_its_ticks() -> None:
    piece = bench_after(*CRIMPED_AND_TESTED, Assign(2, "r1/p1.main/1-1", "1-1", 1)).pieces[2]
    assert piece.stages == ("crimped", "fitted", "tested")


def test_a_trimming_after_which_it_was_crimped_again_is_not_undone() -> None:
    told = refusal(*CRIMPED_AND_TESTED, Trim(2, 280), Done(2, "crimped"), Undo(6))
    assert told.startswith("entry 7 (piece 2 crimped) leans on entry 6")


def test_a_test_keeps_the_wiring_that_the_piece_was_fitted_for() -> None:
    assert bench_after(*CRIMPED_AND_TESTED).pieces[2].wiring == "supply:M1:13>p1:main:24"


def test_a_piece_fitted_for_another_wiring_is_to_be_tested_again() -> None:
    piece = bench_after(*CRIMPED_AND_TESTED, Done(2, "fitted", "supply:M1:14>p1:main:24")).pieces[2]
    assert (piece.stages, piece.wiring) == (("crimped", "fitted"), "supply:M1:14>p1:main:24")


@pytest.mark.parametrize("wiring", ["", "supply:M1:13>p1:main:24"])
def test_a_piece_is_not_fitted_twice_for_one_wiring(wiring: str) -> None:
    assert refusal(*CRIMPED_AND_TESTED, Done(2, "fitted", wiring)) == "1-1 is fitted already"


def test_what_is_wired_otherwise_now_is_not_tested_before_it_is_fitted_again() -> None:
    told = refusal(*CRIMPED_AND_TESTED[:4], Done(2, "tested", "supply:M1:14>p1:main:24"))
    assert told == "1-1 is wired otherwise now: fit it again before it is tested"


def test_a_stage_is_done_once() -> None:
    assert refusal(roll(), cut(), Done(2, "crimped"), Done(2, "crimped")) == "1-1 is crimped already"


def test_what_is_trimmed_off_a_piece_is_told() -> None:
    piece = bench_after(roll(), cut(length=300), Trim(2, 280), Trim(2, 250)).pieces[2]
    assert (piece.length_mm, piece.trimmed_mm) == (250, 50)


@pytest.mark.parametrize("length", [300, 301, 0, -5])
def test_a_piece_is_trimmed_to_something_shorter(length: int) -> None:
    assert "300 mm long" in refusal(roll(), cut(length=300), Trim(2, length))


def test_a_piece_that_serves_another_wire_goes_by_its_name() -> None:
    piece = bench_after(roll(), cut(), Assign(2, "r2/p2.fan/1", "2-1", 2)).pieces[2]
    assert (piece.wire, piece.label, piece.run) == ("r2/p2.fan/1", "2-1", 2)


def test_a_piece_put_on_the_shelf_is_a_remnant_at_the_price_of_its_roll() -> None:
    bench = bench_after(roll(), cut(length=300), Shelve(2))
    lot = bench.lots[3]
    assert (lot.left, lot.unit_price, lot.cut_from) == (300, Fraction(5, 1000), 2)
    assert (bench.pieces[2].whereabouts, lot.free_for("b")) == ("shelf", 300)


def test_a_piece_put_back_is_not_bought_twice() -> None:
    bench = bench_after(roll(build="a"), cut(length=300), Shelve(2), cut(lot=3, length=100))
    assert on_hand(bench, "a").spent == Decimal("5.00")


@pytest.mark.parametrize(
    "entry",
    [Done(2, "crimped"), Trim(2, 10), Assign(2, "w", "l", 1), Shelve(2), ScrapPiece(2, "again")],
    ids=lambda e: type(e).__name__,
)
@pytest.mark.parametrize(("gone", "place"), [(Shelve(2), "on the shelf"), (ScrapPiece(2, "burnt"), "thrown away")])
def test_nothing_is_done_to_a_piece_that_is_gone(entry: Entry, gone: Entry, place: str) -> None:
    assert refusal(roll(), cut(), gone, entry) == f"piece 2 (1-1) is {place}"


def test_only_pieces_in_cables_are_a_builds_own() -> None:
    bench = bench_after(roll(), cut(), cut(label="1-2"), cut(build="b"), ScrapPiece(2, "burnt"))
    assert [piece.label for piece in on_hand(bench, "a").pieces] == ["1-2"]


# ---- undo -----------------------------------------------------------------------------------------------------------


def test_an_undone_entry_counts_as_if_it_had_never_been() -> None:
    without, undone = bench_after(roll(), cut()), bench_after(roll(), cut(), cut(length=200), Undo(3))
    assert (undone.lots, undone.pieces) == (without.lots, without.pieces)
    assert (undone.entries, undone.undone) == (4, {3})


def test_a_shelved_piece_taken_back_is_as_it_was() -> None:
    piece = bench_after(roll(), cut(), Done(2, "crimped"), Shelve(2), Undo(4)).pieces[2]
    assert (piece.whereabouts, piece.stages) == ("cable", ("crimped",))


LEANING: list[tuple[str, tuple[Entry, ...], str]] = [
    ("a cut on its roll", (roll(), cut(), Undo(1)), "entry 2 (1-1 cut) leans on entry 1"),
    ("a stage on its cut", (roll(), cut(), Done(2, "crimped"), Undo(2)), "entry 3 (piece 2 crimped) leans on entry 2"),
    ("a fitting on its crimp", (*CRIMPED_AND_TESTED[:4], Undo(3)), "entry 4 (piece 2 fitted) leans on entry 3"),
    ("a test on its fitting", (*CRIMPED_AND_TESTED, Undo(4)), "entry 5 (piece 2 tested) leans on entry 4"),
    ("a release on its reservation", (roll(), Reserve(1, "a", 9), Release(1, "a", 9), Undo(2)), "entry 3 (lot 1 rel"),
    ("a remnant on its trimming", (roll(), cut(), Trim(2, 250), Shelve(2), Undo(3)), "entry 4 (piece 2 put on the she"),
    ("scrap on its trimming", (roll(), cut(), Trim(2, 250), ScrapPiece(2, "x"), Undo(3)), "entry 4 (piece 2 thrown"),
    ("a count on what it counted", (roll(), cut(), Recount(1, 690, "x"), Undo(2)), "entry 3 (stock-taking of lot 1)"),
    (
        "the use of what was found",
        (roll(), Recount(1, 1100, "x"), cut(length=1050), Undo(2)),
        "entry 3 (1-1 cut) leans on entry 2",
    ),
    (
        "a cut of a remnant on its shelving",
        (roll(), cut(), Shelve(2), cut(lot=3, length=9), Undo(3)),
        "entry 4 (1-1 cut) leans on entry 3",
    ),
    (
        "the loss at a cut on the cut before",
        (roll(), cut(length=300), cut(length=699, loss=5), Undo(2)),
        "entry 3 (1-1 cut) leans on entry 2, undo it first: it would move 704 and not 700",
    ),
]


@pytest.mark.parametrize(("entries", "told"), [pytest.param(e, t, id=name) for name, e, t in LEANING])
def test_an_entry_that_a_later_one_leans_on_is_not_undone(entries: tuple[Entry, ...], told: str) -> None:
    assert refusal(*entries).startswith(told)


def test_what_leans_no_more_lets_go() -> None:
    assert not bench_after(roll(), cut(), Undo(2), Undo(1)).lots


@pytest.mark.parametrize(
    ("entries", "told"),
    [
        ((roll(), Undo(2)), "no entry 2"),
        ((roll(), Undo(0)), "no entry 0"),
        ((roll(), Undo(1), Undo(1)), "undone already"),
        ((roll(), Undo(1), Undo(2)), "not undone: write the entry again"),
    ],
    ids=["not written", "not a number", "twice", "an undoing"],
)
def test_what_cannot_be_undone_is_told(entries: tuple[Entry, ...], told: str) -> None:
    assert told in refusal(*entries)


# ---- what an entry is about -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("number", "build"),
    [(1, "a"), (2, ""), (3, "b"), (4, "b"), (5, "b"), (6, "b"), (7, "a"), (8, "b"), (9, "b")],
)
def test_an_entry_concerns_the_build_whose_lot_or_piece_it_is_about(number: int, build: str) -> None:
    entries: tuple[Entry, ...] = (
        roll(build="a"),
        roll(),
        Cut(2, "b", "w", "1-1", 1, 300),
        Done(3, "crimped"),
        Shelve(3),
        Recount(5, 290, "measured"),
        ScrapStock(1, 5, "kinked"),
        Reserve(2, "b", 10),
        Undo(8),
    )
    found = {of for kind, of in concerns(number, entries[number - 1], entries) if kind == "build"}
    assert found == ({build} if build else set())


def test_two_finds_of_one_material_concern_each_other() -> None:
    first, second = Receive(WIRE, 5, Decimal(0), "x"), Receive(WIRE, 7, Decimal(0), "y")
    assert concerns(1, first, (first,)) & concerns(2, second, (first, second)) == {("material", "wire/awg18-plain/BK")}


@pytest.mark.parametrize(
    "clearing", [Trim(2, 250), Assign(2, "r1/p/9", "1-09", 1), Shelve(2)], ids=["a trim", "another wire", "the shelf"]
)
def test_work_on_a_piece_whose_ticks_are_cleared_is_remembered_as_gone(
    clearing: Trim | Assign | Shelve,
) -> None:
    # By hand: one crimped piece; its crimp is gone once, and the piece itself is counted where it is and not here.
    bench = bench_after(roll(), cut(), Done(2, "crimped"), clearing)
    assert [(piece.id, piece.stages, piece.length_mm) for piece in bench.spoilt] == [(2, ("crimped",), 0)]
    assert bench.pieces[2].stages == ()
