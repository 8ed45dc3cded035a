"""Sleeve and tube that went with a wire which serves no more. Expected values: by hand, beside each test."""

from dataclasses import replace

import pytest

from server.domain.model.bench import Material, OnHand, Piece, Stage, WireSide
from server.domain.model.build import Build, RunFinish
from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import Plan, PlannedWire
from server.domain.plan import plan
from tests.domain.test_plan import cpu

SLEEVED: tuple[Stage, ...] = ("crimped", "sleeved")


@pytest.fixture
def scene(catalogue: Catalogue) -> tuple[Build, Catalogue]:
    """Eight wires of one processor cable, each in a black sleeve of its own with a tube at each end."""
    build, own = cpu(catalogue, 550)
    finish = replace(build.finish, sleeve="small", sleeve_pattern=("BK",), sleeve_end="shrink")
    run = replace(build.runs[0], finish=RunFinish(combs=False))
    return replace(build, runs=(run,), finish=finish), own


def cut(number: int, wire: str, material: Material, length_mm: int, stages: tuple[Stage, ...] = ()) -> Piece:
    return Piece(number, 1, material, "b", wire, wire, 1, length_mm, stages=stages)


def everything(scene: tuple[Build, Catalogue]) -> tuple[Plan, tuple[Piece, ...]]:
    """The plan with nothing made, and every wire, sleeve and tube of it as cut, the wires sleeved."""
    found = plan(*scene)
    pieces: list[Piece] = []
    for sheet in found.rolls:
        material = Material(sheet.kind, sheet.item, sheet.colour)
        for piece in (p for layout in sheet.layouts for p in layout.pieces if p.id.partition("/")[0] == "r1"):
            stages = SLEEVED if sheet.kind == "wire" else ()
            pieces.append(cut(100 + len(pieces), piece.id, material, piece.length_mm, stages))
    return found, tuple(pieces)


def new_ids(found: Plan, kind: str) -> list[str]:
    return [change.id for change in found.changes if change.state == "new" and f"/{kind}/" in change.id]


def wire(found: Plan, at: int) -> PlannedWire:
    return found.runs[0].wires[at]


def test_a_sleeved_wire_that_is_thrown_away_takes_its_sleeve_and_both_its_tubes(
    scene: tuple[Build, Catalogue],
) -> None:
    # By hand: one wire in one piece of sleeve, a tube at each of its two ends.
    found, pieces = everything(scene)
    lost = next(piece for piece in pieces if piece.wire == wire(found, 2).id)
    rest = tuple(piece for piece in pieces if piece is not lost)
    after = plan(*scene, OnHand("b", (), rest, lost=(replace(lost, whereabouts="scrap"),)))
    assert (len(new_ids(after, "sleeve")), len(new_ids(after, "shrink"))) == (1, 2)
    assert [change.id for change in after.changes if change.state == "new" and change.id == lost.wire] == [lost.wire]


def test_a_wire_that_is_lost_before_it_is_sleeved_leaves_the_sleeve_on_the_bench(
    scene: tuple[Build, Catalogue],
) -> None:
    found, pieces = everything(scene)
    lost = next(piece for piece in pieces if piece.wire == wire(found, 2).id)
    rest = tuple(piece for piece in pieces if piece is not lost)
    after = plan(*scene, OnHand("b", (), rest, lost=(replace(lost, stages=("crimped",)),)))
    assert (new_ids(after, "sleeve"), new_ids(after, "shrink")) == ([], [])


def test_what_was_cut_anew_for_the_next_wire_is_not_lost_with_the_first(scene: tuple[Build, Catalogue]) -> None:
    # By hand: the lost wire's sleeve and tubes are replaced by one sleeve and two tubes; nothing is missing then.
    found, pieces = everything(scene)
    lost = next(piece for piece in pieces if piece.wire == wire(found, 2).id)
    sleeve = next(piece for piece in pieces if piece.material.kind == "sleeve")
    tube = next(piece for piece in pieces if piece.material.kind == "shrink")
    again = (replace(sleeve, id=500), replace(tube, id=501), replace(tube, id=502), replace(lost, id=503, stages=()))
    rest = tuple(piece for piece in pieces if piece is not lost)
    after = plan(*scene, OnHand("b", (), (*rest, *again), lost=(lost,)))
    assert [change.id for change in after.changes if change.state == "new"] == []


def test_a_wire_that_became_too_short_takes_its_sleeve_with_it(scene: tuple[Build, Catalogue]) -> None:
    # By hand: the wire is 1 mm long now, so that it serves no more; its sleeve and two tubes are shrunk onto it.
    found, pieces = everything(scene)
    short = tuple(replace(p, length_mm=1) if p.wire == wire(found, 0).id else p for p in pieces)
    after = plan(*scene, OnHand("b", (), short))
    assert (len(new_ids(after, "sleeve")), len(new_ids(after, "shrink"))) == (1, 2)


def test_what_went_with_a_lost_wire_stands_in_the_change_list_for_nothing(scene: tuple[Build, Catalogue]) -> None:
    # By hand: one piece of sleeve and two tubes fewer than were cut.
    found, pieces = everything(scene)
    lost = next(piece for piece in pieces if piece.wire == wire(found, 2).id)
    rest = tuple(piece for piece in pieces if piece is not lost)
    after = plan(*scene, OnHand("b", (), rest, lost=(lost,)))
    told = {change.piece for change in after.changes if change.piece}
    assert len(rest) - len(told) == 1 + 2
    assert told < {piece.id for piece in rest}


def contacts_used(scene: tuple[Build, Catalogue], lost: Piece, pieces: tuple[Piece, ...]) -> int:
    """Contacts that count as used while all sixteen are taken for the run and one wire is thrown away."""
    found = plan(*scene)
    contact = next(line for line in found.buys if line.kind == "contact")
    takes = {(1, Material("contact", contact.item)): 16}
    held = OnHand("b", (), pieces, takes, lost=(replace(lost, whereabouts="scrap"),))
    return next(line.used for line in plan(*scene, held).buys if line.item == contact.item)


@pytest.mark.parametrize(
    ("stages", "ends", "used"),
    [((), (), 16), ((), ("part",), 15), ((), ("source",), 15), (("crimped",), (), 14)],
    ids=["not crimped", "part end", "source end", "both"],
)
def test_a_lost_wire_takes_the_contacts_that_were_crimped_on_it(
    scene: tuple[Build, Catalogue], stages: tuple[Stage, ...], ends: tuple[WireSide, ...], used: int
) -> None:
    # By hand: eight wires with one contact at each end are sixteen; each end that was crimped is one fewer.
    _, pieces = everything(scene)
    lost = next(piece for piece in pieces if piece.material.kind == "wire")
    rest = tuple(replace(piece, stages=()) for piece in pieces if piece is not lost)
    assert contacts_used(scene, replace(lost, stages=stages, crimped_ends=ends), rest) == used
