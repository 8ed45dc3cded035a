"""Whatever is done at the bench, in whatever order: nothing is lost, and nothing is counted twice.

Properties, held after every step; the reckoning in ``bench_books`` adds up both sides on its own.
"""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from server.domain.errors import InvalidInputError
from server.domain.ledger import after, bench_of, on_hand
from server.domain.model.bench import (
    STAGES,
    Assign,
    Bench,
    Checked,
    Cut,
    Done,
    Entry,
    Material,
    Receive,
    Recount,
    Release,
    Reserve,
    ScrapPiece,
    ScrapStock,
    Shelve,
    Stage,
    Take,
    Timed,
    Trim,
    Undo,
    WireSide,
)
from tests.domain.bench_books import check_books

BUILDS = st.sampled_from(["a", "b", "c"])
WIRE = Material("wire", "awg18-plain", "BK")
MATERIALS = st.sampled_from([WIRE, Material("sleeve", "small", "RD"), Material("contact", "power-female")])
PRICES = st.decimals(0, 50, places=2)
LENGTHS = st.integers(1, 1000) | st.integers(-1, 3)
SHARES = st.fractions(0, 1, max_denominator=8)
PLACES = st.integers(0, 60)


class AtTheBench(RuleBasedStateMachine):
    """Entries of every kind in random order; one that is refused changes nothing."""

    def __init__(self) -> None:
        super().__init__()
        self.entries: list[Entry] = []
        self.bench = Bench()

    def write(self, entry: Entry) -> None:
        """Write an entry if it may be written."""
        try:
            made = after(self.entries, self.bench, entry)
        except InvalidInputError:
            # The invariants that follow hold this bench against the entries, so that a refusal leaves no trace.
            return
        self.entries.append(entry)
        self.bench = made

    def lot(self, place: int, *, by_length: bool | None = None) -> int:
        """Some lot, mostly one that it can be done to; otherwise any number."""
        lots = [lot.id for lot in self.bench.lots.values() if by_length in (None, lot.material.by_length) and lot.left]
        return lots[place % len(lots)] if lots and place else place

    def piece(self, place: int) -> int:
        """Some piece that was cut, mostly one in a cable."""
        pieces = [piece.id for piece in self.bench.pieces.values() if piece.whereabouts == "cable" or not place]
        return pieces[place % len(pieces)] if pieces else place

    @initialize()
    def a_roll(self) -> None:
        self.write(Receive(WIRE, 5000, Decimal("9.99"), "bought"))

    @rule(material=MATERIALS, quantity=st.integers(200, 3000), price=PRICES, build=BUILDS)
    def buy(self, material: Material, quantity: int, price: Decimal, build: str) -> None:
        self.write(Receive(material, quantity, price, "bought", build))

    @rule(material=MATERIALS, quantity=LENGTHS, price=PRICES | st.just(Decimal(0)))
    def receive(self, material: Material, quantity: int, price: Decimal) -> None:
        self.write(Receive(material, quantity, price, "found"))

    @rule(at=PLACES, build=BUILDS, share=SHARES)
    def reserve(self, at: int, build: str, share: Fraction) -> None:
        lot = self.lot(at)
        left = self.bench.lots[lot].left if lot in self.bench.lots else 10
        self.write(Reserve(lot, build, int(left * share)))

    @rule(at=PLACES, build=BUILDS, share=SHARES)
    def release(self, at: int, build: str, share: Fraction) -> None:
        lot = self.lot(at)
        kept = dict(self.bench.lots[lot].reserved) if lot in self.bench.lots else {}
        self.write(Release(lot, build, int(kept.get(build, 5) * share)))

    @rule(at=PLACES, build=BUILDS, length=LENGTHS, loss=st.integers(0, 5), number=st.integers(1, 9))
    def cut(self, at: int, build: str, length: int, loss: int, number: int) -> None:
        self.write(Cut(self.lot(at, by_length=True), build, f"r1/p1.main/{number}", f"1-{number}", 1, length, loss))

    @rule(at=PLACES, build=BUILDS, loss=st.integers(0, 5), over=st.integers(-3, 3))
    def cut_to_the_end(self, at: int, build: str, loss: int, over: int) -> None:
        lot = self.lot(at, by_length=True)
        free = self.bench.lots[lot].free_for(build) if lot in self.bench.lots else 10
        self.write(Cut(lot, build, "r2/p2.fan/1", "2-1", 2, free + over, loss))

    @precondition(lambda self: self.bench.pieces)
    @rule(at=PLACES, share=st.fractions(0, 1, max_denominator=8) | st.just(Fraction(9, 10)))
    def trim(self, at: int, share: Fraction) -> None:
        piece = self.piece(at)
        length = self.bench.pieces[piece].length_mm if piece in self.bench.pieces else 10
        self.write(Trim(piece, int(length * share)))

    @precondition(lambda self: self.bench.pieces)
    @rule(at=PLACES, stage=st.sampled_from(STAGES), wiring=st.sampled_from(["", "x", "y"]), uncrimped=st.booleans())
    def stage(self, at: int, stage: Stage, wiring: str, uncrimped: bool) -> None:
        self.write(Done(self.piece(at), stage, wiring, uncrimped))

    @precondition(lambda self: self.bench.pieces)
    @rule(at=PLACES, end=st.sampled_from(["part", "source"]), more=st.booleans())
    def crimp_one_end(self, at: int, end: WireSide, more: bool) -> None:
        self.write(Done(self.piece(at), "crimped", end=end, more=more))

    @rule(build=BUILDS, count=st.integers(0, 9), seconds=st.integers(0, 900))
    def time_it(self, build: str, count: int, seconds: int) -> None:
        self.write(Timed(build, 1, "crimp", count, seconds))

    @rule(build=BUILDS, run=st.integers(1, 3), passed=st.booleans())
    def check(self, build: str, run: int, passed: bool) -> None:
        self.write(Checked(build, f"r{run}", run, "mark", passed))

    @precondition(lambda self: self.bench.pieces)
    @rule(at=PLACES, number=st.integers(1, 9))
    def assign(self, at: int, number: int) -> None:
        self.write(Assign(self.piece(at), f"r3/p3.fan/{number}", f"3-{number}", 3))

    @precondition(lambda self: self.bench.pieces)
    @rule(at=PLACES)
    def shelve(self, at: int) -> None:
        self.write(Shelve(self.piece(at)))

    @precondition(lambda self: self.bench.pieces)
    @rule(at=PLACES, reason=st.sampled_from(["kinked", "kinked", " "]))
    def scrap_piece(self, at: int, reason: str) -> None:
        self.write(ScrapPiece(self.piece(at), reason))

    @rule(at=PLACES, quantity=LENGTHS)
    def scrap_stock(self, at: int, quantity: int) -> None:
        self.write(ScrapStock(self.lot(at), quantity, "kinked"))

    @rule(at=PLACES, build=BUILDS, run=st.integers(1, 3), quantity=st.integers(0, 400))
    def take(self, at: int, build: str, run: int, quantity: int) -> None:
        self.write(Take(self.lot(at, by_length=False), build, run, quantity))

    @rule(at=PLACES, off=st.integers(-200, 200))
    def recount(self, at: int, off: int) -> None:
        lot = self.lot(at)
        left = self.bench.lots[lot].left if lot in self.bench.lots else 10
        self.write(Recount(lot, left + off, "measured"))

    @rule(back=st.integers(0, 12))
    def undo(self, back: int) -> None:
        number = len(self.entries) - back
        before, undone = self.bench, self.entries[number - 1] if number > 0 else None
        self.write(Undo(number))
        # Beside what the undone entry moved itself, nothing that was measured at the bench changes.
        if not isinstance(undone, Recount):
            assert _total(self.bench, "found") == _total(before, "found")
        if not isinstance(undone, Recount | ScrapStock):
            assert _total(self.bench, "scrapped") == _total(before, "scrapped")
        if not isinstance(undone, Cut):
            assert _total(self.bench, "lost") == _total(before, "lost")
        if not isinstance(undone, Receive | Shelve):
            assert _total(self.bench, "received") == _total(before, "received")

    @rule()
    def reopen(self) -> None:
        self.bench = bench_of(tuple(self.entries))

    def teardown(self) -> None:
        """Undone from the last to the first, every entry lets go, and the bench is as bare as it was."""
        for number in range(len(self.entries), 0, -1):
            self.write(Undo(number))
        assert (self.bench.lots, self.bench.pieces, self.bench.takes) == ({}, {}, {})

    @invariant()
    def a_fresh_fold_gives_the_running_bench(self) -> None:
        assert bench_of(self.entries) == self.bench

    @invariant()
    def the_books_balance(self) -> None:
        check_books(self.entries, self.bench)

    @invariant()
    def no_piece_is_tested_that_is_not_fitted(self) -> None:
        """And none keeps a wiring that it is not fitted for."""
        for piece in self.bench.pieces.values():
            assert "tested" not in piece.stages or "fitted" in piece.stages
            assert not piece.wiring or "fitted" in piece.stages

    @invariant()
    def no_two_builds_may_use_the_same_millimetre(self) -> None:
        """What each build keeps, and what is free for all, fit into what is left; nobody may use what others keep."""
        for lot in self.bench.lots.values():
            free = lot.left - sum(lot.reserved.values())
            assert all(lot.free_for(build) == free + lot.reserved.get(build, 0) for build in "abc")

    @invariant()
    def what_a_build_has_on_hand_is_of_the_bench(self) -> None:
        hands = [on_hand(self.bench, build) for build in "abc"]
        in_cables = [piece.id for piece in self.bench.pieces.values() if piece.whereabouts == "cable"]
        assert sorted(piece.id for hand in hands for piece in hand.pieces) == in_cables


def _total(bench: Bench, name: str) -> int:
    return sum(getattr(lot, name) for lot in bench.lots.values())


TestAtTheBench = AtTheBench.TestCase
TestAtTheBench.settings = settings(max_examples=80, stateful_step_count=40, deadline=None)


@pytest.mark.parametrize("loss", [0, 3])
def test_a_roll_cut_to_nothing_is_all_in_pieces_and_cutting_loss(loss: int) -> None:
    # Ten pieces of 97 mm and ten cuts: with 3 mm each, 1,000 mm are used up; without, 30 mm are left.
    entries: list[Entry] = [Receive(Material("wire", "awg18-plain", "BK"), 1000, Decimal(5), "a roll")]
    entries += [Cut(1, "a", f"r1/p1.main/{n}", f"1-{n}", 1, 97, loss) for n in range(1, 11)]
    bench = bench_of(entries)
    assert (bench.lots[1].cut, bench.lots[1].lost, bench.lots[1].left) == (970, 10 * loss, 30 - 10 * loss)
