"""Paths that the builder kept under a name, to start other routes from."""

import json
import secrets
from collections.abc import Sequence

from sqlmodel import Session, col, select

from server.domain.errors import InvalidInputError, NotFoundError, Problem
from server.domain.model.route import RouteShape, RouteStep
from server.store.shape_tables import OwnShapeRow

NAME_MOST = 80
SOURCE = "kept by the builder"


def own_shapes(session: Session) -> dict[str, RouteShape]:
    """The builder's own paths by id, the first kept first.

    Args:
        session: A session from ``reading`` or ``writing``.
    """
    rows = session.exec(select(OwnShapeRow).order_by(col(OwnShapeRow.kept_at), col(OwnShapeRow.id)))
    return {row.id: RouteShape(row.id, row.name, _steps(row.steps), own=True, source=SOURCE) for row in rows}


def keep_shape(session: Session, name: str, steps: Sequence[RouteStep], *, kept_at: str) -> RouteShape:
    """Keep a path under a name.

    Args:
        session: A session from ``writing``.
        name: What the builder calls it; told from other own paths without regard to capitals.
        steps: Its legs and bends, at least one.
        kept_at: Moment of keeping it, ISO 8601 text.

    Returns:
        The path as it is kept.

    Raises:
        InvalidInputError: there is no name or no step, or another own path is called the same; the problem's field is
            ``shape_name``.
    """
    called = " ".join(name.split())
    taken = {shape.name.casefold() for shape in own_shapes(session).values()}
    wrong = ""
    if not called:
        wrong = "give the path a name to keep it under"
    elif len(called) > NAME_MOST:
        wrong = f"{len(called)} characters; at most {NAME_MOST}"
    elif called.casefold() in taken:
        wrong = f"you keep a path called '{called}' already"
    elif not steps:
        wrong = "there are no legs and bends to keep yet"
    if wrong:
        raise InvalidInputError((Problem("shape_name", wrong),))
    shape = RouteShape(f"own-{secrets.token_hex(6)}", called, tuple(steps), own=True, source=SOURCE)
    session.add(OwnShapeRow(id=shape.id, name=called, steps=_written(steps), kept_at=kept_at))
    session.flush()
    return shape


def remove_shape(session: Session, shape_id: str) -> str:
    """Let go of an own path; routes that started from it hold their own steps and stay.

    Args:
        session: A session from ``writing``.
        shape_id: Id of the path.

    Returns:
        What it was called.

    Raises:
        NotFoundError: the builder keeps no such path.
    """
    row = session.get(OwnShapeRow, shape_id)
    if row is None:
        raise NotFoundError("You keep no such path.")
    name = row.name
    session.delete(row)
    session.flush()
    return name


def shapes_stamp(session: Session) -> list[list[str]]:
    """What the own paths hold, for a stamp of the whole catalogue.

    Args:
        session: A session from ``reading`` or ``writing``.
    """
    rows = session.exec(select(OwnShapeRow).order_by(OwnShapeRow.id))
    return [[row.id, row.name, row.steps, row.kept_at] for row in rows]


def _written(steps: Sequence[RouteStep]) -> str:
    return json.dumps([[step.kind, step.length_mm, step.angle_deg, step.radius_mm] for step in steps])


def _steps(text: str) -> tuple[RouteStep, ...]:
    return tuple(RouteStep(kind, length, angle, radius) for kind, length, angle, radius in json.loads(text))
