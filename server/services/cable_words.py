"""What goes onto a cable beside its wires, in words that cards and the bench share: combs and caps."""

from server.domain.model.catalogue import CapPosition, Catalogue, CombKind
from server.domain.model.plan import RunPlan
from server.services.bench_task_words import letter


def comb_words(run: RunPlan, catalogue: Catalogue, kind: CombKind) -> tuple[str, ...]:
    """Combs of one kind with their places from the part plug: ``3 × comb, 8 ways at 38, 114, 190 mm``.

    Args:
        run: The planned run.
        catalogue: Reference data with combs.
        kind: ``open`` or ``closed``.
    """
    groups: dict[tuple[str, int], list[str]] = {}
    for place in run.combs:
        if catalogue.combs[place.comb].kind == kind:
            groups.setdefault((place.comb, place.plug), []).append(str(place.at_mm))
    return tuple(
        f"{len(places)} × {catalogue.combs[comb].name} at {', '.join(places)} mm"
        + (f" from plug {letter(plug)}" if len(run.ends) > 1 else "")
        for (comb, plug), places in groups.items()
    )


def cap_words(run: RunPlan, catalogue: Catalogue) -> str:
    """Which cap goes on which plug, behind a colon, the end cap last; empty where no cap is listed.

    Args:
        run: The planned run.
        catalogue: Reference data with caps.
    """
    on: dict[CapPosition, list[str]] = {}
    for index, plug in enumerate(run.ends):
        if plug.cap in catalogue.caps:
            on.setdefault(catalogue.caps[plug.cap].position, []).append(letter(index))
    order = sorted(on, key=lambda position: position == "end")
    words = [f"the {position} cap on {', '.join(on[position])}" for position in order]
    return f": {', '.join(words)}{' last' if len(words) > 1 and order[-1] == 'end' else ''}" if words else ""


def comb_lines(run: RunPlan, catalogue: Catalogue) -> tuple[str, ...]:
    """What is threaded before the contacts that are crimped last: a closed comb lets none of them pass.

    Args:
        run: The planned run.
        catalogue: Reference data with combs.
    """
    combs = comb_words(run, catalogue, "closed")
    part = "" if run.method == "rework" else "the part ends into their plug, then "
    return (f"before the first of these {part}the wires through their combs: {'; '.join(combs)}",) if combs else ()


def finish_lines(run: RunPlan, catalogue: Catalogue, *, pressed: bool) -> tuple[str, ...]:
    """What is done once all wires of a run are fitted: cut flush, caps closed, open combs pressed on.

    Args:
        run: The planned run.
        catalogue: Reference data with combs and caps.
        pressed: Whether the wire is pressed onto blades and ends at one of them.
    """
    combs, caps = comb_words(run, catalogue, "open"), cap_words(run, catalogue)
    return (
        *(("once all are pressed on cut them flush behind the plug that they end in",) if pressed else ()),
        *((f"then close the caps{caps}",) if pressed and caps else ()),
        *((f"once all are in press the wires into their combs: {'; '.join(combs)}",) if combs else ()),
    )
