"""The fourth step: gauge, insulation, colour, sleeve, how its ends are held, and combs."""

from collections.abc import Iterable
from dataclasses import dataclass

from server.domain.model.build import Finish, RunFinish, SleeveEnd
from server.domain.model.catalogue import Catalogue, CombKind, Insulation
from server.domain.model.plan import RunPlan
from server.domain.reference import INSULATION_NOTES
from server.drawing.ribbon import ribbon_end_svg
from server.services.opened import Opened
from server.web.views import formats
from server.web.views.fields import Field, Fields
from server.web.views.pieces import Swatch, run_title, swatch

COLOUR_MODES = (("by_net", "by net, as the design guide recommends"), ("pattern", "a repeating pattern"))
SLEEVE_ENDS: dict[SleeveEnd, tuple[str, str]] = {
    "shrink": (
        "under heat-shrink",
        "A piece is shrunk over each end and stays: it is seen, and holds best.",
    ),
    "melted": (
        "melted on, no heat-shrink seen",
        "A piece is warmed over each end, rolled, and taken off while warm: the sleeve stays melted to the wire. "
        "Uses as many pieces; try it on a scrap first.",
    ),
    "loose": (
        "left loose",
        "Trimmed with a hot knife and held by nothing: no pieces to buy, but it slides back and the wire shows.",
    ),
}
"""Each way to end a sleeve: its name, and what it means at the bench."""
_END_LABOUR: dict[SleeveEnd, str] = {"shrink": "shrink", "melted": "melt"}
"""Operation that each end of a sleeve takes beyond drawing it on."""
COMB_KINDS: dict[CombKind, str] = {
    "closed": "closed: wires are threaded through before the second plug",
    "open": "open: wires are pressed in from the side at the end",
}
FITTING_SHRINK = "the size that fits"
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
class SleeveSize:
    """One size of sleeve and what it goes over."""

    name: str
    over: str
    source: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class SleeveWay:
    """One way to end a sleeve, and what it means."""

    value: str
    id: str
    name: str
    meaning: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class FinishPanel:
    """The finish step."""

    href: str
    base: int
    gauges: tuple[Field, ...]
    more_gauges: tuple[Field, ...]
    insulation: Field
    insulation_note: str
    colour_mode: Field
    pattern: PatternEditor
    sleeve: Field
    sizes: tuple[SleeveSize, ...]
    sleeve_pattern: PatternEditor
    sleeve_end: Field
    sleeve_ways: tuple[SleeveWay, ...]
    shrink_size: Field
    combs: Field
    comb_kind: Field
    ends: tuple[RibbonEnd, ...]
    next: str


@dataclass(frozen=True, slots=True)
class RunFinishFields:
    """What one run does otherwise than the build."""

    awg: Field
    insulation: Field
    insulation_note: str
    colour_mode: Field
    pattern: PatternEditor
    sleeve: Field
    sleeve_pattern: PatternEditor
    sleeve_end: Field
    shrink_size: Field
    combs: Field
    comb_kind: Field


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
    end = fields.choice(
        "finish.sleeve_end",
        "Ends of the sleeve",
        finish.sleeve_end,
        ((way, name) for way, (name, _) in SLEEVE_ENDS.items()),
    )
    return FinishPanel(
        href=f"{href}/finish",
        base=base,
        gauges=tuple(field for use, field in gauges.items() if use in used),
        more_gauges=tuple(field for use, field in gauges.items() if use not in used),
        insulation=fields.choice("finish.insulation", "Insulation", finish.insulation, formats.INSULATIONS.items()),
        insulation_note=insulation_words(finish.insulation),
        colour_mode=fields.choice("finish.colour_mode", "Wire colours", finish.colour_mode, COLOUR_MODES),
        pattern=wire_pattern("finish", finish.pattern, catalogue, fields, finish.insulation),
        sleeve=fields.choice(
            "finish.sleeve", "Sleeve", finish.sleeve, [("", "none, bare wires"), *_sleeves(catalogue)]
        ),
        sizes=_sizes(catalogue, finish.sleeve),
        sleeve_pattern=sleeve_pattern("finish", finish.sleeve_pattern, catalogue, fields),
        sleeve_end=end,
        sleeve_ways=tuple(
            SleeveWay(way, f"{end.id}-{way}", name, meaning + _minutes(way, catalogue), end.value == way)
            for way, (name, meaning) in SLEEVE_ENDS.items()
        ),
        shrink_size=fields.choice(
            "finish.shrink_size", "Heat-shrink", finish.shrink_size, [("", FITTING_SHRINK), *_shrinks(catalogue)]
        ),
        combs=fields.tick("finish.combs", "Combs along each ribbon", finish.combs),
        comb_kind=fields.choice("finish.comb_kind", "Kind of comb", finish.comb_kind, COMB_KINDS.items()),
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
    shrink = {None: "", "": "fitting"}.get(own.shrink_size, own.shrink_size or "")
    return RunFinishFields(
        awg=fields.choice(
            f"{name}.awg", "Gauge", str(own.awg or ""), [("", "as the build"), *_gauges(catalogue, insulation)]
        ),
        insulation=fields.choice(
            f"{name}.insulation", "Insulation", own.insulation or "", [AS_BUILD, *formats.INSULATIONS.items()]
        ),
        insulation_note=insulation_words(insulation),
        colour_mode=fields.choice(
            f"{name}.colour_mode", "Wire colours", own.colour_mode or "", [AS_BUILD, *COLOUR_MODES]
        ),
        pattern=wire_pattern(name, own.pattern or (), catalogue, fields, insulation),
        sleeve=fields.choice(
            f"{name}.sleeve", "Sleeve", sleeve, [AS_BUILD, ("bare", "none, bare wires"), *_sleeves(catalogue)]
        ),
        sleeve_pattern=sleeve_pattern(name, own.sleeve_pattern or (), catalogue, fields),
        sleeve_end=fields.choice(
            f"{name}.sleeve_end",
            "Ends of the sleeve",
            own.sleeve_end or "",
            [AS_BUILD, *((way, words) for way, (words, _) in SLEEVE_ENDS.items())],
        ),
        shrink_size=fields.choice(
            f"{name}.shrink_size",
            "Heat-shrink",
            shrink,
            [AS_BUILD, ("fitting", FITTING_SHRINK), *_shrinks(catalogue)],
        ),
        combs=fields.choice(f"{name}.combs", "Combs", _yes_no(own.combs), YES_NO),
        comb_kind=fields.choice(
            f"{name}.comb_kind", "Kind of comb", own.comb_kind or "", [AS_BUILD, *COMB_KINDS.items()]
        ),
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


def insulation_words(insulation: Insulation) -> str:
    """What the hardness of an insulation means at the bench, as a sentence."""
    note = INSULATION_NOTES[insulation]
    return f"{note[:1].upper()}{note[1:]}."


def _minutes(way: SleeveEnd, catalogue: Catalogue) -> str:
    """Bench time of one end, as a sentence; nothing where none is added."""
    labour = catalogue.labour.get(_END_LABOUR.get(way, ""))
    return f" {formats.amount(labour.minutes)} min an end." if labour else ""


def _sleeves(catalogue: Catalogue) -> list[tuple[str, str]]:
    """Sleeves by name, with what they go over."""
    return [
        (sleeve.id, f"{sleeve.name}, over {_over(sleeve.least_mm, sleeve.greatest_mm)} mm")
        for sleeve in catalogue.sleeves.values()
    ]


def _sizes(catalogue: Catalogue, chosen: str) -> tuple[SleeveSize, ...]:
    """Every size of sleeve with what it goes over."""
    return tuple(
        SleeveSize(sleeve.name, _over(sleeve.least_mm, sleeve.greatest_mm), sleeve.source, sleeve.id == chosen)
        for sleeve in catalogue.sleeves.values()
    )


def _over(least_mm: float, greatest_mm: float) -> str:
    """Least to greatest diameter. [mm]"""
    return f"{formats.number(least_mm)} to {formats.number(greatest_mm)}"


def _shrinks(catalogue: Catalogue) -> list[tuple[str, str]]:
    """Heat-shrinks by name, with both bores."""
    return [
        (shrink.id, f"{shrink.name}, {formats.number(shrink.supplied_mm)} to {formats.number(shrink.recovered_mm)} mm")
        for shrink in catalogue.shrinks.values()
    ]


def _yes_no(value: bool | None) -> str:
    """The choice that stands for an own yes or no, or for the build's."""
    return "" if value is None else "yes" if value else "no"
