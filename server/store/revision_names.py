"""Names that the builder gives to revisions. They stand beside the revisions, which never change."""

from sqlmodel import Session, select

from server.domain.errors import InvalidInputError, NotFoundError, Problem
from server.store.build_tables import RevisionNameRow
from server.store.builds import revision

NAME_MOST = 80
"""Characters of a name."""


def name_revision(session: Session, build_id: str, number: int, name: str, *, at: str) -> None:
    """Give a revision a name, or another one.

    Args:
        session: A session from ``writing``.
        build_id: Id of the build.
        number: Number of the revision.
        name: Its name, without blanks around it.
        at: The moment, ISO 8601 text.

    Raises:
        InvalidInputError: the name is empty or too long.
        NotFoundError: there is no such build or revision, or the build is deleted.
    """
    revision(session, build_id, number)
    if not name:
        raise InvalidInputError((Problem(f"names.{number}", "a name is needed, such as 'agreed with client'"),))
    if len(name) > NAME_MOST:
        text = f"a name has at most {NAME_MOST} characters, and this one has {len(name)}"
        raise InvalidInputError((Problem(f"names.{number}", text),))
    session.merge(RevisionNameRow(build_id=build_id, number=number, name=name, named_at=at))
    session.flush()


def unname_revision(session: Session, build_id: str, number: int) -> None:
    """Take a revision's name away; the revision stays.

    Args:
        session: A session from ``writing``.
        build_id: Id of the build.
        number: Number of the revision.

    Raises:
        NotFoundError: there is no such build or revision, or it has no name.
    """
    revision(session, build_id, number)
    row = session.get(RevisionNameRow, (build_id, number))
    if row is None:
        raise NotFoundError(f"revision {number} of build {build_id} has no name")
    session.delete(row)
    session.flush()


def revision_names(session: Session, build_id: str) -> dict[int, str]:
    """Names of a build's revisions by their number, the oldest first.

    Args:
        session: A session from ``reading`` or ``writing``.
        build_id: Id of the build.
    """
    rows = session.exec(select(RevisionNameRow).where(RevisionNameRow.build_id == build_id))
    return {row.number: row.name for row in sorted(rows, key=lambda row: row.number)}
