"""Every housing of the catalogue, cavity by cavity, against tables written by hand.

The tables show the wire side with the latch up, row by row from the top, as a builder reads the moulded numbers. Source
of the two-row order and of 12+4: the power supply design guides' connector tables; direction: common practice, as
``server.domain.housings`` states it. Single rows and pin headers: the order of the published front-panel and fan
pinouts.
"""

import pytest

from server.drawing.face import plug_face_svg
from server.drawing.face_labels import PITCH
from tests.domain.scenes import shipped_catalogue
from tests.drawing import reading, scenes

CATALOGUE = shipped_catalogue()

TABLES = {
    "p42-4": ("4 3", "2 1"),
    "p42-6": ("6 5 4", "3 2 1"),
    "p42-8c": ("8 7 6 5", "4 3 2 1"),
    "p42-8g": ("8 7 6 5", "4 3 2 1"),
    "p42-10": ("10 9 8 7 6", "5 4 3 2 1"),
    "p42-12": ("12 11 10 9 8 7", "6 5 4 3 2 1"),
    "p42-14": ("14 13 12 11 10 9 8", "7 6 5 4 3 2 1"),
    "p42-16": ("16 15 14 13 12 11 10 9", "8 7 6 5 4 3 2 1"),
    "p42-18": ("18 17 16 15 14 13 12 11 10", "9 8 7 6 5 4 3 2 1"),
    "p42-24": ("24 23 22 21 20 19 18 17 16 15 14 13", "12 11 10 9 8 7 6 5 4 3 2 1"),
    "p30-16": ("12 11 10 9 8 7", "6 5 4 3 2 1", "- S4 S3 S2 S1 -"),
    "p508-4": ("1 2 3 4",),
    "p508d-4-right": ("1 2 3 4",),
    "satad-straight": ("1 2 3 4 5",),
    "satad-right": ("1 2 3 4 5",),
    "h254-fan3": ("1 2 3",),
    "h254-fan4": ("1 2 3 4",),
    "h254-light3": ("1 2 3 4",),
    "h254-light4": ("1 2 3 4",),
    "h254-pair": ("1 2",),
    "h254-usb2": ("1 3 5 7 9", "2 4 6 8 10"),
    "h254-audio": ("1 3 5 7 9", "2 4 6 8 10"),
    "satadata": ("1 2 3 4 5 6 7",),
    # Mates with nothing in the catalogue and is never rewired; drawn in the order of a two-row plug.
    "usb3": ("20 19 18 17 16 15 14 13 12 11", "10 9 8 7 6 5 4 3 2 1"),
}
"""Plugs. A mating half meets its plug face to face, so that its wire side is the mirror image of the plug's."""


def table_of(housing: str) -> tuple[tuple[str, ...], ...]:
    """Rows of cavities from the top, in the order from the left; a dash for a place without a cavity."""
    name = housing.removesuffix("-plug").removesuffix("-mate")
    rows = tuple(tuple(row.split()) for row in TABLES[name])
    return tuple(row[::-1] for row in rows) if housing.endswith("-mate") else rows


def drawn(housing: str, view, *, down: bool = False) -> tuple[tuple[tuple[str, ...], ...], str]:
    """The same table as read off a drawing, with the side of the latch."""
    plug = scenes.plug(("part", "in"), "Part", "inlet", housing, {}, down=down)
    root = reading.parse(plug_face_svg(scenes.run(1, [], [plug], []), 0, False, CATALOGUE, view=view))
    places = reading.cavity_places(root)
    columns = CATALOGUE.housings[housing].columns
    rows: dict[float, dict[int, str]] = {}
    for cavity, (x, y) in places.items():
        column = round(x / PITCH + (columns - 1) / 2)
        assert column not in rows.setdefault(y, {}), f"two cavities at one place: {cavity}"
        rows[y][column] = cavity
    table = tuple(tuple(rows[y].get(i, "-") for i in range(columns)) for y in sorted(rows))
    return table, reading.latch_side(root)


def mirrored(table: tuple[tuple[str, ...], ...]) -> tuple[tuple[str, ...], ...]:
    return tuple(row[::-1] for row in table)


def test_every_housing_of_the_catalogue_has_a_table():
    named = {housing.removesuffix("-plug").removesuffix("-mate") for housing in CATALOGUE.housings}
    assert named == set(TABLES)


@pytest.mark.parametrize("housing", CATALOGUE.housings)
def test_the_wire_side_shows_every_cavity_where_the_table_has_it(housing):
    assert drawn(housing, "wire") == (table_of(housing), CATALOGUE.housings[housing].latch)


@pytest.mark.parametrize("housing", CATALOGUE.housings)
def test_the_mating_side_shows_every_row_from_right_to_left_and_the_latch_where_it_was(housing):
    assert drawn(housing, "mating") == (mirrored(table_of(housing)), CATALOGUE.housings[housing].latch)


@pytest.mark.parametrize("view", ["wire", "mating"])
@pytest.mark.parametrize("housing", CATALOGUE.housings)
def test_a_plug_with_its_latch_down_is_the_same_view_turned_by_half_a_turn(housing, view):
    turned = {"top": "bottom", "bottom": "top", "none": "none"}[CATALOGUE.housings[housing].latch]
    rows = table_of(housing) if view == "wire" else mirrored(table_of(housing))
    assert drawn(housing, view, down=True) == (mirrored(rows)[::-1], turned)


PAIRS = [(p, m) for p in CATALOGUE.housings if (m := p.replace("-plug", "-mate")) in CATALOGUE.housings and m != p]


@pytest.mark.parametrize(("plug", "mate"), PAIRS)
def test_a_plug_and_its_mating_half_meet_cavity_to_cavity(plug, mate):
    # Looked at from behind the mating half, a plug's mating side has each number where the half's own wire side has it.
    assert drawn(plug, "mating")[0] == drawn(mate, "wire")[0]
