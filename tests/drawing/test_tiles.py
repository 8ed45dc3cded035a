"""A tall drawing cut into strips for paper: every part of it is on one of them, and each is as large as its sheet."""

import re
from itertools import pairwise

import pytest

from server.drawing.tiles import OVERLAP, size_of, strips

TALL = '<svg viewBox="0 0 100 300" width="100" height="300"><text width="7">a</text></svg>'


def views(found: tuple[str, ...]) -> list[tuple[float, float]]:
    """Top and bottom of what each shows."""
    boxes = [[float(n) for n in re.search(r'viewBox="([^"]*)"', svg)[1].split()] for svg in found]
    return [(top, top + high) for _, top, _, high in boxes]


def test_a_drawing_that_fits_is_one_strip_of_its_own_shape():
    # By hand: 100 by 300 on a sheet 50 mm wide is 150 mm high, which 160 mm hold.
    (only,) = strips(TALL, 50, 160)
    assert views((only,)) == [(0, 300)]
    assert 'width="50.00mm" height="150.00mm"' in only


def test_strips_follow_each_other_from_top_to_bottom_and_overlap():
    # By hand: a sheet 50 mm wide and 60 mm high shows 120 of 300, so two strips hold 240 at most and three are taken.
    found = views(strips(TALL, 50, 60))
    assert len(found) == 3
    assert (found[0][0], found[-1][1]) == (0, pytest.approx(300, abs=0.05))
    for before, after in pairwise(found):
        assert before[1] - after[0] == pytest.approx(120 * OVERLAP, abs=0.05)
    assert all(bottom - top <= 120.001 for top, bottom in found)


def test_sizes_of_what_is_inside_stay():
    assert all('<text width="7">' in svg for svg in strips(TALL, 50, 60))


def test_a_drawing_without_a_view_box_is_refused():
    with pytest.raises(ValueError, match="view box"):
        size_of("<svg></svg>")
