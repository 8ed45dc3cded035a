"""The books of a bench: lengths, counts and money added up from both sides. An independent reckoning for tests.

One side comes from the entries alone (what was received), the other from the bench (where it all is now).
"""

from collections import Counter
from collections.abc import Sequence
from fractions import Fraction

from server.domain.model.bench import Bench, Cut, Entry, Lot, Material, Receive, Take, Undo


def check_books(entries: Sequence[Entry], bench: Bench) -> None:
    """Claim that nothing is lost, nothing is counted twice, and nothing is below zero."""
    undone = {entry.entry for entry in entries if isinstance(entry, Undo)}
    in_force = {n: entry for n, entry in enumerate(entries, start=1) if n not in undone}
    for lot in bench.lots.values():
        _check_lot(lot, bench)
    received = {n: entry for n, entry in in_force.items() if isinstance(entry, Receive)}
    assert received.keys() == {lot.id for lot in bench.lots.values() if not lot.cut_from}
    assert {n for n, entry in in_force.items() if isinstance(entry, Cut)} == bench.pieces.keys()
    _check_quantities(received, bench)
    _check_money(received, bench)
    taken: Counter[tuple[str, int, Material]] = Counter()
    for entry in in_force.values():
        if isinstance(entry, Take):
            taken[entry.build, entry.run, bench.lots[entry.lot].material] += entry.quantity
    assert taken == bench.takes


def _check_lot(lot: Lot, bench: Bench) -> None:
    gone = lot.cut, lot.lost, lot.scrapped, lot.taken
    assert lot.received + lot.found == lot.left + sum(gone)
    assert min(lot.left, lot.found, *gone) >= 0
    assert all(kept > 0 for kept in lot.reserved.values())
    assert sum(lot.reserved.values()) <= lot.left
    assert lot.cut == sum(p.length_mm + p.trimmed_mm for p in bench.pieces.values() if p.lot == lot.id)
    if lot.cut_from:
        piece = bench.pieces[lot.cut_from]
        assert (piece.whereabouts, lot.received, lot.material) == ("shelf", piece.length_mm, piece.material)
        assert lot.unit_price == bench.lots[piece.lot].unit_price


def _check_quantities(received: dict[int, Receive], bench: Bench) -> None:
    came: Counter[Material] = Counter()
    there: Counter[Material] = Counter()
    for entry in received.values():
        came[entry.material] += entry.quantity
    for lot in bench.lots.values():
        came[lot.material] += lot.found
        there[lot.material] += lot.left + lot.lost + lot.scrapped + lot.taken
    for piece in bench.pieces.values():
        # A piece on the shelf is counted there, as a lot.
        there[piece.material] += piece.trimmed_mm + (piece.length_mm if piece.whereabouts != "shelf" else 0)
    assert came == there
    on_shelf = [lot.cut_from for lot in bench.lots.values() if lot.cut_from]
    assert sorted(on_shelf) == [piece.id for piece in bench.pieces.values() if piece.whereabouts == "shelf"]


def _check_money(received: dict[int, Receive], bench: Bench) -> None:
    lots = bench.lots
    paid = sum((Fraction(entry.price) for entry in received.values()), Fraction(0))
    found = sum((lot.unit_price * lot.found for lot in lots.values()), Fraction(0))
    worth = sum((x.unit_price * (x.left + x.lost + x.scrapped + x.taken) for x in lots.values()), Fraction(0))
    for piece in bench.pieces.values():
        quantity = piece.trimmed_mm + (piece.length_mm if piece.whereabouts != "shelf" else 0)
        worth += lots[piece.lot].unit_price * quantity
    assert paid + found == worth
