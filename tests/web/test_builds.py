"""The first screen, the record of a build, the client's view, and names that want to be markup."""

import json
from collections.abc import Callable

import pytest
from fastapi.testclient import TestClient

from tests.web.conftest import Bench
from tests.web.reading import all_of, beside, by_id, forms, page, words

HOSTILE = (
    "<script>alert(1)</script>",
    "\"><img src=x onerror=alert(1)> & 'quotes'",
    "🪵 desk — größer",
    "שולחן \u202eevil\u202c שם",
    "{{ 7 * 7 }} ${7}",
)


@pytest.mark.parametrize("name", HOSTILE)
def test_a_name_is_shown_as_typed_and_never_as_markup(named: Callable[[str], Bench], name: str) -> None:
    tree = page(named(name).look("details").text)
    heading = next(iter(all_of(tree, "h1")))
    assert words(heading) == " ".join(name.split())
    assert not [s for s in all_of(tree, "script") if not s.get("src")]
    assert not all_of(tree, "img")


@pytest.mark.parametrize("name", HOSTILE)
def test_a_part_s_name_is_shown_as_typed_on_every_panel_it_reaches(bench: Bench, name: str) -> None:
    part = bench.desk.open(bench.id).build.parts[0].id
    bench.desk.rename_part(bench.id, bench.revision, part, name)
    for panel in ("parts", "routes", "finish", "cards", "findings"):
        tree = page(bench.look(panel).text)
        assert not [s for s in all_of(tree, "script") if not s.get("src")], panel
        assert not all_of(tree, "img"), panel


def test_the_first_screen_offers_examples_and_a_new_build(pages: TestClient) -> None:
    actions = {form.get("action") for form in forms(page(pages.get("/").text))}
    assert {"/builds", "/import", "/examples/compact", "/examples/large"} <= actions


def test_a_new_build_starts_at_the_supply_step(pages: TestClient) -> None:
    answer = pages.post("/builds", data={"name": "Quiet tower"})
    assert answer.status_code == 303
    by_id(page(pages.get(answer.headers["location"]).text), "supply")


def test_a_build_without_a_name_is_asked_for_one_beside_the_field(pages: TestClient) -> None:
    answer = pages.post("/builds", data={"name": "   "})
    assert (answer.status_code, "name" in beside(page(answer.text), "name")) == (422, True)


def test_a_search_shows_only_the_builds_that_match(pages: TestClient, named: Callable[[str], Bench]) -> None:
    wanted, other = named("Heron loop"), named("Bittern loop")
    links = {a.get("href") for a in page(pages.get("/", params={"search": "heron"}).text).iter("a")}
    assert f"/builds/{wanted.id}" in links
    assert f"/builds/{other.id}" not in links


def test_a_deleted_build_can_be_brought_back_from_the_next_screen(pages: TestClient, bench: Bench) -> None:
    answer = pages.post(f"/builds/{bench.id}/delete")
    undo = next(f for f in forms(page(pages.get(answer.headers["location"]).text)) if "restore" in str(f.get("action")))
    pages.post(str(undo.get("action")))
    assert bench.look("supply").status_code == 200


def test_a_build_exported_and_imported_is_the_same_build(pages: TestClient, bench: Bench) -> None:
    text = pages.get(f"/builds/{bench.id}/export").text
    answer = pages.post("/import", files={"file": ("build.json", text.encode(), "application/json")})
    again = answer.headers["location"].split("/")[2]
    assert json.loads(pages.get(f"/builds/{again}/export").text) == json.loads(text)


@pytest.mark.parametrize("content", [b"", b"{", b"[]", b"\xff\xfe", b'{"name": 3}'])
def test_a_file_that_is_no_build_is_refused_in_words(pages: TestClient, content: bytes) -> None:
    answer = pages.post("/import", files={"file": ("build.json", content, "application/json")})
    assert answer.status_code == 422
    assert words(next(iter(page(answer.text).iter("h1")))) == "This file was not imported"


def test_renaming_from_the_first_screen_keeps_client_and_notes(pages: TestClient, bench: Bench) -> None:
    bench.send("details", name="Desk", client="A. Client", notes="Blue")
    pages.post(f"/builds/{bench.id}/rename", data={"revision": bench.revision, f"rename.{bench.id}": "Table"})
    build = bench.desk.open(bench.id).build
    assert (build.name, build.client, build.notes) == ("Table", "A. Client", "Blue")


def test_going_back_makes_the_old_state_the_newest_revision(bench: Bench) -> None:
    before = bench.revision
    bench.send("details", name="Another name", client="", notes="")
    bench.send(f"history/{before}")
    opened = bench.desk.open(bench.id)
    assert (opened.build.name, opened.revision) == ("Walnut desk case", before + 2)


def share(bench: Bench) -> str:
    made = by_id(page(bench.send("share").text), "made").get("value")
    return str(made).split("127.0.0.1", 1)[1]


def test_a_share_link_shows_the_build_without_a_way_to_change_it(pages: TestClient, bench: Bench) -> None:
    tree = page(pages.get(share(bench)).text)
    assert words(next(iter(all_of(tree, "h1")))) == "Walnut desk case"
    assert not list(forms(tree))
    assert not [a.get("href") for a in tree.iter("a") if str(a.get("href")).startswith("/")]


def test_a_share_page_of_an_unmetered_supply_says_so(pages: TestClient, bench: Bench) -> None:
    assert "NOT METERED" in pages.get(share(bench)).text


def test_a_revoked_share_link_opens_nothing(pages: TestClient, bench: Bench) -> None:
    link = share(bench)
    revoke = next(f for f in forms(page(bench.look("share").text)) if "revoke" in str(f.get("action")))
    pages.post(str(revoke.get("action")), data={"revision": bench.revision})
    assert pages.get(link).status_code == 404


def test_every_card_of_an_unmetered_supply_says_so(bench: Bench) -> None:
    cards = list(page(bench.look("cards").text).iter("article"))
    assert cards
    assert all("NOT METERED" in words(card) for card in cards)


def test_a_card_names_every_wire_of_its_run_with_net_and_colour(bench: Bench) -> None:
    opened = bench.desk.open(bench.id)
    run = opened.plan.runs[0]
    told = words(by_id(page(bench.look("cards").text), f"card-{run.number}"))
    for wire in run.wires:
        assert wire.label in told
        assert wire.net in told
        assert f"{wire.colour} {opened.catalogue.colours[wire.colour].name}" in told


def test_a_run_that_waits_for_its_length_is_kept_off_the_cut_list_and_named(bench: Bench) -> None:
    tree = page(bench.look("cuts").text)
    waiting = words(by_id(tree, "cuts-waiting"))
    assert not all_of(by_id(tree, "cuts"), "table")
    assert all(f"Run {run.number}," in waiting for run in bench.desk.open(bench.id).plan.runs)


@pytest.mark.parametrize("path", ["", "/supply", "/runs/r1", "/nothing"])
def test_a_build_that_does_not_exist_gets_a_page_that_says_so(pages: TestClient, path: str) -> None:
    answer = pages.get(f"/builds/ffffffffffffffff{path}")
    assert answer.status_code == 404
    assert all_of(page(answer.text), "h1")


def test_an_address_that_leads_nowhere_gets_a_page_that_says_so(pages: TestClient) -> None:
    answer = pages.get("/nothing/here")
    assert (answer.status_code, answer.headers["content-type"].split(";")[0]) == (404, "text/html")
