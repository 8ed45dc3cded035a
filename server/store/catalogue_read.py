"""Turns catalogue rows, with the builder's edits applied, into the frozen values that the domain works with."""

from collections.abc import Mapping
from dataclasses import replace
from typing import TypeVar, cast

from sqlmodel import Session, select

from server.domain.errors import LoomwrightError
from server.domain.model import catalogue as model
from server.domain.model.route import RouteShape, RouteStep
from server.store import records
from server.store.catalogue_overlay import edited_packs, edited_rows
from server.store.layouts import every_version
from server.store.own_shapes import own_shapes
from server.store.tables import CatalogueVersionRow
from server.store.words import loads_from_text

T = TypeVar("T")


class NoCatalogueError(LoomwrightError):
    """The catalogue has not been loaded yet."""


def _by_id(items: list[tuple[str, T]]) -> Mapping[str, T]:
    return dict(items)


def _pinouts(session: Session) -> Mapping[str, model.Pinout]:
    pins: dict[str, list[model.Pin]] = {}
    for pin in edited_rows(session, records.PinRecord):
        values = pin.model_dump(exclude={"pinout", "accepts"})
        pins.setdefault(pin.pinout, []).append(model.Pin(accepts=tuple(pin.accepts.split()), **values))
    return _by_id(
        [
            (
                row.id,
                model.Pinout(
                    load_a=loads_from_text(row.load_a),
                    pins=tuple(pins.get(row.id, ())),
                    **row.model_dump(exclude={"load_a"}),
                ),
            )
            for row in edited_rows(session, records.PinoutRecord)
        ]
    )


def _supplies(session: Session) -> Mapping[str, model.SupplyLayout]:
    pins: dict[tuple[str, str], list[model.PortPin]] = {}
    for pin in edited_rows(session, records.PortPinRecord):
        pins.setdefault((pin.supply, pin.port), []).append(model.PortPin(cavity=pin.cavity, net=pin.net))
    ports: dict[str, list[model.Port]] = {}
    for row in edited_rows(session, records.PortRecord):
        # The record has held every word of ``feeds`` to the list of uses.
        feeds = cast("tuple[model.Use, ...]", tuple(row.feeds.split()))
        found = tuple(pins.get((row.supply, row.port), ()))
        port = model.Port(id=row.port, label=row.label, housing=row.housing, feeds=feeds, pins=found)
        ports.setdefault(row.supply, []).append(port)
    return _by_id(
        [
            (row.id, model.SupplyLayout(ports=tuple(ports.get(row.id, ())), **row.model_dump(exclude={"metered"})))
            for row in edited_rows(session, records.SupplyRecord)
        ]
    )


def _colours(session: Session) -> Mapping[str, model.Colour]:
    colours = []
    for row in edited_rows(session, records.ColourRecord):
        # The record has held every word to the list of insulations.
        insulations = cast("tuple[model.Insulation, ...]", tuple(row.insulations.split()))
        colours.append((row.code, model.Colour(insulations=insulations, **row.model_dump(exclude={"insulations"}))))
    return _by_id(colours)


def _shapes(session: Session) -> Mapping[str, RouteShape]:
    lines: dict[str, list[records.RouteShapeRecord]] = {}
    for line in edited_rows(session, records.RouteShapeRecord):
        lines.setdefault(line.shape, []).append(line)
    return {
        shape: RouteShape(
            id=shape,
            name=found[0].name,
            steps=tuple(RouteStep(step.kind, step.length_mm, step.angle_deg, step.radius_mm) for step in found),
            own=False,
            source=found[0].source,
        )
        for shape, found in lines.items()
    }


def _own_layouts(
    session: Session, housings: Mapping[str, model.Housing]
) -> tuple[dict[str, model.SupplyLayout], dict[tuple[str, int], model.SupplyLayout]]:
    """Own layouts at their newest version, and every other version, those of layouts put away included.

    A port waits unseen while the catalogue lacks its housing, as own packs do while it lacks their item.
    """
    newest: dict[str, model.SupplyLayout] = {}
    earlier: dict[tuple[str, int], model.SupplyLayout] = {}
    for saved, is_newest in every_version(session):
        layout = replace(saved, ports=tuple(port for port in saved.ports if port.housing in housings))
        if is_newest:
            newest[layout.id] = layout
        else:
            earlier[layout.id, layout.version] = layout
    return newest, earlier


def read_catalogue(session: Session) -> model.Catalogue:
    """Read the whole catalogue with the builder's edits, own packs and own layouts.

    Args:
        session: A session from ``reading`` or ``writing``.

    Returns:
        The catalogue; every table keyed by id in file order, the builder's own packs and layouts after the shipped.

    Raises:
        NoCatalogueError: no catalogue has been installed.
    """
    version = session.exec(select(CatalogueVersionRow)).first()
    if version is None:
        raise NoCatalogueError("no catalogue is loaded yet")
    housings = _by_id([(r.id, model.Housing(**r.model_dump())) for r in edited_rows(session, records.HousingRecord)])
    own, earlier = _own_layouts(session, housings)
    return model.Catalogue(
        version=version.version,
        families=_by_id([(r.id, model.Family(**r.model_dump())) for r in edited_rows(session, records.FamilyRecord)]),
        contacts=_by_id([(r.id, model.Contact(**r.model_dump())) for r in edited_rows(session, records.ContactRecord)]),
        crimps=tuple(model.Crimp(**r.model_dump()) for r in edited_rows(session, records.CrimpRecord)),
        ratings=tuple(model.Rating(**r.model_dump()) for r in edited_rows(session, records.RatingRecord)),
        housings=housings,
        pinouts=_pinouts(session),
        supplies={**_supplies(session), **own},
        wires=_by_id([(r.id, model.Wire(**r.model_dump())) for r in edited_rows(session, records.WireRecord)]),
        colours=_colours(session),
        sleeves=_by_id([(r.id, model.Sleeve(**r.model_dump())) for r in edited_rows(session, records.SleeveRecord)]),
        shrinks=_by_id([(r.id, model.Shrink(**r.model_dump())) for r in edited_rows(session, records.ShrinkRecord)]),
        combs=_by_id([(r.id, model.Comb(**r.model_dump())) for r in edited_rows(session, records.CombRecord)]),
        caps=_by_id([(r.id, model.Cap(**r.model_dump())) for r in edited_rows(session, records.CapRecord)]),
        shapes={**_shapes(session), **own_shapes(session)},
        packs=tuple(model.Pack(**r.model_dump()) for r in edited_packs(session)),
        labour=_by_id(
            [(r.operation, model.Labour(**r.model_dump())) for r in edited_rows(session, records.LabourRecord)]
        ),
        earlier=earlier,
    )
