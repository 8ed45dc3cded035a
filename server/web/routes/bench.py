"""What is taken to the bench: cards, lists, tools and findings, which only read."""

from decimal import Decimal
from typing import Annotated

from fastapi import APIRouter, Request
from fastapi.responses import Response

from server.web.screen import Desk, Posted, Scene, panel, posted, saved
from server.web.views.cards import CardsPanel, cards_panel
from server.web.views.lists import (
    BuysPanel,
    CutsPanel,
    FindingsPanel,
    ToolsPanel,
    buys_panel,
    cuts_panel,
    findings_panel,
    tools_panel,
)

router = APIRouter(prefix="/builds/{build_id}")
DEAREST = Decimal(100_000)


@panel("cards", lasting=True)
def cards(scene: Scene) -> CardsPanel:
    """The view of the cable cards."""
    return cards_panel(scene.opened)


@panel("cuts", lasting=True)
def cuts(scene: Scene) -> CutsPanel:
    """The view of the cut list."""
    return cuts_panel(scene.opened)


@panel("buys", lasting=True)
def buys(scene: Scene) -> BuysPanel:
    """The view of the buy list."""
    return buys_panel(scene.opened, scene.base, scene.fields)


@panel("tools", lasting=True)
def tools(scene: Scene) -> ToolsPanel:
    """The view of the tools."""
    return tools_panel(scene.opened)


@panel("findings", lasting=True)
def findings(scene: Scene) -> FindingsPanel:
    """The view of the findings."""
    return findings_panel(scene.opened)


@router.post("/prices/{pack_id}")
def price(
    request: Request, desk: Desk, build_id: str, pack_id: str, form: Annotated[Posted, posted("buys")]
) -> Response:
    """An own price for a pack, or the usual one again."""
    read = form.reader()
    name = f"prices.{pack_id}"
    own = read.number(name, DEAREST) if read.word(name) else None
    read.done()
    return saved(request, desk.set_price(build_id, read.base(), pack_id, own), form)
