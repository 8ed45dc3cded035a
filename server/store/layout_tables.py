"""Tables of the builder's own supply layouts, their versions and the readings taken. Rows never leave this room."""

from sqlmodel import Field, SQLModel


class LayoutRow(SQLModel, table=True):
    """An own layout: what all its versions have in common."""

    __tablename__ = "own_layout"
    id: str = Field(primary_key=True)
    name: str
    latest: int
    saved_at: str
    deleted: bool = False


class LayoutVersionRow(SQLModel, table=True):
    """One saved state of an own layout; written once and never changed."""

    __tablename__ = "own_layout_version"
    layout_id: str = Field(primary_key=True, foreign_key="own_layout.id")
    number: int = Field(primary_key=True)
    saved_at: str
    words: str
    """JSON list of sentences that say what this version changed."""
    name: str
    note: str
    source: str
    edition: str
    limits_a: str
    """JSON object of the greatest current by net. [A]"""
    ports: str
    """JSON list of ports: id, label, housing, uses, and the net of each cavity in order."""


class LayoutReadingRow(SQLModel, table=True):
    """One entry of the meter's record; the newest of a cavity holds, and one without values clears it."""

    __tablename__ = "own_layout_reading"
    entry: int | None = Field(default=None, primary_key=True)
    layout_id: str = Field(foreign_key="own_layout.id", index=True)
    taken_at: str
    port: str
    cavity: str
    on_v: float | None = None
    standby_v: float | None = None
    to_ground: bool | None = None
    settled: str = ""


class LayoutImportedRow(SQLModel, table=True):
    """A reading that came with a document and counts for nothing until it is said to be of this very supply."""

    __tablename__ = "own_layout_imported"
    layout_id: str = Field(primary_key=True, foreign_key="own_layout.id")
    port: str = Field(primary_key=True)
    cavity: str = Field(primary_key=True)
    position: int
    """Place in the document's order."""
    on_v: float | None = None
    standby_v: float | None = None
    to_ground: bool | None = None
    settled: str = ""


NEVER_CHANGES = (
    "CREATE TRIGGER IF NOT EXISTS layout_version_never_changes BEFORE UPDATE ON own_layout_version "
    "BEGIN SELECT RAISE(ABORT, 'a saved version of a layout never changes'); END",
    "CREATE TRIGGER IF NOT EXISTS layout_version_never_goes BEFORE DELETE ON own_layout_version "
    "BEGIN SELECT RAISE(ABORT, 'a saved version of a layout is never removed'); END",
    "CREATE TRIGGER IF NOT EXISTS layout_reading_never_changes BEFORE UPDATE ON own_layout_reading "
    "BEGIN SELECT RAISE(ABORT, 'a reading once taken never changes'); END",
    "CREATE TRIGGER IF NOT EXISTS layout_reading_never_goes BEFORE DELETE ON own_layout_reading "
    "BEGIN SELECT RAISE(ABORT, 'a reading once taken is never removed'); END",
)
"""Statements by which the database itself refuses to change a saved version or a reading."""
