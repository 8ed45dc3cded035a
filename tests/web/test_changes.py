"""What changed at the bench: pieces held against the plan, and each button as an entry of the ledger.

The scene is the usual board with two drives, every run measured at 400 mm, everything bought and cut. Lengths that a
test expects follow from the change that it makes: a route 50 mm longer asks for 50 mm more of every wire of its run.
"""

from collections import Counter
from collections.abc import Iterator
from xml.etree.ElementTree import Element

import pytest
from httpx import Response

from server.domain.edits import RouteEntry
from server.domain.model.bench import Assign, Entry, ScrapPiece, Shelve, Trim
from server.domain.model.build import Route
from server.domain.model.plan import WireChange
from server.services.bench import BenchDesk
from server.services.opened import Opened
from tests.web.conftest import Bench
from tests.web.reading import all_of, by_id, forms, page, words


def opened(bench: Bench) -> Opened:
    return bench.desk.open(bench.id)


def ledger(bench: Bench) -> BenchDesk:
    return bench.client.app.state.bench  # type: ignore[attr-defined, no-any-return]


def routed(bench: Bench, length_mm: float, run: int = 0) -> None:
    held = opened(bench).build.runs[run]
    route = Route(length_mm=length_mm, spacing_mm=(120.0,) * (len(held.ends) - 1))
    bench.desk.set_routes(bench.id, bench.revision, {held.id: RouteEntry(route)})


@pytest.fixture
def cut(bench: Bench) -> Bench:
    """The bench with everything bought and cut."""
    for run in range(len(opened(bench).build.runs)):
        routed(bench, 400.0, run)
    desk = ledger(bench)
    while lines := [line for line in opened(bench).plan.buys if line.packs]:
        desk.buy(bench.id, bench.revision, (lines[0].kind, lines[0].item, lines[0].colour))
    while lots := list(_ready(opened(bench))):
        desk.cut_layout(bench.id, bench.revision, "lot", *lots[0])
    return bench


def _ready(found: Opened) -> Iterator[tuple[int, list[str]]]:
    for sheet in found.plan.rolls:
        for layout in sheet.layouts:
            if ids := [piece.id for piece in layout.pieces if layout.source == "lot" and piece.ready]:
                yield layout.lot, ids


def in_state(bench: Bench, state: str) -> list[WireChange]:
    return [change for change in opened(bench).plan.changes if change.state == state]


def panel(bench: Bench) -> Element:
    return by_id(page(bench.look("changes").text), "changes")


def do(bench: Bench, deed: str, *pieces: int, swap: bool = True, **fields: str) -> Response:
    data = {"ledger": str(opened(bench).ledger), "do": deed, "piece": [str(piece) for piece in pieces], **fields}
    return bench.send("changes", swap=swap, **data)


def last(bench: Bench, number: int = 1) -> list[Entry]:
    """The newest entries of the ledger, the newest first."""
    return [stored.entry for stored in ledger(bench).entries(bench.id)[:number]]


def test_before_anything_is_cut_the_panel_says_how_to_start(bench: Bench) -> None:
    found = panel(bench)
    assert "Nothing has been cut for this build yet" in words(found)
    assert f"/builds/{bench.id}/rolls" in [link.get("href") for link in all_of(found, "a")]
    assert not list(forms(found))


def test_with_everything_cut_and_nothing_changed_no_piece_needs_a_decision(cut: Bench) -> None:
    told = words(panel(cut))
    assert f"{len(opened(cut).plan.changes)} pieces as planned" in told
    assert "no piece needs a decision" in told


def test_a_longer_route_makes_its_wires_too_short_and_says_by_how_much(cut: Bench) -> None:
    # 50 mm longer, less what the cut lengths were rounded up by: at most one step of 5 mm.
    routed(cut, 450.0)
    found = in_state(cut, "too_short")
    assert all(45 <= change.off_mm <= 50 for change in found if "/" in change.id and "sl" not in change.label)
    told = words(panel(cut))
    assert f"Too short {len(found)} pieces" in told
    assert f"{found[0].off_mm} mm too short" in told


def test_states_are_told_by_a_mark_and_a_word_and_not_by_colour_alone(cut: Bench) -> None:
    routed(cut, 450.0)
    (heading,) = [h for h in all_of(panel(cut), "h3") if "Too short" in words(h)]
    assert words(heading).startswith("■ Too short")


def test_pieces_that_are_alike_stand_in_one_row_with_every_label(cut: Bench) -> None:
    routed(cut, 450.0)
    labels = [change.label for change in in_state(cut, "too_short")]
    rows = [words(head) for head in all_of(panel(cut), "th") if head.get("scope") == "row"]
    assert Counter(label for row in rows for label in row.split(", ")) == Counter(labels)
    assert len(rows) < len(labels)


def test_trim_writes_the_length_that_the_plan_wants(cut: Bench) -> None:
    routed(cut, 350.0)
    change = in_state(cut, "trim")[0]
    answer = do(cut, "trim", change.piece)
    assert answer.status_code == 200
    assert last(cut) == [Trim(change.piece, change.cut_mm)]
    assert "of the bench ledger" in answer.text
    assert change.piece in [held.piece for held in in_state(cut, "unchanged")]


def test_before_the_button_it_says_that_a_crimped_piece_carries_contacts(cut: Bench) -> None:
    routed(cut, 350.0)
    change = next(change for change in in_state(cut, "trim") if "sl" not in change.label)
    before = words(panel(cut))
    ledger(cut).stage(cut.id, [change.piece], "crimped")
    told = words(panel(cut))
    assert "carries contacts" not in before
    assert "it is crimped and carries contacts" in told
    assert "its ticks are cleared: crimp and test it again" in told


def test_all_pieces_to_trim_are_trimmed_by_one_button(cut: Bench) -> None:
    routed(cut, 350.0)
    do(cut, "trim_all")
    assert not in_state(cut, "trim")


def test_a_piece_that_is_not_needed_is_kept_as_a_remnant(cut: Bench) -> None:
    cut.desk.remove_run(cut.id, cut.revision, cut.run)
    change = in_state(cut, "not_needed")[0]
    do(cut, "keep", change.piece)
    assert last(cut) == [Shelve(change.piece)]
    assert change.piece not in [held.piece for held in opened(cut).plan.changes]


def test_all_pieces_that_are_not_needed_are_kept_by_one_button(cut: Bench) -> None:
    cut.desk.remove_run(cut.id, cut.revision, cut.run)
    do(cut, "keep_all")
    assert not in_state(cut, "not_needed")


def test_a_piece_is_thrown_away_with_a_reason(cut: Bench) -> None:
    routed(cut, 450.0)
    change = in_state(cut, "too_short")[0]
    do(cut, "scrap", change.piece, **{f"reason.{change.piece}": "nicked"})
    assert last(cut) == [ScrapPiece(change.piece, "nicked")]


def test_without_a_reason_nothing_is_thrown_away(cut: Bench) -> None:
    routed(cut, 450.0)
    change, before = in_state(cut, "too_short")[0], opened(cut).ledger
    answer = do(cut, "scrap", change.piece)
    assert answer.status_code == 422
    assert "Say why it is thrown away." in answer.text
    assert opened(cut).ledger == before


def test_a_piece_too_short_for_its_wire_is_used_for_a_shorter_one(cut: Bench) -> None:
    # The second run loses its pieces, and the first grows: a piece of the first then serves the second.
    routed(cut, 450.0, 1)
    for change in in_state(cut, "too_short"):
        do(cut, "keep", change.piece)
    routed(cut, 300.0, 1)
    routed(cut, 450.0, 0)
    wanted = {change.name: change for change in in_state(cut, "new")}
    piece = next(c for c in in_state(cut, "too_short") if c.name in wanted and c.length_mm >= wanted[c.name].cut_mm)
    other = wanted[piece.name]
    assert f"{other.label}, {other.cut_mm} mm" in words(panel(cut))
    do(cut, "use", piece.piece, **{f"use.{piece.piece}": other.id})
    assert last(cut) == [Assign(piece.piece, other.id, other.label, other.run)]


def test_a_piece_is_not_used_for_a_wire_that_was_not_offered(cut: Bench) -> None:
    routed(cut, 450.0)
    change = in_state(cut, "too_short")[0]
    answer = do(cut, "use", change.piece, **{f"use.{change.piece}": change.id})
    assert answer.status_code == 422
    assert "Pick a wire of the list." in answer.text


def test_a_piece_that_the_roll_plan_serves_others_with_is_cut_for_them(cut: Bench) -> None:
    # The first run goes and comes back shorter: what is left of it serves, as the roll plan says.
    routed(cut, 450.0, 1)
    for change in in_state(cut, "too_short"):
        do(cut, "scrap", change.piece, **{f"reason.{change.piece}": "burnt"})
    routed(cut, 300.0, 1)
    routed(cut, 450.0, 0)
    (piece, *_) = [c for c in in_state(cut, "too_short") if c.serves and c.serves[0] != "spare"]
    assert f"the roll plan cuts {piece.serves[0]}" in words(panel(cut))
    assert do(cut, "cut", piece.piece).status_code == 200
    served = [c.label for c in opened(cut).plan.changes if c.state in ("unchanged", "good")]
    assert set(piece.serves) <= set(served)


def test_a_piece_that_is_as_planned_is_not_thrown_away_from_here(cut: Bench) -> None:
    change, before = in_state(cut, "unchanged")[0], opened(cut).ledger
    answer = do(cut, "scrap", change.piece, **{f"reason.{change.piece}": "by mistake"})
    assert answer.status_code == 422
    assert opened(cut).ledger == before


def test_a_button_pressed_twice_writes_once(cut: Bench) -> None:
    routed(cut, 350.0)
    change, seen = in_state(cut, "trim")[0], str(opened(cut).ledger)
    data = {"ledger": seen, "do": "trim", "piece": str(change.piece)}
    answers = [cut.send("changes", swap=True, **data).status_code for _ in range(2)]
    assert answers == [200, 422]


def test_a_page_of_an_older_plan_writes_nothing(cut: Bench) -> None:
    routed(cut, 350.0)
    change, old = in_state(cut, "trim")[0], cut.revision
    routed(cut, 340.0)
    before = opened(cut).ledger
    data = {"ledger": str(before), "do": "trim", "piece": str(change.piece)}
    assert cut.send("changes", swap=True, base=old, **data).status_code == 409
    assert opened(cut).ledger == before


@pytest.mark.parametrize("piece", ["", "0", "999999", "x", "1" * 400])
def test_a_piece_that_is_none_is_refused_in_words(cut: Bench, piece: str) -> None:
    answer = cut.send("changes", swap=True, ledger=str(opened(cut).ledger), do="keep", piece=piece)
    assert answer.status_code == 422
    assert "there is nothing of the kind to do" in answer.text.lower()


def test_without_a_script_the_way_leads_back_to_the_panel(cut: Bench) -> None:
    routed(cut, 350.0)
    answer = do(cut, "trim_all", swap=False)
    assert (answer.status_code, answer.headers["Location"]) == (303, f"/builds/{cut.id}/changes")


@pytest.mark.parametrize("route", [Route(), Route(low_mm=300.0, high_mm=500.0)])
def test_pieces_of_a_run_that_is_not_measured_now_are_kept(cut: Bench, route: Route) -> None:
    run = opened(cut).build.runs[0]
    cut.desk.set_routes(cut.id, cut.revision, {run.id: RouteEntry(route)})
    of_run = [change for change in opened(cut).plan.changes if change.run == run.number and change.piece]
    assert {change.state for change in of_run} == {"waits"}
    assert "Waiting for a length" in words(panel(cut))


def test_wires_still_to_cut_are_told_by_run(cut: Bench) -> None:
    cut.desk.add_late(cut.id, cut.revision, "fan-4", 1)
    run = opened(cut).plan.runs[-1]
    found = words(panel(cut))
    assert "Still to cut" in found
    assert all(wire.label in found for wire in run.wires)


def test_fans_added_late_leave_every_piece_as_planned(cut: Bench) -> None:
    before = len(in_state(cut, "unchanged"))
    cut.desk.add_late(cut.id, cut.revision, "fan-4", 2)
    assert len(in_state(cut, "unchanged")) == before
    assert {change.state for change in opened(cut).plan.changes} == {"unchanged", "new"}


def test_what_the_change_costs_is_told_once_a_revision_is_named(cut: Bench) -> None:
    cut.desk.name_revision(cut.id, cut.revision, "agreed with client")
    number = cut.revision
    cut.desk.add_late(cut.id, cut.revision, "fan-4", 1)
    assert f"Since revision {number} ‘agreed with client’: 1 more run, 4 more wires" in words(panel(cut))


def test_lengths_follow_the_unit(cut: Bench) -> None:
    routed(cut, 350.0)
    change = in_state(cut, "trim")[0]
    answer = cut.client.get(f"/builds/{cut.id}/changes?unit=in")
    # 25.4 mm are an inch.
    assert f"Trim to {round(change.cut_mm / 25.4, 2):g} in" in words(by_id(page(answer.text), "changes"))
