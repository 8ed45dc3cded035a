"""Light faces of the bench screen, cavity by cavity. Expected values: the tables by hand of ``test_face_tables``."""

import re

import pytest

from server.drawing.fill import light_face
from tests.drawing import scenes
from tests.drawing.test_face_tables import CATALOGUE, TABLES, table_of

BOX = re.compile(r'<g data-cavity="(\w+)"><rect x="([\d.]+)" y="([\d.]+)" width="\d+" height="\d+"/>')


def rows_of(svg: str) -> list[list[str]]:
    """Cavities row by row from the top, from the left, as the boxes lie."""
    rows: dict[float, list[tuple[float, str]]] = {}
    for name, x, y in BOX.findall(svg):
        rows.setdefault(float(y), []).append((float(x), name))
    return [[name for _, name in sorted(rows[y])] for y in sorted(rows)]


@pytest.mark.parametrize("down", [False, True], ids=["latch up", "latch down"])
@pytest.mark.parametrize(
    "housing", [name for name in CATALOGUE.housings if name.removesuffix("-plug").removesuffix("-mate") in TABLES]
)
def test_a_light_face_lies_as_its_table_says_and_half_a_turn_round_with_the_latch_down(
    housing: str, down: bool
) -> None:
    rows = [[cell for cell in row if cell != "-"] for row in table_of(housing)]
    plug = scenes.plug(("part", "in"), "Part", "inlet", housing, {}, down=down)
    svg = light_face(scenes.run(1, [], [plug], []), 0, False, CATALOGUE)
    assert rows_of(svg) == ([row[::-1] for row in rows[::-1]] if down else rows)
    latch = CATALOGUE.housings[housing].latch
    side = {"top": "bottom", "bottom": "top"}.get(latch, "") if down else latch
    assert (f'data-latch="{side}"' in svg) == (latch != "none")
    assert "WIRE SIDE" in svg
