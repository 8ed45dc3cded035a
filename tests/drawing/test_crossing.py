from dataclasses import replace
from itertools import combinations, pairwise
from pathlib import Path

import pytest

from server.documents.build_json import read_build
from server.domain.model.build import Forbidden, Pinned, PlugRef, Run
from server.domain.model.plan import Joint, PlainWiring
from server.domain.plan import plan
from server.drawing.crossing import crossing_svg, crossing_words
from tests.domain.random_pairs import forks
from tests.domain.scenes import shipped_catalogue
from tests.drawing import reading, scenes
from tests.drawing.scenes import catalogue

# The CPU cable of the scenes joins equal cavities. Turned latch down it lies straight; with both latches up its four
# columns are reversed: by hand, 4*3/2 pairs of columns times 2*2 wires each are 24 crossings.
STRAIGHT = scenes.straight_cpu(3)
SAME = {str(i): str(i) for i in range(1, 9)}
RUNS = {
    "straight": STRAIGHT,
    "main": scenes.main_run(),
    "graphics": scenes.graphics_run(),
    "chain": scenes.chain_run(),
    "segments": scenes.segment_run(),
    "fork": scenes.fork_run(),
    "fan": scenes.fan_run(place='<b>&"מאוורר\x00\u202e'),
}


def draw(run, **more):
    return reading.parse(crossing_svg(run, catalogue(), **more))


def ways(root):
    return [g for g in root.iter(f"{reading.SVG}g") if g.get("class") == "way"]


def with_plain(run, source_of=SAME, **more):
    links = tuple((0, source_of[w.target.cavity], w.target.cavity) for w in run.wires)
    return replace(run, plain=PlainWiring(**({"doubles": 0, "crossings": 24, "links": links, "order": (0,)} | more)))


def heights(way):
    """Where a wire leaves its label at the source and where it reaches that at the part, as drawn."""
    path = next(p for p in way.iter(f"{reading.SVG}path") if p.get("data-wire"))
    points = reading.path_points(path.get("d", ""))
    return points[1], points[2]


def drawn_crossings(root):
    """Pairs whose order from top to bottom is reversed, from the drawn ends of the slanting stretches."""
    ends = {way.get("data-label", ""): heights(way) for way in ways(root)}
    return sum((a[0][1] - b[0][1]) * (a[1][1] - b[1][1]) < 0 for a, b in combinations(ends.values(), 2))


def crossed_scene():
    """Equal cavities joined with both latches up, with the count worked by hand above."""
    return scenes.run(
        3, [replace(STRAIGHT.sources[0], latch_down=False)], list(STRAIGHT.ends), list(STRAIGHT.wires), crossings=24
    )


@pytest.mark.parametrize(("run", "crossings"), [(STRAIGHT, 0), (crossed_scene(), 24)], ids=["latch-down", "latch-up"])
def test_as_many_crossings_are_drawn_as_the_hand_count_says(run, crossings):
    root = draw(run)
    marked = [g for g in root.iter(f"{reading.SVG}g") if g.get("data-crossing")]
    assert (drawn_crossings(root), len(marked)) == (crossings, crossings)


@pytest.mark.parametrize("name", ["compact", "large"])
def test_every_run_of_an_example_shows_the_crossings_that_its_plan_counts(name):
    # Property: the solver counts pairs of columns, the picture is counted from the ends of its slanting lines.
    example = Path(__file__).parents[2] / "seed_data" / "examples" / f"{name}.json"
    shipped = shipped_catalogue()
    counted, drawn = [], []
    for run in plan(read_build(example.read_bytes()), shipped).runs:
        if run.wires and run.plain:
            both = [reading.parse(crossing_svg(run, shipped, plain=plain)) for plain in (True, False)]
            drawn.append([drawn_crossings(root) for root in both])
            counted.append([run.plain.crossings, run.crossings])
    assert sum(map(sum, counted)) > 0
    assert drawn == counted


def test_every_random_fork_shows_the_crossings_that_its_plan_counts():
    # Property: the solver counts pairs of columns of one wide plug, the picture is counted from its slanting lines.
    counted, drawn = [], []
    for build, known in forks(shipped_catalogue(), 25, 3):
        run = plan(build, known).runs[0]
        both = [reading.parse(crossing_svg(run, known, plain=plain)) for plain in (True, False)]
        drawn.append([drawn_crossings(root) for root in both])
        counted.append([run.plain.crossings, run.crossings])
    assert sum(map(sum, counted)) > 0
    assert drawn == counted


def test_every_plug_of_a_fork_is_drawn_and_named():
    root = draw(scenes.fork_run())
    shells = [r for r in root.iter(f"{reading.SVG}rect") if r.get("data-body")]
    named = [t for t in reading.words(root).split("\n") if t.startswith(("A: ", "B: "))]
    assert (len(shells), len(named)) == (3, 2)


def test_a_wire_joined_behind_the_plug_is_not_drawn_in_its_contact():
    joint = Joint("splice", ("3-8", "3-4"), True, 0, "8", "", 40.0, "small")
    wires = [
        replace(w, source=replace(w.source, cavity="8", crimped=False)) if w.label == "3-4" else w
        for w in STRAIGHT.wires
    ]
    root = draw(scenes.run(3, list(STRAIGHT.sources), list(STRAIGHT.ends), wires, joints=(joint,)))
    way = next(w for w in ways(root) if w.get("data-label") == "3-4")
    assert (way.get("data-joined"), "joined to wire 3-8 behind cavity 8" in way.get("aria-label")) == ("3-8", True)
    source = [g.get("data-state") for g in root.iter(f"{reading.SVG}g") if g.get("data-cavity") == "8"]
    assert "double" not in source


def test_the_plain_wiring_is_drawn_latch_up_whatever_the_plan_does():
    root = draw(with_plain(STRAIGHT), plain=True)
    assert drawn_crossings(root) == 24


def test_every_mark_of_a_crossing_lies_on_both_of_its_wires():
    root = draw(crossed_scene())
    ends = {way.get("data-label", ""): heights(way) for way in ways(root)}
    for group in root.iter(f"{reading.SVG}g"):
        if group.get("data-crossing"):
            circle = group.find(f"{reading.SVG}circle")
            x, y = float(circle.get("cx")), float(circle.get("cy"))
            for label in group.get("data-crossing").split():
                (x1, y1), (x2, y2) = ends[label]
                assert y1 + (x - x1) / (x2 - x1) * (y2 - y1) == pytest.approx(y, abs=0.05)


@pytest.mark.parametrize("run", RUNS.values(), ids=RUNS.keys())
def test_every_wire_of_the_first_stretch_is_drawn_once(run):
    first = [w.label for w in run.wires if not w.source_at_end]
    assert [way.get("data-label") for way in ways(draw(run))] == first


@pytest.mark.parametrize("run", RUNS.values(), ids=RUNS.keys())
def test_every_wire_can_be_tabbed_to_and_says_what_it_is(run):
    found = [(way.get("tabindex"), way.get("role"), way.get("aria-label", "")) for way in ways(draw(run))]
    wires = [w for w in run.wires if not w.source_at_end]
    assert [(tab, role) for tab, role, _ in found] == [("0", "img")] * len(wires)
    assert all(f"Wire {w.label}, {w.net}" in said for w, (_, _, said) in zip(wires, found, strict=True))


@pytest.mark.parametrize("run", RUNS.values(), ids=RUNS.keys())
def test_every_wire_carries_its_label_at_both_ends(run):
    for way in ways(draw(run)):
        words = reading.words(way).split("\n")
        assert words == [f"{way.get('data-label')} {way.get('data-net')}"] * 2


@pytest.mark.parametrize("run", RUNS.values(), ids=RUNS.keys())
def test_nothing_lies_outside_the_crossing_drawing(run):
    assert reading.outside(draw(run)) == []


@pytest.mark.parametrize("run", RUNS.values(), ids=RUNS.keys())
def test_no_two_labels_lie_on_one_another(run):
    # A label is 12 px high.
    starts = sorted(heights(way)[0][1] for way in ways(draw(run)))
    ends = sorted(heights(way)[1][1] for way in ways(draw(run)))
    for found in (starts, ends):
        assert all(b - a >= 12 for a, b in pairwise(found))


def test_two_nets_never_share_a_line_pattern():
    def pattern(way):
        paths = list(way.iter(f"{reading.SVG}path"))
        return next((p.get("stroke-dasharray") for p in paths if p.get("stroke-dasharray")), "whole")

    for run in RUNS.values():
        found = {(way.get("data-net"), pattern(way)) for way in ways(draw(run))}
        assert len(found) == len({net for net, _ in found}) == len({dash for _, dash in found})


def test_a_source_plug_is_mirrored_with_its_latch_up_and_not_with_it_down():
    def column(root, cavity):
        way = next(w for w in ways(root) if w.get("data-source") == f"0/{cavity}")
        return heights(way)[0][1]

    # By hand: seen from its wire side, cavity 1 lies right of cavity 4; facing the part it lies left, which is above.
    assert column(draw(crossed_scene()), "1") < column(draw(crossed_scene()), "4")
    assert column(draw(STRAIGHT), "1") > column(draw(STRAIGHT), "4")


def test_the_latch_is_named_at_both_ends():
    words = reading.words(draw(STRAIGHT)).split("\n")
    assert ("latch down" in words, "latch up" in words) == (True, True)


def test_a_contact_with_two_wires_is_marked_at_the_end_where_they_meet():
    root = draw(scenes.main_run())
    doubled = [g.get("data-cavity") for g in root.iter(f"{reading.SVG}g") if g.get("data-state") == "double"]
    assert doubled == ["13"]


def test_pinned_wires_and_forbidden_cavities_are_marked():
    run = scenes.main_run()
    entered = Run(
        run.id, 1, (PlugRef("supply", "M1"),), (PlugRef("board", "main"),),
        pins=(Pinned("1", "supply", "M1", "1"),), forbidden=(Forbidden("supply", "M1", "17"),),
    )  # fmt: skip
    root = draw(run, entered=entered)
    pinned = [w.get("data-end") for w in ways(root) if any(g.get("data-mark") for g in w.iter())]
    shut = [g.get("data-cavity") for g in root.iter(f"{reading.SVG}g") if g.get("data-state") == "forbidden"]
    assert (pinned, shut) == (["1"], ["17"])


def test_a_bridge_at_the_part_end_is_drawn_between_its_two_cavities():
    bridge = replace(scenes.wire("3-02", (0, "1"), (0, "2"), "COM", "BK"), source_at_end=True)
    run = replace(STRAIGHT, wires=(*(w for w in STRAIGHT.wires if w.target.cavity != "2"), bridge))
    found = next(w for w in ways(draw(run)) if w.get("data-label") == "3-02")
    assert "bridge from cavity 1 to cavity 2" in found.get("aria-label", "")


def test_counts_stand_in_words_above_the_drawing():
    assert "As planned: 24 crossings, no doubles" in reading.words(draw(crossed_scene()))


@pytest.mark.parametrize(
    ("crossings", "doubles", "words"),
    [
        (0, 0, "no crossings, no doubles"),
        (1, 1, "1 crossing, 1 double"),
        (9, 2, "9 crossings, 2 doubles"),
    ],
)
def test_counts_are_worded_in_the_singular_and_the_plural(crossings, doubles, words):
    assert crossing_words(crossings, doubles) == words


def test_hostile_names_stay_words():
    text = crossing_svg(scenes.fan_run(place="<script>\"&'\u202e"), catalogue())
    reading.parse(text)
    assert "<script" not in text
    assert "\u202e" not in text


def test_ids_of_both_diagrams_are_unique_on_one_page():
    run = with_plain(STRAIGHT)
    found = reading.ids(draw(run)) + reading.ids(draw(run, plain=True))
    assert len(found) == len(set(found))


def test_no_element_carries_a_style_attribute_because_the_page_forbids_it():
    assert [e.tag for e in draw(scenes.main_run()).iter() if e.get("style")] == []


def test_a_run_without_a_plain_wiring_refuses_to_draw_one():
    with pytest.raises(ValueError, match="no plain wiring"):
        crossing_svg(STRAIGHT, catalogue(), plain=True)


def test_a_run_without_wires_says_so():
    assert "no wires to draw" in reading.words(draw(replace(STRAIGHT, wires=())))
