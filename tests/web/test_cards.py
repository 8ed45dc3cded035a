"""Cable cards: the longest sum, crimps, tap marks, combs, sleeve ends and the order of work, each after the finish."""

from dataclasses import replace
from xml.etree.ElementTree import Element

import pytest
from fastapi.testclient import TestClient

from server.domain.edits import RouteEntry
from server.domain.materials.sleeves import shrink_cut_mm
from server.domain.model.build import Finish, Method, Remedy, Route
from server.domain.model.plan import CombPlace, Finding, LengthTerm, RunPlan
from server.domain.model.route import RouteStep
from server.services.builds import BuildDesk
from server.services.opened import Opened
from server.web.views.bench_facts import comb_facts, spare_facts, sum_words
from server.web.views.cards import Card, cards_panel
from server.web.views.chain_steps import chain_steps
from server.web.views.pieces import findings_of_run, route_text, sleeve_text
from server.web.views.shared import shared_page
from tests.drawing import scenes
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


def shared(bench: Bench, remedy: Remedy) -> Opened:
    """The run with this remedy for its shared contact."""
    offer = next(o for o in opened(bench).plan.runs[0].offers if o.remedy == remedy)
    place = offer.part, offer.socket, offer.cavity
    return bench.desk.set_shared(bench.id, bench.revision, bench.run, *place, remedy)


def card(held: Opened, number: int = 1) -> Card:
    return next(made for made in cards_panel(held).cards if made.number == number)


def fact(made: Card, name: str) -> list[str]:
    return [text for key, text in made.facts if key == name]


def chain(bench: Bench) -> tuple[Opened, int]:
    """The two drives as a measured chain, 400 mm to the first and 95 mm onward."""
    run = next(run for run in opened(bench).build.runs if len(run.ends) == 2)
    entry = RouteEntry(Route(length_mm=400.0, spacing_mm=(95.0,)))
    return bench.desk.set_routes(bench.id, bench.revision, {run.id: entry}), run.number


def told(made: Card) -> tuple[str, ...]:
    """The words of every step."""
    return tuple(step.words for step in made.steps)


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
    told = " ".join((*fact(card(held), "supply end"), *fact(card(held), "part end")))
    assert held.plan.runs[0].crimps
    for use in held.plan.runs[0].crimps:
        assert f"strip {use.strip_mm:g} mm, {use.die}" in told


def test_the_card_says_which_cavity_takes_the_contact_of_two_wires(graphics: Bench) -> None:
    held = shared(graphics, "as_is")
    both = next(wire for wire in held.plan.runs[0].wires if wire.source.shared_with)
    told = [text for _, text in card(held).facts if "two wires" in text]
    assert told == fact(card(held), "supply end")
    assert f"for cavity {both.source.cavity} of " in told[0]


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
    assert fact(made, "supply end") == []
    assert fact(made, "part end")[0].startswith("housing 1 × 4.2 mm 8-position, graphics-keyed plug; contacts ")
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


def test_a_client_sees_no_colours_of_ours_on_the_supply_s_own_bare_wires(graphics: Bench) -> None:
    finished(graphics, Finish(sleeve=""))
    held = built(graphics, "rework", 900.0)
    assert shared_page(held, None).cables[0].colours == ()


def test_a_client_sees_the_sleeve_of_a_reworked_cable(graphics: Bench) -> None:
    held = built(graphics, "rework", 900.0)
    assert {colour.code for colour in shared_page(held, None).cables[0].colours} == {"BK"}


def test_an_extension_names_the_own_cable_that_comes_before_it(graphics: Bench) -> None:
    made = card(built(graphics, "extension", 400.0))
    assert fact(made, "own cable before it") == ["400 mm"]
    assert told(made)[0] == "Leave the supply's own cable, 400 mm long, as it is."


def test_closed_combs_are_threaded_before_the_second_plug(graphics: Bench) -> None:
    steps = told(card(finished(graphics, Finish(comb_kind="closed"))))
    assert (
        at(steps, "Insert the contacts") < at(steps, "Thread the wires") < at(steps, "Strip and crimp the supply end")
    )


def test_open_combs_are_pressed_in_at_the_end(graphics: Bench) -> None:
    steps = told(card(finished(graphics, Finish(comb_kind="open"))))
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
    assert said.format(cut=cut) in told(card(held))[at(told(card(held)), "Draw a sleeve")]


def test_bare_wires_have_no_step_for_sleeve(graphics: Bench) -> None:
    shared(graphics, "as_is")
    made = card(finished(graphics, Finish(sleeve="")))
    assert not [step for step in told(made) if "sleeve" in step.lower() or "heat-shrink" in step]
    assert fact(made, "heat-shrink") == []


def test_every_wire_has_the_length_of_its_own_sleeve_beside_its_cut_and_the_card_only_their_sum(
    graphics: Bench,
) -> None:
    held = opened(graphics)
    run, made = held.plan.runs[0], card(held)
    # Property: the pieces of the table are the pieces that are bought.
    assert sorted(int(line.sleeve_cut) for line in made.wires.lines) == sorted(
        piece.cut_mm for piece in run.sleeve_pieces for _ in range(piece.count)
    )
    total = sum(piece.cut_mm * piece.count for piece in run.sleeve_pieces)
    assert f"BK 8 pieces, {total / 1000:.1f} m; 5 mm frays at each end, trimmed" in fact(made, "sleeve in all")[0]


def test_one_sleeve_for_all_wires_is_told_piece_by_piece_with_what_it_covers(bench: Bench) -> None:
    # Front-panel leads run in one sleeve together, which is no wire's own.
    held = bench.desk.add_parts(bench.id, bench.revision, "button", 1)
    run = next(run for run in held.plan.runs if run.use == "panel")
    entry = RouteEntry(Route(length_mm=300.0))
    held = bench.desk.set_routes(bench.id, bench.revision, {run.id: entry})
    piece = next(made for made in held.plan.runs if made.id == run.id).sleeve_pieces[0]
    told = fact(card(held, run.number), "sleeve, cut (covers), mm")[0]
    assert f"{piece.count} × {piece.cut_mm} ({piece.covered_mm:.0f})" in told


def test_equal_pieces_of_sleeve_along_a_chain_are_counted() -> None:
    wire = replace(scenes.chain_run().wires[0], sleeve_mm=(469, 101, 101, 119))
    assert sleeve_text(wire) == "469 + 2 × 101 + 119"


def test_the_reserve_of_a_good_first_crimp_is_cut_off_before_the_second(graphics: Bench) -> None:
    allowances = replace(opened(graphics).build.allowances, recrimp_mm=7.0)
    steps = told(card(graphics.desk.set_allowances(graphics.id, graphics.revision, allowances)))
    reserve = at(steps, "If the first crimp was good")
    assert steps[reserve].endswith("before you crimp the other end: 7 mm.")
    assert at(steps, "Strip and crimp the part end") < reserve < at(steps, "Strip and crimp the supply end")


def test_without_a_reserve_nothing_is_cut_off_before_the_second_crimp(graphics: Bench) -> None:
    allowances = replace(opened(graphics).build.allowances, recrimp_mm=0.0)
    steps = told(card(graphics.desk.set_allowances(graphics.id, graphics.revision, allowances)))
    assert not [step for step in steps if "reserve" in step]


@pytest.mark.parametrize(("way", "start"), [("shrink", "Slide the second piece"), ("melted", "Melt the sleeve's end")])
def test_the_second_end_of_the_sleeve_is_seen_to_before_its_contact_is_in_the_way(
    graphics: Bench, way: str, start: str
) -> None:
    steps = told(card(finished(graphics, Finish(sleeve_end=way))))  # type: ignore[arg-type]
    assert at(steps, "Insert the contacts") < at(steps, start) < at(steps, "Strip and crimp the supply end")


def test_a_joint_is_made_before_sleeve_and_contacts_are_in_its_way(graphics: Bench) -> None:
    held = shared(graphics, "splice")
    steps, joint = told(card(held)), held.plan.runs[0].joints[0]
    made = at(steps, f"Join {joint.labels[1]} to {joint.labels[0]}")
    # By hand: 8 into the housing + 5 of the part end's reserve + 40 to the joint = 53.
    assert "that ends 40 mm from where the housing's face will be, 53 mm from its cut end" in steps[made]
    assert "strip a window of 10 mm" in steps[made]
    assert made < at(steps, "Strip and crimp the part end") < at(steps, "Draw a sleeve")


def test_the_tube_over_a_joint_stands_in_the_line_of_heat_shrink_with_its_length(graphics: Bench) -> None:
    held = shared(graphics, "splice")
    tube = held.catalogue.shrinks[held.plan.runs[0].joints[0].shrink]
    length = shrink_cut_mm(tube)
    assert f", 1 × {length} mm {tube.name}, over the joint" in fact(card(held), "heat-shrink")[0]
    assert any(f"shrink the {length} mm tube" in step for step in told(card(held)))


def test_a_chain_is_crimped_marked_pressed_trimmed_and_closed_in_this_order(bench: Bench) -> None:
    steps = told(card(*chain(bench)))
    starts = (
        "Strip and crimp the supply end for good",
        "Mark",
        "Draw",
        "Lay each wire",
        "Cut the wires flush",
        "Close",
    )
    places = [at(steps, start) for start in starts]
    assert places == sorted(places)
    assert steps[places[4]] == "Cut the wires flush behind plug B: nothing may stick out of the end cap."


def test_wires_that_run_through_are_marked_at_measured_places(bench: Bench) -> None:
    held, number = chain(bench)
    run = next(run for run in held.plan.runs if run.number == number)
    # By hand: the mark of each plug lies as far from the next as the plugs do, 95 mm.
    first, second = sorted({mark.from_end_mm for mark in run.tap_marks})
    assert second - first == 95
    marked = next(step for step in card(held, number).steps if step.words.startswith("Mark the wires"))
    assert marked.words == "Mark the wires, measured from that crimped end."
    assert marked.settings == (f"plug A at {first} mm", f"plug B at {second} mm")


def test_in_a_mixed_chain_each_plug_is_made_in_its_turn(bench: Bench) -> None:
    held, number = chain(bench)
    run = next(run for run in held.plan.runs if run.number == number)
    crimped = next(
        h.id for h in held.catalogue.housings.values() if held.catalogue.families[h.family].termination == "crimp"
    )
    # By construction: the second plug of the chain is a crimped one, without a cap.
    mixed = replace(run, ends=(run.ends[0], replace(run.ends[1], housing=crimped, cap="")))
    made = chain_steps(mixed, held.catalogue)
    steps = tuple(step.words for step in made)
    first, second = at(steps, "Plug A: mark the wires, "), at(steps, "Plug B: strip and crimp its wires")
    assert at(steps, "Strip and crimp the supply end for good") < first < second < at(steps, "Close the caps")
    # Nothing ends in a pressed plug here, so that nothing is cut flush.
    assert not [step for step in steps if "flush" in step]


def test_the_through_cap_is_on_all_but_the_last_plug_and_the_end_cap_is_closed_last(bench: Bench) -> None:
    held, number = chain(bench)
    made = card(held, number)
    assert ", on A; cap 1 × " in fact(made, "part end")[0]
    assert told(made)[at(told(made), "Close")] == "Close the caps: the through cap on A, the end cap on B last."


def test_the_end_at_a_header_is_not_called_the_supply_end(bench: Bench) -> None:
    held = bench.desk.add_parts(bench.id, bench.revision, "fan-4", 1)
    run = next(run for run in held.plan.runs if run.use == "fan")
    made = card(held, run.number)
    assert [name for name, _ in made.facts if name.endswith(" end")] == ["header end", "part end"]
    assert not [step for step in told(made) if "supply end" in step]


def test_cavities_left_empty_are_named_by_the_label_of_their_port_and_live_ones_apart() -> None:
    run = scenes.main_run()
    plug = run.sources[1]
    nets = {**plug.nets, "1": "+5V", "3": "+12V", "4": "COM"}
    run = replace(
        run, sources=(run.sources[0], replace(plug, nets=nets)), spare_cavities=((1, "1"), (1, "3"), (1, "4"))
    )
    label = plug.socket
    assert spare_facts(run) == (("left empty at the source", f"{label} · 1, 3, live; {label} · 4, COM"),)


def test_a_route_by_legs_and_bends_is_told_in_one_line_with_the_outermost_wires_and_drawn(graphics: Bench) -> None:
    steps = (
        RouteStep("leg", 50.0),
        RouteStep("twist", 80.0, angle_deg=90.0),
        RouteStep("left", angle_deg=90.0, radius_mm=40.0),
        RouteStep("leg", 300.0),
    )
    held = graphics.desk.set_routes(graphics.id, graphics.revision, {graphics.run: RouteEntry(Route(steps=steps))})
    made = card(held)
    line = "50 leg, 90° twist over 80, 90° left R 40, 300 leg"
    assert fact(made, "legs and bends from the supply end, mm") == [line]
    # A plug of four columns and two rows: two wires lie at each edge, and all four at different cavities.
    left, _, right = fact(made, "outermost wires")[0].removesuffix(", looking along it").partition("; ")
    edges = left.removeprefix("left ").split(", ") + right.removeprefix("right ").split(", ")
    assert (len(edges), len(set(edges))) == (4, 4)
    assert 'class="drawing route-shape"' in made.route.svg


def test_a_route_measured_at_once_has_no_line_of_legs_and_no_drawing(graphics: Bench) -> None:
    made = card(opened(graphics))
    assert not [name for name, _ in made.facts if name.startswith("legs")]
    assert made.route.svg == ""


@pytest.mark.parametrize(
    ("number", "shown"), [(2, True), (3, False), (5, True), (7, True), (9, True), (10, False), (1, False)]
)
def test_a_finding_that_names_several_runs_stands_on_the_card_of_each(number: int, shown: bool) -> None:
    finding = Finding("note", "several", "Runs 2 and 5 to 9: the sleeve of 3 wires is tight.", "common practice")
    assert (finding in findings_of_run((finding,), number)) is shown


def test_the_length_of_a_chain_has_its_unit_once(bench: Bench) -> None:
    held, number = chain(bench)
    run = next(run for run in held.plan.runs if run.number == number)
    # By hand: 400 / 25.4 = 15.748, 95 / 25.4 = 3.740.
    assert (route_text(run), route_text(run, inches=True)) == ("400 + 95 mm", "15.75 + 3.74 in")


def test_smaller_combs_say_how_many_wires_are_left(graphics: Bench) -> None:
    held = opened(graphics)
    run = held.plan.runs[0]
    small = next(comb.id for comb in held.catalogue.combs.values() if comb.ways == 4)
    large = next(comb.id for comb in held.catalogue.combs.values() if comb.ways == 8)
    places = (CombPlace(large, 40, 0, 8), CombPlace(large, 120, 0, 8), CombPlace(small, 200, 0, 4))
    told = [text for _, text in comb_facts(replace(run, combs=places), held.catalogue)]
    assert told == [
        "at 40, 120 mm from the part plug, on the visible half, at the part end",
        "at 200 mm from the part plug, where 4 of 8 wires are left",
    ]


def numbered(element: Element) -> list[str]:
    return [words(span) for span in element.iter("span") if span.get("class") == "step-words"]


def test_the_steps_stand_on_the_card_in_their_order(graphics: Bench) -> None:
    held = opened(graphics)
    printed = numbered(by_id(page(graphics.look("cards").text), "card-1"))
    steps = told(card(held))
    assert len(steps) >= 5
    assert [text for text in printed if text in steps] == list(steps)


def test_a_card_shows_its_ribbon_and_leads_to_its_test_sheet(graphics: Bench) -> None:
    run = graphics.desk.open(graphics.id).plan.runs[0]
    card = by_id(page(graphics.client.get(f"/builds/{graphics.id}/cards").text), f"card-{run.number}")
    assert by_id(card, f"r{run.number}-ribbon-small-title").text
    assert f"/builds/{graphics.id}/runs/{run.id}/test" in {link.get("href") for link in card.iter("a")}
