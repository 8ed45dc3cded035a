"""Validated records of wire, colours, sleeve, heat-shrink, combs, caps, packs and labour."""

from decimal import Decimal
from typing import Annotated, get_args

from pydantic import AfterValidator, ValidationInfo, field_validator
from pydantic import Field as Rule
from sqlmodel import Field, String

from server.domain.model.catalogue import (
    CapPosition,
    CombKind,
    Insulation,
    ItemKind,
    Unit,
)
from server.store.connector_records import CatalogueRecord
from server.store.words import (
    Awg,
    ColourCode,
    Count,
    DecimalText,
    Id,
    Millimetre,
    Number,
    PackId,
    Quantity,
    Text,
    YesNo,
    words_from_text,
)


def _insulations(text: str) -> str:
    words_from_text(text, get_args(Insulation))
    return text


class WireRecord(CatalogueRecord):
    """A line of ``wires.csv``."""

    id: Id
    name: Text
    awg: Awg
    insulation: Insulation = Field(sa_type=String)
    conductor_mm2: Annotated[float, Number, Rule(ge=0.01, le=10, allow_inf_nan=False)]
    outside_mm: Annotated[Millimetre, Rule(ge=0.3, le=10)]
    ohm_per_km: Annotated[float, Number, Rule(ge=0.5, le=1000, allow_inf_nan=False)]


class ColourRecord(CatalogueRecord):
    """A line of ``colours.csv``."""

    code: ColourCode
    name: Text
    hex: Annotated[str, Rule(pattern=r"^#[0-9a-f]{6}$")]
    insulations: Annotated[str, AfterValidator(_insulations)]
    sleeve: YesNo


class SleeveRecord(CatalogueRecord):
    """A line of ``sleeves.csv``."""

    id: Id
    name: Text
    relaxed_mm: Annotated[Millimetre, Rule(ge=0.2, le=50)]
    braid_angle_deg: Annotated[float, Number, Rule(ge=1, le=80, allow_inf_nan=False)]
    least_mm: Annotated[Millimetre, Rule(ge=0.2, le=50)]
    greatest_mm: Annotated[Millimetre, Rule(ge=0.2, le=50)]
    wall_mm: Annotated[Millimetre, Rule(ge=0.05, le=5)]
    shrink: Id

    @field_validator("least_mm")
    @classmethod
    def _grips_what_it_covers(cls, value: float, info: ValidationInfo) -> float:
        if value < info.data.get("relaxed_mm", value):
            raise ValueError("must not be below relaxed_mm, or the sleeve hangs loose")
        return value

    @field_validator("greatest_mm")
    @classmethod
    def _range_runs_upwards(cls, value: float, info: ValidationInfo) -> float:
        if value < info.data.get("least_mm", value):
            raise ValueError("must not be below least_mm")
        return value


class ShrinkRecord(CatalogueRecord):
    """A line of ``shrinks.csv``."""

    id: Id
    name: Text
    supplied_mm: Annotated[Millimetre, Rule(ge=0.5, le=60)]
    recovered_mm: Annotated[Millimetre, Rule(ge=0.2, le=60)]
    wall_mm: Annotated[Millimetre, Rule(ge=0.05, le=10)]
    shortening_percent: Annotated[float, Number, Rule(ge=0, le=50, allow_inf_nan=False)]
    piece_mm: Annotated[Millimetre, Rule(ge=2, le=200)]

    @field_validator("recovered_mm")
    @classmethod
    def _shrinks(cls, value: float, info: ValidationInfo) -> float:
        if value >= info.data.get("supplied_mm", value + 1):
            raise ValueError("must be below supplied_mm")
        return value


class CombRecord(CatalogueRecord):
    """A line of ``combs.csv``."""

    id: Id
    name: Text
    ways: Count
    rows: Annotated[Count, Rule(le=4)]
    columns: Count
    kind: CombKind = Field(sa_type=String)

    @field_validator("columns")
    @classmethod
    def _holds_its_wires(cls, value: int, info: ValidationInfo) -> int:
        rows, ways = info.data.get("rows"), info.data.get("ways")
        if rows is not None and ways is not None and rows * value < ways:
            raise ValueError(f"{rows} row(s) of {value} cannot hold {ways} wires")
        return value


class CapRecord(CatalogueRecord):
    """A line of ``caps.csv``."""

    id: Id
    name: Text
    family: Id
    position: CapPosition = Field(sa_type=String)


class PackRecord(CatalogueRecord):
    """A line of ``packs.csv``, or a pack that the builder added."""

    id: PackId
    kind: ItemKind = Field(sa_type=String)
    item: Id
    quantity: Quantity
    unit: Unit = Field(sa_type=String)
    price: Annotated[Decimal, Number, Rule(ge=0, le=100000, decimal_places=4)] = Field(sa_type=DecimalText)

    @field_validator("unit")
    @classmethod
    def _unit_follows_kind(cls, value: Unit, info: ValidationInfo) -> Unit:
        kind = info.data.get("kind")
        expected = "mm" if kind in ("wire", "sleeve", "shrink") else "piece"
        if kind is not None and value != expected:
            raise ValueError(f"must be {expected} for {kind}")
        return value


class LabourRecord(CatalogueRecord):
    """A line of ``labour.csv``."""

    operation: Id
    name: Text
    minutes: Annotated[Decimal, Number, Rule(ge=0, le=600, decimal_places=4)] = Field(sa_type=DecimalText)
