"""A cable card on paper: a drawing sheet with its frame and title block, everything one cable needs at the bench."""

from dataclasses import dataclass, replace

from server.documents.qr import qr_svg
from server.domain.model.plan import PlannedWire, RunPlan
from server.drawing.swatch import swatch_svg
from server.services.opened import Opened
from server.services.test_sheets import run_of
from server.web.views import formats
from server.web.views.bench_address import bench_href
from server.web.views.bench_facts import insulation_facts, longest_wire, sleeve_sum, spare_facts, sum_words
from server.web.views.bench_settings import Step
from server.web.views.bench_steps import bench_steps
from server.web.views.card_density import SHEETS, Density, SheetSize
from server.web.views.card_drawings import Figure, faces, in_rows, joints, marks, ribbon, row_with_room, sized
from server.web.views.card_materials import MaterialLine, material_lines, materials_note
from server.web.views.card_stages import Stage, stages_of
from server.web.views.card_title import TitleBlock, title_block
from server.web.views.cards import joint_text, method_words
from server.web.views.pieces import (
    FindingLine,
    WireLine,
    as_made,
    finding_lines,
    findings_of_run,
    plugs_text,
    route_text,
    run_title,
    source_text,
    wire_table,
)
from server.web.views.route_facts import route_facts
from server.web.views.wiring import latch_words

_FEW = 10
THIS_COMPUTER = ("http://127.", "http://localhost", "http://[::1]")


@dataclass(frozen=True, slots=True)
class PaperSwatch:
    """A colour by its code, and as a field that reads without colour."""

    svg: str
    code: str


@dataclass(frozen=True, slots=True)
class PaperWire:
    """One row of the table of wires."""

    line: WireLine
    colour: PaperSwatch | None
    """``None`` for a wire that stays as its maker made it."""
    sleeve: PaperSwatch | None


@dataclass(frozen=True, slots=True)
class PaperMaterial:
    """One row of the list of materials."""

    line: MaterialLine
    colour: PaperSwatch | None


@dataclass(frozen=True, slots=True)
class CardSheet:
    """One cable card on one sheet of paper."""

    number: int
    title: str
    block: TitleBlock
    narrow: bool
    even: bool
    """Whether tables and steps take equal room: few wires."""
    source: str
    target: str
    length: str
    latch: str
    metered: bool
    waits: bool
    proved: bool
    """False when the independent check found a fault: nothing of the cable is shown then."""
    method: str
    rows: tuple[tuple[Figure, ...], ...]
    """Plugs, joints, ribbon and the square code that opens the run on the bench screen."""
    aside: tuple[Figure, ...]
    """The code, where no row has room for it and the column of materials has."""
    marks: str
    common: str
    stages: tuple[Stage, ...]
    broad: bool
    """Whether the table of wires goes across the sheet: a few wires with much to say of each."""
    close: bool
    """Whether rows lie close and settings are not bold."""
    beside: bool
    """Whether materials and facts stand beside the steps instead of running on below them."""
    key: str
    """What the letters above the columns to tick mean."""
    wires: tuple[PaperWire, ...]
    gauge: bool
    sleeve: bool
    materials: tuple[PaperMaterial, ...]
    materials_note: str
    steps: tuple[Step, ...]
    facts: tuple[tuple[str, str], ...]
    notes: tuple[str, ...]
    findings: tuple[FindingLine, ...]
    more_findings: str
    """How many are left out; empty for none."""
    cautions: tuple[str, ...]


def card_sheet(opened: Opened, run_id: str, address: str, paper: str, level: int = 0) -> CardSheet:
    """What one card says, set as closely as asked.

    Args:
        opened: The build as it stands.
        run_id: The run.
        address: Where the planner is reached, for the code.
        paper: A key of ``PAPERS``.
        level: Place of the density in the paper's list; 0 is the roomiest.

    Raises:
        NotFoundError: there is no such run.
        KeyError: no such paper.
        IndexError: no such density.
    """
    run = run_of(opened, run_id)
    sheet = SHEETS[paper]
    density = sheet.densities[level]
    findings = finding_lines(findings_of_run(opened.plan.findings, run.number), "", opened.plan.runs)
    more = len(findings) - density.findings
    code = _code(run, opened, address, sheet.code)
    made = CardSheet(
        number=run.number,
        title=run_title(run),
        block=title_block(run, opened),
        narrow=sheet.narrow,
        even=len(run.wires) <= _FEW,
        source=source_text(run),
        target=plugs_text(run.ends),
        length=route_text(run),
        latch=latch_words(run),
        metered=opened.plan.metered,
        waits=run.state != "measured",
        proved=run.proved,
        method=method_words(run),
        rows=((code,),),
        aside=(),
        marks="",
        common="",
        stages=(),
        broad=False,
        close=density.close,
        beside=not density.close,
        key="",
        wires=(),
        gauge=False,
        sleeve=False,
        materials=(),
        materials_note="",
        steps=(),
        facts=(),
        notes=(),
        findings=findings[: density.findings],
        more_findings=f"{formats.count(more, 'more finding')}: see the list of findings." if more > 0 else "",
        cautions=opened.plan.cautions,
    )
    return _drawn(_worked(made, run, opened), run, opened, sheet, density, code) if run.proved else made


def likely_level(opened: Opened, run_id: str, paper: str) -> int:
    """The density that will most likely just fit, so that few have to be tried.

    Args:
        opened: The build as it stands.
        run_id: The run.
        paper: A key of ``PAPERS``.

    Raises:
        NotFoundError: there is no such run.
        KeyError: no such paper.
    """
    run = run_of(opened, run_id)
    sheet = SHEETS[paper]
    # Counted on the cards of both examples: each plug beyond two takes the room of three wires.
    crowd = len(run.wires) + 3 * max(0, len(run.sources) + len(run.ends) - 2)
    closest = len(sheet.densities) - 3
    return max(0, min(closest, round(crowd / (2.4 if sheet.narrow else 4.5)) - (0 if sheet.narrow else 1)))


def _code(run: RunPlan, opened: Opened, address: str, wide: float) -> Figure:
    """The square code, and who can follow it."""
    svg = qr_svg(f"{address}{bench_href(opened.build_id, run.id)}", f"Run {run.number} at the bench")
    local = address.startswith(THIS_COMPUTER)
    words = f"Run {run.number} on the bench screen." + (" Phones reach it only with" if local else "")
    return Figure(svg, more=words, option="--phones" if local else "", below=True, code=True, wide=wide)


def _worked(made: CardSheet, run: RunPlan, opened: Opened) -> CardSheet:
    """The card with its tables, steps and facts."""
    table = wire_table(run, opened.catalogue)
    steps = bench_steps(run, opened)
    stages = stages_of(run, opened.catalogue)
    much = any(wire.taps for wire in run.wires) or any(line.joined or line.doubled for line in table.lines)
    broad = much and len(run.wires) <= _FEW
    return replace(
        made,
        common=table.common,
        stages=stages,
        broad=broad,
        beside=broad or made.beside,
        key=", ".join(f"{stage.letter} {stage.told}" for stage in stages),
        wires=tuple(_wire(wire, line, run, opened) for wire, line in zip(run.wires, table.lines, strict=True)),
        gauge=table.gauge,
        sleeve=table.sleeve or table.sleeve_cut,
        materials=tuple(
            PaperMaterial(
                line, _swatch(line.colour.code, f"m{row}", opened, sleeve=line.braid) if line.colour else None
            )
            for row, line in enumerate(material_lines(run, opened.catalogue))
        ),
        materials_note=materials_note(run),
        steps=steps,
        facts=_facts(run, opened),
        notes=run.notes,
    )


def _wire(wire: PlannedWire, line: WireLine, run: RunPlan, opened: Opened) -> PaperWire:
    own = as_made(run, wire)
    apart = bool(wire.sleeve_colour) and (own or wire.sleeve_colour != wire.colour)
    return PaperWire(
        line,
        None if own else _swatch(wire.colour, wire.label, opened),
        _swatch(wire.sleeve_colour, wire.label, opened, sleeve=True) if apart else None,
    )


def _swatch(code: str, place: str, opened: Opened, *, sleeve: bool = False) -> PaperSwatch:
    """A colour at one place of the card, which keeps the ids of its drawing apart from all others."""
    prefix = f"{place}-{'braid' if sleeve else 'wire'}"
    return PaperSwatch(swatch_svg(prefix, code, opened.catalogue, sleeve=sleeve), code)


def _facts(run: RunPlan, opened: Opened) -> tuple[tuple[str, str], ...]:
    """What the tables and steps do not say."""
    own = next((entered.own_cable_mm for entered in opened.build.runs if entered.id == run.id), None)
    longest = longest_wire(run)
    return (
        *((("longest wire", f"{longest.label}: {sum_words(run, longest)}"),) if longest else ()),
        *sleeve_sum(run, opened),
        *((("own cable", formats.length(own)),) if run.method != "scratch" and own is not None else ()),
        *route_facts(run, opened),
        *spare_facts(run),
        *insulation_facts(run),
    )


def _drawn(
    made: CardSheet, run: RunPlan, opened: Opened, sheet: SheetSize, density: Density, code: Figure
) -> CardSheet:
    """The card with its drawings, each as large as its words need."""
    room = sheet.room(density)
    wanted = max(sheet.least_pt, density.size_pt)
    drawn = (
        *faces(run, opened, nets=density.nets),
        *(Figure(svg, more=joint_text(run, group, opened), below=True) for svg, group in joints(run, opened)),
    )
    figures = (
        *(sized(figure, sheet.least_pt, wanted, room) for figure in drawn),
        *ribbon(run, opened, sheet, density),
    )
    rows = in_rows(figures, room)
    place = row_with_room(rows, code, room)
    if place is not None:
        place.append(code)
    elif not made.broad:
        rows.append([code])
    return replace(
        made,
        rows=tuple(map(tuple, rows)),
        aside=(code,) if place is None and made.broad else (),
        marks="; ".join(("plugs seen from the wire side", *marks(run, opened))),
    )
