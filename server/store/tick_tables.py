"""Table of the ticks that the bench screen sent. Rows never leave this room."""

from sqlmodel import Field, SQLModel


class TickRow(SQLModel, table=True):
    """One tick and what became of it; written once, in the transaction of its ledger entries, and never changed."""

    __tablename__ = "bench_ticks"
    id: str = Field(primary_key=True)
    """UUID that the device made; the same tick sent again is found by it."""
    build_id: str
    device: str
    n: int
    """Place in the order of the device."""
    kind: str
    task: str
    state: str
    """``written`` or ``refused``."""
    message: str
    first: int
    """Number of its first ledger entry; 0 where it wrote none."""
    last: int
    """Number of its last ledger entry; those of one tick follow each other."""
    told_at: str
    """Moment on the device's clock, as it told it."""
    at: str
    """Moment of writing, ISO 8601 text."""


NEVER_CHANGES = (
    "CREATE TRIGGER IF NOT EXISTS tick_never_changes BEFORE UPDATE ON bench_ticks "
    "BEGIN SELECT RAISE(ABORT, 'a tick of the bench never changes'); END",
    "CREATE TRIGGER IF NOT EXISTS tick_never_goes BEFORE DELETE ON bench_ticks "
    "BEGIN SELECT RAISE(ABORT, 'a tick of the bench is never removed'); END",
    "CREATE INDEX IF NOT EXISTS tick_by_entry ON bench_ticks (first)",
)
"""Statements by which the database itself refuses to change a tick, and finds one by its entries."""
