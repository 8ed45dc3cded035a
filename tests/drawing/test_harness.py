from dataclasses import replace
from itertools import pairwise

import pytest

from server.domain.model.plan import Unfed
from server.drawing.harness import TitleBlock, harness_svg
from tests.drawing import reading, scenes
from tests.drawing.scenes import catalogue

BLOCK = TitleBlock("Kestrel <walnut> & more " * 4, "14", "2026-11-24", "harness", 7, 62)


def draw(plan, **more):
    return reading.parse(harness_svg(plan, catalogue(), href=lambda n: f"/runs/{n}?a=1&b=2", **more))


def links(root):
    return list(root.iter(f"{reading.SVG}a"))


@pytest.mark.parametrize("runs", [scenes.small_build(), scenes.large_build(), []], ids=["small", "forty", "none"])
def test_the_harness_has_one_link_per_run(runs):
    found = links(draw(scenes.plan(runs)))
    assert sorted(a.get("href", "") for a in found) == sorted(f"/runs/{r.number}?a=1&b=2" for r in runs)


@pytest.mark.parametrize(
    ("run", "name"),
    [
        (scenes.straight_cpu(3), "Run 3, CPU 8, 540 mm, 8 wires"),
        (scenes.fan_run(7), "Run 7, fan lead 4, 250 to 420 mm, not measured, 4 wires"),
    ],
    ids=["measured", "range"],
)
def test_a_run_is_named_with_number_length_and_wires(run, name):
    assert [a.get("aria-label") for a in links(draw(scenes.plan([run])))] == [name]


def test_links_are_not_hidden_from_assistive_tools_by_an_image_role():
    assert draw(scenes.plan([])).get("role") == "group"


def test_every_wire_of_every_run_is_drawn_once():
    runs = scenes.small_build()
    found = [label for e in draw(scenes.plan(runs)).iter() for label in e.get("data-wires", "").split()]
    assert sorted(found) == sorted(w.label for r in runs for w in r.wires)


def test_a_ribbon_has_as_many_strokes_as_its_labels_say():
    strokes = [
        (e.get("d", "").count("M"), len(e.get("data-wires", "").split()))
        for e in draw(scenes.plan(scenes.large_build())).iter()
        if e.get("data-wires")
    ]
    assert [drawn for drawn, _ in strokes] == [told for _, told in strokes]


def test_the_open_run_alone_is_marked_as_the_current_one():
    found = links(draw(scenes.plan(scenes.small_build()), selected=3))
    assert [a.get("data-run") for a in found if a.get("aria-current")] == ["3"]


@pytest.mark.parametrize("metered", [True, False])
def test_a_supply_that_nobody_metered_says_so_in_words(metered):
    said = reading.words(draw(scenes.plan(scenes.small_build(), metered=metered)))
    assert ("NOT METERED" in said) is not metered


def test_free_ports_are_shown_with_the_word_free():
    assert "F0 peripheral 6, free" in reading.words(draw(scenes.plan(scenes.small_build())))


def test_an_inlet_that_no_run_feeds_is_drawn_with_its_reason():
    unfed = Unfed("gpu2", "in", "Second card", "CPU power, 8 positions", "no port left")
    assert "not fed: no port left" in reading.words(draw(scenes.plan(scenes.small_build(), unfed=[unfed])))


def test_only_a_run_that_is_not_measured_is_dashed():
    root = draw(scenes.plan(scenes.small_build()))
    dashed = {a.get("data-run") for a in links(root) if any(e.get("stroke-dasharray") for e in a.iter())}
    assert dashed == {"7"}


def test_names_of_any_script_are_shown_as_typed():
    root = draw(scenes.plan([scenes.fan_run(7, '<b>&"מאוורר')]))
    assert '<b>&"מאוורר' in reading.words(root)


@pytest.mark.parametrize("runs", [scenes.small_build(), scenes.large_build(), []], ids=["small", "forty", "none"])
def test_nothing_lies_outside_the_harness_drawing(runs):
    unfed = [Unfed("x", "in", "Lost part " * 9, "unheard-of inlet", "nothing gives its nets " * 6)]
    root = draw(scenes.plan(runs, metered=False, unfed=unfed), title_block=BLOCK, selected=1)
    assert reading.outside(root) == []


def test_ids_of_the_harness_are_unique():
    found = reading.ids(draw(scenes.plan(scenes.large_build())))
    assert len(found) == len(set(found))


def test_upright_stretches_of_different_runs_do_not_lie_on_one_another():
    root = draw(scenes.plan(scenes.large_build()))
    spans = []
    for link in links(root):
        for path in link.iter(f"{reading.SVG}path"):
            if path.get("class") != "outline":
                continue
            ways = [reading.path_points(f"M{d}") for d in path.get("d", "").split("M") if d]
            spans += [
                (link.get("data-run"), a[0], min(a[1], b[1]), max(a[1], b[1]))
                for way in ways
                for a, b in pairwise(way)
                if a[0] == b[0] and a[0] < 700.0
            ]
    # Two wires of different runs upright at one place within 1 px would be one line to the eye.
    clashes = [
        (p, q) for i, p in enumerate(spans) for q in spans[i + 1 :]
        if p[0] != q[0] and abs(p[1] - q[1]) < 1.0 and min(p[3], q[3]) - max(p[2], q[2]) > 1.0
    ]  # fmt: skip
    assert spans
    assert clashes == []


def test_the_same_plan_gives_the_same_drawing():
    plan = scenes.plan(scenes.small_build())
    assert harness_svg(plan, catalogue(), href=str) == harness_svg(plan, catalogue(), href=str)


def test_the_title_block_carries_its_fields():
    said = reading.words(draw(scenes.plan([]), title_block=TitleBlock("Kestrel", "14", "2026-11-24", "harness", 7, 62)))
    assert {"Kestrel", "14", "2026-11-24", "harness", "7", "62"} <= set(said.split("\n"))


def fans(count):
    return [scenes.fan_run(number, f"Fan {number}") for number in range(1, count + 1)]


def headings(root):
    return ["".join(t.itertext()) for t in root.iter(f"{reading.SVG}text") if t.get("class") == "heading"]


def test_small_parts_of_one_use_stand_as_lines_in_one_box():
    root = draw(scenes.plan(fans(5)))
    assert headings(root).count("Fans") == 1
    assert {f"Fan {number}" for number in range(1, 6)} <= set(reading.words(root).split("\n"))


def test_a_single_small_part_keeps_a_box_of_its_own_name():
    found = headings(draw(scenes.plan(fans(1))))
    assert ("Fans" in found, "Fan 1" in found) == (False, True)


def test_each_further_fan_adds_at_most_one_line_to_the_drawing():
    tall = [float(draw(scenes.plan(fans(count))).get("height")) for count in (10, 20)]
    # A line is a balloon above its ribbon (25 px), half a small face below, and a gap: 60 px are generous for one run.
    assert tall[1] - tall[0] <= 10 * 60


def test_every_run_has_a_wide_hit_area_under_its_wires():
    for link in links(draw(scenes.plan(scenes.small_build()))):
        hit = next(p for p in link.iter(f"{reading.SVG}path") if p.get("class") == "hit")
        assert float(hit.get("stroke-width")) >= 10


@pytest.mark.parametrize("runs", [scenes.small_build(), scenes.large_build()], ids=["small", "forty"])
def test_names_of_sockets_do_not_lie_on_one_another(runs):
    boxes = []
    for text in draw(scenes.plan(runs)).iter(f"{reading.SVG}text"):
        (a, b, _), (c, d, _) = reading.text_points(text)
        boxes.append((min(a, c), min(b, d), max(a, c), max(b, d), "".join(text.itertext())))
    clashes = [
        (p[4], q[4]) for i, p in enumerate(boxes) for q in boxes[i + 1 :]
        if min(p[2], q[2]) - max(p[0], q[0]) > 1 and min(p[3], q[3]) - max(p[1], q[1]) > 1
    ]  # fmt: skip
    assert clashes == []


def test_a_fork_leaves_its_source_once_and_reaches_every_plug():
    run = scenes.fork_run(5)
    root = draw(scenes.plan([run]))
    found = [label for e in root.iter() for label in e.get("data-wires", "").split()]
    balloons = [e for e in root.iter(f"{reading.SVG}text") if e.get("class") == "balloon-number"]
    assert (sorted(found), len(balloons)) == (sorted(w.label for w in run.wires), 1)


def test_the_wires_of_a_fork_lie_side_by_side_at_their_source():
    root = draw(scenes.plan([scenes.fork_run(5)]))
    starts = [
        float(way.split()[1].split("H")[0].split("C")[0])
        for e in root.iter(f"{reading.SVG}path")
        if e.get("data-wires")
        for way in e.get("d", "").split("M")[1:]
    ]
    assert len({round(y, 2) for y in starts}) == len(starts)


def test_nothing_lies_outside_the_drawing_of_a_fork():
    assert reading.outside(draw(scenes.plan([*scenes.small_build(), scenes.fork_run(5)]))) == []


def cards(number):
    return f"/cards#card-{number}"


def card_links(root):
    return [a for a in links(root) if "card-link" in a.get("class", "").split()]


@pytest.mark.parametrize("runs", [scenes.small_build(), scenes.large_build()], ids=["small", "forty"])
def test_every_run_has_one_link_to_itself_and_one_to_its_card(runs):
    root = draw(scenes.plan(runs), card_href=cards)
    assert sorted(a.get("href") for a in card_links(root)) == sorted(cards(r.number) for r in runs)
    assert len(links(root)) == 2 * len(runs)


def test_no_link_lies_within_another():
    root = draw(scenes.plan(scenes.small_build()), card_href=cards)
    assert [inner for a in links(root) for inner in a.iter(f"{reading.SVG}a") if inner is not a] == []


def test_a_run_that_has_lost_its_source_still_leads_to_its_card():
    lost = replace(scenes.fan_run(7), sources=(), wires=())
    assert [a.get("href") for a in card_links(draw(scenes.plan([lost]), card_href=cards))] == [cards(7)]


def test_without_cards_the_length_is_no_link():
    assert card_links(draw(scenes.plan(scenes.small_build()))) == []


def test_how_far_the_work_is_stands_behind_the_length():
    root = draw(scenes.plan([scenes.straight_cpu(3)]), card_href=cards, progress={3: "5 of 8 cut"})
    assert "540 mm · 8 wires · 5 of 8 cut" in [box[4] for box in reading.text_boxes(root)]


def test_the_drawing_says_what_a_dashed_line_means():
    assert "not measured: its range, if one is known" in reading.words(draw(scenes.plan([])))


def test_no_two_words_of_forty_runs_with_their_progress_lie_on_one_another():
    runs = scenes.large_build()
    root = draw(
        scenes.plan(runs), card_href=cards, progress={r.number: "12 of 24 cut" for r in runs}, title_block=BLOCK
    )
    boxes = reading.text_boxes(root)
    clashes = [
        (p[4], q[4]) for i, p in enumerate(boxes) for q in boxes[i + 1 :]
        if min(p[2], q[2]) - max(p[0], q[0]) > 1 and min(p[3], q[3]) - max(p[1], q[1]) > 1
    ]  # fmt: skip
    assert (len(boxes) > 150, clashes) == (True, [])


def test_the_words_beside_the_balloons_lie_left_of_every_upright_stretch():
    runs = scenes.large_build()
    root = draw(scenes.plan(runs), card_href=cards, progress={r.number: "12 of 24 cut" for r in runs})
    right = max(box[2] for box in reading.text_boxes(root) if "wires" in box[4])
    upright = [
        a[0]
        for path in root.iter(f"{reading.SVG}path")
        if path.get("class") == "outline"
        for way in path.get("d", "").split("M")[1:]
        for a, b in pairwise(reading.path_points(f"M{way}"))
        if a[0] == b[0]
    ]
    assert right < min(upright)
