"""Going on from a step saves it first."""

import pytest

from tests.web.conftest import Bench
from tests.web.reading import by_id, field, fragments, page


def test_saving_and_going_on_leads_to_the_next_step(bench: Bench) -> None:
    answer = bench.send("routes", **{f"runs.{bench.run}.length": "612", "unit": "mm", "go": "on"})
    assert answer.headers["location"] == f"/builds/{bench.id}/finish?saved={bench.revision}"
    assert bench.desk.open(bench.id).build.runs[0].route.length_mm == 612.0


def test_with_a_script_the_next_step_is_swapped_in_under_its_own_address(bench: Bench) -> None:
    answer = bench.send("routes", swap=True, **{f"runs.{bench.run}.length": "612", "unit": "mm", "go": "on"})
    assert "finish" in {element.get("id") for element in fragments(answer.text)}
    assert answer.headers["HX-Push-Url"] == f"/builds/{bench.id}/finish"


@pytest.mark.parametrize("swap", [False, True])
def test_a_refused_step_stays_with_what_was_typed(bench: Bench, swap: bool) -> None:
    name = f"runs.{bench.run}.length"
    answer = bench.send("routes", swap=swap, **{name: "soon", "unit": "mm", "go": "on"})
    assert (answer.status_code, field(page(answer.text), name).get("value")) == (422, "soon")


@pytest.mark.parametrize(("panel", "save"), [("routes", "Save the routes"), ("finish", "Save the finish")])
def test_the_enter_key_saves_and_stays(bench: Bench, panel: str, save: str) -> None:
    # A browser presses the first button of the form, shown or not.
    form = next(f for f in by_id(page(bench.look(panel).text), panel).iter("form"))
    first = next(form.iter("button"))
    assert (first.get("name"), "".join(first.itertext())) == (None, save)
