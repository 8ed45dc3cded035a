"""Table of the bench ledger, which is only added to. Rows never leave this room."""

from sqlmodel import Field, SQLModel


class LedgerRow(SQLModel, table=True):
    """One entry of the bench ledger; written once and never changed."""

    __tablename__ = "bench_ledger"
    number: int = Field(primary_key=True)
    """Place in the ledger, from 1 without gaps."""
    at: str
    """Moment of writing, ISO 8601 text."""
    kind: str
    """Word for the kind of entry, such as ``cut``."""
    body: str
    """JSON object of the entry's values."""


NEVER_CHANGES = (
    "CREATE TRIGGER IF NOT EXISTS ledger_never_changes BEFORE UPDATE ON bench_ledger "
    "BEGIN SELECT RAISE(ABORT, 'an entry of the bench ledger never changes'); END",
    "CREATE TRIGGER IF NOT EXISTS ledger_never_goes BEFORE DELETE ON bench_ledger "
    "BEGIN SELECT RAISE(ABORT, 'an entry of the bench ledger is never removed'); END",
    "CREATE TRIGGER IF NOT EXISTS ledger_has_no_gaps BEFORE INSERT ON bench_ledger "
    "WHEN NEW.number IS NOT (SELECT coalesce(max(number), 0) + 1 FROM bench_ledger) "
    "BEGIN SELECT RAISE(ABORT, 'entries of the bench ledger follow each other without gaps'); END",
)
"""Statements by which the database itself refuses to change an entry, or to put one anywhere but at the end."""
