"""A build file that is not taken: every problem at its place, and the way back."""

import json

import pytest
from fastapi.testclient import TestClient
from httpx import Response

from server.web.views.notice import place_words
from tests.web.conftest import Bench
from tests.web.reading import page, words


def send(pages: TestClient, content: bytes) -> Response:
    return pages.post("/import", files={"file": ("build.json", content, "application/json")})


def spoiled(pages: TestClient, bench: Bench) -> bytes:
    """The build with two lengths that no build may have."""
    document = json.loads(pages.get(f"/builds/{bench.id}/export").text)
    for run in document["build"]["runs"][:2]:
        run["route"]["length_mm"] = -1.0
    return json.dumps(document).encode()


def test_every_problem_of_a_refused_file_is_named_with_its_place(pages: TestClient, bench: Bench) -> None:
    answer = send(pages, spoiled(pages, bench))
    told = [words(item) for item in page(answer.text).iter("li")]
    assert answer.status_code == 422
    assert [line.startswith(f"runs, entry {n}, route, length (mm)") for n, line in enumerate(told, 1)] == [True, True]


@pytest.mark.parametrize("content", [b"", b"{", b"\xff", b" " * 2_000_001])
def test_a_refused_file_gets_a_page_with_the_way_back(pages: TestClient, content: bytes) -> None:
    tree = page(send(pages, content).text)
    assert words(next(tree.iter("h1"))) == "This file was not imported"
    assert "/#import-h" in {a.get("href") for a in tree.iter("a")}


def test_a_file_of_more_than_two_megabytes_is_told_so(pages: TestClient) -> None:
    answer = send(pages, b" " * 2_000_001)
    assert (answer.status_code, answer.headers["content-type"]) == (413, "text/html; charset=utf-8")
    assert "larger than 2 MB" in words(next(page(answer.text).iter("main")))


def test_sending_no_file_asks_for_one_on_the_first_screen(pages: TestClient) -> None:
    answer = pages.post("/import", files={"file": ("", b"", "application/octet-stream")})
    assert (answer.status_code, "Choose a build file first." in answer.text) == (422, True)


@pytest.mark.parametrize(
    ("path", "told"),
    [
        ("", "the file as a whole"),
        ("supply", "supply"),
        ("runs.2.route.length_mm", "runs, entry 3, route, length (mm)"),
        ("rates.tax_percent", "rates, tax (per cent)"),
        ("finish.awg_by_use.cpu", "finish, gauge by use, cpu"),
    ],
)
def test_a_place_in_a_file_is_told_in_words(path: str, told: str) -> None:
    assert place_words(path) == told
