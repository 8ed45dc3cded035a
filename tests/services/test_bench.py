"""What a person can do at the bench, over a real database file. Expected values: the rules of each intent, and the
figures of the plan that the intent was carried out on."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from decimal import Decimal

import pytest
from sqlalchemy import Engine, text

from server.domain.edits import RouteEntry
from server.domain.errors import ConflictError, InvalidInputError, NotFoundError
from server.domain.model.bench import Cut, Material, Piece, Receive, Recount, Reserve, ScrapStock, Shelve
from server.domain.model.build import Route
from server.domain.model.catalogue import ItemKind
from server.domain.model.plan import RollLayout, RollPiece
from server.services.bench import BenchDesk
from server.services.bench_cutting import worked
from server.services.builds import BuildDesk
from server.services.opened import Opened
from server.store.database import reading

Key = tuple[ItemKind, str, str]
WIRE: Key = ("wire", "awg16-plain", "BK")
AT = "2025-01-01T00:00:00+00:00"


@pytest.fixture
def bench(engine: Engine, desk: BuildDesk) -> BenchDesk:
    return BenchDesk(engine, desk, lambda: AT)


@pytest.fixture
def opened(desk: BuildDesk) -> Opened:
    return desk.create_example("compact")


def refusal(act: Callable[[], object]) -> str:
    with pytest.raises(InvalidInputError) as error:
        act()
    return error.value.problems[0].message


def buy(bench: BenchDesk, opened: Opened, key: Key = WIRE) -> tuple[int, ...]:
    return bench.buy(opened.build_id, opened.revision, key)


def layout_of(opened: Opened, source: str, key: Key = WIRE) -> RollLayout:
    """The first layout of a material that is cut from the shelf, or from a piece."""
    sheet = next(sheet for sheet in opened.plan.rolls if (sheet.kind, sheet.item, sheet.colour) == key)
    return next(layout for layout in sheet.layouts if layout.source == source)


def cut_everything(desk: BuildDesk, bench: BenchDesk, build_id: str, key: Key = WIRE) -> None:
    lots = {layout.lot for layout in layouts(desk.open(build_id), key) if layout.source == "lot"}
    for lot in lots:
        bench.cut_layout(build_id, desk.open(build_id).revision, "lot", lot)


def layouts(opened: Opened, key: Key) -> tuple[RollLayout, ...]:
    return next(s.layouts for s in opened.plan.rolls if (s.kind, s.item, s.colour) == key)


def measure(desk: BuildDesk, opened: Opened, run_id: str, length: float) -> Opened:
    return desk.set_routes(opened.build_id, opened.revision, {run_id: RouteEntry(Route(length_mm=length))})


# ---- buying ---------------------------------------------------------------------------------------------------------


def test_a_line_that_is_ticked_bought_lies_on_the_shelf_one_lot_for_each_roll(
    desk: BuildDesk, bench: BenchDesk, opened: Opened
) -> None:
    line = next(line for line in opened.plan.buys if (line.kind, line.item, line.colour) == WIRE)
    buy(bench, opened)
    lots = list(bench.bench().lots.values())
    assert [(lot.received, lot.build, lot.left) for lot in lots] == [(10_000, opened.build_id, 10_000)] * 2
    assert sum(lot.unit_price * lot.received for lot in lots) == line.price


def test_what_is_bought_is_on_the_shelf_of_the_next_plan(desk: BuildDesk, bench: BenchDesk, opened: Opened) -> None:
    line = next(line for line in opened.plan.buys if (line.kind, line.item, line.colour) == WIRE)
    buy(bench, opened)
    after = next(n for n in desk.open(opened.build_id).plan.buys if (n.kind, n.item, n.colour) == WIRE)
    assert (after.on_shelf, after.to_buy, after.packs) == (line.needed, 0, ())
    assert desk.open(opened.build_id).plan.spent == line.price


def test_a_price_of_ones_own_holds_for_what_is_bought(desk: BuildDesk, bench: BenchDesk, opened: Opened) -> None:
    dear = desk.set_price(opened.build_id, opened.revision, "wire-awg16-plain-10000", Decimal("7.77"))
    bench.buy(dear.build_id, dear.revision, WIRE, {"wire-awg16-plain-10000": 1})
    assert bench.on_hand(dear.build_id).spent == Decimal("7.77")


def test_number_of_packs_and_price_are_the_builders_to_tell(bench: BenchDesk, opened: Opened) -> None:
    pack = "wire-awg16-plain-10000"
    bench.buy(opened.build_id, opened.revision, WIRE, {pack: 3}, {pack: Decimal("1.10")})
    assert len(bench.bench().lots) == 3
    assert bench.on_hand(opened.build_id).spent == Decimal("3.30")


@pytest.mark.parametrize(
    ("packs", "told"),
    [
        ({}, "how many"),
        ({"wire-awg16-plain-10000": 0}, "how many"),
        ({"wire-awg16-plain-10000": -1}, "how many"),
        ({"wire-awg16-plain-10000": 501}, "at most 500"),
        ({"sleeve-large-5000": 1}, "not sold as"),
    ],
)
def test_packs_that_make_no_sense_are_not_bought(
    bench: BenchDesk, opened: Opened, packs: dict[str, int], told: str
) -> None:
    assert told in refusal(lambda: bench.buy(opened.build_id, opened.revision, WIRE, packs))
    assert bench.entries() == ()


def test_a_price_below_zero_is_refused_and_nothing_is_bought(bench: BenchDesk, opened: Opened) -> None:
    pack = "wire-awg16-plain-10000"
    refusal(lambda: bench.buy(opened.build_id, opened.revision, WIRE, {pack: 2}, {pack: Decimal(-1)}))
    assert bench.entries() == ()


def test_a_second_click_on_the_same_page_buys_nothing(bench: BenchDesk, opened: Opened) -> None:
    bench.buy(opened.build_id, opened.revision, WIRE, base=0)
    told = refusal(lambda: bench.buy(opened.build_id, opened.revision, WIRE, {"wire-awg16-plain-10000": 2}, base=0))
    assert told.startswith("entry 1 (onto the shelf) was written meanwhile")
    assert len(bench.entries()) == 2


def test_two_clicks_at_the_same_moment_buy_once(bench: BenchDesk, opened: Opened) -> None:
    def click(_: int) -> str:
        try:
            bench.buy(opened.build_id, opened.revision, WIRE, {"wire-awg16-plain-10000": 1}, base=0)
        except InvalidInputError:
            return "told"
        return "bought"

    with ThreadPoolExecutor(4) as pool:
        outcomes = sorted(pool.map(click, range(6)))
    assert outcomes == ["bought"] + ["told"] * 5


def test_what_another_build_does_is_no_hindrance(desk: BuildDesk, bench: BenchDesk, opened: Opened) -> None:
    other = desk.create_example("compact")
    buy(bench, other)
    assert bench.buy(opened.build_id, opened.revision, WIRE, base=0)


def test_a_page_of_another_ledger_is_told_to_load_again(bench: BenchDesk, opened: Opened) -> None:
    assert "load it again" in refusal(lambda: bench.buy(opened.build_id, opened.revision, WIRE, base=7))


def test_buying_on_an_old_revision_is_refused_with_what_changed(
    desk: BuildDesk, bench: BenchDesk, opened: Opened
) -> None:
    desk.rename(opened.build_id, opened.revision, "Meanwhile", opened.build.client, opened.build.notes)
    with pytest.raises(ConflictError) as error:
        buy(bench, opened)
    assert error.value.changes == ("renamed from 'Shelf machine, small case' to 'Meanwhile'",)


def test_a_line_that_the_buy_list_does_not_have_is_not_found(bench: BenchDesk, opened: Opened) -> None:
    with pytest.raises(NotFoundError):
        buy(bench, opened, ("wire", "awg16-plain", "RD"))


def test_the_longest_name_of_a_build_is_no_hindrance(desk: BuildDesk, bench: BenchDesk, opened: Opened) -> None:
    named = desk.rename(opened.build_id, opened.revision, "N" * 200, "", "")
    buy(bench, named)
    assert bench.bench().lots[1].origin == "bought for " + "N" * 189


# ---- shelf ----------------------------------------------------------------------------------------------------------

REMNANT = Receive(Material("wire", "awg16-plain", "BK"), 1000, Decimal(0), "drawer")


def test_the_second_build_that_wants_the_last_metre_is_told_by_name_who_keeps_it(
    desk: BuildDesk, bench: BenchDesk
) -> None:
    first, second = desk.create("Tower"), desk.create("Cube")
    bench.write_all([REMNANT, Reserve(1, first.build_id, 1000)])
    told = refusal(lambda: bench.write(Reserve(1, second.build_id, 1000)))
    assert told == "lot 1 has 1000 mm left; 1000 mm are kept for Tower"


def test_two_builds_that_reach_for_the_last_metre_at_once_do_not_both_get_it(desk: BuildDesk, bench: BenchDesk) -> None:
    builds = [desk.create(f"Build {n}").build_id for n in range(4)]
    bench.write(REMNANT)

    def reach(build_id: str) -> str:
        try:
            bench.write(Reserve(1, build_id, 1000))
        except InvalidInputError:
            return "told"
        return "kept"

    with ThreadPoolExecutor(4) as pool:
        assert sorted(pool.map(reach, builds)) == ["kept", "told", "told", "told"]


def test_a_finished_build_lets_go_of_everything_at_once(desk: BuildDesk, bench: BenchDesk, opened: Opened) -> None:
    buy(bench, opened)
    bench.release_all(opened.build_id)
    assert [lot.free_for("") for lot in bench.bench().lots.values()] == [10_000, 10_000]


def test_a_stale_count_of_a_lot_is_refused(bench: BenchDesk) -> None:
    bench.write(REMNANT)
    bench.write(ScrapStock(1, 100, "kinked"))
    assert "meanwhile" in refusal(lambda: bench.write(Recount(1, 1000, "measured"), base=1))


WRONG = [
    (replace(REMNANT, material=Material("wire", "awg99-plain", "BK")), "no wire 'awg99-plain'"),
    (replace(REMNANT, material=Material("wire", "awg16-plain", "XX")), "no colour 'XX'"),
    (replace(REMNANT, material=Material("wire", "awg16-plain")), "no colour ''"),
    (replace(REMNANT, origin=" "), "where it came from"),
    (replace(REMNANT, origin="x" * 201), "at most 200 characters"),
    (replace(REMNANT, origin="half\ud800"), "cannot be shown"),
    (replace(REMNANT, build="nobody"), "no such build"),
]


@pytest.mark.parametrize(("entry", "told"), WRONG, ids=[told for _, told in WRONG])
def test_what_there_is_not_does_not_come_onto_the_shelf(bench: BenchDesk, entry: Receive, told: str) -> None:
    assert told in refusal(lambda: bench.write(entry))


def test_of_some_entries_all_or_none_are_written(bench: BenchDesk) -> None:
    refusal(lambda: bench.write_all([REMNANT, REMNANT, ScrapStock(9, 1, "no such lot")]))
    assert bench.entries() == ()


def test_a_build_that_is_put_away_gets_nothing_but_its_things_can_be_released(
    desk: BuildDesk, bench: BenchDesk, opened: Opened
) -> None:
    buy(bench, opened)
    desk.delete(opened.build_id)
    assert "no such build" in refusal(lambda: bench.write(Reserve(1, opened.build_id, 1)))
    assert len(bench.release_all(opened.build_id)) == 2


# ---- cutting --------------------------------------------------------------------------------------------------------


def test_a_layout_is_cut_piece_by_piece_in_its_order(desk: BuildDesk, bench: BenchDesk, opened: Opened) -> None:
    buy(bench, opened)
    layout = layout_of(desk.open(opened.build_id), "lot")
    bench.cut_layout(opened.build_id, opened.revision, "lot", layout.lot)
    cut = [(p.wire, p.label, p.length_mm) for p in bench.bench().pieces.values()]
    assert cut == [(p.id, p.label, p.length_mm) for p in layout.pieces]


def test_what_is_cut_is_used_and_wanted_no_more(desk: BuildDesk, bench: BenchDesk, opened: Opened) -> None:
    buy(bench, opened)
    needed = next(line.needed for line in opened.plan.buys if (line.kind, line.item, line.colour) == WIRE)
    cut_everything(desk, bench, opened.build_id)
    line = next(x for x in desk.open(opened.build_id).plan.buys if (x.kind, x.item, x.colour) == WIRE)
    assert (line.used, line.to_buy) == (needed, 0)


def test_a_second_click_cuts_nothing(desk: BuildDesk, bench: BenchDesk, opened: Opened) -> None:
    buy(bench, opened)
    before = desk.open(opened.build_id)
    lot = layout_of(before, "lot").lot
    bench.cut_layout(before.build_id, before.revision, "lot", lot, base=before.ledger)
    written = len(bench.entries())
    refusal(lambda: bench.cut_layout(before.build_id, before.revision, "lot", lot, base=before.ledger))
    assert len(bench.entries()) == written


def test_a_wire_that_is_cut_is_not_cut_again(desk: BuildDesk, bench: BenchDesk, opened: Opened) -> None:
    buy(bench, opened)
    layout = layout_of(desk.open(opened.build_id), "lot")
    wire = layout.pieces[0].id
    bench.cut(opened.build_id, opened.revision, [wire], layout.lot)
    told = refusal(lambda: bench.cut(opened.build_id, opened.revision, [wire], layout.lot))
    assert "cut already" in told


def test_wires_are_cut_from_a_lot_of_ones_own_choice(desk: BuildDesk, bench: BenchDesk, opened: Opened) -> None:
    buy(bench, opened)
    own = bench.write(replace(REMNANT, quantity=1000))
    wire = layouts(desk.open(opened.build_id), WIRE)[0].pieces[-1]
    bench.cut(opened.build_id, opened.revision, [wire.id], own)
    assert bench.bench().lots[own].left == 1000 - wire.length_mm


def test_a_roll_is_bought_before_it_is_cut(bench: BenchDesk, opened: Opened) -> None:
    assert "buy the roll" in refusal(lambda: bench.cut_layout(opened.build_id, opened.revision, "roll", 0))


def test_a_wire_whose_run_is_not_measured_is_not_cut(desk: BuildDesk, bench: BenchDesk, opened: Opened) -> None:
    key: Key = ("wire", "awg22-plain", "BK")
    late = next(p for layout in layouts(opened, key) for p in layout.pieces if not p.ready)
    (lot, *_) = buy(bench, opened, key)
    assert "measure it first" in refusal(lambda: bench.cut(opened.build_id, opened.revision, [late.id], lot))


def longer(desk: BuildDesk, bench: BenchDesk, opened: Opened, more: float) -> tuple[str, Opened]:
    """The build with all its thick wire cut and its first run then measured longer."""
    buy(bench, opened)
    cut_everything(desk, bench, opened.build_id)
    run = next(run for run in opened.plan.runs if run.length_mm and run.wires[0].awg == 16)
    return run.id, measure(desk, desk.open(opened.build_id), run.id, (run.length_mm or 0) + more)


def test_a_piece_that_became_too_short_is_put_on_the_shelf_and_cut_up_for_others(
    desk: BuildDesk, bench: BenchDesk, opened: Opened
) -> None:
    _, changed = longer(desk, bench, opened, 100)
    piece = next(c.piece for c in changed.plan.changes if c.state == "too_short")
    bench.write(Shelve(piece))
    assert bench.bench().lots[bench.bench().entries].cut_from == piece


def test_the_roll_plan_cuts_other_wires_from_a_piece_that_became_too_short(
    desk: BuildDesk, bench: BenchDesk, opened: Opened
) -> None:
    (lot, *_) = buy(bench, opened)
    run = next(run for run in opened.plan.runs if run.length_mm and run.wires[0].awg == 16)
    bench.cut(opened.build_id, opened.revision, [wire.id for wire in run.wires if wire.awg == 16], lot)
    changed = measure(desk, opened, run.id, (run.length_mm or 0) + 100)
    layout = layout_of(changed, "piece")
    bench.cut_layout(changed.build_id, changed.revision, "piece", layout.lot)
    served = {change.id: change.state for change in desk.open(changed.build_id).plan.changes}
    assert {served[piece.id] for piece in layout.pieces} == {"unchanged"}


OLD = Piece(7, 1, Material(*WIRE), "", "r1/p1.main/1", "1-1", 1, 600)
FIRST = RollPiece("r2/p1.cpu1/1", "2-1", 560, True)


@pytest.mark.parametrize(
    ("pieces", "expected"),
    [
        ((replace(FIRST, length_mm=600),), ("Assign",)),
        ((FIRST,), ("Trim", "Assign")),
        ((replace(FIRST, length_mm=501),), ("Trim", "Assign")),
        ((replace(FIRST, length_mm=500),), ("Shelve", "Cut")),
        ((replace(FIRST, length_mm=300), replace(FIRST, length_mm=290)), ("Shelve", "Cut", "Cut")),
    ],
    ids=["whole", "trimmed", "99 mm over", "100 mm over", "two wires"],
)
def test_a_piece_of_600_mm_is_taken_for_one_wire_or_cut_up_on_the_shelf(
    opened: Opened, pieces: tuple[RollPiece, ...], expected: tuple[str, ...]
) -> None:
    # The least useful remnant of the example is 100 mm.
    entries = worked(pieces, OLD, opened, last=20)
    assert tuple(type(entry).__name__ for entry in entries) == expected
    assert all(entry.lot == 21 for entry in entries if isinstance(entry, Cut))


# ---- counted things and stages --------------------------------------------------------------------------------------


def test_a_run_takes_its_counted_things_as_far_as_they_are_there(
    desk: BuildDesk, bench: BenchDesk, opened: Opened
) -> None:
    run = opened.plan.runs[0]
    wanted = bench.run_parts(opened, run.id)
    housing = next(material for material in wanted if material.kind == "housing")
    buy(bench, opened, (housing.kind, housing.item, ""))
    bench.take_run(opened.build_id, opened.revision, run.id)
    assert bench.on_hand(opened.build_id).takes == {(run.number, housing): wanted[housing]}
    assert bench.run_parts(opened, run.id) == {m: n for m, n in wanted.items() if m != housing}


def test_nothing_on_the_shelf_is_told(bench: BenchDesk, opened: Opened) -> None:
    run = opened.plan.runs[0]
    assert "on the shelf" in refusal(lambda: bench.take_run(opened.build_id, opened.revision, run.id))


def test_a_stage_before_its_turn_is_refused(desk: BuildDesk, bench: BenchDesk, opened: Opened) -> None:
    buy(bench, opened)
    cut_everything(desk, bench, opened.build_id)
    piece = next(iter(bench.bench().pieces.values()))
    told = refusal(lambda: bench.stage(opened.build_id, [piece.id], "tested"))
    assert told == f"{piece.label} is not fitted yet: it is fitted before it is tested"
    assert bench.bench().pieces[piece.id].stages == ()


def test_what_is_fitted_is_written_down_from_cavity_to_cavity(
    desk: BuildDesk, bench: BenchDesk, opened: Opened
) -> None:
    buy(bench, opened)
    cut_everything(desk, bench, opened.build_id)
    piece = next(iter(bench.bench().pieces.values()))
    bench.stage(opened.build_id, [piece.id], "crimped")
    bench.stage(opened.build_id, [piece.id], "fitted")
    run, wire = next((run, wire) for run in opened.plan.runs for wire in run.wires if wire.id == piece.wire)
    start, *_, end = bench.bench().pieces[piece.id].wiring.split(">")
    assert start.startswith("supply:") or wire.source_at_end
    assert start.endswith(f":{wire.source.cavity}")
    target = run.ends[wire.target.plug].ref
    assert end == f"{target.part}:{target.socket}:{wire.target.cavity}"


def test_a_stage_is_not_done_on_a_piece_of_another_build(desk: BuildDesk, bench: BenchDesk, opened: Opened) -> None:
    buy(bench, opened)
    cut_everything(desk, bench, opened.build_id)
    other = desk.create("Other")
    piece = next(iter(bench.bench().pieces))
    assert "for this build" in refusal(lambda: bench.stage(other.build_id, [piece], "crimped"))


def test_of_some_pieces_all_or_none_are_marked(desk: BuildDesk, bench: BenchDesk, opened: Opened) -> None:
    buy(bench, opened)
    cut_everything(desk, bench, opened.build_id)
    first, second, *_ = bench.bench().pieces
    bench.stage(opened.build_id, [second], "crimped")
    refusal(lambda: bench.stage(opened.build_id, [first, second], "crimped"))
    assert bench.bench().pieces[first].stages == ()


# ---- the ledger -----------------------------------------------------------------------------------------------------


def test_the_ledger_of_a_build_holds_what_concerns_it_newest_first(
    desk: BuildDesk, bench: BenchDesk, opened: Opened
) -> None:
    other = desk.create("Other")
    bench.write_all([REMNANT, Reserve(1, opened.build_id, 10), Reserve(1, other.build_id, 10)])
    bench.undo(2)
    assert [stored.number for stored in bench.entries(opened.build_id)] == [4, 2]


def test_an_undoing_that_is_refused_writes_nothing(bench: BenchDesk) -> None:
    bench.write_all([REMNANT, ScrapStock(1, 10, "kinked")])
    refusal(lambda: bench.undo(1))
    assert len(bench.entries()) == 2


def test_another_desk_on_the_same_file_sees_the_same_bench(
    engine: Engine, desk: BuildDesk, bench: BenchDesk, opened: Opened
) -> None:
    bench.bench()
    second = BenchDesk(engine, desk)
    second.write_all([REMNANT, ScrapStock(1, 10, "kinked")])
    second.undo(2)
    assert bench.bench() == second.bench()


# ---- what was cut stays as it is ------------------------------------------------------------------------------------


def rows(engine: Engine) -> list[tuple[object, ...]]:
    with reading(engine) as session:
        return [tuple(row) for row in session.execute(text("SELECT * FROM bench_ledger ORDER BY number"))]


def test_what_was_cut_is_untouched_when_runs_are_added_late(
    engine: Engine, desk: BuildDesk, bench: BenchDesk, opened: Opened
) -> None:
    buy(bench, opened)
    buy(bench, opened, ("wire", "awg22-plain", "BK"))
    cut_everything(desk, bench, opened.build_id)
    cut_everything(desk, bench, opened.build_id, ("wire", "awg22-plain", "BK"))
    before = desk.open(opened.build_id)
    rows_before, pieces_before = rows(engine), repr(bench.bench().pieces).encode()
    wires_before = {wire.id: wire for run in before.plan.runs for wire in run.wires}

    after = desk.add_late(before.build_id, before.revision, "fan-4", 1)

    assert len(after.plan.runs) > len(before.plan.runs)
    assert rows(engine) == rows_before
    assert repr(bench.bench().pieces).encode() == pieces_before
    kept = {change.id: change.state for change in after.plan.changes if change.piece}
    assert kept == {c.id: c.state for c in before.plan.changes if c.piece}
    assert set(kept.values()) == {"unchanged"}
    assert {wire.id: wire for run in after.plan.runs for wire in run.wires if wire.id in wires_before} == wires_before


def test_no_edit_of_a_build_writes_into_the_ledger(
    engine: Engine, desk: BuildDesk, bench: BenchDesk, opened: Opened
) -> None:
    _, changed = longer(desk, bench, opened, 100)
    before = rows(engine)
    changed = desk.remove_run(changed.build_id, changed.revision, changed.plan.runs[0].id)
    changed = desk.go_back(changed.build_id, changed.revision, 1)
    desk.delete(changed.build_id)
    desk.restore(changed.build_id)
    assert rows(engine) == before
