"""What the tasks of the bench are called, with what is read beside them: materials, ends, dies, joints and marks."""

from collections.abc import Sequence
from typing import Final

from server.domain.materials.sleeves import shrink_cut_mm
from server.domain.model.bench import Material, WireSide
from server.domain.model.build import SUPPLY
from server.domain.model.catalogue import Catalogue, Insulation
from server.domain.model.plan import PlannedWire, RunPlan
from server.domain.plan.names import item_name
from server.domain.plan.wire_lengths import CRIMP_AGAIN
from server.domain.reference import PULL_FORCE_N
from server.drawing.joints import joint_words
from server.drawing.svg import num
from server.services.bench_crimps import CrimpWork, is_pressed
from server.services.bench_task_types import TaskColour

_INSULATIONS: Final[dict[Insulation, str]] = {
    "plain": "plain",
    "high_temperature": "high temperature",
    "clear": "clear",
}
_GREY: Final = "#808080"


def colour_of(code: str, catalogue: Catalogue) -> TaskColour | None:
    """A colour as the screen shows it; ``None`` for what has none.

    Args:
        code: Its code.
        catalogue: Reference data with colours.
    """
    if not code:
        return None
    known = catalogue.colours.get(code)
    return TaskColour(code, known.name, known.hex) if known else TaskColour(code, code, _GREY)


def wire_words(wire: PlannedWire, *, own: bool = False) -> str:
    """Gauge, insulation and colour of a wire; the supply's own wire is as its maker made it."""
    if own:
        return "the supply's own wire"
    return f"{wire.awg} AWG {_INSULATIONS[wire.insulation]} {wire.colour}"


def material_words(material: Material, catalogue: Catalogue) -> str:
    """What a piece of sleeve or tube, or a counted thing, is called."""
    return item_name(material.kind, material.item, material.colour, catalogue)


def run_words(run: RunPlan) -> str:
    """What a run is called: its own name, or where it ends."""
    return run.name or ", ".join(dict.fromkeys(plug.place for plug in run.ends)) or f"run {run.number}"


def length_words(run: RunPlan) -> str:
    """How long a run is, as far as that is known."""
    if run.length_mm is not None:
        # Legs and bends add up to fractions that nobody measures.
        first = round(run.length_mm) if run.steps else run.length_mm
        return " + ".join(num(mm) for mm in (first, *run.spacing_mm)) + " mm"
    if run.low_mm is not None and run.high_mm is not None:
        return f"{num(run.low_mm)}–{num(run.high_mm)} mm, not measured"
    return "not measured"


def letter(index: int) -> str:
    """The letter of a part plug of a run: A for the first."""
    return chr(ord("A") + index) if index < 26 else str(index + 1)


def place_words(run: RunPlan, index: int, *, at_end: bool) -> str:
    """What the end is called that a contact is crimped at: a board's header is no supply.

    Args:
        run: The planned run.
        index: Index of the plug at that end.
        at_end: Whether it is a part plug.
    """
    if at_end:
        return f"plug {letter(index)}" if len(run.ends) > 1 else "part end"
    end = "supply end" if run.sources[index].ref.part == SUPPLY else "header end"
    return f"{end}, {run.sources[index].socket}" if len(run.sources) > 1 else end


def crimp_tool(crimp: CrimpWork, catalogue: Catalogue) -> tuple[str, str]:
    """Key of the tool for a crimp as it is set, and the same in words: die, strip length, contact.

    Args:
        crimp: The crimp.
        catalogue: Reference data with contacts.
    """
    gauges = " with ".join(str(awg) for awg in sorted(wire.awg for wire, _ in crimp.ends))
    die = (crimp.use.die if crimp.use else "") or "no die listed: try one on scrap"
    strip = f"strip {num(crimp.use.strip_mm)} mm, " if crimp.use and crimp.use.strip_mm else ""
    known = catalogue.contacts.get(crimp.contact)
    name = known.name if known else crimp.contact
    return f"{crimp.contact}/{gauges}/{die}", f"{die}, {strip}{name}"


def press_tool(wire: PlannedWire, run: RunPlan, catalogue: Catalogue) -> tuple[str, str]:
    """Key and words of what presses a wire onto its blades; both empty for a wire that is not pressed.

    Args:
        wire: The wire.
        run: Its run.
        catalogue: Reference data with contacts.
    """
    contact = next((end.contact for end in (*wire.taps, wire.target) if is_pressed(end, catalogue)), "")
    if not contact:
        return "", ""
    use = next((use for use in run.crimps if use.contact == contact), None)
    die = (use.die if use else "") or "no press listed: try one on scrap"
    return f"{contact}/press", f"{die}, nothing stripped"


def sleeve_words(run: RunPlan, catalogue: Catalogue, *, before: str = "") -> str:
    """How each end of a sleeve is held.

    Args:
        run: The planned run.
        catalogue: Reference data with heat-shrink.
        before: The end that is crimped already, where the other one is crimped once the sleeve is on; empty where both
            ends of the sleeve are held at once.
    """
    piece = f"a {run.shrink_cut_mm} mm piece of heat-shrink" if run.shrink in catalogue.shrinks else "heat-shrink"
    if run.sleeve_end == "shrink":
        if before:
            return f"shrink {piece} over the {before} end alone; the other end is held once its contact is on"
        return f"shrink {piece} over each end; it may not pass a contact"
    if run.sleeve_end == "melted":
        return f"melt each end on under {piece}, and take that off while warm"
    return "trim its ends with a hot knife; nothing holds them"


def crimp_lines(run: RunPlan, crimp: CrimpWork, first: WireSide, *, alone: bool) -> tuple[str, ...]:
    """What a crimp asks for beside its tool: what is cut off and slid on before it, and the force that it must hold.

    Args:
        run: The planned run.
        crimp: The crimp.
        first: The end of a wire that is crimped first.
        alone: Whether each wire has a sleeve of its own, whose second end is held after this crimp.
    """
    told = []
    if crimp.ends[0][1] != first:
        spare = {_again(wire).get(f"{first} end") for wire, _ in crimp.ends if len(_again(wire)) == 2} - {None}
        told += [f"the first crimp was good: cut its reserve of {num(mm or 0)} mm off" for mm in sorted(spare, key=str)]
        if alone and run.sleeve_end == "shrink":
            told.append("slide the second piece of heat-shrink on before; shrink it over the sleeve's end afterwards")
    thinnest = max(wire.awg for wire, _ in crimp.ends)
    if thinnest in PULL_FORCE_N:
        told.append(f"one of this set-up on scrap holds {num(PULL_FORCE_N[thinnest])} N (UL 486A)")
    return tuple(told)


def _again(wire: PlannedWire) -> dict[str, float]:
    """What a wire is longer for, so that an end of it can be crimped once more: by the end's name. [mm]"""
    front = f"{CRIMP_AGAIN}, "
    return {term.name.removeprefix(front): term.mm for term in wire.terms if term.name.startswith(front)}


def joint_lines(run: RunPlan, wire: PlannedWire, catalogue: Catalogue) -> tuple[str, ...]:
    """What is joined or soldered on a wire before anything is crimped on it.

    Args:
        run: The planned run.
        wire: One of its wires.
        catalogue: Reference data with heat-shrink.
    """
    return tuple(
        f"before that: {joint_words(run, (index,), catalogue)}"
        for index, joint in enumerate(run.joints)
        if wire.label in joint.labels and joint.kind != "jumper"
    )


def mark_lines(run: RunPlan, wire: PlannedWire) -> tuple[str, ...]:
    """Where a wire that runs through is marked for its plugs, from the end that is crimped."""
    told = [
        f"plug {letter(mark.plug)} at {mark.from_end_mm} mm"
        for mark in run.tap_marks
        if not mark.labels or wire.label in mark.labels
    ]
    return (f"marks from the crimped end: {', '.join(told)}",) if told else ()


def joint_tubes(run: RunPlan, wire: PlannedWire, catalogue: Catalogue) -> tuple[tuple[Material, int], ...]:
    """Pieces of tube that go over the joints of a wire. [mm]"""
    return tuple(
        (Material("shrink", joint.shrink), shrink_cut_mm(catalogue.shrinks[joint.shrink]))
        for joint in run.joints
        if joint.shrink in catalogue.shrinks and wire.label in joint.labels
    )


def span_words(labels: Sequence[str]) -> str:
    """Labels of pieces that are alike, by the first and the last."""
    return labels[0] if len(labels) == 1 else f"{labels[0]} to {labels[-1]}"
