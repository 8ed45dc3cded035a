"""The roll plan's panel: what it costs and whether that is proved, the list in cutting order, its two settings."""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from xml.etree.ElementTree import Element

import pytest

from server.domain.model.plan import Plan, RollSheet
from server.services.opened import Opened
from server.web.views import formats
from server.web.views.fields import Fields
from server.web.views.rolls import RollsPanel, rolls_panel, verdict_words
from tests.drawing import roll_scenes
from tests.web.conftest import PANEL, Bench
from tests.web.reading import all_of, beside, by_id, field, page, words


def measured(bench: Bench) -> Bench:
    bench.send("routes", **{f"runs.{bench.run}.length": "600"}, unit="mm")
    return bench


def panel(bench: Bench) -> Element:
    return by_id(page(bench.look("rolls").text), "rolls")


def shown(bench: Bench, *sheets: RollSheet) -> RollsPanel:
    """The view of sheets made by hand, on a build of the planner."""
    opened: Opened = bench.desk.open(bench.id)
    plan: Plan = replace(opened.plan, rolls=sheets)
    return rolls_panel(replace(opened, plan=plan, _made={}), opened.revision, Fields())


def test_a_build_without_lengths_has_nothing_to_cut(bench: Bench) -> None:
    assert "Nothing to cut" in words(panel(bench))


def test_every_piece_of_the_plan_stands_in_the_list_in_cutting_order(bench: Bench) -> None:
    plan = measured(bench).desk.open(bench.id).plan
    wires = [sheet for sheet in plan.rolls if sheet.kind == "wire"]
    tables = [t for t in all_of(panel(bench), "table") if t.get("class") == "roll-table"][: len(wires)]
    for sheet, table in zip(wires, tables, strict=True):
        cells = [words(th) for th in all_of(table, "th") if th.get("class") == "code"]
        labels = [piece.label for layout in sheet.layouts for piece in layout.pieces]
        assert [cell.removesuffix(" kept free") for cell in cells] == labels


def test_every_material_has_a_picture_for_each_of_its_rolls(bench: Bench) -> None:
    plan = measured(bench).desk.open(bench.id).plan
    pictures = [e for e in panel(bench).iter() if "drawing roll" in (e.get("class") or "")]
    assert len(pictures) == sum(len(sheet.layouts) for sheet in plan.rolls) > 0


def test_sleeves_and_tubes_that_are_cut_alike_share_a_row_of_the_list(bench: Bench) -> None:
    # By hand: the scene's first roll holds one tube of 120 mm and 40 of 15 mm, 16 each of runs 1 and 2 and 8 of run 3.
    (view,) = shown(bench, roll_scenes.shrink_sheet()).sheets
    rows = [(row.number, row.length, row.label) for row in view.rolls[0].rows]
    assert rows == [
        ("1", "120", "9-hs1"),
        ("2–41", "40 × 15", "1-hs1 to 1-hs16, 2-hs1 to 2-hs16, 3-hs1 to 3-hs8"),
    ]


@pytest.mark.parametrize(
    ("cost", "bound", "proved", "told"),
    [
        ("20.20", "20.20", True, "proved the least"),
        ("0", "0", True, "nothing has to be bought"),
        ("90.40", "85.00", False, "at most €5.40 more than the least (bound €85.00)"),
    ],
)
def test_the_headline_says_how_far_the_cost_may_be_from_the_least(
    cost: str, bound: str, proved: bool, told: str
) -> None:
    assert verdict_words(Decimal(cost), Decimal(bound), "EUR", proved=proved) == told


def test_one_sheet_without_a_proof_takes_the_proof_from_the_whole(bench: Bench) -> None:
    # By hand: the small sheet costs 10.10 and is proved; the large one costs 4 x 22.60 = 90.40, its bound is 85.00.
    view = shown(bench, roll_scenes.small_sheet(), roll_scenes.large_sheet())
    assert (view.proved, view.headline) == (False, "€100.50 for 5 rolls to buy, 2 from the shelf")
    assert view.verdict == "at most €5.40 more than the least (bound €95.10)"


def test_what_is_bought_and_what_is_on_hand_differ_by_word_and_mark(bench: Bench) -> None:
    (view,) = shown(bench, roll_scenes.small_sheet()).sheets
    assert [(roll.mark, roll.word, roll.name) for roll in view.rolls] == [
        ("◆", "on hand", "piece 27, 700 mm, cut before"),
        ("■", "on hand", "lot 12, 3420 mm"),
        ("○", "to buy", "roll of 10 m"),
    ]


def test_pieces_of_a_range_are_kept_free_and_have_no_box_to_tick(bench: Bench) -> None:
    (view,) = shown(bench, roll_scenes.small_sheet()).sheets
    states = [row.state for row in view.rolls[2].rows]
    assert states == [""] * 8 + ["kept free"] * 6


def test_settings_are_saved_in_whole_millimetres_a_loss_rounded_up(bench: Bench) -> None:
    answer = bench.send("rolls", **{"allowances.cut_loss": "1.2", "allowances.remnant_least": "4 in"})
    assert answer.status_code == 303
    held = bench.desk.open(bench.id).build.allowances
    # By hand: 4 in are 101.6 mm.
    assert (held.cut_loss_mm, held.remnant_least_mm) == (2, 102)


def test_a_loss_that_is_no_length_is_refused_beside_its_field_with_what_was_typed(bench: Bench) -> None:
    fields = {"allowances.cut_loss": "a bit", "allowances.remnant_least": "80"}
    answer = bench.send("rolls", swap=True, **fields)
    tree = page(answer.text)
    assert answer.status_code == 422
    assert "Write a length" in beside(tree, "allowances.cut_loss")
    assert field(tree, "allowances.cut_loss").get("value") == "a bit"
    assert field(tree, "allowances.remnant_least").get("value") == "80"


def test_other_allowances_stay_as_they_are(bench: Bench) -> None:
    before = bench.desk.open(bench.id).build.allowances
    bench.send("rolls", **{"allowances.cut_loss": "3", "allowances.remnant_least": "100"})
    assert bench.desk.open(bench.id).build.allowances == replace(before, cut_loss_mm=3)


def test_a_cutting_loss_is_said_below_the_picture(bench: Bench) -> None:
    measured(bench).send("rolls", **{"allowances.cut_loss": "3", "allowances.remnant_least": "100"})
    assert "3 mm lost at each cut" in words(panel(bench))


def test_the_rail_says_how_many_rolls_are_bought_and_for_how_much(bench: Bench) -> None:
    plan = measured(bench).desk.open(bench.id).plan
    rolls = sum(1 for sheet in plan.rolls for layout in sheet.layouts)
    cost = formats.money(sum((sheet.cost for sheet in plan.rolls), Decimal(0)), "EUR")
    assert f"{rolls} rolls to buy, {cost}" in words(by_id(page(bench.look("rolls").text), "rail-rolls"))


def test_a_name_made_of_markup_stays_text_on_the_roll_plan(named: Callable[[str], Bench]) -> None:
    text = named("&lt;script&gt;1&lt;/script&gt;").look("rolls").text
    assert "<script>1" not in text


def test_the_panel_can_be_swapped_in_alone(bench: Bench) -> None:
    answer = bench.client.get(f"/builds/{bench.id}/rolls", headers=PANEL)
    assert answer.text.lstrip().startswith("<title>Roll plan")
