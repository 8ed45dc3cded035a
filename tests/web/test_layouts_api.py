"""Layouts through the programming interface: documents, versions by tag, readings and verdicts."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from server.__main__ import main
from server.app import create_app
from server.config import Settings
from server.documents.layout_json import LayoutDocument, read_layout


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    settings = Settings(data=tmp_path_factory.mktemp("layouts"))
    with TestClient(create_app(settings), base_url="http://127.0.0.1", raise_server_exceptions=False) as made:
        yield made


@pytest.fixture
def own(client: TestClient) -> str:
    """Address of a copy of the sample with one 24-position main."""
    answer = client.post("/api/layouts", json={"name": "Bench supply", "copy_of": "one-24"})
    assert answer.status_code == 201
    return str(answer.headers["Location"])


def renamed(client: TestClient, address: str, name: str) -> str:
    whole = client.get(address).json()
    whole["layout"]["name"] = name
    return json.dumps(whole)


def take(client: TestClient, address: str, *readings: dict[str, Any]) -> Any:
    return client.post(f"{address}/readings", json={"readings": list(readings)})


def test_the_list_tells_samples_from_ones_own(client: TestClient, own: str) -> None:
    listed = client.get("/api/layouts").json()["layouts"]
    mine = next(each for each in listed if own.endswith(each["id"]))
    assert (mine["own"], mine["version"], mine["metered"]) == (True, 1, 0)
    assert not listed[0]["own"]


def test_a_layout_comes_back_as_a_document(client: TestClient, own: str) -> None:
    assert LayoutDocument.model_validate_json(client.get(own).text).layout.own


def test_a_document_sent_in_is_a_layout_of_ones_own(client: TestClient, own: str) -> None:
    answer = client.post("/api/layouts", content=client.get(own).text)
    assert answer.status_code == 201
    assert answer.json()["id"] != own.rpartition("/")[2]


def test_a_layout_may_start_from_a_name_alone(client: TestClient) -> None:
    assert client.post("/api/layouts", json={"name": "Empty sheet"}).json()["ports"] == 0


def test_a_sample_can_be_read_but_not_changed(client: TestClient) -> None:
    text = client.get("/api/layouts/one-24").text
    assert not read_layout(text).own
    assert client.put("/api/layouts/one-24", content=text, headers={"If-Match": '"rev-1"'}).status_code == 404


def test_a_change_needs_the_tag_it_was_made_on(client: TestClient, own: str) -> None:
    assert client.put(own, content=client.get(own).text).status_code == 428


def test_a_change_is_the_next_version(client: TestClient, own: str) -> None:
    tag = client.get(own).headers["ETag"]
    answer = client.put(own, content=renamed(client, own, "Other name"), headers={"If-Match": tag})
    assert (answer.status_code, answer.json()["version"]) == (200, 2)
    assert client.get(own, params={"version": 1}).json()["layout"]["name"] == "Bench supply"


def test_a_stale_change_is_refused_with_what_changed(client: TestClient, own: str) -> None:
    tag = client.get(own).headers["ETag"]
    client.put(own, content=renamed(client, own, "First"), headers={"If-Match": tag})
    answer = client.put(own, content=renamed(client, own, "Second"), headers={"If-Match": tag})
    assert answer.status_code == 412
    assert answer.json()["changes"] == ["renamed from 'Bench supply' to 'First'"]


def test_versions_are_listed_newest_first(client: TestClient, own: str) -> None:
    client.put(own, content=renamed(client, own, "First"), headers={"If-Match": '"rev-1"'})
    assert [each["number"] for each in client.get(f"{own}/versions").json()["versions"]] == [2, 1]


def test_a_reading_changes_the_tag_of_the_document(client: TestClient, own: str) -> None:
    tag = client.get(own).headers["ETag"]
    take(client, own, {"port": "M1", "cavity": "1", "on_v": 12.05})
    assert client.get(own, headers={"If-None-Match": tag}).status_code == 200
    assert client.get(own, headers={"If-None-Match": client.get(own).headers["ETag"]}).status_code == 304


def test_readings_are_answered_with_their_verdicts(client: TestClient, own: str) -> None:
    answer = take(client, own, {"port": "M1", "cavity": "1", "on_v": 12.05}).json()
    first = answer["verdicts"][0]
    assert (answer["metered"], first["state"], first["net"]) == (1, "metered", "+12V")


def test_a_reading_that_cannot_be_one_is_refused_at_its_place(client: TestClient, own: str) -> None:
    answer = take(client, own, {"port": "M1", "cavity": "1", "on_v": 1200})
    assert answer.status_code == 422
    assert answer.json()["problems"][0]["field"] == "readings.M1.1.on"


def test_readings_of_a_port_can_be_cleared(client: TestClient, own: str) -> None:
    take(client, own, {"port": "M1", "cavity": "1", "on_v": 12.05})
    assert client.delete(f"{own}/readings", params={"port": "M1"}).json()["metered"] == 0


def with_a_reading(client: TestClient, address: str, **beside: bool) -> dict[str, Any]:
    """The layout's document with one reading, and what a program may say beside it."""
    whole: dict[str, Any] = client.get(address).json()
    whole["layout"]["readings"] = [{"port": "M1", "cavity": "1", "on_v": 12.05}]
    return {**whole, **beside}


@pytest.mark.parametrize(
    ("beside", "metered", "imported"), [({"same_supply": True}, 1, 0), ({"same_supply": False}, 0, 1), ({}, 0, 1)]
)
def test_readings_of_a_document_count_only_for_the_very_same_supply(
    client: TestClient, own: str, beside: dict[str, bool], metered: int, imported: int
) -> None:
    sent = with_a_reading(client, own, **beside)
    put = client.put(own, json=sent, headers={"If-Match": '"rev-1"'}).json()
    made = client.post("/api/layouts", json=sent).json()
    # Readings make no version: nothing else of the layout changed.
    assert put["version"] == 1
    for answer in (put, made):
        assert (answer["metered"], answer["imported"]) == (metered, imported)


def test_readings_that_do_not_count_can_be_read_and_counted(client: TestClient, own: str) -> None:
    address = client.post("/api/layouts", json=with_a_reading(client, own)).headers["Location"]
    assert client.get(f"{address}/imported").json()["readings"][0]["on_v"] == 12.05
    assert client.post(f"{address}/imported", json={"same_supply": True}).json()["metered"] == 1
    assert client.get(f"{address}/imported").json()["readings"] == []


@pytest.mark.parametrize("sent", [{}, {"same_supply": False}, {"same_supply": "yes"}, {"same_supply": True, "x": 1}])
def test_readings_that_do_not_count_need_a_plain_word_to_count(
    client: TestClient, own: str, sent: dict[str, Any]
) -> None:
    address = client.post("/api/layouts", json=with_a_reading(client, own)).headers["Location"]
    assert client.post(f"{address}/imported", json=sent).status_code == 422
    assert client.get(f"{address}/verdicts").json()["metered"] == 0


def test_readings_that_do_not_count_can_be_dropped(client: TestClient, own: str) -> None:
    address = client.post("/api/layouts", json=with_a_reading(client, own)).headers["Location"]
    client.delete(f"{address}/imported")
    assert client.get(f"{address}/imported").json()["readings"] == []


def test_a_document_with_a_reading_that_cannot_be_one_saves_nothing(client: TestClient, own: str) -> None:
    whole = client.get(own).json()
    whole["layout"]["name"] = "Never saved"
    whole["layout"]["readings"] = [{"port": "M1", "cavity": "1", "on_v": 1200}]
    assert client.put(own, json=whole, headers={"If-Match": '"rev-1"'}).status_code == 422
    assert client.get(own).json()["layout"]["name"] == "Bench supply"


def test_a_deleted_layout_is_gone_until_it_is_restored(client: TestClient, own: str) -> None:
    assert client.delete(own).status_code == 204
    assert client.get(own).status_code == 404
    assert client.post(f"{own}/restore").status_code == 200
    assert client.get(own).status_code == 200


def test_every_version_is_in_the_catalogue(client: TestClient, own: str) -> None:
    client.put(own, content=renamed(client, own, "First"), headers={"If-Match": '"rev-1"'})
    catalogue = client.get("/api/catalogue").json()["catalogue"]
    ident = own.rpartition("/")[2]
    assert catalogue["supplies"][ident]["name"] == "First"
    assert catalogue["earlier"][f"{ident}/1"]["name"] == "Bench supply"


@pytest.mark.parametrize("method", ["get", "delete"])
def test_a_layout_that_does_not_exist_is_not_found(client: TestClient, method: str) -> None:
    assert getattr(client, method)("/api/layouts/own-nothing").status_code == 404


@pytest.mark.parametrize(
    ("path", "method", "statuses"),
    [
        ("/layouts", "post", {"201", "400", "403", "404", "413", "421", "422"}),
        ("/layouts/{layout_id}", "put", {"200", "400", "403", "404", "412", "413", "421", "422", "428"}),
        ("/layouts/{layout_id}/readings", "post", {"200", "400", "403", "404", "413", "421", "422"}),
    ],
)
def test_the_description_lists_every_refusal(client: TestClient, path: str, method: str, statuses: set[str]) -> None:
    assert set(client.get("/api/openapi.json").json()["paths"][path][method]["responses"]) == statuses


# ---- the command line plans with a layout from its document alone ---------------------------------------------------


@pytest.fixture
def files(client: TestClient, own: str, tmp_path: Path) -> tuple[Path, Path]:
    """The example build and a layout, as files."""
    layout = tmp_path / "layout.json"
    layout.write_text(client.get(own).text, encoding="utf-8")
    return Settings().examples_folder / "compact.json", layout


def test_the_command_line_plans_with_a_layout_document(
    files: tuple[Path, Path], own: str, capfd: pytest.CaptureFixture[str]
) -> None:
    build, layout = files
    assert main(["plan", str(build), "--layout", str(layout)]) == 0
    plan = json.loads(capfd.readouterr().out)["plan"]
    assert any(plug["place"] == "Bench supply" for run in plan["runs"] for plug in run["sources"])


def noted(capfd: pytest.CaptureFixture[str], build: dict[str, Any], layout: Path) -> str:
    """What planning a build with a layout says on standard error; the plan alone stands on standard output."""
    document = layout.with_name("build.json")
    document.write_text(json.dumps(build), encoding="utf-8")
    assert main(["plan", str(document), "--layout", str(layout)]) == 0
    said = capfd.readouterr()
    assert json.loads(said.out)["plan"]
    return said.err


def test_a_layout_of_another_version_than_the_build_names_is_told_in_one_line(
    files: tuple[Path, Path], capfd: pytest.CaptureFixture[str]
) -> None:
    build, layout = json.loads(files[0].read_text(encoding="utf-8")), files[1]
    build["build"]["supply"] = json.loads(layout.read_text(encoding="utf-8"))["layout"]["id"]
    assert noted(capfd, build, layout) == ""
    build["build"]["supply_version"] = 7
    said = noted(capfd, build, layout)
    assert "names version 7" in said
    assert "'Bench supply', version 1" in said
    assert said.count("\n") == 1


def test_a_layout_that_the_build_does_not_name_is_told(
    files: tuple[Path, Path], capfd: pytest.CaptureFixture[str]
) -> None:
    build = json.loads(files[0].read_text(encoding="utf-8"))
    assert build["build"]["supply"] in noted(capfd, build, files[1])


def test_readings_of_a_layout_document_are_told_to_count(
    files: tuple[Path, Path], capfd: pytest.CaptureFixture[str]
) -> None:
    build, whole = (json.loads(path.read_text(encoding="utf-8")) for path in files)
    whole["layout"]["readings"] = [{"port": "M1", "cavity": "1", "on_v": 12.05}]
    files[1].write_text(json.dumps(whole), encoding="utf-8")
    assert "on this very supply" in noted(capfd, build, files[1])


@pytest.mark.parametrize(
    ("content", "said"),
    [("", "empty"), ("{}", "format"), ('{"format": "loomwright-build", "version": 1}', "loomwright-layout")],
)
def test_a_layout_that_cannot_be_read_ends_the_command_with_its_name(
    files: tuple[Path, Path], content: str, said: str, capfd: pytest.CaptureFixture[str]
) -> None:
    build, layout = files
    layout.write_text(content, encoding="utf-8")
    assert main(["plan", str(build), "--layout", str(layout)]) == 2
    told = capfd.readouterr().err
    assert layout.name in told
    assert said in told


def test_a_layout_without_a_ground_ends_the_command(
    files: tuple[Path, Path], capfd: pytest.CaptureFixture[str]
) -> None:
    build, layout = files
    layout.write_text(layout.read_text(encoding="utf-8").replace('"COM"', '"+12V"'), encoding="utf-8")
    assert main(["plan", str(build), "--layout", str(layout)]) == 2
    assert "ground" in capfd.readouterr().err


def test_a_layout_file_that_is_not_there_ends_the_command(
    files: tuple[Path, Path], capfd: pytest.CaptureFixture[str]
) -> None:
    build, layout = files
    assert main(["plan", str(build), "--layout", str(layout.with_name("none.json"))]) == 2
    assert "none.json" in capfd.readouterr().err


def test_both_documents_cannot_come_from_standard_input(capfd: pytest.CaptureFixture[str]) -> None:
    assert main(["plan", "-", "--layout", "-"]) == 2
    assert "standard input" in capfd.readouterr().err
