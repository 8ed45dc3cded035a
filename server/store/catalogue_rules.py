"""Rules between the lines of the catalogue: ids stand once, references lead somewhere, cavities exist."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TypeVar

from server.domain.errors import CatalogueError
from server.store.records import (
    CatalogueRecord,
    ContactRecord,
    CrimpRecord,
    FamilyRecord,
    HousingRecord,
    PackRecord,
    PinoutRecord,
    PinRecord,
    PortPinRecord,
    PortRecord,
    RatingRecord,
    RouteShapeRecord,
    WireRecord,
    key_columns,
)
from server.store.words import loads_from_text

REFERENCES: tuple[tuple[str, str, str], ...] = (
    ("contacts", "family", "families"),
    ("crimps", "contact", "contacts"),
    ("ratings", "family", "families"),
    ("housings", "family", "families"),
    ("housings", "mates_with", "housings"),
    ("pinouts", "housing", "housings"),
    ("pinout_pins", "pinout", "pinouts"),
    ("pinout_pins", "colour", "colours"),
    ("supply_ports", "supply", "supplies"),
    ("supply_ports", "housing", "housings"),
    ("supply_pins", "supply", "supplies"),
    ("sleeves", "shrink", "shrinks"),
    ("caps", "family", "families"),
)
"""Table, column and the table whose key the column must hold; an empty column refers to nothing."""

PACK_TABLES: Mapping[str, str] = {
    "wire": "wires",
    "sleeve": "sleeves",
    "shrink": "shrinks",
    "contact": "contacts",
    "housing": "housings",
    "comb": "combs",
    "cap": "caps",
}
"""Table that holds the items of each kind of pack."""


@dataclass(frozen=True, slots=True)
class Line:
    """A record and the line of the file it came from."""

    number: int
    record: CatalogueRecord


R = TypeVar("R", bound=CatalogueRecord)
Lines = Mapping[str, tuple[Line, ...]]


def housing_cavities(housing: HousingRecord) -> tuple[str, ...]:
    """Numbers of a housing's cavities.

    Args:
        housing: The housing's record.

    Returns:
        ``1`` to the number of positions; for twelve-plus-four ``1`` to ``12`` and ``S1`` to ``S4``.
    """
    if housing.numbering == "twelve_plus_four":
        return (*(str(n) for n in range(1, 13)), "S1", "S2", "S3", "S4")
    return tuple(str(n) for n in range(1, housing.positions + 1))


def _value(line: Line, column: str) -> str:
    return str(getattr(line.record, column))


def _keys(lines: Lines, table: str) -> set[str]:
    column = key_columns(table)[-1]
    return {_value(line, column) for line in lines[table]}


def _check_duplicates(lines: Lines) -> None:
    for table, rows in lines.items():
        columns = key_columns(table)
        if not columns:
            continue
        seen: dict[tuple[str, ...], int] = {}
        for line in rows:
            key = tuple(_value(line, column) for column in columns)
            if key in seen:
                rule = f"duplicate of line {seen[key]}: {' '.join(key)}"
                raise CatalogueError(f"{table}.csv", line.number, columns[-1], rule)
            seen[key] = line.number


def _check_references(lines: Lines) -> None:
    for table, column, target in REFERENCES:
        known = _keys(lines, target)
        for line in lines[table]:
            value = _value(line, column)
            if value and value not in known:
                rule = f"unknown reference: {target}.csv has no {value}"
                raise CatalogueError(f"{table}.csv", line.number, column, rule)


def _records(rows: tuple[Line, ...], kind: type[R]) -> Iterator[tuple[int, R]]:
    for line in rows:
        assert isinstance(line.record, kind)
        yield line.number, line.record


def _check_pinouts(lines: Lines) -> None:
    housings = {record.id: record for _, record in _records(lines["housings"], HousingRecord)}
    pinouts = {record.id: record for _, record in _records(lines["pinouts"], PinoutRecord)}
    nets: dict[str, set[str]] = {name: set() for name in pinouts}
    for number, pin in _records(lines["pinout_pins"], PinRecord):
        pinout = pinouts[pin.pinout]
        if not pinout.rewired:
            raise CatalogueError("pinout_pins.csv", number, "pinout", f"{pinout.id} is never rewired and has no pins")
        if pin.cavity not in housing_cavities(housings[pinout.housing]):
            rule = f"housing {pinout.housing} has no cavity {pin.cavity}"
            raise CatalogueError("pinout_pins.csv", number, "cavity", rule)
        nets[pin.pinout].add(pin.net)
    for number, pinout in _records(lines["pinouts"], PinoutRecord):
        if pinout.rewired and not nets[pinout.id]:
            raise CatalogueError("pinouts.csv", number, "id", "has no row in pinout_pins.csv")
        for net in loads_from_text(pinout.load_a):
            if net not in nets[pinout.id]:
                raise CatalogueError("pinouts.csv", number, "load_a", f"no cavity of {pinout.id} carries {net}")


def _check_supplies(lines: Lines) -> None:
    housings = {record.id: record for _, record in _records(lines["housings"], HousingRecord)}
    ports = {(record.supply, record.port): record for _, record in _records(lines["supply_ports"], PortRecord)}
    wired: set[tuple[str, str]] = set()
    for number, pin in _records(lines["supply_pins"], PortPinRecord):
        port = ports.get((pin.supply, pin.port))
        if port is None:
            rule = f"unknown reference: supply_ports.csv has no port {pin.port} for {pin.supply}"
            raise CatalogueError("supply_pins.csv", number, "port", rule)
        if pin.cavity not in housing_cavities(housings[port.housing]):
            raise CatalogueError(
                "supply_pins.csv", number, "cavity", f"housing {port.housing} has no cavity {pin.cavity}"
            )
        wired.add((pin.supply, pin.port))
    for number, port in _records(lines["supply_ports"], PortRecord):
        if (port.supply, port.port) not in wired:
            raise CatalogueError("supply_ports.csv", number, "port", "has no row in supply_pins.csv")


def _check_ratings(lines: Lines) -> None:
    seen: dict[tuple[str, int, bool], list[RatingRecord]] = {}
    for number, rating in _records(lines["ratings"], RatingRecord):
        others = seen.setdefault((rating.family, rating.awg, rating.signal), [])
        if any(rating.loaded_from <= other.loaded_to and other.loaded_from <= rating.loaded_to for other in others):
            rule = f"overlaps another range of {rating.family}, {rating.awg} AWG"
            raise CatalogueError("ratings.csv", number, "loaded_from", rule)
        others.append(rating)


def _check_crimps(lines: Lines) -> None:
    contacts = {record.id: record for _, record in _records(lines["contacts"], ContactRecord)}
    terminations = {record.id: record.termination for _, record in _records(lines["families"], FamilyRecord)}
    sold = sorted({record.awg for _, record in _records(lines["wires"], WireRecord)})
    known: set[tuple[str, int]] = set()
    for number, crimp in _records(lines["crimps"], CrimpRecord):
        contact = contacts[crimp.contact]
        if not contact.awg_thickest <= crimp.awg <= contact.awg_thinnest:
            rule = f"contact {contact.id} takes {contact.awg_thickest} to {contact.awg_thinnest} AWG"
            raise CatalogueError("crimps.csv", number, "awg", rule)
        if (crimp.strip_mm == 0) != (terminations[contact.family] == "displacement"):
            rule = "must be 0 for insulation displacement, and only there"
            raise CatalogueError("crimps.csv", number, "strip_mm", rule)
        known.add((contact.id, crimp.awg))
    for number, contact in _records(lines["contacts"], ContactRecord):
        for awg in sold:
            taken = contact.awg_thickest <= awg <= contact.awg_thinnest
            if taken and terminations[contact.family] != "moulded" and (contact.id, awg) not in known:
                raise CatalogueError("contacts.csv", number, "id", f"has no row for {awg} AWG in crimps.csv")


def _check_shapes(lines: Lines) -> None:
    last: RouteShapeRecord | None = None
    for number, line in _records(lines["route_shapes"], RouteShapeRecord):
        follows = last is not None and line.shape == last.shape
        expected = last.step + 1 if last is not None and follows else 1
        if line.step != expected:
            rule = f"must be {expected}: the steps of a shape stand together, numbered from 1"
            raise CatalogueError("route_shapes.csv", number, "step", rule)
        if last is not None and follows and line.name != last.name:
            raise CatalogueError("route_shapes.csv", number, "name", "must be the same in all steps of a shape")
        last = line


def _check_packs(lines: Lines) -> None:
    seen: dict[tuple[str, str, int], int] = {}
    for number, pack in _records(lines["packs"], PackRecord):
        table = PACK_TABLES[pack.kind]
        if pack.item not in _keys(lines, table):
            raise CatalogueError("packs.csv", number, "item", f"unknown reference: {table}.csv has no {pack.item}")
        key = (pack.kind, pack.item, pack.quantity)
        if key in seen:
            rule = f"duplicate of line {seen[key]}: the same item in the same quantity"
            raise CatalogueError("packs.csv", number, "quantity", rule)
        seen[key] = number


def check_between_lines(lines: Lines) -> None:
    """Hold the lines of all files together to the rules between them.

    Args:
        lines: Every line by table, each already valid by itself.

    Raises:
        CatalogueError: an id stands twice, a reference leads nowhere, a cavity is not in its housing, a socket has no
            cavities, a load names a net the socket lacks, ratings overlap, a gauge has no crimp, the steps of a shape
            are out of order, or a pack stands twice.
    """
    _check_duplicates(lines)
    _check_references(lines)
    _check_pinouts(lines)
    _check_supplies(lines)
    _check_ratings(lines)
    _check_crimps(lines)
    _check_shapes(lines)
    _check_packs(lines)
