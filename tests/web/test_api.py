"""The programming interface: documents in and out, revisions by ETag, one shape for every refusal."""

import json
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from server.app import create_app
from server.config import Settings
from server.documents.build_json import BuildDocument, read_build, write_build
from server.documents.catalogue_json import CatalogueDocument
from server.documents.plan_json import PlanDocument
from server.domain.model.build import Build, Part, PlugRef, Route, Run, Socket
from server.services.offline import plan_text, shipped_catalogue

BUILD = Build(
    name="Walnut desk case",
    supply="one-24",
    parts=(Part("p1", "board", "Board", (Socket("main", "main-24"),)),),
    runs=(Run("r1", 1, (PlugRef("supply", "M1"),), (PlugRef("p1", "main"),), route=Route(length_mm=612.0)),),
    next_number=2,
    next_part=2,
)
DOCUMENT = write_build(BUILD)


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    settings = Settings(data=tmp_path_factory.mktemp("api"))
    with TestClient(create_app(settings), base_url="http://127.0.0.1", raise_server_exceptions=False) as made:
        yield made


@pytest.fixture
def build(client: TestClient) -> str:
    """Address of a build made for one test."""
    return str(client.post("/api/builds", content=DOCUMENT).headers["Location"])


def put(client: TestClient, address: str, build: Build, tag: str) -> Any:
    return client.put(address, content=write_build(build), headers={"If-Match": tag})


def test_a_build_comes_back_byte_for_byte_as_it_was_sent(client: TestClient, build: str) -> None:
    # Property: the document is the planner's own; nothing of it is lost.
    assert client.get(build).text == DOCUMENT


def test_a_new_build_is_at_its_first_revision(client: TestClient) -> None:
    answer = client.post("/api/builds", content=DOCUMENT)
    assert (answer.status_code, answer.headers["ETag"], answer.json()["revision"]) == (201, '"rev-1"', 1)


def test_a_build_may_start_from_a_name_alone(client: TestClient) -> None:
    address = client.post("/api/builds", json={"name": "Quiet tower"}).headers["Location"]
    assert read_build(client.get(address).content).name == "Quiet tower"


def test_a_new_build_stands_in_the_list(client: TestClient, build: str) -> None:
    assert build.rsplit("/", 1)[1] in {entry["id"] for entry in client.get("/api/builds").json()["builds"]}


def test_the_list_can_be_searched_by_name(client: TestClient, build: str) -> None:
    client.post("/api/builds", json={"name": "Something else"})
    names = {entry["name"] for entry in client.get("/api/builds", params={"search": "walnut"}).json()["builds"]}
    assert names == {"Walnut desk case"}


def test_a_change_makes_the_next_revision(client: TestClient, build: str) -> None:
    answer = put(client, build, replace(BUILD, client="A. Client"), '"rev-1"')
    assert (answer.status_code, answer.headers["ETag"]) == (200, '"rev-2"')


def test_a_document_that_changes_nothing_makes_no_revision(client: TestClient, build: str) -> None:
    assert put(client, build, BUILD, '"rev-1"').headers["ETag"] == '"rev-1"'


def test_a_change_without_a_base_is_refused(client: TestClient, build: str) -> None:
    assert client.put(build, content=DOCUMENT).status_code == 428


@pytest.mark.parametrize("tag", ["rev-1", '"1"', "*", 'W/"rev-1"', '"rev-1", "rev-2"'])
def test_a_base_that_is_not_one_tag_of_ours_is_refused(client: TestClient, build: str, tag: str) -> None:
    assert client.put(build, content=DOCUMENT, headers={"If-Match": tag}).status_code == 400


def test_a_change_to_an_older_revision_is_refused_and_says_what_changed(client: TestClient, build: str) -> None:
    put(client, build, replace(BUILD, name="Oak desk case"), '"rev-1"')
    answer = put(client, build, replace(BUILD, client="A. Client"), '"rev-1"')
    assert (answer.status_code, answer.json()["latest"], bool(answer.json()["changes"])) == (412, 2, True)


def test_a_refused_change_names_the_newest_tag(client: TestClient, build: str) -> None:
    put(client, build, replace(BUILD, name="Oak desk case"), '"rev-1"')
    assert put(client, build, BUILD, '"rev-1"').headers["ETag"] == '"rev-2"'


def test_an_older_revision_never_changes(client: TestClient, build: str) -> None:
    put(client, build, replace(BUILD, name="Oak desk case"), '"rev-1"')
    assert client.get(build, params={"revision": 1}).text == DOCUMENT


def test_a_build_that_is_known_already_is_not_sent_again(client: TestClient, build: str) -> None:
    answer = client.get(build, headers={"If-None-Match": '"rev-1"'})
    assert (answer.status_code, answer.content) == (304, b"")


def test_a_build_that_changed_is_sent_again(client: TestClient, build: str) -> None:
    assert client.get(build, headers={"If-None-Match": '"rev-9"'}).status_code == 200


def test_a_deleted_build_is_gone(client: TestClient, build: str) -> None:
    assert (client.delete(build).status_code, client.get(build).status_code) == (204, 404)


def test_a_restored_build_is_back_as_it_was(client: TestClient, build: str) -> None:
    client.delete(build)
    client.post(f"{build}/restore")
    assert client.get(build).text == DOCUMENT


def test_the_history_is_told_newest_first_in_words(client: TestClient, build: str) -> None:
    put(client, build, replace(BUILD, name="Oak desk case"), '"rev-1"')
    history = client.get(f"{build}/revisions").json()["revisions"]
    assert [(entry["number"], bool(entry["words"])) for entry in history] == [(2, True), (1, True)]


def test_the_plan_of_a_stored_build_is_that_of_its_document(client: TestClient, build: str) -> None:
    # Property: the plan is a function of build and catalogue, wherever the build lies.
    assert client.get(f"{build}/plan").text == client.post("/api/plan", content=DOCUMENT).text


def test_the_plan_is_the_same_bytes_as_on_the_command_line(client: TestClient) -> None:
    # Property, as promised to people who compare the two.
    catalogue = shipped_catalogue(Settings().catalogue_folder)
    assert client.post("/api/plan", content=DOCUMENT).text == plan_text(DOCUMENT.encode(), catalogue)


def test_the_plan_of_an_older_revision_is_still_its_own(client: TestClient, build: str) -> None:
    before = client.get(f"{build}/plan").text
    longer = replace(BUILD, runs=(replace(BUILD.runs[0], route=Route(length_mm=700.0)),))
    put(client, build, longer, '"rev-1"')
    assert client.get(f"{build}/plan", params={"revision": 1}).text == before


def test_planning_a_document_stores_nothing(client: TestClient) -> None:
    before = client.get("/api/builds").json()
    client.post("/api/plan", content=DOCUMENT)
    assert client.get("/api/builds").json() == before


def test_a_plan_that_is_known_already_is_not_sent_again(client: TestClient, build: str) -> None:
    tag = client.get(f"{build}/plan").headers["ETag"]
    assert client.get(f"{build}/plan", headers={"If-None-Match": tag}).status_code == 304


@pytest.mark.parametrize(
    ("address", "shape"),
    [("", BuildDocument), ("/plan", PlanDocument)],
)
def test_answers_have_the_shape_that_the_description_promises(
    client: TestClient, build: str, address: str, shape: type[BuildDocument] | type[PlanDocument]
) -> None:
    assert shape.model_validate_json(client.get(build + address).text)


def test_the_catalogue_has_the_shape_that_the_description_promises(client: TestClient) -> None:
    assert CatalogueDocument.model_validate_json(client.get("/api/catalogue").text)


def test_a_table_of_the_catalogue_is_that_of_the_whole(client: TestClient) -> None:
    whole = client.get("/api/catalogue").json()["catalogue"]["wires"]
    assert client.get("/api/catalogue/wires").json()["catalogue"]["wires"] == whole


def test_an_unknown_table_is_not_found(client: TestClient) -> None:
    assert client.get("/api/catalogue/version").status_code == 404


@pytest.mark.parametrize(
    ("method", "address"),
    [
        ("GET", "/api/builds/none"),
        ("GET", "/api/builds/none/plan"),
        ("GET", "/api/builds/none/revisions"),
        ("DELETE", "/api/builds/none"),
        ("POST", "/api/builds/none/restore"),
        ("GET", "/api/nothing"),
    ],
)
def test_what_does_not_exist_is_not_found_in_json(client: TestClient, method: str, address: str) -> None:
    answer = client.request(method, address)
    assert (answer.status_code, answer.json()["problems"]) == (404, [])


def test_a_revision_that_does_not_exist_is_not_found(client: TestClient, build: str) -> None:
    assert client.get(build, params={"revision": 7}).status_code == 404


@pytest.mark.parametrize("number", ["x", "0", "-1", "1.5", "9" * 30])
def test_a_revision_that_is_no_number_is_refused_by_name(client: TestClient, build: str, number: str) -> None:
    answer = client.get(build, params={"revision": number})
    assert (answer.status_code, answer.json()["problems"][0]["field"]) == (422, "revision")


@pytest.mark.parametrize("body", [b"", b"[", b"[]", b"{}", b"\xff", b'{"name": 3}', b'{"name": ""}', b"[" * 70])
def test_a_body_that_is_no_build_is_refused_with_the_reason(client: TestClient, body: bytes) -> None:
    answer = client.post("/api/builds", content=body)
    assert (answer.status_code, bool(answer.json()["problems"])) == (422, True)


@pytest.mark.parametrize("address", ["/api/plan", "/api/builds"])
def test_a_build_that_names_an_unknown_layout_is_refused_with_the_field(client: TestClient, address: str) -> None:
    answer = client.post(address, content=write_build(replace(BUILD, supply="nobodys-supply")))
    assert (answer.status_code, answer.json()["problems"][0]["field"]) == (422, "supply")


def test_a_refusal_says_its_media_type(client: TestClient) -> None:
    assert client.get("/api/nothing").headers["Content-Type"] == "application/problem+json"


def test_a_body_of_more_than_two_megabytes_is_refused(client: TestClient) -> None:
    assert client.post("/api/plan", content=b" " * 2_000_001).status_code == 413


def test_a_method_that_an_address_lacks_is_refused_in_json(client: TestClient) -> None:
    answer = client.patch("/api/builds")
    assert (answer.status_code, "detail" in answer.json()) == (405, True)


def test_the_description_lists_every_address_with_words(client: TestClient) -> None:
    described = client.get("/api/openapi.json").json()
    operations = [operation for path in described["paths"].values() for operation in path.values()]
    assert all(operation["summary"] and operation["description"] for operation in operations)


@pytest.mark.parametrize(
    ("path", "method", "statuses"),
    [
        ("/builds/{build_id}", "put", {"200", "400", "403", "404", "412", "413", "421", "422", "428"}),
        ("/builds/{build_id}/restore", "post", {"200", "400", "403", "404", "409", "421", "422"}),
        ("/plan", "post", {"200", "400", "403", "413", "421", "422"}),
    ],
)
def test_the_description_lists_every_refusal(client: TestClient, path: str, method: str, statuses: set[str]) -> None:
    assert set(client.get("/api/openapi.json").json()["paths"][path][method]["responses"]) == statuses


def test_every_reference_in_the_description_leads_somewhere(client: TestClient) -> None:
    text = client.get("/api/openapi.json").text
    known = set(json.loads(text)["components"]["schemas"])
    named = {piece.split('"')[0] for piece in text.split("#/components/schemas/")[1:]}
    assert named <= known


@pytest.mark.parametrize("address", ["/docs", "/redoc", "/openapi.json", "/api/docs", "/api/redoc"])
def test_there_is_no_page_that_loads_scripts_from_elsewhere(client: TestClient, address: str) -> None:
    assert client.get(address).status_code == 404


def test_a_large_answer_is_compressed(client: TestClient) -> None:
    assert client.get("/api/catalogue", headers={"Accept-Encoding": "gzip"}).headers["Content-Encoding"] == "gzip"


@pytest.mark.parametrize("example", sorted(path.stem for path in Settings().examples_folder.glob("*.json")))
def test_every_example_goes_through_the_interface_unchanged(client: TestClient, example: str) -> None:
    text = (Settings().examples_folder / f"{example}.json").read_text(encoding="utf-8")
    address = client.post("/api/builds", content=text).headers["Location"]
    assert read_build(client.get(address).content) == read_build(text)


def test_a_fixed_file_is_asked_about_again(client: TestClient) -> None:
    assert client.get("/static/icon.svg").headers["Cache-Control"] == "no-cache"


def test_a_file_whose_address_names_its_version_is_kept(client: TestClient) -> None:
    vendored: list[Path] = sorted(Settings().static.glob("vendor/*/*.js"))
    address = "/static/" + vendored[0].relative_to(Settings().static).as_posix()
    assert "immutable" in client.get(address).headers["Cache-Control"]


def test_the_browsers_own_request_for_an_icon_is_answered(client: TestClient) -> None:
    assert client.get("/favicon.ico").content[:4] == b"\x00\x00\x01\x00"
