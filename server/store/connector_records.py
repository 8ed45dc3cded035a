"""Validated records of connectors, the sockets of parts and supply layouts."""

from typing import Annotated, get_args

from pydantic import AfterValidator, ValidationInfo, field_validator
from pydantic import Field as Rule
from sqlmodel import Field, SQLModel, String

from server.domain.model.catalogue import (
    Gender,
    Half,
    Latch,
    Need,
    Numbering,
    Role,
    Termination,
    Use,
)
from server.store.words import (
    Ampere,
    Awg,
    Cavity,
    Count,
    Id,
    MaybeText,
    Millimetre,
    Net,
    Text,
    YesNo,
    loads_from_text,
    words_from_text,
)


def _loads(text: str) -> str:
    loads_from_text(text)
    return text


def _nets(text: str) -> str:
    words_from_text(text)
    return text


def _uses(text: str) -> str:
    words_from_text(text, get_args(Use))
    return text


def _girth(value: float) -> float:
    if value and not 5 <= value <= 200:
        raise ValueError("must be 0, or from 5 to 200")
    return value


class CatalogueRecord(SQLModel):
    """What every record shares: a source."""

    source: Text


class VersionRecord(CatalogueRecord):
    """The version of the whole catalogue."""

    version: Text


class FamilyRecord(CatalogueRecord):
    """A line of ``families.csv``."""

    id: Id
    name: Text
    pitch_mm: Annotated[Millimetre, Rule(gt=0)]
    row_pitch_mm: Millimetre
    termination: Termination = Field(sa_type=String)
    insertion_depth_mm: Annotated[Millimetre, Rule(le=50)]
    extraction_tool: MaybeText


class ContactRecord(CatalogueRecord):
    """A line of ``contacts.csv``."""

    id: Id
    family: Id
    name: Text
    gender: Gender = Field(sa_type=String)
    signal: YesNo
    awg_thickest: Awg
    awg_thinnest: Awg
    insulation_min_mm: Annotated[Millimetre, Rule(le=10)]
    insulation_max_mm: Annotated[Millimetre, Rule(gt=0, le=10)]
    wires_max: Annotated[Count, Rule(le=4)]

    @field_validator("awg_thinnest")
    @classmethod
    def _thinnest_is_thinner(cls, value: int, info: ValidationInfo) -> int:
        # A larger gauge number is a thinner wire.
        if value < info.data.get("awg_thickest", value):
            raise ValueError("must be the same gauge number as awg_thickest or a larger one")
        return value

    @field_validator("insulation_max_mm")
    @classmethod
    def _insulation_range_runs_upwards(cls, value: float, info: ValidationInfo) -> float:
        if value < info.data.get("insulation_min_mm", value):
            raise ValueError("must not be below insulation_min_mm")
        return value


class CrimpRecord(CatalogueRecord):
    """A line of ``crimps.csv``."""

    contact: Id
    awg: Awg
    strip_mm: Annotated[Millimetre, Rule(le=20)]
    die: Text


class RatingRecord(CatalogueRecord):
    """A line of ``ratings.csv``."""

    family: Id
    awg: Awg
    loaded_from: Count
    loaded_to: Count
    current_a: Ampere
    signal: YesNo

    @field_validator("loaded_to")
    @classmethod
    def _range_runs_upwards(cls, value: int, info: ValidationInfo) -> int:
        if value < info.data.get("loaded_from", value):
            raise ValueError("must not be below loaded_from")
        return value


class HousingRecord(CatalogueRecord):
    """A line of ``housings.csv``."""

    id: Id
    family: Id
    name: Text
    half: Half = Field(sa_type=String)
    gender: Gender = Field(sa_type=String)
    rows: Annotated[Count, Rule(le=2)]
    columns: Count
    numbering: Numbering = Field(sa_type=String)
    positions: Count
    latch: Latch = Field(sa_type=String)
    key: Text
    mates_with: MaybeText

    @field_validator("numbering")
    @classmethod
    def _numbering_fits_the_rows(cls, value: Numbering, info: ValidationInfo) -> Numbering:
        rows = info.data.get("rows")
        if rows is not None and rows != (1 if value == "single_row" else 2):
            raise ValueError(f"{value} does not fit a housing of {rows} row(s)")
        return value

    @field_validator("positions")
    @classmethod
    def _positions_fill_the_rows(cls, value: int, info: ValidationInfo) -> int:
        rows, columns, numbering = (info.data.get(name) for name in ("rows", "columns", "numbering"))
        if rows is None or columns is None or numbering is None:
            return value
        expected = rows * columns + (4 if numbering == "twelve_plus_four" else 0)
        if value != expected:
            raise ValueError(f"must be {expected} for {rows} row(s) of {columns} with numbering {numbering}")
        return value


class PinoutRecord(CatalogueRecord):
    """A line of ``pinouts.csv``."""

    id: Id
    name: Text
    role: Role = Field(sa_type=String)
    use: Use = Field(sa_type=String)
    housing: Id
    rewired: YesNo
    load_a: Annotated[str, AfterValidator(_loads)]
    cable_girth_mm: Annotated[Millimetre, AfterValidator(_girth)]
    plug_girth_mm: Annotated[Millimetre, AfterValidator(_girth)]

    @field_validator("cable_girth_mm", "plug_girth_mm")
    @classmethod
    def _only_a_cable_that_stays_whole_has_a_girth(cls, value: float, info: ValidationInfo) -> float:
        rewired = info.data.get("rewired")
        if rewired is not None and (value > 0) == rewired:
            raise ValueError("must be 0 for a cable that is wired, and above 0 for one that is only sleeved")
        return value


class PinRecord(CatalogueRecord):
    """A line of ``pinout_pins.csv``."""

    pinout: Id
    cavity: Cavity
    function: Text
    need: Need = Field(sa_type=String)
    net: Net
    accepts: Annotated[str, AfterValidator(_nets)]
    carries_current: YesNo
    sensed_by: Net
    colour: Annotated[str, Rule(pattern=r"^([A-Z]{2,4})?$")]

    @field_validator("net")
    @classmethod
    def _net_follows_need(cls, value: str, info: ValidationInfo) -> str:
        need = info.data.get("need")
        if need is not None and (value == "") != (need == "not_connected"):
            raise ValueError("must be empty for a cavity that is not connected, and only there")
        return value

    @field_validator("accepts")
    @classmethod
    def _accepts_its_own_net(cls, value: str, info: ValidationInfo) -> str:
        net = info.data.get("net")
        if net and net not in value.split():
            raise ValueError(f"must name the cavity's own net, {net}")
        if net == "" and value:
            raise ValueError("must be empty for a cavity that is not connected")
        return value


class SupplyRecord(CatalogueRecord):
    """A line of ``supplies.csv``."""

    id: Id
    name: Text
    note: MaybeText
    metered: YesNo


class PortRecord(CatalogueRecord):
    """A line of ``supply_ports.csv``."""

    supply: Id
    port: Annotated[str, Rule(pattern=r"^[A-Za-z0-9]{1,12}$")]
    label: Text
    housing: Id
    feeds: Annotated[str, Rule(min_length=1), AfterValidator(_uses)]


class PortPinRecord(CatalogueRecord):
    """A line of ``supply_pins.csv``."""

    supply: Id
    port: Annotated[str, Rule(pattern=r"^[A-Za-z0-9]{1,12}$")]
    cavity: Cavity
    net: Net
