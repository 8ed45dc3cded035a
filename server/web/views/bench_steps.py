"""The order of work on one cable, as its card numbers it: it follows the method, the plugs and the finish."""

from server.domain.model.catalogue import CapPosition, Catalogue
from server.domain.model.plan import Plug, RunPlan
from server.domain.reference import BUNDLED_USES
from server.services.opened import Opened
from server.web.views import formats
from server.web.views.pieces import letter

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


def _new(run: RunPlan, catalogue: Catalogue) -> tuple[str, ...]:
    """Wires cut from rolls, the part end first."""
    cut = ("Cut the wires by the table and label both ends.",)
    if _displaced(run, catalogue):
        return (*cut, *_pressed(run, catalogue))
    return (
        *cut,
        "Strip and crimp the part end of each wire.",
        *_sleeved(run, catalogue, "part end"),
        f"Insert the contacts into the {_plugs(run.ends, 'part plug')} by the table.",
        *_combed(run, catalogue, "closed"),
        f"Strip and crimp the supply end{_held_too(run)} and insert it by the table.",
        *_joined(run),
        *_combed(run, catalogue, "open"),
    )


def _pressed(run: RunPlan, catalogue: Catalogue) -> tuple[str, ...]:
    """Wires that run through insulation-displacement plugs: marked, sleeved between the plugs, pressed in."""
    caps = cap_words(run, catalogue)
    marks = mark_words(run)
    stretch = ", one piece for each stretch between plugs" if len(run.ends) > 1 else ""
    sleeved = (
        (f"Draw the sleeve on{stretch}; at each plug {sleeve_end_words(run, catalogue)}.",) if run.sleeve_pieces else ()
    )
    return (
        *((f"Mark the wires: {marks}.",) if marks else ()),
        "Strip and crimp the supply end; strip nothing at the plugs that are pressed on.",
        *sleeved,
        f"Lay each wire over its blade at its mark, press the plug, then close its cap{caps}.",
        "Insert the supply end by the table.",
        *_joined(run),
        *_combed(run, catalogue, "open"),
    )


def cap_words(run: RunPlan, catalogue: Catalogue) -> str:
    """Which cap goes on which plug, behind a colon; empty where no cap is listed.

    Args:
        run: The planned run.
        catalogue: Reference data with caps.
    """
    on: dict[CapPosition, list[str]] = {}
    for index, plug in enumerate(run.ends):
        if plug.cap in catalogue.caps:
            on.setdefault(catalogue.caps[plug.cap].position, []).append(letter(index))
    words = [f"the {position} cap on {formats.listed(plugs)}" for position, plugs in on.items()]
    return f": {formats.listed(words)}" if words else ""


def mark_words(run: RunPlan) -> str:
    """Where wires that run through are marked, plug by plug; empty when nothing is marked.

    Args:
        run: The planned run.
    """
    places: dict[tuple[int, int], list[str]] = {}
    for mark in run.tap_marks:
        places.setdefault((mark.plug, mark.from_end_mm), []).extend(mark.labels)
    plugs = [plug for plug, _ in places]
    words = [
        f"plug {letter(plug)} at {at} mm" + (f" ({formats.listed(labels)})" if plugs.count(plug) > 1 and labels else "")
        for (plug, at), labels in places.items()
    ]
    return f"{formats.listed(words)} from the crimped end" if words else ""


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


def _held_too(run: RunPlan) -> str:
    """The sleeve's second end, which is held once its contact is crimped."""
    alone = run.use not in BUNDLED_USES or len(run.wires) == 1
    return ", hold the sleeve there as before," if run.sleeve_pieces and alone and run.sleeve_end != "loose" else ""


def _joined(run: RunPlan) -> tuple[str, ...]:
    if any(joint.kind == "splice" for joint in run.joints):
        return ("Solder each joint as drawn, its heat-shrink slid on beforehand.",)
    return ()


def _combed(run: RunPlan, catalogue: Catalogue, kind: str) -> tuple[str, ...]:
    """Combs of one kind: closed ones are threaded before the second plug, open ones are pressed in at the end."""
    if not any(catalogue.combs[place.comb].kind == kind for place in run.combs):
        return ()
    if kind == "closed":
        return ("Thread the wires through the combs in ribbon order.",)
    return ("Press the wires into the combs in ribbon order.",)


def _plugs(plugs: tuple[Plug, ...], one: str) -> str:
    return one if len(plugs) == 1 else f"{one}s"


def _displaced(run: RunPlan, catalogue: Catalogue) -> bool:
    housings = (catalogue.housings[plug.housing] for plug in run.ends)
    return any(catalogue.families[housing.family].termination == "displacement" for housing in housings)
