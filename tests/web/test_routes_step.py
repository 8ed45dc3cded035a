"""The routes step: extra reach at its own plug, ranges against lengths, spacings of chains, data cables."""

from xml.etree.ElementTree import Element

import pytest

from server.domain.edits import RouteEntry
from server.domain.model.build import Route
from server.domain.model.route import RouteStep
from tests.web.conftest import Bench
from tests.web.reading import beside, by_id, field, page, words

MAIN = (("supply", "M1"), ("supply", "M2"))


@pytest.fixture
def split(bench: Bench) -> Bench:
    """The board's main fed from two sockets."""
    bench.desk.choose_supply(bench.id, bench.revision, "split-18-10")
    return bench


def chain_of(bench: Bench) -> str:
    """The run of the two drives, made three by a drive more."""
    bench.desk.add_parts(bench.id, bench.revision, "drive-sata", 3)
    return next(run.id for run in bench.desk.open(bench.id).build.runs if len(run.ends) == 3)


def route(bench: Bench, run_id: str) -> tuple[float | None, float | None, float | None, tuple[float, ...]]:
    held = next(run for run in bench.desk.open(bench.id).build.runs if run.id == run_id).route
    return held.length_mm, held.low_mm, held.high_mm, held.spacing_mm


@pytest.mark.parametrize("order", [MAIN, MAIN[::-1]])
def test_extra_reach_goes_to_the_plug_that_its_label_names(split: Bench, order: tuple[tuple[str, str], ...]) -> None:
    # The plan lists plugs as they lie in the ribbon, the build as they were entered: one of the two orders differs.
    split.desk.move_run(split.id, split.revision, split.run, order)
    tree = page(split.look("routes").text)
    label = next(e for e in by_id(tree, "routes").iter("label") if "extra at Main B" in words(e))
    name = next(str(e.get("name")) for e in tree.iter("input") if e.get("id") == label.get("for"))
    split.send("routes", **{f"runs.{split.run}.length": "", name: "35", "unit": "mm"})
    build = split.desk.open(split.id).build
    assert {ref.socket: ref.extra_mm for ref in build.runs[0].sources} == {"M1": 0.0, "M2": 35.0}


def test_wires_are_said_to_start_at_the_socket_that_the_drawing_names(split: Bench) -> None:
    told = words(by_id(page(split.look(f"runs/{split.run}").text), "run"))
    assert "Main A·1" in told
    assert "M1·" not in told


def test_a_length_takes_the_place_of_a_range_whose_fields_were_emptied(bench: Bench) -> None:
    name = f"runs.{bench.run}"
    bench.send("routes", **{f"{name}.length": "", f"{name}.low": "250", f"{name}.high": "420", "unit": "mm"})
    bench.send("routes", **{f"{name}.length": "333", f"{name}.low": "", f"{name}.high": "", "unit": "mm"})
    assert route(bench, bench.run)[:3] == (333.0, None, None)


def test_a_length_and_a_range_may_be_given_together(bench: Bench) -> None:
    name = f"runs.{bench.run}"
    bench.send("routes", **{f"{name}.length": "333", f"{name}.low": "250", f"{name}.high": "420", "unit": "mm"})
    assert route(bench, bench.run)[:3] == (333.0, 250.0, 420.0)


def test_an_emptied_length_leaves_the_run_with_its_range(bench: Bench) -> None:
    name = f"runs.{bench.run}"
    bench.send("routes", **{f"{name}.length": "333", f"{name}.low": "250", f"{name}.high": "420", "unit": "mm"})
    bench.send("routes", **{f"{name}.length": "", f"{name}.low": "250", f"{name}.high": "420", "unit": "mm"})
    assert route(bench, bench.run)[:3] == (None, 250.0, 420.0)


def test_the_most_likely_length_is_kept_with_its_range(bench: Bench) -> None:
    name = f"runs.{bench.run}"
    fields = {f"{name}.low": "250", f"{name}.likely": "11 in", f"{name}.high": "420"}
    bench.send("routes", **{f"{name}.length": "", **fields, "unit": "mm"})
    # By hand: 11 x 25.4 = 279.4.
    assert bench.desk.open(bench.id).build.runs[0].route.likely_mm == 279.4


@pytest.mark.parametrize(
    ("low", "likely", "high", "wrong", "said"),
    [
        ("250", "200", "420", "likely", "between the shortest and the longest"),
        ("250", "430", "420", "likely", "between the shortest and the longest"),
        ("", "300", "420", "low", "at least"),
        ("250", "300", "", "high", "at most"),
        ("", "300", "", "high", "at most"),
        ("420", "", "250", "high", "shorter than the shortest"),
    ],
)
def test_a_range_that_does_not_hold_together_is_refused_beside_the_field(
    bench: Bench, low: str, likely: str, high: str, wrong: str, said: str
) -> None:
    name = f"runs.{bench.run}"
    fields = {f"{name}.length": "", f"{name}.low": low, f"{name}.likely": likely, f"{name}.high": high, "unit": "mm"}
    answer = bench.send("routes", **fields)
    assert answer.status_code == 422
    assert said in beside(page(answer.text), f"{name}.{wrong}")


def test_a_measured_length_outside_its_range_is_marked_in_words(bench: Bench) -> None:
    name = f"runs.{bench.run}"
    bench.send("routes", **{f"{name}.length": "500", f"{name}.low": "250", f"{name}.high": "420", "unit": "mm"})
    row = next(tr for tr in by_id(page(bench.look("routes").text), "routes").iter("tr") if bench.run in hrefs(tr))
    assert "▲ measured, outside its range" in words(row)


def hrefs(element: Element) -> str:
    return " ".join(str(a.get("href")) + " " for a in element.iter("a"))


def bent(bench: Bench) -> Bench:
    """The first run by two legs with a bend between them: 200 + 60 pi / 2 + 300 = 594.2 mm by hand."""
    steps = (RouteStep("leg", 200.0), RouteStep("left", angle_deg=90.0, radius_mm=60.0), RouteStep("leg", 300.0))
    entry = RouteEntry(Route(steps=steps))
    bench.desk.set_routes(bench.id, bench.revision, {bench.run: entry})
    return bench


def test_a_run_by_legs_and_bends_shows_its_length_and_the_way_to_them(bench: Bench) -> None:
    bent(bench)
    tree = by_id(page(bench.look("routes").text), "routes")
    row = next(tr for tr in tree.iter("tr") if f"/runs/{bench.run}/path" in hrefs(tr))
    assert "594.2 mm by legs and bends" in words(row)
    assert field(tree, f"runs.{bench.run}.length").get("value") == "594.2"


def test_every_run_has_a_way_to_its_legs_and_bends(bench: Bench) -> None:
    links = hrefs(by_id(page(bench.look("routes").text), "routes"))
    assert all(f"/builds/{bench.id}/runs/{run.id}/path " in links for run in bench.desk.open(bench.id).build.runs)


def test_legs_and_bends_stay_where_the_length_is_left_as_shown(bench: Bench) -> None:
    bent(bench)
    name = f"runs.{bench.run}"
    bench.send("routes", **{f"{name}.length": "594.2", f"{name}.low": "550", f"{name}.high": "650", "unit": "mm"})
    held = bench.desk.open(bench.id).build.runs[0].route
    assert (len(held.steps), held.length_mm, held.low_mm, held.high_mm) == (3, None, 550.0, 650.0)


@pytest.mark.parametrize("swap", [False, True])
def test_a_number_takes_the_place_of_legs_and_bends_and_the_message_says_so(bench: Bench, swap: bool) -> None:
    bent(bench)
    answer = bench.send("routes", swap=swap, **{f"runs.{bench.run}.length": "600", "unit": "mm"})
    text = answer.text if swap else bench.client.get(answer.headers["location"]).text
    held = bench.desk.open(bench.id).build.runs[0]
    assert (held.route.steps, held.route.length_mm) == ((), 600.0)
    assert f"Run {held.number}: its legs and bends are gone, a length in their place." in text


def test_an_extension_says_that_its_length_is_its_own_alone(bench: Bench) -> None:
    bench.desk.set_method(bench.id, bench.revision, bench.run, "extension", 400.0)
    told = beside(page(bench.look("routes").text), f"runs.{bench.run}.length")
    assert "of the extension alone; the own cable, 400 mm, comes before it" in told


@pytest.mark.parametrize("swap", [False, True])
def test_one_spacing_is_taken_for_every_gap_of_the_chain_and_said_so(bench: Bench, swap: bool) -> None:
    chain = chain_of(bench)
    fields = {f"runs.{chain}.length": "400", f"runs.{chain}.spacing": "95", "unit": "mm"}
    answer = bench.send("routes", swap=swap, **fields)
    text = answer.text if swap else bench.client.get(answer.headers["location"]).text
    number = next(run.number for run in bench.desk.open(bench.id).build.runs if run.id == chain)
    assert route(bench, chain)[3] == (95.0, 95.0)
    assert f"Run {number}: one spacing taken for all 2 gaps." in text


@pytest.mark.parametrize("text", ["95 95 95", "95,95"])
def test_a_wrong_number_of_spacings_is_refused_beside_the_field(bench: Bench, text: str) -> None:
    chain = chain_of(bench)
    answer = bench.send("routes", **{f"runs.{chain}.length": "400", f"runs.{chain}.spacing": text, "unit": "mm"})
    tree = page(answer.text)
    assert answer.status_code == 422
    assert field(tree, f"runs.{chain}.spacing").get("aria-invalid") == "true"
    assert route(bench, chain)[3] == ()


def test_a_data_cable_is_said_to_be_sleeved_only(bench: Bench) -> None:
    bench.desk.add_parts(bench.id, bench.revision, "sata-data", 1)
    last = list(by_id(page(bench.look("routes").text), "routes").iter("tr"))[-1]
    assert "sleeve only" in words(last)
    assert "waits" not in words(last)


def test_wires_that_lie_in_one_sleeve_are_not_said_to_be_sleeved_each(bench: Bench) -> None:
    # Common practice: front-panel leads run in one sleeve together.
    bench.desk.add_parts(bench.id, bench.revision, "audio", 1)
    run = bench.desk.open(bench.id).plan.runs[-1]
    assert run.use == "audio"
    told = words(by_id(page(bench.look("cards").text), f"card-{run.number}"))
    assert "all in one sleeve" in told
    assert "each sleeved" not in told


@pytest.mark.parametrize(("unit", "said"), [("in", "A bare number is in inches;"), ("mm", "A bare number is in mm;")])
def test_the_unit_of_a_bare_number_is_said_in_a_word_that_reads(bench: Bench, unit: str, said: str) -> None:
    told = words(by_id(page(bench.look(f"routes?unit={unit}").text), "routes"))
    bench.look("routes?unit=mm")
    assert said in told
