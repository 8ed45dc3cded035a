"""Cable cards: everything one cable needs at the bench, one card a page on paper."""

from collections import Counter
from dataclasses import dataclass

from server.domain.model.plan import RunPlan
from server.drawing.face import plug_face_svg
from server.services.opened import Opened
from server.web.views import formats
from server.web.views.pieces import (
    FindingLine,
    WireTable,
    finding_lines,
    letter,
    plugs_text,
    route_text,
    run_title,
    source_text,
    wire_table,
)
from server.web.views.run import run_facts


@dataclass(frozen=True, slots=True)
class Face:
    """One plug, seen from the wire side, and the plugs of the chain that are wired as it is."""

    svg: str
    alike: str


@dataclass(frozen=True, slots=True)
class Card:
    """One cable card."""

    number: int
    anchor: str
    title: str
    href: str
    source: str
    target: str
    length: str
    waits: bool
    sources: tuple[Face, ...]
    ends: tuple[Face, ...]
    side_by_side: bool
    """Whether both sides are narrow enough to stand beside each other."""
    long: bool
    """Whether the wires are set in two columns on small paper."""
    wires: WireTable
    facts: tuple[tuple[str, str], ...]
    notes: tuple[str, ...]
    findings: tuple[FindingLine, ...]


@dataclass(frozen=True, slots=True)
class CardsPanel:
    """Every cable card of a build."""

    build: str
    client: str
    revision: str
    metered: bool
    cards: tuple[Card, ...]
    cautions: tuple[str, ...]


def cards_panel(opened: Opened) -> CardsPanel:
    """The view of all cable cards.

    Args:
        opened: The build as it stands.
    """
    return CardsPanel(
        build=opened.build.name,
        client=opened.build.client,
        revision=f"{opened.revision}, {formats.day(opened.saved_at)}",
        metered=opened.plan.metered,
        cards=tuple(_card(run, opened) for run in opened.plan.runs),
        cautions=opened.plan.cautions,
    )


def _card(run: RunPlan, opened: Opened) -> Card:
    """One card."""
    findings = tuple(finding for finding in opened.plan.findings if finding.run == run.number)
    return Card(
        number=run.number,
        anchor=f"card-{run.number}",
        title=run_title(run),
        href=f"/builds/{opened.build_id}/runs/{run.id}",
        source=source_text(run),
        target=plugs_text(run.ends),
        length=route_text(run),
        waits=run.state != "measured",
        sources=_faces(run, opened, at_source=True),
        ends=_faces(run, opened, at_source=False),
        side_by_side=_columns(run, opened) <= 12,
        long=len(run.wires) > 12,
        wires=wire_table(run, opened.catalogue),
        facts=(*_pieces(run, opened), *run_facts(run, opened)),
        notes=run.notes,
        findings=finding_lines(findings, "", opened.plan.runs),
    )


def _faces(run: RunPlan, opened: Opened, *, at_source: bool) -> tuple[Face, ...]:
    """The plugs of one side. The middle plugs of a chain are wired as its first, and are only named."""
    plugs = run.sources if at_source else run.ends
    shown = list(range(len(plugs)))
    middle: list[int] = []
    if not at_source and len(plugs) > 2 and len({plug.housing for plug in plugs}) == 1:
        shown, middle = [0, len(plugs) - 1], shown[1:-1]
    return tuple(
        Face(
            plug_face_svg(run, index, at_source, opened.catalogue),
            formats.listed(f"plug {letter(other)}" for other in middle) if middle and index == 0 else "",
        )
        for index in shown
    )


def _columns(run: RunPlan, opened: Opened) -> int:
    """Columns of all plugs that are drawn beside each other."""
    return sum(opened.catalogue.housings[plug.housing].columns for plug in (*run.sources, *run.ends[:2]))


def _pieces(run: RunPlan, opened: Opened) -> tuple[tuple[str, str], ...]:
    """Housings, contacts and caps with how many of each."""
    catalogue = opened.catalogue
    plugs = (*run.sources, *run.ends)
    housings = Counter(catalogue.housings[plug.housing].name for plug in plugs)
    caps = Counter(catalogue.caps[plug.cap].name for plug in plugs if plug.cap)
    # Doubled wires share one contact, so that contacts are counted by plug and cavity and not by wire.
    places = {
        (end.plug, at_end, end.cavity): end.contact
        for wire in run.wires
        for end, at_end in (
            (wire.source, wire.source_at_end),
            (wire.target, True),
            *((tap, True) for tap in wire.taps),
        )
        if end.contact
    }
    contacts = Counter(
        catalogue.contacts[contact].name if contact in catalogue.contacts else contact for contact in places.values()
    )
    return (
        *(("housing", f"{times} × {name}") for name, times in housings.items()),
        *(("contact", f"{times} × {name}") for name, times in contacts.items()),
        *(("cap", f"{times} × {name}") for name, times in caps.items()),
    )
