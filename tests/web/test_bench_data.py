"""Tasks and ticks of the bench screen over HTTP. Expected values: the form that is agreed with the screen."""

import gzip
import json
from uuid import uuid4

import pytest
from fastapi.testclient import TestClient
from httpx import Response

from server.domain.model.bench import Done
from server.services.bench import BenchDesk
from server.services.bench_rules import check_entry
from server.services.builds import BuildDesk
from tests.services.bench_ticking import stocked
from tests.web.conftest import Bench


@pytest.fixture(scope="module")
def ready(pages: TestClient) -> Bench:
    """The compact example with everything bought."""
    desk: BuildDesk = pages.app.state.desk  # type: ignore[attr-defined]
    shelf: BenchDesk = pages.app.state.bench  # type: ignore[attr-defined]
    return Bench(pages, desk, stocked(desk, shelf, "compact").build_id)


def tasks(bench: Bench) -> dict:
    return bench.client.get(f"/bench/{bench.id}/tasks.json").json()


def post(bench: Bench, body: object, **headers: str) -> Response:
    text = body if isinstance(body, str | bytes) else json.dumps(body)
    return bench.client.post(f"/bench/{bench.id}/ticks", content=text, headers=headers)


def tick(**more: object) -> dict:
    return {"id": str(uuid4()), "n": 1, "kind": "do", "task": "cut/x", "tick": {"lot": 1, "length": 5}, **more}


TASK = {
    "id", "kind", "run", "label", "title", "big", "colour", "lines", "tool", "toolWords", "stage", "after", "plugs",
    "state", "why", "href", "tick", "entry", "times",
}  # fmt: skip
RUN = {"id", "number", "title", "state", "why", "test", "tested"}


def test_the_tasks_have_the_form_that_the_screen_reads(ready: Bench) -> None:
    data = tasks(ready)
    assert set(data) == {
        "build", "ledger", "cautions", "operations", "runs", "plugs", "tasks", "byRun", "byStage", "changes",
    }  # fmt: skip
    assert set(data["build"]) == {"id", "metered"}
    assert set(data["changes"]) == {"byRun", "byStage", "atLeast", "proved"}
    assert all(set(task) == TASK for task in data["tasks"])
    assert all(set(run) == RUN for run in data["runs"])
    assert all(set(plug) == {"svg", "title", "view"} for plug in data["plugs"].values())
    assert sorted(data["byRun"]) == sorted(data["byStage"]) == sorted(task["id"] for task in data["tasks"])


def test_tasks_that_did_not_change_are_not_sent_again(ready: Bench) -> None:
    address = f"/bench/{ready.id}/tasks.json"
    tag = ready.client.get(address).headers["ETag"]
    again = ready.client.get(address, headers={"If-None-Match": tag})
    assert (again.status_code, again.content) == (304, b"")
    cut = next(task for task in tasks(ready)["tasks"] if task["kind"] == "cut" and task["state"] == "open")
    post(ready, {"device": "phone", "ticks": [tick(task=cut["id"], tick=cut["tick"])]})
    assert ready.client.get(address, headers={"If-None-Match": tag}).status_code == 200


def test_a_tick_is_answered_in_the_form_that_the_screen_reads(ready: Bench) -> None:
    data = tasks(ready)
    cut = next(task for task in data["tasks"] if task["kind"] == "cut" and task["state"] == "open")
    sent = {
        **tick(task=cut["id"], tick=cut["tick"]),
        **{
            "of": "",
            "entry": 0,
            "operation": "",
            "count": 0,
            "seconds": 0,
            "run": "",
            "at": "2025-01-01T00:00:00.000Z",
        },
    }
    answer = post(ready, {"device": "phone", "ticks": [sent, sent]})
    results = answer.json()["results"]
    assert answer.status_code == 200
    assert [result["state"] for result in results] == ["written", "known"]
    assert results[0]["entries"][-1] == answer.json()["ledger"] == data["ledger"] + len(results[0]["entries"])
    done = next(task for task in tasks(ready)["tasks"] if task["id"] == cut["id"])
    assert (done["state"], done["entry"]) == ("done", results[0]["entries"][-1])


def test_a_refusal_is_an_answer_with_words(ready: Bench) -> None:
    answer = post(ready, {"device": "phone", "ticks": [tick(task="cut/nothing")]})
    assert answer.status_code == 200
    assert answer.json()["results"][0]["state"] == "refused"
    assert answer.json()["results"][0]["message"]


def test_a_tick_of_the_longest_chain_is_read(ready: Bench) -> None:
    # By hand: a source and 12 plugs, ids of 64 characters for part and socket, cavities of 2 and what stands between.
    wiring = ">".join(f"{'p' * 64}:{'s' * 64}:24" for _ in range(13))
    assert len(wiring) == 13 * 132 + 12
    answer = post(ready, {"device": "phone", "ticks": [tick(task="fit/nothing", tick={"wiring": wiring, "piece": 1})]})
    assert (answer.status_code, answer.json()["results"][0]["state"]) == (200, "refused")
    check_entry(Done(1, "fitted", wiring), (), ready.desk.open(ready.id).catalogue)


@pytest.mark.parametrize(
    ("body", "place"),
    [
        ("{", ""),
        ("[]", ""),
        (b"\xff", ""),
        ('{"device": "a", "device": "b", "ticks": []}', "device"),
        ({"ticks": []}, "device"),
        ({"device": "a"}, "ticks"),
        ({"device": "a", "ticks": {}}, "ticks"),
        ({"device": "a", "ticks": [], "more": 1}, "more"),
        ({"device": "a" * 65, "ticks": []}, "device"),
        ({"device": "a", "ticks": [tick()] * 501}, "ticks"),
        ({"device": "a", "ticks": [7]}, "ticks.0"),
        ({"device": "a", "ticks": [tick(colour="RD")]}, "ticks.0.colour"),
        ({"device": "a", "ticks": [tick(id="1")]}, "ticks.0.id"),
        ({"device": "a", "ticks": [tick(n="1")]}, "ticks.0.n"),
        ({"device": "a", "ticks": [tick(n=True)]}, "ticks.0.n"),
        ({"device": "a", "ticks": [tick(n=-1)]}, "ticks.0.n"),
        ({"device": "a", "ticks": [tick(n=1.5)]}, "ticks.0.n"),
        ({"device": "a", "ticks": [tick(kind="paint")]}, "ticks.0.kind"),
        ({"device": "a", "ticks": [tick(kind=["do"])]}, "ticks.0.kind"),
        ({"device": "a", "ticks": [tick(task="x" * 201)]}, "ticks.0.task"),
        ({"device": "a", "ticks": [tick(task="a\nb")]}, "ticks.0.task"),
        ({"device": "a", "ticks": [tick(tick=None)]}, "ticks.0.task"),
        ({"device": "a", "ticks": [tick(tick=[1])]}, "ticks.0.tick"),
        ({"device": "a", "ticks": [tick(tick={"lot": [1]})]}, "ticks.0.tick.lot"),
        ({"device": "a", "ticks": [tick(tick={str(n): n for n in range(13)})]}, "ticks.0.tick"),
        ({"device": "a", "ticks": [tick(kind="undo")]}, "ticks.0.of"),
        ({"device": "a", "ticks": [tick(kind="undo", of="that one")]}, "ticks.0.of"),
        ({"device": "a", "ticks": [tick(kind="time")]}, "ticks.0.operation"),
        ({"device": "a", "ticks": [tick(task="\ud800")]}, "ticks.0.task"),
        ({"device": "a", "ticks": [], "\ud800": 1}, "?"),
        ({"device": "a", "ticks": [tick(**{"\udfff": 1})]}, "ticks.0.?"),
        ({"device": "a", "ticks": [tick(tick={"\ud800": [1]})]}, "ticks.0.tick.?"),
        ('{"device": "a", "\\ud800": 1, "\\ud800": 2}', "?"),
    ],
)
def test_a_body_that_no_screen_sends_is_refused_whole_with_its_place(ready: Bench, body: object, place: str) -> None:
    before = tasks(ready)["ledger"]
    answer = post(ready, body)
    assert answer.status_code == 422
    assert answer.json()["problems"][0]["field"] == place
    assert answer.json()["problems"][0]["message"]
    assert tasks(ready)["ledger"] == before


def test_a_body_that_is_too_large_is_refused(ready: Bench) -> None:
    body = json.dumps({"device": "a", "ticks": [tick()]}) + " " * 500_001
    assert post(ready, body).status_code == 422


def test_ticks_from_another_site_are_refused(ready: Bench) -> None:
    body = {"device": "a", "ticks": []}
    assert post(ready, body, Origin="http://elsewhere.example").status_code == 403
    assert post(ready, body, Origin="http://127.0.0.1").status_code == 200


@pytest.mark.parametrize("end", ["tasks.json", "ticks"])
def test_a_build_that_there_is_not_has_no_tasks(pages: TestClient, end: str) -> None:
    address = f"/bench/0123456789abcdef/{end}"
    body = json.dumps({"device": "a", "ticks": []})
    answer = pages.get(address) if end == "tasks.json" else pages.post(address, content=body)
    assert answer.status_code == 404


def test_what_was_ticked_reads_well_in_the_ledger(ready: Bench) -> None:
    crimp = next(t for t in tasks(ready)["tasks"] if t["kind"] == "crimp" and t["id"].endswith("/part"))
    cut = next(t for t in tasks(ready)["tasks"] if t["id"] == crimp["after"][0])
    ticks = [
        tick(n=1, task=cut["id"], tick=cut["tick"]),
        tick(n=2, task=crimp["id"], tick=crimp["tick"]),
        {
            "id": str(uuid4()),
            "n": 3,
            "kind": "time",
            "operation": "crimp",
            "count": 12,
            "seconds": 504,
            "run": crimp["run"],
        },
    ]
    post(ready, {"device": "phone", "ticks": ticks})
    page = ready.look("ledger").text
    assert f"crimped {crimp['label']} (piece" in page
    assert "at its part end, the other end is still to be crimped" in page
    assert "crimp one contact, 12 times in 5 min 36 s" in page


def test_the_tasks_of_a_large_build_are_light_to_send(pages: TestClient) -> None:
    desk: BuildDesk = pages.app.state.desk  # type: ignore[attr-defined]
    build_id = stocked(desk, pages.app.state.bench, "large").build_id  # type: ignore[attr-defined]
    text = pages.get(f"/bench/{build_id}/tasks.json").content
    assert len(gzip.compress(text, 4)) < 60_000
