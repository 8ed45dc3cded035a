"""The order of work on a chain whose plugs, all or some, are pressed onto wires that run through."""

from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import RunPlan
from server.services.cable_words import cap_words
from server.web.views import formats
from server.web.views.bench_settings import (
    Step,
    crimp_settings,
    mark_settings,
    shrink_settings,
    sleeve_settings,
)
from server.web.views.bench_words import reserve_words, sleeve_end_words, source_end
from server.web.views.pieces import letter


def pressed_plugs(run: RunPlan, catalogue: Catalogue) -> tuple[int, ...]:
    """Part plugs that are pressed on, by their index.

    Args:
        run: The planned run.
        catalogue: Reference data with housings and families.
    """
    return tuple(
        index
        for index, plug in enumerate(run.ends)
        if catalogue.families[catalogue.housings[plug.housing].family].termination == "displacement"
    )


def chain_steps(run: RunPlan, catalogue: Catalogue) -> tuple[Step, ...]:
    """Steps from the cut wires to the closed caps: everything is measured from the end that is crimped first.

    Args:
        run: The planned run; at least one of its part plugs is pressed on.
        catalogue: Reference data.
    """
    pressed = pressed_plugs(run, catalogue)
    end = source_end(run)
    first = Step(
        f"Strip and crimp the {end} for good: every mark is measured from it.",
        crimp_settings(run, catalogue, at_end=False),
    )
    caps = cap_words(run, catalogue)
    closed = (Step(f"Close the caps{caps}."),) if caps else ()
    if len(pressed) < len(run.ends):
        middle = _mixed(run, catalogue, pressed)
    else:
        middle = (*_marked(run), *_sleeved(run, catalogue), *_pressed_on(run, catalogue), *_flush(run, pressed))
    return (first, *middle, *closed, Step(f"Insert the {end} by the table."))


def _marked(run: RunPlan) -> tuple[Step, ...]:
    marks = mark_settings(run)
    return (Step("Mark the wires, measured from that crimped end.", marks),) if marks else ()


def _pressed_on(run: RunPlan, catalogue: Catalogue) -> tuple[Step, ...]:
    """All plugs of a chain that is pressed throughout."""
    settings = crimp_settings(run, catalogue, at_end=True, pressed=True)
    if len(run.ends) == 1:
        return (Step("Lay each wire over its blade at its mark, unstripped, and press the plug on.", settings),)
    plugs = formats.listed(letter(index) for index in range(len(run.ends)))
    words = f"Lay each wire over its blade at its mark, unstripped, and press the plugs on one by one: {plugs}."
    return (Step(words, settings),)


def _flush(run: RunPlan, pressed: tuple[int, ...]) -> tuple[Step, ...]:
    """What is left over, reserve and slack, behind the plugs in which wires end."""
    last = sorted({wire.target.plug for wire in run.wires} & set(pressed))
    if not last:
        return ()
    several = len(run.ends) > 1
    behind = f"plug {formats.listed(letter(index) for index in last)}" if several else "the plug"
    where = "the end cap" if run.ends[last[-1]].cap else "it"
    each = "the wires that end there" if len(last) > 1 else "the wires"
    return (Step(f"Cut {each} flush behind {behind}: nothing may stick out of {where}."),)


def _sleeved(run: RunPlan, catalogue: Catalogue) -> tuple[Step, ...]:
    if not run.sleeve_pieces:
        return ()
    stretch = ", one piece for each stretch between plugs" if len(run.ends) > 1 else ""
    words = f"Draw the sleeve on from the free end{stretch}; beside each plug {sleeve_end_words(run, catalogue)}."
    return (Step(words, (*sleeve_settings(run, catalogue), *shrink_settings(run, catalogue))),)


def _mixed(run: RunPlan, catalogue: Catalogue, pressed: tuple[int, ...]) -> tuple[Step, ...]:
    """Plug by plug from the source on; a crimped plug passes its nets on by wires that share its contacts."""
    steps = []
    if run.sleeve_pieces:
        words = sleeve_end_words(run, catalogue)
        settings = (*sleeve_settings(run, catalogue), *shrink_settings(run, catalogue))
        words = f"Before each plug draw the sleeve of the stretch to it on; beside each plug {words}."
        steps.append(Step(words, settings))
    reserve = reserve_words(run, "source end")
    if reserve:
        steps.append(Step(reserve))
    steps += [_plug(run, index, catalogue, pressed=index in pressed) for index in range(len(run.ends))]
    return (*steps, *_flush(run, pressed))


def _plug(run: RunPlan, index: int, catalogue: Catalogue, *, pressed: bool) -> Step:
    """One plug of a chain in which some plugs are pressed on and others crimped."""
    name = f"Plug {letter(index)}"
    settings = crimp_settings(run, catalogue, at_end=True, plug=index, pressed=pressed)
    if pressed:
        marks = mark_settings(run, index)
        at = "mark the wires, measured from their crimped end, " if marks else ""
        words = f"{name}: {at}lay each over its blade, unstripped, and press the plug on."
        return Step(words, (*marks, *settings))
    onward = any(wire.source_at_end and wire.source.plug == index for wire in run.wires)
    with_them = ", each with the wire that goes on from it in one contact," if onward else ""
    return Step(f"{name}: strip and crimp its wires{with_them} and insert them by the table.", settings)
