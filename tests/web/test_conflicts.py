"""Two tabs at one form: only what somebody changed goes on top of what the other saved."""

from httpx import Response

from tests.web.conftest import Bench
from tests.web.reading import by_id, field, forms, page, words


def save_mine(bench: Bench, refused: Response) -> None:
    """Press the button that saves on top."""
    form = next(forms(by_id(page(refused.text), "conflict")))
    sent: dict[str, list[str]] = {}
    for box in form.iter("input"):
        sent.setdefault(str(box.get("name")), []).append(str(box.get("value")))
    assert bench.client.post(str(form.get("action")), data=sent).status_code == 303


def routes_as_shown(bench: Bench) -> dict[str, str]:
    tree = by_id(page(bench.look("routes").text), "routes")
    return {str(e.get("name")): str(e.get("value")) for e in tree.iter("input") if e.get("name") != "revision"}


def test_saving_on_top_leaves_the_lengths_that_the_other_tab_saved(bench: Bench) -> None:
    first, second = (run.id for run in bench.desk.open(bench.id).build.runs[:2])
    old, mine = bench.revision, routes_as_shown(bench)
    bench.send("routes", **{**mine, f"runs.{second}.length": "433"})
    save_mine(bench, bench.send("routes", base=old, **{**mine, f"runs.{first}.length": "345"}))
    lengths = {run.id: run.route.length_mm for run in bench.desk.open(bench.id).build.runs}
    assert (lengths[first], lengths[second]) == (345.0, 433.0)


def test_the_form_below_the_box_already_holds_what_the_other_tab_saved(bench: Bench) -> None:
    first, second = (run.id for run in bench.desk.open(bench.id).build.runs[:2])
    old, mine = bench.revision, routes_as_shown(bench)
    bench.send("routes", **{**mine, f"runs.{second}.length": "433"})
    tree = page(bench.send("routes", base=old, **{**mine, f"runs.{first}.length": "345"}).text)
    shown = [field(tree, f"runs.{run}.length").get("value") for run in (first, second)]
    assert shown == ["345", "433"]


def test_the_box_tells_what_was_saved_meanwhile_and_what_of_mine_will_be(bench: Bench) -> None:
    first, second = bench.desk.open(bench.id).build.runs[:2]
    old, mine = bench.revision, routes_as_shown(bench)
    bench.send("routes", **{**mine, f"runs.{second.id}.length": "433"})
    tree = page(bench.send("routes", base=old, **{**mine, f"runs.{first.id}.length": "345"}).text)
    assert f"run {second.number}: measured at 433 mm" in words(by_id(tree, "conflict"))
    assert words(by_id(tree, "conflict-mine")) == f"run {first.number}, length: 345 mm"


def finish(**more: str) -> dict[str, str]:
    """The finish form as a new build shows it."""
    held = {
        "finish.awg.cpu": "",
        "finish.insulation": "plain",
        "finish.colour_mode": "by_net",
        "finish.pattern": "BK",
        "finish.sleeve": "small",
        "finish.sleeve_pattern": "BK",
        "finish.sleeve_end": "shrink",
        "finish.shrink_size": "",
        "finish.combs": "yes",
        "finish.comb_kind": "closed",
        **more,
    }
    return {name: text for name, text in held.items() if text or name != "finish.combs"}


def test_a_box_emptied_in_one_tab_and_a_gauge_picked_in_the_other_are_both_kept(bench: Bench) -> None:
    old, boxes = bench.revision, ["finish.combs"]
    bench.send("finish", **finish(**{"finish.combs": ""}), shown=boxes)
    save_mine(bench, bench.send("finish", base=old, **finish(**{"finish.awg.cpu": "18"}), shown=boxes))
    held = bench.desk.open(bench.id).build.finish
    assert (held.combs, dict(held.awg_by_use)) == (False, {"cpu": 18})


def test_a_box_that_i_emptied_stays_empty_on_top(bench: Bench) -> None:
    old, boxes = bench.revision, ["finish.combs"]
    bench.send("finish", **finish(**{"finish.awg.cpu": "18"}), shown=boxes)
    save_mine(bench, bench.send("finish", base=old, **finish(**{"finish.combs": ""}), shown=boxes))
    held = bench.desk.open(bench.id).build.finish
    assert (held.combs, dict(held.awg_by_use)) == (False, {"cpu": 18})


def test_notes_written_in_one_tab_and_a_client_in_the_other_are_both_kept(bench: Bench) -> None:
    old = bench.revision
    bench.send("details", name="Walnut desk case", client="", notes="Blue\r\nand grey")
    save_mine(bench, bench.send("details", base=old, name="Walnut desk case", client="A. Client", notes=""))
    build = bench.desk.open(bench.id).build
    assert (build.client, build.notes) == ("A. Client", "Blue\nand grey")


def test_rates_changed_in_two_tabs_are_both_kept(bench: Bench) -> None:
    old = bench.revision
    mine = {"currency": "EUR", "hourly": "40", "overhead": "10", "margin": "15", "tax": "20"}
    shown = {f"rates.{name}": text for name, text in mine.items()}
    bench.send("rates", **{**shown, "rates.tax": "19"})
    save_mine(bench, bench.send("rates", base=old, **{**shown, "rates.hourly": "55"}))
    rates = bench.desk.open(bench.id).build.rates
    assert (rates.hourly, rates.tax_percent) == (55, 19)


def test_extra_reach_at_a_plug_that_is_gone_is_named_and_not_given_to_another(bench: Bench) -> None:
    bench.desk.choose_supply(bench.id, bench.revision, "split-18-10")
    old, run = bench.revision, bench.run
    name = f"runs.{run}.sources.1.extra"
    bench.desk.move_run(bench.id, old, run, (("supply", "M2"), ("supply", "M1")))
    refused = bench.send("routes", base=old, **{f"runs.{run}.length": "", name: "35", "unit": "mm"})
    assert "extra at Main B: 35 mm" in words(by_id(page(refused.text), "conflict"))
    save_mine(bench, refused)
    assert {ref.extra_mm for ref in bench.desk.open(bench.id).build.runs[0].sources} == {0.0}
