"""The planner answers this computer's own pages and programs, and nobody else."""

import asyncio
from collections.abc import Iterable, Mapping

import pytest
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import PlainTextResponse
from starlette.routing import Route
from starlette.testclient import TestClient
from starlette.types import Message

from server.web.security import Security

HOME = "http://127.0.0.1:8765"


async def _size(request: Request) -> PlainTextResponse:
    return PlainTextResponse(f"got {len(await request.body())}")


def client(*, most_body_bytes: int = 1000) -> TestClient:
    """A browser in front of a small application inside the guard."""
    inner = Starlette(routes=[Route("/", _size, methods=["GET", "POST", "PUT", "DELETE"]), Route("/api/x", _size)])
    return TestClient(Security(inner, most_body_bytes=most_body_bytes), base_url=HOME)


@pytest.mark.parametrize("host", ["127.0.0.1", "127.0.0.1:8765", "localhost", "LOCALHOST:99", "[::1]", "[::1]:8765"])
def test_every_name_of_this_computer_is_answered(host: str) -> None:
    assert client().get("/", headers={"Host": host}).status_code == 200


@pytest.mark.parametrize(
    "host",
    [
        "evil.example",
        "127.0.0.1.evil.example",
        "localhost.evil.example:8765",
        "evil.example:127",
        "",
        "[::2]",
        "127.0.0.1:x",
        "[::1]x",
        "0.0.0.0",
        "a@localhost",
    ],
)
def test_a_foreign_host_name_is_refused(host: str) -> None:
    # A foreign name may be made to resolve to this computer (DNS rebinding); its pages must learn nothing.
    assert client().get("/", headers={"Host": host}).status_code == 421


def test_a_request_without_a_host_is_refused() -> None:
    assert asyncio.run(_answer([], {}))[0] == 421


def test_a_request_with_two_hosts_is_refused() -> None:
    headers = [(b"host", b"localhost"), (b"host", b"evil.example")]
    assert asyncio.run(_answer(headers, {}))[0] == 421


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE"])
def test_a_change_asked_for_by_another_site_is_refused(method: str, site: str) -> None:
    # Another port of this computer is the same site and still somebody else's page.
    assert client().request(method, "/", headers={"Sec-Fetch-Site": site}).status_code == 403


@pytest.mark.parametrize(
    "origin", ["http://evil.example", "http://127.0.0.1:9000", "https://127.0.0.1:8765", "null", "", "x"]
)
def test_a_change_from_a_foreign_origin_is_refused(origin: str) -> None:
    assert client().post("/", headers={"Origin": origin}).status_code == 403


@pytest.mark.parametrize(
    "headers",
    [
        {"Sec-Fetch-Site": "same-origin", "Origin": HOME},
        # Browsers send the origin "null" with a form under Referrer-Policy: no-referrer, even to its own site.
        {"Sec-Fetch-Site": "same-origin", "Origin": "null"},
        {"Origin": HOME},
        {"Origin": "http://127.0.0.1:8765".upper()},
        {},
    ],
)
def test_a_change_from_the_planners_own_page_or_a_program_is_answered(headers: Mapping[str, str]) -> None:
    assert client().post("/", headers=dict(headers)).status_code == 200


def test_reading_from_a_link_on_another_site_is_answered() -> None:
    # Following a link to a shared build is fine; a page elsewhere still cannot read the answer.
    assert client().get("/", headers={"Sec-Fetch-Site": "cross-site"}).status_code == 200


def test_every_answer_forbids_framing_and_foreign_content() -> None:
    headers = client().get("/").headers
    assert headers["Content-Security-Policy"] == (
        "default-src 'self'; img-src 'self' data:; style-src 'self'; script-src 'self'; "
        "base-uri 'none'; form-action 'self'; frame-ancestors 'none'"
    )


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("X-Content-Type-Options", "nosniff"),
        ("Referrer-Policy", "no-referrer"),
        ("Cross-Origin-Resource-Policy", "same-origin"),
    ],
)
def test_every_answer_carries_the_guard_headers(name: str, value: str) -> None:
    assert client().get("/missing").headers[name] == value


def test_a_refusal_carries_the_guard_headers_too() -> None:
    assert "Content-Security-Policy" in client().get("/", headers={"Host": "evil.example"}).headers


def test_a_body_of_the_greatest_size_is_answered() -> None:
    assert client(most_body_bytes=1000).post("/", content=b"x" * 1000).text == "got 1000"


def test_a_body_beyond_the_greatest_size_is_refused() -> None:
    assert client(most_body_bytes=1000).post("/", content=b"x" * 1001).status_code == 413


def _chunks(size: int) -> Iterable[bytes]:
    for _ in range(size // 100):
        yield b"x" * 100


def test_a_body_in_chunks_of_the_greatest_size_is_answered() -> None:
    assert client(most_body_bytes=1000).post("/", content=_chunks(1000)).text == "got 1000"


def test_a_body_in_chunks_beyond_the_greatest_size_is_refused() -> None:
    # No length is declared, so the size shows only while it is read.
    headers = [(b"host", b"localhost"), (b"transfer-encoding", b"chunked")]
    assert asyncio.run(_answer(headers, {"parts": [b"x" * 600, b"x" * 600]}))[0] == 413


@pytest.mark.parametrize("length", ["-1", "1e3", "ten", "٣", "9" * 400])
def test_a_length_that_is_no_number_or_absurd_is_refused(length: str) -> None:
    headers = [(b"host", b"localhost"), (b"content-length", length.encode())]
    assert asyncio.run(_answer(headers, {}))[0] in {400, 413}


def test_the_api_is_refused_in_json() -> None:
    assert client().get("/api/x", headers={"Host": "evil.example"}).json()["problems"] == []


def test_a_web_socket_is_refused() -> None:
    sent: list[Message] = []

    async def talk() -> None:
        async def receive() -> Message:
            return {"type": "websocket.connect"}

        async def send(message: Message) -> None:
            sent.append(message)

        await Security(Starlette())({"type": "websocket", "headers": [(b"host", b"localhost")]}, receive, send)

    asyncio.run(talk())
    assert [message["type"] for message in sent] == ["websocket.close"]


async def _answer(headers: list[tuple[bytes, bytes]], body: Mapping[str, list[bytes]]) -> tuple[int, bytes]:
    """Status and body of the answer to a POST with exactly these headers, which no client library would send."""
    waiting = list(body.get("parts", [b""]))
    sent: list[Message] = []

    async def receive() -> Message:
        part = waiting.pop(0)
        return {"type": "http.request", "body": part, "more_body": bool(waiting)}

    async def send(message: Message) -> None:
        sent.append(message)

    inner = Starlette(routes=[Route("/", _size, methods=["POST"])])
    scope = {
        "type": "http",
        "http_version": "1.1",
        "method": "POST",
        "scheme": "http",
        "path": "/",
        "raw_path": b"/",
        "query_string": b"",
        "root_path": "",
        "headers": headers,
    }
    await Security(inner, most_body_bytes=1000)(scope, receive, send)
    return sent[0]["status"], b"".join(message.get("body", b"") for message in sent[1:])
