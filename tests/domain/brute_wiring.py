"""The wiring of small plugs by trying every way, written from the rules alone and sharing nothing with the planner.

The frame is worked out here once more from how two plugs face each other. The only shortcut is to give up a branch that
already costs more than the best complete wiring: every part of the cost only grows.
"""

from collections import Counter
from itertools import combinations, permutations

from server.domain.model.catalogue import Housing
from server.domain.wiring import Assignment, Link, PartPlug, SourcePlug

Spot = tuple[int, int]
"""Place across the ribbon in hundredths of a millimetre, and row from the top."""
Wire = tuple[tuple[int, str], str, bool]
"""Source contact as (plug, cavity), part cavity, and whether it is a sense line."""
Ranked = tuple[int, int, int, int]
"""Doubles, unevenness, crossings, shift: what must be equal to the planner's, number by number."""


def wire_side(housing: Housing, cavity: str) -> tuple[int, int]:
    """(column from the left, row from the top), latch row on top.

    Two rows: cavity 1 at the right end of the lower row. One row: cavity 1 at the left. Odd and even: odd numbers
    above, from the left. 12+4: as two rows of six, with S1 to S4 in a third row, centred, from the right. A mating half
    shows the mirror image of its plug.
    """
    number, columns = int(cavity.removeprefix("S")) - 1, housing.columns
    if cavity.startswith("S"):
        column, row = columns - 2 - number, 2
    elif housing.numbering == "single_row":
        column, row = number, 0
    elif housing.numbering == "odd_even":
        column, row = divmod(number, 2)
    else:
        column, row = columns - 1 - number % columns, 0 if number >= columns else 1
    return columns - 1 - column if housing.half == "mate" else column, row


def part_spots(part: PartPlug) -> dict[str, Spot]:
    columns, pitch = part.housing.columns, round(part.pitch_mm * 100)
    spots = {}
    for demand in part.demands:
        column, row = wire_side(part.housing, demand.cavity)
        spots[demand.cavity] = ((2 * column + 1 - columns) * pitch // 2, row)
    return spots


def source_spots(
    sources: tuple[SourcePlug, ...], order: tuple[int, ...], *, latch_down: bool
) -> dict[tuple[int, str], Spot]:
    """Live source contacts from above: mirrored with the latch up, since the plugs face; upside down with it down."""
    widths = {i: sources[i].housing.columns * round(sources[i].pitch_mm * 100) for i in order}
    left = -sum(widths.values()) // 2
    spots = {}
    for i in order:
        columns, pitch = sources[i].housing.columns, round(sources[i].pitch_mm * 100)
        for cavity, net in sources[i].nets:
            if net:
                column, row = wire_side(sources[i].housing, cavity)
                if latch_down:
                    row = sources[i].housing.rows - 1 - row
                else:
                    column = columns - 1 - column
                spots[i, cavity] = (left + column * pitch + pitch // 2, row)
        left += widths[i]
    return spots


def cost_of(
    wires: list[Wire], start: dict[tuple[int, str], Spot], end: dict[str, Spot], loaded: dict[str, bool]
) -> tuple[int, int, int, int, int]:
    """Cost of a whole wiring from the rules: (doubles, unevenness, crossings, shift, row changes)."""
    contacts = Counter(contact for contact, _, _ in wires)
    load = Counter(contact for contact, cavity, sense in wires if loaded[cavity] and not sense)
    doubles = sum(count - 1 for count in contacts.values()) + sum(sense for _, _, sense in wires)
    crossings = sum(
        (start[a][0] - start[b][0]) * (end[p][0] - end[q][0]) < 0
        for (a, p, _), (b, q, _) in combinations(wires, 2)
    )  # fmt: skip
    shift = sum(abs(start[contact][0] - end[cavity][0]) for contact, cavity, _ in wires)
    rows = sum(start[contact][1] != end[cavity][1] for contact, cavity, _ in wires)
    return doubles, sum(n * n for n in load.values()), crossings, shift, rows


def cost_of_links(sources: tuple[SourcePlug, ...], part: PartPlug, found: Assignment) -> tuple[int, ...]:
    """What the links of an assignment cost, worked out from the links alone."""
    start = source_spots(sources, found.order, latch_down=found.latch_down)
    loaded = {d.cavity: d.carries_current for d in part.demands}
    wires: list[Wire] = [((link.source, link.source_cavity), link.cavity, link.sense) for link in found.links]
    return cost_of(wires, start, part_spots(part), loaded)


def cheapest(sources: tuple[SourcePlug, ...], part: PartPlug) -> Ranked:
    """The least cost over every wiring, both latches and every order of the source plugs."""
    best: Ranked | None = None
    for order in permutations(range(len(sources))):
        for latch_down in (False, True):
            best = _search(sources, part, source_spots(sources, order, latch_down=latch_down), best)
    assert best is not None
    return best


def wanted_net(accepts: tuple[str, ...], carried: set[str]) -> str:
    return next(net for net in accepts if net in carried)


def _search(
    sources: tuple[SourcePlug, ...], part: PartPlug, start: dict[tuple[int, str], Spot], best: Ranked | None
) -> Ranked | None:
    nets = {(i, cavity): net for i, plug in enumerate(sources) for cavity, net in plug.nets if net}
    end = part_spots(part)
    loaded = {d.cavity: d.carries_current for d in part.demands}
    target_net = {d.cavity: wanted_net(d.accepts, set(nets.values())) for d in part.demands}
    # Every wire still to be laid, with all its choices of (source contact, part cavity).
    choices: list[list[Wire]] = [
        [
            (contact, d.cavity, False)
            for contact, net in nets.items()
            if (contact == d.pinned if d.pinned else net == target_net[d.cavity])
        ]
        for d in part.demands
    ]
    for contact, net in nets.items():
        if net.endswith("_SENSE"):
            sensed = net.removesuffix("_SENSE")
            named = [d.cavity for d in part.demands if d.sensed_by == net]
            loose = [c for c, n in target_net.items() if n == sensed and loaded[c]]
            if named or loose:
                choices.append([(contact, cavity, True) for cavity in named or loose])
    choices.sort(key=len)

    def lay(
        index: int, wires: list[Wire], used: Counter[tuple[int, str]], load: Counter[tuple[int, str]], so_far: Ranked
    ) -> None:
        nonlocal best
        if best is not None and so_far >= best:
            return
        if index == len(choices):
            best = so_far
            return
        for wire in choices[index]:
            contact, cavity, sense = wire
            if used[contact] == 2:
                continue
            weight = int(loaded[cavity] and not sense)
            x, y = start[contact][0], end[cavity][0]
            crossed = sum((x - start[a][0]) * (y - end[p][0]) < 0 for a, p, _ in wires)
            step = (
                int(used[contact] > 0) + int(sense),
                (load[contact] + weight) ** 2 - load[contact] ** 2,
                crossed,
                abs(x - y),
            )
            used[contact] += 1
            load[contact] += weight
            wires.append(wire)
            lay(index + 1, wires, used, load, tuple(a + b for a, b in zip(so_far, step, strict=True)))  # type: ignore[arg-type]
            wires.pop()
            load[contact] -= weight
            used[contact] -= 1

    lay(0, [], Counter(), Counter(), (0, 0, 0, 0))
    return best


def links_by_cavity(links: tuple[Link, ...]) -> Counter[str]:
    return Counter(link.cavity for link in links if not link.sense)
