"""What is set or cut at each step of a cable: strip length, die, pull force, tube, sleeve, comb and mark."""

from collections import Counter
from dataclasses import dataclass

from server.domain.materials.sleeves import shrink_cut_mm
from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import CrimpUse, RunPlan
from server.domain.reference import BUNDLED_USES, PULL_FORCE_N
from server.web.views import formats
from server.web.views.bench_facts import wires_in_contacts
from server.web.views.pieces import as_made, letter

PULL_TEST = "Pull test one of each set-up on a scrap end."


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a cable's order of work: what is done, and what it is done with."""

    words: str
    """The command, a full sentence."""
    settings: tuple[str, ...] = ()
    """Each a number or a tool with its number, such as ``strip 3.5 mm``; empty where the step needs none."""


def wire_settings(run: RunPlan) -> tuple[str, ...]:
    """The wires to cut, colour by colour: ``16 AWG: BK 15, TQ 8``; nothing for what stays of the supply's own cable.

    Args:
        run: The planned run.
    """
    kinds: dict[str, Counter[str]] = {}
    for wire in run.wires:
        if not as_made(run, wire):
            stock = f"{wire.awg} AWG" + (f", {formats.INSULATIONS[wire.insulation]}" * (wire.insulation != "plain"))
            kinds.setdefault(stock, Counter())[wire.colour] += 1
    return tuple(
        f"{stock}: {formats.listed(f'{colour} {count}' for colour, count in colours.items())}"
        for stock, colours in kinds.items()
    )


def crimp_settings(
    run: RunPlan, catalogue: Catalogue, *, at_end: bool, plug: int | None = None, pressed: bool = False
) -> tuple[str, ...]:
    """How the contacts of one end, or of one of its plugs, are crimped or pressed.

    Args:
        run: The planned run.
        catalogue: Reference data with contacts.
        at_end: True for the part end.
        plug: Index of the one plug that is asked for; ``None`` for all of that end.
        pressed: True for blades that are pressed onto the wire instead of contacts that are crimped.
    """
    counts = Counter(
        (contact, tuple(sorted(wire.awg for wire in wires)))
        for (at, index, _, contact), wires in wires_in_contacts(run).items()
        if at == at_end and plug in (None, index)
    )
    return tuple(
        _crimp(use, counts[use.contact, use.gauges], catalogue)
        for use in run.crimps
        if counts[use.contact, use.gauges] and _is_blade(use, catalogue) == pressed
    )


def _crimp(use: CrimpUse, count: int, catalogue: Catalogue) -> str:
    """One set-up of the crimping tool, or of the press."""
    strip = f"strip {formats.number(use.strip_mm)} mm" if use.strip_mm else "no strip"
    tool = "" if _is_blade(use, catalogue) else "die "
    die = f"{tool}{use.die}" if use.die else "no die listed: try one on scrap"
    return f"{count} × {_set_up(use, catalogue)}; {strip}; {die}"


def _set_up(use: CrimpUse, catalogue: Catalogue) -> str:
    """A contact with the wires in it; a gauge that the contact's own name ends in is not said twice."""
    name, gauges = _contact(use, catalogue), _gauges(use)
    return name if name.endswith(f", {gauges}") and len(use.gauges) == 1 else f"{gauges} in {name}"


def _gauges(use: CrimpUse) -> str:
    two = "two wires, " if len(use.gauges) > 1 else ""
    return f"{two}{' with '.join(str(awg) for awg in use.gauges)} AWG"


def _contact(use: CrimpUse, catalogue: Catalogue) -> str:
    contact = catalogue.contacts.get(use.contact)
    return contact.name if contact else use.contact


def _is_blade(use: CrimpUse, catalogue: Catalogue) -> bool:
    contact = catalogue.contacts.get(use.contact)
    return contact is not None and contact.gender == "blade"


def pull_settings(run: RunPlan, catalogue: Catalogue) -> tuple[str, ...]:
    """The force that each set-up of the crimping tool must hold, by the table; a gauge that is not in it says so.

    Args:
        run: The planned run.
        catalogue: Reference data with contacts.

    Source:
        UL 486A, see ``reference.PULL_FORCE_N``; two wires in one contact are judged by the thinner one.
    """
    return tuple(
        f"{_set_up(use, catalogue)}: {pull_words(max(use.gauges))}"
        + (f", pulled at the {max(use.gauges)} AWG" if len(set(use.gauges)) > 1 else "")
        for use in run.crimps
        if not _is_blade(use, catalogue)
    )


def pull_words(awg: int) -> str:
    """The least pull-out force of a gauge in words: ``hold 133.5 N (UL 486A)``.

    Args:
        awg: Gauge of the wire.
    """
    force = PULL_FORCE_N.get(awg)
    return f"hold {force:.1f} N (UL 486A)" if force is not None else f"no force in the table for {awg} AWG"


def pull_step(run: RunPlan, catalogue: Catalogue) -> tuple[Step, ...]:
    """The pull test that comes before the first contact of the cable; none where nothing is crimped.

    Args:
        run: The planned run.
        catalogue: Reference data with contacts.
    """
    settings = pull_settings(run, catalogue)
    return (Step(PULL_TEST, settings),) if settings else ()


def shrink_settings(run: RunPlan, catalogue: Catalogue) -> tuple[str, ...]:
    """The tube over the ends of a sleeve: what is cut and what it shows once it has shrunk.

    Args:
        run: The planned run.
        catalogue: Reference data with heat-shrinks.
    """
    shrink = catalogue.shrinks.get(run.shrink)
    if shrink is None or not run.shrink_count:
        return ()
    shows = "taken off again" if run.sleeve_end == "melted" else f"shows {formats.number(shrink.piece_mm)} mm"
    return (f"{run.shrink_count} × {shrink.name}: cut {run.shrink_cut_mm}, {shows}",)


def joint_settings(tube: str, catalogue: Catalogue) -> tuple[str, ...]:
    """The tube over a joint.

    Args:
        tube: Id of the heat-shrink.
        catalogue: Reference data with heat-shrinks.
    """
    shrink = catalogue.shrinks.get(tube)
    if shrink is None:
        return ()
    return (f"{shrink.name}: cut {shrink_cut_mm(shrink)}, shows {formats.number(shrink.piece_mm)} mm",)


def sleeve_settings(run: RunPlan, catalogue: Catalogue) -> tuple[str, ...]:
    """The sleeve and its cut lengths; where each wire has its own, the table of wires holds them.

    Args:
        run: The planned run.
        catalogue: Reference data with sleeves.
    """
    each = run.use not in BUNDLED_USES and any(wire.sleeve_mm for wire in run.wires)
    told: dict[str, list[str]] = {}
    for piece in run.sleeve_pieces:
        told.setdefault(piece.sleeve, []).append(
            f"{piece.colour} {piece.count} × {piece.cut_mm} mm, covers {formats.number(piece.covered_mm, 0)} mm"
        )
    return tuple(
        f"{catalogue.sleeves[sleeve].name}: " + ("cut by the table" if each else formats.listed(dict.fromkeys(pieces)))
        for sleeve, pieces in told.items()
    )


def mark_settings(run: RunPlan, only: int | None = None) -> tuple[str, ...]:
    """Where wires that run through are marked, plug by plug, from their crimped end.

    Args:
        run: The planned run.
        only: The one plug that is asked for, left unnamed; ``None`` for all of them.
    """
    places: dict[tuple[int, int], list[str]] = {}
    for mark in run.tap_marks:
        if only is None or mark.plug == only:
            places.setdefault((mark.plug, mark.from_end_mm), []).extend(mark.labels)
    plugs = [plug for plug, _ in places]
    return tuple(
        (f"plug {letter(plug)} at {at} mm" if only is None else f"mark at {at} mm")
        + (f" ({formats.listed(labels)})" if plugs.count(plug) > 1 and labels else "")
        for (plug, at), labels in places.items()
    )
