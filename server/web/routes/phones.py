"""Other devices at the bench: paired, listed and forgotten at this computer; the form of a device to be paired."""

from collections.abc import Callable, Coroutine
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Request
from fastapi.responses import RedirectResponse, Response
from fastapi.routing import APIRoute

from server.domain.errors import InvalidInputError
from server.services.phones import PhoneDesk
from server.web import rendering
from server.web.devices import COOKIE, COOKIE_SECONDS, DEVICE, from_this_computer, own_path
from server.web.forms import Typed
from server.web.screen import Posted, address_of, posted
from server.web.views.phones import pair_page, phones_page

_MESSAGES = {
    "forgotten": "Forgotten: that device is locked out from now on.",
    "withdrawn": "The number is void.",
}


class _PairRoute(APIRoute):
    """A route whose refused form is answered by the same page, with what was typed and the message beside its field."""

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        inner = super().get_route_handler()

        async def handler(request: Request) -> Response:
            try:
                return await inner(request)
            except InvalidInputError as error:
                form: Posted = request.state.posted
                typed = form.typed.with_problems(error.problems)
                return _pair_page(request, form.typed.first("onward", "/"), typed=typed)

        return handler


router = APIRouter(route_class=_PairRoute)


def phones_of(request: Request) -> PhoneDesk:
    """The desk of this application that knows other devices."""
    phones: PhoneDesk = request.app.state.phones
    return phones


Phones = Annotated[PhoneDesk, Depends(phones_of)]


@router.get("/phones")
def phones(request: Request, desk: Phones, said: str = "") -> Response:
    """Every paired device, and the way to pair one more."""
    view = phones_page(
        desk.devices(),
        desk.open_number(),
        on=desk.on,
        address=address_of(request),
        paused=desk.paused_until(),
        message=_MESSAGES.get(said, ""),
    )
    return rendering.page("pages/phones.html", view=view)


@router.post("/phones/number")
def make_number(desk: Phones) -> Response:
    """A new pairing number."""
    if desk.on:
        desk.make_number()
    return RedirectResponse("/phones#number-h", status_code=303)


@router.post("/phones/number/withdraw")
def withdraw_number(desk: Phones) -> Response:
    """The open pairing number made void."""
    desk.withdraw_number()
    return RedirectResponse("/phones?said=withdrawn", status_code=303)


@router.post("/phones/{device}/forget")
def forget(desk: Phones, device: str) -> Response:
    """A device that may not use the planner any more."""
    desk.forget(device)
    return RedirectResponse("/phones?said=forgotten", status_code=303)


@router.get("/pair")
def look(request: Request, number: str = "", onward: str = "/") -> Response:
    """The form of a device that is to be paired; a code read by its camera fills the number in."""
    if from_this_computer(request.scope) or not phones_of(request).on:
        return RedirectResponse("/phones", status_code=303)
    if request.scope.get(DEVICE):
        return RedirectResponse(own_path(onward), status_code=303)
    return _pair_page(request, onward, number=number)


@router.post("/pair")
def pair(request: Request, desk: Phones, form: Annotated[Posted, posted("pair")]) -> Response:
    """The device paired, and on to where it wanted."""
    if not desk.on or request.scope.get(DEVICE):
        return RedirectResponse("/", status_code=303)
    read = form.reader()
    paired = desk.pair(read.word("number"), read.word("name"))
    response = RedirectResponse(own_path(form.typed.first("onward", "/")), status_code=303)
    response.set_cookie(COOKIE, paired.token, max_age=COOKIE_SECONDS, path="/", httponly=True, samesite="lax")
    return response


def _pair_page(request: Request, onward: str, *, number: str = "", typed: Typed | None = None) -> Response:
    phone = "Mobi" in request.headers.get("user-agent", "")
    view = pair_page(own_path(onward), phone=phone, number=number[:20], typed=typed)
    return rendering.page("pages/pair.html", status=422 if typed else 200, view=view)
