"""Contacts that would hold two wires: what is done, and what could be done instead."""

import math
from decimal import Decimal

from server.domain.materials.contacts import (
    conductor_limit_mm2,
    shared_contact,
    thinner_awg,
    together_mm,
    two_fit,
    wire_of,
)
from server.domain.materials.sleeves import ShrinkNeed, shrink_for
from server.domain.model.build import Build, Remedy
from server.domain.model.catalogue import Catalogue, Shrink, Wire
from server.domain.model.plan import Joint, Offer, PlannedWire, RunPlan
from server.domain.plan.forks import end_place
from server.domain.plan.paths import Path, neighbour_for, pin_of, sharing_pairs
from server.domain.plan.remedies import remedy_taken
from server.domain.plan.resolve import ResolvedRun
from server.domain.plan.wires import RunWires
from server.domain.reference import JUMPER_MM, LAP_MM, SENSE_AWG, SPLICE_MM

_Verdict = tuple[bool, str, Decimal, tuple[str, ...]]
"""Possible, reason, minutes beyond crimping both, materials."""


def joints_of(
    resolved: ResolvedRun, made: RunWires, wires: tuple[PlannedWire, ...], catalogue: Catalogue
) -> tuple[Joint, ...]:
    """Splices, bridges and soldered-on pieces of a run, in the order of its wires.

    Args:
        resolved: The run.
        made: Its wires with the paths they follow from.
        wires: The same wires, sources counted as the plan shows them.
        catalogue: Reference data.
    """
    joints = []
    for path, wire in zip(made.paths, wires, strict=True):
        stock = wire_of(catalogue, wire.awg, wire.insulation)
        if path.begin == "splice" and stock is not None:
            kept = next(
                w.label
                for p, w in zip(made.paths, wires, strict=True)
                if p is not path and p.start_contact == path.start_contact
            )
            tube = _tube(catalogue, stock.outside_mm, together_mm([stock, stock]))
            joints.append(
                Joint("splice", (kept, wire.label), True, wire.source.plug, path.source_cavity, "", SPLICE_MM, tube)
            )
        elif path.begin == "jumper":
            joints.append(Joint("jumper", (wire.label,), False, *path.stops[0], path.source_cavity, 0.0, ""))
        elif path.begin == "own" and wire.own_mm and wire.buy_mm and stock is not None:
            tube = _tube(catalogue, stock.outside_mm, stock.outside_mm)
            where = wire.source.plug, path.source_cavity
            joints.append(Joint("solder_on", (wire.label,), True, *where, "", float(wire.own_mm), tube))
    return tuple(joints)


def _tube(catalogue: Catalogue, thin_mm: float, thick_mm: float) -> str:
    """The smallest heat-shrink that slides over the thick side of a joint and grips its thin side; empty for none."""
    found = shrink_for(catalogue, ShrinkNeed(thick_mm, thin_mm))
    return found.id if found else ""


def offers_of(
    resolved: ResolvedRun, plan: RunPlan, made: RunWires, build: Build, catalogue: Catalogue
) -> tuple[Offer, ...]:
    """For each contact that the wiring gives two wires: every way to deal with it, in order of preference.

    The order is: another free contact of the net, a thinner second wire, a bridge at the part end, a splice, and both
    as they are.

    Args:
        resolved: The run.
        plan: Its plan so far.
        made: Its wires with the paths they follow from.
        build: The build, for its allowances.
        catalogue: Reference data.
    """
    if made.assignment is None or resolved.displaced or resolved.method == "rework":
        return ()
    plain = [_as_wired(path, resolved, made) for path in made.paths]
    labels = {path: wire.label for path, wire in zip(plain, made.wires, strict=True)}
    offers: list[Offer] = []
    for (plug, cavity), (keep, give) in sharing_pairs(plain, resolved).items():
        ref = resolved.sources[plug].ref
        verdicts = _verdicts(resolved, plan, plain, (keep, give), catalogue)
        wanted = remedy_taken(resolved, plug, cavity, (keep, give), plain, catalogue)
        for remedy, (possible, reason, minutes, materials) in verdicts.items():
            both = (labels[keep], labels[give])
            where = ref.part, ref.socket, cavity
            offers.append(Offer(*where, both, remedy, remedy == wanted, possible, reason, minutes, materials))
    return tuple(offers)


def _as_wired(path: Path, resolved: ResolvedRun, made: RunWires) -> Path:
    """A path as the wiring alone gives it, before any choice: from its source contact."""
    assert made.assignment is not None
    if path.begin in {"contact", "own"}:
        return path
    links = (n for n in made.assignment.links if n.sense == path.sense)
    link = next(n for n in links if end_place(resolved, n.cavity) == path.stops[0])
    return Path(-1, link.source, path.stops, link.source_cavity, path.net, path.sense)


def _verdicts(
    resolved: ResolvedRun, plan: RunPlan, paths: list[Path], pair: tuple[Path, Path], catalogue: Catalogue
) -> dict[Remedy, _Verdict]:
    keep, give = pair
    return {
        "free_cavity": _free_cavity(resolved, plan, give),
        "thinner": _thinner(resolved, give, catalogue),
        "jumper": _jumper(resolved, paths, give, catalogue),
        "splice": _splice(resolved, catalogue),
        "as_is": _as_is(resolved, keep, catalogue),
    }


def _free_cavity(resolved: ResolvedRun, plan: RunPlan, give: Path) -> _Verdict:
    free = [
        f"{plan.sources[index].socket}, cavity {cavity}"
        for index, cavity in plan.spare_cavities
        if plan.sources[index].nets[cavity] == give.net
    ]
    if not free:
        return False, f"every {give.net} contact of the source is in use", Decimal(0), ()
    return True, f"free: {', '.join(free)}; a pin keeps it empty", Decimal(0), ()


def _stocks(resolved: ResolvedRun, catalogue: Catalogue, *gauges: int) -> list[Wire]:
    found = [wire_of(catalogue, awg, resolved.style.insulation) for awg in gauges]
    return [stock for stock in found if stock is not None]


def _fit_words(resolved: ResolvedRun, give: Path, stocks: list[Wire], catalogue: Catalogue) -> tuple[bool, str]:
    """Whether two wires fit one contact, with the numbers of both copper and insulation."""
    housing = resolved.sources[give.source_plug if give.start < 0 else 0].housing
    contact = shared_contact(catalogue, housing, stocks, signal=False)
    if contact is None or len(stocks) < 2:
        return False, "no contact takes that gauge"
    copper, limit = sum(stock.conductor_mm2 for stock in stocks), conductor_limit_mm2(contact, catalogue)
    text = (
        f"{' and '.join(f'{s.awg} AWG' for s in stocks)}: {copper:.2f} of {limit:.2f} mm2 copper, "
        f"{together_mm(stocks):.1f} of {contact.insulation_max_mm:.1f} mm insulation"
    )
    return two_fit(contact, stocks, catalogue), text


def _thinner(resolved: ResolvedRun, give: Path, catalogue: Catalogue) -> _Verdict:
    awg = resolved.style.awg
    housing = resolved.sources[give.source_plug].housing
    idle = not pin_of(give, resolved).carries_current
    second = (
        max(awg, SENSE_AWG) if idle else thinner_awg(catalogue, housing, awg=awg, insulation=resolved.style.insulation)
    )
    if second is None or second == awg:
        return False, "no listed wire is thin enough", Decimal(0), ()
    fits, text = _fit_words(resolved, give, _stocks(resolved, catalogue, awg, second), catalogue)
    load = "it carries no load" if idle else "look at the current findings of this run"
    return fits, f"{text}; {load}", Decimal(0), (f"{second} AWG wire",)


def _jumper(resolved: ResolvedRun, paths: list[Path], give: Path, catalogue: Catalogue) -> _Verdict:
    minutes = Decimal(0)
    neighbour = neighbour_for(give, paths, resolved)
    if not neighbour:
        reason = (
            "only a sense line that goes to COM may be bridged, and only from a neighbouring COM contact with one wire"
        )
        return False, reason, minutes, ()
    fits, text = _fit_words(resolved, give, _stocks(resolved, catalogue, resolved.style.awg, SENSE_AWG), catalogue)
    cavity = give.stops[0][1]
    material = f"{JUMPER_MM:g} mm of {SENSE_AWG} AWG wire between contacts"
    return fits, f"from cavity {neighbour} to {cavity} at the part end; {text}", minutes, (material,)


def _splice(resolved: ResolvedRun, catalogue: Catalogue) -> _Verdict:
    minutes = catalogue.labour["solder"].minutes if "solder" in catalogue.labour else Decimal(0)
    stocks = _stocks(resolved, catalogue, resolved.style.awg)
    tube = _tube(catalogue, stocks[0].outside_mm, together_mm([stocks[0]] * 2)) if stocks else ""
    if not tube:
        return False, "no listed heat-shrink goes over the joint", minutes, ()
    shrink: Shrink = catalogue.shrinks[tube]
    lap = math.ceil(LAP_MM)
    return (
        True,
        f"{SPLICE_MM:g} mm from the housing, {lap} mm overlap",
        minutes,
        (f"1 piece of {shrink.name}", "solder"),
    )


def _as_is(resolved: ResolvedRun, keep: Path, catalogue: Catalogue) -> _Verdict:
    awg = resolved.style.awg
    fits, text = _fit_words(resolved, keep, _stocks(resolved, catalogue, awg, awg), catalogue)
    return fits, text, Decimal(0), ()
