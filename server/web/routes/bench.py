"""What is taken to the bench: cards, lists, tools and findings, which only read."""

from fastapi import APIRouter

from server.web.screen import Scene, panel
from server.web.views.cards import CardsPanel, cards_panel
from server.web.views.lists import (
    CutsPanel,
    FindingsPanel,
    ToolsPanel,
    cuts_panel,
    findings_panel,
    tools_panel,
)

router = APIRouter(prefix="/builds/{build_id}")


@panel("cards", lasting=True)
def cards(scene: Scene) -> CardsPanel:
    """The view of the cable cards."""
    return cards_panel(scene.opened)


@panel("cuts", lasting=True)
def cuts(scene: Scene) -> CutsPanel:
    """The view of the cut list."""
    return cuts_panel(scene.opened)


@panel("tools", lasting=True)
def tools(scene: Scene) -> ToolsPanel:
    """The view of the tools."""
    return tools_panel(scene.opened)


@panel("findings", lasting=True)
def findings(scene: Scene) -> FindingsPanel:
    """The view of the findings."""
    return findings_panel(scene.opened)
