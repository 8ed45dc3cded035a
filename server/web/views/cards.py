"""Cable cards: everything one cable needs at the bench, one card a page on paper."""

from dataclasses import dataclass

from server.domain.model.build import SUPPLY
from server.domain.model.plan import RunPlan
from server.domain.reference import LAP_MM
from server.drawing.face import plug_face_svg
from server.drawing.face_words import face_words
from server.drawing.joints import joint_groups, joint_svg, joint_words
from server.drawing.ribbon import ribbon_svg
from server.services.opened import Opened
from server.web.views import formats
from server.web.views.bench_address import bench_href
from server.web.views.bench_facts import end_facts, insulation_facts, longest_wire, run_facts, sum_words
from server.web.views.bench_steps import Step, bench_steps
from server.web.views.card_materials import MaterialLine, material_lines, materials_note
from server.web.views.card_title import TitleBlock, title_block
from server.web.views.pieces import (
    FindingLine,
    WireTable,
    finding_lines,
    findings_of_run,
    letter,
    plugs_text,
    route_text,
    run_title,
    source_text,
    wire_table,
)
from server.web.views.route_facts import route_facts, route_svg
from server.web.views.ways import METHODS
from server.web.views.wiring import latch_words


@dataclass(frozen=True, slots=True)
class Face:
    """One plug, seen from the wire side, and the plugs of the chain that are wired as it is."""

    svg: str
    title: str
    more: str
    """Cap or key of the housing."""
    alike: str


@dataclass(frozen=True, slots=True)
class JointLine:
    """A splice, a bridge or a soldered-on wire."""

    svg: str
    text: str


@dataclass(frozen=True, slots=True)
class RouteDrawing:
    """A route by legs and bends, drawn small; empty where there is none."""

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
    proved: bool
    """False when the independent check found a fault: nothing of the cable is shown then."""
    method: str
    steps: tuple[Step, ...]
    latch: str
    joints: tuple[JointLine, ...]
    route: RouteDrawing
    ribbon: str
    """The run laid out flat, small; empty for a cable without wires."""
    test_href: str
    bench_href: str
    """Address of its test sheet; empty for a cable without wires."""
    view: str
    """From which side the faces are seen."""
    marks: str
    """What the marks on the faces mean."""
    sources: tuple[Face, ...]
    ends: tuple[Face, ...]
    side_by_side: bool
    """Whether both sides are narrow enough to stand beside each other."""
    long: bool
    """Whether the wires are set in two columns on small paper."""
    wires: WireTable
    facts: tuple[tuple[str, str], ...]
    materials: tuple[MaterialLine, ...]
    materials_note: str
    block: TitleBlock
    notes: tuple[str, ...]
    findings: tuple[FindingLine, ...]


@dataclass(frozen=True, slots=True)
class CardsPanel:
    """Every cable card of a build."""

    build: str
    client: str
    revision: str
    metered: bool
    papers: str
    """Address of the papers as PDF, where cards are set for the paper chosen."""
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
        papers=f"/builds/{opened.build_id}/papers",
        cards=tuple(_card(run, opened) for run in opened.plan.runs),
        cautions=opened.plan.cautions,
    )


def _card(run: RunPlan, opened: Opened) -> Card:
    """One card."""
    table = wire_table(run, opened.catalogue)
    keys = _keys(run, opened)
    findings = findings_of_run(opened.plan.findings, run.number)
    return Card(
        number=run.number,
        anchor=f"card-{run.number}",
        title=run_title(run),
        href=f"/builds/{opened.build_id}/runs/{run.id}",
        source=source_text(run),
        target=plugs_text(run.ends),
        length=route_text(run),
        waits=run.state != "measured",
        proved=run.proved,
        method=method_words(run),
        steps=bench_steps(run, opened),
        latch=latch_words(run),
        joints=tuple(
            JointLine(joint_svg(run, group[0], opened.catalogue), joint_text(run, group, opened))
            for group in joint_groups(run)
        ),
        route=RouteDrawing(route_svg(run, opened)),
        ribbon=ribbon_svg(run, opened.catalogue, small=True) if run.wires else "",
        test_href=f"/builds/{opened.build_id}/runs/{run.id}/test" if run.wires else "",
        bench_href=bench_href(opened.build_id, run.id),
        view="plugs seen from the wire side",
        marks="; ".join((*_marks(run, opened), *(keys if len(keys) == 1 else ()))),
        sources=_faces(run, opened, at_source=True),
        ends=_faces(run, opened, at_source=False),
        side_by_side=_columns(run, opened) <= 12,
        # A table whose wires differ in gauge is a column wider, and stands in one piece as long as the page holds it.
        long=len(run.wires) > (16 if table.gauge else 12),
        wires=table,
        facts=_facts(run, opened),
        materials=material_lines(run, opened.catalogue),
        materials_note=materials_note(run),
        block=title_block(run, opened),
        notes=run.notes,
        findings=finding_lines(findings, "", opened.plan.runs),
    )


def method_words(run: RunPlan) -> str:
    """The way a run is built.

    Args:
        run: The planned run.
    """
    return METHODS[run.method] if run.kind != "sleeved" else "sleeved as it is"


def joint_text(run: RunPlan, group: tuple[int, ...], opened: Opened) -> str:
    """A joint in words, with how far the wires overlap in it.

    Args:
        run: The planned run.
        group: Places of equal joints among those of the run.
        opened: The build as it stands.
    """
    words = joint_words(run, group, opened.catalogue)
    overlap = f"{formats.number(LAP_MM)} mm overlap"
    return words if run.joints[group[0]].kind == "jumper" or overlap in words else f"{words}; {overlap}"


def _faces(run: RunPlan, opened: Opened, *, at_source: bool) -> tuple[Face, ...]:
    """The plugs of one side. The middle plugs of a chain are wired as its first, and are only named."""
    plugs = run.sources if at_source else run.ends
    shown = list(range(len(plugs)))
    middle: list[int] = []
    if not at_source and len(plugs) > 2 and len({plug.housing for plug in plugs}) == 1:
        shown, middle = [0, len(plugs) - 1], shown[1:-1]
    return tuple(
        _face(run, index, opened, middle if middle and index == 0 else [], at_source=at_source) for index in shown
    )


def _face(run: RunPlan, index: int, opened: Opened, alike: list[int], *, at_source: bool) -> Face:
    """One plug; the card says beside it what the drawing leaves out, so that the face is as large as it can be."""
    words = face_words(run, index, at_source, opened.catalogue)
    plug = (run.sources if at_source else run.ends)[index]
    return Face(
        plug_face_svg(run, index, at_source, opened.catalogue, captions=False),
        plug.socket if plug.ref.part == SUPPLY else words.title,
        words.more if len(_keys(run, opened)) > 1 else "",
        formats.listed(f"plug {letter(other)}" for other in alike),
    )


def _keys(run: RunPlan, opened: Opened) -> dict[str, None]:
    """Caps and keys of all plugs of a run, each once; one that all share is said once for the card."""
    plugs = [(True, i) for i in range(len(run.sources))] + [(False, i) for i in range(len(run.ends))]
    found = [face_words(run, index, at_source, opened.catalogue).more for at_source, index in plugs]
    return dict.fromkeys(found if any(found) else ())


def _marks(run: RunPlan, opened: Opened) -> dict[str, None]:
    """Explanations of the marks on all faces of a run, each once."""
    plugs = [(True, i) for i in range(len(run.sources))] + [(False, i) for i in range(len(run.ends))]
    found = (face_words(run, index, at_source, opened.catalogue).marks for at_source, index in plugs)
    return dict.fromkeys(mark for marks in found for mark in marks)


def _columns(run: RunPlan, opened: Opened) -> int:
    """Columns of all plugs that are drawn beside each other."""
    return sum(opened.catalogue.housings[plug.housing].columns for plug in (*run.sources, *run.ends[:2]))


def _facts(run: RunPlan, opened: Opened) -> tuple[tuple[str, str], ...]:
    """Everything the bench needs beside the wires."""
    catalogue = opened.catalogue
    own = next((entered.own_cable_mm for entered in opened.build.runs if entered.id == run.id), None)
    longest = longest_wire(run)
    return (
        *((("longest wire", f"{longest.label}: {sum_words(run, longest)}"),) if longest else ()),
        *((("own cable before it", formats.length(own)),) if run.method == "extension" and own is not None else ()),
        *route_facts(run, opened),
        *end_facts(run, catalogue),
        *(fact for fact in run_facts(run, opened) if fact[0] != "crossings" or not run.latch_ways),
        *insulation_facts(run),
    )
