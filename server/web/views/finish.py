"""The fourth step: gauge, insulation, colour, sleeve, heat-shrink and combs."""

from collections.abc import Iterable
from dataclasses import dataclass

from server.domain.model.build import Finish, RunFinish
from server.domain.model.catalogue import Catalogue, Insulation
from server.domain.model.plan import RunPlan
from server.drawing.ribbon import ribbon_end_svg
from server.services.opened import Opened
from server.web.views import formats
from server.web.views.fields import Field, Fields
from server.web.views.pieces import Swatch, run_title, swatch

COLOUR_MODES = (("by_net", "by net, as the design guide recommends"), ("pattern", "a repeating pattern"))
AS_BUILD = ("", "as the build")
YES_NO = (AS_BUILD, ("yes", "yes"), ("no", "no"))


@dataclass(frozen=True, slots=True)
class PatternEntry:
    """One colour of a pattern and the value of the button that takes it out."""

    place: int
    swatch: Swatch
    drop: str


@dataclass(frozen=True, slots=True)
class PatternEditor:
    """A repeating pattern of colours: as text, as buttons to take out, and as buttons to add."""

    field: Field
    entries: tuple[PatternEntry, ...]
    palette: tuple[Swatch, ...]
    add: str
    drop: str


@dataclass(frozen=True, slots=True)
class RibbonEnd:
    """The end of one run's ribbon as it will look."""

    number: int
    title: str
    href: str
    finish: str
    svg: str


@dataclass(frozen=True, slots=True)
class FinishPanel:
    """The finish step."""

    href: str
    base: int
    gauges: tuple[Field, ...]
    more_gauges: tuple[Field, ...]
    insulation: Field
    colour_mode: Field
    pattern: PatternEditor
    sleeve: Field
    sleeve_pattern: PatternEditor
    shrink: Field
    combs: Field
    ends: tuple[RibbonEnd, ...]
    next: str


@dataclass(frozen=True, slots=True)
class RunFinishFields:
    """What one run does otherwise than the build."""

    awg: Field
    insulation: Field
    colour_mode: Field
    pattern: PatternEditor
    sleeve: Field
    sleeve_pattern: PatternEditor
    shrink: Field
    combs: Field


def finish_panel(opened: Opened, base: int, fields: Fields) -> FinishPanel:
    """The view of the finish step.

    Args:
        opened: The build as it stands.
        base: Revision that the form changes.
        fields: Makes the fields with what was typed last.
    """
    finish, catalogue = opened.build.finish, opened.catalogue
    used = {run.use for run in opened.plan.runs}
    gauges = {
        use: fields.choice(
            f"finish.awg.{use}",
            name,
            str(finish.awg_by_use.get(use, "")),
            [("", "usual"), *_gauges(catalogue, finish.insulation)],
        )
        for use, name in formats.USES.items()
    }
    href = f"/builds/{opened.build_id}"
    return FinishPanel(
        href=f"{href}/finish",
        base=base,
        gauges=tuple(field for use, field in gauges.items() if use in used),
        more_gauges=tuple(field for use, field in gauges.items() if use not in used),
        insulation=fields.choice("finish.insulation", "Insulation", finish.insulation, formats.INSULATIONS.items()),
        colour_mode=fields.choice("finish.colour_mode", "Wire colours", finish.colour_mode, COLOUR_MODES),
        pattern=wire_pattern("finish", finish.pattern, catalogue, fields, finish.insulation),
        sleeve=fields.choice(
            "finish.sleeve", "Sleeve", finish.sleeve, [("", "none, bare wires"), *_sleeves(catalogue)]
        ),
        sleeve_pattern=sleeve_pattern("finish", finish.sleeve_pattern, catalogue, fields),
        shrink=fields.tick("finish.shrink", "Heat-shrink at both ends", finish.shrink),
        combs=fields.tick("finish.combs", "Combs along each ribbon", finish.combs),
        ends=tuple(ribbon_end(run, opened) for run in opened.plan.runs),
        next=f"{href}/cards",
    )


def ribbon_end(run: RunPlan, opened: Opened) -> RibbonEnd:
    """The picture of one ribbon's end."""
    own = next((run_.finish for run_ in opened.build.runs if run_.id == run.id), RunFinish())
    return RibbonEnd(
        run.number,
        run_title(run),
        f"/builds/{opened.build_id}/runs/{run.id}",
        "finish of its own" if own != RunFinish() else "as the build",
        opened.once(f"ribbon end {run.id}", lambda: ribbon_end_svg(run, opened.catalogue)),
    )


def run_finish_fields(
    run: RunPlan, own: RunFinish, build: Finish, catalogue: Catalogue, fields: Fields
) -> RunFinishFields:
    """The fields of one run's own finish; an empty choice follows the build.

    Args:
        run: The planned run.
        own: What the run does otherwise.
        build: The build's finish, for the insulation that colours are listed for.
        catalogue: Reference data.
        fields: Makes the fields with what was typed last.
    """
    name = f"runs.{run.id}.finish"
    insulation = own.insulation or build.insulation
    sleeve = {None: "", "": "bare"}.get(own.sleeve, own.sleeve or "")
    return RunFinishFields(
        awg=fields.choice(
            f"{name}.awg", "Gauge", str(own.awg or ""), [("", "as the build"), *_gauges(catalogue, insulation)]
        ),
        insulation=fields.choice(
            f"{name}.insulation", "Insulation", own.insulation or "", [AS_BUILD, *formats.INSULATIONS.items()]
        ),
        colour_mode=fields.choice(
            f"{name}.colour_mode", "Wire colours", own.colour_mode or "", [AS_BUILD, *COLOUR_MODES]
        ),
        pattern=wire_pattern(name, own.pattern or (), catalogue, fields, insulation),
        sleeve=fields.choice(
            f"{name}.sleeve", "Sleeve", sleeve, [AS_BUILD, ("bare", "none, bare wires"), *_sleeves(catalogue)]
        ),
        sleeve_pattern=sleeve_pattern(name, own.sleeve_pattern or (), catalogue, fields),
        shrink=fields.choice(f"{name}.shrink", "Heat-shrink", _yes_no(own.shrink), YES_NO),
        combs=fields.choice(f"{name}.combs", "Combs", _yes_no(own.combs), YES_NO),
    )


def wire_pattern(
    name: str, pattern: tuple[str, ...], catalogue: Catalogue, fields: Fields, insulation: Insulation
) -> PatternEditor:
    """The editor of a pattern of wire colours, those sold in this insulation first to hand."""
    palette = [colour.code for colour in catalogue.colours.values() if insulation in colour.insulations]
    return _pattern(f"{name}.pattern", "Pattern of wires", pattern, palette, catalogue, fields)


def sleeve_pattern(name: str, pattern: tuple[str, ...], catalogue: Catalogue, fields: Fields) -> PatternEditor:
    """The editor of a pattern of sleeve colours."""
    palette = [colour.code for colour in catalogue.colours.values() if colour.sleeve]
    return _pattern(f"{name}.sleeve_pattern", "Pattern of sleeves", pattern, palette, catalogue, fields)


def _pattern(
    name: str, label: str, pattern: tuple[str, ...], palette: Iterable[str], catalogue: Catalogue, fields: Fields
) -> PatternEditor:
    """One editor: what stands, and what can be added."""
    return PatternEditor(
        fields.text(name, label, " ".join(pattern), hint="Colour codes, wire after wire, then from the start again."),
        tuple(
            PatternEntry(place, swatch(catalogue, code), str(place - 1)) for place, code in enumerate(pattern, start=1)
        ),
        tuple(swatch(catalogue, code) for code in palette),
        f"{name}.add",
        f"{name}.drop",
    )


def _gauges(catalogue: Catalogue, insulation: Insulation) -> list[tuple[str, str]]:
    """Gauges that are sold in this insulation, thickest first."""
    gauges = sorted({wire.awg for wire in catalogue.wires.values() if wire.insulation == insulation})
    return [(str(awg), f"{awg} AWG") for awg in gauges]


def _sleeves(catalogue: Catalogue) -> list[tuple[str, str]]:
    """Sleeves by name."""
    return [(sleeve.id, sleeve.name) for sleeve in catalogue.sleeves.values()]


def _yes_no(value: bool | None) -> str:
    """The choice that stands for an own yes or no, or for the build's."""
    return "" if value is None else "yes" if value else "no"
