"""A plan without the planner: a document and a catalogue, shipped or kept, give the plan that the page would show."""

from dataclasses import replace
from pathlib import Path

from server.documents.build_json import read_build
from server.documents.layout_json import read_layout
from server.documents.plan_json import write_plan
from server.domain.errors import InvalidInputError
from server.domain.layout_rules import layout_problems
from server.domain.model.catalogue import Catalogue, SupplyLayout
from server.domain.plan import plan
from server.services.records import check
from server.store.catalogue_install import install_catalogue
from server.store.catalogue_memory import catalogue_from_files
from server.store.catalogue_read import read_catalogue
from server.store.database import open_database, reading


def shipped_catalogue(folder: Path) -> Catalogue:
    """The catalogue of a folder of catalogue files.

    Raises:
        CatalogueError: a catalogue file breaks a rule.
    """
    return catalogue_from_files(folder)


def kept_catalogue(database: Path, folder: Path) -> Catalogue:
    """The catalogue of a data folder, with the builder's own prices, measurements and layouts.

    Args:
        database: The folder's database; it must exist. One of an earlier release is brought up to date first, as the
            planner would on its next start.
        folder: Folder of the catalogue files.

    Raises:
        DatabaseError: it cannot be read as one.
        CatalogueError: a catalogue file breaks a rule.
    """
    engine = open_database(database)
    try:
        install_catalogue(engine, folder)
        with reading(engine) as session:
            return read_catalogue(session)
    finally:
        engine.dispose()


def plan_text(document: bytes, catalogue: Catalogue, layout: SupplyLayout | None = None) -> str:
    """The plan of a build document, as JSON text.

    Args:
        document: The build document.
        catalogue: The shipped catalogue.
        layout: A recorded layout to plan with in place of the one that the build names; from ``layout_of_document``.

    Raises:
        InvalidInputError: the document cannot be accepted.
    """
    build = read_build(document)
    if layout is not None:
        build = replace(build, supply=layout.id, supply_version=layout.version)
        catalogue = replace(catalogue, supplies={**catalogue.supplies, layout.id: layout}, earlier={})
    check(build, catalogue)
    return write_plan(plan(build, catalogue))


def layout_of_document(document: bytes, catalogue: Catalogue) -> SupplyLayout:
    """The supply layout of a document, held to everything that a saved layout is held to.

    Args:
        document: The layout document, readings included.
        catalogue: For its housings.

    Raises:
        InvalidInputError: the document cannot be accepted.
    """
    layout = read_layout(document)
    if wrong := layout_problems(layout, catalogue):
        raise InvalidInputError(wrong)
    return layout


def layout_note(document: bytes, layout: SupplyLayout) -> str:
    """What to mind about planning a build with a recorded layout, in one line; empty when there is nothing.

    Args:
        document: The build document, which has been accepted.
        layout: The layout that it was planned with.
    """
    build, words = read_build(document), []
    here = f"'{layout.name}', version {layout.version}"
    if build.supply and build.supply != layout.id:
        words.append(f"The build names the supply layout {build.supply}; it is planned with {here}.")
    elif build.supply and build.supply_version != layout.version:
        words.append(f"The build names version {build.supply_version} of its supply layout; it is planned with {here}.")
    if layout.readings:
        words.append("The layout's readings count: they must have been taken on this very supply, type and unit.")
    return " ".join(words)
