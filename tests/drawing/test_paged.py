import re

import pytest

from server.drawing.harness import harness_svg
from server.drawing.paged import paged
from server.drawing.standalone import standalone
from tests.drawing import reading, scenes
from tests.drawing.scenes import catalogue

LANDSCAPE = 190 / 277
FORTY = standalone(harness_svg(scenes.plan(scenes.large_build()), catalogue(), href=str))


def windows(pieces):
    """Upper and lower edge of each piece on the drawing. [px]"""
    boxes = [[float(v) for v in re.findall(r'viewBox="([^"]+)"', piece)[1].split()] for piece in pieces]
    return [(y, y + high) for _, y, _, high in boxes]


def test_a_drawing_that_fits_a_page_stays_whole():
    small = standalone(harness_svg(scenes.plan(scenes.small_build()), catalogue(), href=str))
    assert paged(small, 2.0) == (small,)


def test_the_pieces_follow_one_another_without_gap_and_end_with_the_drawing():
    edges = windows(paged(FORTY, LANDSCAPE))
    tall = float(reading.parse(FORTY).get("height"))
    assert [edges[0][0], *(top for top, _ in edges[1:])] == pytest.approx([0, *(bottom for _, bottom in edges[:-1])])
    assert edges[-1][1] == pytest.approx(tall, abs=0.02)


def test_no_piece_is_higher_than_its_page():
    for piece in paged(FORTY, LANDSCAPE):
        root = reading.parse(piece)
        assert float(root.get("height")) <= float(root.get("width")) * LANDSCAPE + 0.01


def smallest_pt(pieces):
    # By hand: 277 mm of an A4 sheet are 785.2 pt, across which the whole width of the drawing lies.
    roots = [reading.parse(piece) for piece in pieces]
    return min(
        float(t.get("font-size", "11")) * 785.2 / float(root.get("width"))
        for root in roots
        for t in root.iter(f"{reading.SVG}text")
    )


def test_forty_runs_that_nearly_all_lie_beside_one_another_are_read_in_5_pt_on_landscape_a4():
    assert smallest_pt(paged(FORTY, LANDSCAPE)) >= 5


def test_forty_runs_to_parts_level_with_their_sources_are_read_in_6_pt_on_landscape_a4():
    level = [scenes.straight_cpu(n) if n % 2 else scenes.fan_run(n, f"Fan {n}") for n in range(1, 41)]
    drawing = standalone(harness_svg(scenes.plan(level), catalogue(), href=str))
    assert smallest_pt(paged(drawing, LANDSCAPE)) >= 6


def test_no_words_and_no_balloon_are_cut():
    pieces = paged(FORTY, LANDSCAPE)
    cuts = [bottom for _, bottom in windows(pieces)[:-1]]
    lines = [
        (float(t.get("y")) - float(t.get("font-size", "11")), float(t.get("y")) + 2)
        for t in reading.parse(FORTY).iter(f"{reading.SVG}text")
    ]
    assert len(cuts) == 2
    assert [line for line in lines for cut in cuts if line[0] < cut < line[1]] == []


@pytest.mark.parametrize("bad", [("<svg/>", 1.0), (FORTY, 0.0)])
def test_what_cannot_be_set_into_pages_is_refused(bad):
    with pytest.raises(ValueError, match="view box"):
        paged(*bad)
