"""What is done about source contacts that two wires start from: as the builder chose, or as usual."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from server.domain.electrical import rating_for
from server.domain.materials.contacts import (
    conductor_limit_mm2,
    shared_contact,
    thinner_awg,
    together_mm,
    wire_of,
)
from server.domain.materials.sleeves import ShrinkNeed, shrink_for
from server.domain.model.build import Remedy
from server.domain.model.catalogue import Catalogue, Wire
from server.domain.plan.paths import Path, neighbour_for, pin_of, sharing_pairs
from server.domain.plan.resolve import ResolvedRun, draw_of
from server.domain.reference import OVERFULL, SENSE_AWG


def with_remedies(paths: Sequence[Path], resolved: ResolvedRun, catalogue: Catalogue) -> list[Path]:
    """Paths after what is done about shared contacts; a choice that is not possible is left out.

    Args:
        paths: Wires as the wiring gives them.
        resolved: The run, with the builder's choices.
        catalogue: Reference data.
    """
    changed = list(paths)
    if resolved.displaced or resolved.method == "rework":
        return changed
    for (plug, cavity), (keep, give) in sharing_pairs(changed, resolved).items():
        remedy = remedy_taken(resolved, plug, cavity, (keep, give), changed, catalogue)
        new = give
        if remedy == "splice":
            new = replace(give, begin="splice")
        elif remedy == "jumper":
            index, neighbour = give.stops[0][0], neighbour_for(give, changed, resolved)
            new = replace(give, start=index, source_plug=0, source_cavity=neighbour, begin="jumper")
        elif remedy == "thinner":
            new = replace(give, thinner=True)
        changed[changed.index(give)] = new
    return changed


def remedy_taken(
    resolved: ResolvedRun, plug: int, cavity: str, pair: tuple[Path, Path], paths: list[Path], catalogue: Catalogue
) -> Remedy:
    """What is done about one shared contact: the builder's choice where it can be, or what is usual.

    Args:
        resolved: The run.
        plug: Source plug.
        cavity: Its cavity.
        pair: The wire that keeps the contact, and the one that gives way.
        paths: All wires of the run.
        catalogue: Reference data.
    """
    give, ref = pair[1], resolved.sources[plug].ref
    chosen = {(c.part, c.socket, c.cavity): c.remedy for c in resolved.run.shared}.get((ref.part, ref.socket, cavity))
    if chosen in ("as_is", "splice"):
        return chosen
    if chosen == "jumper" and neighbour_for(give, paths, resolved):
        return chosen
    if chosen == "thinner" and (not pin_of(give, resolved).carries_current or _thinner(resolved, give, catalogue)):
        return chosen
    return usual_remedy(resolved, give, paths, catalogue)


def usual_remedy(resolved: ResolvedRun, give: Path, paths: Sequence[Path], catalogue: Catalogue) -> Remedy:
    """What is done where the builder chose nothing.

    A wire without load is taken thinner, and two that carry load share the contact as they are. Where the contact is
    overfull with that, the first that helps is done: a thinner second wire that fits and carries its current, or a
    splice before the housing.

    Args:
        resolved: The run.
        give: The wire that gives way.
        paths: All wires of the run.
        catalogue: Reference data.

    Source:
        Common practice.
    """
    awg, idle = resolved.style.awg, not pin_of(give, resolved).carries_current
    usual: Remedy = "thinner" if idle else "as_is"
    stocks = _stocks(resolved, (awg, max(awg, SENSE_AWG) if idle else awg), catalogue)
    if len(stocks) < 2 or not _overfull(resolved, give, stocks, catalogue):
        return usual
    second = None if idle else _thinner(resolved, give, catalogue)
    if second is not None and _carries(resolved, give, second, paths, catalogue):
        return "thinner"
    thick = stocks[0].outside_mm
    return "splice" if shrink_for(catalogue, ShrinkNeed(together_mm([stocks[0]] * 2), thick)) else usual


def _stocks(resolved: ResolvedRun, gauges: Sequence[int], catalogue: Catalogue) -> list[Wire]:
    found = (wire_of(catalogue, awg, resolved.style.insulation) for awg in gauges)
    return [stock for stock in found if stock is not None]


def _overfull(resolved: ResolvedRun, give: Path, stocks: Sequence[Wire], catalogue: Catalogue) -> bool:
    """True where the copper of these wires together stops the work; what is only tight is told and left."""
    contact = shared_contact(catalogue, resolved.sources[give.source_plug].housing, stocks, signal=False)
    if contact is None:
        return False
    copper = sum(stock.conductor_mm2 for stock in stocks)
    return round(copper - conductor_limit_mm2(contact, catalogue) * OVERFULL, 6) > 0


def _thinner(resolved: ResolvedRun, give: Path, catalogue: Catalogue) -> int | None:
    housing, style = resolved.sources[give.source_plug].housing, resolved.style
    return thinner_awg(catalogue, housing, awg=style.awg, insulation=style.insulation)


def _carries(resolved: ResolvedRun, give: Path, awg: int, paths: Sequence[Path], catalogue: Catalogue) -> bool:
    """True where a contact with a wire of this gauge is rated for what one wire of the net carries."""
    live = [path for path in paths if path.start < 0 and not path.sense and pin_of(path, resolved).carries_current]
    drawn: Counter[str] = Counter()
    for end in resolved.ends:
        drawn.update(draw_of(end))
    each_a = drawn[give.net] / max(1, sum(path.net == give.net for path in live))
    loaded = {path.source_cavity for path in live if path.source_plug == give.source_plug}
    family = resolved.sources[give.source_plug].family.id
    rating = rating_for(catalogue, family, awg=awg, loaded=max(1, len(loaded)), signal=False)
    return rating is not None and each_a <= rating.current_a * (1 + 1e-9)
