"""The order of work on one cable, as its card numbers it: it follows the method, the plugs and the finish.

Each step says what is done and, apart from it, what it is done with, so that paper, screen and bench say the same.
"""

from server.domain.model.catalogue import Catalogue, CombKind
from server.domain.model.plan import Plug, RunPlan
from server.domain.reference import BUNDLED_USES
from server.services.cable_words import comb_words
from server.services.opened import Opened
from server.web.views import formats
from server.web.views.bench_settings import (
    Step,
    crimp_settings,
    joint_settings,
    pull_step,
    shrink_settings,
    sleeve_settings,
    wire_settings,
)
from server.web.views.bench_words import reserve_words, sleeve_end_words, source_end, splice_words
from server.web.views.chain_steps import chain_steps, pressed_plugs

__all__ = ["Step", "bench_steps"]

_LAST = Step("Check every wire for continuity and shorts before the cable meets a part.")


def bench_steps(run: RunPlan, opened: Opened) -> tuple[Step, ...]:
    """How a run is built, step by step; nothing for a run that cannot be built yet.

    Args:
        run: The planned run.
        opened: The build as it stands.
    """
    if run.kind == "sleeved":
        return _moulded(run, opened.catalogue)
    if not run.ends or not run.sources or not run.wires:
        return ()
    own = next((entered.own_cable_mm for entered in opened.build.runs if entered.id == run.id), None)
    length = f", {formats.length(own)} long," if own is not None else ""
    if run.method == "rework":
        return _rework(run, opened.catalogue, length)
    steps = _new(run, opened.catalogue)
    if run.method == "extension":
        return (
            Step(f"Leave the supply's own cable{length} as it is."),
            *steps,
            _LAST,
            Step("Only then join the mating half to the plug of the own cable."),
        )
    return (*steps, _LAST)


def _new(run: RunPlan, catalogue: Catalogue) -> tuple[Step, ...]:
    """Wires cut from rolls, the part end first; where plugs are pressed on, the source end first."""
    cut = (
        Step("Cut the wires by the table and label both ends.", wire_settings(run)),
        *pull_step(run, catalogue),
    )
    if pressed_plugs(run, catalogue):
        return (*cut, *chain_steps(run, catalogue), *_combed(run, catalogue, "open"))
    return (
        *cut,
        *(
            Step(splice_words(run, joint, catalogue), joint_settings(joint.shrink, catalogue))
            for joint in run.joints
            if joint.kind == "splice"
        ),
        Step(
            f"Strip and crimp the part end of each wire{_together(run)}.", crimp_settings(run, catalogue, at_end=True)
        ),
        *_sleeved(run, catalogue, "part end"),
        Step(f"Insert the contacts into the {_plugs(run.ends, 'part plug')} by the table."),
        *_combed(run, catalogue, "closed"),
        *_second_end(run, catalogue),
        *_combed(run, catalogue, "open"),
    )


def _second_end(run: RunPlan, catalogue: Catalogue) -> tuple[Step, ...]:
    """The end that is crimped last: what must be on the wire, and off it, before its contact is in the way."""
    end, alone = source_end(run), run.use not in BUNDLED_USES or len(run.wires) == 1
    before: tuple[Step, ...] = ()
    held = ""
    if run.sleeve_pieces and alone and run.sleeve_end == "shrink":
        words = "Slide the second piece of heat-shrink on each wire before you crimp: it may not pass a contact."
        before = (Step(words),)
        held = ", shrink that piece over the sleeve's end"
    elif run.sleeve_pieces and alone and run.sleeve_end == "melted":
        words = f"Melt the sleeve's end on at the {end} likewise before you crimp: the piece may not pass a contact."
        before = (Step(words),)
    reserve = reserve_words(run, "part end")
    return (
        *before,
        *((Step(reserve),) if reserve else ()),
        Step(
            f"Strip and crimp the {end}{held} and insert it by the table.",
            _or_as_before(run, catalogue),
        ),
    )


def _or_as_before(run: RunPlan, catalogue: Catalogue) -> tuple[str, ...]:
    """Settings of the source end; where they are those of the part end, they are not said twice."""
    first, second = (crimp_settings(run, catalogue, at_end=at_end) for at_end in (True, False))
    return ("set as for the part end",) if first == second else second


def _together(run: RunPlan) -> str:
    """In a crimped chain, a wire and the one that goes on from it share a contact."""
    onward = any(wire.source_at_end and wire.source.plug != wire.target.plug for wire in run.wires)
    return "; a wire and the one that goes on from it are crimped together" if onward else ""


def _rework(run: RunPlan, catalogue: Catalogue, length: str) -> tuple[Step, ...]:
    """The supply's own cable, freed at its part end and given new contacts there."""
    family = catalogue.families[catalogue.housings[run.ends[0].housing].family]
    tool = f" with the {family.extraction_tool}" if family.extraction_tool else ""
    joints = tuple(dict.fromkeys(joint.shrink for joint in run.joints if joint.kind == "solder_on"))
    return (
        Step(f"Unplug the supply's own cable{length} from the supply and from the part; never open the supply."),
        Step(f"Label each wire, then free its contact at the part end{tool}, or cut it off behind the housing."),
        Step(
            "Solder each wire on where its joint says, under its heat-shrink.",
            (*wire_settings(run), *(words for tube in joints for words in joint_settings(tube, catalogue))),
        )
        if joints
        else Step("Shorten each own wire to the length in the table."),
        *pull_step(run, catalogue),
        *_sleeved(run, catalogue, "part end"),
        *_combed(run, catalogue, "closed"),
        Step(
            f"Crimp new contacts there and insert them into the {_plugs(run.ends, 'new part plug')} by the table.",
            crimp_settings(run, catalogue, at_end=True),
        ),
        *_combed(run, catalogue, "open"),
        _LAST,
    )


def _moulded(run: RunPlan, catalogue: Catalogue) -> tuple[Step, ...]:
    """A cable that is sleeved as it was bought."""
    if not run.sleeve_pieces:
        return ()
    over = (
        "Slide a piece of heat-shrink and the sleeve over one plug"
        if run.sleeve_end == "shrink"
        else "Slide the sleeve over one plug"
    )
    return (
        Step("Cut the sleeve with a hot knife.", sleeve_settings(run, catalogue)),
        Step(f"{over} and along the cable; its plugs are never rewired."),
        Step(f"At each end {sleeve_end_words(run, catalogue)}.", shrink_settings(run, catalogue)),
        Step("Try the cable before it goes in."),
    )


def _sleeved(run: RunPlan, catalogue: Catalogue, where: str) -> tuple[Step, ...]:
    if not run.sleeve_pieces:
        return ()
    settings = (*sleeve_settings(run, catalogue), *shrink_settings(run, catalogue))
    if run.use in BUNDLED_USES and len(run.wires) > 1:
        return (Step(f"Draw one sleeve over all wires; at each end {sleeve_end_words(run, catalogue)}.", settings),)
    return (Step(f"Draw a sleeve over each wire; at the {where} {sleeve_end_words(run, catalogue)}.", settings),)


def _combed(run: RunPlan, catalogue: Catalogue, kind: CombKind) -> tuple[Step, ...]:
    """Combs of one kind: closed ones are threaded before the second plug, open ones are pressed in at the end."""
    places = comb_words(run, catalogue, kind)
    if not places:
        return ()
    words = "Thread the wires through" if kind == "closed" else "Press the wires into"
    start = ", placed from the part plug" if len(run.ends) == 1 else ""
    return (Step(f"{words} the combs in ribbon order{start}.", places),)


def _plugs(plugs: tuple[Plug, ...], one: str) -> str:
    return one if len(plugs) == 1 else f"{one}s"
