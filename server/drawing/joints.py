"""Joints away from a contact, drawn small: splices, soldered-on wires, bridges between two cavities."""

from server.domain.model.catalogue import Catalogue
from server.domain.model.plan import Joint, RunPlan
from server.drawing import svg
from server.drawing.paint import Paints
from server.drawing.plugs import visible_colour

WIDE, TALL = 236.0, 62.0
SHELL, WELL, THICK = 34.0, 20.0, 6.0
JOINT = 150.0
"""Where the middle of a joint lies along the drawing; not to scale. [px]"""


def joint_groups(run: RunPlan) -> tuple[tuple[int, ...], ...]:
    """Joints that are made alike, by their index in the run, so that a card shows them once.

    Args:
        run: The planned run.
    """
    groups: dict[object, list[int]] = {}
    for index, joint in enumerate(run.joints):
        alike = (joint.plug, joint.distance_mm, joint.shrink) if joint.kind == "solder_on" else index
        groups.setdefault(alike, []).append(index)
    return tuple(map(tuple, groups.values()))


def joint_words(run: RunPlan, group: tuple[int, ...], catalogue: Catalogue) -> str:
    """One joint, or several alike, in words: wires, place and heat-shrink.

    Args:
        run: The planned run.
        group: Indices into the run's ``joints``, as ``joint_groups`` gives them.
        catalogue: Reference data with heat-shrinks.
    """
    joint = run.joints[group[0]]
    plug = (run.sources if joint.at_source else run.ends)[joint.plug]
    if joint.kind == "jumper":
        return f"Bridge {joint.labels[0]}: from cavity {joint.other_cavity} to cavity {joint.cavity} of {plug.socket}"
    where = f"{svg.num(joint.distance_mm)} mm from the housing of {plug.socket}"
    shrink = catalogue.shrinks.get(joint.shrink)
    over = f", under {shrink.name}" if shrink else ""
    if joint.kind == "splice":
        return f"Splice of {' and '.join(joint.labels)}: {where}, behind cavity {joint.cavity}{over}"
    held = [run.joints[index] for index in group]
    wires = ", ".join(f"{j.labels[0]} to the wire of cavity {j.cavity}" for j in held)
    return f"Soldered on, {where}{over}{' each' if over and len(held) > 1 else ''}: {wires}"


def joint_svg(run: RunPlan, index: int, catalogue: Catalogue) -> str:
    """A small picture of one joint; not to scale, its distance is written on it.

    Args:
        run: The planned run.
        index: Index into the run's ``joints``.
        catalogue: Reference data with colours and heat-shrinks.

    Returns:
        An ``svg`` element.

    Raises:
        IndexError: the run has no such joint.
    """
    joint = run.joints[index]
    prefix = f"r{run.number}-joint{index}"
    paints = Paints(prefix, catalogue)
    codes = {wire.label: visible_colour(wire) for wire in run.wires}
    colours = [codes.get(label, "") for label in joint.labels]
    draw = _bridge if joint.kind == "jumper" else _soldered
    body = [paints.definitions(colours), draw(joint, colours, paints)]
    title = {"splice": "Splice", "jumper": "Bridge", "solder_on": "Soldered-on wire"}[joint.kind]
    return svg.document(prefix, "joint", (WIDE, TALL), (title, joint_words(run, (index,), catalogue)), body)


def _bridge(joint: Joint, colours: list[str], paints: Paints) -> str:
    """Two cavities of one plug, and the wire that goes from one to the other."""
    low, high = 18.0, TALL - 18.0
    loop = f"M{SHELL - 8} {high}H60C96 {high} 96 {low} 60 {low}H{SHELL - 8}"
    parts = [svg.rect(3, 4, SHELL, TALL - 8, cls="paper edge heavy")]
    for y, cavity in ((low, joint.cavity), (high, joint.other_cavity)):
        parts.append(svg.rect(6, y - WELL / 2, SHELL - 6, WELL, cls="paper edge"))
        parts.append(svg.text(9, y + 4, cavity, "ink"))
    parts += [_wire(loop, colours[0], paints), svg.text(98, TALL / 2 + 4, joint.labels[0], "ink")]
    return "".join(parts)


def _soldered(joint: Joint, colours: list[str], paints: Paints) -> str:
    """A housing, the wire of its contact, the joint under heat-shrink, and where the wires go on."""
    middle = 40.0
    two = joint.kind == "splice"
    upper, lower = (middle - 10, middle + 10) if two else (middle, middle)
    parts = [
        svg.rect(3, middle - 18, SHELL, 36, cls="paper edge heavy"),
        svg.rect(6, middle - WELL / 2, SHELL - 6, WELL, cls="paper edge"),
        svg.text(9, middle + 4, joint.cavity, "ink"),
    ]
    ends = [f"C{JOINT + 20} {middle} {JOINT + 14} {y} {JOINT + 32} {y}h8" for y in (upper, lower)]
    if two:
        parts.append(_wire(f"M{JOINT} {middle}{ends[1]}", colours[-1], paints))
    parts.append(
        _wire(f"M{SHELL - 8} {middle}H{JOINT}" + ends[0].removeprefix(f"M{JOINT} {middle}"), colours[0], paints)
    )
    parts.append(svg.rect(JOINT - 22, middle - 6, 34, 12, cls="edge", fill="#1b1b1d"))
    for label, y in zip(joint.labels, (upper, lower), strict=False):
        parts.append(svg.text(JOINT + 44, y + 4, label, "ink"))
    edge = SHELL + 3
    parts.append(svg.dimension(edge, JOINT - 5, 15, f"{svg.num(joint.distance_mm)} mm"))
    parts.append(svg.line(JOINT - 5, 20, JOINT - 5, middle - 7, "line thin muted"))
    return "".join(parts)


def _wire(d: str, code: str, paints: Paints) -> str:
    return svg.path(d, "outline", stroke_width=THICK + 1.6) + svg.path(
        d, stroke=paints.plain(code), stroke_width=THICK, data_colour=code
    )
