"""Paths kept under a name: part of the catalogue, behind those that come with the planner, through every update."""

from pathlib import Path

import pytest
from sqlalchemy import Engine

from server.domain.errors import InvalidInputError, NotFoundError
from server.domain.model.catalogue import Catalogue
from server.domain.model.route import RouteShape, RouteStep
from server.store.catalogue_edits import catalogue_stamp
from server.store.catalogue_install import install_catalogue
from server.store.catalogue_read import read_catalogue
from server.store.database import open_database, reading, writing
from server.store.own_shapes import keep_shape, remove_shape

STEPS = (RouteStep("leg", 120.5), RouteStep("left", angle_deg=90, radius_mm=55), RouteStep("twist", 60, -90))
AT = "2025-01-01T00:00:00+00:00"


def kept(engine: Engine, name: str = "Behind the tray") -> RouteShape:
    with writing(engine) as session:
        return keep_shape(session, name, STEPS, kept_at=AT)


def catalogue(engine: Engine) -> Catalogue:
    with reading(engine) as session:
        return read_catalogue(session)


def stamp(engine: Engine) -> str:
    with reading(engine) as session:
        return catalogue_stamp(session)


def test_a_kept_path_comes_back_as_it_was_kept_behind_the_shipped_ones(loaded: Engine) -> None:
    shape = kept(loaded)
    shapes = catalogue(loaded).shapes
    assert shapes[shape.id] == RouteShape(shape.id, "Behind the tray", STEPS, own=True, source="kept by the builder")
    assert [found.own for found in shapes.values()] == [False] * (len(shapes) - 1) + [True]


def test_a_new_catalogue_leaves_own_paths_alone(loaded: Engine, folder: Path) -> None:
    shape = kept(loaded)
    version = folder / "version.csv"
    heading, line = version.read_text().splitlines()[:2]
    version.write_text(f"{heading}\n9999-01-01,{line.partition(',')[2]}\n")
    install_catalogue(loaded, folder)
    assert catalogue(loaded).version == "9999-01-01"
    assert catalogue(loaded).shapes[shape.id].steps == STEPS


def test_the_catalogue_reads_differently_once_a_path_is_kept_and_once_it_is_gone(loaded: Engine) -> None:
    before = stamp(loaded)
    shape = kept(loaded)
    between = stamp(loaded)
    with writing(loaded) as session:
        remove_shape(session, shape.id)
    assert between != before
    assert stamp(loaded) == before


@pytest.mark.parametrize(
    ("name", "steps"), [("  ", STEPS), ("x" * 81, STEPS), ("Empty", ()), ("behind THE tray", STEPS)]
)
def test_a_path_needs_a_name_of_its_own_and_a_step(loaded: Engine, name: str, steps: tuple[RouteStep, ...]) -> None:
    kept(loaded)
    with pytest.raises(InvalidInputError) as refused, writing(loaded) as session:
        keep_shape(session, name, steps, kept_at=AT)
    assert [problem.field for problem in refused.value.problems] == ["shape_name"]


def test_a_path_that_comes_with_the_planner_cannot_be_removed(loaded: Engine) -> None:
    shipped = next(iter(catalogue(loaded).shapes))
    with pytest.raises(NotFoundError), writing(loaded) as session:
        remove_shape(session, shipped)


def test_a_database_from_before_own_paths_gets_their_table(loaded: Engine, database_file: Path) -> None:
    with writing(loaded) as session:
        session.connection().exec_driver_sql("DROP TABLE own_shape")
    loaded.dispose()
    again = open_database(database_file)
    try:
        assert kept(again).name == "Behind the tray"
    finally:
        again.dispose()
