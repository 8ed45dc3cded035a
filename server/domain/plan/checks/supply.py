"""Findings of the build as a whole: its supply, what it feeds, and what is bought for it."""

from collections import Counter
from collections.abc import Iterator

from server.domain.model.build import SUPPLY, Build
from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import BuyLine, Finding, RunPlan, Unfed
from server.domain.plan.checks.told import RULE, counted
from server.domain.plan.resolve import draw_of
from server.domain.plan.runs import PlannedRun
from server.domain.plan.trust import metering_findings
from server.domain.reference import INSULATION_NOTES
from server.domain.sockets import every_socket, layout_of

POWER = ("main", "cpu", "graphics", "drive")
"""Uses that are fed by the supply itself, and not by a header."""


def supply_findings(build: Build, catalogue: Catalogue, runs: tuple[RunPlan, ...]) -> Iterator[Finding]:
    """Whether there is a supply layout, whether it may be trusted, and whether a newer one exists.

    Args:
        build: The build.
        catalogue: Reference data.
        runs: Its planned runs.
    """
    layout = layout_of(build, catalogue)
    if layout is None:
        text = "No supply layout is chosen: nothing can be wired to it yet."
        way_out = "Choose the layout of your supply in the step Supply."
        yield Finding("warn", "no_supply", text, RULE, way_out=way_out)
        return
    yield from metering_findings(layout, runs)
    newest = catalogue.supplies.get(layout.id, layout)
    if newest.version > layout.version:
        text = (
            f"The supply: the build keeps version {layout.version} of the layout '{layout.name}'; version "
            f"{newest.version} exists."
        )
        way_out = f"Take version {newest.version} in the step Supply and look at what it changes."
        yield Finding("note", "newer_layout", text, RULE, way_out=way_out)


def limit_findings(build: Build, catalogue: Catalogue, runs: tuple[PlannedRun, ...]) -> Iterator[Finding]:
    """What all parts on the supply may draw together, by net, against the limits that the builder wrote down.

    Args:
        build: The build.
        catalogue: Reference data.
        runs: Its planned runs.
    """
    layout = layout_of(build, catalogue)
    if layout is None or not layout.limits_a:
        return
    drawn: Counter[str] = Counter()
    for planned in runs:
        if any(source.ref.part == SUPPLY for source in planned.resolved.sources):
            for end in planned.resolved.ends:
                drawn.update(draw_of(end))
    for net, limit in layout.limits_a.items():
        if drawn[net] > limit * (1 + 1e-9):
            text = (
                f"The supply: at their greatest load the parts may draw {drawn[net]:.1f} A from {net} together; the "
                f"supply gives {limit:.1f} A."
            )
            way_out = f"Take a supply that gives at least {drawn[net]:.1f} A from {net}."
            yield Finding("warn", "supply_limit", text, layout.source, way_out=way_out)


def unfed_finding(inlet: Unfed, build: Build, catalogue: Catalogue) -> Finding:
    """An inlet that no run feeds.

    Args:
        inlet: The inlet with the reason.
        build: The build.
        catalogue: Reference data.
    """
    text = f"{inlet.place}, {inlet.inlet} is not fed: {inlet.reason}."
    return Finding("warn", "unfed", text, RULE, way_out=_feed_it(inlet, build, catalogue))


def _feed_it(inlet: Unfed, build: Build, catalogue: Catalogue) -> str:
    sockets = every_socket(build, catalogue)
    facts = sockets[inlet.part, inlet.socket]
    from_supply = facts.uses[0] in POWER
    if from_supply and not build.supply:
        return "Choose the layout of your supply in the step Supply."
    if inlet.reason.startswith("no run is planned"):
        return "Add a run to it in the step Parts: propose the runs again."
    what = "port" if from_supply else "header"
    nets = ", ".join(sorted(facts.carried))
    if inlet.reason.startswith(f"no {what}"):
        whose = "supply layout" if from_supply else "board"
        return f"Take a {whose} with a {what} that carries {nets}."
    return f"Free a {what} that carries {nets}: move the run that uses it."


def bought_finding(line: BuyLine, runs: tuple[RunPlan, ...], catalogue: Catalogue) -> Finding:
    """A line of the buy list that has no price.

    Args:
        line: The line.
        runs: The planned runs, for the longest piece of it.
        catalogue: Reference data, for packs.
    """
    if line.unit != "mm":
        text = f"{line.name}: {counted(line.needed, 'piece')} needed, but no pack is listed, so it has no price."
        return Finding("warn", "no_pack", text, RULE, way_out=f"List a pack of {line.name} with its price.")
    longest = max((length for length in _pieces(line, runs, catalogue)), default=0)
    rolls = [pack.quantity for pack in catalogue.packs if (pack.kind, pack.item) == (line.kind, line.item)]
    listed = f"the longest roll that is listed holds {max(rolls)} mm" if rolls else "no roll of it is listed"
    text = f"{line.name}: a piece of {longest} mm is needed, but {listed}."
    way_out = f"List a roll of at least {longest} mm."
    return Finding("stop", "piece_too_long", text, RULE, way_out=way_out)


def _pieces(line: BuyLine, runs: tuple[RunPlan, ...], catalogue: Catalogue) -> Iterator[int]:
    """Lengths cut for one line of the buy list. [mm]"""
    for run in runs:
        for wire in run.wires if line.kind == "wire" else ():
            stock = catalogue.wires.get(line.item)
            if stock and (stock.awg, stock.insulation, line.colour) == (wire.awg, wire.insulation, wire.colour):
                yield wire.buy_mm
        for piece in run.sleeve_pieces if line.kind == "sleeve" else ():
            if (piece.sleeve, piece.colour) == (line.item, line.colour):
                yield piece.cut_mm
        if line.kind == "shrink" and run.shrink == line.item:
            yield run.shrink_cut_mm


def insulation_findings(runs: tuple[RunPlan, ...]) -> Iterator[Finding]:
    """How hard each insulation that the build uses is to the crimp, once for the build.

    Args:
        runs: The planned runs.
    """
    used = Counter(wire.insulation for run in runs for wire in run.wires)
    for insulation, wires in used.items():
        text = f"{counted(wires, 'wire')} with {INSULATION_NOTES[insulation]}."
        way_out = "Crimp an offcut of each gauge first, pull it by hand, and set the tool right before the rest."
        yield Finding("note", "insulation_hardness", text, RULE, way_out=way_out)
