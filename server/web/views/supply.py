"""The first step: which supply layout, and what each of its positions carries."""

from dataclasses import dataclass

from server.domain.model.catalogue import Catalogue, Port, SupplyLayout
from server.services.opened import Opened
from server.web.views import formats
from server.web.views.fields import Field, Fields

_CELL = 8
"""Side of one drawn cavity with the space to the next. [px]"""


@dataclass(frozen=True, slots=True)
class PortCard:
    """One port of a layout: its label, what it may feed, and a small outline of its cavities."""

    label: str
    feeds: str
    width: int
    height: int
    body_width: int
    body_height: int
    latch: int
    """Left end of the drawn latch."""
    cells: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class LayoutChoice:
    """One layout to choose."""

    value: str
    id: str
    name: str
    note: str
    metered: str
    mark: str
    source: str
    ports: str
    cards: tuple[PortCard, ...]
    chosen: bool


@dataclass(frozen=True, slots=True)
class PinTable:
    """What each cavity of one port carries."""

    label: str
    rows: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class SupplyPanel:
    """The supply step."""

    href: str
    base: int
    field: Field
    layouts: tuple[LayoutChoice, ...]
    chosen: str
    pins: tuple[PinTable, ...]
    cautions: tuple[str, ...]
    next: str


def supply_panel(opened: Opened, base: int, fields: Fields) -> SupplyPanel:
    """The view of the supply step.

    Args:
        opened: The build as it stands.
        base: Revision that the form changes.
        fields: Makes the fields with what was typed last.
    """
    catalogue = opened.catalogue
    names = [(layout.id, layout.name) for layout in catalogue.supplies.values()]
    field = fields.choice("supply", "Supply layout", opened.build.supply, names)
    chosen = catalogue.supplies.get(opened.build.supply)
    return SupplyPanel(
        href=f"/builds/{opened.build_id}/supply",
        base=base,
        field=field,
        layouts=tuple(_layout(layout, field.value, catalogue) for layout in catalogue.supplies.values()),
        chosen=chosen.name if chosen else "",
        pins=tuple(_pins(port) for port in chosen.ports) if chosen else (),
        cautions=opened.plan.cautions,
        next=f"/builds/{opened.build_id}/parts",
    )


def _layout(layout: SupplyLayout, value: str, catalogue: Catalogue) -> LayoutChoice:
    """One layout with its ports drawn small."""
    return LayoutChoice(
        layout.id,
        f"f-supply-{layout.id}",
        layout.name,
        layout.note,
        "own layout" if layout.own else "unmetered sample",
        "✓" if layout.own else "▲",
        layout.source,
        formats.count(len(layout.ports), "port"),
        tuple(_port(port, catalogue) for port in layout.ports),
        layout.id == value,
    )


def _port(port: Port, catalogue: Catalogue) -> PortCard:
    """One port as a small outline: only its shape, since cavity numbers would not be readable at this size."""
    housing = catalogue.housings[port.housing]
    rows = (*((row, housing.columns) for row in range(housing.rows)),)
    left = housing.positions - housing.rows * housing.columns
    cells = [(3 + column * _CELL, 6 + row * _CELL) for row, columns in rows for column in range(columns)]
    cells += [(3 + (column + 1) * _CELL, 6 + housing.rows * _CELL) for column in range(max(left, 0))]
    height = 8 + (housing.rows + (left > 0)) * _CELL
    feeds = formats.listed(formats.USES[use] for use in port.feeds)
    width = 5 + housing.columns * _CELL
    return PortCard(port.label, feeds, width, height, width - 1, height - 4, width // 2 - 4, tuple(cells))


def _pins(port: Port) -> PinTable:
    """What each cavity of a port carries, to be metered against."""
    return PinTable(port.label, tuple((pin.cavity, pin.net or "not connected") for pin in port.pins))
