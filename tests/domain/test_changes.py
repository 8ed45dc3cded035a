"""Pieces that were cut, held against what the plan wants now. Every expected value is worked out by hand beside it."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.domain.changes import Needed, compare
from server.domain.model.bench import Material, Piece, Stage
from server.domain.model.plan import WireChange
from tests.domain.scenes import examples

BLACK = Material("wire", "18-plain", "BK")
RED = Material("wire", "18-plain", "RD")
SLEEVE = Material("sleeve", "small", "BK")
TUBE = Material("shrink", "small")
NAMES = {BLACK: "18 AWG black", RED: "18 AWG red", SLEEVE: "small sleeve, black", TUBE: "small heat-shrink"}
STEP_MM = 5.0


def wire(cut_mm: int | None = 400, needed_mm: int = 397, ident: str = "r1/p1.main/1", run: int = 1) -> Needed:
    """A wire whose terms add up to 397 mm, cut to the next 5 mm."""
    return Needed(ident, "1-1", run, BLACK, NAMES[BLACK], needed_mm, cut_mm, cut_mm or 0)


def piece(length_mm: int = 400, number: int = 7, wire_id: str = "r1/p1.main/1", material: Material = BLACK) -> Piece:
    return Piece(number, 1, material, "b", wire_id, "1-1", 1, length_mm)


def sleeves(*lengths_mm: int) -> tuple[Needed, ...]:
    return tuple(
        Needed(f"r1/sleeve/BK/{n}", f"1-sl{n}", 1, SLEEVE, NAMES[SLEEVE], mm, mm, mm)
        for n, mm in enumerate(lengths_mm, start=1)
    )


def sleeve_piece(length_mm: int, number: int, n: int = 1) -> Piece:
    return piece(length_mm, number, f"r1/sleeve/BK/{n}", SLEEVE)


def one(needed: Needed, *pieces: Piece) -> WireChange:
    """What became of the one thing needed."""
    return compare([needed], pieces, NAMES, STEP_MM)[0]


def test_a_piece_of_todays_cut_length_is_unchanged() -> None:
    found = one(wire(), piece(400))
    assert (found.state, found.piece, found.off_mm) == ("unchanged", 7, 0)


@pytest.mark.parametrize("length_mm", [397, 399, 401, 405])
def test_a_piece_is_good_from_the_sum_of_its_terms_to_one_step_beyond_the_cut(length_mm: int) -> None:
    assert one(wire(), piece(length_mm)).state == "good"


def test_a_piece_longer_than_one_step_beyond_the_cut_can_be_trimmed_to_it() -> None:
    # 406 is past 400 + 5, and 6 mm too long.
    found = one(wire(), piece(406))
    assert (found.state, found.off_mm, found.cut_mm) == ("trim", 6, 400)


def test_a_piece_shorter_than_its_terms_is_too_short_by_what_is_missing_to_them() -> None:
    found = one(wire(), piece(396))
    assert (found.state, found.off_mm) == ("too_short", 1)


def test_a_wire_that_nothing_was_cut_for_is_new() -> None:
    found = one(wire())
    assert (found.state, found.piece, found.length_mm, found.cut_mm) == ("new", 0, 0, 400)


def test_a_piece_is_kept_while_its_run_is_a_range() -> None:
    found = one(wire(cut_mm=None), piece(400))
    assert (found.state, found.piece) == ("waits", 7)


def test_a_piece_is_kept_while_nothing_is_known_of_its_run() -> None:
    (found,) = compare([], [piece()], NAMES, STEP_MM, unmeasured={1})
    assert (found.state, found.piece) == ("waits", 7)


def test_a_piece_of_a_wire_that_is_gone_is_not_needed() -> None:
    (found,) = compare([], [piece()], NAMES, STEP_MM)
    assert (found.state, found.piece, found.length_mm, found.cut_mm) == ("not_needed", 7, 400, 0)
    assert found.name == "18 AWG black"


def test_a_piece_of_another_colour_is_not_needed_and_its_wire_is_new() -> None:
    wanted, left = compare([wire()], [piece(material=RED)], NAMES, STEP_MM)
    assert (wanted.state, left.state, left.name) == ("new", "not_needed", "18 AWG red")


def test_of_two_pieces_for_one_wire_the_longest_that_serves_counts() -> None:
    wanted, left = compare([wire()], [piece(420, 7), piece(450, 8)], NAMES, STEP_MM)
    assert (wanted.state, wanted.piece, left.state, left.piece) == ("trim", 8, "not_needed", 7)


def test_a_piece_cut_exactly_so_counts_before_a_longer_one() -> None:
    wanted, left = compare([wire()], [piece(450, 7), piece(400, 8)], NAMES, STEP_MM)
    assert (wanted.state, wanted.piece, left.piece) == ("unchanged", 8, 7)


def test_where_no_piece_serves_the_longest_is_the_one_too_short() -> None:
    # 397 - 390 = 7
    wanted, left = compare([wire()], [piece(380, 7), piece(390, 8)], NAMES, STEP_MM)
    assert (wanted.state, wanted.piece, wanted.off_mm, left.piece) == ("too_short", 8, 7, 7)


def test_sleeve_of_one_run_and_colour_is_matched_by_length_whatever_it_was_cut_for() -> None:
    # Cut for the first and second place; the plan has swapped their lengths since.
    found = compare(sleeves(300, 500), [sleeve_piece(500, 7, 1), sleeve_piece(300, 8, 2)], NAMES, STEP_MM)
    assert [(c.state, c.piece) for c in found] == [("unchanged", 8), ("unchanged", 7)]


def test_a_piece_of_sleeve_serves_where_it_is_long_enough_before_it_is_too_short_elsewhere() -> None:
    # One piece of 310 mm: it serves the 300, and the 500 has to be cut anew.
    found = compare(sleeves(500, 300), [sleeve_piece(310, 7)], NAMES, STEP_MM)
    assert [(c.state, c.piece) for c in found] == [("new", 0), ("trim", 7)]


def test_sleeve_of_another_run_does_not_serve() -> None:
    other = replace(sleeve_piece(300, 7), run=2)
    assert [c.state for c in compare(sleeves(300), [other], NAMES, STEP_MM)] == ["new", "not_needed"]


def test_pieces_of_heat_shrink_beyond_those_wanted_are_not_needed() -> None:
    wanted = [Needed("r1/shrink/1", "1-hs1", 1, TUBE, NAMES[TUBE], 15, 15, 15)]
    cut = [piece(15, n, "r1/shrink/1", TUBE) for n in (7, 8)]
    assert [(c.state, c.piece) for c in compare(wanted, cut, NAMES, STEP_MM)] == [("unchanged", 7), ("not_needed", 8)]


def test_things_needed_come_in_their_order_and_pieces_that_nobody_wants_behind_them() -> None:
    wanted = [wire(ident="r1/p1.main/2"), wire(ident="r1/p1.main/1")]
    found = compare(wanted, [piece(number=5, wire_id="gone"), piece(number=6)], NAMES, STEP_MM)
    assert [c.id for c in found] == ["r1/p1.main/2", "r1/p1.main/1", "gone"]


NOW, THEN = "supply:M1:13>p1:main:24", "supply:M1:14>p1:main:24"


@pytest.mark.parametrize(
    ("stages", "fitted_for", "wanted", "rewired"),
    [
        (("crimped", "fitted"), THEN, NOW, True),
        (("crimped", "fitted"), NOW, NOW, False),
        (("crimped", "fitted"), "", NOW, False),
        (("crimped", "fitted"), THEN, "", False),
        (("crimped",), THEN, NOW, False),
    ],
    ids=["changed", "the same", "not written", "not wired", "not fitted"],
)
@pytest.mark.parametrize("length_mm", [380, 400, 450])
def test_a_fitted_piece_whose_wiring_has_changed_is_told_whatever_its_length(
    stages: tuple[Stage, ...], fitted_for: str, wanted: str, rewired: bool, length_mm: int
) -> None:
    cut = replace(piece(length_mm), stages=stages, wiring=fitted_for)
    assert one(replace(wire(), wiring=wanted), cut).rewired is rewired


materials = st.sampled_from((BLACK, RED, SLEEVE, TUBE))
lengths = st.integers(1, 40).map(lambda n: 10 * n)


@st.composite
def scenes(draw: st.DrawFn) -> tuple[list[Needed], list[Piece]]:
    """Things needed and pieces cut over few wires and runs, so that they meet often."""
    wanted = []
    for n in range(draw(st.integers(0, 8))):
        material, run, cut = draw(materials), draw(st.integers(1, 2)), draw(lengths)
        measured = draw(st.booleans())
        ident = f"r{run}/{n}"
        wanted.append(Needed(ident, ident, run, material, "m", max(1, cut - 4), cut if measured else None, cut))
    pieces = []
    for number in range(1, draw(st.integers(0, 8)) + 1):
        run = draw(st.integers(1, 2))
        ident = f"r{run}/{draw(st.integers(0, 7))}"
        pieces.append(Piece(number, 1, draw(materials), "b", ident, ident, run, draw(lengths)))
    return wanted, pieces


@given(scenes())
@examples(200)
def test_every_piece_and_every_thing_needed_stands_in_exactly_one_entry(
    scene: tuple[list[Needed], list[Piece]],
) -> None:
    wanted, pieces = scene
    found = compare(wanted, pieces, NAMES, STEP_MM)
    assert sorted(c.piece for c in found if c.piece) == sorted(p.id for p in pieces)
    assert [c.id for c in found[: len(wanted)]] == [n.id for n in wanted]
    assert all(c.state == "not_needed" for c in found[len(wanted) :])


@given(scenes())
@examples(200)
def test_no_piece_lies_unused_while_it_would_serve_something_left_to_cut(
    scene: tuple[list[Needed], list[Piece]],
) -> None:
    wanted, pieces = scene
    found = compare(wanted, pieces, NAMES, STEP_MM)
    unused = {c.piece for c in found if c.state == "not_needed"}
    for entry, change in zip(wanted, found, strict=False):
        for cut in (p for p in pieces if p.id in unused):
            same = cut.material == entry.material
            alike = cut.wire == entry.id if cut.material.kind == "wire" else cut.run == entry.run
            serves = same and alike and cut.length_mm >= entry.needed_mm
            assert not (serves and change.state in ("new", "too_short"))
