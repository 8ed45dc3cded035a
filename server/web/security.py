"""What keeps a planner on this computer from being driven by a page elsewhere: one layer around the application.

A browser sends requests to ``127.0.0.1`` on behalf of any page it shows. Three rules answer that: the ``Host`` must be
this computer (a foreign name that resolves here is refused), a request that changes something must come from the
planner's own pages, and no page of the planner may be framed or load anything from elsewhere.
"""

import json
from collections.abc import Iterable
from urllib.parse import urlsplit

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from server.domain.errors import Problem
from server.web import rendering
from server.web.views.notice import import_refused

MOST_BODY_BYTES = 2_000_000
"""Greatest request body. [byte]"""
_MOST_DRAINED_BYTES = 64_000_000
"""How much of a refused body is still read, so that the sender gets to see the answer. [byte]"""
_SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})
_LOCAL_HOSTS = frozenset({"127.0.0.1", "localhost", "[::1]"})

_POLICY = (
    "default-src 'self'; img-src 'self' data:; style-src 'self'; script-src 'self'; "
    "base-uri 'none'; form-action 'self'; frame-ancestors 'none'"
)
_HEADERS = (
    (b"content-security-policy", _POLICY.encode()),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"cross-origin-opener-policy", b"same-origin"),
)


class Security:
    """ASGI middleware that refuses foreign hosts, cross-site changes and oversized bodies, and sets the headers."""

    def __init__(self, app: ASGIApp, hosts: Iterable[str] = (), most_body_bytes: int = MOST_BODY_BYTES) -> None:
        """Wraps ``app``.

        Args:
            app: The application inside.
            hosts: Host names answered beside those of this computer.
            most_body_bytes: Greatest request body. [byte]
        """
        self._app = app
        self._hosts = _LOCAL_HOSTS | {host.lower() for host in hosts}
        self._most = most_body_bytes

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answers one connection."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
        elif scope["type"] == "http":
            await self._http(scope, receive, _with_headers(send))
        else:
            await send({"type": "websocket.close", "code": 1008})

    async def _http(self, scope: Scope, receive: Receive, send: Send) -> None:
        headers = _Headers(scope)
        if not self._is_known_host(headers):
            await _refuse(
                scope, send, 421, "This address is not the planner's. Open it as http://127.0.0.1 or localhost."
            )
            return
        if scope["method"] not in _SAFE_METHODS and not _is_own_request(scope, headers):
            await _refuse(scope, send, 403, "Refused: the request comes from another site.")
            return
        declared = headers.one("content-length", "0")
        if not (declared.isascii() and declared.isdigit()):
            await _refuse(scope, send, 400, "The Content-Length header is not a number.")
            return
        if int(declared[:20]) > self._most:
            await _drain(receive)
            await self._refuse_size(scope, send)
            return
        if headers.has("transfer-encoding"):
            # No length is declared, so the body is read here first and handed on only when it is small enough.
            body = await _read_body(receive, self._most)
            if body is None:
                await self._refuse_size(scope, send)
                return
            receive = _replay(body, receive)
        await self._app(scope, receive, send)

    async def _refuse_size(self, scope: Scope, send: Send) -> None:
        await _refuse(scope, send, 413, f"The request is larger than {self._most // 1_000_000} MB.")

    def _is_known_host(self, headers: "_Headers") -> bool:
        values = headers.all("host")
        return len(values) == 1 and _host_name(values[0]) in self._hosts


class _Headers:
    """Request headers as text, by small-letter name."""

    def __init__(self, scope: Scope) -> None:
        self._pairs = [(name.decode("latin-1").lower(), value.decode("latin-1")) for name, value in scope["headers"]]

    def all(self, name: str) -> list[str]:
        return [value for key, value in self._pairs if key == name]

    def one(self, name: str, default: str) -> str:
        return next(iter(self.all(name)), default)

    def has(self, name: str) -> bool:
        return bool(self.all(name))


def is_local_host(host: str) -> bool:
    """Whether a ``Host`` header names this computer itself.

    Args:
        host: The header's value.
    """
    return _host_name(host) in _LOCAL_HOSTS


def _host_name(host: str) -> str:
    """Name part of a ``Host`` header, in small letters; empty when the header is malformed."""
    name, colon, port = host.strip().lower().partition("]") if host.startswith("[") else ("", "", "")
    if colon:
        return f"{name}]" if port == "" or (port[0] == ":" and port[1:].isdigit()) else ""
    name, colon, port = host.strip().lower().partition(":")
    return name if not colon or port.isdigit() else ""


def _is_own_request(scope: Scope, headers: _Headers) -> bool:
    """Whether a changing request comes from the planner's own pages, or from a program that is no browser.

    Browsers say so themselves in ``Sec-Fetch-Site``, which no page can forge. It decides alone where it is present,
    because a form sent under ``Referrer-Policy: no-referrer`` carries the origin ``null`` even on its own site.
    """
    if headers.has("sec-fetch-site"):
        return all(value in {"same-origin", "none"} for value in headers.all("sec-fetch-site"))
    own = _origin(f"{scope.get('scheme', 'http')}://{headers.one('host', '')}")
    return own is not None and all(_origin(value) == own for value in headers.all("origin"))


def _origin(text: str) -> tuple[str, str, int] | None:
    try:
        parts = urlsplit(text.strip().lower())
        port = parts.port or (443 if parts.scheme == "https" else 80)
    except ValueError:
        return None
    if not parts.scheme or not parts.hostname:
        return None
    return parts.scheme, parts.hostname, port


async def _read_body(receive: Receive, most: int) -> bytes | None:
    """The whole body; ``None`` when it is larger than ``most`` bytes."""
    chunks: list[bytes] = []
    size = 0
    while True:
        message = await receive()
        if message["type"] != "http.request":
            return b"".join(chunks)
        chunk = message.get("body", b"")
        size += len(chunk)
        if size > most:
            if message.get("more_body"):
                await _drain(receive)
            return None
        chunks.append(chunk)
        if not message.get("more_body"):
            return b"".join(chunks)


async def _drain(receive: Receive) -> None:
    size = 0
    while size <= _MOST_DRAINED_BYTES:
        message = await receive()
        if message["type"] != "http.request" or not message.get("more_body"):
            return
        size += len(message.get("body", b""))


def _replay(body: bytes, receive: Receive) -> Receive:
    handed_on = False

    async def replay() -> Message:
        nonlocal handed_on
        if handed_on:
            return await receive()
        handed_on = True
        return {"type": "http.request", "body": body, "more_body": False}

    return replay


def _with_headers(send: Send) -> Send:
    async def send_with_headers(message: Message) -> None:
        if message["type"] == "http.response.start":
            given = list(message.get("headers", ()))
            names = {name.lower() for name, _ in given}
            message = {**message, "headers": given + [pair for pair in _HEADERS if pair[0] not in names]}
        await send(message)

    return send_with_headers


async def _refuse(scope: Scope, send: Send, status: int, text: str) -> None:
    if scope["path"].startswith("/api"):
        kind, body = b"application/problem+json", json.dumps({"detail": text, "problems": []}).encode()
    elif status == 413 and scope["path"] == "/import":
        # A person chose that file in a form, and is told as for every other file that is not taken.
        view = import_refused((Problem("", text.replace("request", "file")),))
        kind, body = b"text/html; charset=utf-8", rendering.text("pages/notice.html", view=view).encode()
    else:
        kind, body = b"text/plain; charset=utf-8", f"{text}\n".encode()
    headers = [(b"content-type", kind), (b"content-length", str(len(body)).encode())]
    if status == 413:
        headers.append((b"connection", b"close"))
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})
