"""One supply layout of the builder's own: its ports drawn as one looks into their sockets, every cavity a field."""

from dataclasses import dataclass
from urllib.parse import urlencode

from server.domain.housings import cavities
from server.domain.layout_places import place_of
from server.domain.model.catalogue import Catalogue, Housing, Port
from server.domain.output_limits import EDITION_NAMES, RAILS, SUPPLY_NETS
from server.services.layout_use import LayoutUse
from server.services.layouts import OpenedLayout, VersionSummary
from server.web.reading.layout import limit_name
from server.web.views import formats
from server.web.views.fields import Field, Fields, Trouble, field_id, sentence
from server.web.views.frame import RailItem
from server.web.views.layouts import imported_words, metered_words

VIEW = "Drawn as you look into the supply's socket: the wire side of the plug that goes in shows the same picture."
LATCHES = {"top": "latch above", "bottom": "latch below", "none": "no latch"}


@dataclass(frozen=True, slots=True)
class CavityField:
    """One cavity at its place in the drawing."""

    number: str
    column: int
    """Counted from 1 at the left."""
    row: int
    field: Field


@dataclass(frozen=True, slots=True)
class PortEditor:
    """One port with its forms."""

    id: str
    anchor: str
    title: str
    remove: str
    """Address that takes the port out."""
    socket: str
    latch: str
    columns: int
    cavities: tuple[CavityField, ...]
    label: Field
    feeds: Field
    recorded: str
    metering: str


@dataclass(frozen=True, slots=True)
class Change:
    """Somebody saved a newer version meanwhile."""

    latest: int
    changes: tuple[str, ...]
    mine: tuple[str, ...]
    lost: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class BuildLink:
    """The way back to a build."""

    id: str
    href: str
    name: str


@dataclass(frozen=True, slots=True)
class LayoutFrame:
    """What stands around the panels of a layout."""

    title: str
    name: str
    version: str
    saved: str
    metered: str
    mark: str
    rail: tuple[RailItem, ...]
    build: BuildLink | None
    """The build that the page was opened from."""
    imported: str
    """Address of the worksheet, where readings of a file wait to be judged; empty where none do."""
    imported_words: str
    base: int
    message: str
    troubles: tuple[Trouble, ...]
    conflict: Change | None
    template: str


@dataclass(frozen=True, slots=True)
class LayoutPanel:
    """The ports and the facts of a layout."""

    href: str
    base: int
    about: str
    nets: tuple[tuple[str, str], ...]
    """Value and text of every net, for the palette."""
    ports: tuple[PortEditor, ...]
    name: Field
    note: Field
    edition: Field
    limits: tuple[Field, ...]
    new_label: Field
    new_housing: Field
    new_feeds: Field
    waiting: bool
    """True where something stands in the fields of a new port that is not added yet."""


@dataclass(frozen=True, slots=True)
class VersionLine:
    """One version with what it changed."""

    number: int
    name: str
    saved: str
    saved_iso: str
    words: tuple[str, ...]
    export: str
    back: str
    """Address that makes it the newest again; empty for the newest."""


@dataclass(frozen=True, slots=True)
class LayoutVersions:
    """The history of a layout."""

    versions: tuple[VersionLine, ...]


def layout_frame(
    opened: OpenedLayout,
    current: str,
    fields: Fields,
    message: str,
    conflict: Change | None = None,
    use: LayoutUse | None = None,
) -> LayoutFrame:
    """What stands around a panel of a layout; asked for once the panel's fields are made.

    Args:
        opened: The layout at its newest version.
        current: Name of the panel.
        fields: The fields of the panel.
        message: What the last step came to.
        conflict: What was saved meanwhile, if that stands in the way.
        use: What the build uses that the page was opened from.
    """
    layout, done = opened.layout, opened.progress
    mark, words = metered_words(done.metered, done.cavities)
    href = f"/layouts/{layout.id}"
    asked = f"?{urlencode({'build': use.build_id})}" if use else ""
    lines = (
        ("layout_ports", "Ports", f"{href}{asked}", formats.count(len(layout.ports), "port")),
        ("metering", "Metering", f"{href}/metering{asked}", f"{done.metered} of {done.cavities} cavities"),
        ("layout_versions", "Versions", f"{href}/versions{asked}", f"at version {opened.latest}"),
    )
    rail = tuple(RailItem(f"rail-{key}", to, name, line, key == current, "") for key, name, to, line in lines)
    title = next(name for key, name, _, _ in lines if key == current)
    return LayoutFrame(
        title=f"{title} – {layout.name}",
        name=layout.name,
        version=str(layout.version),
        saved=formats.clock(opened.saved_at),
        metered=words,
        mark=mark,
        rail=rail,
        build=BuildLink(use.build_id, f"/builds/{use.build_id}/supply", use.name) if use else None,
        imported=f"{href}/metering{asked}" if opened.imported and current != "metering" else "",
        imported_words=imported_words(len(opened.imported)),
        base=opened.latest,
        message=message,
        troubles=_troubles(opened, fields),
        conflict=conflict,
        template=f"panels/{current}.html",
    )


def _troubles(opened: OpenedLayout, fields: Fields) -> tuple[Trouble, ...]:
    """Every message of a refused form with the port and the cavity that it is about."""
    found = []
    for problem in fields.sent.problems:
        place, text = place_of(problem.field, opened.layout), sentence(problem.message)
        target = field_id(problem.field) if problem.field in fields.made else ""
        found.append(Trouble(f"{place}: {text}" if place else text, target))
    return tuple(found)


def layout_panel(opened: OpenedLayout, fields: Fields) -> LayoutPanel:
    """The view of a layout's ports.

    Args:
        opened: The layout at its newest version.
        fields: Makes the fields with what was typed last.
    """
    layout, catalogue = opened.layout, opened.catalogue
    plugs = [housing for housing in catalogue.housings.values() if housing.half == "plug" and housing.gender != "none"]
    limits = layout.limits_a
    new_label = fields.text("new.label", "Name beside the socket", "")
    new_housing = fields.choice("new.housing", "Plug that fits", "", [("", "pick one"), *_named(plugs)])
    new_feeds = fields.choices("new.feeds", "What its legend says it feeds", (), formats.USES.items())
    return LayoutPanel(
        href=f"/layouts/{layout.id}",
        base=opened.latest,
        about=VIEW,
        nets=NETS,
        ports=tuple(_editor(opened, port, fields) for port in layout.ports),
        name=fields.text("name", "Name", layout.name),
        note=fields.text("note", "Notes", layout.note),
        edition=fields.choice(
            "edition",
            "Output limits that readings are judged by",
            layout.edition,
            EDITION_NAMES.items(),
            "The supply's label or manual names its edition; the stricter of both is safe.",
        ),
        limits=tuple(
            fields.text(
                limit_name(net), net, formats.number(limits[net], 3) if net in limits else "", unit="A", about="At most"
            )
            for net in RAILS
        ),
        new_label=new_label,
        new_housing=new_housing,
        new_feeds=new_feeds,
        waiting=bool(new_label.value or new_housing.value or any(new_feeds.sent)),
    )


def layout_versions(opened: OpenedLayout, versions: tuple[VersionSummary, ...]) -> LayoutVersions:
    """The view of a layout's history, newest first."""
    return LayoutVersions(
        tuple(
            VersionLine(
                each.number,
                each.name,
                formats.clock(each.saved_at),
                each.saved_at,
                each.words,
                f"/layouts/{opened.layout.id}/export?version={each.number}",
                f"/layouts/{opened.layout.id}/versions/{each.number}" if each.number < opened.latest else "",
            )
            for each in versions
        )
    )


NETS = (("", "n/c"), *((net, net) for net in SUPPLY_NETS))


def places(port: Port, catalogue: Catalogue) -> tuple[tuple[str, int, int], ...]:
    """Number, column and row of each cavity, counted from 1, in numbering order."""
    housing = catalogue.housings[port.housing]
    return tuple((each.name, int(each.column) + 1, each.row + 1) for each in cavities(housing))


def anchor(port_id: str) -> str:
    """Id of a port's block on a page."""
    return "port-" + "".join(letter if letter.isalnum() else "-" for letter in port_id)


def _named(housings: list[Housing]) -> list[tuple[str, str]]:
    return [(housing.id, housing.name) for housing in housings]


def _editor(opened: OpenedLayout, port: Port, fields: Fields) -> PortEditor:
    """One port with a field at the place of every cavity."""
    housing = opened.catalogue.housings[port.housing]
    path = f"ports.{port.id}"
    nets = {pin.cavity: pin.net for pin in port.pins}
    drawn = tuple(
        CavityField(
            number, column, row, fields.choice(f"{path}.{number}", f"Cavity {number}", nets.get(number, ""), NETS)
        )
        for number, column, row in places(port, opened.catalogue)
    )
    done = [verdict.state == "metered" for (place, _), verdict in opened.verdicts.items() if place == port.id]
    return PortEditor(
        id=port.id,
        anchor=anchor(port.id),
        title=port.label,
        remove=f"/layouts/{opened.layout.id}/ports/{port.id}/remove",
        socket=housing.name,
        latch=LATCHES[housing.latch],
        columns=housing.columns,
        cavities=drawn,
        label=fields.text(f"{path}.label", "Name beside the socket", port.label),
        feeds=fields.choices(f"{path}.feeds", "What its legend says it feeds", port.feeds, formats.USES.items()),
        recorded=_recorded(port),
        metering=" ".join(metered_words(sum(done), len(done))),
    )


def _recorded(port: Port) -> str:
    """How many cavities of each net, such as ``4 COM, 4 +12V``."""
    counts: dict[str, int] = {}
    for pin in port.pins:
        counts[pin.net or "not connected"] = counts.get(pin.net or "not connected", 0) + 1
    return formats.listed(f"{count} {net}" for net, count in counts.items())
