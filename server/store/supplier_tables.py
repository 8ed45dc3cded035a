"""Table of the suppliers that the builder names for items. Rows never leave this room."""

from sqlmodel import Field, SQLModel


class SupplierRow(SQLModel, table=True):
    """Where one item is bought, in the builder's own words; it lies beside the shipped items, which come anew."""

    __tablename__ = "own_supplier"
    kind: str = Field(primary_key=True)
    item: str = Field(primary_key=True)
    text: str
