"""Words that several steps of a cable's order of work need: its source end, sleeve ends, caps, splices and reserves."""

from server.domain.materials.sleeves import shrink_cut_mm
from server.domain.model.build import SUPPLY
from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import Joint, PlannedWire, RunPlan
from server.domain.plan.wire_lengths import CRIMP_AGAIN
from server.domain.reference import LAP_MM
from server.web.views import formats
from server.web.views.pieces import letter


def source_end(run: RunPlan) -> str:
    """What the end is called that a run starts from: a board's header is no supply.

    Args:
        run: The planned run.
    """
    at_supply = not run.sources or any(plug.ref.part == SUPPLY for plug in run.sources)
    return "supply end" if at_supply else "header end"


def sleeve_end_words(run: RunPlan, catalogue: Catalogue) -> str:
    """How each end of the run's sleeve is held, as a command without its full stop.

    Args:
        run: The planned run.
        catalogue: Reference data with heat-shrinks.
    """
    known = run.shrink in catalogue.shrinks
    piece = f"a {run.shrink_cut_mm} mm piece of heat-shrink" if known else "a piece of heat-shrink"
    if run.sleeve_end == "shrink":
        return f"shrink {piece} over its end"
    if run.sleeve_end == "melted":
        return f"warm {piece} over its end, roll it, take it off while warm: the sleeve stays melted on"
    return "trim its end with a hot knife; nothing holds it"


def reserve_words(run: RunPlan, crimped_first: str) -> str:
    """What is cut off before the second crimp when the first was good; empty where no wire is crimped at both ends.

    Args:
        run: The planned run.
        crimped_first: ``part end`` or ``source end``, as the terms of a wire's length name it.
    """
    by_mm: dict[float, set[int]] = {}
    for wire in run.wires:
        ends = {term.name.removeprefix(f"{CRIMP_AGAIN}, "): term.mm for term in wire.terms if _again(term.name)}
        if len(ends) == 2:
            by_mm.setdefault(ends[crimped_first], set()).add(wire.target.plug)
    if not by_mm:
        return ""
    several = len(by_mm) > 1
    told = formats.listed(
        f"{formats.number(mm)} mm"
        + (f" (wires of plug {formats.listed(letter(plug) for plug in sorted(plugs))})" if several else "")
        for mm, plugs in by_mm.items()
    )
    return f"If the first crimp was good, cut its reserve off before you crimp the other end: {told}."


def _again(name: str) -> bool:
    return name.startswith(CRIMP_AGAIN)


def splice_words(run: RunPlan, joint: Joint, catalogue: Catalogue) -> str:
    """How one splice is made, before sleeve and contacts are in its way.

    Args:
        run: The planned run.
        joint: One of its splices.
        catalogue: Reference data with heat-shrinks.
    """
    kept = next((wire for wire in run.wires if wire.label == joint.labels[0]), None)
    keeps, joins = joint.labels[0], formats.listed(joint.labels[1:])
    lap = f"{formats.number(LAP_MM)} mm"
    place = f"{formats.number(joint.distance_mm)} mm from where the housing's face will be"
    before = _before_face_mm(kept) if kept else 0.0
    if before:
        place += f", {formats.number(joint.distance_mm + before)} mm from its cut end"
    shrink = catalogue.shrinks.get(joint.shrink)
    tube = f" and shrink the {shrink_cut_mm(shrink)} mm tube, slid on first, over the joint" if shrink else ""
    return (
        f"Join {joins} to {keeps}: strip a window of {lap} in {keeps} that ends {place}; tin both, "
        f"solder them with {lap} overlap{tube}."
    )


def _before_face_mm(wire: PlannedWire) -> float:
    """From a wire's cut end at the source to where the housing's face will be, the part end's reserve included. [mm]

    That reserve is cut off at this end, once the crimp at the part end was good.
    """
    names = ("into the housing, source end", f"{CRIMP_AGAIN}, part end")
    return sum(term.mm for term in wire.terms if term.name in names)
