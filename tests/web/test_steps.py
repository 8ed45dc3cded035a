"""The four steps, with and without a script: saved at once, kept as typed when refused, never half old."""

import pytest
from fastapi.testclient import TestClient
from httpx import Response

from tests.web.conftest import PANEL, Bench
from tests.web.reading import all_of, beside, by_id, field, forms, fragments, page, words

STEPS = ("supply", "parts", "routes", "finish")
PANELS = (*STEPS, "cards", "waiting", "cuts", "buys", "tools", "findings", "estimate", "history", "share", "details")


def swapped(answer: Response, wanted: str) -> object:
    return next(element for element in fragments(answer.text) if element.get("id") == wanted)


@pytest.mark.parametrize("panel", PANELS)
def test_every_step_and_list_has_its_own_address(bench: Bench, panel: str) -> None:
    by_id(page(bench.look(panel).text), panel)


@pytest.mark.parametrize("panel", PANELS)
def test_a_script_gets_the_panel_without_the_page_around_it(bench: Bench, panel: str) -> None:
    tops = fragments(bench.look(panel, swap=True).text)
    assert panel in {element.get("id") for element in tops}
    assert not any(element.tag in {"html", "header", "main"} for element in tops)


def test_going_back_in_the_browser_gets_a_whole_page_even_from_a_script(bench: Bench) -> None:
    answer = bench.client.get(f"/builds/{bench.id}/routes", headers={"HX-Request": "true", "HX-Request-Type": "full"})
    by_id(page(answer.text), "rail")


@pytest.mark.parametrize("panel", PANELS)
def test_every_form_works_without_a_script(bench: Bench, panel: str) -> None:
    tree = page(bench.look(panel).text)
    assert all(form.get("action") and form.get("method") in {"post", "get"} for form in forms(tree))


@pytest.mark.parametrize("panel", PANELS)
def test_every_form_of_a_build_says_which_revision_it_changes(bench: Bench, panel: str) -> None:
    for form in forms(page(bench.look(panel).text)):
        # A measured time that is taken over counts in every build; it changes no revision of this one.
        if str(form.get("action")).endswith(("/minutes", "/shipped")):
            continue
        bases = [e.get("value") for e in form.iter("input") if e.get("name") == "revision"]
        assert bases == [str(bench.revision)]


@pytest.mark.parametrize("panel", PANELS)
def test_every_field_has_a_label_and_every_id_is_used_once(bench: Bench, panel: str) -> None:
    tree = page(bench.look(panel).text)
    ids = [element.get("id") for element in tree.iter() if element.get("id")]
    labelled = {label.get("for") for label in tree.iter("label")}
    inside = {id(e) for label in tree.iter("label") for e in label.iter()}
    wanting = [
        e.get("name")
        for tag in ("input", "select", "textarea")
        for e in tree.iter(tag)
        if e.get("type") != "hidden" and e.get("id") not in labelled and id(e) not in inside
    ]
    assert (len(ids), wanting) == (len(set(ids)), [])


@pytest.mark.parametrize("panel", PANELS)
def test_no_page_carries_styles_or_scripts_of_its_own(bench: Bench, panel: str) -> None:
    # The policy of the server forbids them: a page that needed one would be broken.
    tree = page(bench.look(panel).text)
    assert not [e.tag for e in tree.iter() if isinstance(e.tag, str) and e.get("style") is not None]
    assert not all_of(tree, "style")
    assert all(script.get("src") for script in all_of(tree, "script"))
    assert not [n for e in tree.iter() for n in e.attrib if str(n).startswith("on") or str(n).startswith("hx-on")]


def test_an_accepted_form_leads_back_to_its_step_and_says_what_it_saved(bench: Bench) -> None:
    answer = bench.send("routes", **{f"runs.{bench.run}.length": "612", "unit": "mm"})
    assert (answer.status_code, answer.headers["location"]) == (
        303,
        f"/builds/{bench.id}/routes?saved={bench.revision}",
    )
    told = page(bench.client.get(answer.headers["location"]).text)
    assert words(by_id(told, "status")).startswith(f"Saved as revision {bench.revision}, ")


def test_an_accepted_edit_swaps_everything_that_follows_from_it(bench: Bench) -> None:
    answer = bench.send("routes", swap=True, **{f"runs.{bench.run}.length": "612", "unit": "mm"})
    assert {"title-block", "rail", "sheet", "status"} <= {element.get("id") for element in fragments(answer.text)}


def test_all_that_is_swapped_shows_the_same_revision(bench: Bench) -> None:
    answer = bench.send("routes", swap=True, **{f"runs.{bench.run}.length": "612", "unit": "mm"})
    new = bench.revision
    block, panel = swapped(answer, "title-block"), swapped(answer, "routes")
    bases = {e.get("value") for e in panel.iter("input") if e.get("name") == "revision"}  # type: ignore[attr-defined]
    assert f"revision{new} saved" in words(block).replace("revision ", "revision")  # type: ignore[arg-type]
    assert bases == {str(new)}
    assert f"revision {new}" in words(swapped(answer, "rail"))  # type: ignore[arg-type]


def test_a_form_that_changes_nothing_saves_no_revision(bench: Bench) -> None:
    before = bench.revision
    answer = bench.send("supply", swap=True, supply="one-24")
    assert bench.revision == before
    assert "Nothing changed" in words(swapped(answer, "status"))  # type: ignore[arg-type]


@pytest.mark.parametrize("swap", [False, True])
def test_a_refused_length_keeps_what_was_typed_with_the_message_beside_it(bench: Bench, swap: bool) -> None:
    name = f"runs.{bench.run}.length"
    answer = bench.send("routes", swap=swap, **{name: 'about <b>24"', "unit": "mm"})
    tree = page(answer.text)
    assert (answer.status_code, field(tree, name).get("value")) == (422, 'about <b>24"')
    assert field(tree, name).get("aria-invalid") == "true"
    assert "Write a length" in beside(tree, name)


def test_a_refused_form_keeps_the_revision_it_was_made_from(bench: Bench) -> None:
    old = bench.revision
    bench.desk.rename(bench.id, old, "Renamed", "", "")
    name = f"runs.{bench.run}.length"
    answer = bench.send("routes", base=old, **{name: "soon", "unit": "mm"})
    bases = {e.get("value") for e in by_id(page(answer.text), "routes").iter("input") if e.get("name") == "revision"}
    assert bases == {str(old)}


def test_a_range_with_one_end_is_asked_for_the_other(bench: Bench) -> None:
    answer = bench.send("routes", **{f"runs.{bench.run}.length": "", f"runs.{bench.run}.low": "250", "unit": "mm"})
    assert "at most" in beside(page(answer.text), f"runs.{bench.run}.high")


def test_a_range_stays_beside_the_length_that_was_measured_after_it(bench: Bench) -> None:
    name = f"runs.{bench.run}"
    bench.send("routes", **{f"{name}.length": "", f"{name}.low": "250", f"{name}.high": "420", "unit": "mm"})
    bench.send("routes", **{f"{name}.length": "333", f"{name}.low": "250", f"{name}.high": "420", "unit": "mm"})
    opened = bench.desk.open(bench.id)
    route = opened.build.runs[0].route
    assert (route.length_mm, route.low_mm, route.high_mm) == (333.0, 250.0, 420.0)
    assert opened.plan.runs[0].state == "measured"


def test_a_length_left_as_shown_in_inches_keeps_its_exact_millimetres(bench: Bench) -> None:
    # 612 mm shows as 24.09 in, which would come back as 611.89 mm.
    name = f"runs.{bench.run}.length"
    bench.send("routes", **{name: "612", "unit": "mm"})
    shown = field(page(bench.client.get(f"/builds/{bench.id}/routes?unit=in").text), name).get("value")
    bench.send("routes", **{name: str(shown), "unit": "in"})
    assert (shown, bench.desk.open(bench.id).build.runs[0].route.length_mm) == ("24.09", 612.0)


def test_the_unit_that_was_asked_for_is_remembered(bench: Bench) -> None:
    bench.client.get(f"/builds/{bench.id}/routes?unit=in")
    tree = page(bench.look("routes").text)
    bench.client.get(f"/builds/{bench.id}/routes?unit=mm")
    assert {e.get("value") for e in tree.iter("input") if e.get("name") == "unit"} == {"in"}


@pytest.mark.parametrize("swap", [False, True])
def test_an_edit_on_an_old_revision_is_refused_with_what_changed_in_words(bench: Bench, swap: bool) -> None:
    old = bench.revision
    bench.desk.rename(bench.id, old, "Renamed elsewhere", "", "")
    answer = bench.send("routes", swap=swap, base=old, **{f"runs.{bench.run}.length": "777", "unit": "mm"})
    tree = page(answer.text)
    assert answer.status_code == 409
    assert "Renamed elsewhere" in words(by_id(tree, "conflict"))
    assert field(tree, f"runs.{bench.run}.length").get("value") == "777"


def test_what_was_typed_can_be_saved_on_top_of_the_newest_revision(bench: Bench) -> None:
    old = bench.revision
    bench.desk.rename(bench.id, old, "Renamed elsewhere", "", "")
    answer = bench.send("routes", base=old, **{f"runs.{bench.run}.length": "777", "unit": "mm"})
    again = next(forms(by_id(page(answer.text), "conflict")))
    sent = {str(e.get("name")): str(e.get("value")) for e in again.iter("input")}
    bench.client.post(str(again.get("action")), data=sent)
    build = bench.desk.open(bench.id).build
    assert (build.name, build.runs[0].route.length_mm) == ("Renamed elsewhere", 777.0)


def test_a_conflict_offers_the_way_to_the_newest_revision(bench: Bench) -> None:
    old = bench.revision
    bench.desk.rename(bench.id, old, "Renamed elsewhere", "", "")
    answer = bench.send("routes", base=old, **{f"runs.{bench.run}.length": "777", "unit": "mm"})
    ways = [a.get("href") for a in by_id(page(answer.text), "conflict").iter("a")]
    assert ways == [f"/builds/{bench.id}/routes"]


def test_a_part_that_cannot_be_fed_is_named_with_the_reason(bench: Bench) -> None:
    bench.desk.add_parts(bench.id, bench.revision, "graphics-3x8", 4)
    unfed = bench.desk.open(bench.id).plan.unfed
    told = words(by_id(page(bench.look("parts").text), "parts"))
    assert unfed, "the scene needs a part that this supply cannot feed"
    assert all(entry.reason in told for entry in unfed)


def test_a_port_in_use_leads_to_its_run(bench: Bench) -> None:
    used = {f"/builds/{bench.id}/runs/{run.id}" for run in bench.desk.open(bench.id).plan.runs if run.sources}
    links = {a.get("href") for a in by_id(page(bench.look("parts").text), "parts").iter("a")}
    assert used <= links


def test_a_colour_button_adds_its_colour_to_the_pattern(bench: Bench) -> None:
    bench.send("finish", **finish_fields(), **{"finish.pattern": "BK", "finish.pattern.add": "RD"})
    finish = bench.desk.open(bench.id).build.finish
    assert (finish.pattern, finish.colour_mode) == (("BK", "RD"), "pattern")


def test_a_colour_button_takes_its_colour_out_of_the_pattern(bench: Bench) -> None:
    bench.send("finish", **finish_fields(), **{"finish.pattern": "BK RD BK", "finish.pattern.drop": "1"})
    assert bench.desk.open(bench.id).build.finish.pattern == ("BK", "BK")


def test_an_empty_box_is_a_no(bench: Bench) -> None:
    bench.send("finish", **finish_fields(), **{"finish.pattern": "BK", "shown": "finish.combs"})
    assert bench.desk.open(bench.id).build.finish.combs is False


def test_a_run_opens_below_the_sheet_where_it_is_the_selected_one(bench: Bench) -> None:
    tree = page(bench.look(f"runs/{bench.run}").text)
    selected = [
        a.get("href")
        for a in by_id(tree, "sheet").iter("{http://www.w3.org/2000/svg}a")
        if "selected" in str(a.get("class"))
    ]
    selected += [a.get("href") for a in by_id(tree, "sheet").iter("a") if "selected" in str(a.get("class"))]
    by_id(tree, "run")
    assert set(selected) == {f"/builds/{bench.id}/runs/{bench.run}"}


def test_the_rail_marks_where_the_reader_is(bench: Bench) -> None:
    rail = by_id(page(bench.look("buys").text), "rail")
    assert [a.get("href") for a in rail.iter("a") if a.get("aria-current")] == [f"/builds/{bench.id}/buys"]


def finish_fields() -> dict[str, str]:
    return {
        "finish.insulation": "plain",
        "finish.colour_mode": "by_net",
        "finish.sleeve": "small",
        "finish.sleeve_pattern": "BK",
        "finish.sleeve_end": "shrink",
        "finish.shrink_size": "",
        "finish.comb_kind": "closed",
    }


def test_a_run_removed_elsewhere_is_a_conflict_and_no_fault(bench: Bench) -> None:
    old, run = bench.revision, bench.run
    bench.desk.remove_run(bench.id, old, run)
    answer = bench.send(f"runs/{run}/route", base=old, **{f"runs.{run}.length": "500", "unit": "mm"})
    assert answer.status_code == 409
    by_id(page(answer.text), "conflict")


def test_a_build_renamed_in_two_tabs_keeps_the_first_name_and_what_was_typed(bench: Bench) -> None:
    old = bench.revision
    bench.desk.rename(bench.id, old, "First", "", "")
    name = f"rename.{bench.id}"
    answer = bench.client.post(f"/builds/{bench.id}/rename", data={"revision": old, name: "Second"})
    tree = page(answer.text)
    assert (answer.status_code, field(tree, name).get("value")) == (409, "Second")
    assert "saved meanwhile" in beside(tree, name)
    assert bench.desk.open(bench.id).build.name == "First"


def test_a_fault_of_the_planner_leaves_what_was_typed_on_the_screen(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object) -> None:
        raise RuntimeError("a fault")

    monkeypatch.setattr(bench.desk, "set_routes", fail)
    client = TestClient(bench.client.app, base_url="http://127.0.0.1", raise_server_exceptions=False)
    data = {"revision": bench.revision, f"runs.{bench.run}.length": "612", "unit": "mm"}
    answer = client.post(f"/builds/{bench.id}/routes", data=data, headers=PANEL)
    assert (answer.status_code, answer.headers["HX-Reswap"]) == (500, "none")


def test_a_drawing_that_is_on_screen_already_is_not_sent_again(bench: Bench) -> None:
    key = str(by_id(page(bench.look("routes").text), "sheet-key").get("data-key"))
    answer = bench.client.get(f"/builds/{bench.id}/finish", headers={**PANEL, "Sheet-Shown": key})
    tops = {element.get("id") for element in fragments(answer.text)}
    assert {"finish", "title-block", "rail", "status"} <= tops
    assert "sheet" not in tops


def test_a_drawing_that_changed_is_sent_with_the_edit_that_changed_it(bench: Bench) -> None:
    key = str(by_id(page(bench.look("routes").text), "sheet-key").get("data-key"))
    data = {"revision": bench.revision, f"runs.{bench.run}.length": "612", "unit": "mm"}
    answer = bench.client.post(f"/builds/{bench.id}/routes", data=data, headers={**PANEL, "Sheet-Shown": key})
    assert "sheet" in {element.get("id") for element in fragments(answer.text)}


def test_a_panel_looked_at_twice_says_the_same_and_another_revision_says_its_own(bench: Bench) -> None:
    # Property: what is kept of one revision is never shown for another.
    first, again = bench.look("routes", swap=True).text, bench.look("routes", swap=True).text
    bench.send("routes", **{f"runs.{bench.run}.length": "612", "unit": "mm"})
    assert first == again
    assert 'value="612"' in bench.look("routes", swap=True).text


def test_the_cut_list_says_that_the_supply_is_not_metered(bench: Bench) -> None:
    assert bench.look("cuts").text.count("card-stamp") == 1
