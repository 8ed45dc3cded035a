"""Table of the paths that the builder kept under a name. Rows never leave this room."""

from sqlmodel import Field, SQLModel


class OwnShapeRow(SQLModel, table=True):
    """A kept path; it lies beside the shipped ones, which a new catalogue replaces."""

    __tablename__ = "own_shape"
    id: str = Field(primary_key=True)
    name: str
    steps: str
    """JSON list of steps: kind, length in mm, angle in degrees, radius in mm."""
    kept_at: str
