"""What a build still takes from shelf and shop once something is there. Expected values: by hand, beside each test."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pytest

from server.documents.build_json import read_build
from server.domain.model.bench import Lot, Material, OnHand, Piece
from server.domain.model.build import Build, RunFinish
from server.domain.model.catalogue import Catalogue, Pack
from server.domain.model.plan import BuyLine, Plan, RollSheet
from server.domain.plan import plan
from tests.domain.scenes import shipped_catalogue
from tests.domain.test_plan import cpu

EXAMPLES = Path(__file__).parents[2] / "seed_data" / "examples"
BLACK = Material("wire", "awg16-plain", "BK")
YELLOW = Material("wire", "awg16-plain", "YE")
SOCKETS = Material("contact", "p42-socket-16")


def lot(number: int, material: Material, left: int, **fields: object) -> Lot:
    return replace(Lot(number, material, left, Fraction(0), "found", "", left), **fields)  # type: ignore[arg-type]


def piece(number: int, wire: str, length_mm: int, material: Material = BLACK) -> Piece:
    return Piece(number, 1, material, "b", wire, wire.rpartition("/")[2], 1, length_mm)


def planned(scene: tuple[Build, Catalogue], *lots: Lot, pieces: tuple[Piece, ...] = (), **fields: object) -> Plan:
    return plan(*scene, replace(OnHand("b", lots, pieces), **fields))  # type: ignore[arg-type]


def line(found: Plan, material: Material) -> BuyLine:
    return next(entry for entry in found.buys if (entry.item, entry.colour) == (material.item, material.colour))


def sheet(found: Plan, material: Material) -> RollSheet:
    return next(entry for entry in found.rolls if (entry.item, entry.colour) == (material.item, material.colour))


@pytest.fixture
def bare(catalogue: Catalogue) -> tuple[Build, Catalogue]:
    """Eight wires of one processor cable, four black and four yellow, all cut at 580 mm; rolls of 1 m at 1.00 only."""
    build, own = cpu(catalogue, 550)
    run = replace(build.runs[0], finish=RunFinish(sleeve="", combs=False))
    packs = tuple(pack for pack in own.packs if pack.item != "awg16-plain")
    metre = Pack("metre", "wire", "awg16-plain", 1000, "mm", Decimal("1.00"), "by hand")
    return replace(build, runs=(run,)), replace(own, packs=(*packs, metre))


def cut_mm(scene: tuple[Build, Catalogue]) -> int:
    (length,) = {wire.cut_mm for wire in plan(*scene).runs[0].wires}
    assert length is not None
    return length


def black_ids(scene: tuple[Build, Catalogue]) -> list[str]:
    return [wire.id for wire in plan(*scene).runs[0].wires if wire.colour == "BK"]


def test_with_nothing_on_hand_the_plan_is_that_of_a_build_nobody_has_begun(bare: tuple[Build, Catalogue]) -> None:
    assert planned(bare) == plan(*bare)
    assert plan(*bare).changes == ()


def test_what_waits_for_its_length_is_kept_free_behind_what_is_cut_now() -> None:
    # Common practice: nobody can cut behind a length that is to stay whole.
    build = read_build((EXAMPLES / "compact.json").read_bytes())
    layouts = [layout for sheet in plan(build, shipped_catalogue()).rolls for layout in sheet.layouts]
    orders = [[piece.ready for piece in layout.pieces] for layout in layouts]
    assert any(len(set(order)) == 2 for order in orders)
    assert all(order == sorted(order, reverse=True) for order in orders)


def test_a_remnant_on_the_shelf_is_used_before_a_roll_is_bought(bare: tuple[Build, Catalogue]) -> None:
    # By hand: four pieces of more than 500 mm; each roll of 1 m holds one; a remnant of 1.2 m holds two.
    length = cut_mm(bare)
    assert length == 580
    found = planned(bare, lot(7, BLACK, 1200))
    entry = line(found, BLACK)
    assert (entry.needed, entry.on_shelf, entry.to_buy) == (4 * length, 2 * length, 2 * length)
    assert (entry.packs, entry.price) == ((("metre", 2),), Decimal("2.00"))
    first = sheet(found, BLACK).layouts[0]
    assert (first.source, first.lot, len(first.pieces), first.left_mm) == ("lot", 7, 2, 1200 - 2 * length)


def test_of_a_lot_that_another_build_keeps_only_the_rest_is_planned_with(bare: tuple[Build, Catalogue]) -> None:
    # By hand: of 1200 mm another build keeps 600; one piece fits into what is left, so three rolls are bought.
    found = planned(bare, lot(7, BLACK, 1200, reserved={"other": 600}))
    assert line(found, BLACK).packs == (("metre", 3),)


def test_a_wire_that_is_cut_and_still_right_is_not_cut_again(bare: tuple[Build, Catalogue]) -> None:
    length, ids = cut_mm(bare), black_ids(bare)
    found = planned(bare, pieces=(piece(2, ids[0], length), piece(3, ids[1], length)))
    entry = line(found, BLACK)
    # By hand: two of four are in the cable; two rolls for the other two.
    assert (entry.needed, entry.used, entry.to_buy) == (4 * length, 2 * length, 2 * length)
    assert entry.packs == (("metre", 2),)
    labels = {p.label for layout in sheet(found, BLACK).layouts for p in layout.pieces}
    assert labels == {w.label for w in found.runs[0].wires if w.colour == "BK" and w.id in ids[2:]}


def test_a_piece_that_became_too_short_is_offered_to_the_roll_plan_first(bare: tuple[Build, Catalogue]) -> None:
    # By hand: a piece cut for a wire that is gone, 1170 mm long, takes two of the four wires; two rolls for the rest.
    found = planned(bare, pieces=(piece(9, "gone/part.socket/1", 1170),))
    assert line(found, BLACK).packs == (("metre", 2),)
    (gone,) = [change for change in found.changes if change.piece == 9]
    assert gone.state == "not_needed"
    assert len(gone.serves) == 2


def test_wires_cut_for_the_build_raise_no_price_and_what_was_bought_stays_in_it(bare: tuple[Build, Catalogue]) -> None:
    # By hand: 4.00 for black rolls are spent; with all four black wires cut, the build costs what it cost before.
    before = plan(*bare).estimate.materials
    pieces = tuple(piece(10 + n, ident, cut_mm(bare)) for n, ident in enumerate(black_ids(bare)))
    found = planned(bare, pieces=pieces, spent=Decimal("4.00"))
    assert (found.spent, found.estimate.materials) == (Decimal("4.00"), before)


def test_contacts_on_the_shelf_and_in_the_cable_are_not_bought_again(bare: tuple[Build, Catalogue]) -> None:
    # By hand: 16 sockets and 2 spare; 10 are crimped, 5 lie on the shelf, 3 are missing.
    found = planned(bare, lot(4, SOCKETS, 5), takes={(1, SOCKETS): 10})
    entry = line(found, SOCKETS)
    assert (entry.needed, entry.used, entry.on_shelf, entry.to_buy) == (18, 10, 5, 3)


def used_sockets(scene: tuple[Build, Catalogue], taken: int, run: int = 1, **fields: object) -> int:
    return line(planned(scene, takes={(run, SOCKETS): taken}, **fields), SOCKETS).used  # type: ignore[arg-type]


def crimped(scene: tuple[Build, Catalogue], count: int, **fields: object) -> tuple[Piece, ...]:
    """So many black wires of the run, cut as planned and crimped."""
    made = (piece(20 + n, ident, cut_mm(scene)) for n, ident in enumerate(black_ids(scene)[:count]))
    return tuple(replace(one, stages=("crimped",), **fields) for one in made)  # type: ignore[arg-type]


def test_contacts_on_a_crimped_wire_that_was_thrown_away_are_bought_again(bare: tuple[Build, Catalogue]) -> None:
    # By hand: 16 sockets in 8 wires; with three wires thrown away 6 of 16 are gone; 18 with spares, 8 to buy.
    lost = crimped(bare, 3, whereabouts="scrap")
    entry = line(planned(bare, lost=lost, takes={(1, SOCKETS): 16}), SOCKETS)
    assert (entry.needed, entry.used, entry.to_buy) == (18, 10, 8)


def test_a_wire_thrown_away_before_it_was_crimped_took_no_contacts(bare: tuple[Build, Catalogue]) -> None:
    lost = tuple(replace(one, stages=()) for one in crimped(bare, 3, whereabouts="scrap"))
    assert used_sockets(bare, 16, lost=lost) == 16


def test_contacts_on_a_crimped_wire_that_is_too_short_now_are_bought_again(bare: tuple[Build, Catalogue]) -> None:
    # By hand: of two crimped wires one is 100 mm long and does not serve: two contacts.
    short, good = crimped(bare, 2)
    assert used_sockets(bare, 16, pieces=(replace(short, length_mm=100), good)) == 14


def test_contacts_in_a_run_that_the_plan_does_not_have_serve_no_other(bare: tuple[Build, Catalogue]) -> None:
    assert used_sockets(bare, 10, run=9) == 0


def test_more_wires_lost_than_contacts_taken_leave_none_used(bare: tuple[Build, Catalogue]) -> None:
    assert used_sockets(bare, 4, lost=crimped(bare, 3, whereabouts="scrap")) == 0


def test_work_on_a_wire_that_was_thrown_away_costs_hours_again(bare: tuple[Build, Catalogue]) -> None:
    # By hand, in minutes: cut 0.3; strip 2x0.3, crimp 2x0.6; sleeve ends 2x0.8, shrink 2x0.5; insert 2x0.3; test 0.3.
    (one,) = crimped(bare, 1, whereabouts="scrap")
    done = replace(one, stages=("crimped", "sleeved", "fitted", "tested"))
    before = plan(*bare).estimate
    for lost, minutes in ((replace(one, stages=()), "0.3"), (one, "2.1"), (done, "5.6")):
        found = planned(bare, lost=(lost,)).estimate
        assert (found.again_wires, found.again_minutes) == (1, Decimal(minutes))
        assert found.minutes - before.minutes == Decimal(minutes)


def test_work_on_a_wire_that_does_not_serve_any_more_is_counted_and_on_one_that_does_is_not(
    bare: tuple[Build, Catalogue],
) -> None:
    # By hand: one crimped wire too short, 2.1 min; the other stays where it is.
    short, good = crimped(bare, 2)
    found = planned(bare, pieces=(replace(short, length_mm=100), good)).estimate
    assert (found.again_wires, found.again_minutes) == (1, Decimal("2.1"))


def test_sleeve_and_tube_that_were_thrown_away_cost_no_hours(bare: tuple[Build, Catalogue]) -> None:
    lost = piece(5, "r1/sleeve/BK/1", 300, Material("sleeve", "small", "BK"))
    assert planned(bare, lost=(replace(lost, whereabouts="scrap"),)).estimate == plan(*bare).estimate


def test_a_shelf_that_covers_everything_leaves_nothing_to_buy(bare: tuple[Build, Catalogue]) -> None:
    found = planned(bare, lot(1, BLACK, 9000), lot(2, YELLOW, 9000))
    assert [(line(found, m).packs, line(found, m).price) for m in (BLACK, YELLOW)] == [((), Decimal(0))] * 2


def test_the_loss_of_every_cut_is_planned_for(bare: tuple[Build, Catalogue]) -> None:
    # By hand: a remnant of exactly two pieces holds them only if the one cut between them loses nothing.
    length = cut_mm(bare)
    build, own = bare
    lossy = replace(build, allowances=replace(build.allowances, cut_loss_mm=1)), own
    exact = lot(1, BLACK, 2 * length)
    assert len(sheet(planned(bare, exact), BLACK).layouts[0].pieces) == 2
    assert len(sheet(planned(lossy, exact), BLACK).layouts[0].pieces) == 1
