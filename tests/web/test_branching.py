"""Several plugs on one run: a chain, or a fork, as chosen on the run's own page and on the parts step."""

import pytest
from httpx import Response

from server.domain.model.build import Run
from tests.web.conftest import Bench
from tests.web.reading import beside, by_id, field, page, words


@pytest.fixture
def chain(bench: Bench) -> str:
    """Id of the run with the two drives."""
    return next(run.id for run in bench.desk.open(bench.id).build.runs if len(run.ends) > 1)


def sent(bench: Bench, run_id: str, branching: str) -> Response:
    data = {"revision": str(bench.revision), "panel": "run", f"runs.{run_id}.branching": branching}
    return bench.client.post(f"/builds/{bench.id}/runs/{run_id}/branching", data=data)


def run_of(bench: Bench, run_id: str) -> Run:
    return next(run for run in bench.desk.open(bench.id).build.runs if run.id == run_id)


def test_a_run_with_several_plugs_says_what_a_chain_and_a_fork_are(bench: Bench, chain: str) -> None:
    tree = page(bench.look(f"runs/{chain}").text)
    said = beside(tree, f"runs.{chain}.branching")
    assert "fed from the plug before it" in said
    assert "wires of its own from the source" in said


def test_a_run_with_one_plug_offers_no_fork(bench: Bench) -> None:
    assert f"runs.{bench.run}.branching" not in bench.look(f"runs/{bench.run}").text


def test_a_chain_is_made_a_fork_and_shown_as_one(bench: Bench, chain: str) -> None:
    answer = sent(bench, chain, "fork")
    assert answer.status_code == 303
    assert run_of(bench, chain).branching == "fork"
    tree = page(bench.look(f"runs/{chain}").text)
    assert "Split the fork" in words(by_id(tree, "run"))
    chosen = [
        o.get("value") for o in field(tree, f"runs.{chain}.branching").iter("option") if o.get("selected") is not None
    ]
    assert chosen == ["fork"]


def test_a_branching_that_is_not_offered_is_refused_beside_its_field(bench: Bench, chain: str) -> None:
    answer = sent(bench, chain, "tree")
    assert answer.status_code == 422
    assert "Pick one of the list" in beside(page(answer.text), f"runs.{chain}.branching")


def test_a_run_of_ones_own_may_be_a_fork(bench: Bench, chain: str) -> None:
    ends = [f"{end.part}/{end.socket}" for end in run_of(bench, chain).ends]
    bench.desk.remove_run(bench.id, bench.revision, chain)
    answer = bench.send("runs", ends=ends, branching="fork", source="", run_name="Drives")
    assert answer.status_code == 303
    made = bench.desk.open(bench.id).build.runs[-1]
    assert (made.name, made.branching, len(made.ends)) == ("Drives", "fork", 2)
