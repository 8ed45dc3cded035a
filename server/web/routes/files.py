"""Lists and drawings of a build as files."""

from fastapi import APIRouter

from server.web.screen import Scene, panel
from server.web.views.files import FilesPanel, files_panel

router = APIRouter(prefix="/builds/{build_id}")


@panel("files", lasting=True)
def files(scene: Scene) -> FilesPanel:
    """The view of everything that can be saved as a file."""
    return files_panel(scene.opened)
