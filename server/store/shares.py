"""Share links: a secret word's hash that leads to one build. The word itself is never stored."""

from dataclasses import dataclass

from sqlmodel import Session, select

from server.domain.errors import NotFoundError
from server.store.build_tables import BuildRow, ShareRow
from server.store.builds import latest_revision


@dataclass(frozen=True, slots=True)
class Share:
    """A share link that is in force."""

    build_id: str
    token_hash: str
    created_at: str
    """Moment of making, ISO 8601 text."""


def create_share(session: Session, build_id: str, token_hash: str, created_at: str) -> Share:
    """Make a share link.

    Args:
        session: A session from ``writing``.
        build_id: Id of the build to be read.
        token_hash: Hash of the link's secret word.
        created_at: Moment of making, ISO 8601 text.

    Returns:
        The link.

    Raises:
        NotFoundError: there is no such build, or it is deleted.
    """
    latest_revision(session, build_id)
    session.add(ShareRow(token_hash=token_hash, build_id=build_id, created_at=created_at))
    session.flush()
    return Share(build_id, token_hash, created_at)


def find_share(session: Session, token_hash: str) -> str:
    """The build that a share link leads to.

    Args:
        session: A session from ``reading`` or ``writing``.
        token_hash: Hash of the link's secret word.

    Returns:
        Id of the build.

    Raises:
        NotFoundError: no such link is in force, or its build is deleted; the message does not tell which.
    """
    share = session.get(ShareRow, token_hash)
    build = None if share is None or share.revoked else session.get(BuildRow, share.build_id)
    if build is None or build.deleted:
        raise NotFoundError("this share link leads nowhere")
    return build.id


def list_shares(session: Session, build_id: str) -> tuple[Share, ...]:
    """Share links of a build that are in force, the oldest first.

    Args:
        session: A session from ``reading`` or ``writing``.
        build_id: Id of the build.

    Returns:
        The links.
    """
    chosen = select(ShareRow).where(ShareRow.build_id == build_id)
    rows = session.exec(chosen.order_by(ShareRow.created_at, ShareRow.token_hash))
    return tuple(Share(row.build_id, row.token_hash, row.created_at) for row in rows if not row.revoked)


def revoke_share(session: Session, build_id: str, token_hash: str) -> None:
    """End a share link for good.

    Args:
        session: A session from ``writing``.
        build_id: Id of the build it belongs to.
        token_hash: Hash of the link's secret word.

    Raises:
        NotFoundError: the build has no such link in force.
    """
    share = session.get(ShareRow, token_hash)
    if share is None or share.revoked or share.build_id != build_id:
        raise NotFoundError("this build has no such share link")
    share.revoked = True
    session.add(share)
    session.flush()
