"""The history: names of revisions, what each did, any two held against each other; and what a client reads of it."""

import re
from xml.etree.ElementTree import Element

import pytest

from tests.web.conftest import PANEL, Bench
from tests.web.reading import by_id, field, page, words


def panel(bench: Bench) -> Element:
    return by_id(page(bench.look("history").text), "history")


def compared(bench: Bench, first: object, second: object) -> str:
    answer = bench.client.get(f"/builds/{bench.id}/history/compare?first={first}&second={second}")
    assert answer.status_code == 200
    return words(by_id(page(answer.text), "compared"))


def named(bench: Bench, name: str = "agreed with client", number: int = 0) -> int:
    number = number or bench.revision
    bench.send(f"history/{number}/name", **{f"names.{number}": name})
    return number


def test_a_revision_can_be_given_a_name(bench: Bench) -> None:
    named(bench)
    assert "‘agreed with client’" in words(panel(bench))


def test_naming_is_told_and_saves_no_revision(bench: Bench) -> None:
    before = bench.revision
    answer = bench.send(f"history/{before}/name", swap=True, **{f"names.{before}": "agreed with client"})
    assert f"Revision {before} is called ‘agreed with client’." in answer.text
    assert bench.revision == before


def test_a_name_can_be_taken_away(bench: Bench) -> None:
    number = named(bench)
    bench.send(f"history/{number}/unname")
    assert bench.desk.revision_names(bench.id) == {}


def test_an_empty_name_is_refused_beside_its_field(bench: Bench) -> None:
    answer = bench.send(f"history/{bench.revision}/name", swap=True, **{f"names.{bench.revision}": " "})
    assert answer.status_code == 422
    assert "A name is needed" in answer.text


def test_a_name_is_shown_as_typed_and_never_as_markup(bench: Bench) -> None:
    named(bench, '<b>agreed</b> & "done"')
    assert '‘<b>agreed</b> & "done"’' in words(panel(bench))


def test_without_a_script_naming_leads_back_to_the_history(bench: Bench) -> None:
    answer = bench.send("history/1/name", **{"names.1": "start"})
    assert (answer.status_code, answer.headers["Location"]) == (303, f"/builds/{bench.id}/history")


def test_what_a_revision_did_is_worked_out_when_its_line_is_seen(bench: Bench) -> None:
    # The fan that is added has one run of four wires.
    opened = bench.desk.add_late(bench.id, bench.revision, "fan-4", 1)
    answer = bench.client.get(f"/builds/{bench.id}/history/{opened.revision}/effect", headers=PANEL)
    assert "1 more run" in answer.text
    assert "wires: 4 new" in answer.text


def test_once_worked_out_it_stands_in_the_history(bench: Bench) -> None:
    opened = bench.desk.add_late(bench.id, bench.revision, "fan-4", 1)
    asks = f'hx-get="/builds/{bench.id}/history/{opened.revision}/effect"'
    assert asks in bench.look("history").text
    bench.desk.effect(bench.id, opened.revision)
    told = bench.look("history").text
    assert asks not in told
    assert "wires: 4 new" in told


def test_without_a_script_the_effect_is_a_link_away(bench: Bench) -> None:
    hrefs = [link.get("href") or "" for link in panel(bench).iter("a")]
    number = bench.revision
    assert f"/builds/{bench.id}/history/compare?first={number - 1}&second={number}" in hrefs


def test_a_change_that_costs_nothing_says_so(bench: Bench) -> None:
    opened = bench.desk.rename(bench.id, bench.revision, "Walnut desk", "", "")
    answer = bench.client.get(f"/builds/{bench.id}/history/{opened.revision}/effect")
    assert "no wires, no money, no hours" in answer.text


def test_any_two_revisions_are_compared_in_words_wires_money_and_hours(bench: Bench) -> None:
    first = bench.revision
    bench.desk.add_late(bench.id, bench.revision, "fan-4", 1)
    bench.desk.add_late(bench.id, bench.revision, "fan-4", 1)
    told = compared(bench, first, bench.revision)
    assert "added Fan, four-wire 1, Fan, four-wire 2" in told
    assert "2 more runs" in told
    assert "wires: 8 new" in told
    assert re.search(r"€[\d.]+ more \(parts €[\d.]+ more\)", told)
    assert "min more" in told


def test_the_labels_of_changed_wires_are_listed(bench: Bench) -> None:
    first = bench.revision
    opened = bench.desk.add_late(bench.id, bench.revision, "fan-4", 1)
    told = compared(bench, first, opened.revision)
    assert all(wire.label in told for wire in opened.plan.runs[-1].wires)


def test_two_revisions_that_are_the_same_say_so(bench: Bench) -> None:
    assert "Nothing differs." in compared(bench, bench.revision, bench.revision)


def test_the_compared_revisions_stay_chosen(bench: Bench) -> None:
    answer = bench.client.get(f"/builds/{bench.id}/history/compare?first=1&second=3")
    chosen = [
        option.get("value")
        for name in ("first", "second")
        for option in field(page(answer.text), name).iter("option")
        if option.get("selected") is not None
    ]
    assert chosen == ["1", "3"]


def test_the_comparison_starts_from_the_newest_named_revision(bench: Bench) -> None:
    number = named(bench, number=2)
    options = field(page(bench.look("history").text), "first").iter("option")
    assert [option.get("value") for option in options if option.get("selected") is not None] == [str(number)]


@pytest.mark.parametrize(("first", "second"), [("x", "2"), ("", ""), ("-1", "2"), ("1" * 40, "2")])
def test_numbers_that_are_none_compare_nothing(bench: Bench, first: str, second: str) -> None:
    answer = bench.client.get(f"/builds/{bench.id}/history/compare?first={first}&second={second}")
    assert answer.status_code == 200
    assert 'id="compared"' not in answer.text


def test_a_revision_that_does_not_exist_is_not_found(bench: Bench) -> None:
    for where in ("compare?first=1&second=99", "99/effect", "0/effect", f"{10**30}/effect"):
        assert bench.client.get(f"/builds/{bench.id}/history/{where}").status_code == 404


def test_going_back_is_still_a_new_revision(bench: Bench) -> None:
    number = bench.revision
    bench.send("history/2")
    assert bench.revision == number + 1


def test_the_estimate_says_what_the_change_costs_since_the_named_revision(bench: Bench) -> None:
    number = named(bench)
    bench.desk.add_late(bench.id, bench.revision, "fan-4", 1)
    told = words(page(bench.look("estimate").text))
    assert f"Since revision {number} ‘agreed with client’: 1 more run, 4 more wires, €" in told


def test_the_estimate_follows_a_name_that_is_taken_away_again(bench: Bench) -> None:
    number = named(bench)
    assert f"This is revision {number} ‘agreed with client’." in words(page(bench.look("estimate").text))
    bench.send(f"history/{number}/unname")
    assert "agreed with client" not in words(page(bench.look("estimate").text))


def test_the_client_sees_which_revision_was_agreed_and_what_came_since(bench: Bench) -> None:
    token, number = bench.desk.share(bench.id), named(bench)
    assert f"{number} ‘agreed with client’" in words(page(bench.client.get(f"/share/{token}").text))
    bench.desk.add_late(bench.id, bench.revision, "fan-4", 1)
    assert f"Since revision {number} ‘agreed with client’: 1 more run" in words(
        page(bench.client.get(f"/share/{token}").text)
    )


def test_fans_and_lights_are_added_late_in_one_move(bench: Bench) -> None:
    before = bench.desk.open(bench.id).build
    fields = {"late": "fan", "late.fan.recipe": "fan-4", "late.fan.count": "2"}
    assert bench.send("parts/late", swap=True, **fields).status_code == 200
    after = bench.desk.open(bench.id).build
    assert after.runs[: len(before.runs)] == before.runs
    assert [part.name for part in after.parts[len(before.parts) :]] == ["Fan, four-wire 1", "Fan, four-wire 2"]
    assert all(run.route.likely_mm for run in after.runs[len(before.runs) :])


def test_too_many_late_lights_are_refused_beside_the_number_with_what_would_help(bench: Bench) -> None:
    # The board has one 5 V light header, and the supply of the scene three ports that feed lights.
    before = bench.revision
    fields = {"late": "light", "late.light.recipe": "light-5v", "late.light.count": "9"}
    answer = bench.send("parts/late", swap=True, **fields)
    assert answer.status_code == 422
    assert "add a light hub first" in answer.text
    assert bench.revision == before


@pytest.mark.parametrize("count", ["0", "", "two", "41", "-3"])
def test_a_late_number_that_is_none_is_refused(bench: Bench, count: str) -> None:
    fields = {"late": "fan", "late.fan.recipe": "fan-4", "late.fan.count": count}
    answer = bench.send("parts/late", swap=True, **fields)
    assert answer.status_code == 422
    assert "Write a whole number from 1 to 40." in answer.text


def test_the_parts_step_says_which_range_a_late_run_gets_and_why(bench: Bench) -> None:
    told = words(by_id(page(bench.look("parts").text), "parts"))
    assert "200–800 mm, most likely 450 mm: common practice" in told
