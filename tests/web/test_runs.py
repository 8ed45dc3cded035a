"""One run: its diagrams, wires put by hand, shared contacts, and the way it is built."""

import re
from dataclasses import replace
from xml.etree.ElementTree import Element

import pytest
from fastapi.testclient import TestClient

from server.services.builds import BuildDesk
from server.services.opened import Opened
from server.web.rendering import text as render
from server.web.views.cards import cards_panel
from tests.web.conftest import PANEL, Bench
from tests.web.reading import all_of, beside, by_id, field, fragments, page, words


@pytest.fixture
def run(bench: Bench) -> str:
    """Address of the first run, the main cable of the board, below its build."""
    return f"runs/{bench.run}"


@pytest.fixture
def graphics(pages: TestClient) -> Bench:
    """A card whose eight positions want five COM where the graphics port carries four: one contact is shared."""
    desk: BuildDesk = pages.app.state.desk  # type: ignore[attr-defined]
    opened = desk.create("Shared contacts")
    opened = desk.choose_supply(opened.build_id, opened.revision, "split-18-10")
    desk.add_parts(opened.build_id, opened.revision, "graphics-8", 1)
    return Bench(pages, desk, opened.build_id)


def svgs(tree: Element, kind: str) -> list[Element]:
    return [e for e in tree.iter() if str(e.tag).endswith("svg") and kind in (e.get("class") or "").split()]


def pins(bench: Bench) -> str:
    return f"runs/{bench.run}/pins"


def pin_field(bench: Bench, cavity: str) -> str:
    return f"runs.{bench.run}.pins.{cavity}"


def another_source(bench: Bench, tree: Element, cavity: str) -> str:
    """A source cavity offered for a part cavity that does not feed it now."""
    plan = bench.desk.open(bench.id).plan.runs[0]
    now = next(wire.source.cavity for wire in plan.wires if wire.target.cavity == cavity)
    offered = [option.get("value") or "" for option in field(tree, pin_field(bench, cavity)).iter("option")]
    return next(value for value in offered if value and not value.endswith(f"/{now}"))


def test_the_run_is_shown_beside_its_cavity_by_cavity_wiring(bench: Bench, run: str) -> None:
    tree = page(bench.look(run).text)
    assert len(svgs(tree, "crossing")) == 2
    plan = bench.desk.open(bench.id).plan.runs[0]
    assert plan.plain is not None
    said = words(by_id(tree, "run"))
    assert f"Cavity by cavity: {plan.plain.crossings} crossings" in said
    assert f"As planned: {plan.crossings} crossings" in said


def test_both_latch_positions_are_told_and_one_of_them_is_chosen(bench: Bench, run: str) -> None:
    said = words(by_id(page(bench.look(run).text), "run-wiring-words"))
    assert re.search(r"latch up: \d+ crossings?(, chosen)?; latch down: \d+(, chosen)?", said)
    assert said.count("chosen") == 1


def test_only_source_cavities_of_an_accepted_net_are_offered(bench: Bench, run: str) -> None:
    tree = page(bench.look(run).text)
    options = field(tree, pin_field(bench, "11")).iter("option")
    # Published: cavity 11 of the 24-position main takes +12V (desktop supply design guide).
    nets = {words(option).rpartition(", ")[2] for option in options if option.get("value")}
    assert nets == {"+12V"}


def test_a_pinned_wire_is_kept_and_told_with_its_cost(bench: Bench, run: str) -> None:
    chosen = another_source(bench, page(bench.look(run).text), "11")
    answer = bench.send(pins(bench), swap=True, **{pin_field(bench, "11"): chosen})
    assert answer.status_code == 200
    plan = bench.desk.open(bench.id).plan.runs[0]
    assert next(w.source.cavity for w in plan.wires if w.target.cavity == "11") == chosen.rpartition("/")[2]
    tree = next(e for e in fragments(answer.text) if e.get("id") == "run")
    row = next(tr for tr in tree.iter("tr") if "row-pinned" in (tr.get("class") or ""))
    assert re.search(r"pinned, (\d+ crossings? (more|fewer), \d+ doubles? (more|fewer)|costs nothing)", words(row))


def test_clearing_takes_every_pin_away(bench: Bench, run: str) -> None:
    chosen = another_source(bench, page(bench.look(run).text), "11")
    bench.send(pins(bench), **{pin_field(bench, "11"): chosen})
    bench.send(pins(bench), clear="pins", **{pin_field(bench, "11"): chosen})
    assert bench.desk.open(bench.id).build.runs[0].pins == ()


@pytest.mark.parametrize("swap", [False, True])
def test_a_hand_typed_pin_of_another_net_is_refused_beside_its_field(bench: Bench, run: str, swap: bool) -> None:
    plan = bench.desk.open(bench.id).plan.runs[0]
    ref, nets = plan.sources[0].ref, plan.sources[0].nets
    wrong = f"{ref.part}/{ref.socket}/{next(cavity for cavity, net in nets.items() if net == 'COM')}"
    answer = bench.send(pins(bench), swap=swap, **{pin_field(bench, "11"): wrong})
    tree = page(answer.text)
    assert answer.status_code == 422
    assert "COM, not +12V" in beside(tree, pin_field(bench, "11"))
    assert field(tree, pin_field(bench, "11")).get("aria-invalid") == "true"
    kept = [o.get("value") for o in field(tree, pin_field(bench, "11")).iter("option") if o.get("selected") is not None]
    assert kept == [wrong]


@pytest.mark.parametrize("text", ["17", "a/b", "a/b/c/d", "<b>", "supply//4"])
def test_a_pin_that_names_no_cavity_is_refused_beside_its_field(bench: Bench, text: str) -> None:
    answer = bench.send(pins(bench), **{pin_field(bench, "11"): text})
    assert answer.status_code == 422
    assert "Pick a source cavity of the list." in beside(page(answer.text), pin_field(bench, "11"))


def test_a_forbidden_cavity_gets_no_wire_and_is_struck_out(bench: Bench, run: str) -> None:
    plan = bench.desk.open(bench.id).plan.runs[0]
    ref = plan.sources[0].ref
    cavity = next(wire.source.cavity for wire in plan.wires if wire.net == "COM")
    name = f"runs.{bench.run}.forbidden"
    answer = bench.send(pins(bench), swap=True, **{name: f"{ref.part}/{ref.socket}/{cavity}"})
    after = bench.desk.open(bench.id).plan.runs[0]
    assert cavity not in {wire.source.cavity for wire in after.wires}
    tree = next(e for e in fragments(answer.text) if e.get("id") == "run")
    assert any(g.get("data-state") == "forbidden" and g.get("data-cavity") == cavity for g in tree.iter())
    boxes = [e for e in tree.iter("input") if e.get("name") == name and e.get("checked") is not None]
    assert [box.get("value") for box in boxes] == [f"{ref.part}/{ref.socket}/{cavity}"]


def test_forbidding_too_much_is_refused_with_the_reason_and_keeps_the_ticks(bench: Bench) -> None:
    plan = bench.desk.open(bench.id).plan.runs[0]
    ref, nets = plan.sources[0].ref, plan.sources[0].nets
    places = [f"{ref.part}/{ref.socket}/{cavity}" for cavity, net in nets.items() if net == "COM"]
    answer = bench.send(pins(bench), **{f"runs.{bench.run}.forbidden": places})
    tree = page(answer.text)
    assert answer.status_code == 422
    box = by_id(tree, f"f-runs-{bench.run}-forbidden")
    assert "wires want COM" in words(box)
    assert len([e for e in box.iter("input") if e.get("checked") is not None]) == len(places)


def test_a_pin_saved_meanwhile_elsewhere_is_not_stepped_over(bench: Bench, run: str) -> None:
    old = bench.revision
    chosen = another_source(bench, page(bench.look(run).text), "11")
    name = f"runs.{bench.run}.name"
    bench.send(f"{run}/rename", **{name: "Renamed meanwhile"})
    answer = bench.send(pins(bench), base=old, **{pin_field(bench, "11"): chosen})
    tree = page(answer.text)
    assert answer.status_code == 409
    kept = [o.get("value") for o in field(tree, pin_field(bench, "11")).iter("option") if o.get("selected") is not None]
    assert kept == [chosen]


def test_every_diagram_can_be_skipped_by_keyboard(bench: Bench, run: str) -> None:
    tree = page(bench.look(run).text)
    skip = next(a for a in all_of(tree, "a") if "skip-past" in (a.get("class") or ""))
    by_id(tree, (skip.get("href") or "").removeprefix("#"))


def test_names_on_the_diagrams_stay_words(bench: Bench) -> None:
    opened = bench.desk.open(bench.id)
    part = opened.build.parts[0].id
    bench.desk.rename_part(bench.id, opened.revision, part, '<img src=x onerror="1">')
    answer = bench.look(f"runs/{bench.run}")
    assert "<img" not in answer.text


def shared_run(bench: Bench) -> str:
    """The first run with a contact that holds two wires."""
    return next(run.id for run in bench.desk.open(bench.id).plan.runs if run.offers)


def test_ways_to_deal_with_a_shared_contact_are_offered_in_order_with_their_reasons(graphics: Bench) -> None:
    plan = next(run for run in graphics.desk.open(graphics.id).plan.runs if run.offers)
    tree = page(graphics.look(f"runs/{plan.id}").text)
    told = [words(li) for li in tree.iter("li") if "offer" in (li.get("class") or "").split()]
    assert len(told) == len(plan.offers)
    assert all(offer.reason in line for offer, line in zip(plan.offers, told, strict=True))


def test_a_chosen_splice_is_planned_and_drawn_on_the_card(graphics: Bench) -> None:
    run_id = shared_run(graphics)
    plan = next(run for run in graphics.desk.open(graphics.id).plan.runs if run.id == run_id)
    offer = next(o for o in plan.offers if o.remedy == "splice")
    value = f"{offer.part}/{offer.socket}/{offer.cavity}/splice"
    answer = graphics.send(f"runs/{run_id}/shared", swap=True, **{f"runs.{run_id}.shared": value})
    assert answer.status_code == 200
    after = next(run for run in graphics.desk.open(graphics.id).plan.runs if run.id == run_id)
    assert [joint.kind for joint in after.joints] == ["splice"]
    card = by_id(page(graphics.look("cards").text), f"card-{after.number}")
    assert len(svgs(card, "joint")) == 1
    assert f"{after.joints[0].distance_mm:g} mm from the housing" in words(card)


def test_a_remedy_that_nobody_offers_is_refused(graphics: Bench) -> None:
    run_id = shared_run(graphics)
    answer = graphics.send(f"runs/{run_id}/shared", **{f"runs.{run_id}.shared": "supply/x/1/glue"})
    assert answer.status_code == 422
    assert "Pick one of the ways offered." in words(by_id(page(answer.text), "run"))


def method(bench: Bench, **fields: str) -> tuple[str, dict[str, str]]:
    return f"runs/{bench.run}/method", {f"runs.{bench.run}.{name}": text for name, text in fields.items()}


def test_three_ways_to_build_are_shown_side_by_side(bench: Bench, run: str) -> None:
    tree = page(bench.look(run).text)
    figures = bench.desk.open(bench.id).three_ways(bench.run)
    radios = [e for e in tree.iter("input") if e.get("name") == f"runs.{bench.run}.method"]
    assert [radio.get("value") for radio in radios] == [way.method for way in figures]
    assert [radio.get("value") for radio in radios if radio.get("checked") is not None] == ["scratch"]


def test_a_rework_keeps_the_length_of_the_own_cable_in_inches_too(bench: Bench) -> None:
    where, fields = method(bench, method="rework", own_cable="16 in")
    assert bench.send(where, unit="mm", **fields).status_code == 303
    entered = bench.desk.open(bench.id).build.runs[0]
    # By hand: 16 x 25.4 = 406.4.
    assert (entered.method, entered.own_cable_mm) == ("rework", 406.4)


def test_the_card_of_a_rework_names_the_method_and_its_steps(bench: Bench) -> None:
    where, fields = method(bench, method="rework", own_cable="400")
    bench.send(where, unit="mm", **fields)
    card = words(by_id(page(bench.look("cards").text), "card-1"))
    assert "rework of the supply's own cable" in card
    assert "never open the supply" in card


def test_a_length_that_cannot_be_read_is_kept_with_its_message(bench: Bench) -> None:
    where, fields = method(bench, method="rework", own_cable="as it is")
    tree = page(bench.send(where, unit="mm", **fields).text)
    name = f"runs.{bench.run}.own_cable"
    assert field(tree, name).get("value") == "as it is"
    assert "Write a length" in beside(tree, name)
    chosen = [e.get("value") for e in tree.iter("input") if e.get("type") == "radio" and e.get("checked") is not None]
    assert chosen == ["rework"]


def unproved(bench: Bench) -> Opened:
    opened = bench.desk.open(bench.id)
    first, *others = opened.plan.runs
    return replace(opened, plan=replace(opened.plan, runs=(replace(first, proved=False), *others)))


def test_a_card_that_the_check_refused_shows_no_wires(bench: Bench) -> None:
    opened = unproved(bench)
    card = by_id(page(render("panels/cards.html", view=cards_panel(opened))), "card-1")
    assert "Do not build this cable" in words(card)
    assert list(card.iter("table")) == []
    assert svgs(card, "face") == []


def test_the_latch_is_told_in_one_line_of_the_card(bench: Bench) -> None:
    card = words(by_id(page(bench.look("cards").text), "card-1"))
    assert re.search(r"latch up: \d+ crossings?(, chosen)?; latch down: \d+(, chosen)?", card)


@pytest.mark.parametrize("name", ["", "/pins", "/shared", "/method"])
def test_a_run_that_does_not_exist_is_not_found(bench: Bench, name: str) -> None:
    where = f"/builds/{bench.id}/runs/nobody{name}"
    data = {"revision": str(bench.revision), "runs.nobody.shared": "a/b/c/splice", "runs.nobody.method": "scratch"}
    answer = bench.client.post(where, data=data, headers=PANEL) if name else bench.client.get(where)
    assert answer.status_code == 404


def test_every_form_of_a_run_works_without_a_script_and_says_its_revision(bench: Bench, run: str) -> None:
    for form in by_id(page(bench.look(run).text), "run").iter("form"):
        bases = [e.get("value") for e in form.iter("input") if e.get("name") == "revision"]
        assert (form.get("method"), bases) == ("post", [str(bench.revision)])


def test_every_field_of_a_run_has_a_label_and_every_id_is_used_once(bench: Bench, run: str) -> None:
    tree = page(bench.look(run).text)
    ids = [e.get("id") for e in tree.iter() if e.get("id")]
    labelled = {label.get("for") for label in tree.iter("label")}
    inside = {id(e) for label in tree.iter("label") for e in label.iter()}
    wanting = [
        e.get("name")
        for tag in ("input", "select", "textarea")
        for e in tree.iter(tag)
        if e.get("type") != "hidden" and e.get("id") not in labelled and id(e) not in inside
    ]
    assert (len(ids), wanting) == (len(set(ids)), [])
