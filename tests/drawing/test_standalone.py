import math
import re

import pytest

from server.drawing import svg
from server.drawing.crossing import crossing_svg
from server.drawing.face import plug_face_svg
from server.drawing.harness import harness_svg
from server.drawing.outlines import outline
from server.drawing.ribbon import ribbon_end_svg, ribbon_svg
from server.drawing.rolls import roll_svgs
from server.drawing.stacked import stacked
from server.drawing.standalone import standalone
from tests.drawing import reading, roll_scenes, scenes
from tests.drawing.scenes import catalogue

SHEET = roll_scenes.sheet(roll_scenes.layout("roll", 20_000, roll_scenes.numbered(1, 3, 500)))
DRAWINGS = {
    "face": plug_face_svg(scenes.main_run(), 0, False, catalogue()),
    "bare-face": plug_face_svg(scenes.straight_cpu(), 0, True, catalogue(), captions=False, view="mating"),
    "crossing": crossing_svg(scenes.main_run(), catalogue()),
    "ribbon": ribbon_svg(scenes.main_run(), catalogue()),
    "small-ribbon": ribbon_svg(scenes.tapped_run(), catalogue(), small=True),
    "dashed-ribbon": ribbon_svg(scenes.fan_run(), catalogue()),
    "ribbon-end": ribbon_end_svg(scenes.main_run(), catalogue()),
    "harness": harness_svg(scenes.plan(scenes.small_build()), catalogue(), href=lambda n: f"/runs/{n}", selected=1),
    "rolls": stacked("rolls-1", "Rolls", roll_svgs(SHEET, catalogue(), "roll-1")),
}


@pytest.fixture(params=DRAWINGS.values(), ids=DRAWINGS.keys())
def drawing(request):
    return request.param


def alone(text):
    return reading.parse(standalone(text))


def shapes(root):
    kinds = {"rect", "line", "path", "circle", "text"}
    patterns = {id(e) for p in root.iter(f"{reading.SVG}pattern") for e in p.iter()}
    return [e for e in root.iter() if e.tag.removeprefix(reading.SVG) in kinds and id(e) not in patterns]


def test_every_shape_has_a_paint_of_its_own(drawing):
    # Property: without a style sheet a shape with neither fill nor stroke is a black blot.
    bare = [e.attrib for e in shapes(alone(drawing)) if "fill" not in e.attrib and "stroke" not in e.attrib]
    assert bare == []


def test_nothing_is_left_that_only_a_page_understands(drawing):
    text = standalone(drawing)
    assert re.findall(r"var\(|@media|<script|<a |hx-|tabindex|currentColor|style=", text) == []
    assert {e.get("class") for e in reading.parse(text).iter() if e.get("class")} <= {"drawing " + k for k in ALL_KINDS}


ALL_KINDS = {"face", "crossing", "ribbon", "ribbon-small", "ribbon-end", "harness", "stacked"}


def test_every_word_of_the_drawing_is_still_there(drawing):
    before, after = reading.words(reading.parse(drawing)).split("\n"), reading.words(alone(drawing)).split("\n")
    # A word over lines has a white copy below it; a title within words is told on hovering only.
    titles = {t.text for t in reading.parse(drawing).iter(f"{reading.SVG}title")}
    shown = {word for word in after if word}
    lost = [w for w in before if w and w not in shown and not any(w.startswith(t or "-") for t in titles)]
    assert lost == []


def test_wires_keep_their_real_colours(drawing):
    before = {p.get("id"): p.find(f"{reading.SVG}rect").get("fill") for p in reading.parse(drawing).iter()
              if p.tag.endswith("pattern") and p.find(f"{reading.SVG}rect") is not None}  # fmt: skip
    root = alone(drawing)
    after = {p.get("id"): p.find(f"{reading.SVG}rect").get("fill") for p in root.iter()
             if p.tag.endswith("pattern") and p.find(f"{reading.SVG}rect") is not None}  # fmt: skip
    assert {k: v for k, v in before.items() if v} == {k: v for k, v in after.items() if before.get(k)}


def test_every_hatch_that_a_shape_is_filled_with_is_defined(drawing):
    root = alone(drawing)
    used = {m for e in root.iter() for m in re.findall(r"url\(#([^)]+)\)", e.get("fill", "") + e.get("stroke", ""))}
    assert used <= set(reading.ids(root))


def test_a_hatch_is_never_a_stroke_and_never_has_a_second_choice_behind_it(drawing):
    # Not every viewer strokes with a pattern or knows a fallback paint.
    paints = [(e.get("fill", ""), e.get("stroke", "")) for e in alone(drawing).iter()]
    assert [p for p in paints if "url(" in p[1] or re.search(r"url\(#[^)]*\)\s*\S", p[0])] == []


def test_words_over_lines_get_a_white_halo_below_them():
    root = alone(DRAWINGS["crossing"])
    halos = [t for t in root.iter(f"{reading.SVG}text") if t.get("stroke") == "#ffffff"]
    over = [t for t in reading.parse(DRAWINGS["crossing"]).iter() if "haloed" in t.get("class", "").split()]
    assert len(halos) == len(over) > 0


def test_the_targets_that_only_a_pointer_needs_are_left_out():
    assert DRAWINGS["harness"].count('class="hit"') == 6
    widths = [float(e.get("stroke-width", 0)) for e in alone(DRAWINGS["harness"]).iter()]
    # The target is the widest of the strokes: the wires' own are below 8 px.
    assert max(widths) < 8


@pytest.mark.parametrize("bad", ["<svg", "<p/>", "<svg/>"])
def test_what_is_no_drawing_is_refused(bad):
    with pytest.raises(ValueError, match=r"well-formed|svg element"):
        standalone(bad)


def test_an_unknown_theme_is_refused():
    with pytest.raises(ValueError, match="theme"):
        standalone(DRAWINGS["face"], theme="night")


def test_ink_is_black_and_the_ground_white():
    text = svg.document("x", "face", (9, 9), ("a", "b"), [svg.text(1, 1, "w"), svg.rect(0, 0, 2, 2, cls="paper edge")])
    root = alone(text)
    word, box = next(root.iter(f"{reading.SVG}text")), next(root.iter(f"{reading.SVG}rect"))
    assert (word.get("fill"), box.get("fill"), box.get("stroke")) == ("#000000", "#ffffff", "#000000")


def area(d):
    """Area within closed straight-sided shapes, by the shoelace formula. [px²]"""
    total = 0.0
    for ring in d.split("z"):
        points = [tuple(map(float, p.split())) for p in re.split("[ML]", ring) if p]
        pairs = zip(points, points[1:] + points[:1], strict=True)
        total += abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in pairs)) / 2
    return total


@pytest.mark.parametrize(
    ("d", "long"),
    [("M0 0H100", 100), ("M0 0h60v40", 100), ("M10 10l30 40", 50), ("M0 0H40M0 20H60", 100)],
    ids=["level", "corner", "slant", "two"],
)
def test_the_outline_of_straight_strokes_covers_length_times_width(d, long):
    # By hand: at a mitred corner what is missing inside equals what is added outside.
    assert area(outline(d, 8)) == pytest.approx(long * 8, abs=0.5)


def test_the_outline_of_a_dashed_stroke_covers_only_its_dashes():
    # By hand: 9 drawn and 5 left out of 100 px are seven whole dashes and 2 px: 65 px, 8 px wide.
    assert area(outline("M0 0H100", 8, (9, 5))) == pytest.approx(65 * 8, abs=0.5)


def test_the_outline_of_a_quarter_circle_is_about_as_large_as_the_ring_it_stands_for():
    # Published: a quarter of a circle of radius 100 is a cubic with handles of 55.23. Its ring is 100 * pi / 2 long.
    d = "M0 100C0 44.77 44.77 0 100 0"
    assert area(outline(d, 10)) == pytest.approx(math.pi / 2 * 100 * 10, rel=0.01)


def test_a_path_with_an_arc_has_no_outline_here():
    with pytest.raises(ValueError, match="outline"):
        outline("M0 0A5 5 0 0 1 9 9", 3)
