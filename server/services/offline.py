"""A plan without a database: a document and the shipped catalogue give the plan that a fresh planner would show."""

from pathlib import Path

from server.documents.build_json import read_build
from server.documents.plan_json import write_plan
from server.domain.plan import plan
from server.services.records import check
from server.store.catalogue_memory import catalogue_from_files


def plan_text(document: bytes, catalogue_folder: Path) -> str:
    """The plan of a build document, as JSON text.

    Args:
        document: The build document.
        catalogue_folder: Folder of the catalogue's files.

    Raises:
        InvalidInputError: the document cannot be accepted.
        CatalogueError: a catalogue file breaks a rule.
    """
    build, catalogue = read_build(document), catalogue_from_files(catalogue_folder)
    check(build, catalogue)
    return write_plan(plan(build, catalogue))
