"""Table of the devices that may use the planner from elsewhere. Rows never leave this room."""

from sqlmodel import Field, SQLModel


class PairedDeviceRow(SQLModel, table=True):
    """A phone or other device that was paired; of its secret only the hash is kept."""

    __tablename__ = "paired_devices"
    token_hash: str = Field(primary_key=True)
    name: str
    paired_at: str
    seen_at: str
