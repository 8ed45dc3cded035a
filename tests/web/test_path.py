"""The editor of legs and bends: its rows by buttons, what is read, what is said, and paths kept under a name."""

import re
from math import pi

import pytest
from httpx import Response

from server.domain.model.build import Route
from server.domain.model.route import RouteStep
from tests.web.conftest import PANEL, Bench
from tests.web.reading import beside, by_id, field, page, words

CORNER = (("leg", "220", "", ""), ("right", "", "90", "60"), ("leg", "310", "", ""))
STEPS = (RouteStep("leg", 220), RouteStep("right", angle_deg=90, radius_mm=60), RouteStep("leg", 310))
PARTS = ("kind", "length", "angle", "radius")
BLANK = ("leg", "", "", "")


def rows(bench: Bench, *written: tuple[str, ...]) -> dict[str, str]:
    """The table as a form sends it."""
    name = f"runs.{bench.run}.steps"
    cells = {f"{name}.{i}.{part}": text for i, row in enumerate(written) for part, text in zip(PARTS, row, strict=True)}
    return {name: "shown", **cells}


def press(bench: Bench, do: str, *written: tuple[str, ...], swap: bool = False, **more: str) -> Response:
    fields = {"unit": "mm", **rows(bench, *written), **more}
    return bench.send(f"runs/{bench.run}/path", swap=swap, do=do, **fields)


def preview(bench: Bench, *written: tuple[str, ...], unit: str = "mm") -> str:
    return bench.send(f"runs/{bench.run}/path/preview", swap=True, unit=unit, **rows(bench, *written)).text


def written(response: Response, bench: Bench) -> list[tuple[str, ...]]:
    """The rows that the page shows."""
    tree, found = page(response.text), []
    while f"runs.{bench.run}.steps.{len(found)}.kind" in response.text:
        name = f"runs.{bench.run}.steps.{len(found)}"
        kind = field(tree, f"{name}.kind")
        chosen = next(str(option.get("value")) for option in kind.iter("option") if option.get("selected") is not None)
        found.append((chosen, *(str(field(tree, f"{name}.{part}").get("value")) for part in PARTS[1:])))
    return found


def route(bench: Bench) -> Route:
    return bench.desk.open(bench.id).build.runs[0].route


def said(bench: Bench, response: Response) -> str:
    """What the page that a saved form leads to says on top."""
    assert response.status_code == 303, response.status_code
    return words(by_id(page(bench.client.get(response.headers["location"]).text), "status"))


def shown_again(bench: Bench, response: Response) -> list[tuple[str, ...]]:
    assert response.status_code == 200
    return written(response, bench)


# ---- rows ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("do", "expected"),
    [
        ("add", [*CORNER, BLANK]),
        ("insert.1", [CORNER[0], BLANK, CORNER[1], CORNER[2]]),
        ("drop.0", [CORNER[1], CORNER[2]]),
        ("up.2", [CORNER[0], CORNER[2], CORNER[1]]),
        ("down.0", [CORNER[1], CORNER[0], CORNER[2]]),
        ("up.0", list(CORNER)),
        ("drop.77", list(CORNER)),
        ("draw", list(CORNER)),
    ],
)
def test_a_button_changes_the_rows_and_saves_nothing(bench: Bench, do: str, expected: list[tuple[str, ...]]) -> None:
    before = bench.revision
    assert shown_again(bench, press(bench, do, *CORNER)) == expected
    assert bench.revision == before


def test_a_button_keeps_what_is_written_everywhere_else(bench: Bench) -> None:
    name = f"runs.{bench.run}"
    answer = press(
        bench, "add", ("leg", "nonsense", "", ""), **{f"{name}.sources.0.extra": "35", f"{name}.length": "61"}
    )
    tree = page(answer.text)
    assert shown_again(bench, answer)[0] == ("leg", "nonsense", "", "")
    assert field(tree, f"{name}.sources.0.extra").get("value") == "35"
    assert field(tree, f"{name}.length").get("value") == "61"


def test_a_row_that_was_added_has_the_focus(bench: Bench) -> None:
    tree = page(press(bench, "add", *CORNER).text)
    assert field(tree, f"runs.{bench.run}.steps.3.kind").get("autofocus") is not None


# ---- saving ----------------------------------------------------------------------------------------------------


def test_legs_and_bends_are_saved_and_empty_rows_at_the_end_are_passed_over(bench: Bench) -> None:
    press(bench, "steps", *CORNER, BLANK, BLANK)
    assert route(bench).steps == STEPS


def test_steps_take_the_place_of_the_length_and_say_so(bench: Bench) -> None:
    press(bench, "length", **{f"runs.{bench.run}.length": "612"})
    told = said(bench, press(bench, "steps", *CORNER))
    assert "The legs and bends take the place of the measured length." in told
    assert (route(bench).length_mm, route(bench).steps) == (None, STEPS)


def test_a_length_takes_the_place_of_the_steps_and_says_so(bench: Bench) -> None:
    press(bench, "steps", *CORNER)
    told = said(bench, press(bench, "length", *CORNER, **{f"runs.{bench.run}.length": "612"}))
    assert "The measured length takes the place of the legs and bends." in told
    assert (route(bench).length_mm, route(bench).steps) == (612.0, ())


def test_the_range_that_was_expected_stays_beside_the_steps(bench: Bench) -> None:
    name = f"runs.{bench.run}"
    bench.send("routes", unit="mm", **{f"{name}.length": "", f"{name}.low": "500", f"{name}.high": "800"})
    press(bench, "steps", *CORNER)
    assert (route(bench).low_mm, route(bench).high_mm) == (500.0, 800.0)


def test_a_radius_left_empty_is_taken_and_said_with_its_reason(bench: Bench) -> None:
    # 18 AWG plain is 2.4 mm over its insulation; the board's main has twelve columns at 4.2 mm, so that the innermost
    # wire lies 23.1 mm inside: the middle's radius is 10 diameters and 23.1 mm, in whole millimetres 48.
    told = said(bench, press(bench, "steps", ("leg", "220", "", ""), ("right", "", "90", "")))
    assert "Step 2: radius 48 mm taken" in told
    assert "10 times its diameter" in told
    assert route(bench).steps[1].radius_mm == 48.0


def test_reach_and_tail_are_saved_with_the_path_to_the_plug_that_they_stand_beside(bench: Bench) -> None:
    bench.desk.choose_supply(bench.id, bench.revision, "split-18-10")
    name = f"runs.{bench.run}.sources.1"
    press(bench, "steps", *CORNER, **{f"{name}.extra": "35", f"{name}.tail": "60"})
    first, second = bench.desk.open(bench.id).build.runs[0].sources
    assert (second.extra_mm, second.tail_mm) == (35.0, 60.0)
    assert (first.extra_mm, first.tail_mm) == (0.0, None)


def test_inches_are_read_and_shown_and_what_stands_keeps_its_exact_value(bench: Bench) -> None:
    press(bench, "steps", *CORNER)
    shown = written(bench.client.get(f"/builds/{bench.id}/runs/{bench.run}/path?unit=in"), bench)
    bench.client.cookies.clear()
    assert shown[0] == ("leg", "8.66", "", "")
    press(bench, "steps", *shown[:2], ("leg", "10", "", ""), unit="in")
    assert route(bench).steps == (*STEPS[:2], RouteStep("leg", 254.0))


def test_nothing_changed_makes_no_revision(bench: Bench) -> None:
    press(bench, "steps", *CORNER)
    before = bench.revision
    press(bench, "steps", *CORNER, BLANK)
    assert bench.revision == before


# ---- bad input -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("row", "part", "expected"),
    [
        (("leg", "abc", "", ""), "length", "Write a length such as 612 mm"),
        (("leg", "-5", "", ""), "length", "cannot be negative"),
        (("leg", "0", "", ""), "length", "more than zero"),
        (("leg", "220", "90", ""), "angle", "A leg is straight"),
        (("leg", "220", "", "40"), "radius", "A leg has no radius"),
        (("left", "50", "90", "40"), "length", "A bend has an angle and a radius"),
        (("left", "", "", "40"), "angle", "Give its angle."),
        (("left", "", "ninety", "40"), "angle", "Write an angle in degrees"),
        (("left", "", "-90", "40"), "angle", "its side is picked in the list"),
        (("left", "", "361", "40"), "angle", "at most 360 degrees"),
        (("left", "", "90", "wide"), "radius", "Write a length such as"),
        (("left", "", "90", "1001"), "radius", "at most 1000 mm"),
        (("twist", "", "90", ""), "length", "Give its length."),
        (("twist", "80", "-721", ""), "angle", "at most 720 degrees"),
        (("leg", "99999", "", ""), "length", "Longer than 5 m"),
    ],
)
def test_bad_input_is_told_beside_its_field_and_stays_as_typed(
    bench: Bench, row: tuple[str, ...], part: str, expected: str
) -> None:
    before = bench.revision
    answer = press(bench, "steps", CORNER[0], row, CORNER[2])
    assert answer.status_code == 422
    assert expected in beside(page(answer.text), f"runs.{bench.run}.steps.1.{part}")
    assert written(answer, bench)[1] == row
    assert bench.revision == before


def test_an_empty_row_between_others_is_asked_about(bench: Bench) -> None:
    answer = press(bench, "steps", CORNER[0], BLANK, CORNER[2])
    assert "Give its length, or remove the row." in beside(page(answer.text), f"runs.{bench.run}.steps.1.length")


def test_a_run_that_is_not_there_has_no_path(bench: Bench) -> None:
    assert bench.client.get(f"/builds/{bench.id}/runs/r99/path").status_code == 404


# ---- the drawing while it is written ---------------------------------------------------------------------------


def test_the_preview_draws_and_adds_up_without_saving(bench: Bench) -> None:
    before = bench.revision
    text = preview(bench, *CORNER)
    told = words(page(text))
    assert "<svg" in text
    assert f"{530 + 60 * pi / 2:.1f} mm" in told  # 220 + 310 and a quarter turn of radius 60
    assert f"{2 * 23.1 * pi / 2:.1f} mm" in told  # between the outermost wires, 46.2 mm apart
    assert bench.revision == before


def test_the_preview_names_the_rows_that_it_cannot_read(bench: Bench) -> None:
    told = words(page(preview(bench, CORNER[0], ("left", "", "round", ""), CORNER[2])))
    assert "Row 2: Write an angle in degrees, such as 90." in told


def test_a_tight_bend_is_told_with_the_radius_that_would_do(bench: Bench) -> None:
    told = words(page(preview(bench, CORNER[0], ("right", "", "90", "40"))))
    assert "Step 2: radius 16.9 mm at the innermost wire" in told
    assert "A radius of 48 mm would do." in told


@pytest.mark.parametrize(
    ("radius", "severity"),
    # By hand: the outermost wire lies 23.1 mm inside, 6 x 2.4 = 14.4 mm are the least, 24 mm are wanted.
    [("20", "stop"), ("30", "warn"), ("40", "note")],
)
def test_the_preview_is_as_grave_about_a_bend_as_the_findings(bench: Bench, radius: str, severity: str) -> None:
    bent = CORNER[0], ("right", "", "90", radius), CORNER[2]
    assert f'class="finding finding-{severity}"' in preview(bench, *bent)
    press(bench, "steps", *bent)
    told = [finding.severity for finding in bench.desk.open(bench.id).plan.findings if finding.code == "tight_bend"]
    assert told == [severity]


def test_a_short_twist_is_told_with_the_length_that_would_do(bench: Bench) -> None:
    # By hand: 10 mm for a quarter turn wind the wires 6.64 mm from the middle to 12.7 mm; 24 mm take 18.7 mm.
    told = words(page(preview(bench, CORNER[0], ("twist", "10", "90", ""), CORNER[2])))
    assert "Step 2: the tightest wire is wound to a radius of 12.7 mm" in told
    assert "A twist over 19 mm would do." in told


def test_a_twist_has_a_row_in_the_table_of_bends(bench: Bench) -> None:
    assert "twist 90°" in words(page(preview(bench, CORNER[0], ("twist", "80", "90", ""), CORNER[2])))


def test_the_preview_says_what_will_be_cut_as_it_is_cut_once_saved(bench: Bench) -> None:
    told = words(page(preview(bench, *CORNER)))
    press(bench, "steps", *CORNER)
    cuts = [wire.cut_mm for wire in bench.desk.open(bench.id).plan.runs[0].wires]
    assert all(f"{cuts.count(cut)} × {cut} mm" in told for cut in cuts)


def test_the_preview_follows_the_reach_that_is_typed_beside_it(bench: Bench) -> None:
    def longest(extra: str) -> int:
        fields = {**rows(bench, *CORNER), f"runs.{bench.run}.ends.0.extra": extra, "unit": "mm"}
        text = bench.send(f"runs/{bench.run}/path/preview", swap=True, **fields).text
        return max(int(cut) for cut in re.findall(r"× (\d+) mm", text))

    # Forty millimetres are a whole number of cutting steps.
    assert longest("40") - longest("0") == 40


def test_reach_that_cannot_be_read_is_told_and_leaves_the_drawing(bench: Bench) -> None:
    fields = {**rows(bench, *CORNER), f"runs.{bench.run}.ends.0.extra": "far", "unit": "mm"}
    text = bench.send(f"runs/{bench.run}/path/preview", swap=True, **fields).text
    assert "Own reach: Write a length such as 612 mm or 24 in." in words(page(text))
    assert "<svg" in text


def test_two_thousand_steps_are_drawn_and_one_more_is_refused_in_words(bench: Bench) -> None:
    many = [("leg", "2", "", "")] * 2001
    assert "<svg" in preview(bench, *many[:2000])
    answer = press(bench, "steps", *many)
    assert answer.status_code == 422
    assert "2001 legs and bends; at most 2000" in words(page(answer.text))


# ---- paths to start from ---------------------------------------------------------------------------------------


def test_a_route_starts_from_a_usual_path(bench: Bench) -> None:
    shape = bench.desk.catalogue().shapes["one-corner"]
    shown = shown_again(bench, press(bench, "start", *CORNER, start="one-corner"))
    assert [row[0] for row in shown] == [step.kind for step in shape.steps]


def test_a_usual_path_is_added_behind_what_is_written(bench: Bench) -> None:
    shown = shown_again(bench, press(bench, "append", *CORNER, BLANK, start="one-corner"))
    assert shown[:3] == list(CORNER)
    assert len(shown) == 3 + len(bench.desk.catalogue().shapes["one-corner"].steps)


def test_a_path_is_kept_under_a_name_and_offered_to_other_builds(bench: Bench) -> None:
    shown = shown_again(bench, press(bench, "keep", *CORNER, shape_name="Round the tray"))
    own = next(shape for shape in bench.desk.catalogue().shapes.values() if shape.name == "Round the tray")
    try:
        assert (own.own, own.steps) == (True, STEPS)
        assert shown == list(CORNER)
        again = press(bench, "keep", *CORNER, shape_name="round the TRAY")
        assert "already" in beside(page(again.text), "shape_name")
    finally:
        press(bench, f"forget.{own.id}", *CORNER)
    assert own.id not in bench.desk.catalogue().shapes


def test_removing_a_path_keeps_what_is_written_and_the_routes_that_started_from_it(bench: Bench) -> None:
    press(bench, "steps", *CORNER)
    own = bench.desk.keep_shape("To be removed", STEPS)
    assert shown_again(bench, press(bench, f"forget.{own.id}", BLANK, *CORNER)) == [BLANK, *CORNER]
    assert route(bench).steps == STEPS


# ---- two people ------------------------------------------------------------------------------------------------


def test_rows_left_alone_are_those_that_somebody_else_saved_meanwhile(bench: Bench) -> None:
    press(bench, "steps", *CORNER)
    base = bench.revision
    press(bench, "steps", *CORNER, ("up", "", "90", "30"))
    name = f"runs.{bench.run}"
    fields = {**rows(bench, *CORNER, BLANK), f"{name}.sources.0.extra": "35", "unit": "mm", "do": "steps"}
    answer = bench.client.post(
        f"/builds/{bench.id}/runs/{bench.run}/path", data={"revision": str(base), **fields}, headers=PANEL
    )
    assert answer.status_code == 409
    assert "35" in answer.text
    assert written(answer, bench)[3] == ("up", "", "90", "30")


def test_rows_that_both_changed_are_kept_whole_as_one_of_them_wrote_them(bench: Bench) -> None:
    press(bench, "steps", *CORNER)
    base = bench.revision
    press(bench, "steps", CORNER[0], ("up", "", "90", "30"))
    mine = [("leg", "99", "", ""), *CORNER[1:]]
    answer = press(bench, "steps", *mine, swap=True, revision=str(base))
    assert answer.status_code == 409
    assert written(answer, bench)[:3] == mine


# ---- the sums --------------------------------------------------------------------------------------------------


def test_each_wires_terms_add_up_to_its_sum(bench: Bench) -> None:
    press(bench, "steps", *CORNER)
    tree = by_id(page(bench.look(f"runs/{bench.run}/path").text), "path")
    table = next(element for element in tree.iter("table") if "path-sums" in (element.get("class") or ""))
    body = next(table.iter("tbody"))
    for line in body.iter("tr"):
        *terms, total, _ = [words(cell).replace("−", "-") for cell in line.iter("td")]
        # Every number is shown to a tenth.
        assert sum(float(term) for term in terms if term) == pytest.approx(float(total), abs=0.05 * len(terms))


def test_the_run_and_the_routes_lead_to_the_path(bench: Bench) -> None:
    address = f"/builds/{bench.id}/runs/{bench.run}/path"
    assert f'href="{address}"' in bench.look("routes").text
    assert f'href="{address}"' in bench.look(f"runs/{bench.run}").text
