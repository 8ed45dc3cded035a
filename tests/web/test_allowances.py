"""Allowances, spares and the ends of sleeves: what stands, what the catalogue or the skill gives, and what is set."""

import pytest

from server.domain.model.build import Allowances, Spare
from server.domain.reference import SPARES
from tests.web.conftest import Bench
from tests.web.reading import all_of, beside, by_id, field, page, words

SHOWN = {
    "allowances.recrimp": "5",
    "allowances.slack": "0",
    "allowances.step": "5",
    "allowances.fray": "5",
    "allowances.cut_loss": "0",
    "allowances.remnant_least": "100",
    "allowances.skill": "practised",
}


def held(bench: Bench) -> Allowances:
    return bench.desk.open(bench.id).build.allowances


def shown(bench: Bench, name: str) -> tuple[str | None, str | None]:
    found = field(page(bench.look("estimate").text), name)
    return found.get("value"), found.get("placeholder")


def test_an_empty_depth_shows_what_the_catalogue_says(bench: Bench) -> None:
    family = bench.desk.catalogue().families["p42"]
    assert shown(bench, "allowances.depth.p42") == ("", f"{family.insertion_depth_mm:g}")


def test_only_families_and_contacts_of_this_build_are_listed(bench: Bench) -> None:
    # The scene has a board and two drives in a chain; no graphics card with twelve and four positions.
    names = {e.get("name") for e in page(bench.look("estimate").text).iter("input")}
    assert "allowances.depth.p42" in names
    assert "allowances.depth.p30" not in names
    assert not any(str(name).startswith("allowances.strip.p30") for name in names)


def test_a_pressed_plug_has_its_depth_and_its_reserve_for_pressing_again(bench: Bench) -> None:
    names = {e.get("name") for e in page(bench.look("estimate").text).iter("input")}
    assert {"allowances.depth.satad", "allowances.recrimp.satad"} <= names


def test_values_set_by_hand_are_kept_and_said_to_be_set(bench: Bench) -> None:
    fields = {"allowances.depth.p42": "7.25", "allowances.recrimp.p42": "0", "allowances.strip.p42-socket-18": "3.1"}
    bench.send("allowances", **SHOWN, **fields)
    found = held(bench)
    assert dict(found.depth_mm) == {"p42": 7.25}
    assert dict(found.recrimp_by_family) == {"p42": 0.0}
    assert dict(found.strip_mm) == {"p42-socket-18": 3.1}
    row = next(tr for tr in page(bench.look("estimate").text).iter("tr") if "4.2 mm two-row power" in words(tr))
    assert "set for this build" in words(row)


def test_an_emptied_value_follows_the_catalogue_again(bench: Bench) -> None:
    bench.send("allowances", **SHOWN, **{"allowances.depth.p42": "7"})
    bench.send("allowances", **SHOWN, **{"allowances.depth.p42": ""})
    assert dict(held(bench).depth_mm) == {}


def test_a_family_that_the_form_does_not_show_keeps_its_value(bench: Bench) -> None:
    bench.desk.set_allowances(bench.id, bench.revision, Allowances(depth_mm={"p30": 5.5}))
    bench.send("allowances", **SHOWN, **{"allowances.depth.p42": "7"})
    assert dict(held(bench).depth_mm) == {"p30": 5.5, "p42": 7.0}


def test_a_length_that_cannot_be_read_is_refused_beside_its_field(bench: Bench) -> None:
    answer = bench.send("allowances", **SHOWN, **{"allowances.depth.p42": "deep"})
    assert answer.status_code == 422
    assert "Write a length" in beside(page(answer.text), "allowances.depth.p42")


@pytest.mark.parametrize("skill", ["first_cables", "practised", "every_day"])
def test_spares_follow_the_skill_while_nothing_is_set(bench: Bench, skill: str) -> None:
    bench.send("allowances", **{**SHOWN, "allowances.skill": skill})
    usual = SPARES[skill]["contacts"]  # type: ignore[index]
    assert dict(held(bench).spares) == {}
    assert shown(bench, "allowances.spares.contacts.percent") == ("", f"{usual.percent:g}")
    assert shown(bench, "allowances.spares.contacts.least") == ("", str(usual.least))


def test_one_number_set_by_hand_leaves_the_other_to_the_skill(bench: Bench) -> None:
    bench.send("allowances", **SHOWN, **{"allowances.spares.contacts.least": "9"})
    assert dict(held(bench).spares) == {"contacts": Spare(SPARES["practised"]["contacts"].percent, 9)}
    assert shown(bench, "allowances.spares.contacts.percent")[0] == ""
    assert shown(bench, "allowances.spares.contacts.least")[0] == "9"


def test_a_cleared_number_follows_the_skill_again(bench: Bench) -> None:
    bench.send("allowances", **SHOWN, **{"allowances.spares.contacts.least": "9"})
    bench.send("allowances", **SHOWN, **{"allowances.spares.contacts.least": ""})
    assert dict(held(bench).spares) == {}


@pytest.mark.parametrize("text", ["-1", "a few", "2.5"])
def test_a_number_of_spares_that_is_none_is_refused_beside_its_field(bench: Bench, text: str) -> None:
    answer = bench.send("allowances", **SHOWN, **{"allowances.spares.combs.least": text})
    assert answer.status_code == 422
    assert beside(page(answer.text), "allowances.spares.combs.least")


def finish_form(bench: Bench, **more: str) -> dict[str, str]:
    """The finish as it stands, with some of it changed."""
    tree = by_id(page(bench.look("finish").text), "finish")
    sent = {str(e.get("name")): str(e.get("value")) for e in all_of(tree, "input") if e.get("type") == "text"}
    for select in all_of(tree, "select"):
        options = list(select.iter("option"))
        sent[str(select.get("name"))] = next(str(o.get("value")) for o in options if o.get("selected") is not None)
    return {**sent, "finish.sleeve_end": "shrink", "finish.combs": "yes", **more}


@pytest.mark.parametrize("way", ["shrink", "melted", "loose"])
def test_the_ends_of_sleeves_are_held_as_chosen(bench: Bench, way: str) -> None:
    assert bench.send("finish", **finish_form(bench, **{"finish.sleeve_end": way})).status_code == 303
    assert bench.desk.open(bench.id).build.finish.sleeve_end == way
    radios = [e for e in page(bench.look("finish").text).iter("input") if e.get("name") == "finish.sleeve_end"]
    assert [e.get("value") for e in radios if e.get("checked") is not None] == [way]


def test_every_way_to_end_a_sleeve_says_what_it_means(bench: Bench) -> None:
    tree = page(bench.look("finish").text)
    radios = [e for e in tree.iter("input") if e.get("name") == "finish.sleeve_end"]
    meanings = [words(by_id(tree, str(e.get("aria-describedby")))) for e in radios]
    assert len(meanings) == 3
    assert all(meanings)


def test_a_word_that_is_no_way_to_end_a_sleeve_is_refused(bench: Bench) -> None:
    answer = bench.send("finish", **finish_form(bench, **{"finish.sleeve_end": "glued"}))
    assert answer.status_code == 422
    assert "Pick one of the list." in words(by_id(page(answer.text), "finish"))


def test_open_combs_are_kept(bench: Bench) -> None:
    bench.send("finish", **finish_form(bench, **{"finish.comb_kind": "open"}))
    assert bench.desk.open(bench.id).build.finish.comb_kind == "open"


def test_every_size_of_sleeve_says_what_it_goes_over(bench: Bench) -> None:
    told = words(by_id(page(bench.look("finish").text), "finish"))
    for sleeve in bench.desk.catalogue().sleeves.values():
        assert f"{sleeve.least_mm:g} to {sleeve.greatest_mm:g}" in told


def run_finish(bench: Bench, **more: str) -> tuple[str | None, str | None, str | None]:
    name = f"runs.{bench.run}.finish"
    fields = ("awg", "insulation", "colour_mode", "pattern", "sleeve", "sleeve_pattern", "combs")
    sent = {f"{name}.{key}": "" for key in (*fields, "sleeve_end", "shrink_size", "comb_kind")}
    bench.send(f"runs/{bench.run}/finish", **{**sent, **{f"{name}.{key}": text for key, text in more.items()}})
    held_now = bench.desk.open(bench.id).build.runs[0].finish
    return held_now.sleeve_end, held_now.shrink_size, held_now.comb_kind


def test_a_run_follows_the_build_where_nothing_is_chosen(bench: Bench) -> None:
    assert run_finish(bench) == (None, None, None)


def test_a_run_may_end_its_sleeve_and_comb_its_wires_otherwise(bench: Bench) -> None:
    size = next(iter(bench.desk.catalogue().shrinks))
    assert run_finish(bench, sleeve_end="melted", shrink_size=size, comb_kind="open") == ("melted", size, "open")


def test_a_run_may_take_the_heat_shrink_that_fits_whatever_the_build_takes(bench: Bench) -> None:
    assert run_finish(bench, shrink_size="fitting")[1] == ""
