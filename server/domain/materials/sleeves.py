"""Which sleeve and which heat-shrink go over what, and how much of each is cut."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from server.domain.model.catalogue import Catalogue, Shrink, Sleeve
from server.domain.reference import BUNDLE_RATIO

JAM_SLACK = 1e-9
"""A braid whose strands lie across has no length left; rounding must not open it further."""

OLER_AREA = 2 / math.sqrt(3) / (4 * math.pi)
"""Share of the squared girth in Oler's bound, the hull's area taken as large as its girth allows. [1]"""


@dataclass(frozen=True, slots=True)
class ShrinkNeed:
    """What a piece of heat-shrink has to do."""

    slide_mm: float
    """Diameter of the largest thing it must slide over: the sleeved end, or the plug of a moulded cable. [mm]"""
    grip_mm: float
    """Diameter of the smallest thing it must grip: the bare wire or cable. [mm]"""


def braid_factor(sleeve: Sleeve, over_mm: float) -> float:
    """Relaxed length of braid that covers one unit of wire.

    Args:
        sleeve: Braid by its relaxed diameter and angle.
        over_mm: Diameter that it is drawn over. [mm]

    Returns:
        ``cos a0 / cos a1``, with ``sin a1 = (D1 / D0) sin a0``; 1 where the braid hangs loose. [1]

    Raises:
        ValueError: the braid cannot open that far.

    Source:
        Biaxial braid of inextensible filaments: filament length is kept.
    """
    if over_mm <= sleeve.relaxed_mm:
        return 1.0
    relaxed = math.radians(sleeve.braid_angle_deg)
    sine = over_mm / sleeve.relaxed_mm * math.sin(relaxed)
    if over_mm > sleeve.greatest_mm or sine > 1 - JAM_SLACK:
        raise ValueError(f"{sleeve.name} does not open to {_shown(over_mm)}")
    return math.cos(relaxed) / math.cos(math.asin(sine))


def sleeve_cut_mm(sleeve: Sleeve, over_mm: float, covered_mm: float, fray_mm: float = 0.0) -> int:
    """Relaxed length of sleeve cut for one stretch, in whole millimetres. [mm]

    Args:
        sleeve: The braid.
        over_mm: Diameter that it is drawn over. [mm]
        covered_mm: Length to cover. [mm], 0 or more
        fray_mm: Relaxed length that frays and is trimmed off at each end. [mm], 0 or more

    Raises:
        ValueError: the braid cannot open that far.

    Example:
        >>> sleeve_cut_mm(Sleeve("s", "braid", 4.0, 30.0, 4.0, 7.9, 0.4, "", ""), 6.0, 100, 5)
        141
    """
    return math.ceil(round(covered_mm * braid_factor(sleeve, over_mm) + 2 * fray_mm, 6))


def sleeved_mm(sleeve: Sleeve, over_mm: float) -> float:
    """Diameter of something with the sleeve on: the wall of the braid lies on it all round. [mm]"""
    return over_mm + 2 * sleeve.wall_mm


def girth_diameter_mm(girth_mm: float) -> float:
    """Diameter of the circle that has a girth: what a braid or a tube sees of a flat cable or a plug. [mm]

    Args:
        girth_mm: Length once round. [mm], 0 or more

    Example:
        >>> round(girth_diameter_mm(40), 2)
        12.73
    """
    return girth_mm / math.pi


def bundle_mm(wires_mm: Sequence[float]) -> float:
    """Diameter of a circle that surely takes all of these wires. [mm]

    Exact for up to three wires and for equal ones up to the end of the table. Of more than three unequal ones it is
    never too small: the smaller of the circle round equal wires of the thickest and of the circle of the area theorem.

    Args:
        wires_mm: Outside diameters. [mm], each more than 0

    Returns:
        The diameter; 0 for no wires at all.

    Raises:
        ValueError: a diameter is not more than 0.

    Source:
        Descartes' circle theorem for three; ``BUNDLE_RATIO`` for equal wires; circles of half the area of a disc always
        fit into it (Fekete, Keldenich and Scheffer, Packing disks into disks with optimal worst-case density, 2019).

    Example:
        >>> round(bundle_mm([1.55, 1.55, 1.55, 1.55]), 2)
        3.74
    """
    thick = _thickest_first(wires_mm)
    if len(thick) <= 2:
        return sum(thick)
    if len(thick) == 3:
        return _round_three_mm(*thick)
    by_area = math.sqrt(2 * sum(d**2 for d in thick))
    return min(thick[0] * _equal_ratio(len(thick)), by_area)


def bundle_grip_mm(wires_mm: Sequence[float]) -> float:
    """Diameter that a tube can surely grip when it draws these wires together as tight as they go. [mm]

    The tube lies on the hull of the bundle, whose girth is smaller than that of the circle round it; where several
    bounds of that girth are known, the largest counts, and none of them is too large.

    Args:
        wires_mm: Outside diameters. [mm], each more than 0

    Returns:
        Diameter of the circle of that girth; 0 for no wires at all.

    Raises:
        ValueError: a diameter is not more than 0.

    Source:
        Two wires: arcs and tangents. More: the girth round an area is least for a circle; and Oler's inequality for
        points that keep their distance (N. Oler, An inequality in the geometry of numbers, 1961).

    Example:
        >>> round(bundle_grip_mm([1.55, 1.55]), 3)
        2.537
    """
    thick = _thickest_first(wires_mm)
    if len(thick) <= 1:
        return sum(thick)
    by_area = math.sqrt(sum(d**2 for d in thick))
    # Every wire at least as thick as the n-th holds a wire as thick as the n-th: n equal ones lie inside the hull.
    by_distance = max(d * (_hull_girth(n) / math.pi + 1) for n, d in enumerate(thick, start=1))
    return max(by_area, by_distance, _pair_girth_mm(thick[0], thick[1]) / math.pi)


def sleeve_fits(sleeve: Sleeve, over_mm: float, pass_mm: float = 0.0) -> str:
    """Why a sleeve does not suit, in words with numbers; empty when it does.

    Args:
        sleeve: The braid.
        over_mm: Diameter that it lies on. [mm]
        pass_mm: Diameter of the largest thing that it must be drawn over to get there, such as a plug. [mm]

    Returns:
        An empty word, or the end of a sentence about the sleeve, such as ``hangs loose: ...``.
    """
    most = min(sleeve.greatest_mm, jam_mm(sleeve))
    jams = sleeve.greatest_mm >= jam_mm(sleeve) * (1 - JAM_SLACK)
    for action, size in (("lie on", over_mm), ("pass over", pass_mm)):
        if size > sleeve.greatest_mm or (jams and size >= most * (1 - JAM_SLACK)):
            return f"opens to {_shown(most)} at most and must {action} {_shown(size)}"
    if over_mm < sleeve.least_mm:
        return f"hangs loose: it grips from {_shown(sleeve.least_mm)} up and lies on {_shown(over_mm)}"
    return ""


def jam_mm(sleeve: Sleeve) -> float:
    """Diameter at which the strands of a braid lie across and no length is left. [mm]

    Source:
        Biaxial braid of inextensible filaments: ``D0 / sin a0``.
    """
    return sleeve.relaxed_mm / math.sin(math.radians(sleeve.braid_angle_deg))


def sleeve_for(catalogue: Catalogue, over_mm: float, pass_mm: float = 0.0) -> Sleeve | None:
    """The smallest sleeve that fits, file order breaking ties; ``None`` when none does.

    Args:
        catalogue: Reference data.
        over_mm: Diameter that it lies on. [mm]
        pass_mm: Diameter of the largest thing that it must be drawn over to get there. [mm]
    """
    fitting = [sleeve for sleeve in catalogue.sleeves.values() if not sleeve_fits(sleeve, over_mm, pass_mm)]
    return min(fitting, key=lambda sleeve: sleeve.greatest_mm, default=None)


def shrink_fits(shrink: Shrink, need: ShrinkNeed) -> str:
    """Why a size of heat-shrink does not suit, in words with numbers; empty when it does.

    Args:
        shrink: The tube by its least supplied and greatest recovered bore.
        need: What it must slide over and grip.

    Returns:
        An empty word, or the end of a sentence about the tube, such as ``is 3.18 mm wide and ...``.

    Source:
        Least supplied bore larger than the largest part, greatest recovered bore smaller than the smallest part: the
        published fit rule of 2:1 tube (AS23053/5).
    """
    if round(shrink.supplied_mm - need.slide_mm, 6) <= 0:
        return f"is {_shown(shrink.supplied_mm)} wide and does not slide over {_shown(need.slide_mm)}"
    if round(need.grip_mm - shrink.recovered_mm, 6) <= 0:
        return f"shrinks to {_shown(shrink.recovered_mm)} and does not grip {_shown(need.grip_mm)}"
    return ""


def shrink_for(catalogue: Catalogue, need: ShrinkNeed) -> Shrink | None:
    """The smallest heat-shrink that slides over and grips; ``None`` when no size does both.

    A size of a lower shrink ratio goes before one of a higher ratio, because its wall stays thinner and neighbouring
    wires need the room. Within a ratio the smallest bore is taken, file order breaking ties.

    Args:
        catalogue: Reference data.
        need: What it must slide over and grip.
    """
    fitting = [shrink for shrink in catalogue.shrinks.values() if not shrink_fits(shrink, need)]
    return min(fitting, key=lambda s: (round(s.supplied_mm / s.recovered_mm), s.supplied_mm), default=None)


def shrink_cut_mm(shrink: Shrink) -> int:
    """Length of one piece before shrinking, in whole millimetres. [mm]

    Args:
        shrink: Tube by the length it shows and the share it loses in shrinking.

    Example:
        >>> shrink_cut_mm(Shrink("s", "tube", 3.18, 1.58, 0.5, 10, 12, ""))
        14
    """
    return math.ceil(round(shrink.piece_mm / (1 - shrink.shortening_percent / 100), 6))


def _shown(size_mm: float) -> str:
    return f"{round(size_mm, 2):g} mm"


def _thickest_first(wires_mm: Sequence[float]) -> list[float]:
    if not all(d > 0 for d in wires_mm):
        raise ValueError("every wire of a bundle must be more than 0 mm thick")
    return sorted(wires_mm, reverse=True)


def _equal_ratio(count: int) -> float:
    """Diameter round so many equal wires, in wire diameters; past the table, of wires in hexagons or half the area."""
    if count in BUNDLE_RATIO:
        return BUNDLE_RATIO[count]
    # So many whole hexagons round one wire hold 3 k (k + 1) + 1 wires.
    rings = math.ceil((math.sqrt(12 * count - 3) - 3) / 6)
    return min(2 * rings + 1, math.sqrt(2 * count))


def _round_three_mm(first: float, second: float, third: float) -> float:
    """Smallest circle round three, thickest first: the third lies in the gap beside the other two, or all touch it."""
    gap = first * second * (first + second) / (first**2 + first * second + second**2)
    if third <= gap:
        return first + second
    a, b, c = 1 / first, 1 / second, 1 / third
    return 1 / (2 * math.sqrt(a * b + b * c + c * a) - a - b - c)


def _pair_girth_mm(first: float, second: float) -> float:
    """Length of a band drawn tight round two wires that touch: two tangents and two arcs. [mm]"""
    tilt = math.asin((first - second) / (first + second))
    tangents = 2 * math.sqrt(first * second)
    return tangents + first * (math.pi / 2 + tilt) + second * (math.pi / 2 - tilt)


def _hull_girth(count: int) -> float:
    """Girth that a hull of so many points surely has, in their least distance: Oler's bound solved for it."""
    return (math.sqrt(0.25 + 4 * OLER_AREA * (count - 1)) - 0.5) / (2 * OLER_AREA)
