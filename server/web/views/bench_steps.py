"""The order of work on one cable, as its card numbers it: it follows the method, the plugs and the finish."""

from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import Plug, RunPlan
from server.domain.reference import BUNDLED_USES
from server.services.opened import Opened
from server.web.views import formats
from server.web.views.bench_words import reserve_words, sleeve_end_words, source_end, splice_steps
from server.web.views.chain_steps import chain_steps, pressed_plugs

_LAST = "Check every wire for continuity and shorts before the cable meets a part."


def bench_steps(run: RunPlan, opened: Opened) -> tuple[str, ...]:
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
            f"Leave the supply's own cable{length} as it is.",
            *steps,
            _LAST,
            "Only then join the mating half to the plug of the own cable.",
        )
    return (*steps, _LAST)


def _new(run: RunPlan, catalogue: Catalogue) -> tuple[str, ...]:
    """Wires cut from rolls, the part end first; where plugs are pressed on, the source end first."""
    cut = ("Cut the wires by the table and label both ends.",)
    if pressed_plugs(run, catalogue):
        return (*cut, *chain_steps(run, catalogue), *_combed(run, catalogue, "open"))
    return (
        *cut,
        *splice_steps(run, catalogue),
        f"Strip and crimp the part end of each wire{_together(run)}.",
        *_sleeved(run, catalogue, "part end"),
        f"Insert the contacts into the {_plugs(run.ends, 'part plug')} by the table.",
        *_combed(run, catalogue, "closed"),
        *_second_end(run),
        *_combed(run, catalogue, "open"),
    )


def _second_end(run: RunPlan) -> tuple[str, ...]:
    """The end that is crimped last: what must be on the wire, and off it, before its contact is in the way."""
    end, alone = source_end(run), run.use not in BUNDLED_USES or len(run.wires) == 1
    before: tuple[str, ...] = ()
    held = ""
    if run.sleeve_pieces and alone and run.sleeve_end == "shrink":
        before = ("Slide the second piece of heat-shrink on each wire before you crimp: it may not pass a contact.",)
        held = ", shrink that piece over the sleeve's end"
    elif run.sleeve_pieces and alone and run.sleeve_end == "melted":
        before = (
            f"Melt the sleeve's end on at the {end} likewise before you crimp: the piece may not pass a contact.",
        )
    reserve = reserve_words(run, "part end")
    return (
        *before,
        *((reserve,) if reserve else ()),
        f"Strip and crimp the {end}{held} and insert it by the table.",
    )


def _together(run: RunPlan) -> str:
    """In a crimped chain, a wire and the one that goes on from it share a contact."""
    onward = any(wire.source_at_end and wire.source.plug != wire.target.plug for wire in run.wires)
    return "; a wire and the one that goes on from it are crimped together" if onward else ""


def _rework(run: RunPlan, catalogue: Catalogue, length: str) -> tuple[str, ...]:
    """The supply's own cable, freed at its part end and given new contacts there."""
    family = catalogue.families[catalogue.housings[run.ends[0].housing].family]
    tool = f" with the {family.extraction_tool}" if family.extraction_tool else ""
    soldered = any(joint.kind == "solder_on" for joint in run.joints)
    return (
        f"Unplug the supply's own cable{length} from the supply and from the part; never open the supply.",
        f"Label each wire, then free its contact at the part end{tool}, or cut it off behind the housing.",
        "Solder each wire on where its joint says, under its heat-shrink."
        if soldered
        else "Shorten each own wire to the length in the table.",
        *_sleeved(run, catalogue, "part end"),
        *_combed(run, catalogue, "closed"),
        f"Crimp new contacts there and insert them into the {_plugs(run.ends, 'new part plug')} by the table.",
        *_combed(run, catalogue, "open"),
        _LAST,
    )


def _moulded(run: RunPlan, catalogue: Catalogue) -> tuple[str, ...]:
    """A cable that is sleeved as it was bought."""
    if not run.sleeve_pieces:
        return ()
    over = (
        "Slide a piece of heat-shrink and the sleeve over one plug"
        if run.sleeve_end == "shrink"
        else "Slide the sleeve over one plug"
    )
    return (
        "Cut the sleeve with a hot knife.",
        f"{over} and along the cable; its plugs are never rewired.",
        f"At each end {sleeve_end_words(run, catalogue)}.",
        "Try the cable before it goes in.",
    )


def _sleeved(run: RunPlan, catalogue: Catalogue, where: str) -> tuple[str, ...]:
    if not run.sleeve_pieces:
        return ()
    if run.use in BUNDLED_USES and len(run.wires) > 1:
        return (f"Draw one sleeve over all wires; at each end {sleeve_end_words(run, catalogue)}.",)
    return (f"Draw a sleeve over each wire; at the {where} {sleeve_end_words(run, catalogue)}.",)


def _combed(run: RunPlan, catalogue: Catalogue, kind: str) -> tuple[str, ...]:
    """Combs of one kind: closed ones are threaded before the second plug, open ones are pressed in at the end."""
    if not any(catalogue.combs[place.comb].kind == kind for place in run.combs):
        return ()
    if kind == "closed":
        return ("Thread the wires through the combs in ribbon order.",)
    return ("Press the wires into the combs in ribbon order.",)


def _plugs(plugs: tuple[Plug, ...], one: str) -> str:
    return one if len(plugs) == 1 else f"{one}s"
