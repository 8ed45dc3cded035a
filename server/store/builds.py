"""Builds and their revisions. A revision is written once and never changes; documents are opaque text here."""

import json
import zlib
from dataclasses import dataclass

from sqlmodel import Session, select

from server.domain.errors import ConflictError, InvalidInputError, NotFoundError, Problem
from server.store.build_tables import BuildRow, RevisionRow

NUMBER_MOST = 2**63


@dataclass(frozen=True, slots=True)
class StoredRevision:
    """One saved state of a build."""

    build_id: str
    number: int
    name: str
    saved_at: str
    """Moment of saving, ISO 8601 text."""
    words: tuple[str, ...]
    """What this revision changed, in sentences."""
    document: str
    """The build's document, JSON text."""


@dataclass(frozen=True, slots=True)
class BuildSummary:
    """A build as it stands in a list."""

    build_id: str
    name: str
    revision: int
    """Number of the latest revision."""
    saved_at: str
    """Moment of the latest saving, ISO 8601 text."""


@dataclass(frozen=True, slots=True)
class RevisionSummary:
    """A revision as it stands in a history, without its document."""

    number: int
    name: str
    saved_at: str
    words: tuple[str, ...]


def _words(text: str) -> tuple[str, ...]:
    return tuple(json.loads(text))


def _stored(row: RevisionRow) -> StoredRevision:
    document = zlib.decompress(row.document).decode("utf-8")
    return StoredRevision(row.build_id, row.number, row.name, row.saved_at, _words(row.words), document)


def _summary(row: BuildRow) -> BuildSummary:
    return BuildSummary(row.id, row.name, row.latest, row.saved_at)


def _build(session: Session, build_id: str) -> BuildRow:
    row = session.get(BuildRow, build_id)
    if row is None or row.deleted:
        raise NotFoundError(f"there is no build {build_id}")
    return row


def _add_revision(session: Session, build: BuildRow, document: str, words: tuple[str, ...]) -> StoredRevision:
    row = RevisionRow(
        build_id=build.id,
        number=build.latest,
        name=build.name,
        saved_at=build.saved_at,
        words=json.dumps(words, ensure_ascii=False),
        document=zlib.compress(document.encode("utf-8"), level=6),
    )
    session.add(row)
    session.flush()
    return _stored(row)


def create_build(
    session: Session, build_id: str, *, name: str, document: str, words: tuple[str, ...], saved_at: str
) -> StoredRevision:
    """Save a new build as its revision 1.

    Args:
        session: A session from ``writing``.
        build_id: Id of the build, never used before.
        name: Name of the build.
        document: The build's document, JSON text.
        words: What this revision is, in sentences.
        saved_at: Moment of saving, ISO 8601 text.

    Returns:
        Revision 1.

    Raises:
        InvalidInputError: the id has been used, be it by a deleted build.
    """
    if session.get(BuildRow, build_id) is not None:
        raise InvalidInputError((Problem("id", f"a build {build_id} exists already"),))
    build = BuildRow(id=build_id, name=name, latest=1, saved_at=saved_at)
    session.add(build)
    session.flush()
    return _add_revision(session, build, document, words)


def append_revision(
    session: Session,
    build_id: str,
    *,
    expected: int,
    name: str,
    document: str,
    words: tuple[str, ...],
    saved_at: str,
) -> StoredRevision:
    """Save the next revision of a build.

    Args:
        session: A session from ``writing``.
        build_id: Id of the build.
        expected: Number of the revision that the change was made on.
        name: Name of the build.
        document: The build's document, JSON text.
        words: What this revision changes, in sentences.
        saved_at: Moment of saving, ISO 8601 text.

    Returns:
        The new revision.

    Raises:
        NotFoundError: there is no such build, or no revision ``expected`` of it.
        ConflictError: a newer revision than ``expected`` was saved; holds the words of all revisions after it.
    """
    build = _build(session, build_id)
    if not 1 <= expected <= build.latest:
        raise NotFoundError(f"build {build_id} has no revision {expected}")
    if expected != build.latest:
        later = [item for item in revisions(session, build_id) if item.number > expected]
        raise ConflictError(build.latest, tuple(word for item in later for word in item.words))
    build.name, build.latest, build.saved_at = name, build.latest + 1, saved_at
    session.add(build)
    return _add_revision(session, build, document, words)


def list_builds(session: Session, search: str = "") -> tuple[BuildSummary, ...]:
    """Builds that are not deleted, the most recently saved first.

    Args:
        session: A session from ``reading`` or ``writing``.
        search: Words that the name must all contain, in any case and order; everything when empty.

    Returns:
        The builds; those saved at the same moment stand in the order of their ids.
    """
    return _listed(session, search, deleted=False)


def list_deleted_builds(session: Session) -> tuple[BuildSummary, ...]:
    """Builds that can be restored, the most recently saved first.

    Args:
        session: A session from ``reading`` or ``writing``.

    Returns:
        The builds.
    """
    return _listed(session, "", deleted=True)


def _listed(session: Session, search: str, *, deleted: bool) -> tuple[BuildSummary, ...]:
    # SQLite folds the case of ASCII letters only; names are few, so they are compared here.
    wanted = search.casefold().split()
    rows = sorted(session.exec(select(BuildRow).where(BuildRow.deleted == deleted)), key=lambda row: row.id)
    rows.sort(key=lambda row: row.saved_at, reverse=True)
    return tuple(_summary(row) for row in rows if all(word in row.name.casefold() for word in wanted))


def latest_revision(session: Session, build_id: str) -> StoredRevision:
    """The newest revision of a build.

    Args:
        session: A session from ``reading`` or ``writing``.
        build_id: Id of the build.

    Returns:
        The revision with its document.

    Raises:
        NotFoundError: there is no such build, or it is deleted.
    """
    return revision(session, build_id, _build(session, build_id).latest)


def revision(session: Session, build_id: str, number: int) -> StoredRevision:
    """One revision of a build.

    Args:
        session: A session from ``reading`` or ``writing``.
        build_id: Id of the build.
        number: Number of the revision.

    Returns:
        The revision with its document.

    Raises:
        NotFoundError: there is no such build or revision, or the build is deleted.
    """
    _build(session, build_id)
    # A number that SQLite cannot hold is none of a revision.
    row = session.get(RevisionRow, (build_id, number)) if abs(number) < NUMBER_MOST else None
    if row is None:
        raise NotFoundError(f"build {build_id} has no revision {number}")
    return _stored(row)


def revisions(session: Session, build_id: str) -> tuple[RevisionSummary, ...]:
    """History of a build, the oldest first.

    Args:
        session: A session from ``reading`` or ``writing``.
        build_id: Id of the build.

    Returns:
        The revisions without their documents.

    Raises:
        NotFoundError: there is no such build, or it is deleted.
    """
    _build(session, build_id)
    columns = (RevisionRow.number, RevisionRow.name, RevisionRow.saved_at, RevisionRow.words)
    chosen = select(*columns).where(RevisionRow.build_id == build_id).order_by(RevisionRow.number)  # type: ignore[arg-type]
    return tuple(RevisionSummary(number, name, at, _words(words)) for number, name, at, words in session.exec(chosen))


def delete_build(session: Session, build_id: str) -> None:
    """Put a build away; ``restore_build`` brings it back.

    Args:
        session: A session from ``writing``.
        build_id: Id of the build.

    Raises:
        NotFoundError: there is no such build, or it is deleted already.
    """
    build = _build(session, build_id)
    build.deleted = True
    session.add(build)
    session.flush()


def restore_build(session: Session, build_id: str) -> BuildSummary:
    """Bring back a deleted build with all its revisions.

    Args:
        session: A session from ``writing``.
        build_id: Id of the build.

    Returns:
        The build as it stands in the list.

    Raises:
        NotFoundError: no build of that id was deleted.
    """
    build = session.get(BuildRow, build_id)
    if build is None or not build.deleted:
        raise NotFoundError(f"no deleted build is called {build_id}")
    build.deleted = False
    session.add(build)
    session.flush()
    return _summary(build)
