"""The first step: which supply layout, and what each of its positions carries."""

from dataclasses import dataclass

from server.domain.model.catalogue import Catalogue, Port, SupplyLayout
from server.services.opened import Opened
from server.services.supply_state import SupplyState, supply_state
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
class ChosenLayout:
    """How the build stands to the layout it uses."""

    name: str
    value: str
    own: bool
    version: int
    newer: str
    """Number of a newer version, in words; empty when there is none."""
    changes: tuple[str, ...]
    metered: str
    mark: str
    href: str
    """Address of its metering worksheet; empty for a sample and for a layout that was put away."""
    copy: str
    """Address that makes a copy and takes it into this build; empty for a layout of one's own."""
    gone: bool


@dataclass(frozen=True, slots=True)
class SupplyPanel:
    """The supply step."""

    href: str
    base: int
    field: Field
    layouts: tuple[LayoutChoice, ...]
    chosen: ChosenLayout | None
    moved: tuple[str, ...]
    """What became of the runs when the newest revision took another version of the layout."""
    pins: tuple[PinTable, ...]
    cautions: tuple[str, ...]
    next: str


def supply_panel(opened: Opened, base: int, fields: Fields, words: tuple[str, ...] = ()) -> SupplyPanel:
    """The view of the supply step.

    Args:
        opened: The build as it stands.
        base: Revision that the form changes.
        fields: Makes the fields with what was typed last.
        words: What the newest revision changed, in sentences.
    """
    catalogue, state = opened.catalogue, supply_state(opened)
    layouts = [*catalogue.supplies.values(), *([state.layout] if state and state.gone else [])]
    names = [(layout.id, layout.name) for layout in layouts]
    field = fields.choice("supply", "Supply layout", opened.build.supply, names)
    href = f"/builds/{opened.build_id}/supply"
    return SupplyPanel(
        href=href,
        base=base,
        field=field,
        layouts=tuple(_layout(layout, field.value, catalogue) for layout in layouts),
        chosen=_chosen(state, href, opened.build_id) if state else None,
        moved=_moved(words),
        pins=tuple(_pins(port) for port in state.layout.ports) if state else (),
        cautions=opened.plan.cautions,
        next=f"/builds/{opened.build_id}/parts",
    )


def _moved(words: tuple[str, ...]) -> tuple[str, ...]:
    """What a revision that took another version of the layout did to the runs; one without its port is moved then."""
    if not any(word.startswith("supply layout taken") for word in words):
        return ()
    return tuple(word for word in words if word.startswith(("run ", "added run", "removed run", "and ")))


def _chosen(state: SupplyState, href: str, build_id: str) -> ChosenLayout:
    """The layout of the build: its version, what is newer, and how much of what the build uses is metered."""
    layout, used = state.layout, state.used
    own = f"/layouts/{layout.id}/metering?build={build_id}" if layout.own and not state.gone else ""
    done = bool(used.cavities) and used.metered == used.cavities
    metered = f"{used.metered} of {used.cavities} cavities that this build uses are metered"
    return ChosenLayout(
        name=layout.name,
        value=layout.id,
        own=layout.own,
        version=layout.version,
        newer=f"version {state.newest}" if state.newest > layout.version else "",
        changes=state.changes,
        metered=metered if layout.own and used.cavities else "nothing of it is metered" if not layout.own else "",
        mark="✓" if done else "▲",
        href=own,
        copy="" if layout.own else f"{href}/copy",
        gone=state.gone,
    )


def _layout(layout: SupplyLayout, value: str, catalogue: Catalogue) -> LayoutChoice:
    """One layout with its ports drawn small."""
    return LayoutChoice(
        layout.id,
        f"f-supply-{layout.id}",
        layout.name,
        layout.note,
        f"your own, version {layout.version}" if layout.own else "unmetered sample",
        "●" if layout.own else "▲",
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
