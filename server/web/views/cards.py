"""Cable cards: everything one cable needs at the bench, one card a page on paper."""

from collections import Counter
from dataclasses import dataclass

from server.domain.model.plan import Plug, RunPlan
from server.drawing.face import plug_face_svg
from server.services.opened import Opened
from server.web.views import formats
from server.web.views.pieces import FindingLine, WireLine, finding_lines, letter, plugs_text, route_text, run_title, wire_lines
from server.web.views.run import run_facts


@dataclass(frozen=True, slots=True)
class Face:
    """One plug, seen from the wire side."""

    label: str
    housing: str
    note: str
    svg: str


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
    wires: tuple[WireLine, ...]
    sleeved: bool
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
        source=plugs_text(run.sources),
        target=plugs_text(run.ends),
        length=route_text(run),
        waits=run.state != "measured",
        sources=_faces(run, opened, at_source=True),
        ends=_faces(run, opened, at_source=False),
        wires=wire_lines(run, opened.catalogue),
        sleeved=any(wire.sleeve_colour for wire in run.wires),
        facts=(*_pieces(run, opened), *run_facts(run, opened)),
        notes=run.notes,
        findings=finding_lines(findings, "", opened.plan.runs),
    )


def _faces(run: RunPlan, opened: Opened, *, at_source: bool) -> tuple[Face, ...]:
    """The plugs of one side; in a chain each has its letter."""
    plugs = run.sources if at_source else run.ends
    return tuple(
        Face(
            _face_label(plug, index, len(plugs), at_source=at_source),
            opened.catalogue.housings[plug.housing].name,
            "lies flattest with its latch down" if plug.latch_down else "",
            plug_face_svg(run, index, at_source, opened.catalogue),
        )
        for index, plug in enumerate(plugs)
    )


def _face_label(plug: Plug, index: int, total: int, *, at_source: bool) -> str:
    """What stands above a face: where the plug goes."""
    place = f"{plug.place}, {plug.socket}"
    return place if at_source or total < 2 else f"{letter(index)}: {place}"


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
