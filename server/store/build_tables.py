"""Tables of builds, their revisions and their share links. Rows never leave this room."""

from sqlmodel import Field, SQLModel


class BuildRow(SQLModel, table=True):
    """A build: what all its revisions have in common."""

    __tablename__ = "build"
    id: str = Field(primary_key=True)
    name: str
    latest: int
    saved_at: str
    deleted: bool = False


class RevisionRow(SQLModel, table=True):
    """One saved state of a build; written once and never changed."""

    __tablename__ = "build_revision"
    build_id: str = Field(primary_key=True, foreign_key="build.id")
    number: int = Field(primary_key=True)
    name: str
    saved_at: str
    words: str
    """JSON list of sentences that say what this revision changed."""
    document: bytes
    """The build's document, UTF-8, compressed with zlib."""


class RevisionNameRow(SQLModel, table=True):
    """What the builder calls a revision; it can be taken away, and the revision stays as it is."""

    __tablename__ = "build_revision_name"
    build_id: str = Field(primary_key=True, foreign_key="build.id")
    number: int = Field(primary_key=True)
    name: str
    named_at: str


class ShareRow(SQLModel, table=True):
    """A link by which a build can be read by someone else."""

    __tablename__ = "build_share"
    token_hash: str = Field(primary_key=True)
    build_id: str = Field(foreign_key="build.id", index=True)
    created_at: str
    revoked: bool = False


NEVER_CHANGES = (
    "CREATE TRIGGER IF NOT EXISTS revision_never_changes BEFORE UPDATE ON build_revision "
    "BEGIN SELECT RAISE(ABORT, 'a saved revision never changes'); END",
    "CREATE TRIGGER IF NOT EXISTS revision_never_goes BEFORE DELETE ON build_revision "
    "BEGIN SELECT RAISE(ABORT, 'a saved revision is never removed'); END",
)
"""Statements by which the database itself refuses to change a saved revision."""
