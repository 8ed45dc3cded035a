"""Tables of the catalogue. Rows never leave this room."""

from collections.abc import Mapping

from sqlmodel import Field, SQLModel

from server.store import records


class CatalogueVersionRow(records.VersionRecord, table=True):
    """The one row that says which catalogue is loaded."""

    __tablename__ = "catalogue_version"
    file_order: int = Field(primary_key=True)


class FamilyRow(records.FamilyRecord, table=True):
    """A connector family."""

    __tablename__ = "catalogue_family"
    file_order: int = Field(primary_key=True)


class ContactRow(records.ContactRecord, table=True):
    """A contact."""

    __tablename__ = "catalogue_contact"
    file_order: int = Field(primary_key=True)


class CrimpRow(records.CrimpRecord, table=True):
    """How a gauge is crimped into a contact."""

    __tablename__ = "catalogue_crimp"
    file_order: int = Field(primary_key=True)


class RatingRow(records.RatingRecord, table=True):
    """A current rating."""

    __tablename__ = "catalogue_rating"
    file_order: int = Field(primary_key=True)


class HousingRow(records.HousingRecord, table=True):
    """A housing."""

    __tablename__ = "catalogue_housing"
    file_order: int = Field(primary_key=True)


class PinoutRow(records.PinoutRecord, table=True):
    """A socket of a part."""

    __tablename__ = "catalogue_pinout"
    file_order: int = Field(primary_key=True)


class PinRow(records.PinRecord, table=True):
    """One cavity of a pinout."""

    __tablename__ = "catalogue_pinout_pin"
    file_order: int = Field(primary_key=True)


class SupplyRow(records.SupplyRecord, table=True):
    """A supply layout."""

    __tablename__ = "catalogue_supply"
    file_order: int = Field(primary_key=True)


class PortRow(records.PortRecord, table=True):
    """A socket of a supply layout."""

    __tablename__ = "catalogue_supply_port"
    file_order: int = Field(primary_key=True)


class PortPinRow(records.PortPinRecord, table=True):
    """One cavity of a supply's socket."""

    __tablename__ = "catalogue_supply_pin"
    file_order: int = Field(primary_key=True)


class WireRow(records.WireRecord, table=True):
    """A gauge and insulation of wire."""

    __tablename__ = "catalogue_wire"
    file_order: int = Field(primary_key=True)


class ColourRow(records.ColourRecord, table=True):
    """A colour."""

    __tablename__ = "catalogue_colour"
    file_order: int = Field(primary_key=True)


class SleeveRow(records.SleeveRecord, table=True):
    """A sleeve."""

    __tablename__ = "catalogue_sleeve"
    file_order: int = Field(primary_key=True)


class ShrinkRow(records.ShrinkRecord, table=True):
    """A heat-shrink."""

    __tablename__ = "catalogue_shrink"
    file_order: int = Field(primary_key=True)


class CombRow(records.CombRecord, table=True):
    """A comb."""

    __tablename__ = "catalogue_comb"
    file_order: int = Field(primary_key=True)


class CapRow(records.CapRecord, table=True):
    """A cap."""

    __tablename__ = "catalogue_cap"
    file_order: int = Field(primary_key=True)


class RouteShapeRow(records.RouteShapeRecord, table=True):
    """One step of a route shape."""

    __tablename__ = "catalogue_route_shape"
    file_order: int = Field(primary_key=True)


class PackRow(records.PackRecord, table=True):
    """A pack that the catalogue ships with."""

    __tablename__ = "catalogue_pack"
    file_order: int = Field(primary_key=True)


class LabourRow(records.LabourRecord, table=True):
    """An operation and its minutes."""

    __tablename__ = "catalogue_labour"
    file_order: int = Field(primary_key=True)


class CatalogueEditRow(SQLModel, table=True):
    """One value that the builder set in place of the shipped one; survives every upgrade of the catalogue."""

    __tablename__ = "catalogue_edit"
    table_name: str = Field(primary_key=True)
    row_id: str = Field(primary_key=True)
    column_name: str = Field(primary_key=True)
    text: str


class OwnPackRow(records.PackRecord, table=True):
    """A pack that the builder added; survives every upgrade of the catalogue."""

    __tablename__ = "catalogue_own_pack"
    id: str = Field(primary_key=True)


ROWS: Mapping[str, type[SQLModel]] = {
    "version": CatalogueVersionRow,
    "families": FamilyRow,
    "contacts": ContactRow,
    "crimps": CrimpRow,
    "ratings": RatingRow,
    "housings": HousingRow,
    "pinouts": PinoutRow,
    "pinout_pins": PinRow,
    "supplies": SupplyRow,
    "supply_ports": PortRow,
    "supply_pins": PortPinRow,
    "wires": WireRow,
    "colours": ColourRow,
    "sleeves": SleeveRow,
    "shrinks": ShrinkRow,
    "combs": CombRow,
    "caps": CapRow,
    "route_shapes": RouteShapeRow,
    "packs": PackRow,
    "labour": LabourRow,
}
"""Table of every catalogue file, by the file's name without its ending; ``file_order`` keeps the order of the lines."""
