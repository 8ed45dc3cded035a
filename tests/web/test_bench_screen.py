"""The page of the bench screen: what it loads, its forms, what is kept on a device, how far its colours stand apart."""

import re
from html import unescape
from itertools import product
from pathlib import Path

import pytest

from server.web.routes import bench_screen
from server.web.views.bench_address import bench_href
from tests.web.test_look import colours, contrast

ROOT = Path(__file__).parents[2]


@pytest.fixture
def made(pages):
    """The small example with its wire bought: its id, and the bench."""
    state = pages.app.state
    opened = state.desk.create_example("compact")
    for line in opened.plan.buys:
        if line.kind == "wire":
            state.bench.buy(opened.build_id, opened.revision, (line.kind, line.item, line.colour))
    return opened.build_id


def last(pages) -> int:
    """Number of the last entry of the ledger."""
    return len(pages.app.state.bench.state().stored)


def form(pages, build: str, button: str = "do", query: str = "") -> dict[str, str]:
    """What the first such button of the plain list sends."""
    text = pages.get(f"/bench/{build}{query}").text
    hidden = dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)"', text))
    value = re.search(rf'<button class="live-key" name="{button}" value="([^"]*)"', text)
    assert value
    return {**hidden, button: unescape(value[1])}


def test_the_address_of_the_screen_names_the_build_and_the_run() -> None:
    assert (bench_href("b1"), bench_href("b1", "r 2")) == ("/bench/b1", "/bench/b1?run=r%202")


def test_a_build_that_is_not_there_is_not_found(pages) -> None:
    assert pages.get("/bench/ffffffffffffffff").status_code == 404


def test_the_page_loads_only_what_the_script_that_keeps_it_knows(pages, made) -> None:
    page, worker = pages.get(f"/bench/{made}"), pages.get("/bench/worker.js")
    loaded = set(re.findall(r'(?:href|src)="(/static/[^"]+\.(?:css|js))"', page.text))
    kept = set(re.findall(r'"(/static/[^"]+)"', worker.text.splitlines()[0]))
    assert loaded == kept
    assert all(pages.get(name).status_code == 200 for name in kept)


def test_the_page_needs_nothing_that_its_policy_forbids(pages, made) -> None:
    text = pages.get(f"/bench/{made}").text
    assert not re.search(r'<[^>]+\s(?:style|on\w+)="', text)
    assert not re.search(r"<script(?![^>]*\ssrc=)", text)


def test_when_a_file_of_the_page_changes_so_does_the_script_that_keeps_it(pages, tmp_path, monkeypatch) -> None:
    static = tmp_path / "static"
    for name in ("css", "js/bench"):
        (static / name).mkdir(parents=True)
        for path in (ROOT / "static" / name).glob("*.*"):
            (static / name / path.name).write_bytes(path.read_bytes())
    monkeypatch.setattr(bench_screen, "STATIC", static)
    before = pages.get("/bench/worker.js")
    assert before.text == pages.get("/bench/worker.js").text
    (static / "js/bench/wake.js").write_text("// another")
    assert pages.get("/bench/worker.js").text != before.text
    assert before.headers["cache-control"] == "no-cache"


def test_a_form_sent_twice_counts_once(pages, made) -> None:
    sent = form(pages, made)
    first = pages.post(f"/bench/{made}/tick", data=sent)
    after = last(pages)
    second = pages.post(f"/bench/{made}/tick", data=sent)
    assert (first.status_code, second.status_code, last(pages)) == (303, 303, after)
    assert "Ticked: " in pages.get(first.headers["location"]).text


def test_the_same_task_ticked_from_two_pages_is_refused_the_second_time_in_words(pages, made) -> None:
    one, other = form(pages, made), form(pages, made)
    assert pages.post(f"/bench/{made}/tick", data=one).status_code == 303
    after = last(pages)
    answer = pages.post(f"/bench/{made}/tick", data=other)
    assert (answer.status_code, last(pages)) == (409, after)
    assert "Not written: " in answer.text


def test_what_was_ticked_is_taken_back_by_its_button(pages, made) -> None:
    pages.post(f"/bench/{made}/tick", data=form(pages, made))
    before = last(pages)
    answer = pages.post(f"/bench/{made}/tick", data=form(pages, made, "undo"))
    assert "Taken back: " in pages.get(answer.headers["location"]).text
    assert last(pages) > before


def test_what_was_done_in_part_is_told_as_ticked_and_not_as_taken_back(pages) -> None:
    state = pages.app.state
    opened = state.desk.create_example("compact")
    contacts = next(line for line in opened.plan.buys if line.kind == "contact")
    state.bench.buy(opened.build_id, opened.revision, (contacts.kind, contacts.item, contacts.colour))
    sent = form(pages, opened.build_id)
    assert '"take/' in sent["do"]
    answer = pages.post(f"/bench/{opened.build_id}/tick", data=sent)
    # The housings of the run still have to be bought, so that its parts are not all taken.
    text = pages.get(answer.headers["location"]).text
    assert "Ticked: Take" in text
    assert "Taken back: " not in text


def test_a_button_of_an_old_page_does_not_tell_as_ticked_what_was_taken_back_since(pages, made) -> None:
    sent = form(pages, made)
    pages.post(f"/bench/{made}/tick", data=sent)
    pages.post(f"/bench/{made}/tick", data=form(pages, made, "undo"))
    after = last(pages)
    text = pages.get(pages.post(f"/bench/{made}/tick", data=sent).headers["location"]).text
    assert last(pages) == after
    assert "Ticked: " not in text
    assert "Taken back: " not in text


@pytest.mark.parametrize(
    "sent",
    [
        {},
        {"do": "{}"},
        {"do": "["},
        {"do": '{"task": 3, "tick": {}}'},
        {"do": '{"task": "cut/x", "tick": {"a": [1]}}'},
        {"undo": '{"task": "cut/x", "entry": true}'},
        {"undo": '{"task": "cut/x", "entry": 0}'},
        {"do": "[" * 3000},
        {"do": '{"task": "cut/\\ud800", "tick": {}}'},
        {"do": '{"task": "cut/x", "tick": {"lot": true}}'},
        {"do": '{"task": "cut/x", "tick": {"lot": 1' + "0" * 30 + "}}"},
        {"do": '{"task": "' + "x" * 201 + '", "tick": {}}'},
        {"do": '{"task": "cut/x", "entry": 0, "tick": ' + "9" * 4200 + "}"},
        {"undo": '{"task": "cut/x", "entry": 1' + "0" * 30 + "}"},
        {"nonce": "not one", "do": '{"task": "cut/x", "tick": {}}'},
    ],
)
def test_a_form_that_no_page_made_changes_nothing(pages, made, sent) -> None:
    before = last(pages)
    hidden = {"nonce": "0a1b2c3d-0000-4000-8000-000000000000", "shown": "run:x"}
    assert pages.post(f"/bench/{made}/tick", data={**hidden, **sent}).status_code == 422
    assert last(pages) == before


def test_the_plain_list_shows_one_stage_where_that_is_asked_for(pages, made) -> None:
    text = pages.get(f"/bench/{made}?stage=cut").text
    assert "Cut, all runs: to do now" in text
    assert ">✓ Crimped<" not in text


def test_rail_card_run_and_ledger_lead_to_the_screen(pages, made) -> None:
    run = pages.app.state.desk.open(made).build.runs[0].id
    assert f'href="/bench/{made}"' in pages.get(f"/builds/{made}/supply").text
    for panel in ("cards", f"runs/{run}", "ledger"):
        assert f'href="/bench/{made}?run={run}"' in pages.get(f"/builds/{made}/{panel}").text


CSS = re.sub(r"/\*.*?\*/", "", (ROOT / "static/css/bench.css").read_text(), flags=re.DOTALL)
PAIRS = [*product(("ink", "muted", "accent", "stop", "warn", "done"), ("sheet", "paper")), ("on-accent", "accent")]
THEMES = [part.partition("}")[0] for part in re.split(r"(?<!-)(?=color-scheme: )", CSS)[1:]]


def test_the_screen_has_one_bright_theme_and_the_same_dark_one_twice() -> None:
    assert [theme[:19] for theme in THEMES] == ["color-scheme: light", "color-scheme: dark;", "color-scheme: dark;"]
    assert colours(THEMES[1]) == colours(THEMES[2])


@pytest.mark.parametrize("theme", THEMES[:2], ids=["bright", "dark"])
@pytest.mark.parametrize(("word", "ground"), PAIRS)
def test_in_the_glare_every_word_has_the_enhanced_contrast(theme: str, word: str, ground: str) -> None:
    # Published: WCAG 2.2, success criterion 1.4.6, 7 to 1.
    held = colours(theme)
    assert contrast(held[word], held[ground]) >= 7
