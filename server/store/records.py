"""One validated record per catalogue table: the columns of its file, their kinds, ranges and allowed words.

A record is what a line of a file says once every rule about that line alone has passed. Rules between lines live in
``catalogue_rules``.
"""

from collections.abc import Mapping

from server.store.connector_records import (
    CatalogueRecord,
    ContactRecord,
    CrimpRecord,
    FamilyRecord,
    HousingRecord,
    PinoutRecord,
    PinRecord,
    PortPinRecord,
    PortRecord,
    RatingRecord,
    SupplyRecord,
    VersionRecord,
)
from server.store.material_records import (
    CapRecord,
    ColourRecord,
    CombRecord,
    LabourRecord,
    PackRecord,
    ShrinkRecord,
    SleeveRecord,
    WireRecord,
)
from server.store.route_records import RouteShapeRecord

__all__ = [
    "KEYS",
    "RECORDS",
    "CapRecord",
    "CatalogueRecord",
    "ColourRecord",
    "CombRecord",
    "ContactRecord",
    "CrimpRecord",
    "FamilyRecord",
    "HousingRecord",
    "LabourRecord",
    "PackRecord",
    "PinRecord",
    "PinoutRecord",
    "PortPinRecord",
    "PortRecord",
    "RatingRecord",
    "RouteShapeRecord",
    "ShrinkRecord",
    "SleeveRecord",
    "SupplyRecord",
    "VersionRecord",
    "WireRecord",
    "key_columns",
    "row_key",
]

RECORDS: Mapping[str, type[CatalogueRecord]] = {
    "version": VersionRecord,
    "families": FamilyRecord,
    "contacts": ContactRecord,
    "crimps": CrimpRecord,
    "ratings": RatingRecord,
    "housings": HousingRecord,
    "pinouts": PinoutRecord,
    "pinout_pins": PinRecord,
    "supplies": SupplyRecord,
    "supply_ports": PortRecord,
    "supply_pins": PortPinRecord,
    "wires": WireRecord,
    "colours": ColourRecord,
    "sleeves": SleeveRecord,
    "shrinks": ShrinkRecord,
    "combs": CombRecord,
    "caps": CapRecord,
    "route_shapes": RouteShapeRecord,
    "packs": PackRecord,
    "labour": LabourRecord,
}
"""Record of every catalogue file, by the file's name without its ending."""

KEYS: Mapping[str, tuple[str, ...]] = {
    "version": (),
    "crimps": ("contact", "awg"),
    "ratings": ("family", "awg", "signal", "loaded_from"),
    "pinout_pins": ("pinout", "cavity"),
    "supply_ports": ("supply", "port"),
    "supply_pins": ("supply", "port", "cavity"),
    "colours": ("code",),
    "route_shapes": ("shape", "step"),
    "labour": ("operation",),
}
"""Columns that identify a row, for the tables whose key is not the single column ``id``."""


def key_columns(table: str) -> tuple[str, ...]:
    """Columns that identify a row of a catalogue table.

    Args:
        table: Name of the table.

    Returns:
        The columns; the last one is where a duplicate is reported. Empty for the one-row version table.
    """
    return KEYS.get(table, ("id",))


def row_key(table: str, record: CatalogueRecord) -> str:
    """The word that names one row of a catalogue table, as edits and pages refer to it.

    Args:
        table: Name of the table.
        record: The row's record.

    Returns:
        The row's id; where several columns identify a row, their values joined by full stops: ``p42-socket-18.20``.
    """
    return ".".join(str(getattr(record, column)) for column in key_columns(table))
