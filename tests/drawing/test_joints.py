from dataclasses import replace

import pytest

from server.domain.model.catalogue import Shrink
from server.domain.model.plan import Joint
from server.drawing.joints import joint_groups, joint_svg, joint_words
from tests.drawing import reading, scenes

CATALOGUE = replace(
    scenes.catalogue(),
    shrinks={"small": Shrink("small", "small heat-shrink", 3.2, 1.6, 0.5, 10.0, 12.0, scenes.SOURCE)},
)
SPLICE = Joint("splice", ("3-08", "3-04"), True, 0, "8", "", 40.0, "small")
BRIDGE = Joint("jumper", ("3-04",), False, 0, "4", "8", 0.0, "")
SOLDERED = Joint("solder_on", ("3-07",), True, 0, "7", "", 300.0, "small")
RUN = scenes.straight_cpu(3, joints=(SPLICE, BRIDGE, SOLDERED))


@pytest.mark.parametrize(
    ("joint", "parts"),
    [
        (SPLICE, ("3-08", "3-04", "40 mm from the housing", "small heat-shrink", "cavity 8")),
        (BRIDGE, ("3-04", "from cavity 8 to cavity 4")),
        (SOLDERED, ("3-07", "300 mm from the housing", "small heat-shrink", "cavity 7")),
    ],
    ids=["splice", "bridge", "soldered"],
)
def test_a_joint_is_told_with_its_wires_its_place_and_its_heat_shrink(joint, parts):
    said = joint_words(RUN, (RUN.joints.index(joint),), CATALOGUE)
    assert [part for part in parts if part not in said] == []


@pytest.mark.parametrize("index", [0, 1, 2])
def test_the_picture_of_a_joint_names_its_wires_and_stays_on_its_drawing(index):
    root = reading.parse(joint_svg(RUN, index, CATALOGUE))
    words = reading.words(root).split("\n")
    assert set(RUN.joints[index].labels) <= set(words)
    assert reading.outside(root) == []


def test_ids_of_all_joints_of_a_run_are_unique():
    found = [i for index in range(3) for i in reading.ids(reading.parse(joint_svg(RUN, index, CATALOGUE)))]
    assert len(found) == len(set(found))


def test_wires_soldered_on_alike_are_told_once_together():
    others = [replace(SOLDERED, labels=(f"3-0{c}",), cavity=str(c)) for c in (1, 2)]
    run = replace(RUN, joints=(SPLICE, SOLDERED, *others))
    assert joint_groups(run) == ((0,), (1, 2, 3))
    said = joint_words(run, (1, 2, 3), CATALOGUE)
    assert [label for label in ("3-07", "3-01", "3-02") if label not in said] == []


def test_wires_soldered_on_at_different_places_are_told_apart():
    run = replace(RUN, joints=(SOLDERED, replace(SOLDERED, labels=("3-01",), cavity="1", distance_mm=250.0)))
    assert joint_groups(run) == ((0,), (1,))
