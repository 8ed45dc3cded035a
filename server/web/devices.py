"""What keeps other devices of the workshop's network out until they are paired: one layer around the application.

It stands only in a planner started for phones. This computer is told by the address that its socket came from, which
nobody elsewhere can send, and never by a header. Every other device must show the secret that it got when it was
paired; what manages the pairing stays with this computer.
"""

import re
from http import HTTPStatus
from ipaddress import IPv6Address, ip_address

from fastapi.responses import JSONResponse, PlainTextResponse, Response
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from server.services.phones import PhoneDesk
from server.web import rendering
from server.web.security import is_local_host
from server.web.views.phones import at_the_planner_only, pair_page

COOKIE = "device"
COOKIE_SECONDS = 365 * 24 * 3600
DEVICE = "loomwright.device"
"""Key of the scope under which the paired device stands that sent a request."""
_PATH_MOST = 2000
_OWN_PATH = re.compile(r"/(?![/\\])[^\\\x00-\x20\x7f]*")
_UNKNOWN = "This device is not paired with the planner."
# Under no-referrer a browser sends a form with the origin "null", and outside this computer, where the connection is
# not secure, it does not say by Sec-Fetch-Site where it comes from: the planner could not tell its own forms.
_REFERRER = (b"referrer-policy", b"same-origin")


class Devices:
    """ASGI middleware that lets this computer and paired devices in, and shows every other one how to be paired."""

    def __init__(self, app: ASGIApp, phones: PhoneDesk) -> None:
        """Wraps ``app``.

        Args:
            app: The application inside.
            phones: Knows the paired devices.
        """
        self._app = app
        self._phones = phones

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answers one connection."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        request = Request(scope)
        if from_this_computer(scope):
            # Under another name it is no page of this computer's own, but a name made to lead here, or a go-between.
            answer = self._app if is_local_host(request.headers.get("host", "")) else _misdirected(request)
            await answer(scope, receive, send)
            return
        send = _with_referrer(send)
        if scope["path"].startswith("/static/") or scope["path"] == "/favicon.ico":
            await self._app(scope, receive, send)
            return
        device = await run_in_threadpool(self._phones.known, request.cookies.get(COOKIE, ""))
        if device is None and scope["path"] != "/pair":
            await _unknown(request)(scope, receive, send)
        elif re.match(r"/phones(?:/|$)", scope["path"]):
            view = at_the_planner_only()
            await rendering.page("pages/notice.html", status=403, view=view)(scope, receive, send)
        else:
            await self._app({**scope, DEVICE: device}, receive, send)


def from_this_computer(scope: Scope) -> bool:
    """Whether a request's socket came from this computer itself, by its loopback address.

    Args:
        scope: The request's ASGI scope; its headers are not looked at.
    """
    client = scope.get("client")
    try:
        host = ip_address(client[0]) if client else None
    except ValueError:
        return False
    if isinstance(host, IPv6Address) and host.ipv4_mapped:
        host = host.ipv4_mapped
    return host is not None and host.is_loopback


def own_path(text: str) -> str:
    """A path of this planner to go on to; the first screen for anything that could lead elsewhere.

    Args:
        text: What came along with a request.
    """
    own = len(text) <= _PATH_MOST and _OWN_PATH.fullmatch(text) is not None
    return text if own and not re.match(r"/(?:pair|phones)(?:[/?#]|$)", text) else "/"


def _misdirected(request: Request) -> Response:
    """How this computer is answered when it asks under the name that is meant for other devices."""
    port = f":{request.url.port}" if request.url.port else ""
    return PlainTextResponse(f"On this computer the planner is at http://127.0.0.1{port}/\n", 421)


def _unknown(request: Request) -> Response:
    """How a device that is not paired is answered: in the form that it asked in."""
    headers = request.headers
    asked = headers.get("accept", "") + headers.get("content-type", "")
    if request.url.path.startswith("/api") or request.url.path.endswith(".json") or "json" in asked:
        return JSONResponse({"detail": _UNKNOWN, "problems": []}, HTTPStatus.FORBIDDEN, {"Cache-Control": "no-store"})
    wanted = f"{request.url.path}?{request.url.query}" if request.url.query else request.url.path
    onward = own_path(wanted) if request.method in {"GET", "HEAD"} else "/"
    view = pair_page(onward, phone="Mobi" in headers.get("user-agent", ""))
    response = rendering.page("pages/pair.html", status=HTTPStatus.FORBIDDEN, view=view)
    if headers.get("HX-Request") == "true":
        # A page that was open when the device was forgotten: the whole of it gives way, not one panel.
        response.headers["HX-Refresh"] = "true"
    return response


def _with_referrer(send: Send) -> Send:
    async def send_with_referrer(message: Message) -> None:
        if message["type"] == "http.response.start":
            message = {**message, "headers": [*message.get("headers", ()), _REFERRER]}
        await send(message)

    return send_with_referrer
