"""Cable cards: the longest sum, crimps, tap marks, combs, sleeve ends and the order of work, each after the finish."""

from dataclasses import replace
from xml.etree.ElementTree import Element

import pytest
from fastapi.testclient import TestClient

from server.domain.edits import RouteEntry
from server.domain.model.build import Finish, Method, Route
from server.domain.model.plan import CombPlace, LengthTerm, RunPlan
from server.services.builds import BuildDesk
from server.services.opened import Opened
from server.web.views.bench_facts import comb_facts, sum_words
from server.web.views.cards import Card, cards_panel
from tests.web.conftest import Bench
from tests.web.reading import by_id, page, words


@pytest.fixture
def graphics(pages: TestClient) -> Bench:
    """A card whose eight positions want five COM where the graphics port carries four: one contact is shared."""
    desk: BuildDesk = pages.app.state.desk  # type: ignore[attr-defined]
    opened = desk.create("Cards")
    opened = desk.choose_supply(opened.build_id, opened.revision, "split-18-10")
    opened = desk.add_parts(opened.build_id, opened.revision, "graphics-8", 1)
    run = opened.build.runs[0].id
    desk.set_routes(opened.build_id, opened.revision, {run: RouteEntry(Route(length_mm=465.0))})
    return Bench(pages, desk, opened.build_id)


def opened(bench: Bench) -> Opened:
    return bench.desk.open(bench.id)


def finished(bench: Bench, finish: Finish) -> Opened:
    return bench.desk.set_finish(bench.id, bench.revision, finish)


def built(bench: Bench, method: Method, own_cable_mm: float) -> Opened:
    return bench.desk.set_method(bench.id, bench.revision, bench.run, method, own_cable_mm)


def card(held: Opened, number: int = 1) -> Card:
    return next(made for made in cards_panel(held).cards if made.number == number)


def fact(made: Card, name: str) -> list[str]:
    return [text for key, text in made.facts if key == name]


def chain(bench: Bench) -> tuple[Opened, int]:
    """The two drives as a measured chain, 400 mm to the first and 95 mm onward."""
    run = next(run for run in opened(bench).build.runs if len(run.ends) == 2)
    entry = RouteEntry(Route(length_mm=400.0, spacing_mm=(95.0,)))
    return bench.desk.set_routes(bench.id, bench.revision, {run.id: entry}), run.number


def at(steps: tuple[str, ...], start: str) -> int:
    found = [place for place, step in enumerate(steps) if step.startswith(start)]
    assert len(found) == 1, f"{len(found)} steps start with {start!r}: {steps}"
    return found[0]


def with_terms(bench: Bench, terms: tuple[LengthTerm, ...]) -> RunPlan:
    """A measured run whose first wire has these terms and is cut at 660 mm."""
    run = opened(bench).plan.runs[0]
    return replace(run, wires=(replace(run.wires[0], terms=terms, cut_mm=660, own_mm=0), *run.wires[1:]))


def test_a_length_is_added_up_term_by_term(graphics: Bench) -> None:
    # By hand: 620 + 12.4 + 8 + 8 + 10 = 658.4, rounded up to 660 by a step of 5.
    terms = (
        LengthTerm("route", 620.0, ""),
        LengthTerm("bends", 12.4, ""),
        LengthTerm("into the housing, source end", 8.0, ""),
        LengthTerm("into the housing, part end", 8.0, ""),
        LengthTerm("re-crimp", 10.0, ""),
    )
    run = with_terms(graphics, terms)
    told = sum_words(run, run.wires[0])
    assert told == "620 route + 12.4 bends + 16 into the housing + 10 re-crimp = 658.4, cut 660 mm"


def test_what_shortens_a_wire_is_taken_off_in_the_sum(graphics: Bench) -> None:
    # By hand: 620 - 3.1 = 616.9.
    run = with_terms(graphics, (LengthTerm("route", 620.0, ""), LengthTerm("bends", -3.1, "")))
    assert sum_words(run, run.wires[0]).startswith("620 route − 3.1 bends = 616.9")


def test_the_card_adds_up_its_longest_wire(graphics: Bench) -> None:
    held = opened(graphics)
    longest = max(held.plan.runs[0].wires, key=lambda wire: sum(term.mm for term in wire.terms))
    told = fact(card(held), "longest wire")
    assert len(told) == 1
    assert told[0].startswith(f"{longest.label}: 465 route + ")
    assert told[0].endswith(f"cut {longest.cut_mm} mm")


def test_every_contact_says_strip_length_and_die(graphics: Bench) -> None:
    held = opened(graphics)
    told = " ".join(fact(card(held), "contact"))
    assert held.plan.runs[0].crimps
    for use in held.plan.runs[0].crimps:
        assert f"strip {use.strip_mm:g} mm, {use.die}" in told


def test_the_card_says_which_cavity_takes_the_contact_of_two_wires(graphics: Bench) -> None:
    held = opened(graphics)
    shared = next(wire for wire in held.plan.runs[0].wires if wire.source.shared_with)
    told = [text for text in fact(card(held), "contact") if "two wires" in text]
    assert len(told) == 1
    assert f"for cavity {shared.source.cavity} of " in told[0]


def test_a_spliced_wire_is_said_to_be_joined_and_not_to_start_in_the_shared_cavity(graphics: Bench) -> None:
    plan = opened(graphics).plan.runs[0]
    offer = next(o for o in plan.offers if o.remedy == "splice")
    place = offer.part, offer.socket, offer.cavity
    held = graphics.desk.set_shared(graphics.id, graphics.revision, graphics.run, *place, "splice")
    made = card(held)
    joint = held.plan.runs[0].joints[0]
    joined = [line for line in made.wires.lines if line.joined]
    # Common practice: 40 mm from the housing, 10 mm overlap.
    assert [(line.source, line.joined) for line in joined] == [
        ("", f"joined to {next(x for x in joint.labels if x != joined[0].label)} at 40 mm, 10 mm overlap")
    ]
    assert made.joints[0].text.endswith("; 10 mm overlap")
    assert joined[0].joined in words(by_id(page(graphics.look("cards").text), "card-1"))


def test_a_rework_lists_only_the_new_housing_and_no_colours_for_the_own_wires(graphics: Bench) -> None:
    made = card(built(graphics, "rework", 900.0))
    assert fact(made, "housing") == ["1 × 4.2 mm 8-position, graphics-keyed plug"]
    assert {line.colour for line in made.wires.lines} == {None}
    assert "The supply's own wires stay as their maker made them." in made.wires.common
    assert fact(made, "insulation") == []


def test_new_pieces_soldered_on_have_their_colour_and_both_lengths(graphics: Bench) -> None:
    held = built(graphics, "rework", 380.0)
    wire = held.plan.runs[0].wires[0]
    line = card(held).wires.lines[0]
    assert wire.own_mm == 380
    assert line.cut == f"own 380 + {wire.cut_mm}"
    assert line.colour is not None


def test_an_extension_names_the_own_cable_that_comes_before_it(graphics: Bench) -> None:
    made = card(built(graphics, "extension", 400.0))
    assert fact(made, "own cable before it") == ["400 mm"]
    assert made.steps[0] == "Leave the supply's own cable, 400 mm long, as it is."


def test_closed_combs_are_threaded_before_the_second_plug(graphics: Bench) -> None:
    steps = card(finished(graphics, Finish(comb_kind="closed"))).steps
    assert (
        at(steps, "Insert the contacts") < at(steps, "Thread the wires") < at(steps, "Strip and crimp the supply end")
    )


def test_open_combs_are_pressed_in_at_the_end(graphics: Bench) -> None:
    steps = card(finished(graphics, Finish(comb_kind="open"))).steps
    assert at(steps, "Strip and crimp the supply end") < at(steps, "Press the wires into the combs") < len(steps) - 1
    assert not [step for step in steps if step.startswith("Thread")]


@pytest.mark.parametrize(
    ("way", "said"),
    [
        ("shrink", "shrink a {cut} mm piece of"),
        ("melted", "roll it, take it off while warm: the sleeve stays melted on"),
        ("loose", "trim its end with a hot knife; nothing holds it"),
    ],
)
def test_the_steps_follow_the_way_the_sleeve_ends(graphics: Bench, way: str, said: str) -> None:
    held = finished(graphics, Finish(sleeve_end=way))  # type: ignore[arg-type]
    cut = held.plan.runs[0].shrink_cut_mm
    assert said.format(cut=cut) in card(held).steps[at(card(held).steps, "Draw a sleeve")]


def test_bare_wires_have_no_step_for_sleeve(graphics: Bench) -> None:
    made = card(finished(graphics, Finish(sleeve="")))
    assert not [step for step in made.steps if "sleeve" in step.lower()]
    assert fact(made, "heat-shrink") == []


def test_sleeve_is_told_with_its_cut_and_covered_length_and_what_frays(graphics: Bench) -> None:
    held = opened(graphics)
    told = fact(card(held), "sleeve, cut (covers), mm")
    assert len(told) == 1
    for piece in held.plan.runs[0].sleeve_pieces:
        assert f"{piece.count} × {piece.cut_mm} ({piece.covered_mm:.0f})" in told[0]
    assert "5 mm frays at each end, trimmed" in told[0]


def test_wires_that_run_through_are_marked_at_measured_places(bench: Bench) -> None:
    held, number = chain(bench)
    run = next(run for run in held.plan.runs if run.number == number)
    step = card(held, number).steps[1]
    # By hand: the mark of each plug lies as far from the next as the plugs do, 95 mm.
    first, second = sorted({mark.from_end_mm for mark in run.tap_marks})
    assert second - first == 95
    assert step == f"Mark the wires: plug A at {first} mm, plug B at {second} mm from the crimped end."


def test_the_through_cap_is_on_all_but_the_last_plug_and_both_are_named(bench: Bench) -> None:
    held, number = chain(bench)
    made = card(held, number)
    assert [text.rpartition(", on ")[2] for text in fact(made, "cap")] == ["A", "B"]
    press = made.steps[at(made.steps, "Lay each wire")]
    assert "the through cap on A, the end cap on B" in press


def test_smaller_combs_say_how_many_wires_are_left(graphics: Bench) -> None:
    held = opened(graphics)
    run = held.plan.runs[0]
    small = next(comb.id for comb in held.catalogue.combs.values() if comb.ways == 4)
    large = next(comb.id for comb in held.catalogue.combs.values() if comb.ways == 8)
    places = (CombPlace(large, 40, 0, 8), CombPlace(large, 120, 0, 8), CombPlace(small, 200, 0, 4))
    told = [text for _, text in comb_facts(replace(run, combs=places), held.catalogue)]
    assert told == ["at 40, 120 mm from the part plug", "at 200 mm from the part plug, where 4 of 8 wires are left"]


def numbered(element: Element) -> list[str]:
    return [words(li) for li in element.iter("li")]


def test_the_steps_stand_on_the_card_in_their_order(graphics: Bench) -> None:
    held = opened(graphics)
    printed = numbered(by_id(page(graphics.look("cards").text), "card-1"))
    steps = card(held).steps
    assert len(steps) >= 5
    assert [text for text in printed if text in steps] == list(steps)
