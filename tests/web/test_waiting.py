"""Cut now or wait: each run once, with what it waits for, what is bought for it and what waiting costs."""

from decimal import Decimal

import pytest
from httpx import Response

from server.web.views import formats
from tests.web.conftest import PANEL, Bench
from tests.web.reading import by_id, field, page, words


def panel(bench: Bench) -> str:
    return words(by_id(page(bench.look("waiting").text), "waiting"))


def ranged(bench: Bench) -> Bench:
    name = f"runs.{bench.run}"
    fields = {f"{name}.length": "", f"{name}.low": "300", f"{name}.likely": "350", f"{name}.high": "500"}
    bench.send("routes", **fields, unit="mm")
    return bench


def measure(bench: Bench, text: str, *, swap: bool = False) -> Response:
    """Save the first run's length on the panel itself."""
    data = {"revision": str(bench.revision), "panel": "waiting", f"runs.{bench.run}.length": text, "unit": "mm"}
    return bench.client.post(f"/builds/{bench.id}/routes", data=data, headers=PANEL if swap else {})


def row(bench: Bench, title: str) -> str:
    rows = by_id(page(bench.look("waiting").text), "waiting").iter("tr")
    return next(text for tr in rows if title in (text := words(tr)))


def test_a_run_with_a_range_waits_for_its_length(bench: Bench) -> None:
    run = ranged(bench).desk.open(bench.id).plan.runs[0]
    assert "its length: 300–500 mm, most likely 350 mm" in row(bench, run.name)


def test_what_is_bought_for_a_waiting_run_and_what_waiting_costs_are_told(bench: Bench) -> None:
    plan = ranged(bench).desk.open(bench.id).plan
    entry = next(entry for entry in plan.waiting if entry.run == 1)
    told = row(bench, plan.runs[0].name)
    assert entry.buy_mm > entry.likely_buy_mm > 0
    assert f"{formats.metres(entry.buy_mm)} at the longest" in told
    assert formats.metres(entry.likely_buy_mm) in told
    assert formats.money(entry.wait_price, plan.estimate.currency) in told


def test_the_costs_of_waiting_are_added_up(bench: Bench) -> None:
    plan = ranged(bench).desk.open(bench.id).plan
    total = sum((entry.wait_price for entry in plan.waiting), Decimal(0))
    assert total > 0
    assert formats.money(total, plan.estimate.currency) in row(bench, "together")


def test_a_run_of_which_nothing_is_known_says_that_nothing_is_bought(bench: Bench) -> None:
    told = row(bench, bench.desk.open(bench.id).plan.runs[0].name)
    assert "nothing is known of it" in told
    assert "nothing yet" in told


def test_a_chain_whose_spacing_is_missing_waits_for_it(bench: Bench) -> None:
    run = next(run for run in bench.desk.open(bench.id).build.runs if len(run.ends) > 1)
    bench.send("routes", **{f"runs.{run.id}.length": "400", "unit": "mm"})
    planned = next(held for held in bench.desk.open(bench.id).plan.runs if held.id == run.id)
    assert "the spacing from plug to plug" in row(bench, planned.name)


@pytest.mark.parametrize("swap", [False, True])
def test_a_run_measured_on_the_spot_can_be_cut_at_once(bench: Bench, swap: bool) -> None:
    ranged(bench)
    tree = page(bench.look("waiting").text)
    name = f"runs.{bench.run}.length"
    assert field(tree, name).get("value") == ""
    answer = measure(bench, "360", swap=swap)
    if not swap:
        assert answer.headers["location"].startswith(f"/builds/{bench.id}/waiting?saved=")
    route = bench.desk.open(bench.id).build.runs[0].route
    assert (route.length_mm, route.low_mm, route.likely_mm, route.high_mm) == (360.0, 300.0, 350.0, 500.0)
    assert "✓ 360 mm" in panel(bench)


def test_a_length_that_cannot_be_read_comes_back_on_the_same_panel(bench: Bench) -> None:
    name = f"runs.{bench.run}.length"
    answer = measure(bench, "soon")
    tree = page(answer.text)
    by_id(tree, "waiting")
    assert (answer.status_code, field(tree, name).get("value")) == (422, "soon")


def test_every_run_stands_on_the_panel_once(bench: Bench) -> None:
    ranged(bench)
    plan = bench.desk.open(bench.id).plan
    heads = [
        words(th) for th in by_id(page(bench.look("waiting").text), "waiting").iter("th") if th.get("scope") == "row"
    ]
    assert len(heads) == len(plan.runs) + 1, "every run, and the sum"


def test_the_routes_and_the_rail_lead_to_it_with_how_many_wait(bench: Bench) -> None:
    tree = page(bench.look("routes").text)
    links = [a for a in tree.iter("a") if a.get("href") == f"/builds/{bench.id}/waiting"]
    assert len(links) == 2
    waiting = len(bench.desk.open(bench.id).plan.waiting)
    assert f"0 now, {waiting} wait" in words(by_id(tree, "rail-waiting"))
