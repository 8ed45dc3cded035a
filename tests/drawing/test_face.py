from dataclasses import replace

import pytest

from server.domain.model.plan import Joint
from server.drawing.face import plug_face_svg
from server.drawing.face_words import face_words
from tests.drawing import reading, scenes
from tests.drawing.scenes import catalogue

HOUSINGS = ["p42-24", "p42-4", "p30-16", "satad-5", "h254-4", "h254-10"]


def bare(housing_id: str, *, down: bool = False):
    plug = scenes.plug(("part", "in"), "Part", "inlet", housing_id, {}, down=down)
    return scenes.run(1, [], [plug], [])


@pytest.mark.parametrize("housing_id", HOUSINGS)
def test_the_mating_side_is_the_mirror_image_of_the_wire_side_cavity_by_cavity(housing_id):
    run = bare(housing_id)
    wire = reading.cavity_places(reading.parse(plug_face_svg(run, 0, False, catalogue())))
    mating = reading.cavity_places(reading.parse(plug_face_svg(run, 0, False, catalogue(), view="mating")))
    # Property: a mirror image changes the sign of every distance from the upright middle line and nothing else.
    assert mating == {cavity: (-x, y) for cavity, (x, y) in wire.items()}
    assert len(wire) == catalogue().housings[housing_id].positions


@pytest.mark.parametrize("housing_id", HOUSINGS)
def test_a_plug_with_its_latch_down_is_turned_by_half_a_turn(housing_id):
    up = reading.cavity_places(reading.parse(plug_face_svg(bare(housing_id), 0, False, catalogue())))
    down = reading.cavity_places(reading.parse(plug_face_svg(bare(housing_id, down=True), 0, False, catalogue())))
    # Property: half a turn changes the sign of both distances from the middle.
    assert down == {cavity: (-x, -y) for cavity, (x, y) in up.items()}


@pytest.mark.parametrize(
    ("down", "side", "word"), [(False, "top", "latch up"), (True, "bottom", "latch down")], ids=["up", "down"]
)
def test_the_latch_is_drawn_and_named_on_its_side(down, side, word):
    root = reading.parse(plug_face_svg(bare("p42-8", down=down), 0, False, catalogue()))
    assert (reading.latch_side(root), word in reading.words(root)) == (side, True)


def test_cavity_1_of_a_two_row_plug_lies_at_the_lower_right_seen_from_the_wire_side():
    # Common practice: the direction that `domain.housings` states, in the row away from the latch.
    places = reading.cavity_places(reading.parse(plug_face_svg(bare("p42-24"), 0, False, catalogue())))
    assert places["1"] == max(places.values())


def test_every_wire_of_a_plug_is_drawn_once():
    run = scenes.main_run()
    both = [
        [
            r.get("data-wire")
            for r in reading.parse(plug_face_svg(run, i, True, catalogue())).iter()
            if r.get("data-wire")
        ]
        for i in (0, 1)
    ]
    assert sorted(both[0] + both[1]) == sorted(w.label for w in run.wires)


def test_a_wire_that_only_passes_an_insulation_displacement_plug_is_drawn_there_once():
    root = reading.parse(plug_face_svg(scenes.chain_run(plugs=3), 1, False, catalogue()))
    assert sorted(r.get("data-wire", "") for r in root.iter() if r.get("data-wire")) == [f"6-{c}" for c in "12345"]


def test_a_contact_with_two_wires_shows_both_labels_and_both_nets():
    root = reading.parse(plug_face_svg(scenes.main_run(), 0, False, catalogue()))
    label = next(g for g in root.iter(f"{reading.SVG}g") if g.get("data-label") == "13")
    assert sorted(reading.words(label).split("\n")) == ["1-13 +3.3V", "1-13S +3.3V_SENSE"]


def test_a_contact_between_two_segments_of_a_chain_shows_both_wires():
    root = reading.parse(plug_face_svg(scenes.segment_run(), 0, False, catalogue()))
    group = next(g for g in root.iter(f"{reading.SVG}g") if g.get("data-cavity") == "3")
    assert [r.get("data-wire") for r in group.iter() if r.get("data-wire")] == ["9A-3", "9B-3"]


def test_states_of_cavities_without_a_wire_are_told_apart_by_a_mark():
    root = reading.parse(plug_face_svg(scenes.main_run(), 0, True, catalogue()))
    states = {g.get("data-cavity"): g.get("data-state") for g in root.iter(f"{reading.SVG}g") if g.get("data-cavity")}
    # By construction of the scene: 16 carries the sense wire, 17 is live without a wire, 18 carries nothing.
    assert (states["16"], states["17"], states["18"]) == ("wire", "open", "not-connected")


def test_a_moulded_plug_is_not_called_unconnected():
    run = replace(bare("satad-5"), kind="sleeved")
    said = reading.words(reading.parse(plug_face_svg(run, 0, False, catalogue())))
    assert ("moulded plug, never rewired" in said, "not connected" in said) == (True, False)


def test_every_used_cavity_carries_its_colour_code():
    said = reading.words(reading.parse(plug_face_svg(scenes.straight_cpu(), 0, False, catalogue()))).split("\n")
    # Four COM in black and four +12V in yellow, all in turquoise sleeve.
    assert (said.count("BK/TQ"), said.count("YE/TQ")) == (4, 4)


@pytest.mark.parametrize("captions", [True, False])
@pytest.mark.parametrize(("view", "other"), [("wire", "mating"), ("mating", "wire")])
def test_the_side_it_is_seen_from_stands_on_every_face_and_the_other_side_on_none(view, other, captions):
    text = plug_face_svg(scenes.straight_cpu(), 0, False, catalogue(), view=view, captions=captions)
    said = reading.words(reading.parse(text)).split("\n")
    assert (f"{view.upper()} SIDE" in said, f"{other.upper()} SIDE" in said) == (True, False)


@pytest.mark.parametrize("captions", [True, False])
def test_the_eye_stands_on_the_side_of_the_wires_for_the_wire_side_and_opposite_for_the_mating_side(captions):
    def eye_before_wires(view):
        root = reading.parse(plug_face_svg(scenes.straight_cpu(), 0, False, catalogue(), view=view, captions=captions))
        sketch = next(g for g in root.iter(f"{reading.SVG}g") if g.get("data-eye") == view)
        pupil = float(next(sketch.iter(f"{reading.SVG}circle")).get("cx"))
        shell = float(next(sketch.iter(f"{reading.SVG}rect")).get("x"))
        return pupil < shell

    # By construction of the sketch: the wires leave the shell to the left.
    assert (eye_before_wires("wire"), eye_before_wires("mating")) == (True, False)


def test_only_the_mating_side_shows_the_rim_of_its_mouth():
    def rims(view):
        root = reading.parse(plug_face_svg(scenes.straight_cpu(), 0, False, catalogue(), view=view))
        return sum(r.get("data-body") == "mouth" for r in root.iter())

    assert (rims("wire"), rims("mating")) == (0, 1)


def test_a_blank_position_is_drawn_closed_and_explained():
    cat = catalogue()
    keyed = replace(cat.housings["h254-10"], key="position 9 is blank")
    cat = replace(cat, housings=cat.housings | {"h254-10": keyed})
    root = reading.parse(plug_face_svg(bare("h254-10"), 0, False, cat))
    states = {g.get("data-cavity"): g.get("data-state") for g in root.iter(f"{reading.SVG}g") if g.get("data-cavity")}
    assert [cavity for cavity, state in states.items() if state == "blank"] == ["9"]
    assert "black: blank position, no hole" in reading.words(root)


def test_cavity_shapes_that_no_table_gives_are_said_to_be_drawn_plain():
    said = reading.words(reading.parse(plug_face_svg(bare("p42-24"), 0, False, catalogue())))
    assert "key: square and chamfered cavities, drawn plain" in said


def test_the_pitch_along_and_between_the_rows_is_dimensioned():
    said = reading.words(reading.parse(plug_face_svg(bare("p30-16"), 0, False, catalogue()))).split("\n")
    # The scene's family: 3.0 mm along the row and between the rows.
    assert ("pitch 3 mm" in said, "3 mm" in said) == (True, True)


def test_the_cap_of_an_insulation_displacement_plug_is_named():
    root = reading.parse(plug_face_svg(scenes.chain_run(plugs=3), 2, False, catalogue()))
    assert "cap: wires end" in reading.words(root)


@pytest.mark.parametrize("name", ["<script>\"&'", "מאוורר קדמי", "🌀 fan 🌀", "ctrl\x00\x1b", "\u202eflipped"])
def test_any_name_gives_well_formed_text_and_no_stray_direction_marks(name):
    run = scenes.fan_run(place=name)
    text = plug_face_svg(run, 0, False, catalogue())
    reading.parse(text)
    assert "<script" not in text
    assert "\u202e" not in text


@pytest.mark.parametrize(
    ("run", "at_source"),
    [
        (scenes.main_run(), False),
        (scenes.main_run(), True),
        (scenes.graphics_run(), False),
        (scenes.chain_run(), False),
        (scenes.fan_run(place="A very long name of a fan " * 4), False),
        (scenes.straight_cpu(), True),
        (scenes.segment_run(), False),
    ],
    ids=["main", "main-source", "graphics", "chain", "long-name", "latch-down", "segments"],
)
@pytest.mark.parametrize("view", ["wire", "mating"])
def test_nothing_lies_outside_the_face_drawing(run, at_source, view):
    assert reading.outside(reading.parse(plug_face_svg(run, 0, at_source, catalogue(), view=view))) == []


def test_ids_of_all_faces_of_a_build_are_unique_on_one_page():
    cat = catalogue()
    found = []
    for run in scenes.small_build():
        for at_source, plugs in ((True, run.sources), (False, run.ends)):
            for i in range(len(plugs)):
                for view in ("wire", "mating"):
                    found += reading.ids(reading.parse(plug_face_svg(run, i, at_source, cat, view=view)))
    assert len(found) == len(set(found))


def test_a_colour_that_the_catalogue_lacks_is_still_named():
    run = scenes.straight_cpu()
    run = replace(run, wires=tuple(replace(w, colour="ZZ", sleeve_colour="") for w in run.wires))
    said = reading.words(reading.parse(plug_face_svg(run, 0, False, catalogue())))
    assert said.split("\n").count("ZZ") == 8


def test_no_element_carries_a_style_attribute_because_the_page_forbids_it():
    root = reading.parse(plug_face_svg(scenes.main_run(), 0, False, catalogue()))
    assert [e.tag for e in root.iter() if e.get("style")] == []


FACES = [
    (scenes.main_run(), 0, False),
    (scenes.main_run(), 1, True),
    (scenes.graphics_run(), 0, False),
    (scenes.chain_run(), 3, False),
    (scenes.straight_cpu(), 0, True),
    (scenes.segment_run(), 0, False),
]


@pytest.mark.parametrize(("run", "index", "at_source"), FACES)
def test_nothing_lies_outside_a_face_without_captions(run, index, at_source):
    text = plug_face_svg(run, index, at_source, catalogue(), captions=False)
    assert reading.outside(reading.parse(text)) == []


def test_a_face_without_captions_leaves_its_words_to_the_page():
    said = reading.words(reading.parse(plug_face_svg(scenes.main_run(), 0, False, catalogue(), captions=False)))
    assert not any(word in said for word in ("seen from", "Board", "not connected", "key"))


def test_the_words_of_a_24_position_face_are_at_least_6_pt_across_an_a5_card():
    # By hand: A5 is 148 mm wide; 8 mm margins on both sides leave 132 mm, which are 374.2 pt.
    root = reading.parse(plug_face_svg(scenes.main_run(), 0, False, catalogue(), captions=False))
    latch = {"latch up", "latch down"}
    sizes = [
        float(t.get("font-size", "11")) for t in root.iter(f"{reading.SVG}text") if "".join(t.itertext()) not in latch
    ]
    assert min(sizes) * 374.2 / float(root.get("width")) >= 6.0


def test_the_words_beside_a_face_name_place_view_and_marks():
    words = face_words(scenes.main_run(), 0, True, catalogue())
    assert (words.title, words.view) == ("split main: M1 main 18", "seen from the wire side")
    assert "circle with a dot: live, left open" in words.marks


def test_a_wire_joined_behind_the_plug_has_no_band_in_the_contact():
    # By hand: 3-4 is soldered to 3-8, which alone is crimped into source cavity 8; at the part both have a contact.
    straight = scenes.straight_cpu(3)
    joint = Joint("splice", ("3-8", "3-4"), True, 0, "8", "", 40.0, "small")
    wires = [
        replace(w, source=replace(w.source, cavity="8", crimped=False)) if w.label == "3-4" else w
        for w in straight.wires
    ]
    run = scenes.run(3, list(straight.sources), list(straight.ends), wires, joints=(joint,))
    drawn = {
        at_source: [e.get("data-wire") for e in reading.parse(plug_face_svg(run, 0, at_source, catalogue())).iter()]
        for at_source in (True, False)
    }
    assert ("3-4" in drawn[True], "3-8" in drawn[True], "3-4" in drawn[False]) == (False, True, True)
    assert "+3-4" in reading.words(reading.parse(plug_face_svg(run, 0, True, catalogue())))
    assert face_words(run, 0, True, catalogue()).marks[0] == "+ label: joined to it behind the plug"


@pytest.mark.parametrize("view", ["wire", "mating"])
def test_the_frame_to_look_at_lies_around_its_own_cavity_and_no_other(view):
    run = scenes.straight_cpu()
    root = reading.parse(plug_face_svg(run, 0, False, catalogue(), view=view, captions=False, look_at=("2", "7")))

    def box(group):
        outer = next(group.iter(f"{reading.SVG}rect"))
        return [float(outer.get(key)) for key in ("x", "y", "width", "height")]

    cavities = {g.get("data-cavity"): box(g) for g in root.iter(f"{reading.SVG}g") if g.get("data-cavity")}
    frames = {g.get("data-look"): box(g) for g in root.iter(f"{reading.SVG}g") if g.get("data-look")}

    def within(inner, outer):
        return all(outer[n] < inner[n] and inner[n] + inner[n + 2] < outer[n] + outer[n + 2] for n in (0, 1))

    held = {name: [cell for cell, place in cavities.items() if within(place, frame)] for name, frame in frames.items()}
    assert held == {"2": ["2"], "7": ["7"]}


def test_what_is_to_be_looked_at_is_spoken_too():
    root = reading.parse(plug_face_svg(scenes.straight_cpu(), 0, False, catalogue(), look_at=("2",)))
    told = next(root.iter(f"{reading.SVG}desc")).text
    assert [part.split(":")[0] for part in told.split("; ") if "look here" in part] == ["2"]
