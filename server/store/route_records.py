"""Validated records of route shapes: one line for every leg, bend or twist."""

from typing import Annotated

from pydantic import Field as Rule
from pydantic import ValidationInfo, field_validator
from sqlmodel import Field, String

from server.domain.model.route import StepKind
from server.store.connector_records import CatalogueRecord
from server.store.words import Count, Id, Millimetre, Number, Text

_BENDS = ("left", "right", "up", "down")


class RouteShapeRecord(CatalogueRecord):
    """A line of ``route_shapes.csv``: one step of a shape."""

    shape: Id
    name: Text
    step: Count
    kind: StepKind = Field(sa_type=String)
    length_mm: Annotated[float, Number, Rule(ge=0, le=5000, allow_inf_nan=False)]
    angle_deg: Annotated[float, Number, Rule(ge=-720, le=720, allow_inf_nan=False)]
    radius_mm: Millimetre

    @field_validator("length_mm")
    @classmethod
    def _legs_and_twists_take_room(cls, value: float, info: ValidationInfo) -> float:
        kind = info.data.get("kind")
        if kind in _BENDS and value != 0:
            raise ValueError("must be 0 for a bend, whose length follows from angle and radius")
        if kind in ("leg", "twist") and value == 0:
            raise ValueError(f"must be above 0 for a {kind}")
        return value

    @field_validator("angle_deg")
    @classmethod
    def _bends_and_twists_turn(cls, value: float, info: ValidationInfo) -> float:
        kind = info.data.get("kind")
        if kind == "leg" and value != 0:
            raise ValueError("must be 0 for a leg")
        if kind in _BENDS and not 0 < value <= 360:
            raise ValueError("must be above 0 and at most 360 for a bend")
        if kind == "twist" and value == 0:
            raise ValueError("must not be 0 for a twist")
        return value

    @field_validator("radius_mm")
    @classmethod
    def _only_bends_have_a_radius(cls, value: float, info: ValidationInfo) -> float:
        kind = info.data.get("kind")
        if kind in _BENDS and value == 0:
            raise ValueError("must be above 0 for a bend")
        if kind in ("leg", "twist") and value != 0:
            raise ValueError(f"must be 0 for a {kind}")
        return value
